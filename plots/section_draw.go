package plots

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"sync"

	"tieup/kinematics"
)

var (
	elementScript = script{size: 8, bold: true}
	stateScript   = script{size: 7.5}
	bodyScript    = script{size: 8}
)

// A cut is a half-section laid out for the ranges of one input and output. Slim is the
// same for a slide: words have no columns of their own, but stand where there is room.
type cut struct {
	anatomy *anatomy
	layout  *placement
	slim    func() cut
}

// Layouts keeps the half-sections that were laid out for one train: the search
// for a good layout takes longer than all the rest of a drawing. It may be used
// by several goroutines at once; the zero Layouts is empty.
type Layouts struct {
	mu   sync.Mutex
	cuts map[string]cut
}

// of returns the layout for a state, the same one for all of the same structure:
// input, output and bodies. A fault that shears a joint makes another structure.
func (l *Layouts) of(s *SectionState) cut {
	state := s.Motion.State
	key := fmt.Sprint(state.Input, state.Output, s.bodies.Of)
	l.mu.Lock()
	defer l.mu.Unlock()
	if c, ok := l.cuts[key]; ok {
		return c
	}
	a := newAnatomy(s.bodies, newRuler(), state.Input, state.Output)
	c := cut{a, a.place(a.arrange()), sync.OnceValue(func() cut {
		b := a.slim(newRuler())
		return cut{anatomy: b, layout: b.place(b.arrange())}
	})}
	if l.cuts == nil || len(l.cuts) >= mostCuts {
		l.cuts = map[string]cut{}
	}
	l.cuts[key] = c
	return c
}

// mostCuts is how many layouts are kept of a train.
const mostCuts = 64

// sectionTitle is the room for the title of a state, mostTall how much higher than it
// need be a half-section is drawn where there is room.
const (
	sectionTitle = 22
	mostTall     = 1.6
)

func (s *SectionState) titleHeight() float64 { return sectionTitle + 12*float64(len(s.Remarks)) }

func (d *Sections) tiles() *tiles { return &d.grid }

// slide is the half-section with narrow columns and larger letters.
func (d *Sections) slide() Drawing {
	if d.slim {
		return d
	}
	x := *d
	x.slim, x.cuts = true, slices.Clone(d.cuts)
	for i, c := range d.cuts {
		x.cuts[i] = c.slim()
	}
	return &x
}

// How much narrower and lower than its layout a half-section can be on a slide.
const (
	leastWide = 0.62
	leastTall = 0.74
	mostWide  = 1.5
)

func (d *Sections) tile(i int) (w, h float64) {
	if d.slim {
		return max(leastWide*d.cuts[i].layout.width, 360), d.States[i].titleHeight() + leastTall*d.cuts[i].layout.height
	}
	return max(d.cuts[i].layout.width, 520), d.States[i].titleHeight() + d.cuts[i].layout.height
}

func (d *Sections) size(*ruler) (w, h float64) {
	d.grid.n = len(d.cuts)
	return d.grid.size(d.tile)
}

func (d *Sections) draw(p *pen, b box) {
	d.grid.place(b, d.tile, func(i int, b box) {
		s, c := &d.States[i], d.cuts[i]
		p.text(script{size: 10, bold: true}, point{b.x, b.y + 9}, s.Label)
		for k, remark := range s.Remarks {
			p.text(script{size: 8.5, color: p.soft}, point{b.x, b.y + 9 + 12*float64(k+1)}, remark)
		}
		v := &sectionView{pen: p, anatomy: c.anatomy, l: c.layout, d: d, s: s,
			wide: 1, tall: min((b.h-s.titleHeight())/c.layout.height, mostTall)}
		if d.slim {
			v.wide = min(b.w/c.layout.width, mostWide)
		}
		v.area = box{b.x, b.y + s.titleHeight(), b.w, b.h - s.titleHeight()}
		v.at = point{b.x + max(0, (b.w-v.wide*c.layout.width)/2), b.y + s.titleHeight()}
		v.draw()
	})
}

// A sectionView draws one state of a half-section.
type sectionView struct {
	*pen
	*anatomy
	l      *placement
	d      *Sections
	s      *SectionState
	at     point   // of the upper left corner
	wide   float64 // how much wider than its layout it is drawn
	tall   float64 // how much higher
	taken  []box   // where signs, boxes and text stand
	area   box     // in which text may stand
	traces []run   // the lines of bodies, on the page
}

// on moves a point of the placement onto the page.
func (v *sectionView) on(q point) point { return point{q.x*v.wide + v.at.x, q.y*v.tall + v.at.y} }

func (v *sectionView) through(l line, points []point) {
	v.stroke(l, kinematics.Map(points, v.on)...)
}

