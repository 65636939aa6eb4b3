package diagnosis_test

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"slices"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/solve"
)

// A world is everything that can be the case with a train: every component is
// sound or has one of its faults. Components are the couplings that can have one.
type world struct {
	t          *kinematics.Train
	components []int                // couplings
	faults     [][]kinematics.Fault // of each component
	// states are all assignments: shows is what each does in every range, sound the
	// components that have no fault in it, as bits.
	shows [][]string
	sound []uint
}

func newWorld(t *kinematics.Train) *world {
	w := &world{t: t}
	for _, f := range t.SingleFaults() {
		i := slices.Index(w.components, f.Coupling)
		if i < 0 {
			i = len(w.components)
			w.components, w.faults = append(w.components, f.Coupling), append(w.faults, nil)
		}
		w.faults[i] = append(w.faults[i], f)
	}
	k := solve.Compile(t).Kernel()
	memo := map[string]string{}
	show := func(r int, faults []kinematics.Fault) string {
		st := t.In(&t.Ranges[r], faults...)
		key := fmt.Sprint(r, st.Modes)
		s, known := memo[key]
		if !known {
			s = shown(t, k, st)
			memo[key] = s
		}
		return s
	}
	var assign func(i int, sound uint, faults []kinematics.Fault)
	assign = func(i int, sound uint, faults []kinematics.Fault) {
		if i == len(w.components) {
			var shows []string
			for r := range t.Ranges {
				shows = append(shows, show(r, faults))
			}
			w.shows, w.sound = append(w.shows, shows), append(w.sound, sound)
			return
		}
		assign(i+1, sound|1<<i, faults)
		for _, f := range w.faults[i] {
			assign(i+1, sound, append(faults[:len(faults):len(faults)], f))
		}
	}
	assign(0, 0, nil)
	return w
}

// shown is what the position test and the measured ratio show of a state.
func shown(t *kinematics.Train, k *solve.Kernel, st kinematics.State) string {
	o := k.Outcome(st)
	for i := range t.ElementCount {
		if t.Couplings[i].Kind == kinematics.Pawl && st.Modes[i] == kinematics.Locked {
			free := st.Clone()
			free.Modes[i] = kinematics.Open
			if f := k.Outcome(free); f.Drives() {
				return "lurch " + f.Verdict.String()
			}
		}
	}
	switch o.Verdict {
	case solve.Forward, solve.Reverse:
		ratio, _ := o.Ratio()
		return o.Verdict.String() + ratio.String()
	case solve.OutputHeld:
		return "neutral"
	}
	return o.Verdict.String()
}

// minimalConflicts are the smallest sets of components that cannot all be sound,
// given what was seen in some ranges: whatever the other components do.
func (w *world) minimalConflicts(seen map[int]string) []uint {
	n := len(w.components)
	possible := make([]bool, 1<<n) // sets that can all be sound
	for i, shows := range w.shows {
		consistent := true
		for r, s := range seen {
			consistent = consistent && shows[r] == s
		}
		if consistent {
			possible[w.sound[i]] = true
		}
	}
	for c := range n { // every subset of a possible set is one
		for s := range possible {
			if s>>c&1 == 0 && possible[s|1<<c] {
				possible[s] = true
			}
		}
	}
	var conflicts []uint
	for s := range possible {
		if possible[s] {
			continue
		}
		minimal := true
		for c := range n {
			minimal = minimal && (s>>c&1 == 0 || possible[s&^(1<<c)])
		}
		if minimal {
			conflicts = append(conflicts, uint(s))
		}
	}
	return conflicts
}

// hittingSets are the smallest sets of up to two components that have one in
// common with every conflict: the minimal diagnoses of Reiter 1987 and of de
// Kleer and Williams 1987 (both from memory).
func (w *world) hittingSets(conflicts []uint) []uint {
	n := len(w.components)
	var found []uint
	for size := range 3 {
		for h := range uint(1) << n {
			if bits.OnesCount(h) != size {
				continue
			}
			hits := !slices.ContainsFunc(conflicts, func(c uint) bool { return c&h == 0 })
			contains := slices.ContainsFunc(found, func(f uint) bool { return f&h == f })
			if hits && !contains {
				found = append(found, h)
			}
		}
	}
	return found
}

