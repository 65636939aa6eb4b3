package plots

import (
	"math"
	"slices"

	"tieup/kinematics"
)

// Sizes of a shift in time.
const (
	timeWidth    = 560
	timeLeft     = 46
	timeTop      = 22 // name of a panel
	timeFoot     = 34 // times
	speedsHeight = 220
	torqueHeight = 150
	heatHeight   = 110
	stripHeight  = 13
	stripGap     = 5
)

var panelHeights = []float64{speedsHeight, torqueHeight, heatHeight}

func (d *InTime) labelWidth(r *ruler) float64 {
	w := most(0, d.Strips, func(s Strip) float64 { return r.width(seriesScript, s.Label) })
	for _, panel := range d.Panels {
		w = most(w, panel.Lines, func(l TimeLine) float64 { return r.width(script{size: 8, bold: true}, l.Label) })
	}
	return min(w, 170) + 28
}

func (d *InTime) strips() float64 {
	if len(d.Strips) == 0 {
		return 0
	}
	return float64(len(d.Strips))*(stripHeight+stripGap) + 4
}

func (d *InTime) size(r *ruler) (w, h float64) {
	h = d.strips() + timeFoot
	for i := range d.Panels {
		h += timeTop + panelHeights[i]
	}
	return timeLeft + timeWidth + d.labelWidth(r), h
}

// look is how a line is drawn.
func (d *InTime) look(t *theme, k int) line {
	switch k {
	case mainLook:
		return line{t.bodies[0], 2.2, nil}
	case outputLook:
		return line{t.bodies[1], 2.2, []float64{10, 2}}
	case timedLook:
		return line{t.soft, 1.1, []float64{2, 2.5}}
	}
	return line{t.ink, 1.4, dashes[k%len(dashes)]}
}

func (d *InTime) draw(p *pen, b box) {
	x := scale{0, d.End, b.x + timeLeft, b.right() - d.labelWidth(p.ruler)}
	natural := 0.0
	for i := range d.Panels {
		natural += panelHeights[i]
	}
	stretch := (b.h - d.strips() - timeFoot - timeTop*float64(len(d.Panels))) / natural
	top := b.y
	for _, s := range d.Strips {
		d.strip(p, x, top, s)
		top += stripHeight + stripGap
	}
	if len(d.Strips) > 0 {
		top += 4
	}
	var y scale
	for i, panel := range d.Panels {
		top += timeTop
		values := []float64{0}
		for _, l := range panel.Lines {
			values = append(values, l.Value...)
		}
		low, high := around(0.05, values...)
		y = scale{low, high, top + panelHeights[i]*stretch, top}
		d.panel(p, x, y, panel)
		top = y.from
	}
	soft := script{size: tickScript.size, color: p.soft, anchor: 0.5}
	at, labels := ticks(0, d.End, 8)
	for k, v := range at {
		p.middle(soft, point{x.at(v), y.from + 9}, labels[k])
	}
	p.middle(soft, point{(x.from + x.to) / 2, y.from + 23}, "seconds after the command")
}

// strip draws what an element is given as a band that is as high as its share.
func (d *InTime) strip(p *pen, x scale, top float64, s Strip) {
	foot := top + stripHeight
	points := []point{{x.at(s.Time[0]), foot}}
	for i, t := range s.Time {
		points = append(points, point{x.at(t), foot - s.Share[i]*stripHeight})
	}
	points = append(points, point{x.at(s.Time[len(s.Time)-1]), foot})
	p.fill(p.faint, points...)
	p.stroke(line{p.soft, 0.9, nil}, points[1:len(points)-1]...)
	p.stroke(line{p.soft, 0.6, nil}, point{x.from, foot}, point{x.to, foot})
	p.middle(seriesScript, point{x.to + 6, top + stripHeight/2}, p.clip(seriesScript, s.Label, d.labelWidth(p.ruler)-8))
}

// panel draws one scale with its lines, marks and names.
func (d *InTime) panel(p *pen, x, y scale, panel TimePanel) {
	p.text(script{size: tickScript.size, color: p.soft}, point{x.from - timeLeft, y.to - 8}, panel.Name)
	p.levels(x, y, max(3, int((y.from-y.to)/32)), 1.4)
	across, _ := ticks(0, d.End, 8)
	for _, v := range across {
		p.stroke(line{p.faint, 0.5, nil}, point{x.at(v), y.from}, point{x.at(v), y.to})
	}
	p.stroke(line{p.soft, 0.9, nil}, point{x.from, y.to}, point{x.from, y.from}, point{x.to, y.from})
	// What is compared with lies below, the main line on top.
	for _, main := range []bool{false, true} {
		for _, l := range panel.Lines {
			if (l.Look == mainLook) == main {
				p.stroke(d.look(p.theme, l.Look), course(x, y, l)...)
			}
		}
	}
	wanted := kinematics.Map(panel.Lines, func(l TimeLine) float64 { return y.at(l.Value[len(l.Value)-1]) })
	room := d.labelWidth(p.ruler) - 28
	for i, at := range apart(wanted, 10.5, y.to, y.from) {
		l := panel.Lines[i]
		style := d.look(p.theme, l.Look)
		words := script{size: 8, color: style.color, bold: l.Look == mainLook}
		end := x.at(l.Time[len(l.Time)-1])
		p.stroke(line{p.faint, 0.7, nil}, point{end, wanted[i]}, point{x.to + 6, at})
		p.stroke(style, point{x.to + 6, at}, point{x.to + 22, at})
		p.middle(words, point{x.to + 26, at}, p.clip(words, l.Label, room))
	}
	d.marks(p, x, y, panel)
}

