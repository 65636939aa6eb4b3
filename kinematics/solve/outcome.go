package solve

import (
	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A Verdict says what a state does when the input is turned forward.
type Verdict uint8

// The verdicts; package reading turns them into the words of the trade.
const (
	// TieUp: the input cannot turn forward, and with the input at rest the
	// output cannot turn.
	TieUp Verdict = iota
	// InputHeld: the input cannot turn forward; the output still can turn, at
	// least one way, with the input at rest.
	InputHeld
	// OutputHeld: the input turns forward and the output is held at rest.
	OutputHeld
	// Neutral: the input turns forward and the output may rest or turn.
	Neutral
	// Forward: turning the input drives the vehicle forward.
	Forward
	// Reverse: turning the input drives the vehicle backward.
	Reverse
)

// An Outcome is what a state does, as slices of the cone of its motions. It
// holds no pointers unless a number left int64.
type Outcome struct {
	Verdict Verdict
	// Pull is the output speed, in the vehicle's sense, at input speed +1;
	// empty if the input cannot turn forward.
	Pull exact.Interval
	// CoastForward and CoastBackward are the input speeds (in the input's own
	// sense) at which the vehicle can roll that way with output speed 1; empty
	// if it cannot roll that way.
	CoastForward, CoastBackward exact.Interval
	// RollsForward and RollsBackward say whether the output can turn that way
	// with the input at rest.
	RollsForward, RollsBackward bool
	// InputBackward says whether the input can be turned backward.
	InputBackward bool
	// Forward is that of the train: +1 when + at the output is vehicle forward.
	Forward int
}

// Drives says whether turning the input drives the vehicle, either way.
func (o Outcome) Drives() bool { return o.Verdict == Forward || o.Verdict == Reverse }

// OutputSpeed returns the output speed per input turn, in the input's sense,
// of a state that drives: against a resisting load the output runs at the end
// of Pull that is nearest to zero.
func (o Outcome) OutputSpeed() exact.Frac {
	w := o.Pull.NearestZero()
	if o.Forward < 0 {
		w = w.Neg()
	}
	return w
}

// Ratio returns input speed / output speed, with the sign of the input, and
// whether the state drives.
func (o Outcome) Ratio() (exact.Frac, bool) {
	if !o.Drives() {
		return exact.Frac{}, false
	}
	return o.OutputSpeed().Inv(), true
}

// Coast returns the slice of coasting that belongs to the verdict: backward for
// a state that drives in reverse, forward for all others.
func (o Outcome) Coast() exact.Interval {
	if o.Verdict == Reverse {
		return o.CoastBackward
	}
	return o.CoastForward
}

// EngineBraking says whether the vehicle, rolling the way the state drives it
// (forward if it does not drive), must turn the input forward, and at what
// ratio input / output at least. rolls is false if it cannot roll that way, and
// the other results then mean nothing.
func (o Outcome) EngineBraking() (ratio exact.Frac, brakes, rolls bool) {
	c := o.Coast()
	if c.Empty {
		return exact.Frac{}, false, false
	}
	if c.Min.Sign() <= 0 {
		return exact.Frac{}, false, true
	}
	// The least input speed per turn of the output; its sign is that of the
	// output's own sense, so that a healthy range coasts at its pulling ratio.
	ratio = c.Min.Frac
	if (o.Verdict == Reverse) != (o.Forward < 0) {
		ratio = ratio.Neg()
	}
	return ratio, true, true
}

// NothingTurns says whether neither end can be turned either way.
func (o Outcome) NothingTurns() bool {
	return o.Pull.Empty && o.CoastForward.Empty && o.CoastBackward.Empty && !o.InputBackward
}

// A Speed is the speed of a member, or a slip, at the operating point of a
// [Motion]: one value, or bounds where the state leaves it free.
type Speed struct {
	exact.Interval
	// Float is the value by gonum/mat on the structure decided exactly; NaN
	// when the speed is free.
	Float float64
}

// Free says whether the state leaves the speed open.
func (s Speed) Free() bool { _, one := s.Point(); return !one }

// A Motion is the full answer for one state.
type Motion struct {
	Outcome
	State kinematics.State
	// At is the operating point of what follows: input speed 1, or 0 when the
	// input is held, and the output speed if it is fixed (in the input's sense).
	At struct {
		Input      int
		Output     exact.Frac
		OutputFree bool
	}
	Members []Speed         // parallel to Train.Members; an Unknown member is empty, unless its set turns as one
	Slips   []Speed         // parallel to Train.Couplings
	States  []CouplingState // parallel to Train.Couplings
	// Groups numbers, for every member, the set of members that turn as one in
	// every motion of the state; the housing is in group 0. Hubs have -1, and
	// Unknown members unless their set turns as one.
	Groups []int
	// Residual is the largest absolute error of any mesh, joint or lock in the
	// float speeds, each row scaled to coefficients of at most 1.
	Residual float64
}

// Together returns the speed of members that turn as one: of the first that has one.
func (m *Motion) Together(members []kinematics.MemberID) Speed {
	for _, id := range members {
		if s := m.Members[id]; !s.Empty {
			return s
		}
	}
	return Speed{Interval: exact.None}
}

// A CouplingState says what a coupling does at the operating point.
type CouplingState uint8

// The states of a coupling.
const (
	StateOpen        CouplingState = iota // released, or never holds
	StateLocked                           // holds both ways
	StateHolding                          // one-way, not slipping, and the verdict depends on it
	StateIdle                             // one-way, not slipping, and nothing changes without it
	StateOverrunning                      // one-way, slipping the free way
	StateFree                             // one-way, at rest or slipping the free way
)
