package shift

import (
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Kind says what a state on the way of a shift does, measured by the two
// ranges of the shift. Harmless kinds come first, then the others from the
// least to the most harmful.
type Kind uint8

// The kinds of effect. P is said of pulling, C of coasting, S at a standstill.
const (
	AsTo     Kind = iota // P C S: what the second range does
	AsFrom               // P C S: what the first range does
	Between              // P C S: a ratio between the two
	Slackens             // C: carries the input, but slower than both
	Dips                 // P: a ratio numerically lower than both
	LetsGo               // C: the input is not carried, as both carry it
	PullsUp              // C: carries the input faster than both
	Flares               // P: a ratio numerically higher than both
	Runs                 // P: nothing catches the input
	Reverses             // P S: drives the other way
	Holds                // P C: the input is held, or would have to turn backward
	Locks                // P C: the vehicle cannot roll on
)

var kindWords = [...]string{"as-to", "as-from", "between", "slackens", "dips", "lets-go", "pulls-up",
	"flares", "runs-free", "reverses", "holds-input", "locks"}

// String returns the word used in machine output.
func (k Kind) String() string { return kindWords[k] }

// MarshalText writes the word used in machine output.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// Harmless says whether a state of this kind may be passed at leisure.
func (k Kind) Harmless() bool { return k <= Between }

// An Effect is what a state does while pulling, or while coasting.
type Effect struct {
	Kind Kind
	// Speed is the input speed per turn of the output at which the state
	// settles, as a size without a sense: infinite when nothing catches the
	// input, 0 when it is left to idle or held. Locked wheels have none.
	Speed exact.Bound
	// As names a healthy range that pulls at this ratio; "" if there is none.
	As string

	coasting bool
	back     bool // the input would have to turn backward
	verdict  solve.Verdict
}

// alike says whether two effects in one view of a shift are the same in kind and value.
func (e *Effect) alike(x *Effect) bool {
	return e.Kind == x.Kind && e.Speed.Cmp(x.Speed) == 0 && e.As == x.As && e.other() == x.other()
}

// other says which of two things a state of its kind does: backward instead of forward, and
// tied up instead of with the output held.
func (e *Effect) other() bool {
	switch e.Kind {
	case Reverses:
		return e.verdict == solve.Reverse
	case Holds:
		return e.back
	case Locks:
		return !e.coasting && (e.verdict == solve.TieUp || e.verdict == solve.InputHeld)
	}
	return false
}

// Text says the effect as what the state does: "ties up", "flares to 2.45 (as D1)".
func (e Effect) Text() string {
	at := ""
	if e.Speed.Inf == 0 && e.Kind != Locks {
		at = " " + reading.Ratio(e.Speed.Frac)
	}
	if e.As != "" {
		at += " (" + string(reading.As) + " " + e.As + ")"
	}
	switch e.Kind {
	case Slackens:
		return "engine braking falls to" + at
	case Dips:
		return "pulls the engine down to" + at
	case LetsGo:
		return "lets the engine fall to idle"
	case PullsUp:
		return "pulls the engine up to" + at
	case Flares:
		return "flares to" + at
	case Runs:
		return "falls into neutral"
	case Reverses:
		if e.other() {
			return "drives backward"
		}
		return "drives forward"
	case Holds:
		if e.other() {
			return "turns the engine backward"
		}
		return "holds the input"
	case Locks:
		if e.coasting {
			return "locks the wheels"
		}
		if e.other() {
			return "ties up"
		}
		return "holds the output"
	}
	return [...]string{AsTo: "does as the second range", AsFrom: "does as the first range",
		Between: "does something between the two"}[e.Kind]
}

// A settling is what a state does by itself when the vehicle rolls the way of
// the shift, before it is compared with the two ranges.
type settling struct {
	bound bool // it does the harm, wherever it is compared with
	harm  Kind
	back  bool        // the input would have to turn backward
	speed exact.Bound // where the input settles; 0 if bound
}

// equal says whether two states settle alike.
func (s settling) equal(x settling) bool {
	return s.bound == x.bound && s.harm == x.harm && s.back == x.back && s.speed.Cmp(x.speed) == 0
}

// zero is rest.
var zero = exact.Bound{Frac: exact.NewFrac(0, 1)}

// rolling is the slice of a state in which the vehicle rolls the way of the shift.
func rolling(o solve.Outcome, way solve.Verdict) exact.Interval {
	if way == solve.Reverse {
		return o.CoastBackward
	}
	return o.CoastForward
}

// binds returns the settling of a state in which the wheels lock or the input
// cannot turn forward.
func binds(i exact.Interval) (settling, bool) {
	switch {
	case i.Empty:
		return settling{bound: true, harm: Locks, speed: zero}, true
	case i.Max.Sign() <= 0:
		return settling{bound: true, harm: Holds, back: i.Max.Sign() < 0, speed: zero}, true
	}
	return settling{}, false
}

// pulling finds where the input settles with the engine pulling.
func pulling(o solve.Outcome, way solve.Verdict) settling {
	if o.Drives() && o.Verdict != way {
		return settling{bound: true, harm: Reverses, speed: zero}
	}
	i := rolling(o, way)
	if s, bound := binds(i); bound {
		return s
	}
	return settling{speed: i.Max}
}

// coasting finds where the input settles with the throttle closed.
func coasting(o solve.Outcome, way solve.Verdict) settling {
	i := rolling(o, way)
	if s, bound := binds(i); bound {
		return s
	}
	if i.Min.Sign() <= 0 {
		return settling{speed: zero}
	}
	return settling{speed: i.Min}
}

// A side is a shift seen while pulling, or while coasting: where a state settles, its
// effect, and the kinds of the speeds that lie outside those of both ranges.
type side struct {
	settle                      func(o solve.Outcome, way solve.Verdict) settling
	effect                      func(*State) *Effect
	idle, below, above, endless Kind // at 0, below, above, without end
}

var (
	pullSide  = side{pulling, func(x *State) *Effect { return &x.Pulling }, Dips, Dips, Flares, Runs}
	coastSide = side{coasting, func(x *State) *Effect { return &x.Coasting }, LetsGo, Slackens, PullsUp, PullsUp}
)

// ends are where the two ranges settle.
func (x *side) ends(s *Shift) (from, to settling) {
	return x.settle(s.First.Outcome, s.Way), x.settle(s.Second.Outcome, s.Way)
}

// against compares where a state settles with where the two ranges do.
func (s settling) against(from, to settling, out *side) Kind {
	var ends []exact.Bound
	for _, end := range []settling{from, to} {
		if !end.bound {
			ends = append(ends, end.speed)
		}
	}
	every := func(sign int) bool {
		for _, e := range ends {
			if s.speed.Cmp(e) != sign {
				return false
			}
		}
		return len(ends) > 0
	}
	switch {
	case s.bound:
		return s.harm
	case !to.bound && s.speed.Cmp(to.speed) == 0:
		return AsTo
	case !from.bound && s.speed.Cmp(from.speed) == 0:
		return AsFrom
	case every(-1) && s.speed.Sign() == 0:
		return out.idle
	case every(-1):
		return out.below
	case every(+1) && s.speed.Inf > 0:
		return out.endless
	case every(+1):
		return out.above
	}
	return Between
}
