package plots

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Levers is the lever diagram of a train in one or more ranges.
type Levers struct {
	Answer *analysis.Levers
	States []LeverState

	grid tiles
}

// A LeverState is the train in one range.
type LeverState struct {
	Label   string // "D2: ties up"
	Motion  *analysis.Motion
	Levers  []Lever
	Links   []Link
	Lines   []LeverLine
	Remarks []string

	span *scale // of all sheets; nil for that of the lines
	hues map[kinematics.MemberID]int
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
	Place
	Label string
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
	analysis.LeverLine
	Speeds [][]analysis.Speed // by lever and node
}

// LeverDiagram draws ranges as levers.
func LeverDiagram(x *analysis.Levers) *Levers {
	d := &Levers{Answer: x}
	for i, r := range x.Ranges {
		d.States = append(d.States, leverState(r.Why, &x.States[i]))
	}
	return d
}

func leverState(why *reading.Why, x *analysis.LeverState) LeverState {
	b := why.Train.Bodies(why.Faults)
	s := LeverState{Label: why.Range.Name + ": " + why.Cell.Alone(), Motion: why.Motion, Remarks: x.Remarks}
	s.hues = hues(b, why.Motion.State.Input, why.Motion.State.Output)
	s.Levers = kinematics.Map(groupsOf(b, false), func(g Group) Lever { return newLever(b, g, x) })
	s.attach(b)
	s.Lines = kinematics.Map(x.Lines, func(l analysis.LeverLine) LeverLine { return LeverLine{l, s.speeds(b, l.Motion)} })
	return s
}

// speeds are those of the nodes in a motion, by lever and node.
func (s *LeverState) speeds(b *kinematics.Bodies, m *analysis.Motion) [][]analysis.Speed {
	return kinematics.Map(s.Levers, func(l Lever) []analysis.Speed {
		return kinematics.Map(l.Nodes, func(n Node) analysis.Speed { return speedAt(b, m, n.Body) })
	})
}

func newLever(b *kinematics.Bodies, g Group, x *analysis.LeverState) Lever {
	t := b.Train
	l := Lever{Title: g.title(t)}
	for _, p := range g.Places {
		l.Nodes = append(l.Nodes, Node{Place: p, Label: b.Name(p.Body), Torque: x.Torque(b, g.Gearsets, p.Body)})
	}
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
	}
	return l
}

// partOf names the part of a gearset that belongs to a body, "" for none.
func partOf(b *kinematics.Bodies, set *kinematics.Gearset, body kinematics.MemberID) string {
	var parts []string
	for _, g := range set.Gears {
		if b.Of[g.Member] == body {
			parts = append(parts, teeth(g.Part, g.Teeth, set.RatioOnly))
		}
	}
	if b.Of[set.Carrier] == body {
		word := "carrier"
		if !set.Planetary() && set.Carrier == kinematics.Housing {
			word = "axles"
		}
		parts = append(parts, word)
	}
	for _, p := range set.Pinions {
		if b.Of[p.Member] == body {
			parts = append(parts, teeth(p.Part, p.Teeth, set.RatioOnly))
		}
	}
	return strings.Join(parts, ", ")
}

// attach finds what holds, drives and links the nodes: the couplings that hold,
// and chains of them over bodies that are on no lever.
func (s *LeverState) attach(b *kinematics.Bodies) {
	t, m := b.Train, s.Motion
	on := map[kinematics.MemberID][]NodeRef{}
	for l := range s.Levers {
		for n, node := range s.Levers[l].Nodes {
			on[node.Body] = append(on[node.Body], NodeRef{l, n})
		}
	}
	holds := map[kinematics.MemberID][]int{} // elements that hold, by body
	for i, c := range t.Couplings[:t.ElementCount] {
		if m.States[i].Holds() {
			holds[b.Of[c.A]] = append(holds[b.Of[c.A]], i)
			holds[b.Of[c.B]] = append(holds[b.Of[c.B]], i)
		}
	}
	ground := b.Of[kinematics.Housing]
	ends := map[kinematics.MemberID]PortKind{
		b.Of[m.State.Input]: InputPort, b.Of[m.State.Output]: OutputPort, ground: GroundPort,
	}
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
					next := b.Of[c.A] + b.Of[c.B] - body
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
	back := slices.Clone(via)
	slices.Reverse(back)
	known := func(l Link) bool { return slices.Equal(l.Via, via) || slices.Equal(l.Via, back) }
	if !slices.ContainsFunc(s.Links, known) {
		s.Links = append(s.Links, Link{from, to, via})
	}
}

func (s *LeverState) node(r NodeRef) *Node { return &s.Levers[r.Lever].Nodes[r.Node] }

func (d *Levers) heading() heading {
	x := d.Answer
	h := headed("Lever diagram", x.Train, x.Question, x.Cautions, x.Outcomes...)
	h.notes = []string{
		reading.SignNote + ", drawn to the right. Speeds are turns per turn of the input, " +
			"torques on the lever are per unit of input torque.",
		"Each bar is a gearset, its nodes as far apart as its teeth say; bars that share two bodies lie on one lever. " +
			"Hatching is the housing.",
	}
	for _, s := range d.States {
		for _, l := range s.Levers {
			if slices.ContainsFunc(l.Nodes, func(n Node) bool { return n.Moved }) {
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
	return fmt.Sprintf("%s %d", part, z)
}
