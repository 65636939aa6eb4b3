package analysis_test

import (
	"testing"

	"tieup/kinematics/analysis"
)

// Shifted profiles mend the distance of the axes; pinions that cannot stand at equal angles
// they do not mend, nor pinions with too few teeth.
func TestAudit(t *testing.T) {
	g := analysis.FittedGears{
		Warnings: []analysis.Finding{{Gearset: "front", Condition: "coaxial"}, {Gearset: "rear", Condition: "equal spacing"}},
		Small:    analysis.Named[int64]{{Name: "rear", Value: 7}},
	}
	if want := "needs profile shift: front coaxial; fails: rear equal spacing; rear pinions of 7 teeth"; g.Audit() != want {
		t.Errorf("%q, not %q", g.Audit(), want)
	}
	if g.Warnings = nil; g.Audit() != "ok; rear pinions of 7 teeth" {
		t.Errorf("nothing fails: %q", g.Audit())
	}
}
