package diagnosis

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
)

// A Part is what is to be looked at: an element, a joint, several of them at once,
// or what commands and feeds them; with the suspects of a group that say so.
type Part struct {
	Name     string
	Suspects []*Suspect
}

// Parts sorts suspects by the part that they say is at fault, the part of the
// likeliest suspect first.
func Parts(t *kinematics.Train, suspects []*Suspect) []Part {
	groups := kinematics.GroupBy(suspects, func(s *Suspect) string { return s.Part(t) })
	return kinematics.Map(groups, func(of []*Suspect) Part { return Part{of[0].Part(t), of} })
}

// Part names what a hypothesis says is at fault.
func (h *Hypothesis) Part(t *kinematics.Train) string {
	switch h.Kind {
	case Healthy:
		return "nothing in the train"
	case Pressure, HighPressure:
		return "fluid and pressure"
	case Torn:
		if t.Members[h.Gear].Kind == kinematics.CarrierMember {
			return "carrier " + t.Members[h.Gear].Name
		}
		return "gear " + t.Members[h.Gear].Name
	case Timing:
		return "timing of the shift"
	case WrongWay:
		if h.Lever != 0 {
			return "lever and linkage"
		}
		return "control"
	}
	var names []string
	for _, f := range h.Controls {
		names = kinematics.Union(names, controlPart(t, f))
	}
	own := h.Faults
	if h.Kind == Controlled {
		own = h.Own
	}
	for _, f := range own {
		names = kinematics.Union(names, partOf(t, f.Coupling))
	}
	return strings.Join(names, " and ")
}

// partOf names the element, or the joint of a spline.
func partOf(t *kinematics.Train, coupling int) string {
	if c := &t.Couplings[coupling]; c.Kind != kinematics.Spline {
		return c.Name
	}
	joint, _ := t.Spline(coupling)
	return "joint " + joint
}

// Findings lists what can be wrong with a part, in as few words as there are: "never
// fed", "off in R". Members that can be sheared off a joint are one finding.
func (p *Part) Findings(t *kinematics.Train) []string {
	var list, sheared []string
	for _, s := range p.Suspects {
		if s.Kind == Faulty && len(s.Faults) == 1 && s.Faults[0].Kind == kinematics.Sheared {
			_, member := t.Spline(s.Faults[0].Coupling)
			sheared = append(sheared, member)
			continue
		}
		text := s.finding(t)
		if n := p.ways(s); n > 1 {
			text = fmt.Sprintf("%s (%d ways)", s.Controls[0].What(), n)
		}
		list = kinematics.Union(list, text)
	}
	if sheared != nil {
		list = append(list, kinematics.Or(sheared)+" sheared off")
	}
	return list
}

// ways counts the suspects of the part that are the same fault of the controls with
// another outcome.
func (p *Part) ways(s *Suspect) int {
	n := 0
	for _, o := range p.Suspects {
		if s.Kind == Controlled && s.bare() && o.Kind == Controlled && o.bare() &&
			o.Controls[0].Alike(s.Controls[0]) {
			n++
		}
	}
	return n
}

func (s *Suspect) finding(t *kinematics.Train) string {
	switch {
	case !s.bare():
		return s.Short(t)
	case s.Kind == Controlled:
		return s.Controls[0].What() + s.outcome()
	}
	return findingText(t, s.Faults[0])
}

// bare says whether what is found does not name the part: of one fault of an element,
// a joint, or the controls.
func (s *Suspect) bare() bool {
	return s.Kind == Faulty && len(s.Faults) == 1 || s.Kind == Controlled && len(s.Controls) == 1 && len(s.Own) == 0
}

// Bare says whether what is found with a part does not name it.
func (p *Part) Bare() bool { return p.Suspects[0].bare() }

// Says tells what can be wrong with a part, behind its name: "direct: never fed; never
// holds". Of several parts at once each finding names them.
func (p *Part) Says(t *kinematics.Train) string {
	text := strings.Join(p.Findings(t), "; ")
	if s := p.Suspects[0]; (s.Kind == Faulty || s.Kind == Controlled) && !s.bare() {
		return text
	}
	return p.Name + ": " + text
}

// Causes are what to look for in a part: those of all its suspects.
func (p *Part) Causes(t *kinematics.Train) []Cause {
	var list []Cause
	for _, s := range p.Suspects {
		for _, c := range s.Causes(t) {
			if !slices.ContainsFunc(list, func(x Cause) bool { return x.same(c) }) {
				list = append(list, c)
			}
		}
	}
	return list
}
