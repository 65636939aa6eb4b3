package lesson_test

import (
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
	"tieup/kinematics/lesson"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// observed puts what a learner is told in the words of a diagnosis; all is false
// if these say less than the complaint does.
func observed(r int, s lesson.Sight) (list []diagnosis.Observation, all bool) {
	see := func(w diagnosis.Word) { list = append(list, diagnosis.Observation{Range: r, To: -1, Word: w}) }
	o := s.Cell.Outcome
	switch {
	case s.Cell.Lurch == reading.LurchesForward:
		see(diagnosis.LurchForward)
	case s.Cell.Lurch == reading.LurchesBackward:
		see(diagnosis.LurchBackward)
	case o.Drives():
		ratio, _ := o.Ratio()
		if ratio.Sign() < 0 {
			ratio = ratio.Neg()
		}
		see(map[solve.Verdict]diagnosis.Word{solve.Forward: diagnosis.Forward, solve.Reverse: diagnosis.Reverse}[o.Verdict])
		list = append(list, diagnosis.Observation{Range: r, To: -1, Word: diagnosis.Ratio, Ratio: ratio})
	case o.Verdict == solve.TieUp:
		see(diagnosis.Bind)
	case o.Verdict == solve.InputHeld:
		see(diagnosis.Loaded)
		return list, false // fits a tie-up, too
	default:
		see(diagnosis.Revs)
		if !s.Rolling {
			return list, true
		}
		forward, backward := !o.CoastForward.Empty, !o.CoastBackward.Empty
		switch {
		case forward && backward:
			see(diagnosis.Rolls)
		case forward:
			see(diagnosis.RollsForwardOnly)
		case backward:
			see(diagnosis.RollsBackOnly)
		default:
			see(diagnosis.Held)
		}
		turns := s.Cell.Reading.Has(reading.CoastTurnsEngine) || s.Cell.Reading.Has(reading.CoastTurnsBackward)
		return list, !turns
	}
	return list, true
}

// The suspects of a complaint are those single faults with which a diagnosis
// agrees in everything seen.
func TestKeyAgreesWithDiagnosis(t *testing.T) {
	exercises, whole := 0, 0
	for _, name := range gearsets.Names() {
		school, train, _ := teacher(t, name)
		assume := diagnosis.Default()
		assume.Tolerance = exact.NewFrac(0, 1)
		finder, err := diagnosis.New(t.Context(), solve.Compile(train), assume)
		if err != nil {
			t.Fatal(err)
		}
		for seed := uint64(1); seed <= 3; seed++ {
			for _, e := range sheet(t, school, seed, 10).Exercises {
				if len(e.Seen) == 0 {
					continue
				}
				exercises++
				c := &diagnosis.Case{Train: train, Assume: assume}
				all := true
				for _, s := range e.Seen {
					i, _ := train.Range(s.Range.Name)
					list, exactly := observed(i, s)
					c.Seen, all = append(c.Seen, list...), all && exactly
				}
				a, err := finder.Diagnose(t.Context(), c, diagnosis.Options{Faults: 1})
				if err != nil {
					t.Fatal(err)
				}
				agree := agreeing(a)
				for _, f := range train.SingleFaults() {
					inKey, inDiagnosis := holds(e.Suspects, f), holds(agree, f)
					if inKey && !inDiagnosis || all && inDiagnosis && !inKey {
						t.Errorf("%s, seed %d, %v: %s in the key: %v, agrees in the diagnosis: %v",
							name, seed, told(e.Seen), train.FaultText(f), inKey, inDiagnosis)
					}
				}
				if all {
					whole++
				}
			}
		}
	}
	if exercises < 300 || whole < exercises/2 {
		t.Errorf("only %d complaints, %d of them told whole", exercises, whole)
	}
}

// agreeing returns the single faults, not limited to ranges, that everything seen
// fits fully.
func agreeing(a *diagnosis.Answer) []kinematics.Fault {
	var list []kinematics.Fault
	for _, g := range a.Groups {
		for _, s := range g.Suspects {
			if g.Halves() == 0 && s.Kind == diagnosis.Faulty && len(s.Faults) == 1 && len(s.Faults[0].Ranges) == 0 {
				list = append(list, s.Faults[0])
			}
		}
	}
	return list
}

func holds(list []kinematics.Fault, f kinematics.Fault) bool {
	return slices.ContainsFunc(list, func(g kinematics.Fault) bool { return g.Coupling == f.Coupling && g.Kind == f.Kind })
}

func told(seen []lesson.Sight) []string {
	var list []string
	for _, s := range seen {
		list = append(list, s.Range.Name+": "+s.Text())
	}
	return list
}

// The pair of every textbook, common practice, no source: no reverse, and second
// and manual low as they should be, is direct or low-reverse, since the roller
// clutch holds in manual low.
func TestNoReverseLeavesTwoSuspects(t *testing.T) {
	school, train, _ := teacher(t, "depot-shuttle-three-speed")
	for _, e := range sheet(t, school, 7, 10).Exercises {
		if !slices.Equal(told(e.Seen), []string{"R: no drive", "D2: drives forward at 1.45", "L1: drives forward at 2.45"}) {
			continue
		}
		var suspects []string
		for _, f := range e.Suspects {
			suspects = append(suspects, train.FaultText(f))
		}
		if !slices.Equal(suspects, []string{"direct=open", "low-reverse=open"}) {
			t.Errorf("suspects %v", suspects)
		}
		return
	}
	t.Error("the sheet has no such complaint")
}

// Two suspects that drive alike are told apart by coasting: a roller clutch lets
// first freewheel, a brake beside it does not.
func TestCoastingTellsApart(t *testing.T) {
	found := false
	for _, name := range gearsets.Names() {
		school, _, _ := teacher(t, name)
		for _, e := range sheet(t, school, 2, 20).Exercises {
			for _, i := range e.Best {
				found = found || e.Tests[i].Coasting
				if e.Tests[i].Coasting && slices.ContainsFunc(e.Tests, func(x lesson.Test) bool { return !x.Coasting && len(x.Results) > 1 }) {
					t.Errorf("%s asks for coasting where %s tells suspects apart under power", name, e.Tests[i].Range.Name)
				}
			}
			if e.Kind == lesson.NextTest && len(e.Suspects) < 2 {
				t.Errorf("%s asks what tells %d suspect apart", name, len(e.Suspects))
			}
		}
	}
	if !found {
		t.Error("no exercise is decided by coasting")
	}
}
