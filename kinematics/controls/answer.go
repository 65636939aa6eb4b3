package controls

import (
	"math/big"
	"slices"
	"strings"

	"tieup/kinematics"
)

// An Answer is what the controls do in every command under some faults.
type Answer struct {
	Network *Network
	Faults  []Fault
	// Known says that the control knows of the failure and commands something else
	// instead, which is what this answer is of; see [Network.Evaluate].
	Known bool
	Cases []Outcomes
}

// Outcomes are what one command can come to.
type Outcomes struct {
	Node Node
	// On are the solenoids that are on in fact, bit by bit.
	On   uint64
	List []Outcome
	// Depends says on what it depends which of several outcomes comes.
	Depends Dependence
}

// An Outcome is one thing that a command can come to.
type Outcome struct {
	// Sets is what the elements get: one set, or those between which the valves hunt.
	Sets             []Set
	Valves, Circuits []Level // a valve is Full when it is up
	// Restart says that it comes so, too, if the unit was switched off, started again
	// and taken through the ranges of the position in their order.
	Restart bool
}

// Hunts says whether the valves come to no rest, and what is fed changes with them.
func (o Outcome) Hunts() bool { return len(o.Sets) > 1 }

// A Dependence is what decides between several outcomes.
type Dependence uint8

// The dependences.
const (
	Settled   Dependence = iota // there is one outcome
	OnOrder                     // which valve moves first
	OnHistory                   // what was commanded before
	OnUnknown                   // what the file does not tell, or the fault leaves open
)

// Evaluate answers what every command does under faults, before any fail-safe and
// after it; after is nil where the control does not know of the failure, or has no
// other command for it.
func (n *Network) Evaluate(faults ...Fault) (before, after *Answer) {
	before = n.answer(n.normal, faults)
	if s := n.failSafe(faults); s != nil {
		after = n.answer(s.nodes, faults)
		after.Known = true
	}
	return before, after
}

func (n *Network) answer(nodes []Node, faults []Fault) *Answer {
	a := &Answer{Network: n, Faults: faults}
	s := n.survey([][]Fault{faults}, nodes)
	var exact *exactly
	for k, node := range nodes {
		c := Outcomes{Node: node, On: switched(node.On, node.Range, faults)}
		sets := s.Sets(0, k)
		if len(sets) > 1 && exact == nil {
			exact = n.exactly(nodes, faults)
		}
		if len(sets) > 1 && exact != nil {
			c.List, c.Depends = exact.of(k)
		} else {
			c.List = []Outcome{n.settled(node, faults, sets)}
		}
		a.Cases = append(a.Cases, c)
	}
	return a
}

// settled is the outcome of a command that three values decide.
func (n *Network) settled(node Node, faults []Fault, sets []Set) Outcome {
	return n.settle(node, faults).outcome(1, Outcome{Sets: sets, Restart: true})
}

// outcome is o with what valves and circuits have in the first lanes.
func (b *bank) outcome(lanes int, o Outcome) Outcome {
	n := b.n
	if o.Valves == nil {
		o.Valves, o.Circuits = make([]Level, len(n.valves)), make([]Level, len(n.circuits))
	}
	for lane := range lanes {
		for i := range o.Valves {
			o.Valves[i] |= b.signals[n.valveAt(i)].in(lane)
		}
		for i := range o.Circuits {
			o.Circuits[i] |= b.signals[n.circuitAt(i)].in(lane)
		}
	}
	return o
}

// exactly holds what the exact search finds of all nodes under some faults.
type exactly struct {
	s            *search
	all, restart [][]result
}

// exactly is nil where there is too much to try.
func (n *Network) exactly(nodes []Node, faults []Fault) *exactly {
	s := n.newSearch(nodes, faults)
	if len(s.choices) > maxChoices {
		return nil
	}
	return &exactly{s, s.outcomes((*search).history), s.outcomes((*search).afterRestart)}
}

// of returns the outcomes of a node, those that feed alike as one.
func (e *exactly) of(k int) ([]Outcome, Dependence) {
	var list []Outcome
	for _, r := range e.all[k] {
		o := e.outcome(k, r)
		i := slices.IndexFunc(list, func(p Outcome) bool { return sameSets(p.Sets, o.Sets) })
		if i < 0 {
			list = append(list, o)
			continue
		}
		list[i].Restart = list[i].Restart || o.Restart
		for v := range o.Valves {
			list[i].Valves[v] |= o.Valves[v]
		}
		for c := range o.Circuits {
			list[i].Circuits[c] |= o.Circuits[c]
		}
	}
	return list, e.depends(k, len(list))
}

