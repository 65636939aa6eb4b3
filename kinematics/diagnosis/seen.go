package diagnosis

import (
	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// ofAll says whether what was seen of a whole position is so in every range of it: that all
// is well, or that it holds.
func (o *Observation) ofAll() bool { return o.Word == OK || o.Word == HoldsFull }

// standing says whether what was seen of a whole position is seen as it is selected at a
// standstill, so that it is of the first range of it. All other words are of one of its
// ranges, nobody knows which.
func (o *Observation) standing() bool {
	switch o.Word {
	case Forward, Reverse, None, Revs, Loaded, Bind, Lurch, LurchForward, LurchBackward, Creeps, CreepsForward,
		CreepsBackward, Held, Rolls, RollsDrag, RollsForwardOnly, RollsBackOnly, StallHolds, StallRuns, StallLow:
		return true
	}
	return false
}

// at is what was seen of a position, as of one of its ranges.
func (o *Observation) at(r int) *Observation {
	x := *o
	x.Range, x.Position = r, nil
	return &x
}

// under is a behaviour under the conditions of an observation: loaded, a range does what it
// does at full throttle.
func (b *Behaviour) under(when Condition) *Behaviour {
	if !when.Has(WhenLoad) {
		return b
	}
	x := *b
	x.Light = b.Full
	return &x
}

// rollsWithDrag fits a vehicle that rolls when it is pushed, but hard: something drags; or
// nothing is wrong, and the drag of a released element that holds its sides together makes
// a member spin at twice the speed of the output or more, which feels held.
func (f *Finder) rollsWithDrag(o *Observation, h *Hypothesis) Fit {
	b := &f.engine.cells[f.engine.cell(h, o.Range)]
	forward, back := b.Rolls()
	if !forward || !back {
		return Not
	}
	drags := false
	for _, x := range h.Faults {
		drags = drags || x.Kind == kinematics.Dragging && x.ActsIn(f.t.Ranges[o.Range].Name)
	}
	return grade(drags || f.engine.spins(h, o.Range), true)
}

// spins says whether a member turns at twice the speed of the output or more when the
// vehicle is pushed and the input stands, with nothing but what holds, or with one released
// friction element held together by its drag.
func (e *engine) spins(h *Hypothesis, r int) bool {
	st := e.t.In(h.commanded(e.t, r), h.Faults...)
	two := exact.NewFrac(2, 1)
	if e.sys.Rolled(st).Cmp(two) >= 0 {
		return true
	}
	for i := range e.t.ElementCount {
		if e.t.Couplings[i].Kind.Friction() && st.Modes[i] == kinematics.Open {
			held := st.Clone()
			held.Modes[i] = kinematics.Locked
			if e.sys.Rolled(held).Cmp(two) >= 0 {
				return true
			}
		}
	}
	return false
}

// Unweighed says what of the observations weighs nothing, and why: notes, and a stall speed
// that no part of the train can make so low.
func (c *Case) Unweighed() []string {
	var list []string
	for i := range c.Seen {
		switch o := &c.Seen[i]; o.Word {
		case Note:
			list = append(list, o.Place(c.Train)+" ("+o.Text+"): a note is kept, and decides nothing")
		case StallLow:
			list = append(list, o.Place(c.Train)+" ("+o.Value(c.Train)+
				"): too low a stall speed comes of the engine or the converter, not of the train")
		}
	}
	return list
}
