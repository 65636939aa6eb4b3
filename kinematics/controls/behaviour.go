package controls

import (
	"slices"

	"tieup/kinematics"
)

// A Survey is what the feeds get under many sets of faults, in every node.
type Survey struct {
	Network *Network
	nodes   int
	one     []word         // by set and node
	more    map[int][]word // the outcomes where there are several
}

// Sets returns the outcomes of the k-th node under the i-th set of faults.
func (s *Survey) Sets(i, k int) []Set {
	at := i*s.nodes + k
	list := s.more[at]
	if list == nil {
		list = s.one[at : at+1]
	}
	return kinematics.Map(list, func(w word) Set { return Set{s.Network, w} })
}

// Survey evaluates every node of the control, before any fail-safe, under each of
// the sets of faults.
func (n *Network) Survey(sets [][]Fault) *Survey {
	return n.survey(sets, n.normal)
}

func (n *Network) survey(sets [][]Fault, nodes []Node) *Survey {
	s := &Survey{Network: n, nodes: len(nodes), one: make([]word, len(sets)*len(nodes)), more: map[int][]word{}}
	b := n.newBank()
	open := map[int]bool{}
	for at := 0; at < len(s.one); at += 64 {
		b.reset()
		lanes := min(64, len(s.one)-at)
		for lane := range lanes {
			i, k := (at+lane)/len(nodes), (at+lane)%len(nodes)
			b.put(1<<lane, &nodes[k], sets[i])
		}
		b.settle()
		b.words(s.one[at : at+lanes])
		unsettled := b.unsettled()
		for lane := range lanes {
			w := &s.one[at+lane]
			*w = b.completed(lane, &nodes[(at+lane)%len(nodes)], *w)
			if w.unsure != 0 && unsettled>>lane&1 != 0 {
				open[(at+lane)/len(nodes)] = true
			}
		}
	}
	for i := range sets {
		if open[i] {
			s.search(i, sets[i], nodes)
		}
	}
	return s
}

// unsettled are the lanes in which a valve, or what valves depend on, is not known.
func (b *bank) unsettled() (lanes uint64) {
	for i := range b.n.valves {
		lanes |= b.signals[b.n.valveAt(i)].unsure()
	}
	for i := range b.n.levers {
		lanes |= b.signals[b.n.leverAt(i)].unsure()
	}
	return lanes
}

// search finds the outcomes of one set that three values leave open when nothing is
// known of what was before: first with what the latches can remember, then exactly.
func (s *Survey) search(i int, faults []Fault, nodes []Node) {
	x := s.Network.newSearch(nodes, faults)
	if len(x.choices) > maxChoices {
		return
	}
	list := x.remembering()
	if list == nil {
		list = make([][]word, len(nodes))
		for k, found := range x.outcomes((*search).history) {
			for _, o := range found {
				list[k] = append(list[k], o.words...)
			}
		}
	}
	for k := range nodes {
		at := i*s.nodes + k
		if s.one[at].unsure == 0 {
			continue
		}
		words := kinematics.Union(nil, list[k]...)
		if len(words) > 1 {
			s.more[at] = words
		}
		s.one[at] = words[0]
	}
}

// remembering finds, by node, what the feeds get after every history of which the
// latches alone remember anything: only their positions are carried from one command
// to the next, and all other valves begin anywhere. It is nil if three values do not
// decide that.
func (s *search) remembering() [][]word {
	m := &memory{search: s, found: make([][]word, len(s.nodes))}
	for i, v := range s.n.valves {
		if v.feedback || slices.ContainsFunc(s.faults, func(f Fault) bool { return f.Kind == Spring && f.at == i }) {
			m.latches |= 1 << i
		}
	}
	for s.chosen = range uint32(1) << len(s.choices) {
		if !m.explore() {
			return nil
		}
	}
	return m.found
}

// explore goes through all histories under one choice; it says whether all of them are
// decided.
func (m *memory) explore() bool {
	m.seen, m.todo = map[uint32]bool{}, nil
	var next []command
	for k, x := range m.starts {
		next = append(next, command{x & m.latches, k})
	}
	for len(next) > 0 {
		if !m.run(next) {
			return false
		}
		next = next[:0]
		for _, x := range m.todo {
			for k := range m.nodes {
				next = append(next, command{x, k})
			}
		}
		m.todo = nil
	}
	return true
}

// A memory is the state of [search.remembering].
type memory struct {
	*search
	latches uint32
	found   [][]word // by node
	seen    map[uint32]bool
	todo    []uint32 // positions of the latches from which nothing was tried yet
}

// A command is a node that is gone to with the latches in some positions.
type command struct {
	from uint32
	node int
}

// run settles the commands; it says whether all of them are decided.
func (m *memory) run(list []command) bool {
	var words [64]word
	for at := 0; at < len(list); at += 64 {
		part := list[at:min(at+64, len(list))]
		b := m.bank
		b.reset()
		b.forget()
		for lane, c := range part {
			b.put(1<<lane, &m.nodes[c.node], m.faults)
			b.latch(lane, m.latches, c.from)
		}
		m.fix()
		b.settleFrom()
		b.words(words[:len(part)])
		for lane, c := range part {
			to, known := b.latched(lane, m.latches)
			w := b.completed(lane, &m.nodes[c.node], words[lane])
			if !known || w.unsure != 0 && b.unsettled()>>lane&1 != 0 {
				return false
			}
			m.found[c.node] = kinematics.Union(m.found[c.node], w)
			if !m.seen[to] {
				m.seen[to] = true
				m.todo = append(m.todo, to)
			}
		}
	}
	return true
}

