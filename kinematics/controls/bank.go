package controls

import "math/bits"

// A bank is 64 cases of one network that are evaluated at once, a lane each: a
// command, faults, and the positions of the valves.
type bank struct {
	n       *Network
	signals []levels // solenoids, levers, unknowns and valves go in; circuits and balls come out

	lineNone         uint64
	up, down, spring []uint64 // valves that are stuck, or whose spring is broken
	blocked, leaks   []uint64 // circuits
	into             []uint64 // pairs of circuits: the first leaks into the second
	missing          []uint64 // balls
	weak, both       []levels // valves: what a low signal does; what two signals without spring do
	joins            bool     // whether circuits are joined in any lane
	stack            []levels
}

func (n *Network) newBank() *bank {
	v, c := len(n.valves), len(n.circuits)
	b := &bank{n: n, signals: make([]levels, n.size()),
		up: make([]uint64, v), down: make([]uint64, v), spring: make([]uint64, v),
		blocked: make([]uint64, c), leaks: make([]uint64, c),
		into: make([]uint64, len(n.pairs)), missing: make([]uint64, len(n.balls)),
		weak: make([]levels, v), both: make([]levels, v), stack: make([]levels, n.longest+1)}
	b.reset()
	return b
}

// reset takes all faults away and switches everything off.
func (b *bank) reset() {
	for i := range b.signals {
		b.signals[i] = nothing
	}
	b.signals[0] = full
	for i := range b.n.unknowns {
		b.signals[b.n.unknownAt(i)] = unknown
	}
	for _, list := range [][]uint64{b.up, b.down, b.spring, b.blocked, b.leaks, b.into, b.missing} {
		clear(list)
	}
	for i := range b.weak {
		b.weak[i], b.both[i] = unknown, unknown
	}
	b.lineNone, b.joins = 0, false
}

// settle is a bank of one command under faults, in every lane, with its valves settled.
func (n *Network) settle(node Node, faults []Fault) *bank {
	b := n.newBank()
	b.put(every, &node, faults)
	b.settle()
	return b
}

// stand is a bank of one command under faults with the valves as they stand in an outcome.
func (n *Network) stand(node Node, o Outcome, faults []Fault) *bank {
	b := n.newBank()
	b.put(every, &node, faults)
	for i, l := range o.Valves {
		b.signals[n.valveAt(i)] = levels{none: every * uint64(l&None), full: every * uint64(l&Full>>2)}
	}
	b.flow()
	return b
}

// known are the signals of the first lane but for the unknowns.
func (b *bank) known() []Level {
	list := make([]Level, b.n.unknownAt(0))
	for i := range list {
		list[i] = b.signals[i].in(0)
	}
	return list
}

// lever puts the lever of some lanes, which were reset, in one or two positions:
// between two it is not known which of the ways of only one of them are open.
func (b *bank) lever(lanes, positions uint64) {
	for i, set := range b.n.levers {
		s := &b.signals[b.n.leverAt(i)]
		if positions&set == 0 {
			continue
		}
		s.full |= lanes
		if positions&^set == 0 {
			s.none &^= lanes
		}
	}
}

// solenoids switches those of the set on in some lanes, which were reset.
func (b *bank) solenoids(lanes, on uint64) {
	for ; on != 0; on &= on - 1 {
		s := &b.signals[1+bits.TrailingZeros64(on)]
		s.full |= lanes
		s.none &^= lanes
	}
}

// forget makes the positions of all valves unknown.
func (b *bank) forget() {
	for i := range b.n.valves {
		b.signals[b.n.valveAt(i)] = unknown
	}
}

func (b *bank) run(p program) levels {
	if len(p) == 1 {
		return b.signals[p[0].at]
	}
	top := 0
	for _, x := range p {
		switch x.op {
		case opName:
			b.stack[top] = b.signals[x.at]
			top++
		case opNot:
			b.stack[top-1] = b.stack[top-1].not()
		default:
			first := top - int(x.at)
			a := b.stack[first]
			for _, s := range b.stack[first+1 : top] {
				if x.op == opAnd {
					a = a.and(s)
				} else {
					a = a.or(s)
				}
			}
			b.stack[first], top = a, first+1
		}
	}
	return b.stack[0]
}

// flow gives circuits and balls the pressure that the valves send them.
func (b *bank) flow() {
	b.signals[0] = full.where(b.lineNone, nothing)
	if !b.joins {
		b.pass()
		return
	}
	// Joined circuits feed each other: from none upward until nothing rises.
	for i := range b.n.circuits {
		b.signals[b.n.circuitAt(i)] = nothing
	}
	for range len(b.n.circuits) + 2 {
		if !b.pass() {
			return
		}
	}
}

// pass evaluates every circuit and ball once; it says whether a join changed one
// that was evaluated before.
func (b *bank) pass() (again bool) {
	n := b.n
	for _, at := range n.order {
		if at < 0 {
			s := nothing
			for _, i := range n.balls[-1-at].from {
				s = s.or(b.signals[n.circuitAt(i)])
			}
			b.signals[n.ballAt(-1-at)] = s
			continue
		}
		s := b.run(n.circuits[at].from).and(b.signals[0])
		if b.joins {
			s = b.joined(at, s)
		}
		s = s.where(b.blocked[at], nothing)
		if m := b.leaks[at]; m != 0 {
			s = s.where(m, s.leaking())
		}
		if s != b.signals[n.circuitAt(at)] {
			b.signals[n.circuitAt(at)], again = s, true
		}
	}
	return again && b.joins
}

