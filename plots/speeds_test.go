package plots

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// ranges returns the named ranges of a train, all if none is named.
func ranges(t *testing.T, train *kinematics.Train, names ...string) []kinematics.Range {
	t.Helper()
	if len(names) == 0 {
		return train.Ranges
	}
	var list []kinematics.Range
	for _, n := range names {
		i, ok := train.Range(n)
		if !ok {
			t.Fatalf("%s has no range %s", train.Name, n)
		}
		list = append(list, train.Ranges[i])
	}
	return list
}

// faults reads faults as they are written on the command line.
func faults(t *testing.T, train *kinematics.Train, texts ...string) []kinematics.Fault {
	t.Helper()
	var list []kinematics.Fault
	for _, text := range texts {
		f, err := kinematics.ParseFault(train, text)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, f)
	}
	return list
}

// shown writes a speed, or its bounds, as text.
func shown(r analysis.Speed) string {
	f, fixed := r.Point()
	switch {
	case fixed && r.IsZero():
		return "at rest"
	case fixed:
		return f.String()
	}
	return r.Min.String() + " .. " + r.Max.String()
}

// Neutral of the depot's three-speed, healthy and with its forward clutch stuck.
// By hand, with 30 and 66 teeth in both sets: the roller holds the rear carrier,
// so 30 w(shell) + 66 w(out) = 0, and in the front set with the ring at 1
// 30 (w(shell) - w(out)) + 66 (1 - w(out)) = 0: w(out) = 11/27 and
// w(shell) = -121/135. Healthy, all is free, but the roller lets the rear carrier
// turn forward only.
func TestSpeedPlan(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	plan := speedPlan(t, sys, ranges(t, sys.Train, "N"), faults(t, sys.Train, "forward=stuck"), SpeedOptions{})

	var axes [][]string
	for _, p := range plan.Panels {
		list := []string{p.Title}
		for _, a := range p.Axes {
			list = append(list, a.Label+": "+a.Members)
		}
		axes = append(axes, list)
	}
	wantAxes := [][]string{
		{"front + rear", "sun-shell: front.sun, rear.sun", "rear.carrier: ", "output-shaft: front.carrier, rear.ring", "front.ring: "},
		{"other shafts", "turbine: "},
	}
	if diff := cmp.Diff(wantAxes, axes); diff != "" {
		t.Errorf("axes (-want +got):\n%s", diff)
	}

	lines := map[string][][]string{}
	for _, l := range plan.Lines {
		for _, points := range l.Points {
			var list []string
			for _, r := range points {
				list = append(list, shown(r))
			}
			lines[l.Label] = append(lines[l.Label], list)
		}
	}
	wantLines := map[string][][]string{
		"N, healthy: no drive":              {{"-inf .. inf", "0 .. inf", "-inf .. inf", "-inf .. inf"}, {"1"}},
		"N, faulty: drives forward at 2.45": {{"-121/135", "at rest", "11/27", "1"}, {"1"}},
	}
	if diff := cmp.Diff(wantLines, lines); diff != "" {
		t.Errorf("lines (-want +got):\n%s", diff)
	}

	h := plan.heading()
	if want := "Speed plan of N; forward is stuck on"; h.subtitle != want {
		t.Errorf("subtitle %q, want %q", h.subtitle, want)
	}
	got := h.footer()
	source := slices.Index(got, "Source of the train: invented for demonstration")
	said := append(h.warnings(), got[max(source+1, 0):]...)
	if source < 0 || !slices.Equal(said, plan.Chart.Cautions) || len(said) < 2 {
		t.Errorf("warnings %q and what follows the source in %q are not the cautions", h.warnings(), got)
	}
}

// A range that the fault does not change is drawn once.
func TestSpeedPlanUnchangedRange(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	plan := speedPlan(t, sys, ranges(t, sys.Train, "D1", "R"), faults(t, sys.Train, "forward=stuck@D1,R"), SpeedOptions{})
	var labels []string
	for _, l := range plan.Lines {
		labels = append(labels, l.Label)
	}
	want := []string{
		"D1, healthy or faulty: drives forward at 2.45",
		"R, healthy: drives backward at 2.20", "R, faulty: ties up",
	}
	if diff := cmp.Diff(want, labels); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Speeds in turns per minute are those per input turn times the input's.
func TestSpeedPlanRPM(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	plan := speedPlan(t, sys, ranges(t, sys.Train, "D1"), nil, SpeedOptions{RPM: 2700})
	output := plan.Lines[0].Points[0][2]
	if got := plan.Value(output); got != 1100 { // 2700 x 11/27
		t.Errorf("output at %v, want 1100", got)
	}
}

// With pinions asked for, a pinion has an axis: seen from the carrier it turns
// zr/zp = 66/18 times as fast as the ring.
func TestSpeedPlanPinions(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	plan := speedPlan(t, sys, ranges(t, sys.Train, "D3"), nil, SpeedOptions{Pinions: true})
	at := map[string]exact.Frac{}
	for _, a := range plan.Panels[0].Axes {
		at[a.Label] = a.At
	}
	ring := at["front.ring"].Sub(at["output-shaft"])
	pinion := at["front.pinion"].Sub(at["output-shaft"])
	if want := ring.Mul(exact.NewFrac(66, 18)); pinion.Cmp(want) != 0 {
		t.Errorf("the pinion stands at %v from its carrier, want %v", pinion, want)
	}
}

// As many lines as a plan is made for have looks of their own, even without colour.
func TestSpeedPlanLines(t *testing.T) {
	sys := library(t, "hub-fourteen-speed")
	for _, plan := range []*Speeds{
		speedPlan(t, sys, sys.Train.Ranges[:MostLines], nil, SpeedOptions{}),
		speedPlan(t, sys, sys.Train.Ranges[:6], faults(t, sys.Train, "low-range=open"), SpeedOptions{}),
	} {
		seen := map[string]string{}
		for i, l := range plan.Lines {
			style, m := plan.look(&light, i)
			look := fmt.Sprint(style.dash, style.width, m)
			if other, known := seen[look]; known {
				t.Errorf("%s looks like %s in grey", l.Label, other)
			}
			seen[look] = l.Label
		}
	}
}
