package table

import (
	"slices"
	"testing"

	"tieup/kinematics/analysis"
)

// The lines of the shifts have the words of the answer, each under its heading;
// ratios of the depot's three-speed by hand: 27/11, 16/11, 1 and 11/5 in reverse. In
// second the direct clutch slips as the input turns, so the output torque is 16/11 (1 - x)
// for x on that clutch: 1 at x = 5/16, and -8/11 at its rating, 1.5 times the input
// torque, which it carries in reverse.
func TestShiftParts(t *testing.T) {
	a := opened(t, "depot-shuttle-three-speed")
	answer, err := a.Shifts(t.Context(), analysis.ShiftsQuestion{})
	if err != nil {
		t.Fatal(err)
	}
	parts := Shifts{Shifts: answer}.Parts()
	row := func(heading, shift string) []string {
		i := slices.IndexFunc(parts, func(p Part) bool { return p.Heading == heading })
		if i < 0 {
			t.Fatalf("no part %q", heading)
		}
		rows := parts[i].Grid.Rows
		k := slices.IndexFunc(rows, func(row []string) bool { return row[0] == shift })
		if k < 0 {
			t.Fatalf("%s: no row %q", heading, shift)
		}
		return rows[k]
	}
	for _, c := range []struct {
		heading string
		want    []string
	}{
		{"from range to range", []string{"D2 to D3", "intermediate", "direct", "timed: early ties up, late flares to 2.45 (as D1)",
			"timed: early locks the wheels, late lets the engine fall to idle"}},
		{"engaging and letting go, at a standstill", []string{"N to R", "", "direct, low-reverse", "engages: drives backward at 2.20"}},
		{holeHeading, []string{"D2 to D3", "1.45", "1.00", "direct 0.31", "-0.73", "held on too long, the wheels are braked"}},
		{"on the way between two ranges", []string{"D2 - D3, overlap", "intermediate, direct", "ties up", "does not roll"}},
	} {
		if got := row(c.heading, c.want[0]); !slices.Equal(got, c.want) {
			t.Errorf("%s: row %q\nwant %q", c.heading, got, c.want)
		}
	}
}
