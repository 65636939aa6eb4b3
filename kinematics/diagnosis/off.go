package diagnosis

import (
	"slices"

	"tieup/kinematics"
)

// off returns what range r does under h with the engine off and pressure gone:
// nothing is fed, so that only what is stuck, one-way clutches, joints and the pawl
// act. Where no pressure applies elements, they stay as the lever sets them.
func (e *engine) off(h *Hypothesis, r int) cellID {
	if !e.pressureApplies() {
		return e.cell(h, r)
	}
	rng := h.commanded(e.t, r)
	rng.Apply = slices.DeleteFunc(slices.Clone(rng.Apply), func(i int) bool { return fed(e.t, i) })
	if h.Kind == Torn {
		return e.tornID(h.Gear, e.t.In(rng))
	}
	var faults []kinematics.Fault
	for _, f := range h.Faults {
		if (!local(f) || !fed(e.t, f.Coupling)) && f.Kind != kinematics.OpenF && f.Kind != kinematics.Weak &&
			f.Kind != kinematics.Dragging {
			faults = append(faults, f)
		}
	}
	return e.stateID(e.t.In(rng, faults...))
}

// pressureApplies says whether pressure applies the elements: it does behind a
// converter.
func (e *engine) pressureApplies() bool { return e.t.Drive == kinematics.Converter }

// offRanges lists the ranges in which the standing vehicle is pushed with the engine
// off: where pressure applies the elements, one with the pawl and one without it,
// which one being the same; else all that can be selected at a standstill.
func (f *Finder) offRanges() []int {
	var list []int
	if !f.engine.pressureApplies() {
		for r := range f.t.Ranges {
			if f.selectable(r) {
				list = append(list, r)
			}
		}
		return list
	}
	for _, pawl := range []bool{true, false} {
		of := slices.DeleteFunc(identity(f.t), func(r int) bool { return f.parks(r) != pawl || !f.selectable(r) })
		if len(of) > 0 {
			rests := slices.IndexFunc(of, func(r int) bool { return f.road.healthy[r].Light.Drives() == 0 })
			list = append(list, of[max(rests, 0)])
		}
	}
	return list
}

// pushedWord is which ways the vehicle can be pushed under h in range r with the
// engine off.
func (f *Finder) pushedWord(h *Hypothesis, r int) Word {
	switch rolls, back := f.engine.cells[f.engine.off(h, r)].Rolls(); {
	case rolls && back:
		return Rolls
	case rolls:
		return RollsForwardOnly
	case back:
		return RollsBackOnly
	}
	return Held
}

// pushedWords are those of the ranges of [Finder.offRanges].
func (f *Finder) pushedWords(h *Hypothesis) []Word {
	return kinematics.Map(f.offRanges(), func(r int) Word { return f.pushedWord(h, r) })
}

// offDone says whether the vehicle was pushed with the engine off in r, or in a
// range that is the same then.
func (f *Finder) offDone(c *Case, r int) bool {
	return slices.ContainsFunc(c.Seen, func(o Observation) bool {
		return o.Shop != nil && o.Shop.Kind == Rolling &&
			(o.Shop.Range == r || f.engine.pressureApplies() && f.parks(o.Shop.Range) == f.parks(r))
	})
}

// pushed is what pushing the vehicle with the engine off shows.
func (f *Finder) pushed(x *Test, h *Hypothesis) Reply {
	word, w := f.pushedWord(h, x.Range), usedIn(f.t)
	return x.shows(word, map[Word]string{Rolls: w.both, RollsForwardOnly: w.forwardOnly, RollsBackOnly: w.backwardOnly,
		Held: w.neither}[word])
}

// offWords are the words of a vehicle that is pushed with the engine off.
var offWords = []Word{Rolls, Held, RollsForwardOnly, RollsBackOnly}

// pushing fits what was seen of it.
func pushing(w Word, r Reply) Fit {
	oneWay := r.Key == string(RollsForwardOnly) || r.Key == string(RollsBackOnly)
	return grade(r.Key == string(w), oneWay && (w == Held || w == Rolls))
}
