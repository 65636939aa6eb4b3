package transient

import (
	"math"

	"tieup/kinematics"
)

// A span is the torque, N m, that a coupling can exert on its member A. Its
// member B gets the opposite.
type span struct{ lo, hi float64 }

var (
	open     = span{0, 0}
	rigid    = span{math.Inf(-1), math.Inf(1)}
	overruns = span{0, math.Inf(1)}
	reversed = span{math.Inf(-1), 0}
)

func friction(capacity float64) span { return span{-capacity, capacity} }

// width orders spans by how firmly they hold.
func (s span) width() float64 { return s.hi - s.lo }

// limitless says whether it can hold any torque one way at least.
func (s span) limitless() bool { return math.IsInf(s.width(), 1) }

// clip leaves only torques of one sign; 0 leaves all.
func (s span) clip(sign int) span {
	switch {
	case sign > 0:
		s.lo = 0
	case sign < 0:
		s.hi = 0
	}
	return s
}

// A law is what a coupling can do before, during and after a shift. What has no
// limit does not fade: it ends as the ramp starts, and begins as it ends.
type law struct {
	from, to span
	ramp     kinematics.Ramp
	// From since until until, s, torques of this sign alone; 0 for either.
	sign         int
	since, until float64
}

func constant(s span) law { return law{from: s, to: s} }

func (l *law) at(t float64) span {
	if l.from == l.to {
		return l.from
	}
	done := l.ramp.Done(t)
	v := span{fade(l.from.lo, l.to.lo, done), fade(l.from.hi, l.to.hi, done)}
	if t >= l.since && t < l.until {
		v = v.clip(l.sign)
	}
	return v
}

// oneWay says whether it is that of a one-way clutch.
func (l *law) oneWay() bool {
	return l.from == overruns || l.to == overruns || l.from == reversed || l.to == reversed
}

func fade(from, to, done float64) float64 {
	switch {
	case done == 0 || from == to:
		return from
	case done == 1 || math.IsInf(from, 0):
		return to
	case math.IsInf(to, 0):
		return from
	}
	return from + (to-from)*done
}