// wire is how a line of a body is drawn.
func (v *sectionView) wire(body int, loaded bool) line {
	l := line{v.color(body), 1.3, nil}
	if loaded {
		l.width = 3.6
	}
	return l
}

// color is that of a body, by its index.
func (v *sectionView) color(body int) color.Color {
	if body < 0 {
		return v.ink
	}
	return v.theme.hue(v.s.hues, v.list[body])
}

func (v *sectionView) draw() {
	v.hatch(line{v.ink, 1.6, nil}, v.on(point{portRoom / 2, v.l.housing}),
		v.on(point{v.l.width - portRoom/2, v.l.housing}))
	at := v.on(point{portRoom / 2, v.l.housing})
	v.taken = append(v.taken, box{at.x, at.y - 1, (v.l.width - portRoom) * v.wide, 3})
	v.through(line{v.soft, 0.7, []float64{10, 2, 2, 2}}, []point{{0, v.l.axis}, {v.l.width, v.l.axis}})
	for _, loaded := range []bool{false, true} {
		v.lines(loaded)
	}
	for i := range v.sets {
		v.set(i)
	}
	for i := range v.elements {
		v.element(i)
	}
	v.ports()
	v.words()
}

// tapLoaded says whether the load goes through a tap.
func (v *sectionView) tapLoaded(t tap) bool { return v.s.Loaded[v.sets[t.set].exits[t.exit].member] }

// lines draws the lines of bodies and taps, the loaded parts or all others.
func (v *sectionView) lines(loaded bool) {
	for b := range v.list {
		from, to := v.l.from[b], v.l.to[b]
		if loaded {
			from, to = v.loadedSpan(b)
		}
		if from < to {
			v.through(v.wire(b, loaded), []point{{from, v.l.level[b]}, {to, v.l.level[b]}})
		}
	}
	for _, t := range v.l.taps {
		if v.tapLoaded(t) == loaded {
			v.tap(t, v.wire(t.body, loaded))
		}
	}
}

// loadedSpan is the part of the line of a body between the first and the last
// place at which load enters or leaves it.
func (v *sectionView) loadedSpan(body int) (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	at := func(x float64) { from, to = min(from, x), max(to, x) }
	for _, t := range v.l.taps {
		if t.body == body && v.tapLoaded(t) {
			at(t.points[len(t.points)-1].x)
		}
	}
	for i, e := range v.elements {
		if (e.a == body || e.b == body) && v.s.Elements[i].Loaded {
			at(v.l.elementX[i])
		}
	}
	state := v.s.Motion.State
	if body == v.input && v.s.Loaded[state.Input] {
		at(20)
	}
	if body == v.output && v.s.Loaded[state.Output] {
		at(v.l.width - 20)
	}
	return from, to
}

// tap draws the way from a terminal to its line, with a dot where it joins a
// line that goes on, or the housing at its end.
func (v *sectionView) tap(t tap, style line) {
	last := t.points[len(t.points)-1]
	v.through(style, t.points)
	if t.body < 0 {
		v.grounded(t.points[len(t.points)-2], last)
		return
	}
	v.joint(t.body, last.x)
}

// joint draws a dot where something joins the line of a body that goes on to
// both sides.
func (v *sectionView) joint(body int, x float64) {
	if v.l.from[body] < x && x < v.l.to[body] {
		v.disc(v.color(body), v.on(point{x, v.l.level[body]}), 2.6)
	}
}

// grounded draws the housing at the end of a way.
func (v *sectionView) grounded(before, end point) {
	dx, dy := end.x-before.x, end.y-before.y
	length := math.Hypot(dx, dy)
	dx, dy = dx/length*9, dy/length*9
	v.hatch(line{v.ink, 1.4, nil}, v.on(point{end.x + dy, end.y - dx}), v.on(point{end.x - dy, end.y + dx}))
}

// boxOf is where a gear stands on the page.
func (v *sectionView) boxOf(i int, g gearBox) box {
	s := v.sets[i]
	left := v.on(point{v.l.setX[i] + float64(g.column)*s.column + 3, v.l.y(float64(g.high))})
	return box{left.x, left.y + boxGap/2, g.width(s.column) * v.wide, float64(g.high-g.low)*rowStep*v.tall - boxGap}
}

