package controls

import (
	"slices"
	"strconv"
)

// A Difference is a place where the controls do not give what the range applies.
type Difference struct {
	Node    Node
	Element int // index into Train.Couplings
	Want    bool
	Got     Level
}

// Prove compares, for every position, range and pattern and after every sequence of
// commands, what the feeds get with what the range applies. What the file leaves
// unknown is no difference. Elements that are moved by hand are exempt.
//
// It is no proof of what else the controls do: an interlock that only acts under a
// fault can be wrong. [Network.Unexercised] lists what nothing tests.
func (n *Network) Prove() []Difference {
	var list []Difference
	s := n.Survey([][]Fault{nil})
	for k, node := range n.normal {
		for _, set := range s.Sets(0, k) {
			for i := range n.feeds {
				want, got := node.apply>>i&1 != 0, set.w.level(i)
				if got != Unknown && want != (got == Full) {
					list = append(list, Difference{node, n.feeds[i].element, want, got})
				}
			}
		}
	}
	return list
}

// A Verdict is what an [Expect] comes to.
type Verdict struct {
	Expect *Expect
	// Cases are the commands that it covers, with what each comes to.
	Cases []Case
}

// A Case is one command of a Verdict.
type Case struct {
	Node Node
	Sets []Set
	// Agrees says that every outcome applies what is expected. Where Expect names a
	// range and the elements differ from it, the train may still be in that range by
	// its ratio, which is not decided here.
	Agrees bool
}

// Expect evaluates the printed failure results of the file.
func (n *Network) Expect() []Verdict {
	list := make([]Verdict, len(n.Spec.Expect))
	for i := range n.Spec.Expect {
		list[i] = n.expect(&n.Spec.Expect[i])
	}
	return list
}

func (n *Network) expect(x *Expect) Verdict {
	v := Verdict{Expect: x}
	var faults []Fault
	for _, text := range x.Faults {
		f, err := n.ParseFault(text)
		if err != nil {
			panic("controls: " + err.Error()) // Compile has read it
		}
		faults = append(faults, f)
	}
	nodes := n.normal
	if safe := n.failSafe(faults); safe != nil && !x.Before {
		nodes = safe.nodes
	}
	s := n.survey([][]Fault{faults}, nodes)
	for k, node := range nodes {
		if x.Lever != "" && n.PositionName(node.Position) != x.Lever ||
			x.Range != "" && n.Train.Ranges[node.Range].Name != x.Range {
			continue
		}
		c := Case{Node: node, Sets: s.Sets(0, k)}
		c.Agrees = !slices.ContainsFunc(c.Sets, func(set Set) bool { return !n.meets(x, set) })
		v.Cases = append(v.Cases, c)
	}
	return v
}

// meets says whether a set is what is expected, as far as it is known.
func (n *Network) meets(x *Expect, set Set) bool {
	return n.wants(x)&^(set.w.full|set.w.unsure) == 0 && (set.w.full|set.w.low)&^n.wants(x) == 0
}

// wants is the set of feeds that is expected.
func (n *Network) wants(x *Expect) uint64 {
	t := n.Train
	if x.Gives != "" {
		r, _ := t.Range(x.Gives)
		return n.mask(t.Ranges[r].Apply)
	}
	var list []int
	for _, name := range x.Applies {
		e, _ := t.Element(name)
		list = append(list, e)
	}
	return n.mask(list)
}

// failSafe is the fail-safe that a set of faults sets off, nil for none: of several
// the one that names the most parts.
func (n *Network) failSafe(faults []Fault) *safe {
	var best *safe
	for i := range n.safes {
		s := &n.safes[i]
		if s.knows(faults) && (best == nil || len(s.parts) > len(best.parts)) {
			best = s
		}
	}
	return best
}

// knows says whether the control knows of a failure of every part of the fail-safe.
func (s *safe) knows(faults []Fault) bool {
	for _, part := range s.parts {
		if !slices.ContainsFunc(faults, func(f Fault) bool {
			here := f.Part == part || f.Part == "supply" && slices.Contains(s.when, Lost)
			return here && (f.Kind.Electrical() || s.monitored) && (len(s.when) == 0 || slices.Contains(s.when, f.Kind))
		}) {
			return false
		}
	}
	return len(s.parts) > 0
}

// A Gate is a leaf of an expression that can be wrong unnoticed.
type Gate struct {
	Path      []string
	At, Width int
	Text      string
	// Stuck is what it can be taken for without any difference: None or Full.
	Stuck Level
}

// Unexercised lists the leaves of the expressions of circuits, valves and feeds that
// neither the proof nor any Expect tests: with the leaf held at none, or at full, all
// of them come out as before. It is the stuck-at model of digital testing.
func (n *Network) Unexercised() []Gate {
	var list []Gate
	n.eachText(func(s *Spec, text *string, where ...string) {
		original := *text
		root, err := parse(original)
		if err != nil {
			return
		}
		root.leaves(func(l *node) {
			if l.op == opUnknown {
				return
			}
			for _, held := range []Level{None, Full} {
				if l.name == "line" && held == Full {
					continue // that is what it is
				}
				*text = original[:l.at] + map[Level]string{None: "(line and not line)", Full: "line"}[held] +
					original[l.at+l.width:]
				if n.passes(s) {
					list = append(list, Gate{where, l.at, l.width, original[l.at : l.at+l.width], held})
				}
			}
		})
		*text = original
	})
	return list
}

// eachText calls do for every expression of circuits, valves and feeds of a copy of
// the spec.
func (n *Network) eachText(do func(s *Spec, text *string, where ...string)) {
	s := *n.Spec
	s.Circuits, s.Valves, s.Feeds = slices.Clone(s.Circuits), slices.Clone(s.Valves), slices.Clone(s.Feeds)
	for i := range s.Circuits {
		do(&s, &s.Circuits[i].From, "circuits", s.Circuits[i].Name)
	}
	for i := range s.Valves {
		do(&s, &s.Valves[i].Up, "valves", s.Valves[i].Name, "up")
		do(&s, &s.Valves[i].Down, "valves", s.Valves[i].Name, "down")
	}
	for i := range s.Feeds {
		f := &s.Feeds[i]
		f.Apply = slices.Clone(f.Apply)
		for k := range f.Apply {
			do(&s, &f.Apply[k].From, "feeds", f.Element, "apply", strconv.Itoa(k), "from")
		}
		do(&s, &f.Release, "feeds", f.Element, "release")
	}
}

// passes says whether a changed spec gives what the ranges apply and what is expected.
// One that is refused does not: a slip that cuts a circuit off is seen.
func (n *Network) passes(s *Spec) bool {
	c := build(n.Train, s)
	if c.refused() {
		return false
	}
	m := c.n
	m.settleHealthy()
	if len(m.Prove()) > 0 {
		return false
	}
	was := n.Expect()
	for i, v := range m.Expect() {
		for k, x := range v.Cases {
			if k >= len(was[i].Cases) || !sameSets(x.Sets, was[i].Cases[k].Sets) {
				return false
			}
		}
	}
	return true
}

func sameSets(a, b []Set) bool {
	return slices.EqualFunc(a, b, func(x, y Set) bool { return x.w == y.w })
}