// marks names moments, each beside its upright line, clear of the others and, where
// there is room, of all lines.
func (d *InTime) marks(p *pen, x, y scale, panel TimePanel) {
	words := script{size: 8, color: p.alarm}
	var taken []box
	for _, m := range panel.Marks {
		q := point{x.at(m.Time), y.at(m.Value)}
		p.stroke(line{p.alarm, 0.8, []float64{2, 2}}, point{q.x, y.from}, point{q.x, y.to})
		taken = append(taken, box{q.x - markRadius, q.y - markRadius, 2 * markRadius, 2 * markRadius})
	}
	p.solids = append(p.solids, taken...)
	for _, m := range panel.Marks {
		q := point{x.at(m.Time), y.at(m.Value)}
		if label, ok := d.beside(q, p.width(words, m.Label), x, y, panel, taken); ok {
			taken = append(taken, label)
			p.masked(words, point{label.x, label.y + label.h/2}, m.Label)
		}
	}
	for _, m := range panel.Marks { // above the words
		p.mark(ring, p.alarm, point{x.at(m.Time), y.at(m.Value)}, 3)
	}
}

// markRadius is that of the ring at a moment, with its rim.
const markRadius = 4

// beside finds a box for words of a width beside the upright line through q: clear of
// what is taken, crossed by as little as can be, and near q.
func (d *InTime) beside(q point, w float64, x, y scale, panel TimePanel, taken []box) (box, bool) {
	const h, off = 9.5, 7
	best, least := box{}, math.Inf(1)
	for _, left := range []float64{q.x + off, q.x - off - w} {
		if left < x.from+2 || left+w > x.to {
			continue
		}
		for top := y.to + 1; top+h < y.from-1; top += 3 {
			b := box{left, top, w, h}
			if slices.ContainsFunc(taken, b.overlaps) {
				continue
			}
			if cost := 150*d.crossings(b, x, y, panel) + math.Abs(top+h/2-q.y); cost < least {
				best, least = b, cost
			}
		}
	}
	return best, !math.IsInf(least, 1)
}

// crossings counts the lines of a panel that pass through a box.
func (d *InTime) crossings(b box, x, y scale, panel TimePanel) float64 {
	n := 0.0
	for _, l := range panel.Lines {
		points := course(x, y, l)
		for k := 1; k < len(points); k++ {
			if meets(points[k-1], points[k], b) {
				n++
				break
			}
		}
	}
	for _, m := range panel.Marks {
		if at := x.at(m.Time); at > b.x && at < b.right() {
			n++
		}
	}
	return n
}

// course is a line on the page without the points that a straight line between
// their neighbours passes within a hair.
func course(x, y scale, l TimeLine) []point {
	points := make([]point, len(l.Time))
	for i, t := range l.Time {
		points[i] = point{x.at(t), y.at(l.Value[i])}
	}
	return thin(points, 0.12)
}

// thin leaves out points within a distance of the line between those that stay
// [Douglas and Peucker 1973].
func thin(points []point, hair float64) []point {
	if len(points) < 3 {
		return points
	}
	a, b := points[0], points[len(points)-1]
	dx, dy := b.x-a.x, b.y-a.y
	length := math.Hypot(dx, dy)
	far, most := 0, hair
	for i := 1; i < len(points)-1; i++ {
		q := points[i]
		off := math.Hypot(q.x-a.x, q.y-a.y)
		if length > 0 {
			off = math.Abs((q.x-a.x)*dy-(q.y-a.y)*dx) / length
		}
		if off > most {
			far, most = i, off
		}
	}
	if far == 0 {
		return []point{a, b}
	}
	left := thin(points[:far+1], hair)
	return append(left[:len(left)-1:len(left)-1], thin(points[far:], hair)...)
}

// slack is what the panels can do without.
func (d *InTime) slack(*ruler) float64 { return 0.3 * (speedsHeight + torqueHeight) }

// least is the size with the lowest panels.
func (d *InTime) least(r *ruler) (w, h float64) {
	h = d.strips() + timeFoot
	for _, p := range d.Panels {
		h += timeTop + max(80, 10.5*float64(len(p.Lines)))
	}
	return timeLeft + 300 + d.labelWidth(r), h
}
