package plots

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// Sizes of the parts of a lever diagram.
const (
	leverHeight = 230
	leverTop    = 34 // titles of levers and names of bars
	barStep     = 62
	speedWidth  = 160
	lane        = 14 // distance of lines that run side by side
	stateGap    = 26 // between states
	portWidth   = 30 // of the sign of a port
	portStep    = 17 // between the ports of one node
)

var (
	partScript = script{size: 7.5}
	nodeScript = script{size: 8.5, bold: true}
	portScript = script{size: 8}
)

// A leverPlan is where the parts of one lever lie, from left to right.
type leverPlan struct {
	x       float64
	ports   float64 // width of the ports
	links   []int   // links between two nodes of this lever, each in a lane
	laneW   float64
	bars    float64 // x of the first bar
	speeds  float64 // x of the speeds' left edge
	labels  float64
	right   float64 // end of the labels
	gutter  float64 // width behind the labels, for links to other levers
	between []int   // links that run in this gutter
}

// plan lays out the levers of a state side by side.
func (s *LeverState) plan(t *kinematics.Train, r *ruler) (plans []leverPlan, width float64) {
	x := 0.0
	for l := range s.Levers {
		lever := &s.Levers[l]
		p := leverPlan{x: x}
		for _, n := range lever.Nodes {
			p.ports = most(p.ports, n.Ports, func(x Port) float64 { return r.width(portScript, x.words(t)) + portWidth })
		}
		for k, link := range s.Links {
			switch {
			case link.From.Lever == l && link.To.Lever == l:
				p.links = append(p.links, k)
				p.laneW = max(p.laneW, r.width(portScript, via(t, link.Via))+8)
			case min(link.From.Lever, link.To.Lever) == l:
				p.between = append(p.between, k)
				p.gutter = max(p.gutter, r.width(portScript, via(t, link.Via))+8)
			}
		}
		p.bars = x + p.ports + p.laneW*float64(len(p.links)) + 16
		p.speeds = p.bars + barStep*float64(len(lever.Bars)-1) + 52
		p.labels = p.speeds + speedWidth + 16
		p.right = p.labels
		for n := range lever.Nodes {
			p.right = max(p.right, p.labels+s.labelWidth(r, l, n))
		}
		if len(p.between) > 0 {
			p.gutter += lane * float64(len(p.between)+1)
		}
		x = p.right + p.gutter + 10
		plans = append(plans, p)
	}
	return plans, x - 10
}

func (n Node) title() string {
	if n.Moved {
		return n.Label + " *"
	}
	return n.Label
}

// values are the speed and the torque of node n of lever l in words, a line each.
func (s *LeverState) values(l, n int) []string {
	node := &s.Levers[l].Nodes[n]
	var lines, speeds []string
	for _, line := range s.Lines {
		r := line.Speeds[l][n]
		text := "free"
		if f, fixed := r.Point(); fixed {
			text = signed(f.Float(), false)
		}
		if !r.Empty && !slices.Contains(speeds, text) {
			speeds = append(speeds, text)
		}
	}
	if len(speeds) > 0 {
		lines = append(lines, "speed "+strings.Join(speeds, " or "))
	}
	if node.Torque != nil {
		low, high := signed(node.Torque.Min.Float(), false), signed(node.Torque.Max.Float(), false)
		if low != high {
			low += " to " + high
		}
		lines = append(lines, "torque "+low)
	}
	return lines
}

// labelWidth is the width of the label of node n of lever l.
func (s *LeverState) labelWidth(r *ruler, l, n int) float64 {
	return max(r.width(nodeScript, s.Levers[l].Nodes[n].title()), r.widest(partScript, s.values(l, n)...))
}

func via(t *kinematics.Train, elements []int) string {
	return strings.Join(t.CouplingNames(elements), " + ")
}

func (p Port) words(t *kinematics.Train) string {
	word := map[PortKind]string{InputPort: "input", OutputPort: "output", GroundPort: ""}[p.Kind]
	names := via(t, p.Via)
	switch {
	case word == "":
		return names
	case names == "":
		return word
	}
	return word + " by " + names
}

func (s *LeverState) legendHeight() float64 {
	return legendLine * float64(1+len(s.Remarks)+len(s.legend()))
}

// legend returns the lines that need a label: none if there is only one.
func (s *LeverState) legend() []LeverLine {
	if len(s.Lines) == 1 {
		return nil
	}
	return s.Lines
}

