package plots

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg/recorder"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
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

// drawings makes every kind of drawing of a train under some faults.
func drawings(t *testing.T, sys *solve.System, layouts *Layouts, faults []kinematics.Fault) map[string]Drawing {
	train := sys.Train
	list := map[string]Drawing{
		"chart":         applicationChart(t, sys, train.Ranges, faults),
		"speeds":        speedPlan(t, sys, train.Ranges[:min(3, len(train.Ranges))], faults, SpeedOptions{}),
		"speeds of six": speedPlan(t, sys, train.Ranges[:min(MostLines/2, len(train.Ranges))], faults, SpeedOptions{RPM: 1800}),
		"levers":        leverDiagram(t, sys, train.Ranges, faults),
		"sections":      layouts.HalfSection(explained(t, sys, train.Ranges, faults)),
		"breakaway":     breakaway(t, train, train.Ranges, faults),
	}
	a := analysis.Open(train)
	if climbing := a.Climbing(); len(climbing) > 0 {
		if l, err := shiftLadder(t, sys, climbing, faults, []float64{4500}); err == nil {
			list["ladder"] = l
		} else if len(faults) == 0 {
			t.Error(err)
		}
	}
	if n := len(train.Ranges); n > 1 {
		until, step := 1.0, 0.002
		played, err := a.Play(t.Context(), analysis.PlayQuestion{
			From: &train.Ranges[n-2], To: &train.Ranges[n-1], Condition: analysis.Under(faults...), Until: &until, Step: &step,
		})
		if err == nil {
			d, err := ShiftInTime([]*analysis.Played{played}, []string{""})
			if err != nil {
				t.Fatal(err)
			}
			list["shift in time"] = d
		}
	}
	return list
}

// clear says that no text of a page lies over another, over a bar or sign, or beyond the edge.
// It counts words that name bodies, and those of them that lie on the line of another.
func clear(t *testing.T, r *ruler, name string, page *page) (named, crossed int) {
	t.Helper()
	var canvas recorder.Canvas
	p := page.pen(&canvas, r, Style{})
	page.draw(p)
	edge := box{0, 0, page.w, page.h}
	for i, x := range p.texts {
		if !edge.holds(x.box) {
			t.Errorf("%s: %q is cut at the edge: %v in %v", name, x.text, x.box, edge)
		}
		for _, y := range p.texts[:i] {
			if x.box.overlaps(y.box) {
				t.Errorf("%s: %q overlaps %q: %v and %v", name, x.text, y.text, x.box, y.box)
			}
		}
		if x.of != nil {
			named++
			if slices.ContainsFunc(p.wires, func(r run) bool { return !slices.Contains(x.of, r.body) && across(r, x.box) }) {
				t.Logf("%s: %q lies on the line of another body", name, x.text)
				crossed++
			}
		}
		for _, y := range p.solids {
			if x.box.overlaps(y) && !y.holds(x.box) { // a number stands in its sign
				t.Errorf("%s: %q overlaps a bar or a sign: %v and %v", name, x.text, x.box, y)
			}
		}
	}
	return named, crossed
}

// No drawing of any train, healthy and under any single fault, has text over text,
// over a bar or a sign, or beyond its edge: at its natural size, on each slide and on
// each sheet of A4; of words that name bodies next to none lies on the line of another. All faults are looked at with TIEUP_EXHAUSTIVE=1, one in five where it
// is set to anything else; without it one train in sixteen, and one fault of most of these.
func TestNoTextIsHiddenOrCut(t *testing.T) {
	r, all := newRuler(), os.Getenv("TIEUP_EXHAUSTIVE") == "1"
	for k, name := range gearsets.Names() {
		if k%16 != 0 && os.Getenv("TIEUP_EXHAUSTIVE") == "" {
			continue
		}
		t.Run(name, func(t *testing.T) {
			sys := library(t, name)
			var layouts Layouts
			named, crossed := 0, 0
			count := func(n, c int) { named, crossed = named+n, crossed+c }
			faultSets := [][]kinematics.Fault{nil}
			singles := sys.Train.SingleFaults()
			step := 1 + len(singles)
			switch os.Getenv("TIEUP_EXHAUSTIVE") {
			case "":
			case "1":
				step = 1
			default:
				step = 5
			}
			for i := 5 * k % step; i < len(singles); i += step {
				faultSets = append(faultSets, singles[i:i+1])
			}
			for _, faults := range faultSets {
				list := drawings(t, sys, &layouts, faults)
				if len(faults) > 0 && !all { // the ranges of these are looked at when healthy
					delete(list, "speeds of six")
				}
				if len(faults) == 0 {
					list["faults"] = faultChart(t, sys, sys.Train.Ranges, nil)
					list["speeds of all"] = speedPlan(t, sys, sys.Train.Ranges[:min(MostLines, len(sys.Train.Ranges))], nil,
						SpeedOptions{RPM: 1800, Pinions: true})
				}
				for kind, d := range list {
					where := fmt.Sprintf("%s, %s, %s", name, kind, reading.FaultsIn(sys.Train, faults))
					count(clear(t, r, where, compose(r, d, Style{})))
					for _, s := range []Style{{Size: Size{Width: 1200, Height: 675, pixels: true}}, {}} {
						sheets, s := Sheets(PDF, d, s)
						for _, sheet := range sheets {
							page := compose(r, sheet, s)
							count(clear(t, r, where+" on a sheet", page))
							if _, ok := partsOf(sheet, s.Size); ok && len(sheets) == 1 && page.scale < leastScale(sheet, s.Size) {
								t.Errorf("%s: letters are too small at a scale of %.2f", where, page.scale)
							}
						}
					}
				}
			}
			if 200*crossed > named { // on a slide there is not always room
				t.Errorf("of %d words that name bodies %d lie on the line of another", named, crossed)
			}
		})
	}
}

