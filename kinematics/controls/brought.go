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
	// Others are, by range, the differences of the other outcomes.
	Others map[int][][]kinematics.Fault
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
	b := &Brought{Faults: a.Faults, Answer: a, Others: map[int][][]kinematics.Fault{}}
	for r := range n.Train.Ranges {
		c := a.Of(-1, r)
		if len(c.List) == 0 {
			continue
		}
		later := slices.DeleteFunc(slices.Clone(c.List), func(o Outcome) bool { return o.Restart })
		c.List = append(slices.DeleteFunc(c.List, func(o Outcome) bool { return !o.Restart }), later...)
		ways := a.Ways(r, c.List)
		if len(ways) > 1 {
			b.Open, b.Others[r] = append(b.Open, r), ways[1:]
		}
		b.Elements = append(b.Elements, ways[0]...)
	}
	return b
}

// Ways are the ways in which elements can differ in a range that comes to some outcomes, each
// once.
func (a *Answer) Ways(r int, outcomes []Outcome) (ways [][]kinematics.Fault) {
	for _, o := range outcomes {
		for _, set := range o.Sets {
			for _, way := range a.Network.Causes(r, set, a.Faults) {
				if !slices.ContainsFunc(ways, func(w []kinematics.Fault) bool { return sameFaults(w, way) }) {
					ways = append(ways, way)
				}
			}
		}
	}
	return ways
}

// sameFaults says whether two ways of one range are the same.
func sameFaults(a, b []kinematics.Fault) bool {
	return slices.EqualFunc(a, b, func(x, y kinematics.Fault) bool {
		return x.Coupling == y.Coupling && x.Kind == y.Kind && x.Share == y.Share
	})
}

// Ways are the differences in all ranges, once for each thing that those which are open
// can come to: the first of all, then the second, where there is none the first. Without
// faults of the controls it is one, of nothing.
func (b *Brought) Ways() [][]kinematics.Fault {
	if b == nil {
		return [][]kinematics.Fault{nil}
	}
	ways := [][]kinematics.Fault{b.Elements}
	most := 0
	for _, list := range b.Others {
		most = max(most, len(list))
	}
	for k := range most {
		way := slices.DeleteFunc(slices.Clone(b.Elements), func(f kinematics.Fault) bool {
			return slices.ContainsFunc(b.Open, func(r int) bool {
				return k < len(b.Others[r]) && f.ActsIn(b.Answer.Network.Train.Ranges[r].Name)
			})
		})
		for _, r := range b.Open {
			if k < len(b.Others[r]) {
				way = append(way, b.Others[r][k]...)
			}
		}
		ways = append(ways, way)
	}
	return ways
}

// Instead are, for each other outcome of a range, all faults as they are then: the
// same in other ranges and of other origin, those of the outcome in this one.
func (b *Brought) Instead(r *kinematics.Range, faults []kinematics.Fault) [][]kinematics.Fault {
	if b == nil {
		return nil
	}
	rng, named := b.Answer.Network.Train.Range(r.Name)
	if !named {
		return nil
	}
	var list [][]kinematics.Fault
	for _, way := range b.Others[rng] {
		own := slices.DeleteFunc(slices.Clone(faults), func(f kinematics.Fault) bool {
			return f.Cause != "" && f.ActsIn(r.Name)
		})
		list = append(list, Merge(own, way))
	}
	return list
}

// Settled are those of some faults that are so whatever the ranges come to: without what is
// brought about in ranges that can come to more than one thing.
func (b *Brought) Settled(faults []kinematics.Fault) []kinematics.Fault {
	if b == nil || len(b.Open) == 0 {
		return faults
	}
	ranges := b.Answer.Network.Train.NamesOfRanges(b.Open)
	return slices.DeleteFunc(slices.Clone(faults), func(f kinematics.Fault) bool {
		return f.Cause != "" && slices.ContainsFunc(ranges, f.ActsIn)
	})
}

// Faults are faults of elements and joints of a train, and of its controls.
type Faults struct {
	Own   []kinematics.Fault
	Above []Fault
}

// Add reads one more fault as users write it, and refuses what contradicts the others.
func (x *Faults) Add(t *kinematics.Train, text string) error {
	if n := Of(t); n != nil && n.Knows(text) {
		f, err := n.ParseFault(text)
		if err == nil {
			err = n.Contradicts(x.Above, f)
		}
		if err == nil {
			x.Above = append(x.Above, f)
		}
		return err
	}
	f, err := kinematics.ParseFault(t, text)
	if err == nil {
		err = t.Contradicts(x.Own, f)
	}
	if err == nil {
		x.Own = append(x.Own, f)
	}
	return err
}

// Bring says what the faults come to at the elements, in the engine's terms: what faults
// of the controls bring about, with what brought it about as its Cause, and the others.
// brought is nil if there are none of the controls.
func (x *Faults) Bring(t *kinematics.Train) (faults []kinematics.Fault, brought *Brought) {
	if x.Above == nil {
		return x.Own, nil
	}
	brought = Of(t).Bring(x.Above)
	return Merge(x.Own, brought.Elements), brought
}