// For exact observations the suspects with one and two faults are the minimal
// hitting sets of the minimal conflicts, which are found here by trying every
// assignment of faults to all components, without package diagnosis.
func TestHittingSets(t *testing.T) {
	for _, name := range []string{"double-pinion-reverser", "ravigneaux-two-speed", "two-speed-triple-pinion", "depot-shuttle-three-speed"} {
		t.Run(name, func(t *testing.T) {
			train := library(t, name)
			w := newWorld(train)
			b := newBench(train, exactly())
			rng := rand.New(rand.NewPCG(3, 20))
			healthy, ones, twos := 0, 0, 0
			for range 25 {
				truth := rng.IntN(len(w.shows))
				for bits.OnesCount(w.sound[truth]) < len(w.components)-2 {
					truth = rng.IntN(len(w.shows))
				}
				seen := map[int]string{}
				for r := range train.Ranges {
					if rng.IntN(3) > 0 {
						seen[r] = w.shows[truth][r]
					}
				}
				want := w.hittingSets(w.minimalConflicts(seen))
				got := w.suspects(t, b, seen)
				slices.Sort(got)
				slices.Sort(want)
				if !slices.Equal(got, want) {
					t.Fatalf("seen %v: suspects %b, minimal hitting sets %b", seen, got, want)
				}
				for _, h := range want {
					switch bits.OnesCount(h) {
					case 0:
						healthy++
					case 1:
						ones++
					case 2:
						twos++
					}
				}
			}
			t.Logf("%d assignments; %d times nothing, %d single and %d double suspects", len(w.shows), healthy, ones, twos)
			if ones == 0 || twos == 0 {
				t.Error("the sample is too small")
			}
		})
	}
}

// suspects asks package diagnosis: the components of the single suspects that
// agree with everything, and of the pairs none of which agrees alone.
func (w *world) suspects(t *testing.T, b *bench, seen map[int]string) []uint {
	c := &diagnosis.Case{Train: w.t, Assume: b.a}
	for r := range w.t.Ranges {
		if s, ok := seen[r]; ok {
			c.Seen = append(c.Seen, observed(t, w.t, r, s)...)
		}
	}
	bit := func(f kinematics.Fault) uint { return 1 << slices.Index(w.components, f.Coupling) }
	var found []uint
	add := func(h uint) {
		contains := slices.ContainsFunc(found, func(f uint) bool { return f&h == f })
		if !contains {
			found = append(found, h)
		}
	}
	for _, s := range must(b.finder.Diagnose(t.Context(), c, diagnosis.Options{Faults: 1})).Groups[0].Suspects {
		if s.Halves == 0 && s.Kind == diagnosis.Healthy {
			add(0)
		}
	}
	for _, s := range must(b.finder.Diagnose(t.Context(), c, diagnosis.Options{Faults: 1})).Groups[0].Suspects {
		if s.Halves == 0 && s.Kind == diagnosis.Faulty && len(s.Faults[0].Ranges) == 0 && !s.Faults[0].Share.IsSet() {
			add(bit(s.Faults[0]))
		}
	}
	for _, s := range b.finder.Several(c, 2) {
		add(bit(s.Faults[0]) | bit(s.Faults[1]))
	}
	return found
}

// observed puts what is shown into observations.
func observed(t *testing.T, train *kinematics.Train, r int, show string) []diagnosis.Observation {
	words := map[string]string{
		"neutral": "none, revs", "input-held": "none, loaded", "tie-up": "bind", "lurch forward": "lurch-forward", "lurch reverse": "lurch-backward",
	}
	word, ok := words[show]
	if ok {
		return see(t, train, train.Ranges[r].Name, word)
	}
	sense, ratio := show[:7], show[7:]
	if ratio[0] == '-' {
		ratio = ratio[1:]
	}
	return see(t, train, train.Ranges[r].Name, sense+", "+ratio)
}
