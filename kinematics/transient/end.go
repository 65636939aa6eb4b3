package transient

import (
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// An End is what a run came to at its last sample.
type End struct {
	What Ending
	// Outcome is what the new range does with the faults, what slips to the end
	// apart.
	Outcome solve.Outcome
	// Since is from when on what is held rests, s; 0 if it does before the first change.
	Since float64
}

// Ending says whether the run came to what the new range does.
type Ending string

// The endings.
const (
	Reached   Ending = "reached"   // it does what the new range does when nothing is wrong
	StillSlip Ending = "slipping"  // what the new range applies still slips
	NotYet    Ending = "not-yet"   // the input has not come to the speed of the new range
	Otherwise Ending = "otherwise" // it drives otherwise, or where the new range does not
	NoDrive   Ending = "no-drive"  // it does not drive, or does not hold the vehicle
	Held      Ending = "held"      // the input is held
)

// end finds what the run came to: from the speeds at its end, and where these do
// not tell, from what the new range does with the faults.
func (r *Run) end(v *Verdict, timed *Run) End {
	s := r.Shift
	healthy := s.outcome(s.To, nil)
	e := End{Outcome: s.outcome(s.To, r.holding(v, timed))}
	now := e.Outcome
	same := alike(healthy, now)
	ratio, drives := healthy.Ratio()
	switch {
	case (now.Verdict == solve.TieUp || now.Verdict == solve.InputHeld) && !same &&
		math.Abs(r.Input[r.last()]) < slippingSpeed:
		e.What, e.Since = Held, r.heldSince()
	case len(v.Slipping) > 0:
		e.What = StillSlip
	case drives && !r.rests() && math.Abs(r.gap(ratio)) < slippingSpeed:
		e.What = Reached
	case same && (!drives || r.rests() || r.fallsBehind(healthy)):
		e.What = Reached
	case same:
		e.What = NotYet
	case now.Drives():
		e.What = Otherwise
	default:
		e.What = NoDrive
	}
	return e
}

// holding is what is wrong at the end: faults that hold with a share of a rating
// are stuck if they stick, and nothing if they slip, or if all would rest without
// them.
func (r *Run) holding(v *Verdict, timed *Run) []kinematics.Fault {
	var list []kinematics.Fault
	idle := r.rests() && (r.Shift.Torque <= 0 || timed != nil && timed.rests())
	for _, f := range r.Shift.Faults {
		if f.Kind == kinematics.Dragging || f.Kind == kinematics.Stuck && f.Share.IsSet() {
			t := r.Track(f.Coupling)
			if idle || t == nil || slices.Contains(v.Drags, f.Coupling) || math.Abs(t.Slip[len(t.Slip)-1]) >= slippingSpeed {
				continue
			}
			f.Kind = kinematics.Stuck
		}
		list = append(list, f)
	}
	return list
}

// alike says whether two outcomes drive alike.
func alike(a, b solve.Outcome) bool {
	x, drives := a.Ratio()
	y, _ := b.Ratio()
	return a.Verdict == b.Verdict && (!drives || x.Cmp(y) == 0)
}

// gap is by how much the input runs above what a ratio makes it at the end, rad/s.
func (r *Run) gap(ratio exact.Frac) float64 {
	return r.Input[r.last()] - ratio.Float()*r.Output[r.last()]*float64(r.Shift.System.Train.Forward)
}

// rests says whether input and output rest at the end.
func (r *Run) rests() bool {
	return math.Abs(r.Input[r.last()]) < slippingSpeed && math.Abs(r.Output[r.last()]) < slippingSpeed
}

// heldSince is from when on the input, and an output that rests at the end, have
// come to rest, s; 0 if that is before the first change.
func (r *Run) heldSince() float64 {
	const rests = slippingSpeed / 10
	i, all := len(r.Time)-1, r.rests()
	for i > 0 && math.Abs(r.Input[i-1]) < rests && (!all || math.Abs(r.Output[i-1]) < rests) {
		i--
	}
	if i <= r.before() {
		return 0
	}
	return r.Time[i]
}

// fallsBehind says whether the input has fallen behind the vehicle, coasting in
// a range that lets it.
func (r *Run) fallsBehind(o solve.Outcome) bool {
	ratio, _ := o.Ratio()
	_, brakes, _ := o.EngineBraking()
	return r.Shift.Torque < 0 && !brakes && r.gap(ratio) < 0
}

// alikeRange is the range whose healthy ratio an outcome has, the one that is left
// first; nil for none.
func (s *Shift) alikeRange(o solve.Outcome) *kinematics.Range {
	if alike(s.outcome(s.From, nil), o) {
		return s.From
	}
	for i := range s.System.Train.Ranges {
		x := &s.System.Train.Ranges[i]
		if x.Input == s.To.Input && x.Output == s.To.Output && alike(s.outcome(x, nil), o) {
			return x
		}
	}
	return nil
}
