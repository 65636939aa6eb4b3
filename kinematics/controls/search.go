package controls

import (
	"maps"
	"math/bits"
	"slices"

	"tieup/kinematics"
)

// maxChoices bounds how many things of which the file or a fault leaves it open are
// tried both ways; with more the three-valued answer stands.
const maxChoices = 8

// A choice is something that has one value nobody knows: an unknown that valves
// depend on, a way that the lever may or may not open, whether a low signal moves
// a valve.
type choice func(b *bank, is levels)

// choices lists what has to be tried both ways under faults.
func (n *Network) choices(nodes []Node, faults []Fault) []choice {
	var list []choice
	for i := range n.deep {
		list = append(list, func(b *bank, is levels) { b.signals[n.unknownAt(i)] = is })
	}
	leaky := false
	for _, f := range faults {
		switch f.Kind {
		case Leaks, Into:
			leaky = true
		case Spring:
			list = append(list, func(b *bank, is levels) { b.both[f.at] = is })
		case Between:
			for i, set := range n.levers {
				if two := uint64(1)<<f.at | 1<<f.with; set&two != 0 && two&^set != 0 {
					at := n.leverAt(i)
					list = append(list, func(b *bank, is levels) {
						b.signals[at] = b.signals[at].where(b.signals[at].unsure(), is)
					})
				}
			}
		}
	}
	if leaky {
		for _, i := range n.leakable(nodes, faults) {
			list = append(list, func(b *bank, is levels) { b.weak[i] = is })
		}
	}
	return list
}

// leakable lists the valves to which a low signal may come.
func (n *Network) leakable(nodes []Node, faults []Fault) []int {
	var low []int
	b := n.newBank()
	for i := range nodes {
		b.reset()
		b.put(every, &nodes[i], faults)
		b.forget()
		b.flow()
		for k, v := range n.valves {
			if v.up != nil && b.run(v.up).low != 0 || v.down != nil && b.run(v.down).low != 0 {
				low = kinematics.Union(low, k)
			}
		}
	}
	slices.Sort(low)
	return low
}

// A search finds exactly where the valves go: any of those that are unstable may
// move, alone or together, which is the general multiple winner model of
// [Brzozowski and Seger 1995]. Where the moves end, in a position or in a cycle that
// has no way out, is an attractor.
type search struct {
	n       *Network
	bank    *bank
	nodes   []Node
	faults  []Fault
	choices []choice
	chosen  uint32
	blocks  []map[uint32]*[64]uint32 // by node: where 64 positions go, by their high bits
	settled []map[uint32][]attractor // by node
}

// An attractor is a set of positions of the valves, a bit each, in ascending order:
// one where they stay, more where they hunt.
type attractor []uint32

func (n *Network) newSearch(nodes []Node, faults []Fault) *search {
	s := &search{n: n, bank: n.newBank(), nodes: nodes, faults: faults, choices: n.choices(nodes, faults)}
	s.blocks = make([]map[uint32]*[64]uint32, len(nodes))
	s.settled = make([]map[uint32][]attractor, len(nodes))
	return s
}

// choose fixes the choices and forgets what was found under others.
func (s *search) choose(chosen uint32) {
	s.chosen = chosen
	for i := range s.nodes {
		s.blocks[i], s.settled[i] = map[uint32]*[64]uint32{}, map[uint32][]attractor{}
	}
}

// prepare sets all lanes of the bank to a node.
func (s *search) prepare(k int) {
	s.bank.reset()
	s.bank.put(every, &s.nodes[k], s.faults)
	s.fix()
}

// fix makes the choices in the bank.
func (s *search) fix() {
	for i, set := range s.choices {
		set(s.bank, ofBit(s.chosen>>i&1 != 0))
	}
}

// lanePattern has, in lane i, bit v of i.
var lanePattern = [6]uint64{0xAAAAAAAAAAAAAAAA, 0xCCCCCCCCCCCCCCCC, 0xF0F0F0F0F0F0F0F0, 0xFF00FF00FF00FF00,
	0xFFFF0000FFFF0000, 0xFFFFFFFF00000000}

// to returns where the valves would go from a position if all moved at once.
func (s *search) to(k int, from uint32) uint32 {
	block := s.blocks[k][from>>6]
	if block == nil {
		block = s.block(k, from>>6)
		s.blocks[k][from>>6] = block
	}
	return block[from&63]
}

func (s *search) block(k int, high uint32) *[64]uint32 {
	s.prepare(k)
	for v := range s.n.valves {
		up := every * uint64(high<<6>>v&1)
		if v < len(lanePattern) {
			up = lanePattern[v]
		}
		s.bank.signals[s.n.valveAt(v)] = levels{none: ^up, full: up}
	}
	s.bank.flow()
	block := new([64]uint32)
	for v := range s.n.valves {
		for up := s.bank.next(v).full; up != 0; up &= up - 1 {
			block[bits.TrailingZeros64(up)] |= 1 << v
		}
	}
	return block
}