func (e *exactly) outcome(k int, r result) Outcome {
	o := Outcome{Sets: kinematics.Map(kinematics.Union(nil, r.words...), func(w word) Set { return Set{e.s.n, w} })}
	o.Restart = slices.ContainsFunc(e.restart[k], func(q result) bool {
		return q.chosen == r.chosen && slices.Equal(q.at, r.at)
	})
	e.s.choose(r.chosen)
	for at := 0; at < len(r.at); at += 64 {
		part := r.at[at:min(at+64, len(r.at))]
		e.s.stand(k, part)
		o = e.s.bank.outcome(len(part), o)
	}
	return o
}

// depends says what decides between the outcomes of a node: history, if each beginning
// leads to one; the order of the valves, if one beginning leads to several.
func (e *exactly) depends(k, outcomes int) Dependence {
	if outcomes < 2 {
		return Settled
	}
	byChoice := map[uint32]int{}
	for _, r := range e.all[k] {
		byChoice[r.chosen]++
	}
	several := false
	for chosen, count := range byChoice {
		if count < 2 {
			continue
		}
		several = true
		e.s.choose(chosen)
		for _, list := range e.all {
			for _, r := range list {
				for _, x := range r.at {
					if r.chosen == chosen && len(e.s.settle(k, x)) > 1 {
						return OnOrder
					}
				}
			}
		}
	}
	if several {
		return OnHistory
	}
	return OnUnknown
}

// Of returns the outcomes of a range with the lever in a position (-1 for the first
// that offers it), those of all patterns of its command together. What is fed in
// several of them is there once.
func (a *Answer) Of(position, rng int) Outcomes {
	var out Outcomes
	found := false
	for _, c := range a.Cases {
		if c.Node.Range != rng || position >= 0 && c.Node.Position != position ||
			found && c.Node.Position != out.Node.Position {
			continue
		}
		if !found {
			out, found = c, true
			out.List = slices.Clone(c.List)
			continue
		}
		for _, o := range c.List {
			if !slices.ContainsFunc(out.List, func(p Outcome) bool { return sameSets(p.Sets, o.Sets) }) {
				out.List = append(out.List, o)
				out.Depends = max(out.Depends, OnUnknown)
			}
		}
	}
	return out
}

// Causes returns the ways in which elements differ, in a range, from what the range
// applies: elements that are fed though they should not be, that are not, and that
// are with low pressure. They are faults of the elements as the engine takes them, in
// that range alone. What is not known is told both ways: each list is one way; there
// are at most 2^maxUnsure.
func (n *Network) Causes(rng int, set Set, faults []Fault) [][]kinematics.Fault {
	r := &n.Train.Ranges[rng]
	f := kinematics.Fault{Ranges: []string{r.Name}, Cause: Text(faults)}
	lists := [][]kinematics.Fault{nil}
	unsure := 0
	for i := range n.feeds {
		f.Coupling = n.feeds[i].element
		want, level := slices.Contains(r.Apply, f.Coupling), set.w.level(i)
		low := lowShare(rng, level, faults)
		if level == Unknown {
			if unsure++; unsure <= maxUnsure {
				lists = both(lists, cause(f, want, None, low), cause(f, want, Full, low))
				continue
			}
			level = map[bool]Level{true: Full, false: None}[want]
		}
		if want && level == Full {
			low = times(low, n.partOf(i, rng, set))
		}
		lists = both(lists, cause(f, want, level, low))
	}
	return lists
}

// maxUnsure bounds how many elements of a set are told both ways.
const maxUnsure = 3

// both appends each of the ways to each of the lists.
func both(lists [][]kinematics.Fault, ways ...[]kinematics.Fault) [][]kinematics.Fault {
	var out [][]kinematics.Fault
	for _, way := range ways {
		for _, l := range lists {
			out = append(out, append(l[:len(l):len(l)], way...))
		}
	}
	return out
}

// cause is f as it is of an element that gets a level and is wanted or not, with a share
// of its pressure, zero for all of it.
func cause(f kinematics.Fault, want bool, level Level, low kinematics.Share) []kinematics.Fault {
	switch {
	case level == None && want:
		f.Kind = kinematics.OpenF
	case level == None, want && !low.IsSet():
		return nil
	case want:
		f.Kind, f.Share = kinematics.Weak, low
	case !low.IsSet():
		f.Kind = kinematics.Stuck
	default:
		f.Kind, f.Share = kinematics.Dragging, low
	}
	return []kinematics.Fault{f}
}

