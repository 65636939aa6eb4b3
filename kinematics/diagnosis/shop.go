package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// on returns the fault of a suspect on a coupling, if it has one.
func (s *Suspect) on(coupling int) (kinematics.Fault, bool) {
	for _, f := range s.Faults {
		if f.Coupling == coupling && s.Kind == Faulty {
			return f, true
		}
	}
	return kinematics.Fault{}, false
}

// pressure is what a gauge at the tap of an element shows in a range: whether
// the element is fed, which is not whether it holds.
func (f *Finder) pressure(x *Test, s *Suspect) Reply {
	r := &f.t.Ranges[s.commands(x.Range)]
	fed := slices.Contains(r.Apply, x.Coupling)
	if fault, ok := s.on(x.Coupling); ok {
		switch {
		case local(fault) && fault.ActsIn(f.t.Ranges[x.Range].Name):
			fed = fault.Kind == kinematics.Stuck
		case !local(fault) && fed && (fault.Kind == kinematics.OpenF || fault.Kind == kinematics.Weak):
			return Reply{} // the element may be at fault, or its feed
		}
	}
	switch {
	case fed && s.Kind == Pressure:
		return Reply{Key: "low", Text: "low pressure"}
	case fed:
		return Reply{Key: "fed", Text: "full pressure"}
	}
	return Reply{Key: "none", Text: "no pressure"}
}

// air is what air to an element shows: that its piston moves and its seals hold,
// not that its plates do.
func air(x *Test, s *Suspect) Reply {
	if fault, ok := s.on(x.Coupling); ok && !local(fault) && fault.Kind != kinematics.Stuck {
		return Reply{} // seal and piston, or the lining
	}
	return Reply{Key: "good", Text: "applies and lets go"}
}

// bench is what the train does when turned by hand with elements applied by
// air: command and feed play no part.
func (f *Finder) bench(x *Test, s *Suspect) Reply {
	var faults []kinematics.Fault
	for _, fault := range s.Faults {
		if s.Kind == Faulty && !local(fault) && !fault.Share.IsSet() {
			faults = append(faults, fault)
		}
	}
	table := kinematics.Range{Apply: x.Apply, Input: f.t.Input, Output: f.t.Output}
	o := f.engine.kernel.Outcome(f.t.In(&table, faults...))
	turns := func(ok bool) Reply {
		if ok {
			return Reply{Key: "turns", Text: "turns"}
		}
		return Reply{Key: "locks", Text: "locks"}
	}
	switch {
	case x.Turning == BackInput:
		return turns(o.InputBackward)
	case o.Pull.Empty:
		return turns(false)
	case x.Turning == HeldOutput:
		return turns(o.Pull.HasZero())
	}
	if speed, one := o.Pull.Point(); one {
		switch {
		case speed.Sign() == 0:
			return Reply{Key: "0", Text: "turns, the output does not"}
		case f.t.Forward < 0:
			speed = speed.Neg()
		}
		return Reply{Key: speed.String(), Text: "output " + outputTurns(speed) + " a turn of the input"}
	}
	if w := o.OutputSpeed(); o.Drives() {
		return Reply{Key: "least " + w.String(), Text: "output " + outputTurns(w) + " a turn of the input, or further"}
	}
	return Reply{Key: "free", Text: "turns, the output is free"}
}

// outputTurns says how far and which way the output turns: "0.41 turns the same
// way".
func outputTurns(w solve.Frac) string {
	way := " turns the same way"
	if w.Sign() < 0 {
		way = " turns the other way"
	}
	return reading.Ratio(w) + way
}

// element is what the element itself shows when it is taken in hand.
func (f *Finder) element(x *Test, s *Suspect) Reply {
	fault, ok := s.on(x.Coupling)
	if !ok || local(fault) {
		return Reply{Key: "good", Text: "good"}
	}
	return Reply{Key: string(fault.Kind), Text: map[kinematics.FaultKind]string{
		kinematics.Stuck: "does not let go", kinematics.OpenF: "does not hold", kinematics.Weak: "worn", kinematics.Dragging: "drags",
		kinematics.Slips: "turns both ways", kinematics.Seized: "turns neither way", kinematics.Backward: "turns the wrong way",
		kinematics.Sheared: "turns in its joint", kinematics.Missing: "does not engage",
	}[fault.Kind]}
}
