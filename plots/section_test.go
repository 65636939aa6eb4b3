package plots

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics/reading"
)

// loaded names the elements and members that carry the load of a state.
func loaded(d *Sections, s SectionState) string {
	var names []string
	for i, e := range s.Elements {
		if e.Loaded {
			names = append(names, d.Explained.Train.Couplings[i].Name)
		}
	}
	for i, m := range d.Explained.Train.Members {
		for id := range s.Loaded {
			if int(id) == i {
				names = append(names, m.Name)
			}
		}
	}
	return strings.Join(names, " ")
}

// In second of the depot's three-speed the rear set idles; in reverse the front
// one does.
func TestHalfSectionLoad(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	d := halfSection(t, sys, ranges(t, sys.Train, "D2", "R"), nil)
	want := []string{
		"forward intermediate turbine sun-shell output-shaft front.carrier front.sun front.ring",
		"direct low-reverse turbine sun-shell output-shaft rear.carrier rear.sun rear.ring",
	}
	for i, s := range d.States {
		if got := loaded(d, s); got != want[i] {
			t.Errorf("%s:\n got %s\nwant %s", s.Label, got, want[i])
		}
	}
}

// The elements of a tie-up that contradict each other are marked, and a member
// that is sheared off is a body of its own.
func TestHalfSectionFaults(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	d := halfSection(t, sys, ranges(t, sys.Train, "D2"), faults(t, sys.Train, "direct=stuck"))
	var marked []string
	for i, e := range d.States[0].Elements {
		if e.Contradicts {
			marked = append(marked, sys.Train.Couplings[i].Name+" "+e.Text())
		}
	}
	if diff := cmp.Diff([]string{"direct stuck", "intermediate applied"}, marked); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}

	d = halfSection(t, sys, ranges(t, sys.Train, "R"), faults(t, sys.Train, "shell:front.sun=sheared"))
	s := &d.States[0]
	id, _ := sys.Train.Member("front.sun")
	if name, speed, sheared := s.bodyLabel(s.bodies.Of[id]); name != "front.sun" || speed != "free" || !sheared {
		t.Errorf("label %q %q, sheared %v", name, speed, sheared)
	}
}

// A one-way clutch that idles is drawn open: what it lies between stands still by others.
func TestHalfSectionIdle(t *testing.T) {
	sys := library(t, "four-carrier-ten-speed")
	d := halfSection(t, sys, ranges(t, sys.Train, "D9", "R"), nil)
	i, _ := sys.Train.Coupling("low-one-way")
	for k, s := range d.States {
		if e := s.Elements[i]; e.Closed != (e.Word == reading.Holds) || k == 0 && e.Word != reading.Idle {
			t.Errorf("%s: low-one-way %s, closed %v", s.Label, e.Text(), e.Closed)
		}
	}
}

// Of every train: each gear and carrier of each gearset reaches the line of its
// body, or the housing; lines of different bodies never lie on one another; and
// no line runs through a gear.
func TestHalfSectionLayout(t *testing.T) {
	for _, name := range gearsets.Names() {
		sys := library(t, name)
		d := halfSection(t, sys, sys.Train.Ranges[:1], nil)
		c := d.cuts[0]
		a, p := c.anatomy, c.layout
		reached := map[[2]int]bool{}
		for _, tap := range p.taps {
			reached[[2]int{tap.set, tap.exit}] = true
			last := tap.points[len(tap.points)-1]
			if tap.body >= 0 && (last.y != p.level[tap.body] || last.x < p.from[tap.body] || last.x > p.to[tap.body]) {
				t.Errorf("%s: a tap of set %d ends at %v beside the line of its body", name, tap.set, last)
			}
		}
		for i, s := range a.sets {
			for k := range s.exits {
				if !reached[[2]int{i, k}] {
					t.Errorf("%s: terminal %d of set %d has no way", name, k, i)
				}
			}
		}
		runs := a.runs(p)
		for i, r := range runs {
			for _, o := range runs[:i] {
				if r.body != o.body && r.upward == o.upward && coincide(r, o) {
					t.Errorf("%s: lines of %s and %s lie on one another: %v, %v", name, bodyName(a, r.body), bodyName(a, o.body), r, o)
				}
			}
			for k, s := range a.sets {
				high := 0
				for _, b := range s.boxes {
					high = max(high, b.high)
				}
				top := p.y(float64(high))
				inner := box{p.setX[k] + 4, top + boxGap, float64(s.columns)*s.column - 8, p.bottom - top - 2*boxGap}
				if across(r, inner) {
					t.Errorf("%s: a line of %s runs through the gears of set %d", name, bodyName(a, r.body), k)
				}
			}
		}
	}
}

