package plots

import (
	"fmt"
	"testing"

	"gonum.org/v1/plot/vg/recorder"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/solve"
)

// library returns a compiled train of the library.
func library(t *testing.T, name string) *solve.System {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	return solve.Compile(train)
}

// drawings makes every kind of drawing of a train, of some of its ranges, with
// and without a fault.
func drawings(t *testing.T, sys *solve.System) map[string]Drawing {
	train := sys.Train
	list := map[string]Drawing{}
	var layouts Layouts
	var faultSets [][]kinematics.Fault
	faultSets = append(faultSets, nil)
	singles := train.SingleFaults()
	for i := 0; i < len(singles); i += 1 + len(singles)/2 {
		faultSets = append(faultSets, singles[i:i+1])
	}
	for k, faults := range faultSets {
		add := func(kind string, d Drawing) { list[fmt.Sprintf("%s %d", kind, k)] = d }
		add("chart", applicationChart(t, sys, train.Ranges, faults))
		add("speeds", speedPlan(t, sys, train.Ranges[:min(3, len(train.Ranges))], faults, SpeedOptions{}))
		add("levers", leverDiagram(t, sys, train.Ranges, faults))
		if k < 2 || train.Couplings[faults[0].Coupling].Kind == kinematics.Spline && k == len(faultSets)-1 {
			add("sections", layouts.HalfSection(explained(t, sys, train.Ranges, faults)))
		}
		if climbing := analysis.Open(train).Climbing(); len(climbing) > 0 {
			l, err := shiftLadder(t, sys, climbing, faults, []float64{4500})
			if err == nil {
				add("ladder", l)
			} else if len(faults) == 0 {
				t.Error(err)
			}
		}
		add("breakaway", breakaway(t, train, train.Ranges, faults))
	}
	list["speeds of all"] = speedPlan(t, sys, train.Ranges[:min(MostLines, len(train.Ranges))], nil, SpeedOptions{RPM: 1800, Pinions: true})
	list["faults"] = faultChart(t, sys, train.Ranges, nil)
	return list
}

// No drawing of any train has text over text or text beyond its edge.
func TestNoTextIsHiddenOrCut(t *testing.T) {
	for _, name := range gearsets.Names() {
		sys := library(t, name)
		for kind, d := range drawings(t, sys) {
			for _, s := range []Style{{}, {Size: Size{Width: 800, Height: 450}}} {
				r := newRuler()
				page := compose(r, d, s)
				var canvas recorder.Canvas
				p := &pen{ruler: r, theme: &light, canvas: &canvas, scale: page.scale, height: page.h}
				page.draw(p)
				edge := box{0, 0, page.w, page.h}
				for i, x := range p.texts {
					if !edge.holds(x.box) {
						t.Errorf("%s, %s: %q is cut at the edge: %v in %v", name, kind, x.text, x.box, edge)
					}
					for _, y := range p.texts[:i] {
						if x.box.overlaps(y.box) {
							t.Errorf("%s, %s: %q overlaps %q: %v and %v", name, kind, x.text, y.text, x.box, y.box)
						}
					}
				}
			}
		}
	}
}
