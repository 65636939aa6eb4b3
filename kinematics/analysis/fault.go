package analysis

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
)

// A Fault is a fault of a train, which text form writes as the command line takes
// it: "forward=stuck".
type Fault struct {
	kinematics.Fault
	train *kinematics.Train
}

// WrittenFaults are faults as users write them: of elements and joints, or of the
// controls of a train. Add reads one more.
type WrittenFaults = controls.Faults

// A Condition is what is wrong with a train: faults of elements and joints, those among them
// that faults of the controls bring about, and what else these can come to.
type Condition struct {
	Faults []kinematics.Fault
	// brought is what faults of the controls brought about, nil without: see [InForce].
	// What ranges can come to besides is then said with each answer.
	brought *controls.Brought
	err     error // why it is none
}

// Under is the condition of a train with faults of elements and joints alone.
func Under(faults ...kinematics.Fault) Condition { return Condition{Faults: faults} }

// InForce is the condition of a train under written faults: under those that they come to
// at the elements, in the engine's terms. What faults of the controls bring about has them as
// its Cause.
func InForce(t *kinematics.Train, written *WrittenFaults) (c Condition) {
	all := *written
	if len(all.Above) > 0 {
		if all.Above, c.err = controlFaults(t, all.Above); c.err != nil {
			return c
		}
	}
	c.Faults, c.brought = all.Bring(t)
	return c
}

// Controls are the faults of the controls.
func (c Condition) Controls() []controls.Fault {
	if c.brought == nil {
		return nil
	}
	return c.brought.Faults
}

// at is the condition with those faults alone that act in some ranges.
func (c Condition) at(ranges ...*kinematics.Range) Condition {
	acts := func(f kinematics.Fault) bool {
		return slices.ContainsFunc(ranges, func(r *kinematics.Range) bool { return f.ActsIn(r.Name) })
	}
	c.Faults = slices.DeleteFunc(slices.Clone(c.Faults), func(f kinematics.Fault) bool { return !acts(f) })
	return c
}

// Remarks are those on what faults of the controls bring about, none without.
func (c Condition) Remarks() []string {
	if c.brought == nil {
		return nil
	}
	return reading.Brought(c.brought)
}

// anywhere refuses faults that act in some ranges alone, where a combination is asked about.
func anywhere(t *kinematics.Train, faults []kinematics.Fault) error {
	for _, f := range faults {
		switch {
		case f.Cause != "":
			return fmt.Errorf("%s: the controls act range by range, and combinations are no ranges: give faults of elements",
				f.Cause)
		case len(f.Ranges) > 0:
			return fmt.Errorf("%s: combinations are no ranges: leave out what follows the @", t.FaultText(f))
		}
	}
	return nil
}

// in refuses faults and ranges that the train cannot have, faults that contradict one another
// but for those that others brought about, and faults that act in some ranges alone where what
// is asked about is a combination and no range of the train.
func (c Condition) in(t *kinematics.Train, ranges ...*kinematics.Range) error {
	if c.err != nil {
		return c.err
	}
	if c.brought != nil && c.brought.Answer != nil && c.brought.Answer.Network.Train != t {
		return fmt.Errorf("these faults are in force in another train: ask for those of %s", t.Name)
	}
	var own []kinematics.Fault
	for _, f := range c.Faults {
		if err := t.CheckFault(f); err != nil {
			return err
		}
		if f.Cause != "" {
			continue
		}
		if err := t.Contradicts(own, f); err != nil {
			return err
		}
		own = append(own, f)
	}
	for _, r := range ranges {
		if r == nil {
			return errNoRange
		}
		if err := t.CheckRange(r); err != nil {
			return err
		}
		if _, known := t.Range(r.Name); known {
			continue
		}
		if err := anywhere(t, c.Faults); err != nil {
			return err
		}
	}
	return nil
}

// faultsOf binds faults to their train.
func faultsOf(t *kinematics.Train, faults []kinematics.Fault) List[Fault] {
	return kinematics.Map(faults, func(f kinematics.Fault) Fault { return Fault{f, t} })
}

// Faulted is the faults that an answer is of.
type Faulted struct {
	Faults List[Fault] `json:"faults"`
	// Controls are the faults of the controls, which may have brought some of them about.
	Controls []string `json:"control_faults,omitempty"`
	// Outcomes are those ranges that can come to more than one thing, the first of which is shown
	// where one alone is.
	Outcomes []RangeOutcomes `json:"outcomes,omitempty"`
}

// faulted are the faults of the condition.
func (c Condition) faulted(t *kinematics.Train) Faulted {
	x := Faulted{Faults: faultsOf(t, c.Faults), Controls: kinematics.Map(c.Controls(), controls.Fault.String)}
	for _, f := range c.Faults {
		if f.Cause != "" && c.brought == nil {
			x.Controls = kinematics.Union(x.Controls, f.Cause)
		}
	}
	return x
}

// String returns the fault as the command line takes it.
func (f Fault) String() string { return f.train.FaultText(f.Fault) }

// Words says the fault in words: "forward is stuck on".
func (f Fault) Words() string { return reading.Fault(f.train, f.Fault) }

// MarshalText writes the fault as the command line takes it.
func (f Fault) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// FaultState is what a kind of fault is called as the state of an element.
func FaultState(k kinematics.FaultKind) string { return reading.FaultState(k) }

// FaultWords says faults in words, for a heading.
func FaultWords(faults []Fault) string {
	list := kinematics.Map(faults, func(f Fault) kinematics.Fault { return f.Fault })
	if list == nil {
		return ""
	}
	return reading.FaultsIn(faults[0].train, list)
}

// FaultTexts writes faults as the command line takes them.
func FaultTexts(faults []Fault, between string) string {
	return strings.Join(faultTexts(faults), between)
}

func faultTexts(faults []Fault) []string { return kinematics.Map(faults, Fault.String) }
