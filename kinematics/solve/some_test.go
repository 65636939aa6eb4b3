package solve_test

import (
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// Within no work at all one conflict, or one way to carry the load, is still found,
// and it is one of those that a search without limits finds; within ample work all
// of them are.
func TestSomeFindOne(t *testing.T) {
	tight, ample := solve.Limit{Work: 1, Count: 24}, solve.Limit{Work: 10_000_000, Count: 100}
	parts, carried := 0, 0
	check := func(all, some, whole []solve.Equilibrium, complete, isWhole bool) {
		t.Helper()
		sets := func(list []solve.Equilibrium) (sets [][]int) {
			for _, e := range list {
				sets = append(sets, e.Carry)
			}
			return sets
		}
		if !isWhole || len(whole) != len(all) {
			t.Errorf("%d of %d within ample work, whole: %v", len(whole), len(all), isWhole)
		}
		if len(all) > 0 && len(some) == 0 {
			t.Errorf("none found where there are %v", sets(all))
		}
		for _, e := range some {
			if !slices.ContainsFunc(all, func(f solve.Equilibrium) bool { return slices.Equal(e.Carry, f.Carry) }) {
				t.Errorf("%v is none of %v", e.Carry, sets(all))
			}
		}
		if complete && len(some) != len(all) {
			t.Errorf("%d are said to be all of %d", len(some), len(all))
		}
		if !complete {
			parts++
		}
	}
	for k, name := range gearsets.Names() {
		if k%2 != 0 && !exhaustive() {
			continue
		}
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		sys := solve.Compile(train)
		for n, f := range train.SingleFaults() {
			if n%3 != 0 {
				continue
			}
			for i := range train.Ranges {
				st := train.In(&train.Ranges[i], f)
				for _, motive := range []solve.Demand{solve.InputForward, solve.OutputForward, solve.OutputBackward} {
					some, complete := sys.Conflicts(t.Context(), st, motive, tight)
					ampler, isWhole := sys.Conflicts(t.Context(), st, motive, ample)
					check(whole(sys.Conflicts(t.Context(), st, motive, solve.Limit{})), some, ampler, complete,
						isWhole)
				}
				if m := sys.Motion(st); m.Drives() {
					some, complete := sys.Carrying(t.Context(), m, tight)
					ampler, isWhole := sys.Carrying(t.Context(), m, ample)
					check(whole(sys.Carrying(t.Context(), m, solve.Limit{})), some, ampler, complete, isWhole)
					carried++
				}
			}
		}
	}
	if parts < 50 || carried < 50 {
		t.Errorf("only %d lists were cut, %d ways looked at", parts, carried)
	}
}

// A chain of sets whose links and brakes fight in very many ways: the number of
// conflicts grows with the product of the ways round each set.
func TestConflictsEnd(t *testing.T) {
	train := chain(t, 14)
	sys := solve.Compile(train)
	list, all := sys.Conflicts(t.Context(), train.In(&train.Ranges[0]), solve.InputForward, solve.Usual)
	if all || len(list) == 0 {
		t.Errorf("%d conflicts, all: %v", len(list), all)
	}
}

// chain is sets in a row, each with its ring braked, its carrier locked to its sun,
// and its carrier, and its ring, joined to the next one's sun.
func chain(t *testing.T, sets int) *kinematics.Train {
	t.Helper()
	b := kinematics.NewBuilder("chain")
	names := make([]string, sets)
	for i := range sets {
		names[i] = "g" + string(rune('a'+i))
		b.Simple(names[i], 30, 66, 18, false)
	}
	var apply []string
	element := func(name string, kind kinematics.CouplingKind, x, y string) {
		b.Element(name, kind, x, y)
		apply = append(apply, name)
	}
	for i, name := range names {
		element("brake-"+name, kinematics.Brake, name+".ring", kinematics.HousingName)
		element("lock-"+name, kinematics.Clutch, name+".sun", name+".carrier")
		if i > 0 {
			element("link-"+name, kinematics.Clutch, names[i-1]+".carrier", name+".sun")
			element("over-"+name, kinematics.Clutch, names[i-1]+".ring", name+".ring")
		}
	}
	b.Ports(names[0]+".sun", names[sets-1]+".carrier")
	b.Range("all", apply...)
	b.Range("none")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// whole is a list that no limit cuts.
func whole(list []solve.Equilibrium, _ bool) []solve.Equilibrium { return list }
