package table

import (
	"testing"

	"tieup/kinematics/analysis"
)

// Shifted profiles mend the distance of the axes; pinions that cannot stand at equal angles
// they do not mend.
func TestAuditText(t *testing.T) {
	got := auditText([]analysis.Finding{{Gearset: "front", Condition: "coaxial"}, {Gearset: "rear", Condition: "equal spacing"}})
	if want := "needs profile shift: front coaxial; fails: rear equal spacing"; got != want {
		t.Errorf("%q, not %q", got, want)
	}
}
