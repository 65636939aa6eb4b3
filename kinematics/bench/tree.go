package bench

import (
	"context"
	"math"

	"tieup/kinematics"
)

// A Branch is something that a turn can show, the faults that it leaves, and what
// tells those apart; Next is nil where no turn does.
type Branch struct {
	Seen   Seen
	Faults []kinematics.Fault
	Next   *Node
}

// A Node is a turn and what it can show.
type Node struct {
	Turn     Turn
	Branches []Branch
}

// Otherwise is what turn i of the plan can show instead of what it should, if all turns
// before it were as they should: of each the faults that it leaves, and what tells them
// apart. An output that is free, where it should be driven, is among it: a hand that
// brakes the output feels it.
func (p *Plan) Otherwise(ctx context.Context, i int) []Branch {
	var left []kinematics.Fault
	for _, f := range p.Faults {
		passed := true
		for _, x := range p.Turns[:i] {
			passed = passed && !p.turner.seen(x, f).Differs(p.turner.seen(x))
		}
		if passed && p.turner.seen(p.Turns[i], f).Key() != p.turner.seen(p.Turns[i]).Key() {
			left = append(left, f)
		}
	}
	branches := p.split(p.Turns[i], left)
	for k := range branches {
		branches[k].Next = p.Tree(ctx, branches[k].Faults)
	}
	return branches
}

// Tree tells faults apart, the turn with most information for its effort first; nil if
// no turn does, and of what is left when ctx ends. All faults are taken to be equally
// likely: there are no counts.
func (p *Plan) Tree(ctx context.Context, faults []kinematics.Fault) *Node {
	if len(faults) < 2 {
		return nil
	}
	best, most := -1, 0.0
	for k, x := range p.tests {
		if ctx.Err() != nil {
			return nil
		}
		count := map[string]int{}
		for _, f := range faults {
			count[p.turner.seen(x, f).Key()]++
		}
		if worth := information(count, len(faults)) / float64(1+x.Effort()); worth > most+1e-12 {
			best, most = k, worth
		}
	}
	if best < 0 {
		return nil
	}
	n := &Node{Turn: p.tests[best], Branches: p.split(p.tests[best], faults)}
	for i := range n.Branches {
		n.Branches[i].Next = p.Tree(ctx, n.Branches[i].Faults)
	}
	return n
}

// information is what, in bits, is learnt of a turn that sorts n faults.
func information(count map[string]int, n int) float64 {
	h := math.Log2(float64(n)) * float64(n)
	for _, c := range count {
		h -= float64(c) * math.Log2(float64(c))
	}
	return h / float64(n)
}

// split sorts faults by what a turn shows of them, in the order of the faults.
func (p *Plan) split(x Turn, faults []kinematics.Fault) []Branch {
	groups := kinematics.GroupBy(faults, func(f kinematics.Fault) string { return p.turner.seen(x, f).Key() })
	return kinematics.Map(groups, func(of []kinematics.Fault) Branch {
		return Branch{Seen: p.turner.seen(x, of[0]), Faults: of}
	})
}
