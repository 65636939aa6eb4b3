package bench

import (
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// An Output is what is done with the output while the input is turned.
type Output uint8

// The outputs.
const (
	Free   Output = iota // watched
	Held                 // held by hand or with a lever
	Pawled               // the parking pawl is in
)

var outputWords = [...]string{"free", "held", "pawled"}

// String names what is done with the output.
func (o Output) String() string { return outputWords[o] }

// MarshalText writes the name.
func (o Output) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// A Turn is one turn by hand.
type Turn struct {
	Air      []int // elements that are applied, ascending
	Backward bool  // the input is turned against the way the engine turns it
	Output   Output
}

// Effort is what a turn costs beside the turning, as a rank: each line of air to be
// fitted counts 2, an output to be held or pawled 1. Common practice, no source.
func (x Turn) Effort() int {
	n := 2 * len(x.Air)
	if x.Output != Free {
		n++
	}
	return n
}

// Seen is what a turn shows. Of a free output Out is how many turns it makes for one
// turn of the input, + the same way as that is turned; empty if the input locks. Of
// one that is held or pawled Out says whether the input turns, as 0 or empty.
type Seen struct {
	Output Output
	Out    exact.Interval
}

// Locks says that the input cannot be turned.
func (s Seen) Locks() bool { return s.Out.Empty }

// Any says that the output may rest or turn either way: there is nothing to see.
func (s Seen) Any() bool {
	return s.Output == Free && !s.Out.Empty && s.Out.Min.Sign() <= 0 && s.Out.Max.Sign() >= 0 && !s.Out.IsZero()
}

// Key is equal for the same sight.
func (s Seen) Key() string {
	if s.Any() {
		return "any"
	}
	return s.Out.String()
}

// Differs says that the one can never be taken for the other: nothing that can be seen
// of s can be seen of o, too.
func (s Seen) Differs(o Seen) bool {
	if s.Out.Empty || o.Out.Empty {
		return s.Out.Empty != o.Out.Empty
	}
	return s.Out.Max.Cmp(o.Out.Min) < 0 || o.Out.Max.Cmp(s.Out.Min) < 0
}

// A turner turns a train, and remembers what the states did.
type turner struct {
	t       *kinematics.Train
	kernel  *solve.Kernel
	open    []int // couplings that are not fitted
	states  map[string]solve.Outcome
	pawl    []int
	scratch []byte
}

// seen is what a turn shows under faults.
func (u *turner) seen(x Turn, faults ...kinematics.Fault) Seen {
	apply := x.Air
	if x.Output == Pawled {
		apply = append(apply[:len(apply):len(apply)], u.pawl...)
	}
	st := u.t.In(&kinematics.Range{Apply: apply, Input: u.t.Input, Output: u.t.Output}, faults...)
	for _, i := range u.open {
		st.Modes[i] = kinematics.Open
	}
	if x.Backward {
		mirror(st.Modes)
	}
	pull := u.outcome(st).Pull
	switch {
	case x.Output != Free && (pull.Empty || x.Output == Held && !pull.HasZero()):
		return Seen{x.Output, exact.None}
	case x.Output != Free:
		return Seen{x.Output, exact.Between(exact.Int(0), exact.Int(0))}
	case u.t.Forward < 0:
		pull = pull.Neg()
	}
	return Seen{Free, pull}
}

// mirror turns the state round: what it does forward it then does backward.
func mirror(modes []kinematics.Mode) {
	for i, m := range modes {
		switch m {
		case kinematics.Overruns:
			modes[i] = kinematics.Reversed
		case kinematics.Reversed:
			modes[i] = kinematics.Overruns
		}
	}
}

// mostKept is how many states are remembered.
const mostKept = 2 * mostSights

func (u *turner) outcome(st kinematics.State) solve.Outcome {
	u.scratch = u.scratch[:0]
	for _, m := range st.Modes {
		u.scratch = append(u.scratch, byte(m))
	}
	o, known := u.states[string(u.scratch)]
	if !known {
		o = u.kernel.Outcome(st)
		if len(u.states) < mostKept {
			u.states[string(u.scratch)] = o
		}
	}
	return o
}

// Airable says whether an element is applied by what is done on the bench: by air, or
// by moving a dog or a ratchet.
func Airable(c *kinematics.Coupling) bool {
	return c.Kind.Friction() || c.Kind == kinematics.Dog || c.Kind == kinematics.OneWay && c.Switched
}

// An AirError says why air cannot be put to an element.
type AirError struct {
	Element string
	Reason  AirReason
}

// An AirReason is why air cannot be put to an element.
type AirReason uint8

// The reasons.
const (
	NotApplied AirReason = iota // nothing applies it: it acts always, or is the pawl
	NotFitted                   // it sits on what is not fitted
	NoTap                       // with the valve body fitted air reaches taps alone
)

func (e *AirError) Error() string {
	return fmt.Sprintf("air cannot be put to %s: %s", e.Element, [...]string{
		"it is not applied by pressure",
		"it holds against the case, which is not fitted",
		"the train file gives it no tap, and with the valve body fitted air goes in at taps alone " +
			"(without it: --without valve-body)",
	}[e.Reason])
}
