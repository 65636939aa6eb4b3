package controls_test

import (
	"fmt"
	"testing"

	"tieup/kinematics/controls"
)

// largeControls are invented: a solenoid, a regulator valve and a latch for each of
// the five elements of the eight-speed, three solenoids that choose ways, and a valve
// each for reverse and the limp range. Two of the latches hold themselves.
func largeControls(b testing.TB) *controls.Network {
	train := library(b, "four-carrier-eight-speed")
	s := &controls.Spec{}
	for i := range 8 {
		s.Solenoids = append(s.Solenoids, controls.Solenoid{Name: fmt.Sprint("S", i+1)})
	}
	elements := train.ElementNames()[:5]
	s.Circuits = []controls.Circuit{{Name: "drive", From: "lever(D)"}, {Name: "reverse", From: "lever(R)"}, {Name: "moving", From: "drive or reverse"}}
	for i, e := range elements {
		reg, latch := fmt.Sprint("regulator-", i+1), fmt.Sprint("latch-", i+1)
		up := fmt.Sprintf("S%d", i+1)
		s.Valves = append(s.Valves, controls.Valve{Name: reg, Up: up})
		hold := ""
		if i < 2 {
			hold = fmt.Sprintf(" or S%d and %s", i+1, latch)
		}
		s.Valves = append(s.Valves, controls.Valve{Name: latch, Up: fmt.Sprintf("S%d and not S%d%s", i+1, i%3+6, hold)})
		s.Circuits = append(s.Circuits, controls.Circuit{Name: "to-" + e, From: fmt.Sprintf("moving and %s", reg)},
			controls.Circuit{Name: "hold-" + e, From: fmt.Sprintf("moving and %s", latch)})
		s.Feeds = append(s.Feeds, controls.Feed{Element: e, Apply: area("to-" + e + " or hold-" + e)})
		s.Neighbours = append(s.Neighbours, [2]string{"to-" + e, "to-" + elements[(i+1)%5]})
	}
	for i := range train.Ranges {
		r := &train.Ranges[i]
		var names []string
		for _, e := range r.Apply {
			if e < 5 {
				names = append(names, fmt.Sprint("S", e+1))
			}
		}
		if len(names) > 2 {
			names = append(names, fmt.Sprint("S", 6+i%3))
		}
		s.Commands = append(s.Commands, controls.Command{Range: r.Name, Patterns: on(names...)})
	}
	n := compile(b, train, s)
	if d := n.Prove(); len(d) > 0 {
		b.Fatal(d)
	}
	return n
}

// singlesAndPairs are all sets of one fault, and of two that can be together.
func singlesAndPairs(n *controls.Network) [][]controls.Fault {
	var sets [][]controls.Fault
	all := n.SingleFaults()
	for i, f := range all {
		sets = append(sets, all[i:i+1:i+1])
		for _, g := range all[i+1:] {
			if n.Contradicts(all[i:i+1], g) == nil {
				sets = append(sets, []controls.Fault{f, g})
			}
		}
	}
	return sets
}

// BenchmarkSurvey8Solenoids10Valves evaluates every single fault and every pair of
// them in every range.
func BenchmarkSurvey8Solenoids10Valves(b *testing.B) {
	n := largeControls(b)
	sets := singlesAndPairs(n)
	for b.Loop() {
		n.Survey(sets)
	}
	b.ReportMetric(float64(len(sets)), "sets")
	b.ReportMetric(float64(len(sets)*len(n.Nodes())), "states")
}