// channels counts the links that pass under levers.
func (s *LeverState) channels() int {
	return countFunc(s.Links, func(l Link) bool { return math.Abs(float64(l.From.Lever-l.To.Lever)) > 1 })
}

func (s *LeverState) height(lever float64) float64 {
	return s.legendHeight() + leverTop + lever + s.foot() + lane*float64(s.channels())
}

// foot is the room below the levers: for what is attached to their lowest nodes, too.
func (s *LeverState) foot() float64 {
	most := 16.0
	for l, lever := range s.Levers {
		for n, node := range lever.Nodes {
			if k := len(node.Ports); k > 0 {
				last := s.firstPort(NodeRef{l, n}, k) + portStep*float64(k-1)
				most = max(most, last-100*math.Abs(node.X)-3)
			}
		}
	}
	return most
}

// firstPort is how far below a node the first of its ports stands.
func (s *LeverState) firstPort(r NodeRef, ports int) float64 {
	if s.entered(r) {
		return portStep // below the link that comes in here
	}
	return -portStep * float64(ports-1) / 2
}

func (d *Levers) tiles() *tiles { return &d.grid }

func (d *Levers) size(r *ruler) (w, h float64) {
	d.grid.n = len(d.States)
	return d.grid.size(d.tile(r))
}

// least is the size with the lowest levers, as high as the names of their nodes.
func (d *Levers) least(r *ruler) (w, h float64) {
	w, h = d.size(r)
	if d.grid.perRow() == 1 {
		widest := 440.0
		for i := range d.States {
			_, own := d.States[i].plan(d.Answer.Train, r)
			widest = max(widest, own)
		}
		w = min(w, widest)
	}
	for i := 0; i < len(d.States); i += d.grid.perRow() {
		least := 100.0
		for _, s := range d.States[i:min(i+d.grid.perRow(), len(d.States))] {
			for _, l := range s.Levers {
				least = max(least, nodeStep*float64(len(l.Nodes)-1)+20, 16+l.apart())
			}
		}
		h -= max(0, leverHeight-least)
	}
	return w, h
}

// nodeStep is the least distance of the names of nodes, with speed and torque; nodeName
// that of their gears, which stand at them.
const (
	nodeStep = 31
	nodeName = 9
)

// apart is how high the lever must be for the names of gears, and of what is attached, to
// stand clear of those of other nodes.
func (l *Lever) apart() float64 {
	most := float64(nodeName)
	for i, n := range l.Nodes {
		for _, o := range l.Nodes[:i] {
			need := float64(nodeName)
			if len(n.Ports) > 0 && len(o.Ports) > 0 {
				need += portStep * float64(len(n.Ports)+len(o.Ports)-2) / 2
			}
			if gap := math.Abs(n.X - o.X); gap > 0 {
				most = max(most, need/gap)
			}
		}
	}
	return most
}

func (d *Levers) tile(r *ruler) func(i int) (w, h float64) {
	return func(i int) (w, h float64) {
		_, w = d.States[i].plan(d.Answer.Train, r)
		return max(w, 520), d.States[i].height(leverHeight)
	}
}

func (d *Levers) draw(p *pen, b box) {
	d.grid.place(b, d.tile(p.ruler), func(i int, b box) {
		s := &d.States[i]
		s.draw(p, d.Answer.Train, b, b.h-s.height(0))
	})
}

func (s *LeverState) draw(p *pen, t *kinematics.Train, b box, height float64) {
	p.text(script{size: 10, bold: true}, point{b.x, b.y + 9}, s.Label)
	y := b.y + legendLine
	for _, remark := range s.Remarks {
		p.text(script{size: 8.5, color: p.soft}, point{b.x, y + 9}, remark)
		y += legendLine
	}
	for k, l := range s.legend() {
		style, m := leverLook(p.theme, k)
		p.stroke(style, point{b.x, y + 6}, point{b.x + 40, y + 6})
		p.mark(m, style.color, point{b.x + 20, y + 6}, 3.2)
		x := b.x + 48
		if len(s.Lines) > 1 {
			x += p.middle(letterScript, point{x, y + 6}, letter(k)).w + 5
		}
		p.middle(legendScript, point{x, y + 6}, l.Label)
		y += legendLine
	}
	// Up is the high end of the lever.
	v := scale{0, 1, y + leverTop + height - 8, y + leverTop + 8}
	plans, _ := s.plan(t, p.ruler)
	speeds := s.extent()
	for l := range s.Levers {
		pl := &plans[l]
		pl.x += b.x
		pl.bars, pl.speeds, pl.labels, pl.right = pl.bars+b.x, pl.speeds+b.x, pl.labels+b.x, pl.right+b.x
		x := scale{speeds.low, speeds.high, pl.speeds, pl.speeds + speedWidth}
		s.speedsOf(p, l, x, v)
	}
	s.linksBetween(p, t, plans, v)
	for l := range s.Levers {
		s.bars(p, t, l, plans[l], v)
		s.labels(p, l, plans[l], v)
	}
}

