package plots

import (
	"context"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Levers is the lever diagram of a train in one or more ranges.
type Levers struct {
	Train  *kinematics.Train
	Ranges []kinematics.Range
	Faults []kinematics.Fault
	States []LeverState
}

// A LeverState is the train in one range.
type LeverState struct {
	Label   string // "D2: ties up"
	Motion  *solve.Motion
	Levers  []Lever
	Links   []Link
	Lines   []LeverLine
	Remarks []string
}

// A Lever is a group of gearsets.
type Lever struct {
	Title string
	Bars  []Bar
	Nodes []Node // ascending in place
}

// A Bar is one gearset of a lever.
type Bar struct {
	Name  string
	Nodes []int    // indices into Lever.Nodes, ascending
	Parts []string // parallel: "sun 30"
}

// A Node is a body on a lever.
type Node struct {
	Label string
	Body  kinematics.MemberID
	At    exact.Frac // place on the lever, 0 to 1
	Spot  Spot
	Speed SpeedAt
	// Torque is what acts on the lever here from outside, per unit of input
	// torque; nil if it is not known. It has bounds where couplings share the
	// load.
	Torque *exact.Interval
	Ports  []Port
}

// A PortKind is what a lever is attached to from outside.
type PortKind int

// The ports.
const (
	InputPort PortKind = iota
	OutputPort
	GroundPort
)

// A Port attaches a node to the input, the output or the housing, over the
// elements that lie between, none if it is that member itself.
type Port struct {
	Kind PortKind
	Via  []int // of Train.Couplings
}

// A Link ties two nodes: of one lever over an element, or of two levers because
// they are one body or over elements.
type Link struct {
	From, To NodeRef
	Via      []int // empty for one body
}

// A NodeRef is a node of a state.
type NodeRef struct{ Lever, Node int }

// A LeverLine is a motion drawn over the levers: the motion of the state, or for
// a tie-up what it would be without one element of a conflict.
type LeverLine struct {
	Label  string // "without direct: drives forward at 1.45"
	Motion *solve.Motion
	Speeds [][]SpeedAt // by lever and node
}

// LeverDiagram computes the lever diagram of ranges under faults.
func LeverDiagram(sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault) *Levers {
	d := &Levers{Train: sys.Train, Ranges: ranges, Faults: faults}
	reader := reading.NewReader(sys)
	for i := range ranges {
		d.States = append(d.States, leverState(sys, reader, &ranges[i], faults))
	}
	return d
}

func leverState(sys *solve.System, reader *reading.Reader, r *kinematics.Range, faults []kinematics.Fault) LeverState {
	t := sys.Train
	here := kinematics.Acting(faults, r)
	b := newBodies(t, here)
	why := reading.Explain(context.Background(), reader, r, here...)
	s := LeverState{Label: r.Name + ": " + said(why.Cell), Motion: why.Motion}
	for _, g := range groupsOf(b, false) {
		s.Levers = append(s.Levers, newLever(b, g, why.Motion))
	}
	s.attach(b)
	s.lines(sys, b, why)
	s.torques(sys, b)
	return s
}

func newLever(b *bodies, g Group, m *solve.Motion) Lever {
	t := b.train
	var l Lever
	spots := spots(g.Places)
	for i, p := range g.Places {
		l.Nodes = append(l.Nodes, Node{Label: b.name(p.Body), Body: p.Body, At: p.At, Spot: spots[i], Speed: speedAt(b, m, p.Body)})
	}
	var titles []string
	for _, i := range g.Gearsets {
		set := &t.Gearsets[i]
		bar := Bar{Name: set.Name}
		for n, node := range l.Nodes {
			if part := partOf(b, set, node.Body); part != "" {
				bar.Nodes = append(bar.Nodes, n)
				bar.Parts = append(bar.Parts, part)
			}
		}
		l.Bars = append(l.Bars, bar)
		titles = append(titles, set.Name)
	}
	l.Title = strings.Join(titles, " + ")
	return l
}

// partOf names the part of a gearset that belongs to a body, "" for none.
func partOf(b *bodies, set *kinematics.Gearset, body kinematics.MemberID) string {
	var parts []string
	for _, g := range set.Gears {
		if b.of[g.Member] == body {
			parts = append(parts, teeth(g.Part, g.Teeth, set.RatioOnly))
		}
	}
	if b.of[set.Carrier] == body {
		word := "carrier"
		if !set.Planetary() && set.Carrier == kinematics.Housing {
			word = "axles"
		}
		parts = append(parts, word)
	}
	for _, p := range set.Pinions {
		if b.of[p.Member] == body {
			parts = append(parts, teeth(p.Part, p.Teeth, set.RatioOnly))
		}
	}
	return strings.Join(parts, ", ")
}

// attach finds what holds, drives and links the nodes: the couplings that hold,
// and chains of them over bodies that are on no lever.
func (s *LeverState) attach(b *bodies) {
	t, m := b.train, s.Motion
	on := map[kinematics.MemberID][]NodeRef{}
	for l := range s.Levers {
		for n, node := range s.Levers[l].Nodes {
			on[node.Body] = append(on[node.Body], NodeRef{l, n})
		}
	}
	holds := map[kinematics.MemberID][]int{} // elements that hold, by body
	for i, c := range t.Couplings[:t.ElementCount] {
		if m.States[i] == solve.StateLocked || m.States[i] == solve.StateHolding {
			holds[b.of[c.A]] = append(holds[b.of[c.A]], i)
			holds[b.of[c.B]] = append(holds[b.of[c.B]], i)
		}
	}
	ground := b.of[kinematics.Housing]
	ends := map[kinematics.MemberID]PortKind{b.of[m.State.Input]: InputPort, b.of[m.State.Output]: OutputPort, ground: GroundPort}
	for l := range s.Levers {
		for n := range s.Levers[l].Nodes {
			node := &s.Levers[l].Nodes[n]
			ref := NodeRef{l, n}
			seen := map[kinematics.MemberID]bool{node.Body: true}
			var visit func(body kinematics.MemberID, via []int)
			visit = func(body kinematics.MemberID, via []int) {
				kind, port := ends[body]
				switch alone := len(on[body]) == 0 || body == ground; {
				case port && (len(via) == 0 || alone):
					node.Ports = append(node.Ports, Port{kind, via})
					if alone {
						return
					}
				case len(via) > 0 && !alone:
					s.link(ref, on[body], via)
					return
				}
				for _, i := range holds[body] {
					c := t.Couplings[i]
					next := b.of[c.A] + b.of[c.B] - body
					if !seen[next] && !slices.Contains(via, i) {
						seen[next] = next != ground
						visit(next, append(slices.Clone(via), i))
					}
				}
			}
			visit(node.Body, nil)
		}
	}
	for i := range t.Members {
		refs := on[kinematics.MemberID(i)]
		for k := 1; k < len(refs) && kinematics.MemberID(i) != ground; k++ {
			s.Links = append(s.Links, Link{From: refs[k-1], To: refs[k]})
		}
	}
}

// link notes a link to the body that stands at refs: on the lever of from if it
// is there, else on the nearest one.
func (s *LeverState) link(from NodeRef, refs []NodeRef, via []int) {
	to := refs[0]
	for _, r := range refs {
		if r.Lever == from.Lever {
			to = r
		}
	}
	if to.Lever != from.Lever {
		for _, o := range s.Levers[to.Lever].Nodes {
			if o.Body == s.node(from).Body {
				return // the two bodies stand on one lever, where they are linked
			}
		}
	}
	known := func(l Link) bool { return slices.Equal(l.Via, via) || slices.Equal(l.Via, reversed(via)) }
	if !slices.ContainsFunc(s.Links, known) {
		s.Links = append(s.Links, Link{from, to, via})
	}
}

func reversed(list []int) []int {
	list = slices.Clone(list)
	slices.Reverse(list)
	return list
}

func (s *LeverState) node(r NodeRef) *Node { return &s.Levers[r.Lever].Nodes[r.Node] }

// lines adds the motion of the state or, where the input cannot turn, a motion
// for each way out of the first conflict.
func (s *LeverState) lines(sys *solve.System, b *bodies, why *reading.Why) {
	add := func(label string, m *solve.Motion) {
		line := LeverLine{Label: label, Motion: m}
		for _, l := range s.Levers {
			var speeds []SpeedAt
			for _, n := range l.Nodes {
				speeds = append(speeds, speedAt(b, m, n.Body))
			}
			line.Speeds = append(line.Speeds, speeds)
		}
		s.Lines = append(s.Lines, line)
	}
	pulling := func(c reading.Conflict) bool { return c.Demand == solve.InputForward && len(c.Elements) > 0 }
	at := slices.IndexFunc(why.Conflicts, pulling)
	if at < 0 {
		add("speeds", s.Motion)
		return
	}
	conflict := why.Conflicts[at]
	for _, l := range conflict.Lettings {
		st := s.Motion.State.Clone()
		st.Modes[l.Element] = kinematics.Open
		m := sys.Motion(st)
		if len(l.Remain) > 0 { // another conflict still locks the whole: show this one alone
			for i := range sys.Train.ElementCount {
				if i == l.Element || !slices.Contains(conflict.Elements, i) {
					st.Modes[i] = kinematics.Open
				}
			}
			m = sys.Motion(st)
		}
		add("without "+sys.Train.Couplings[l.Element].Name+": "+reading.Of(sys.Train, m.Outcome).Pull, m)
	}
	if n := countFunc(why.Conflicts, pulling); n > 1 {
		s.Remarks = append(s.Remarks, "This is one of several sets of elements that contradict each other here.")
	}
}

func countFunc[T any](list []T, f func(T) bool) int {
	n := 0
	for _, x := range list {
		if f(x) {
			n++
		}
	}
	return n
}

// torques sums what acts on the nodes of each lever, over every way in which the
// couplings can carry the load.
func (s *LeverState) torques(sys *solve.System, b *bodies) {
	if !s.Motion.Drives() {
		return
	}
	t := sys.Train
	ways, all := sys.Carrying(context.Background(), s.Motion, solve.Usual)
	for _, way := range ways {
		loads, ok := sys.MeshTorques(&way, s.Motion.State)
		if !ok {
			s.Remarks = append(s.Remarks, "Torques are not shown: gears share the load in a way that teeth alone do not settle.")
			return
		}
		sum := make([]map[kinematics.MemberID]exact.Frac, len(t.Gearsets))
		for g := range t.Gearsets {
			sum[g] = map[kinematics.MemberID]exact.Frac{}
			torques, members := reading.GearsetTorques(t, g, loads)
			for k, id := range members {
				body := b.of[id]
				if _, seen := sum[g][body]; !seen {
					sum[g][body] = exact.NewFrac(0, 1)
				}
				sum[g][body] = sum[g][body].Sub(torques[k])
			}
		}
		for l := range s.Levers {
			for n := range s.Levers[l].Nodes {
				node := &s.Levers[l].Nodes[n]
				node.carry(s.onNode(t, sum, l, node.Body))
			}
		}
	}
	switch {
	case !all:
		s.Remarks = append(s.Remarks, "Couplings share the load in more ways than were looked at: torques can lie beyond the bounds given.")
	case len(ways) > 1:
		s.Remarks = append(s.Remarks, "Couplings share the load: torques lie between the bounds given.")
	}
}

// onNode sums what the gearsets of lever l feel at a body.
func (s *LeverState) onNode(t *kinematics.Train, sum []map[kinematics.MemberID]exact.Frac, l int, body kinematics.MemberID) exact.Frac {
	total := exact.NewFrac(0, 1)
	for g := range t.Gearsets {
		on := func(bar Bar) bool { return bar.Name == t.Gearsets[g].Name }
		if torque, ok := sum[g][body]; ok && slices.ContainsFunc(s.Levers[l].Bars, on) {
			total = total.Add(torque)
		}
	}
	return total
}

// carry widens the bounds of the torque on a node.
func (n *Node) carry(torque exact.Frac) {
	bound := exact.Bound{Frac: torque}
	if n.Torque == nil {
		n.Torque = &exact.Interval{Min: bound, Max: bound}
		return
	}
	if bound.Cmp(n.Torque.Min) < 0 {
		n.Torque.Min = bound
	}
	if bound.Cmp(n.Torque.Max) > 0 {
		n.Torque.Max = bound
	}
}

func (d *Levers) heading() heading {
	h := heading{train: d.Train, title: titleOf(d.Train), subtitle: subtitle("Lever diagram", d.Train, d.Ranges, d.Faults)}
	h.notes = []string{
		SignNote + ", drawn to the right. Speeds are turns per turn of the input, torques on the lever are per unit of input torque.",
		"Each bar is a gearset, its nodes as far apart as its teeth say; bars that share two bodies lie on one lever. Hatching is the housing.",
	}
	for _, s := range d.States {
		for _, l := range s.Levers {
			if slices.ContainsFunc(l.Nodes, func(n Node) bool { return n.Spot.Moved }) {
				h.notes[1] += " Nodes marked * lie further apart than to scale."
				return h
			}
		}
	}
	return h
}

// teeth is a part with its number of teeth, unless only the ratio is known.
func teeth(part string, z int64, ratioOnly bool) string {
	if z == 0 || ratioOnly {
		return part
	}
	return part + " " + exact.NewFrac(z, 1).String()
}
