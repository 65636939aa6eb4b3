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
}

// A Kernel evaluates states of one system, reusing its memory. It must not be
// used by two goroutines at once.
type Kernel struct {
	s         *System
	fast      polyhedra.Cone
	slow      polyhedra.BigCone
	fallbacks int
}

// Kernel returns a new kernel for the system.
func (s *System) Kernel() *Kernel { return &Kernel{s: s} }

// Fallbacks returns how many outcomes left int64 and were computed with
// math/big.
func (k *Kernel) Fallbacks() int { return k.fallbacks }

// Outcome decides what the train does in state st.
func (k *Kernel) Outcome(st kinematics.State) Outcome {
	b := k.s.basisOf(st.Modes)
	if !b.shadow(&k.fast, st) {
		k.fallbacks++
		b.shadow(&k.slow, st)
		return outcome(&k.slow, k.s.Train.Forward)
	}
	return outcome(&k.fast, k.s.Train.Forward)
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
	for i, m := range modes {
		if m == kinematics.Locked && !c.Zero(b.lock[i]) {
			return false
		}
	}
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
		InputBackward: !c.Slice(-1).Empty,
	}
	atRest := c.Range()
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