// latch puts some valves of a lane into known positions.
func (b *bank) latch(lane int, which, up uint32) {
	for i := range b.n.valves {
		if which>>i&1 != 0 {
			s := &b.signals[b.n.valveAt(i)]
			*s = s.where(1<<lane, ofBit(up>>i&1 != 0))
		}
	}
}

// latched reads the positions of some valves of a lane, if they are known.
func (b *bank) latched(lane int, which uint32) (up uint32, known bool) {
	known = true
	for i := range b.n.valves {
		if which>>i&1 == 0 {
			continue
		}
		switch l := b.signals[b.n.valveAt(i)].in(lane); {
		case !l.Known():
			known = false
		case l == Full:
			up |= 1 << i
		}
	}
	return up, known
}

// completed is what the feeds of a lane get where all else that can be known of it is as
// in a healthy node: then they get the same, also where the file does not tell how.
func (b *bank) completed(lane int, node *Node, w word) word {
	h := -1
	if w.unsure != 0 {
		h = b.n.healthyNode(node)
	}
	if h < 0 || b.n.healthy == nil {
		return w
	}
	for i, was := range b.n.healthy[h] {
		if s := b.signals[i].in(lane); s != was || !s.Known() {
			return w
		}
	}
	return word{full: w.full | node.apply&w.unsure, low: w.low}
}

// healthyNode is the index in normal of the node with the same lever and solenoids,
// -1 for none.
func (n *Network) healthyNode(x *Node) int {
	return slices.IndexFunc(n.normal, func(y Node) bool {
		return x.Position == y.Position && x.On == y.On && x.apply == y.apply
	})
}

// settleHealthy keeps the signals of the healthy nodes, but for the unknowns.
func (n *Network) settleHealthy() {
	for at := range n.normal {
		b := n.settle(n.normal[at], nil)
		n.healthy = append(n.healthy, b.known())
		w := []word{{}}
		b.words(w)
		n.pressed = append(n.pressed, w[0].areas)
	}
}

// A result is an attractor with the choices it belongs to, and what it feeds.
type result struct {
	at     attractor
	chosen uint32
	words  []word // parallel to at
}

// outcomes finds exactly what every node can come to: by history, or after a restart.
func (s *search) outcomes(find func(*search) [][]attractor) [][]result {
	out := make([][]result, len(s.nodes))
	for chosen := range uint32(1) << len(s.choices) {
		s.choose(chosen)
		for k, list := range find(s) {
			for _, a := range list {
				out[k] = append(out[k], result{a, chosen, s.words(k, a)})
			}
		}
	}
	return out
}

// words are what the feeds get in the positions of an attractor.
func (s *search) words(k int, a attractor) []word {
	list := make([]word, len(a))
	for at := 0; at < len(a); at += 64 {
		lanes := min(64, len(a)-at)
		s.stand(k, a[at:at+lanes])
		s.bank.words(list[at : at+lanes])
		for lane := range lanes {
			list[at+lane] = s.bank.completed(lane, &s.nodes[k], list[at+lane])
		}
	}
	return list
}

// stand sets the lanes of the bank to positions of the valves, and lets the circuits
// flow.
func (s *search) stand(k int, positions []uint32) {
	s.prepare(k)
	for v := range s.n.valves {
		var up uint64
		for lane, x := range positions {
			up |= uint64(x>>v&1) << lane
		}
		s.bank.signals[s.n.valveAt(v)] = levels{none: ^up, full: up}
	}
	s.bank.flow()
}

// A Set is what the elements of a train get from their feeds.
type Set struct {
	n *Network
	w word
}

// Elements returns the elements with full pressure, with low pressure, and those of
// which it is not known, as indices into Train.Couplings in the order of the feeds.
func (s Set) Elements() (fed, low, unsure []int) {
	for i := range s.n.feeds {
		switch e := s.n.feeds[i].element; s.w.level(i) {
		case Full:
			fed = append(fed, e)
		case Low:
			low = append(low, e)
		case Unknown:
			unsure = append(unsure, e)
		}
	}
	return fed, low, unsure
}

// Level is the pressure that an element gets, None for one without a feed.
func (s Set) Level(element int) Level {
	i := s.n.feedOf(element)
	if i < 0 {
		return None
	}
	return s.w.level(i)
}

// level is the pressure that feed i gets.
func (w word) level(i int) Level {
	switch bit := uint64(1) << i; {
	case w.full&bit != 0:
		return Full
	case w.low&bit != 0:
		return Low
	case w.unsure&bit != 0:
		return Unknown
	}
	return None
}

// Applied are the elements that a range applies with this set: those with pressure,
// low or full, and of what is moved by hand what the range itself applies.
func (s Set) Applied(r *kinematics.Range) []int {
	var list []int
	for _, e := range r.Apply {
		if s.n.feedOf(e) < 0 {
			list = append(list, e)
		}
	}
	fed, low, _ := s.Elements()
	list = slices.Concat(list, fed, low)
	slices.Sort(list)
	return list
}
