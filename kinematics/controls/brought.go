package controls

import (
	"slices"

	"tieup/kinematics"
)

// Of returns the controls of a train, nil if it has none.
func Of(t *kinematics.Train) *Network {
	n, _ := t.Controls.(*Network)
	return n
}

// Brought is what faults of the controls bring about at the elements.
type Brought struct {
	Faults []Fault
	// Answer is what they do: after the fail-safe, where one acts.
	Answer *Answer
	// Elements are the differences from what the ranges apply, in the engine's terms,
	// each in its range alone. Where a range can come to several outcomes they are those
	// after a restart, or of the first.
	Elements []kinematics.Fault
	// Open are the ranges that can come to several outcomes, as indices.
	Open []int
}

// Bring evaluates faults of the controls and says what they bring about.
func (n *Network) Bring(faults []Fault) *Brought {
	before, after := n.Evaluate(faults...)
	if after != nil {
		return n.bring(after)
	}
	return n.bring(before)
}

func (n *Network) bring(a *Answer) *Brought {
	b := &Brought{Faults: a.Faults, Answer: a}
	for r := range n.Train.Ranges {
		c := a.Of(-1, r)
		if len(c.List) == 0 {
			continue
		}
		o := c.List[max(0, slices.IndexFunc(c.List, func(o Outcome) bool { return o.Restart }))]
		ways := n.Causes(r, o.Sets[0], a.Faults)
		if len(c.List) > 1 || o.Hunts() || len(ways) > 1 {
			b.Open = append(b.Open, r)
		}
		b.Elements = append(b.Elements, ways[0]...)
	}
	return b
}

// ParseFaults reads faults as users write them, of elements and joints or of the
// controls of the train, and refuses those that contradict each other. What faults of
// the controls bring about stands among the faults returned, with what brought it
// about as their Cause; brought is nil if there are none of the controls.
func ParseFaults(t *kinematics.Train, texts []string) (faults []kinematics.Fault, brought *Brought, err error) {
	n := Of(t)
	var own []kinematics.Fault
	var above []Fault
	for _, text := range texts {
		if n != nil && n.Knows(text) {
			f, err := n.ParseFault(text)
			if err == nil {
				err = n.Contradicts(above, f)
			}
			if err != nil {
				return nil, nil, err
			}
			above = append(above, f)
			continue
		}
		f, err := kinematics.ParseFault(t, text)
		if err == nil {
			err = t.Contradicts(own, f)
		}
		if err != nil {
			return nil, nil, err
		}
		own = append(own, f)
	}
	if above == nil {
		return own, nil, nil
	}
	brought = n.Bring(above)
	return Merge(own, brought.Elements), brought, nil
}