// set draws a gearset: the arm of the carrier behind, boxes, meshes, its name.
func (v *sectionView) set(i int) {
	s := v.sets[i]
	carrier := slices.IndexFunc(s.exits, func(e terminal) bool { return e.box < 0 })
	left, right := v.l.setX[i]-3, v.l.setX[i]+float64(s.columns)*s.column+3
	if carrier >= 0 {
		style := v.wire(s.exits[carrier].body, v.s.Loaded[s.exits[carrier].member])
		style.width = max(style.width, 2)
		for _, arm := range v.armsOf(v.l, i, left, right) {
			v.through(style, arm)
		}
	}
	for _, l := range s.links {
		a, b := v.boxOf(i, s.boxes[l[0]]), v.boxOf(i, s.boxes[l[1]])
		for _, share := range []float64{0.28, 0.72} {
			from, to := point{a.right(), a.y + a.h*share}, point{b.x, a.y + a.h*share}
			if a.x == b.x { // one above the other
				from, to = point{a.x + a.w*share, a.y}, point{a.x + a.w*share, b.bottom()}
			}
			v.stroke(line{v.ink, 1.2, nil}, from, to)
		}
	}
	for _, g := range s.boxes {
		v.gear(i, g)
	}
	for _, m := range s.meshes {
		v.mesh(v.boxOf(i, s.boxes[m.a]), v.boxOf(i, s.boxes[m.b]), m)
	}
}

// gear draws one box.
func (v *sectionView) gear(i int, g gearBox) {
	b := v.boxOf(i, g)
	fill, exits := v.wash, v.sets[i].exits
	own := slices.IndexFunc(exits, func(e terminal) bool { return e.member == g.member })
	if g.pinion {
		fill = v.paper
		if own < 0 { // of the carrier's colour
			own = slices.IndexFunc(exits, func(e terminal) bool { return e.box < 0 })
		}
	}
	rim := line{v.ink, 1.3, nil}
	if own >= 0 {
		rim.color = v.color(exits[own].body)
	}
	loaded := v.s.Loaded[g.member]
	if g.pinion {
		loaded = slices.ContainsFunc(exits, func(e terminal) bool { return v.s.Loaded[e.member] })
	}
	if loaded {
		rim.width = 2.6
	}
	v.fill(fill, b.slanted(g.slant, slantHigh)...)
	v.outline(rim, b.slanted(g.slant, slantHigh)...)
	step := 8.0
	y := b.y + b.h/2 - step*float64(len(g.lines)-1)/2
	for _, l := range g.lines {
		v.middle(script{size: boxScript.size, anchor: 0.5}, point{b.x + b.w/2, y}, l)
		y += step
	}
	v.taken = append(v.taken, b)
}

// mesh draws the sign between two boxes that mesh.
func (v *sectionView) mesh(a, b box, m meshMark) {
	style := line{v.ink, 1, nil}
	if m.sideways {
		half := min(a.h, b.h) / 2
		y := max(a.y, b.y) + half + min(9.5, half-7) // below the words
		for _, dx := range []float64{-1.4, 1.4} {
			x := (a.right()+b.x)/2 + dx
			v.stroke(style, point{x, y - 3.5}, point{x, y + 3.5})
		}
		return
	}
	x, y := a.x+a.w/2, (a.y+b.bottom())/2
	if m.chain {
		for _, dx := range []float64{-9, 9} {
			v.stroke(line{v.ink, 1.6, []float64{1.5, 1}}, point{x + dx, y - 4}, point{x + dx, y + 4})
		}
		return
	}
	rise := 0.0
	if m.bevels {
		rise = slantHigh * 8 / a.w
	}
	for _, dy := range []float64{-1.4, 1.4} {
		v.stroke(style, point{x - 8, y + dy + rise}, point{x + 8, y + dy - rise})
	}
}

// ports draws the arrows of input and output.
func (v *sectionView) ports() {
	state := v.s.Motion.State
	if v.input >= 0 {
		y := v.l.level[v.input]
		style := v.wire(v.input, v.s.Loaded[state.Input])
		v.arrow(style.color, v.on(point{26, y}), 1, 0, 9)
		v.taken = append(v.taken, v.masked(script{size: 8, bold: true}, v.on(point{-4, y - 9}), "input"))
	}
	if v.output >= 0 {
		y := v.l.level[v.output]
		style := v.wire(v.output, v.s.Loaded[state.Output])
		v.through(style, []point{{v.l.width - 20, y}, {v.l.width - 12, y}})
		v.arrow(style.color, v.on(point{v.l.width - 6, y}), 1, 0, 9)
		v.taken = append(v.taken, v.masked(script{size: 8, bold: true, anchor: 1},
			v.on(point{v.l.width + 2, y - 9}), "output"))
	}
}

// signAt is where the line of an element ends and its sign stands, in its layout.
func (v *sectionView) signAt(i int) (low, high float64, q point) {
	low, high = v.ends(v.l, v.elements[i])
	return low, high, point{v.l.elementX[i], v.signY(v.l, v.elements[i], 15)}
}

