package table

import (
	"slices"
	"strings"
	"testing"

	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// Reverse of the depot's three-speed with its forward clutch welded. By hand, per unit
// of rated input torque: in reverse the direct clutch carries 1 and low-reverse 16/5, so
// with a reserve of 3/2 they hold 3/2 and 24/5. What gives first is the direct clutch: it
// slips at 256/135 of the input, which takes 3/2 x 256/135 = 128/45 at the input, and the
// output then turns forward, as in first.
func TestBrokenAwayCells(t *testing.T) {
	a := opened(t, "depot-shuttle-three-speed")
	i, _ := a.Train.Range("R")
	scale := analysis.ScaleOf(a.Train)
	answer, err := a.Breakaway(t.Context(), analysis.BreakawayQuestion{
		Range: &a.Train.Ranges[i], Condition: analysis.Under(stuck(t, a.Train, "forward")...),
		Torques: analysis.Torques{Scale: scale, Available: scale.Rated, Reserve: exact.NewFrac(3, 2), Resistance: exact.Int(0)},
	})
	if err != nil {
		t.Fatal(err)
	}
	b := BrokenAway{answer}
	for _, want := range [][]string{
		{"direct", "applied", "1.50", "assumed: 1.5 x 1.00 carried in R"},
		{"low-reverse", "applied", "4.80", "assumed: 1.5 x 3.20 carried in R"},
		{"forward", "stuck on", "without limit", ""},
	} {
		got := cells(t, b.elementGrid(), want[0])
		if !strings.HasPrefix(got[2], want[2]) || got[1] != want[1] || got[3] != want[3] {
			t.Errorf("row %q\nwant %q", got, want)
		}
	}
	if got := answer.Standing.Torque; got.String() != "128/45" || answer.Standing.Direction != "forward" {
		t.Errorf("standing needs %v and goes %s, want 128/45, forward", got, answer.Standing.Direction)
	}
	text, document := written(t, answer, b)
	if list, _ := document["cautions"].([]any); len(list) < 3 || !slices.ContainsFunc(list, func(x any) bool { return strings.Contains(text, x.(string)) }) {
		t.Errorf("cautions %q", list)
	}
	elements := document["elements"].(map[string]any)
	if got := elements["direct"].(map[string]any)["between"].([]any); len(got) != 2 || got[0] != "turbine" || got[1] != "sun-shell" {
		t.Errorf("direct is between %q", got)
	}
}