// No part of a drawing is lost or told twice on its sheets.
func TestSheetsHoldAllParts(t *testing.T) {
	sys := library(t, "simpson-three-speed")
	for kind, d := range map[string]Drawing{
		"section": halfSection(t, sys, sys.Train.Ranges, nil), "levers": leverDiagram(t, sys, sys.Train.Ranges, nil),
		"faults": faultChart(t, sys, sys.Train.Ranges, nil), "chart": applicationChart(t, sys, sys.Train.Ranges, nil),
	} {
		one := d.(parted)
		for n := 1; n <= one.parts(); n++ {
			held := 0
			for _, sheet := range evenly(one, n) {
				held += sheet.(parted).parts()
			}
			if held != one.parts() {
				t.Errorf("%s: %d sheets hold %d parts of %d", kind, n, held, one.parts())
			}
		}
	}
}

// What is on several sheets has one scale on all, so that they can be compared.
func TestSheetsHaveOneScale(t *testing.T) {
	sys := library(t, "four-carrier-eight-speed")
	ranges := sys.Train.Ranges
	for kind, d := range map[string]Drawing{
		"speeds": speedPlan(t, sys, ranges, nil, SpeedOptions{}), "levers": leverDiagram(t, sys, ranges[7:8], nil),
		"breakaway": breakaway(t, sys.Train, ranges, sys.Train.SingleFaults()[:1]),
	} {
		one := d.(parted)
		var ends []scale
		for _, sheet := range evenly(one, one.parts()) {
			switch x := sheet.(type) {
			case *Speeds:
				ends = append(ends, x.extent())
			case *Levers:
				ends = append(ends, x.States[0].extent())
			case *Breakaway:
				ends = append(ends, scale{high: x.high()})
			}
		}
		if len(ends) < 2 || len(slices.Compact(slices.Clone(ends))) != 1 {
			t.Errorf("%s: the sheets have the scales %v", kind, ends)
		}
	}
}

// A range whose levers are too many for a slide has each on a slide of its own, with
// what ties them to the others in words; together they hold all levers.
func TestLeversOnSlides(t *testing.T) {
	sys := library(t, "four-carrier-eight-speed")
	n, _ := sys.Train.Range("D5")
	d := leverDiagram(t, sys, sys.Train.Ranges[n:n+1], nil)
	sheets, s := Sheets(PNG, d, Style{Size: Size{Width: 1200, Height: 675, pixels: true}})
	var titles, remarks []string
	for _, sheet := range sheets {
		if scale := compose(newRuler(), sheet, s).scale; scale < leastScale(sheet, s.Size) {
			t.Errorf("letters are too small at a scale of %.2f", scale)
		}
		for _, l := range sheet.(*Levers).States[0].Levers {
			titles = append(titles, l.Title)
		}
		remarks = append(remarks, sheet.(*Levers).States[0].Remarks...)
	}
	if got := strings.Join(titles, " "); got != "set1 set2 set3 set4" {
		t.Errorf("the slides have the levers %q", got)
	}
	if want := "input-clutch joins turbine and set3.ring, which is on another sheet."; !slices.Contains(remarks, want) {
		t.Errorf("the slides say %q, not %q", remarks, want)
	}
}