// element draws an element on its line, with its name and state.
func (v *sectionView) element(i int) {
	shape := v.elements[i]
	e := v.s.Elements[i]
	c := v.d.Explained.Train.Couplings[i]
	low, high, q := v.signAt(i)
	reach := 5 / v.tall
	top, bottom := v.upright(v.l, shape)
	v.through(v.wire(top, e.Loaded), []point{{q.x, low}, {q.x, q.y - reach}})
	v.through(v.wire(bottom, e.Loaded), []point{{q.x, q.y + reach}, {q.x, high}})
	for _, body := range []int{top, bottom} {
		if body >= 0 {
			v.joint(body, q.x)
		}
	}
	center := v.on(q)
	v.symbol(c.Kind, center, e)
	v.taken = append(v.taken, box{center.x - 11, center.y - 8, 22, 16})
}

// named writes the name and the state of an element.
func (v *sectionView) named(name, words string, e SectionElement, q point) {
	head, state := elementScript, stateScript
	state.color, state.bold = v.soft, e.Faulty()
	w := max(v.ruler.width(head, name), v.ruler.width(state, words))
	b := box{q.x - 2, q.y - 9, w + 4, 18}
	if words == "" {
		b.y, b.h = q.y-5, 10
	}
	switch {
	case e.Faulty():
		v.fill(v.alarmWash, b.corners()...)
		v.outline(line{v.alarm, 1.2, nil}, b.corners()...)
		state.color = v.alarm
	case e.Contradicts:
		v.fill(v.paper, b.corners()...)
		v.outline(line{v.alarm, 1.2, []float64{3, 2}}, b.corners()...)
	default:
		v.fill(v.paper, b.corners()...)
	}
	if e.Loaded && !e.Faulty() {
		state.color = v.ink
	}
	if words == "" {
		v.middle(head, q, name)
	} else {
		v.middle(head, point{q.x, q.y - 4.2}, name)
		v.middle(state, point{q.x, q.y + 4.6}, words)
	}
	v.taken = append(v.taken, b)
}

// symbol draws the sign of a kind of element: plates for friction, toothed
// plates for a dog, a wedge for a one-way clutch, a tooth for the pawl. They
// touch where the element is closed.
func (v *sectionView) symbol(kind kinematics.CouplingKind, q point, e SectionElement) {
	ink, stem := v.ink, 1.3
	switch {
	case e.Faulty():
		ink = v.alarm
	case !e.Closed && !e.Loaded:
		ink = v.soft
	}
	if e.Loaded {
		stem = 3.6
	}
	gap := 3.4
	if e.Closed {
		gap = 1.6
	}
	plate := line{ink, 2.4, nil}
	const half = 9
	v.fill(v.paper, box{q.x - half, q.y - 6, 2 * half, 12}.corners()...)
	v.stroke(line{ink, stem, nil}, point{q.x, q.y - 7}, point{q.x, q.y - gap})
	v.stroke(line{ink, stem, nil}, point{q.x, q.y + gap}, point{q.x, q.y + 7})
	switch kind {
	case kinematics.OneWay:
		wedge := []point{{q.x - half, q.y + 5}, {q.x + half, q.y + 5}, {q.x, q.y - 4}}
		if e.Closed {
			v.fill(ink, wedge...)
		} else {
			v.fill(v.paper, wedge...)
			v.outline(line{ink, 1.3, nil}, wedge...)
		}
		v.stroke(plate, point{q.x - half, q.y - 5}, point{q.x + half, q.y - 5})
		return
	case kinematics.Dog:
		for _, x := range []float64{-6, 0, 6} {
			v.stroke(line{ink, 2.4, nil}, point{q.x + x, q.y - gap - 1}, point{q.x + x, q.y - gap + 2.4})
			v.stroke(line{ink, 2.4, nil}, point{q.x + x + 3, q.y + gap + 1}, point{q.x + x + 3, q.y + gap - 2.4})
		}
	case kinematics.Pawl:
		v.fill(ink, point{q.x - 5, q.y - gap}, point{q.x + 5, q.y - gap}, point{q.x, q.y + gap + 1})
	case kinematics.Band:
		plate.width = 1.4
		v.stroke(line{ink, 3.6, nil}, point{q.x - half, q.y - gap}, point{q.x + half, q.y - gap})
	}
	v.stroke(plate, point{q.x - half, q.y - gap}, point{q.x + half, q.y - gap})
	v.stroke(plate, point{q.x - half, q.y + gap}, point{q.x + half, q.y + gap})
	if e.Faulty() {
		v.outline(line{v.alarm, 1.4, nil}, box{q.x - half - 2.5, q.y - 8, 2*half + 5, 16}.corners()...)
	}
}

// across says whether a line goes through a box.
func across(r run, b box) bool {
	return max(r.a.x, r.b.x) > b.x && min(r.a.x, r.b.x) < b.right() && max(r.a.y, r.b.y) > b.y &&
		min(r.a.y, r.b.y) < b.bottom()
}
