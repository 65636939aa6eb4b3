package table

import (
	"testing"

	"tieup/kinematics/analysis"
)

// Shifted profiles mend the distance of the axes; pinions that cannot stand at equal angles
// they do not mend, nor pinions with too few teeth.
func TestAuditText(t *testing.T) {
	got := auditText([]analysis.Finding{{Gearset: "front", Condition: "coaxial"}, {Gearset: "rear", Condition: "equal spacing"}},
		analysis.Named[int64]{{Name: "rear", Value: 7}})
	if want := "needs profile shift: front coaxial; fails: rear equal spacing; rear pinions of 7 teeth"; got != want {
		t.Errorf("%q, not %q", got, want)
	}
}