// settle returns where the valves can end that begin in a position.
func (s *search) settle(k int, from uint32) []attractor {
	start := from
	for range 2 * len(s.n.valves) { // one unstable valve at a time leaves no choice
		moving := s.to(k, from) ^ from
		if moving == 0 {
			return []attractor{{from}}
		}
		if moving&(moving-1) != 0 {
			break
		}
		from ^= moving
	}
	if list, done := s.settled[k][start]; done {
		return list
	}
	list := attractors(start, func(from uint32) uint32 { return s.to(k, from) })
	s.settled[k][start] = list
	return list
}

// attractors are the components without a way out of the graph in which any subset
// of the unstable valves moves, as far as it can be reached from start [Tarjan 1972].
func attractors(start uint32, to func(uint32) uint32) []attractor {
	t := &tarjan{to: to, index: map[uint32]int{}, low: map[uint32]int{}, open: map[uint32]bool{}}
	t.visit(start)
	slices.SortFunc(t.found, func(a, b attractor) int { return slices.Compare(a, b) })
	return t.found
}

type tarjan struct {
	to         func(uint32) uint32
	index, low map[uint32]int
	open       map[uint32]bool
	stack      []uint32
	found      []attractor
}

// visit says whether a way leads from a position to another component.
func (t *tarjan) visit(at uint32) (leaves bool) {
	t.index[at] = len(t.index)
	t.low[at] = t.index[at]
	t.stack, t.open[at] = append(t.stack, at), true
	moving := t.to(at) ^ at
	for sub := moving; sub != 0; sub = (sub - 1) & moving {
		next := at ^ sub
		_, seen := t.index[next]
		switch {
		case !seen:
			leaves = t.visit(next) || leaves
			t.low[at] = min(t.low[at], t.low[next])
		case t.open[next]:
			t.low[at] = min(t.low[at], t.index[next])
		}
		leaves = leaves || !t.open[next]
	}
	if t.low[at] != t.index[at] {
		return leaves
	}
	first := slices.Index(t.stack, at)
	part := slices.Clone(t.stack[first:])
	t.stack = t.stack[:first]
	for _, x := range part {
		t.open[x] = false
	}
	if !leaves {
		slices.Sort(part)
		t.found = append(t.found, part)
	}
	return true // whoever called has a way into this component
}

// history finds, by node, every attractor that some sequence of commands leads to,
// from a restart on: all valves at their springs, the lever in park or neutral.
func (s *search) history() [][]attractor {
	found := make([][]attractor, len(s.nodes))
	seen := map[uint32]bool{}
	var todo []uint32
	visit := func(k int, from uint32) {
		for _, a := range s.settle(k, from) {
			found[k] = with(found[k], a)
			for _, x := range a {
				if !seen[x] {
					seen[x] = true
					todo = append(todo, x)
				}
			}
		}
	}
	for k, x := range s.starts {
		visit(k, x)
	}
	for len(todo) > 0 {
		x := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for k := range s.nodes {
			visit(k, x)
		}
	}
	return found
}

// with adds an attractor that is not yet among the others.
func with(list []attractor, a attractor) []attractor {
	if slices.ContainsFunc(list, func(b attractor) bool { return slices.Equal(a, b) }) {
		return list
	}
	return append(list, a)
}

// afterRestart finds, by node, where the valves are if from a restart the ranges of
// the position were gone through in their order up to this one.
func (s *search) afterRestart() [][]attractor {
	found := make([][]attractor, len(s.nodes))
	first := map[uint32]bool{}
	for k, x := range s.starts {
		for _, a := range s.settle(k, x) {
			for _, y := range a {
				first[y] = true
			}
		}
	}
	position, rng := -2, -1
	from, here := first, map[uint32]bool{}
	for k := range s.nodes {
		switch node := &s.nodes[k]; {
		case node.Position != position:
			from, here = first, map[uint32]bool{}
		case node.Range != rng:
			from, here = here, map[uint32]bool{}
		}
		position, rng = s.nodes[k].Position, s.nodes[k].Range
		for _, x := range slices.Sorted(maps.Keys(from)) {
			for _, a := range s.settle(k, x) {
				found[k] = with(found[k], a)
				for _, y := range a {
					here[y] = true
				}
			}
		}
	}
	return found
}

// restart returns the positions of the valves without pressure: at their springs, a
// valve without spring in either.
func restart(faults []Fault) []uint32 {
	list := []uint32{0}
	for _, f := range faults {
		for i := range list {
			switch f.Kind {
			case StuckUp:
				list[i] |= 1 << f.at
			case Spring:
				list = append(list, list[i]|1<<f.at)
			}
		}
	}
	return list
}

// starts yields the nodes in which the engine can be started, those of the positions P
// and N [SAE J915], or the first of every position where there is neither, each with
// every position of the valves after a restart.
func (s *search) starts(yield func(int, uint32) bool) {
	var named, first []int
	last := -2
	for k, x := range s.nodes {
		if p := s.n.PositionName(x.Position); p == "P" || p == "N" {
			named = append(named, k)
		}
		if x.Position != last {
			first = append(first, k)
			last = x.Position
		}
	}
	if len(named) > 0 {
		first = named
	}
	for _, k := range first {
		for _, x := range restart(s.faults) {
			if !yield(k, x) {
				return
			}
		}
	}
}
