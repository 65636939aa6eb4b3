package controls

import (
	"cmp"
	"slices"
	"strings"

	"tieup/kinematics"
)

// The most of each kind that a network may have, so that a set of solenoids,
// feeds or positions is one word and the valves can be searched.
const (
	maxSolenoids = 32
	maxValves    = 24
	maxFeeds     = 64
	maxPositions = 64
	maxEither    = 8 // solenoids of one pattern that may be on or off
)

// A Network is the controls of one train, ready to be evaluated. It is not
// changed after [Compile], so it may be shared by any number of goroutines.
type Network struct {
	Spec  *Spec
	Train *kinematics.Train

	solenoids []string
	circuits  []circuit
	valves    []valve
	balls     []ball
	feeds     []feed
	order     []int // circuits, and balls as -1-index, each behind what it reads
	levers    []uint64
	unknowns  int // atoms "unknown" that valves can depend on come first
	deep      int // how many of them do
	pairs     [][2]int
	places    []place
	safes     []safe
	normal    []Node
	longest   int       // of the programs
	healthy   [][]Level // signals by node of normal, without faults
	pressed   []uint64  // the apply areas with pressure, by node
}

// A circuit, a valve and so on, with its expressions as programs over signals.
type circuit struct {
	name string
	from program
}

type valve struct {
	name     string
	up, down program
	// feedback says that the valve can depend on its own position.
	feedback bool
}

type ball struct {
	name string
	from []int
}

type feed struct {
	element       int
	areas         []area
	release       program
	fill, exhaust []route
}

type area struct {
	from  program
	share kinematics.Share
}

type route struct {
	when program
	take float64
}

// A place is a range with the lever in one position.
type place struct{ position, rng int }

// A safe is a FailSafe with its commands by place.
type safe struct {
	parts     []string
	when      []Kind
	monitored bool
	nodes     []Node
}

// A Node is one command: the lever in a position, a range, and the solenoids that
// are switched on.
type Node struct {
	Position int // index into Train.Positions, -1 in a train without
	Range    int
	On       uint64 // solenoids, bit by bit in the order of the file
	apply    uint64 // feeds that the pattern is to give
}

// A program is an expression in postfix order.
type program []instr

type instr struct {
	op op
	at uint16 // the signal of a leaf, the number of args of an operation
}

// The signals of a network: line, solenoids, valves, circuits, balls, levers and
// unknowns, in that order.
func (n *Network) valveAt(i int) int   { return 1 + len(n.solenoids) + i }
func (n *Network) circuitAt(i int) int { return n.valveAt(len(n.valves)) + i }
func (n *Network) ballAt(i int) int    { return n.circuitAt(len(n.circuits)) + i }
func (n *Network) leverAt(i int) int   { return n.ballAt(len(n.balls)) + i }
func (n *Network) unknownAt(i int) int { return n.leverAt(len(n.levers)) + i }
func (n *Network) size() int           { return n.unknownAt(n.unknowns) }

// Solenoids, Valves and Circuits return the names in the order of the file.
func (n *Network) Solenoids() []string { return n.solenoids }

// Wired returns the names of the solenoids that have wires: all but what is hydraulic.
func (n *Network) Wired() []string {
	var list []string
	for _, s := range n.Spec.Solenoids {
		if !s.Hydraulic {
			list = append(list, s.Name)
		}
	}
	return list
}

// Valves returns the names of the valves in the order of the file.
func (n *Network) Valves() []string {
	return kinematics.Map(n.valves, func(v valve) string { return v.name })
}

// Circuits returns the names of the circuits in the order of the file.
func (n *Network) Circuits() []string {
	return kinematics.Map(n.circuits, func(c circuit) string { return c.name })
}

// Balls returns the names of the check balls in the order of the file.
func (n *Network) Balls() []string {
	return kinematics.Map(n.balls, func(b ball) string { return b.name })
}

// Fed returns the elements that the controls feed, as indices into
// Train.Couplings, in the order of the file.
func (n *Network) Fed() []int {
	return kinematics.Map(n.feeds, func(f feed) int { return f.element })
}

// Nodes returns every command of the control: each pattern of each range in each
// position.
func (n *Network) Nodes() []Node { return n.normal }

// PositionName is the name of the position of a node, "" in a train without.
func (n *Network) PositionName(position int) string {
	if position < 0 {
		return ""
	}
	return n.Train.Positions[position].Name
}

// PatternText lists the solenoids that are on: "S1 S2", "none".
func (n *Network) PatternText(on uint64) string {
	var names []string
	for i, s := range n.solenoids {
		if on>>i&1 != 0 {
			names = append(names, s)
		}
	}
	return cmp.Or(strings.Join(names, " "), "none")
}

// feedOf returns the index of the feed of an element, or -1.
func (n *Network) feedOf(element int) int {
	return slices.IndexFunc(n.feeds, func(f feed) bool { return f.element == element })
}

// mask turns elements into a set of feeds; elements without a feed are left out.
func (n *Network) mask(elements []int) uint64 {
	var m uint64
	for _, e := range elements {
		if i := n.feedOf(e); i >= 0 {
			m |= 1 << i
		}
	}
	return m
}
