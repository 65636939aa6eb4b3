package plots

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Sections is the schematic half-section of a train in one or more ranges.
type Sections struct {
	Train  *kinematics.Train
	Ranges []kinematics.Range
	Faults []kinematics.Fault
	States []SectionState

	bodies *bodies
	cuts   []cut // of the states
}

// A SectionState is what a half-section shows of one range.
type SectionState struct {
	Label  string // "D1: drives forward at 2.45"
	Motion *solve.Motion
	// Speeds gives the speed of each body, by its lowest member.
	Speeds   map[kinematics.MemberID]SpeedAt
	Elements []SectionElement // parallel to the elements of the train
	// Loaded are the members through which the load goes, and Sheared those that
	// a fault has cut off their joint.
	Loaded  map[kinematics.MemberID]bool
	Sheared map[kinematics.MemberID]bool
	Remarks []string
}

// A SectionElement is what is shown of an element.
type SectionElement struct {
	Word   string // "applied", "holds"; "" for released
	Closed bool   // it holds, or does not let its sides slip
	Loaded bool
	Faulty bool
	// Contradicts says that the input cannot turn because of this element and
	// the others so marked.
	Contradicts bool
}

// HalfSection computes the half-section of a train in ranges under faults.
func HalfSection(sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault) *Sections {
	t := sys.Train
	// The picture keeps its joints whole; a sheared one is marked as broken.
	d := &Sections{Train: t, Ranges: ranges, Faults: faults, bodies: newBodies(t, nil)}
	charter := reading.NewCharter(sys)
	for i := range ranges {
		d.States = append(d.States, d.state(charter, &ranges[i]))
	}
	d.layOut()
	return d
}

func (d *Sections) state(charter *reading.Charter, r *kinematics.Range) SectionState {
	t := d.Train
	here := acting(d.Faults, r)
	why := reading.Explain(charter, r, here...)
	s := SectionState{
		Label: r.Name + ": " + why.Reading.Pull, Motion: why.Motion,
		Speeds: map[kinematics.MemberID]SpeedAt{}, Loaded: map[kinematics.MemberID]bool{}, Sheared: map[kinematics.MemberID]bool{},
	}
	for _, f := range here {
		if f.Kind == kinematics.Sheared {
			s.Sheared[t.Couplings[f.Coupling].A] = true
		}
	}
	for i := range t.Members {
		body := d.bodies.of[i]
		if _, seen := s.Speeds[body]; !seen && !s.cut(d.bodies, body) {
			s.Speeds[body] = speedAt(d.bodies, why.Motion, body)
		}
	}
	for i := range t.Elements {
		cell := elementCell(t, r, i, why.Motion, here)
		state := why.Motion.States[i]
		s.Elements = append(s.Elements, SectionElement{
			Word: cell.Word, Faulty: cell.Faulty, Closed: state == solve.StateLocked || state == solve.StateHolding || state == solve.StateIdle,
		})
	}
	s.load(t, why)
	return s
}

// cut says whether a fault has cut members off a body, so that it has no one speed.
func (s *SectionState) cut(b *bodies, body kinematics.MemberID) bool {
	return slices.ContainsFunc(b.members(body), func(m kinematics.MemberID) bool { return s.Sheared[m] })
}

// load marks what carries the load, or what contradicts.
func (s *SectionState) load(t *kinematics.Train, why *reading.Why) {
	for _, p := range why.Paths {
		for _, i := range p.Loaded {
			if i < t.Elements {
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
		s.Remarks = append(s.Remarks, "The load can be shared in more ways than one; all that may carry it is drawn thick.")
	}
	for _, c := range why.Conflicts {
		if c.Motive == solve.InputForward {
			for _, i := range c.Elements {
				s.Elements[i].Contradicts = true
			}
			return
		}
	}
}

func (d *Sections) heading() heading {
	h := heading{train: d.Train, title: titleOf(d.Train), subtitle: subtitle("Half-section", d.Train, d.Ranges, d.Faults)}
	h.notes = []string{
		SignNote + "; speeds are turns per turn of the input. Thick: what carries the load from the input to the output.",
		"A dot joins crossing lines; = is a mesh, || a mesh side by side, hatching the housing. Made from the structure of the train: no sizes or bearings.",
	}
	framed := func(s SectionState) bool {
		return slices.ContainsFunc(s.Elements, func(e SectionElement) bool { return e.Contradicts })
	}
	if slices.ContainsFunc(d.States, framed) {
		h.notes[1] += " Framed elements contradict each other."
	}
	return h
}

// bodyLabel is the name of a body with its speed.
func (s *SectionState) bodyLabel(b *bodies, body kinematics.MemberID) string {
	name := b.name(body)
	r, known := s.Speeds[body]
	if !known || r.Empty {
		return name
	}
	if f, fixed := r.Point(); fixed {
		return name + "  " + signed(f.Float(), false)
	}
	return name + "  free"
}

// elementWords are the kind and the state of an element.
func (d *Sections) elementWords(e SectionElement, i int) string {
	return strings.TrimSuffix(d.Train.Couplings[i].Kind.String()+", "+e.Word, ", ")
}
