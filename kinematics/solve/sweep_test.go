package solve_test

import (
	"fmt"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// choicesOf are the friction elements of a train, up to a number of them.
func choicesOf(t *kinematics.Train, most int) []solve.Choice {
	var list []solve.Choice
	for i, c := range t.Couplings[:t.ElementCount] {
		if c.Kind.Friction() && len(list) < most {
			list = append(list, solve.Choice{Coupling: i, On: kinematics.Locked})
		}
	}
	return list
}

// A sweep visits every combination once and says of it what its outcome by itself
// says, in the whole library, with switched one-way clutches among the choices and
// under a fault.
func TestSweep(t *testing.T) {
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		sys := solve.Compile(train)
		choices := choicesOf(train, 8)
		for i, c := range train.Couplings[:train.ElementCount] {
			if c.Kind == kinematics.OneWay && c.Switched {
				choices = append(choices, solve.Choice{Coupling: i, On: kinematics.Overruns})
			}
		}
		none := train.Applying()
		for i := -1; i < train.ElementCount; i++ {
			start := none.Clone()
			if i >= 0 && train.Couplings[i].Kind == kinematics.OneWay && !train.Couplings[i].Switched {
				start.Modes[i] = kinematics.Reversed
			} else if i >= 0 {
				continue
			}
			checkSweep(t, fmt.Sprintf("%s %d", name, i), sys, start, choices)
		}
	}
}

func checkSweep(t *testing.T, name string, sys *solve.System, none kinematics.State, choices []solve.Choice) {
	t.Helper()
	single := sys.Kernel()
	seen := map[uint32]bool{}
	sys.Kernel().Sweep(none, choices, func(combination uint32, o solve.Outcome) {
		if seen[combination] {
			t.Errorf("%s: %b is visited twice", name, combination)
		}
		seen[combination] = true
		st := none.Clone()
		for i, c := range choices {
			if combination>>i&1 != 0 {
				st.Modes[c.Coupling] = c.On
			}
		}
		if want := single.Outcome(st); o != want {
			t.Errorf("%s: %b: %v, by itself %v", name, combination, o, want)
		}
	})
	if len(seen) != 1<<len(choices) {
		t.Errorf("%s: %d of %d combinations visited", name, len(seen), 1<<len(choices))
	}
}

// A sweep in a kernel that has done one takes no memory.
func TestSweepAllocatesNothing(t *testing.T) {
	for _, s := range sweeps {
		train := s.train(t)
		k, choices, none := solve.Compile(train).Kernel(), choicesOf(train, solve.MostChoices), train.Applying()
		visit := func(uint32, solve.Outcome) {}
		if n := testing.AllocsPerRun(3, func() { k.Sweep(none, choices, visit) }); n != 0 {
			t.Errorf("%s: %v allocations a sweep", s.name, n)
		}
	}
}

// Every combination of each train's elements in one sweep: compare with
// BenchmarkOutcome, which decides each by itself.
func BenchmarkSweep(b *testing.B) {
	for _, s := range sweeps {
		train := s.train(b)
		k, choices, none := solve.Compile(train).Kernel(), choicesOf(train, solve.MostChoices), train.Applying()
		b.Run(s.name, func(b *testing.B) {
			b.ReportAllocs()
			n := 0
			visit := func(uint32, solve.Outcome) { n++ }
			for b.Loop() {
				k.Sweep(none, choices, visit)
			}
			perState(b, n/b.N)
		})
	}
}
