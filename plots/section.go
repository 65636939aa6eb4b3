package plots

import (
	"cmp"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// Sections is the schematic half-section of a train in one or more ranges.
type Sections struct {
	Explained *analysis.Explained
	States    []SectionState

	slim   bool   // words stand where there is room, as on a slide
	framed string // what frames mean, "" for elements that contradict each other
	cuts   []cut  // of the states
	grid   tiles
}

// A SectionState is what a half-section shows of one range.
type SectionState struct {
	Label    string // "D1: drives forward at 2.45"
	Motion   *analysis.Motion
	Elements []SectionElement // parallel to the elements of the train
	// Loaded are the members through which the load goes.
	Loaded map[kinematics.MemberID]bool
	// Sheared are the members that a fault has cut off their joint: each is a
	// body of its own.
	Sheared map[kinematics.MemberID]bool
	Remarks []string

	bodies *kinematics.Bodies
	hues   map[kinematics.MemberID]int
}

// A SectionElement is what is shown of an element.
type SectionElement struct {
	reading.Doing
	Loaded bool
	// Contradicts says that the input cannot turn because of this element and
	// the others so marked.
	Contradicts bool
}

// HalfSection draws the half-section of a train in ranges with their reasons.
func HalfSection(x *analysis.Explained) *Sections { return new(Layouts).HalfSection(x) }

// HalfSection draws the half-section of the train whose layouts l keeps.
func (l *Layouts) HalfSection(x *analysis.Explained) *Sections {
	d := &Sections{Explained: x}
	d.States = kinematics.Map(x.Ranges, sectionState)
	for i := range d.States {
		d.cuts = append(d.cuts, l.of(&d.States[i]))
	}
	return d
}

func sectionState(x *analysis.Reasons) SectionState {
	why := x.Why
	t, here := why.Train, why.Faults
	s := SectionState{
		Label: why.Range.Name + ": " + why.Cell.Alone(), Motion: why.Motion, bodies: t.Bodies(here),
		Loaded: map[kinematics.MemberID]bool{}, Sheared: map[kinematics.MemberID]bool{},
	}
	s.hues = hues(s.bodies, why.Motion.State.Input, why.Motion.State.Output)
	for _, f := range here {
		if f.Kind == kinematics.Sheared {
			s.Sheared[t.Couplings[f.Coupling].A] = true
		}
	}
	s.Elements = kinematics.Map(x.Doings[:t.ElementCount], func(d reading.Doing) SectionElement {
		return SectionElement{Doing: d}
	})
	s.load(t, why)
	return s
}

// load marks what carries the load, or what contradicts.
func (s *SectionState) load(t *kinematics.Train, why *reading.Why) {
	for _, p := range why.Paths {
		for _, i := range p.Loaded {
			if i < t.ElementCount {
				s.Elements[i].Loaded = true
			} else {
				s.Loaded[t.Couplings[i].A] = true
			}
		}
		for _, step := range p.Steps {
			if step.Gearset < 0 {
				continue
			}
			for _, m := range slices.Concat(step.From, step.To, step.Held) {
				s.Loaded[m] = true
			}
		}
	}
	if len(why.Paths) > 0 {
		s.Loaded[why.Motion.State.Input], s.Loaded[why.Motion.State.Output] = true, true
	}
	if len(why.Paths) > 1 {
		s.Remarks = append(s.Remarks, reading.SharedLoad+"; all that may carry it is drawn thick.")
	}
	for _, i := range why.Contradicting() {
		s.Elements[i].Contradicts = true
	}
}

func (d *Sections) heading() heading {
	x := d.Explained
	h := headed("Half-section", x.Train, x.Question, x.Cautions, x.Outcomes...)
	h.notes = []string{
		reading.SignNote + "; speeds are turns per turn of the input. Thick: what carries the load from the input " +
			"to the output. What is joined for good has one colour.",
		"A dot joins crossing lines; = is a mesh, || a mesh side by side, hatching the housing. " +
			"Made from the structure of the train: no sizes or bearings.",
	}
	if slices.ContainsFunc(x.Train.Gearsets, func(g kinematics.Gearset) bool { return g.Bevels }) {
		h.notes[1] += " A slanted mesh is one of bevels, whose axes cross."
	}
	framed := func(s SectionState) bool {
		return slices.ContainsFunc(s.Elements, func(e SectionElement) bool { return e.Contradicts })
	}
	if slices.ContainsFunc(d.States, framed) {
		h.notes[1] += " " + cmp.Or(d.framed, "Framed elements contradict each other.")
	}
	return h
}

// bodyLabel is the name of a body and its speed, and whether it is sheared off.
func (s *SectionState) bodyLabel(body kinematics.MemberID) (name, speed string, sheared bool) {
	sheared = slices.ContainsFunc(s.bodies.Members(body), func(m kinematics.MemberID) bool { return s.Sheared[m] })
	r := speedAt(s.bodies, s.Motion, body)
	if f, fixed := r.Point(); fixed && !r.Empty {
		speed = signed(f.Float(), false)
	} else if !r.Empty {
		speed = "free"
	}
	return s.bodies.Name(body), speed, sheared
}

// elementWords are the kind and the state of an element.
func (d *Sections) elementWords(e SectionElement, i int) string {
	return strings.TrimSuffix(d.Explained.Train.Couplings[i].Kind.String()+", "+e.Text(), ", ")
}
