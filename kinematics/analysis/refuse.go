package analysis

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/exact"
)

// What a question can have wrong is refused here, each thing in one place, before anything is
// answered; a condition by its in.

// refusal is the error of a part of a question, named as the command line calls it.
func refusal(part, format string, args ...any) error {
	return &QuestionError{[]string{part}, fmt.Errorf(format, args...)}
}

// MostNumber bounds what is measured: what is larger, or nearer to 0 than 1/MostNumber, is none.
const MostNumber = 1e15

// above0 is the least that a [number] may be which is above 0.
const above0 = 1 / MostNumber

// number refuses what is no number, or beyond what is measured, or below least. An [exact.Frac]
// that is no number has none as its Float.
func number(part string, x, least float64) error {
	switch size := math.Abs(x); {
	case math.IsNaN(x):
		return refusal(part, "%s: that is no number", part)
	case x < least:
		return refusal(part, "%s must be %s, not %g", part, map[float64]string{0: "0 or above", above0: "above 0"}[least], x)
	case size > MostNumber || 0 < size && size < above0:
		return refusal(part, "%s cannot be %g", part, x)
	}
	return nil
}

// given is number of one that may be left out, whatever its sign.
func given(part string, x *float64) error {
	if x == nil {
		return nil
	}
	return number(part, *x, math.Inf(-1))
}

// byElement refuses keys that are no elements of a train, and what check refuses of the others.
func byElement[T any](t *kinematics.Train, part string, list map[int]T,
	check func(*kinematics.Coupling, T) error) error {
	for _, i := range slices.Sorted(maps.Keys(list)) {
		err := t.CheckElements(i)
		if err == nil {
			err = check(&t.Couplings[i], list[i])
		}
		if err != nil {
			return &QuestionError{[]string{part}, err}
		}
	}
	return nil
}

// ratingsGiven refuses ratings that no element can have.
func ratingsGiven(t *kinematics.Train, list map[int]exact.Frac) error {
	return byElement(t, "capacity", list, func(c *kinematics.Coupling, f exact.Frac) error {
		if !c.Kind.Friction() {
			return fmt.Errorf("%s does not slip: only clutches, brakes and bands have a capacity", c.Name)
		}
		return number("capacity", f.Float(), above0)
	})
}

// rampsGiven refuses ramps that no element can have.
func rampsGiven(t *kinematics.Train, part string, list map[int]kinematics.Ramp) error {
	return byElement(t, part, list, func(_ *kinematics.Coupling, r kinematics.Ramp) error { return r.Check() })
}

// speedOf refuses the speed of what is no member that turns, and what is no speed.
func speedOf(t *kinematics.Train, part string, m kinematics.MemberID, speed exact.Frac) error {
	if m <= kinematics.Housing || int(m) >= len(t.Members) {
		return refusal(part, "%s has no member number %d that turns: they are 1 to %d", t.Name, m, len(t.Members)-1)
	}
	return number(part, speed.Float(), math.Inf(-1))
}

// rangeAt is a range of the train by its index.
func (a *Analysis) rangeAt(i int) (*kinematics.Range, error) {
	if i < 0 || i >= len(a.Train.Ranges) {
		return nil, refusal("range", "%s has no range number %d: they are 0 to %d", a.Train.Name, i, len(a.Train.Ranges)-1)
	}
	return &a.Train.Ranges[i], nil
}

// onBench is what is applied while the train is turned by its own ends: no range of it.
func (a *Analysis) onBench(apply ...int) *kinematics.Range {
	return &kinematics.Range{Apply: apply, Input: a.Train.Input, Output: a.Train.Output}
}

// of refuses a case that is none of the train.
func (a *Analysis) of(c *Case) error {
	switch {
	case c == nil:
		return refusal("case", "which case? NewCase makes one of which nothing is known yet")
	case c.Train != a.Train:
		return refusal("case", "this case is of no train, or of another: make one of %s", a.Train.Name)
	}
	if err := c.Check(); err != nil {
		return &QuestionError{[]string{"case"}, err}
	}
	return nil
}

// controlFaults are faults of the controls of a train as these make them; what is none is refused.
func controlFaults(t *kinematics.Train, faults []controls.Fault) ([]controls.Fault, error) {
	n := controls.Of(t)
	if n == nil {
		return nil, ErrNoControls
	}
	return n.Check(faults)
}