func bodyName(a *anatomy, body int) string {
	if body < 0 {
		return "the housing"
	}
	return a.bodies.Name(a.list[body])
}

// coincide says whether two runs in the same direction share more than a point.
func coincide(r, o run) bool {
	between := func(a, b, c, d float64) bool { return max(min(a, b), min(c, d)) < min(max(a, b), max(c, d)) }
	if r.upward {
		return r.a.x == o.a.x && between(r.a.y, r.b.y, o.a.y, o.b.y)
	}
	return r.a.y == o.a.y && between(r.a.x, r.b.x, o.a.x, o.b.x)
}

// The same train is laid out the same way every time.
func TestArrangeIsRepeatable(t *testing.T) {
	sys := library(t, "lepelletier-six-speed")
	b := sys.Train.Bodies(nil)
	a := newAnatomy(b, newRuler(), sys.Train.Input, sys.Train.Output)
	x, y := a.arrange(), a.arrange()
	if !slices.Equal(x.columns, y.columns) || !slices.Equal(x.above, y.above) || !slices.Equal(x.below, y.below) {
		t.Errorf("%v and %v", x, y)
	}
	if start := a.start(); a.cost(x) > a.cost(start) {
		t.Errorf("the search ends at a cost of %d, above the %d it begins with", a.cost(x), a.cost(start))
	}
}

// The half-section of one range fills a page of A4, whatever the train: names and numbers are
// as large as at the natural size, or the page is full from side to side.
func TestHalfSectionFillsA4(t *testing.T) {
	for _, name := range []string{"hub-fourteen-speed", "four-carrier-ten-speed", "simpson-three-speed", "rotor-final-drive"} {
		sys := library(t, name)
		d := new(Layouts).HalfSection(explained(t, sys, sys.Train.Ranges[:1], nil))
		sheets, s := Sheets(PDF, d, Style{})
		if len(sheets) != 1 {
			t.Fatalf("%s: %d sheets for one range", name, len(sheets))
		}
		pg := compose(newRuler(), sheets[0], s)
		if letters := bodyScript.size * pg.scale; letters < 8 {
			t.Errorf("%s: names are %.1f pt", name, letters)
		}
	}
}

// On a slide the number of teeth leaves room beside it in its box at the box's narrowest.
func TestTeethFitTheirBoxes(t *testing.T) {
	r, long := newRuler(), 0
	for _, name := range []string{"four-carrier-ten-speed", "hub-fourteen-speed", "ravigneaux-four-speed"} {
		sys := library(t, name)
		train := sys.Train
		a := newAnatomy(train.Bodies(nil), r, train.Input, train.Output).slim(r)
		for _, set := range a.sets {
			for _, b := range set.boxes {
				for _, words := range b.lines {
					if len(words) > 2 {
						long++
					}
					if room := b.width(set.column)*leastWide - r.width(boxScript, words); room < 3 {
						t.Errorf("%s: %q has %.1f pt left in its box", name, words, room)
					}
				}
			}
		}
	}
	if long == 0 {
		t.Error("no number of three digits")
	}
}
