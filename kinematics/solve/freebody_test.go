package solve_test

import (
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// TestLoadOverAMemberOfTwoJoints: the middle shaft is splined into two joints
// that do not name each other. By hand: the first set (sun 30, ring 66, ring
// held) gives its carrier 96/30 = 16/5; the second (sun 36, ring 72, carrier
// held) turns 16/5 into 72/36 of it, 32/5, at its ring.
func TestLoadOverAMemberOfTwoJoints(t *testing.T) {
	b := kinematics.NewBuilder("two-joints")
	b.Shaft("in", "middle", "out")
	b.Simple("first", 30, 66, 0, false)
	b.Simple("second", 36, 72, 0, false)
	b.Join("input", "in", "first.sun")
	b.Join("before", "first.carrier", "middle")
	b.Join("behind", "middle", "second.sun")
	b.Join("output", "second.ring", "out")
	b.Element("first-brake", kinematics.Brake, "first.ring", kinematics.HousingName)
	b.Element("second-brake", kinematics.Brake, "second.carrier", kinematics.HousingName)
	b.Ports("in", "out")
	b.Range("low", "first-brake", "second-brake")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	st := train.In(&train.Ranges[0])
	l := solve.Compile(train).Pulling(t.Context(), st, solve.NoLosses(), solve.Limit{})
	if l.Trouble != solve.NoLossTrouble || len(l.Ways) != 1 {
		t.Fatalf("trouble %v, %d ways", l.Trouble, len(l.Ways))
	}
	for name, want := range map[string]exact.Frac{
		"input:in":             exact.NewFrac(-1, 1),
		"input:first.sun":      exact.NewFrac(1, 1),
		"before:first.carrier": exact.NewFrac(-16, 5),
		"before:middle":        exact.NewFrac(16, 5),
		"behind:middle":        exact.NewFrac(-16, 5),
		"behind:second.sun":    exact.NewFrac(16, 5),
		"output:second.ring":   exact.NewFrac(32, 5),
		"output:out":           exact.NewFrac(-32, 5),
	} {
		i, ok := train.Coupling(name)
		if !ok {
			t.Fatalf("no coupling %s", name)
		}
		if got := l.Ways[0].Torque[i]; got.Cmp(want) != 0 {
			t.Errorf("%s carries %s, want %s", name, got, want)
		}
	}
}