// joined adds what leaks into a circuit, and what a missing ball lets in.
func (b *bank) joined(at int, s levels) levels {
	n := b.n
	for i, p := range n.pairs {
		if m := b.into[i]; m != 0 && p[1] == at {
			s = s.where(m, s.or(b.signals[n.circuitAt(p[0])].leaking()))
		}
	}
	for i, x := range n.balls {
		if b.missing[i] == 0 {
			continue
		}
		for _, k := range x.from {
			if k == at {
				for _, other := range x.from {
					s = s.where(b.missing[i], s.or(b.signals[n.circuitAt(other)]))
				}
			}
		}
	}
	return s
}

// next is where valve i goes, given the circuits: up where its upper signal lifts
// it and the lower one does not hold it down.
func (b *bank) next(i int) levels {
	v := &b.n.valves[i]
	up, down := nothing, nothing
	if v.up != nil {
		up = b.run(v.up).and(b.signals[0]).signal(b.weak[i])
	}
	if v.down != nil {
		down = b.run(v.down).and(b.signals[0]).signal(b.weak[i])
	}
	to := up.and(down.not())
	if m := b.spring[i]; m != 0 {
		to = to.where(m, b.springless(i, up, down))
	}
	return to.where(b.up[i], full).where(b.down[i], nothing)
}

// springless is where a valve without spring goes: as its one signal says; with
// none it stays, with both nobody knows.
func (b *bank) springless(i int, up, down levels) levels {
	was := b.signals[b.n.valveAt(i)]
	neither, either := up.none&down.none, up.full&down.full
	return levels{
		none: up.none&down.full | neither&was.none | either&b.both[i].none,
		full: up.full&down.none | neither&was.full | either&b.both[i].full,
	}
}

// step moves all valves at once, or where they also may stay lets them do either; it
// says whether any of them changed.
func (b *bank) step(stay bool) (moved bool) {
	var to [maxValves]levels
	for i := range b.n.valves {
		to[i] = b.next(i)
		if stay {
			was := b.signals[b.n.valveAt(i)]
			to[i].none, to[i].full = to[i].none|was.none, to[i].full|was.full
		}
	}
	for i := range b.n.valves {
		if s := &b.signals[b.n.valveAt(i)]; *s != to[i] {
			*s, moved = to[i], true
		}
	}
	return moved
}

// settle finds, from positions of which nothing is known, what holds whatever
// happened before: algorithm B of [Eichelberger 1965]. Every state that the valves
// can stay in lies within it.
func (b *bank) settle() {
	b.forget()
	b.moves(false)
}

// settleFrom finds what holds if the valves begin where they are: first all that they
// can do on the way, then what is left of it, algorithms A and B of [Eichelberger 1965].
func (b *bank) settleFrom() {
	b.moves(true)
	b.moves(false)
}

func (b *bank) moves(stay bool) {
	for {
		b.flow()
		if !b.step(stay) {
			return
		}
	}
}

// feed is the pressure at element i: that of its apply areas, less what releases it.
func (b *bank) feed(i int) levels {
	f := &b.n.feeds[i]
	s := nothing
	for k := range f.areas {
		s = s.or(b.run(f.areas[k].from))
	}
	if f.release != nil {
		s = s.and(b.run(f.release).not())
	}
	return s.and(b.signals[0])
}

// A word is what the feeds of one lane get, a bit each.
type word struct {
	full, low, unsure uint64
	// areas are the apply areas with full pressure of elements that have several, a bit
	// each; none of an element whose areas are not all known.
	areas uint64
}

// words reads the feeds of the first lanes.
func (b *bank) words(out []word) {
	clear(out)
	for i := range b.n.feeds {
		s, bit := b.feed(i), uint64(1)<<i
		unsure := s.unsure()
		for lane := range out {
			switch m := uint64(1) << lane; {
			case unsure&m != 0:
				out[lane].unsure |= bit
			case s.full&m != 0:
				out[lane].full |= bit
			case s.low&m != 0:
				out[lane].low |= bit
			}
		}
	}
	b.areas(out)
}

// areas reads the apply areas of elements that have several, in the first lanes.
func (b *bank) areas(out []word) {
	at := 0
	for i := range b.n.feeds {
		f := &b.n.feeds[i]
		if len(f.areas) < 2 {
			continue
		}
		var full [maxAreas]uint64
		known := every
		for k := range f.areas {
			s := b.run(f.areas[k].from)
			full[k] = s.full
			known &^= s.unsure()
		}
		for k := range f.areas {
			for lane := range out {
				if full[k]&known>>lane&1 != 0 && at+k < 64 {
					out[lane].areas |= 1 << (at + k)
				}
			}
		}
		at += len(f.areas)
	}
}

// maxAreas is the most apply areas of an element.
const maxAreas = 8
