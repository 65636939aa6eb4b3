package controls

import (
	"fmt"
	"slices"
	"strconv"

	"tieup/kinematics"
)

// A Timing is how long an element takes to fill or to exhaust after a command.
type Timing struct {
	Element int // index into Train.Couplings
	// Fill and Exhaust are in s; 0 where the file gives none, or no route of it stands.
	Fill, Exhaust float64
}

// Timings returns, for every element with times, how long it fills and exhausts when
// the valves stand as in an outcome: by the first route that holds. A route of which
// it is not known whether it holds is taken as closed.
func (n *Network) Timings(node Node, o Outcome, faults []Fault) []Timing {
	b := n.stand(node, o, faults)
	var list []Timing
	for i := range n.feeds {
		f := &n.feeds[i]
		if len(f.fill) == 0 && len(f.exhaust) == 0 {
			continue
		}
		list = append(list, Timing{f.element, b.taken(f.fill), b.taken(f.exhaust)})
	}
	return list
}

// taken is the time of the first route that holds.
func (b *bank) taken(routes []route) float64 {
	if i := b.first(routes); i >= 0 {
		return routes[i].take
	}
	return 0
}

// first is the first route that holds, -1 for none.
func (b *bank) first(routes []route) int {
	return slices.IndexFunc(routes, func(r route) bool { return r.when == nil || b.run(r.when).in(0) == Full })
}

// Unreached lists the routes, as paths of the file, that no healthy command takes: what
// stands there matters under faults alone, or never.
func (n *Network) Unreached() [][]string {
	banks := kinematics.Map(n.normal, func(x Node) *bank { return n.settle(x, nil) })
	var list [][]string
	add := func(f *feed, key string, routes []route) {
		used := make([]bool, len(routes))
		for _, b := range banks {
			if i := b.first(routes); i >= 0 {
				used[i] = true
			}
		}
		for i, is := range used {
			if !is {
				list = append(list, []string{"feeds", n.Train.Couplings[f.element].Name, key, strconv.Itoa(i)})
			}
		}
	}
	for i := range n.feeds {
		add(&n.feeds[i], "fill", n.feeds[i].fill)
		add(&n.feeds[i], "exhaust", n.feeds[i].exhaust)
	}
	return list
}

// A Ramp is how the torque that an element can hold changes over a shift, s after the
// command: while it exhausts it falls at an even rate from the start, while it fills it
// rises in the second half of the time (assumptions: the file gives one time alone).
type Ramp struct {
	Element       int // index into Train.Couplings
	Applies       bool
	Start, End    float64
	DependsOnPast bool // another history gives another route
}

// Ramps returns the ramps of a shift from one range into another, of the elements that
// the ranges exchange and whose file gives times for the route that stands after the
// shift, under faults. The valves go on from where the first range leaves them.
func (n *Network) Ramps(from, to int, faults []Fault) []Ramp {
	k, ok := n.pair(from, to)
	if !ok {
		return nil
	}
	nodes := []Node{n.normal[k[0]], n.normal[k[1]]}
	if safe := n.failSafe(faults); safe != nil {
		for i := range nodes {
			at := slices.IndexFunc(safe.nodes, func(x Node) bool {
				return x.Position == nodes[i].Position && x.Range == nodes[i].Range
			})
			nodes[i] = safe.nodes[at]
		}
	}
	var list []Ramp
	for i, o := range n.after(nodes, faults) {
		for _, t := range n.Timings(nodes[1], o, faults) {
			list = n.ramp(list, t, from, to, i > 0)
		}
	}
	return list
}

// ramp adds the ramp of one element, or says that it depends on what was before.
func (n *Network) ramp(list []Ramp, t Timing, from, to int, again bool) []Ramp {
	applied := func(r int) bool { return slices.Contains(n.Train.Ranges[r].Apply, t.Element) }
	r := Ramp{Element: t.Element, Applies: applied(to)}
	switch {
	case applied(from) == applied(to):
		return list
	case r.Applies:
		r.Start, r.End = t.Fill/2, t.Fill
	default:
		r.End = t.Exhaust
	}
	i := slices.IndexFunc(list, func(x Ramp) bool { return x.Element == t.Element })
	switch {
	case i >= 0:
		list[i].DependsOnPast = list[i].DependsOnPast || list[i].End != r.End
	case r.End > 0:
		r.DependsOnPast = again // the first history gave no time
		list = append(list, r)
	}
	return list
}

// pair finds the nodes of two ranges, in one position if there is one that has both.
func (n *Network) pair(from, to int) (k [2]int, ok bool) {
	for a, x := range n.normal {
		for b, y := range n.normal {
			if x.Range == from && y.Range == to && (!ok || x.Position == y.Position) {
				if ok && n.normal[k[0]].Position == n.normal[k[1]].Position {
					continue
				}
				k, ok = [2]int{a, b}, true
			}
		}
	}
	return k, ok
}

// after are the outcomes of the second of two nodes that come of those of the first.
func (n *Network) after(nodes []Node, faults []Fault) []Outcome {
	s := n.newSearch(nodes, faults)
	if len(s.choices) > maxChoices {
		return nil
	}
	var list []Outcome
	e := &exactly{s: s, restart: make([][]result, 2)}
	seen := map[string]bool{}
	for chosen := range uint32(1) << len(s.choices) {
		s.choose(chosen)
		for _, start := range restart(faults) {
			for _, first := range s.settle(0, start) {
				for _, x := range first {
					for _, a := range s.settle(1, x) {
						if key := fmt.Sprint(a); !seen[key] {
							seen[key] = true
							list = append(list, e.outcome(1, result{a, chosen, s.words(1, a)}))
							s.choose(chosen)
						}
					}
				}
			}
		}
	}
	return list
}