// lowShare is the share of its pressure that an element gets, zero for all of it: of
// what leaks the least, and of that again what a low line leaves.
func lowShare(rng int, level Level, faults []Fault) kinematics.Share {
	var leak, line kinematics.Share
	for _, f := range faults {
		switch s := f.share(); {
		case !f.actsIn(rng):
		case f.Kind == LowLine:
			line = s
		case (f.Kind == Leaks || f.Kind == Into) && level == Low &&
			(!leak.IsSet() || s.Num*leak.Den < leak.Num*s.Den):
			leak = s
		}
	}
	return times(leak, line)
}

// times is a share of a share; the zero Share is all.
func times(a, b kinematics.Share) kinematics.Share {
	switch {
	case !a.IsSet():
		return b
	case !b.IsSet():
		return a
	}
	return a.Times(b)
}

// Merge puts faults of elements beside those that controls bring about: an element
// holds if it is stuck, or fed and not open, so that its own stuck or open fault wins
// where both act in a range.
func Merge(own, brought []kinematics.Fault) []kinematics.Fault {
	out := slices.Clone(own)
	for _, f := range brought {
		if !slices.ContainsFunc(own, func(o kinematics.Fault) bool {
			return o.Coupling == f.Coupling && o.ActsIn(f.Ranges[0]) &&
				(o.Kind == kinematics.OpenF && f.Kind != kinematics.OpenF || o.Kind == kinematics.Stuck)
		}) {
			out = append(out, f)
		}
	}
	return out
}

// Text writes faults as they are given: "S2=stuck-off, valve-12=stuck-up".
func Text(faults []Fault) string {
	return strings.Join(kinematics.Map(faults, Fault.String), ", ")
}

// Part is the share of its capacity that an element has in a healthy range, by the
// apply areas that have pressure there; the zero Share for all of it.
func (n *Network) Part(element, rng int) kinematics.Share {
	i, at := n.feedOf(element), n.commanded(rng)
	if i < 0 || at < 0 {
		return kinematics.Share{}
	}
	if f := &n.feeds[i]; len(f.areas) == 1 {
		return below1(big.NewRat(f.areas[0].share.Num, f.areas[0].share.Den))
	}
	return below1(n.pressedPart(i, n.pressed[at]))
}

// commanded is the first node of a range, -1 for none.
func (n *Network) commanded(rng int) int {
	return slices.IndexFunc(n.normal, func(x Node) bool { return x.Range == rng })
}

// pressedPart is the share of its capacity that an element has by the areas that have
// pressure, nil where they are not known.
func (n *Network) pressedPart(feed int, areas uint64) *big.Rat {
	at := 0
	for i := range feed {
		if k := len(n.feeds[i].areas); k > 1 {
			at += k
		}
	}
	var sum *big.Rat
	for k, a := range n.feeds[feed].areas {
		if at+k < 64 && areas>>(at+k)&1 != 0 {
			if sum == nil {
				sum = new(big.Rat)
			}
			sum.Add(sum, big.NewRat(a.share.Num, a.share.Den))
		}
	}
	return sum
}

// below1 is a share below 1; the zero Share for 1, for more, and for nil.
func below1(part *big.Rat) kinematics.Share {
	if part == nil || part.Cmp(big.NewRat(1, 1)) >= 0 {
		return kinematics.Share{}
	}
	return kinematics.Share{Num: part.Num().Int64(), Den: part.Denom().Int64()}
}

// partOf is the share of its capacity in a healthy range that is left to an element by
// the areas that have pressure; the zero Share where none is missing.
func (n *Network) partOf(feed, rng int, set Set) kinematics.Share {
	at := n.commanded(rng)
	if len(n.feeds[feed].areas) < 2 || at < 0 {
		return kinematics.Share{}
	}
	now, healthy := n.pressedPart(feed, set.w.areas), n.pressedPart(feed, n.pressed[at])
	if now == nil || healthy == nil {
		return kinematics.Share{}
	}
	one := big.NewRat(1, 1)
	for _, x := range []*big.Rat{now, healthy} {
		if x.Cmp(one) > 0 {
			x.Set(one)
		}
	}
	return below1(now.Quo(now, healthy))
}