// leverLook is how line k is drawn: in ink, as colours are those of bodies.
func leverLook(t *theme, k int) (line, mark) {
	return line{t.ink, 2, dashes[k%len(dashes)]}, mark(k % int(marks))
}

// letter names line k of a state of several.
func letter(k int) string { return string(rune('A' + k)) }

// extent is the scale of speeds of a state: the same on all sheets.
func (s *LeverState) extent() scale {
	if s.span != nil {
		return *s.span
	}
	values := []float64{0, 1}
	for _, line := range s.Lines {
		for _, speeds := range line.Speeds {
			for _, r := range speeds {
				values = append(values, ends(r, 1)...)
			}
		}
	}
	low, high := around(0.1, values...)
	return scale{low: low, high: high}
}

// speedsOf draws the speeds of lever l to the right of its bars.
func (s *LeverState) speedsOf(p *pen, l int, x, v scale) {
	lever := &s.Levers[l]
	top, bottom := v.to-10, v.from+8
	at, labels := ticks(x.low, x.high, 4)
	for k, value := range at {
		p.stroke(line{p.faint, 0.6, nil}, point{x.at(value), top}, point{x.at(value), bottom})
		p.middle(script{size: 7.5, color: p.soft, anchor: 0.5}, point{x.at(value), top - 7}, labels[k])
	}
	p.stroke(line{p.soft, 1.4, nil}, point{x.at(0), top}, point{x.at(0), bottom})
	for _, n := range lever.Nodes {
		p.stroke(line{p.faint, 0.6, nil}, point{x.from - 30, v.at(n.X)}, point{x.to, v.at(n.X)})
	}
	for k, ln := range s.Lines {
		style, m := leverLook(p.theme, k)
		var points []point
		var bodies []kinematics.MemberID
		for n, r := range ln.Speeds[l] {
			y := v.at(lever.Nodes[n].X)
			if r.Empty {
				continue
			}
			f, fixed := r.Point()
			if !fixed {
				s.free(p, style, r, x, y+4*(float64(k)-float64(len(s.Lines)-1)/2))
				continue
			}
			points = append(points, point{x.at(f.Float()), y})
			bodies = append(bodies, lever.Nodes[n].Body)
		}
		p.stroke(style, points...)
		for n, q := range points {
			if len(s.Lines) == 1 && math.Abs(q.x-x.at(0)) > 6 {
				p.arrow(p.soft, point{q.x - math.Copysign(4, q.x-x.at(0)), q.y}, math.Copysign(1, q.x-x.at(0)), 0, 6)
				p.stroke(line{p.soft, 1, nil}, point{x.at(0), q.y}, point{q.x - math.Copysign(8, q.x-x.at(0)), q.y})
			}
			p.mark(m, p.theme.hue(s.hues, bodies[n]), points[n], 3.8)
		}
	}
	s.letters(p, l, x, v)
}

// letters writes the letter of each line of several beside the marker that is farthest from
// those of the others, where there is room.
func (s *LeverState) letters(p *pen, l int, x, v scale) {
	const room = 14
	type place struct {
		at   point
		near float64 // how far the next marker is
	}
	written := len(p.texts)
	for k := range s.Lines {
		var places []place
		for n, r := range s.Lines[k].Speeds[l] {
			f, fixed := r.Point()
			if r.Empty || !fixed || len(s.Lines) == 1 {
				continue
			}
			near := math.Inf(1)
			for j, o := range s.Lines {
				if g, fixed := o.Speeds[l][n].Point(); j != k && fixed && !o.Speeds[l][n].Empty {
					near = min(near, math.Abs(x.at(g.Float())-x.at(f.Float())))
				}
			}
			if near > room {
				places = append(places, place{point{x.at(f.Float()), v.at(s.Levers[l].Nodes[n].X)}, near})
			}
		}
		kinematics.Sort(places, func(a, b place) int { return cmp.Compare(b.near, a.near) })
		for _, q := range places {
			aside, style := 6.0, letterScript
			if q.at.x+room > x.to {
				aside, style.anchor = -6, 1
			}
			box := box{q.at.x + aside - style.anchor*room, q.at.y - room/2, room, room}
			if !slices.ContainsFunc(p.texts[written:], func(o inked) bool { return o.box.overlaps(box) }) {
				p.middle(style, point{q.at.x + aside, q.at.y}, letter(k))
				break
			}
		}
	}
}

