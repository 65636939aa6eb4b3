package solve

import (
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// cone is what polyhedra.Cone and polyhedra.BigCone have in common.
type cone interface {
	Reset(k int)
	Zero(polyhedra.Row) bool
	NonNegative(polyhedra.Row) bool
	Project(x, y polyhedra.Row) bool
	Slice(sign int) exact.Interval
	SliceOther(sign int) exact.Interval
	Range() exact.Interval
	Reaches(sign int) bool
}

// A Kernel evaluates states of one system, reusing its memory. It must not be
// used by two goroutines at once.
type Kernel struct {
	s         *System
	fast      polyhedra.Cone
	slow      polyhedra.BigCone
	tree      []polyhedra.Cone  // of a sweep, by depth
	modes     []kinematics.Mode // of a sweep, scratch of single outcomes
	sheared   map[string]*polyhedra.Cone
	fallbacks int
}

// mostSheared is how many sets of sheared splines a kernel remembers what is left of: all
// single ones of any train, and all pairs of most.
const mostSheared = 1000

// Kernel returns a new kernel for the system.
func (s *System) Kernel() *Kernel { return &Kernel{s: s} }

// Fallbacks returns how many outcomes left int64 and were computed with
// math/big.
func (k *Kernel) Fallbacks() int { return k.fallbacks }

// Outcome decides what the train does in state st, by speeds alone.
//
// Pawl and torque are left out: package reading's Reader.Read adds what both change, as in
// a range such as P, whose pawl holds the vehicle.
func (k *Kernel) Outcome(st kinematics.State) Outcome {
	b := k.s.basisOf(st.Modes)
	if !k.shadow(b, st) {
		k.fallbacks++
		b.shadow(&k.slow, st)
		return outcome(&k.slow, k.s.Train.Forward)
	}
	return fastOutcome(&k.fast, k.s.Train.Forward)
}

// shadow is that of the basis, in int64. Where splines are sheared, what the sound ones
// leave is remembered: they are many, and the same in most of what is asked of the others.
func (k *Kernel) shadow(b *basis, st kinematics.State) bool {
	c, elements := &k.fast, k.s.Train.ElementCount
	if b == k.s.tight {
		return b.shadow(c, st)
	}
	var key [256]byte
	splines := key[:0]
	for _, m := range st.Modes[elements:] {
		splines = append(splines, byte(m))
	}
	if left, known := k.sheared[string(splines)]; known {
		c.CopyFrom(left)
	} else {
		c.Reset(b.k)
		if !b.lockAll(c, st.Modes, elements, len(st.Modes)) {
			return false
		}
		if k.sheared == nil {
			k.sheared = map[string]*polyhedra.Cone{}
		}
		if len(k.sheared) < mostSheared {
			left := &polyhedra.Cone{}
			left.CopyFrom(c)
			k.sheared[string(splines)] = left
		}
	}
	return b.lockAll(c, st.Modes, 0, elements) && b.direct(c, st.Modes) &&
		c.Project(b.member[st.Input], b.member[st.Output])
}

// fastOutcome is [outcome], at once where all that acts holds both ways: the shadow
// is then a point, a line or the plane.
func fastOutcome(c *polyhedra.Cone, forward int) Outcome {
	if in, out, ok := c.Ray(); ok {
		return rayOutcome(in, out, forward)
	}
	dimension, in, out, linear := c.Space()
	switch {
	case !linear:
		return outcome(c, forward)
	case dimension == 0:
		return still(forward)
	case dimension == 2:
		all := exact.Interval{Min: exact.Infinite(-1), Max: exact.Infinite(1)}
		return Outcome{
			Verdict: Neutral, Forward: forward, Pull: all, CoastForward: all, CoastBackward: all,
			RollsForward: true, RollsBackward: true, InputBackward: true,
		}
	}
	return lineOutcome(in, out, forward)
}

// still is what a state does that has no motion but rest.
func still(forward int) Outcome {
	return Outcome{Verdict: TieUp, Forward: forward, Pull: exact.None, CoastForward: exact.None,
		CoastBackward: exact.None}
}

// lineOutcome is what a state does whose motions all have input and output speeds
// in the ratio in : out.
func lineOutcome(in, out int64, forward int) Outcome {
	point := func(f exact.Frac) exact.Interval { return exact.Between(f, f) }
	o := Outcome{Forward: forward}
	switch {
	case in == 0:
		zero := point(exact.Int(0))
		o.Verdict, o.Pull, o.CoastForward, o.CoastBackward = InputHeld, exact.None, zero, zero
		o.RollsForward, o.RollsBackward = true, true
		return o
	case out == 0:
		o.Verdict, o.Pull, o.CoastForward, o.CoastBackward = OutputHeld, point(exact.Int(0)), exact.None, exact.None
		o.InputBackward = true
		return o
	}
	speed := exact.NewFrac(out, in)
	if forward < 0 {
		speed = speed.Neg()
	}
	per := speed.Inv()
	o.Pull, o.CoastForward, o.CoastBackward, o.InputBackward = point(speed), point(per), point(per.Neg()), true
	if o.Verdict = Forward; speed.Sign() < 0 {
		o.Verdict = Reverse
	}
	return o
}

// rayOutcome is what a state does whose motions are one way alone, with input and
// output speeds as in : out.
func rayOutcome(in, out int64, forward int) Outcome {
	if in == 0 && out == 0 {
		return still(forward)
	}
	o := lineOutcome(in, out, forward)
	onward, back := out*int64(forward) > 0, out*int64(forward) < 0 // in the vehicle's sense
	if !onward {
		o.CoastForward = exact.None
	}
	if !back {
		o.CoastBackward = exact.None
	}
	o.InputBackward = in < 0
	switch {
	case in == 0:
		o.RollsForward, o.RollsBackward = onward, back
	case in < 0:
		o.Verdict, o.Pull = TieUp, exact.None
	}
	return o
}

// shadow makes c the cone of the motions of st, projected on the plane of
// input and output speed. It returns false if int64 is too short.
func (b *basis) shadow(c cone, st kinematics.State) bool {
	return b.constrain(c, st.Modes) && c.Project(b.member[st.Input], b.member[st.Output])
}

// constrain makes c the cone of the motions that the modes admit. Equations
// come first: they keep the cone small.
func (b *basis) constrain(c cone, modes []kinematics.Mode) bool {
	c.Reset(b.k)
	return b.lockAll(c, modes, 0, len(modes)) && b.direct(c, modes)
}

// lockAll takes the couplings from first up to end into the cone that are locked.
func (b *basis) lockAll(c cone, modes []kinematics.Mode, first, end int) bool {
	for i := first; i < end; i++ {
		if modes[i] == kinematics.Locked && !c.Zero(b.lock[i]) {
			return false
		}
	}
	return true
}

// direct takes those into it that are one-way.
func (b *basis) direct(c cone, modes []kinematics.Mode) bool {
	for i, m := range modes {
		if m == kinematics.Overruns && !c.NonNegative(b.lock[i]) {
			return false
		}
		if m == kinematics.Reversed && !c.NonNegative(b.back[i]) {
			return false
		}
	}
	return true
}

// outcome reads the slices of a projected cone.
func outcome(c cone, forward int) Outcome {
	o := Outcome{
		Forward:       forward,
		Pull:          c.Slice(1),
		CoastForward:  c.SliceOther(forward),
		CoastBackward: c.SliceOther(-forward),
		InputBackward: c.Reaches(-1),
	}
	// Where the input can turn, what the output can do at rest is how the slice is
	// unbounded.
	atRest := o.Pull
	if atRest.Empty {
		atRest = c.Range()
	}
	if forward < 0 {
		o.Pull, atRest = o.Pull.Neg(), atRest.Neg()
	}
	o.RollsForward, o.RollsBackward = atRest.Max.Inf != 0, atRest.Min.Inf != 0
	switch {
	case o.Pull.Empty && atRest.IsZero():
		o.Verdict = TieUp
	case o.Pull.Empty:
		o.Verdict = InputHeld
	case o.Pull.IsZero():
		o.Verdict = OutputHeld
	case o.Pull.Min.Sign() > 0:
		o.Verdict = Forward
	case o.Pull.Max.Sign() < 0:
		o.Verdict = Reverse
	default:
		o.Verdict = Neutral
	}
	return o
}
