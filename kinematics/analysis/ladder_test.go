package analysis_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
)

// ladder climbs ranges of a train of the library, all that climb if none are named.
func ladder(t *testing.T, name string, ranges, faults string, shiftAt ...float64) (*analysis.Ladder, error) {
	t.Helper()
	train := gearsets.MustLibrary(name)
	q := analysis.LadderQuestion{ShiftAt: shiftAt}
	for _, r := range strings.Fields(ranges) {
		i, err := train.FindRange(r)
		if err != nil {
			t.Fatal(err)
		}
		q.Ranges = append(q.Ranges, train.Ranges[i])
	}
	for _, f := range strings.Fields(faults) {
		q.Faults = append(q.Faults, train.MustFault(f))
	}
	return analysis.Open(train).Ladder(t.Context(), q)
}

func within(got, want float64) bool { return math.Abs(got-want) <= 1e-9*max(1, math.Abs(want)) }

// The depot's three-speed, shifted up at 2700 turns per minute of the input. By
// hand, with the ratios 27/11, 16/11 and 1: first ends at 2700 x 11/27 = 1100,
// second at 2700 x 11/16 = 1856.25, third at 2700; the steps are 27/16 and 16/11.
// In first the shell turns -121/135 of the input, so the direct clutch slips
// (1 + 121/135) 2700 = 5120 at its end.
func TestShiftLadder(t *testing.T) {
	l, err := ladder(t, "depot-shuttle-three-speed", "", "", 2700)
	if err != nil {
		t.Fatal(err)
	}
	want := []struct{ from, to, inputFrom, step float64 }{
		{0, 1100, 0, 27.0 / 16}, {1100, 1856.25, 1600, 16.0 / 11}, {1856.25, 2700, 1856.25, 0},
	}
	if len(l.Rungs) != len(want) {
		t.Fatalf("%d rungs, want %d", len(l.Rungs), len(want))
	}
	for i, g := range l.Rungs {
		w := want[i]
		if !within(g.From, w.from) || !within(g.To, w.to) || !within(g.InputFrom, w.inputFrom) || !within(g.InputTo, 2700) || !within(g.Step, w.step) {
			t.Errorf("%s: %+v, want %+v", g.Range, g, w)
		}
	}
	series := map[string]analysis.Series{}
	for _, s := range append(append([]analysis.Series{l.Input}, l.Members...), l.Slips...) {
		series[s.Label] = s
	}
	for _, c := range []struct {
		label string
		rung  int
		want  float64
	}{
		{"turbine", 0, 2700}, {"sun-shell", 0, -2420}, {"sun-shell", 1, 0}, {"sun-shell", 2, 2700}, {"output-shaft", 1, 1856.25},
		{"direct", 0, 5120}, {"direct", 1, 2700}, {"intermediate", 0, 2420},
	} {
		s, ok := series[c.label]
		if !ok {
			t.Errorf("no series %s", c.label)
		} else if got := s.Pieces[c.rung]; got.Absent || !within(got.Value, c.want) {
			t.Errorf("%s at the end of rung %d: %+v, want %v", c.label, c.rung, got, c.want)
		}
	}
	if !series["direct"].Pieces[2].Absent {
		t.Error("the direct clutch slips in third, where it is applied")
	}
	if _, ok := series["low-reverse, roller"]; !ok {
		t.Error("the low-reverse brake and the roller beside it slip alike, but are not drawn as one")
	}
}

// Without shift speeds the ladder is in shares of one: no speed is invented.
func TestShiftLadderShares(t *testing.T) {
	l, err := ladder(t, "depot-shuttle-three-speed", "", "")
	if err != nil {
		t.Fatal(err)
	}
	if l.RPM || !within(l.Rungs[0].To, 11.0/27) || !within(l.Rungs[2].InputTo, 1) {
		t.Errorf("RPM %v, %+v", l.RPM, l.Rungs)
	}
}

// A faulty range that does not drive is left out and named.
func TestShiftLadderSkips(t *testing.T) {
	l, err := ladder(t, "depot-shuttle-three-speed", "", "intermediate=stuck", 1000, 2000, 3000)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(analysis.List[string]{"D3"}, l.Skipped); diff != "" {
		t.Errorf("skipped (-want +got):\n%s", diff)
	}
	if l.Rungs[1].Range != "D2" || !within(l.Rungs[1].InputTo, 2000) {
		t.Errorf("the second rung is %s up to %v, want D2 up to 2000", l.Rungs[1].Range, l.Rungs[1].InputTo)
	}
}

func TestShiftLadderRefusals(t *testing.T) {
	for _, c := range []struct {
		ranges  string
		shiftAt []float64
		want    string
	}{
		{"D1 D2 D3", []float64{1, 2, 3, 4}, "4 shift speeds for 3 ranges"},
		{"D1 D2 D3", []float64{-1}, "must be above 0"},
		{"D1 D2 D3", []float64{4000, 1000}, "D2 would be left at"},
		{"D3 D1", []float64{2000}, "order the ranges from low to high"},
		{"N R", nil, "none of the ranges drives forward"},
	} {
		_, err := ladder(t, "depot-shuttle-three-speed", c.ranges, "", c.shiftAt...)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: error %v, want %q", c.shiftAt, err, c.want)
		}
	}
}

// Climbing goes from the largest ratio to the smallest, whatever the file's order.
func TestClimbingRanges(t *testing.T) {
	for train, want := range map[string]string{
		"depot-shuttle-three-speed": "D1 D2 D3", "four-carrier-eight-speed": "D1 D2 D3 D4 D5 D6 D7 D8", "transfer-case-two-speed": "4L 2H",
	} {
		var names []string
		for _, r := range analysis.Open(gearsets.MustLibrary(train)).Climbing() {
			names = append(names, r.Name)
		}
		if got := strings.Join(names, " "); got != want {
			t.Errorf("%s: %s, want %s", train, got, want)
		}
	}
}