// free draws where a free node can be.
func (s *LeverState) free(p *pen, style line, r analysis.Speed, x scale, y float64) {
	style.width, style.dash = 2.2, nil
	end := func(b exact.Bound, edge, way float64) float64 {
		if b.Inf != 0 {
			p.arrow(style.color, point{edge, y}, way, 0, 8)
			return edge - way*6
		}
		at := min(max(x.at(b.Float()), x.from), x.to)
		p.stroke(line{style.color, 1.4, nil}, point{at, y - 3}, point{at, y + 3})
		return at
	}
	from, to := end(r.Min, x.from, -1), end(r.Max, x.to, 1)
	p.stroke(style, point{from, y}, point{to, y})
}

// bars draws the bars of lever l with what is attached to them.
func (s *LeverState) bars(p *pen, t *kinematics.Train, l int, pl leverPlan, v scale) {
	lever := &s.Levers[l]
	p.text(script{size: 9.5, bold: true, color: p.soft}, point{pl.bars - 4, v.to - 30}, lever.Title)
	ink := line{p.ink, 1.3, nil}
	barX := func(i int) float64 { return pl.bars + barStep*float64(i) }
	for n, node := range lever.Nodes {
		y := v.at(node.X)
		first, last := -1, -1
		for i, bar := range lever.Bars {
			if slices.Contains(bar.Nodes, n) {
				if first < 0 {
					first = i
				}
				last = i
			}
		}
		if first < 0 {
			continue
		}
		p.stroke(line{p.theme.hue(s.hues, node.Body), 2.6, nil}, point{barX(first), y}, point{barX(last), y})
		x := barX(first)
		if k := len(node.Ports); k > 0 {
			edge := pl.x + pl.ports
			p.stroke(ink, point{edge, y}, point{x, y})
			first := s.firstPort(NodeRef{l, n}, k)
			for i, port := range node.Ports {
				q := point{edge, y + first + portStep*float64(i)}
				p.stroke(ink, point{edge, y}, q)
				p.port(t, port, q)
			}
		}
	}
	for k, i := range pl.links {
		link := s.Links[i]
		x := pl.x + pl.ports + pl.laneW*(float64(k)+0.5)
		y1, y2 := v.at(s.node(link.From).X), v.at(s.node(link.To).X)
		p.stroke(ink, point{pl.bars, y1}, point{x, y1}, point{x, y2}, point{pl.bars, y2})
		p.masked(script{size: portScript.size, anchor: 0.5}, point{x, (y1 + y2) / 2}, via(t, link.Via))
	}
	for i, bar := range lever.Bars {
		x := barX(i)
		if len(bar.Nodes) == 0 {
			continue
		}
		low, high := lever.Nodes[bar.Nodes[0]], lever.Nodes[bar.Nodes[len(bar.Nodes)-1]]
		p.stroke(line{p.ink, 3.4, nil}, point{x, v.at(low.X)}, point{x, v.at(high.X)})
		if len(lever.Bars) > 1 {
			p.text(script{size: 8, color: p.soft, anchor: 0.5}, point{x, v.to - 14}, bar.Name)
		}
		for k, n := range bar.Nodes {
			q := point{x, v.at(lever.Nodes[n].X)}
			p.disc(p.paper, q, 3.6)
			p.circle(line{p.theme.hue(s.hues, lever.Nodes[n].Body), 2.2, nil}, q, 3.6)
			p.masked(script{size: partScript.size, color: p.soft}, point{q.x + 7, q.y - 7}, bar.Parts[k])
		}
	}
}

// entered says whether a link comes in from a lever further to the left.
func (s *LeverState) entered(r NodeRef) bool {
	return slices.ContainsFunc(s.Links, func(l Link) bool {
		return l.From == r && l.To.Lever < r.Lever || l.To == r && l.From.Lever < r.Lever
	})
}

