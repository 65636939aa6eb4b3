package diagnosis

import (
	"math"
	"slices"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// on returns the fault of a suspect on a coupling, if it has one.
func (s *Suspect) on(coupling int) (kinematics.Fault, bool) {
	list := s.Own
	if s.Kind == Faulty {
		list = s.Faults
	}
	for _, f := range list {
		if f.Coupling == coupling {
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
	fault, faulty := s.on(x.Coupling)
	if faulty && local(fault) && !fault.Share.IsSet() && fault.ActsIn(f.t.Ranges[x.Range].Name) {
		fed = fault.Kind == kinematics.Stuck
	}
	for _, brought := range s.Faults {
		if s.Kind != Controlled || brought.Cause == "" || brought.Coupling != x.Coupling ||
			!brought.ActsIn(f.t.Ranges[x.Range].Name) {
			continue
		}
		if brought.Share.IsSet() {
			return x.shows(Low, "low pressure")
		}
		fed = brought.Kind == kinematics.Stuck
	}
	switch {
	case s.noPressure():
		return x.shows(NotFed, "no pressure")
	case fed && (s.Kind == Pressure || faulty && local(fault) && fault.Kind == kinematics.Weak &&
		fault.ActsIn(f.t.Ranges[x.Range].Name)):
		return x.shows(Low, "low pressure")
	case fed && faulty && !local(fault) && (fault.Kind == kinematics.OpenF || fault.Kind == kinematics.Weak):
		r := x.shows(Fed, "full pressure")
		r.leaks = true // or its seals let it fall
		return r
	case fed:
		return x.shows(Fed, "full pressure")
	}
	return x.shows(NotFed, "no pressure")
}

// shows is a reply that a single word says.
func (x *Test) shows(w Word, text string) Reply {
	return Reply{Key: string(w), Text: text, Seen: []Observation{{Range: -1, To: -1, Word: w, Shop: x, When: x.When}}}
}

// air is what air to an element shows: that its piston moves and its seals hold,
// and that it lets go; not that its plates hold.
func air(x *Test, s *Suspect) Reply {
	fault, ok := s.on(x.Coupling)
	switch {
	case !ok || local(fault):
		return x.shows(Good, "applies and lets go")
	case fault.Kind == kinematics.Weak || fault.Kind == kinematics.Dragging:
		return Reply{} // seal and piston, or the lining
	}
	return x.shows(Bad, "leaks, or does not apply and let go")
}

// A benchMemo remembers what the train does with one set of elements applied on
// the bench: most suspects do the same, and it is turned in several ways.
type benchMemo struct {
	apply    []int
	outcomes map[string]solve.Outcome // by state
}

// onBench is what the train does with elements applied by air.
func (e *engine) onBench(apply []int, h *Hypothesis, faults []kinematics.Fault) solve.Outcome {
	m := &e.bench
	if m.outcomes == nil || !slices.Equal(m.apply, apply) {
		m.apply = apply
		m.outcomes = map[string]solve.Outcome{}
	}
	st := e.t.In(&kinematics.Range{Apply: apply, Input: e.t.Input, Output: e.t.Output}, faults...)
	key, kernel := string(e.stateKey(st)), e.kernel
	if h.Kind == Torn {
		key, kernel = key+string(rune(h.Gear)), e.tornTrain(h.Gear).kernel
	}
	o, known := m.outcomes[key]
	if !known {
		o = kernel.Outcome(st)
		m.outcomes[key] = o
	}
	return o
}

// bench is what the train does when turned by hand with elements applied by
// air: command and feed play no part.
func (f *Finder) bench(x *Test, s *Suspect) Reply {
	var faults []kinematics.Fault
	for _, fault := range s.Faults {
		if (s.Kind == Faulty || s.Kind == Controlled) && !local(fault) && !fault.Share.IsSet() {
			faults = append(faults, fault)
		}
	}
	o := f.engine.onBench(x.Apply, &s.Hypothesis, faults)
	reply := func(key, text string, w Word) Reply {
		r := x.shows(w, text)
		r.Key = key
		return r
	}
	turns := func(ok bool) Reply {
		words := map[Turning][2]Word{HeldOutput: {HeldLocks, HeldTurns}, FreeOutput: {Locks, Turns},
			BackInput: {BackLocks, BackTurns}}[x.Turning]
		if ok {
			return reply(string(Turns), "turns", words[1])
		}
		return reply(string(Locks), "locks", words[0])
	}
	output := func(key, how, text string, w exact.Frac) Reply {
		r := reply(key, how, Turns)
		r.Seen[0].Text, r.Seen[0].Ratio, r.ratio = text, w, w
		return r
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
			return output("0", "turns, the output does not", "0", speed)
		case f.t.Forward < 0:
			speed = speed.Neg()
		}
		return output(speed.String(), "output "+outputTurns(speed)+" a turn of the input", turnsText(speed), speed)
	}
	if w := o.OutputSpeed(); o.Drives() {
		r := output("least "+w.String(), "output "+outputTurns(w)+" a turn of the input, or further", turnsText(w)+"+", w)
		r.Seen[0].Further, r.further = true, true
		return r
	}
	return output(free, "turns, the output is free", free, exact.Frac{})
}

// outputTurns says how far and which way the output turns: "0.41 turns the same
// way".
func outputTurns(w exact.Frac) string {
	way := " turns the same way"
	if w.Sign() < 0 {
		way = " turns the other way"
	}
	return reading.Ratio(w) + way
}

// turnsText writes how far the output turns for [Parse].
func turnsText(w exact.Frac) string {
	return strconv.FormatFloat(w.Float(), 'f', max(0, 3-int(math.Floor(math.Log10(math.Abs(w.Float()))))), 64)
}

// element is what the element itself shows when it is taken in hand.
func (f *Finder) element(x *Test, s *Suspect) Reply {
	fault, ok := s.on(x.Coupling)
	for _, other := range f.pair(x.Coupling) {
		if !ok {
			fault, ok = s.on(other)
		}
	}
	if !ok || local(fault) && fed(f.t, fault.Coupling) {
		return x.shows(Good, "good")
	}
	return x.shows(Word(fault.Kind), reading.FaultInHand(fault.Kind))
}

// pair returns the other spline of a joint of two: where one shears the other
// is as good as sheared.
func (f *Finder) pair(spline int) []int {
	for _, j := range f.t.Joints {
		if len(j.Splines) == 2 && slices.Contains(j.Splines, spline) {
			return slices.DeleteFunc(slices.Clone(j.Splines), func(s int) bool { return s < 0 || s == spline })
		}
	}
	return nil
}
