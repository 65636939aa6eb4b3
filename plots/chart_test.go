package plots

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
)

// With its forward clutch stuck the depot's three-speed drives in neutral at the
// ratio of first, ties up in reverse and pushes against the pawl in park.
func TestApplicationChart(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	a := applicationChart(t, sys, ranges(t, sys.Train, "P", "R", "N", "D1", "D2"), faults(t, sys.Train, "forward=stuck"))
	cells := map[string]string{}
	for _, c := range a.Couplings {
		var words []string
		for _, r := range a.Rows {
			word := r.Doings[c].Text()
			if r.Doings[c].Faulty() {
				word += "!"
			}
			words = append(words, word)
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
	a := applicationChart(t, sys, ranges(t, sys.Train, "N", "D1"), faults(t, sys.Train, "intermediate=stuck@D1"))
	row, _ := sys.Train.Element("intermediate")
	var got []string
	for _, r := range a.Rows {
		got = append(got, r.Doings[row].Text())
	}
	if want := []string{"", "stuck"}; !cmp.Equal(want, got) {
		t.Errorf("row of the band: %v, want %v", got, want)
	}
}

// Signs differ for all that words tell apart.
func TestSignsDiffer(t *testing.T) {
	seen := map[sign]string{}
	for _, d := range []reading.Doing{
		{}, {Word: reading.Applied}, {Word: reading.Holds}, {Word: reading.Overruns}, {Word: reading.Idle},
		{Fault: kinematics.Stuck}, {Fault: kinematics.OpenF},
	} {
		s := doingSign(d)
		if other, known := seen[s]; known {
			t.Errorf("%q and %q have the same sign", d.Text(), other)
		}
		seen[s] = d.Text()
	}
	differences := map[sign]reading.Difference{}
	for d := range reading.Differences {
		if other, known := differences[differenceSign(d)]; known {
			t.Errorf("%q and %q have the same sign", d, other)
		}
		differences[differenceSign(d)] = d
	}
}

// The wall chart of the depot's three-speed, against outcomes by hand; for the
// tie-up see TestLeverDiagramTieUp. With the shell on the input and nothing else
// held, rolling back at -1 turns the input at 66/30 at least, since the roller
// does not let the rear carrier turn back: 30 w - 66 = 96 w(carrier) >= 0.
func TestFaultChart(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	w := faultChart(t, sys, ranges(t, sys.Train, "R", "N", "D1", "D2", "D3"), nil)
	got := map[string]string{}
	for _, row := range w.Charts[1:] {
		name := row.Name()
		if row.Above == nil {
			name = strings.Replace(name, "=", " ", 1)
		}
		var words []string
		for _, r := range row.Rows {
			words = append(words, r.Difference().String()+": "+r.Short())
		}
		got[name] = strings.Join(words, " | ")
	}
	const same = "as when healthy: "
	want := map[string]string{
		"forward stuck": "ties up or is held: ties up | drives where it must not, or the wrong way: fwd 2.45 D1 | " + same + " | " + same + " | " + same,
		"direct stuck": same + " | coasting or rolling differs: no drive, rolling back turns engine | wrong ratio: fwd 1.00 D3 | " +
			"ties up or is held: ties up | " + same,
		// The valve that is down gives first in second, and in third.
		"valve-12=stuck-down": same + " | " + same + " | " + same + " | wrong ratio: fwd 2.45 D1 | wrong ratio: fwd 2.45 D1",
		"low-reverse open":    "drive lost: no drive, rolling back turns engine | " + same + " | " + same + " | " + same + " | " + same,
	}
	for name, w := range want {
		if got[name] != w {
			t.Errorf("%s:\n got %s\nwant %s", name, got[name], w)
		}
	}
	n := 0
	for _, row := range w.Charts[1:] {
		if !row.Or {
			n++
		}
	}
	if all := len(sys.Train.SingleFaults()) + len(controls.Of(sys.Train).SingleFaults()); n != all {
		t.Errorf("%d rows for %d faults", n, all)
	}
}

// A fault that is given leaves its coupling out of the rows.
func TestFaultChartWithGivenFault(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	for _, row := range faultChart(t, sys, sys.Train.Ranges, faults(t, sys.Train, "forward=stuck")).Charts[1:] {
		if row.Above != nil {
			continue
		}
		if name := sys.Train.Couplings[row.Added[0].Coupling].Name; name == "forward" {
			t.Errorf("forward is charted as %s though it is stuck", row.Added[0].Kind)
		}
	}
}
