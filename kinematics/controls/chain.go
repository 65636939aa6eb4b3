package controls

import (
	"slices"

	"tieup/kinematics"
)

// A Link is one step from a fault to an element: what has become of a part.
type Link struct {
	Part Part
	Name string
	// Level is what it has: pressure, on (Full) or off, up (Full) or down.
	Level Level
}

// A Part is what a Link is of.
type Part uint8

// The parts, in the order of signals.
const (
	LinePart Part = iota
	SolenoidPart
	ValvePart
	CircuitPart
	BallPart
	LeverPart
	ElementPart
)

// Chain returns the shortest way from a fault to an element that gets other than when
// healthy: the signals on it that are changed, from the one that the fault changes to
// the element. It is nil where nothing changes for the element, and begins with the
// first that can be told where something stays unknown.
func (n *Network) Chain(node Node, o Outcome, element int, faults []Fault) []Link {
	i := n.feedOf(element)
	h := slices.IndexFunc(n.normal, func(x Node) bool { return x.Position == node.Position && x.Range == node.Range })
	if i < 0 || h < 0 {
		return nil
	}
	now := n.stand(node, o, faults).known()
	changed := func(at uint16) bool {
		return int(at) < len(n.healthy[h]) && now[at] != n.healthy[h][at]
	}
	f := &n.feeds[i]
	reads := slices.Clone(f.release)
	for _, a := range f.areas {
		reads = append(reads, a.from...)
	}
	way := n.way(reads, changed)
	if way == nil {
		return nil
	}
	slices.Reverse(way)
	links := kinematics.Map(way, func(at int) Link { return n.link(at, now[at]) })
	return append(links, Link{ElementPart, n.Train.Couplings[element].Name, o.Sets[0].Level(element)})
}

// way searches breadth-first from what an element reads, through changed signals, to
// the nearest that reads no changed one.
func (n *Network) way(reads program, changed func(uint16) bool) []int {
	from := map[int]int{}
	var queue []int
	push := func(p program, behind int) (any bool) {
		for _, x := range p {
			if x.op != opName || !changed(x.at) {
				continue
			}
			any = true
			if _, seen := from[int(x.at)]; !seen {
				from[int(x.at)] = behind
				queue = append(queue, int(x.at))
			}
		}
		return any
	}
	push(reads, -1)
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		if push(n.readsOf(at), at) {
			continue
		}
		var way []int
		for ; at >= 0; at = from[at] {
			way = append(way, at)
		}
		slices.Reverse(way)
		return way
	}
	return nil
}

// readsOf is what a signal reads.
func (n *Network) readsOf(at int) program {
	switch {
	case at >= n.leverAt(0), at < n.valveAt(0):
		return nil
	case at >= n.ballAt(0):
		var p program
		for _, i := range n.balls[at-n.ballAt(0)].from {
			p = append(p, instr{opName, uint16(n.circuitAt(i))})
		}
		return p
	case at >= n.circuitAt(0):
		return n.circuits[at-n.circuitAt(0)].from
	}
	v := n.valves[at-n.valveAt(0)]
	return slices.Concat(v.up, v.down)
}

func (n *Network) link(at int, l Level) Link {
	switch {
	case at == 0:
		return Link{LinePart, "line", l}
	case at < n.valveAt(0):
		return Link{SolenoidPart, n.solenoids[at-1], l}
	case at < n.circuitAt(0):
		return Link{ValvePart, n.valves[at-n.valveAt(0)].name, l}
	case at < n.ballAt(0):
		return Link{CircuitPart, n.circuits[at-n.circuitAt(0)].name, l}
	case at < n.leverAt(0):
		return Link{BallPart, n.balls[at-n.ballAt(0)].name, l}
	}
	return Link{LeverPart, "lever", l}
}
