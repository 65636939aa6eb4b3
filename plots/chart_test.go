package plots

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// With its forward clutch stuck the depot's three-speed drives in neutral at the
// ratio of first, ties up in reverse and pushes against the pawl in park.
func TestApplicationChart(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	a := ApplicationChart(sys, ranges(t, sys.Train, "P", "R", "N", "D1", "D2"), faults(t, sys.Train, "forward=stuck"))
	cells := map[string]string{}
	for k, c := range a.Couplings {
		var words []string
		for _, cell := range a.Cells[k] {
			if cell.Faulty {
				cell.Word += "!"
			}
			words = append(words, cell.Word)
		}
		cells[sys.Train.Couplings[c].Name] = strings.Join(words, "|")
	}
	want := map[string]string{
		"forward": "stuck!|stuck!|stuck!|stuck!|stuck!", "direct": "|applied|||", "intermediate": "||||applied",
		"low-reverse": "|applied|||", "roller": "holds|idle|holds|holds|overruns", "pawl": "applied||||",
	}
	if diff := cmp.Diff(want, cells); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	var outcomes []string
	for _, r := range a.Rows {
		outcomes = append(outcomes, r.Faulty.Text())
	}
	wantOutcomes := []string{"lurches forward against the pawl", "ties up", "drives forward at 2.45 (as D1)", "drives forward at 2.45", "drives forward at 1.45"}
	if diff := cmp.Diff(wantOutcomes, outcomes); diff != "" {
		t.Errorf("outcomes (-want +got):\n%s", diff)
	}
}

// A fault that acts in some ranges only is shown in these.
func TestApplicationChartFaultInSomeRanges(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	a := ApplicationChart(sys, ranges(t, sys.Train, "N", "D1"), faults(t, sys.Train, "intermediate=stuck@D1"))
	row, _ := sys.Train.Element("intermediate")
	if want := []ElementCell{{}, {"stuck", true}}; !cmp.Equal(want, a.Cells[row]) {
		t.Errorf("row of the band: %v, want %v", a.Cells[row], want)
	}
}

// Signs differ for all that words tell apart.
func TestSignsDiffer(t *testing.T) {
	seen := map[sign]string{}
	for _, word := range []string{"", WordApplied, WordHolds, WordOverruns, WordIdle, "stuck", "open"} {
		s := ElementCell{Word: word}.sign()
		if other, known := seen[s]; known {
			t.Errorf("%q and %q have the same sign", word, other)
		}
		seen[s] = word
	}
	changes := map[sign]Change{}
	for c := range changeCount {
		if other, known := changes[c.sign()]; known {
			t.Errorf("changes %d and %d have the same sign", c, other)
		}
		changes[c.sign()] = c
	}
}

// The wall chart of the depot's three-speed, against outcomes by hand; for the
// tie-up see TestLeverDiagramTieUp. With the shell on the input and nothing else
// held, rolling back at -1 turns the input at 66/30 at least, since the roller
// does not let the rear carrier turn back: 30 w - 66 = 96 w(carrier) >= 0.
func TestFaultChart(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	w := FaultChart(sys, ranges(t, sys.Train, "R", "N", "D1", "D2", "D3"), nil)
	got := map[string]string{}
	for _, row := range w.Rows {
		name := sys.Train.Couplings[row.Fault.Coupling].Name + " " + string(row.Fault.Kind)
		var words []string
		for _, c := range row.Cells {
			words = append(words, c.Change.words()+": "+c.Text)
		}
		got[name] = strings.Join(words, " | ")
	}
	const same = "as when healthy: "
	want := map[string]string{
		"forward stuck": "ties up or is held: ties up | drives where it must not, or the wrong way: fwd 2.45 D1 | " + same + " | " + same + " | " + same,
		"direct stuck": same + " | coasting or rolling differs: no drive, rolling back turns engine | wrong ratio: fwd 1.00 D3 | " +
			"ties up or is held: ties up | " + same,
		"low-reverse open": "drive lost: no drive, rolling back turns engine | " + same + " | " + same + " | " + same + " | " + same,
	}
	for name, w := range want {
		if got[name] != w {
			t.Errorf("%s:\n got %s\nwant %s", name, got[name], w)
		}
	}
	if len(w.Rows) != len(sys.Train.SingleFaults()) {
		t.Errorf("%d rows for %d faults", len(w.Rows), len(sys.Train.SingleFaults()))
	}
}

// A fault that is given leaves its coupling out of the rows.
func TestFaultChartWithGivenFault(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	for _, row := range FaultChart(sys, sys.Train.Ranges, faults(t, sys.Train, "forward=stuck")).Rows {
		if name := sys.Train.Couplings[row.Fault.Coupling].Name; name == "forward" {
			t.Errorf("forward is charted as %s though it is stuck", row.Fault.Kind)
		}
	}
}