// port draws what a node is attached to, from q to the left.
func (p *pen) port(t *kinematics.Train, port Port, q point) {
	switch port.Kind {
	case GroundPort:
		p.hatch(line{p.ink, 1.4, nil}, point{q.x - 10, q.y + 8}, point{q.x - 10, q.y - 8})
		p.stroke(line{p.ink, 1.3, nil}, point{q.x - 10, q.y}, q)
	case InputPort:
		p.stroke(line{p.ink, 2.2, nil}, point{q.x - 16, q.y}, point{q.x - 6, q.y})
		p.arrow(p.ink, q, 1, 0, 9)
	case OutputPort:
		p.stroke(line{p.ink, 2.2, nil}, point{q.x - 8, q.y}, q)
		p.arrow(p.ink, point{q.x - 16, q.y}, -1, 0, 9)
	}
	p.masked(script{size: portScript.size, anchor: 1}, point{q.x - 20, q.y}, port.words(t))
}

// labels writes names, speeds and torques of the nodes of lever l.
func (s *LeverState) labels(p *pen, l int, pl leverPlan, v scale) {
	lever := &s.Levers[l]
	for n, y := range s.labelHeights(l, v) {
		node := lever.Nodes[n]
		if at := v.at(node.X); math.Abs(at-y) > 1 {
			p.stroke(line{p.faint, 0.7, nil}, point{pl.labels - 16, at}, point{pl.labels - 3, y})
		} else {
			p.stroke(line{p.faint, 0.7, nil}, point{pl.labels - 16, at}, point{pl.labels - 3, at})
		}
		words := s.values(l, n)
		y -= 4.7 * float64(len(words))
		p.middle(nodeScript, point{pl.labels, y}, node.title())
		for _, w := range words {
			y += 9.4
			p.middle(script{size: partScript.size, color: p.soft}, point{pl.labels, y}, w)
		}
	}
}

// labelHeights are the heights of the labels of lever l.
func (s *LeverState) labelHeights(l int, v scale) []float64 {
	wanted := kinematics.Map(s.Levers[l].Nodes, func(n Node) float64 { return v.at(n.X) })
	return apart(wanted, nodeStep, v.to-2, v.from+2)
}

// linksBetween draws the links between levers: from the label of the left one
// through the gutter behind it, under levers between them, to the right one.
func (s *LeverState) linksBetween(p *pen, t *kinematics.Train, plans []leverPlan, v scale) {
	channel := v.from + 20
	entering := map[int]int{}    // lanes used in the gutter in front of a lever
	leaving := map[NodeRef]int{} // links that left a node before
	for l := range plans {
		for k, i := range plans[l].between {
			link := s.Links[i]
			from, to := link.From, link.To
			if from.Lever > to.Lever {
				from, to = to, from
			}
			style := line{p.ink, 2.6, nil}
			if len(link.Via) > 0 {
				style = line{p.ink, 1.3, nil}
			}
			base := s.labelHeights(l, v)[from.Node]
			y1 := base + fan(leaving[from]) - max(0, base+fanStep*float64(s.leave(from)/2)-v.from-10)
			leaving[from]++
			y2 := v.at(s.node(to).X)
			x := plans[l].right + plans[l].gutter - lane*float64(k+1) + 4
			start := plans[l].labels + s.labelWidth(p.ruler, l, from.Node) + 4
			end := plans[to.Lever].bars
			if to.Lever == l+1 {
				p.stroke(style, point{start, y1}, point{x, y1}, point{x, y2}, point{end, y2})
			} else {
				back := plans[to.Lever].x - 6 - 6*float64(entering[to.Lever])
				entering[to.Lever]++
				p.stroke(style, point{start, y1}, point{x, y1}, point{x, channel}, point{back, channel}, point{back, y2},
					point{end, y2})
				channel += lane
			}
			if len(link.Via) > 0 {
				p.masked(portScript, point{start + 4, y1}, via(t, link.Via))
			}
		}
	}
}

// leave counts the links from a node to levers further to the right.
func (s *LeverState) leave(from NodeRef) int {
	return countFunc(s.Links, func(l Link) bool {
		return l.From == from && l.To.Lever > from.Lever || l.To == from && l.From.Lever > from.Lever
	})
}

// fan sets the k-th of some things off from the others: the first not at all,
// then one to each side.
func fan(k int) float64 {
	off := fanStep * float64((k+1)/2)
	if k%2 == 0 {
		return -off
	}
	return off
}

const fanStep = 11
