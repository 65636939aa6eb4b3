package plots

import (
	"cmp"
	"image/color"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// Sizes of the parts of a speed plan.
const (
	panelHeight = 280
	leastPanel  = 80 // height, on a slide
	panelLeft   = 44 // for the numbers of the scale, or the label of the first axis
	panelRight  = 46 // for the names of the lines, at least
	axisStep    = 66 // least mean distance of axes
	rowWidth    = 912
	legendLine  = 13
	manyLines   = 4 // from here on speeds are not written beside their marks
)

var (
	axisScript   = script{size: 8.5, bold: true}
	memberScript = script{size: 7.5}
	tickScript   = script{size: 8}
	valueScript  = script{size: 7.5}
	legendScript = script{size: 9}
	letterScript = script{size: 9, bold: true}
	tagScript    = script{size: 8, bold: true}
)

// A planRow is a row of panels.
type planRow struct {
	panels []int
	labels [][]axisLabel
	below  float64 // height of the labels
}

// An axisLabel is the label of an axis, laid out.
type axisLabel struct {
	x, y    float64 // of the middle of its upper edge, from the row's corner
	name    string
	members []string
	width   float64
}

func (l axisLabel) height() float64 {
	return leading * (axisScript.size + memberScript.size*float64(len(l.members)))
}

// span is the width of a panel's line at least.
func (p Panel) span() float64 {
	if len(p.Gearsets) == 0 {
		return axisStep * float64(max(len(p.Axes)-1, 1))
	}
	return max(100, axisStep*float64(len(p.Axes)-1))
}

// rows breaks the panels into rows of at most a width.
func (s *Speeds) rows(r *ruler, width float64) []planRow {
	var rows []planRow
	used := width + 1
	for i, p := range s.Panels {
		w := s.left() + p.span() + s.right(r)
		if used+w > width {
			rows = append(rows, planRow{})
			used = 0
		}
		row := &rows[len(rows)-1]
		row.panels = append(row.panels, i)
		used += w
	}
	for i := range rows {
		s.label(r, &rows[i], width)
	}
	return rows
}

// frames returns where the lines of the panels of a row lie: they share the
// width according to their spans.
func (s *Speeds) frames(r *ruler, row planRow, width float64) []scale {
	total := 0.0
	for _, i := range row.panels {
		total += s.Panels[i].span()
	}
	right := s.right(r)
	left := s.left()
	free := width - float64(len(row.panels))*(left+right)
	var frames []scale
	x := 0.0
	for _, i := range row.panels {
		w := free * s.Panels[i].span() / total
		frames = append(frames, scale{0, 1, x + left, x + left + w})
		x += left + w + right
	}
	return frames
}

// label lays out the labels of the axes of a row: each under its axis, or one
// line deeper where its neighbour would be in the way.
func (s *Speeds) label(r *ruler, row *planRow, width float64) {
	frames, right := s.frames(r, *row, width), s.right(r)
	row.below = 0
	for k, i := range row.panels {
		f := frames[k]
		var labels []axisLabel
		for _, a := range s.Panels[i].Axes {
			l := axisLabel{x: f.at(a.X), name: a.Label}
			if a.Moved {
				l.name += " *"
			}
			if a.Members != "" {
				l.members = r.wrap(memberScript, a.Members, 88)
			}
			l.width = max(r.width(axisScript, l.name), r.widest(memberScript, l.members...)) + 6
			l.x = min(max(l.x, f.from-s.left()+l.width/2), f.to+right-l.width/2)
			for hit := true; hit; {
				hit = false
				for _, o := range labels {
					if l.box().overlaps(o.box()) {
						l.y = o.y + o.height() + 1
						hit = true
					}
				}
			}
			labels = append(labels, l)
			row.below = max(row.below, l.y+l.height())
		}
		row.labels = append(row.labels, labels)
	}
}

func (l axisLabel) box() box { return box{l.x - l.width/2, l.y, l.width, l.height()} }

func (s *Speeds) size(r *ruler) (w, h float64) {
	rows := s.rows(r, rowWidth)
	w = s.legendStep(r)*float64((len(s.Lines)+legendRows-1)/legendRows) - 14
	for _, row := range rows {
		need := 0.0
		for _, i := range row.panels {
			need += s.left() + 1.25*s.Panels[i].span() + s.right(r)
		}
		w = max(w, min(need, rowWidth))
		h += rowTop + panelHeight + rowGap + row.below
	}
	w = max(w, 520)
	return w, h + s.legendHeight(r, w)
}

// rowTop is the room for the titles of panels, rowGap for the tick marks below.
const (
	rowTop = 38
	rowGap = 14
)

// legendRows is the most lines that a column of the legend has, where one more column
// is not too wide.
const legendRows = 6

// legendLines is the number of lines that each column of the legend has on a width.
func (s *Speeds) legendLines(r *ruler, width float64) int {
	columns := max(1, int((width+14.01)/s.legendStep(r)))
	return (len(s.Lines) + columns - 1) / columns
}

func (s *Speeds) legendStep(r *ruler) float64 {
	return 62 + most(0, s.Lines, func(l Line) float64 { return r.width(legendScript, l.Label) })
}

func (s *Speeds) legendHeight(r *ruler, width float64) float64 {
	return float64(s.legendLines(r, width))*legendLine + 8
}

// look returns colour, line and mark of line i. Faulty lines are solid and
// heavy, healthy ones beside them light and dashed.
func (s *Speeds) look(t *theme, i int) (line, mark) {
	l := s.Lines[i]
	if len(s.Chart.Faults) == 0 {
		round := i / len(t.series) // a second round has other dashes and marks
		return line{t.series[i%len(t.series)], 1.6, dashes[(i+round)%len(dashes)]}, mark((i + 2*round) % int(marks))
	}
	ink := l.Range
	if len(s.Chart.Rows) == 1 && l.Faulty {
		ink = 1 // healthy and faulty differ in colour as well
	}
	if l.Faulty {
		return line{t.series[ink%len(t.series)], 2.2, nil}, mark(l.Range % int(marks))
	}
	m := ring
	if l.Range >= len(dashes)-1 {
		m = cross // the dashes begin anew
	}
	return line{t.series[ink%len(t.series)], 1.4, dashes[1+l.Range%(len(dashes)-1)]}, m
}

// right is the room behind the last axis, for the names of the lines.
func (s *Speeds) right(r *ruler) float64 {
	if len(s.Lines) < manyLines {
		return panelRight + s.beside() // speeds stand there
	}
	w := most(0, s.Lines, func(l Line) float64 { return r.width(tagScript, l.Tag) })
	return max(panelRight, min(w, 80)+20) + s.beside()
}

// left is the room in front of the first axis.
func (s *Speeds) left() float64 { return panelLeft + s.beside() }

// beside is how much further the bars of free members reach beyond the outer axes of a
// panel than numbers and names leave room for.
func (s *Speeds) beside() float64 {
	reach := 0.0
	for i, p := range s.Panels {
		for _, n := range []int{0, len(p.Axes) - 1} {
			_, all := s.freeOn(i, n, 0)
			reach = max(reach, barGap*float64(all-1)/2)
		}
	}
	return reach
}

func (s *Speeds) draw(p *pen, b box) {
	lines := s.legendLines(p.ruler, b.w)
	for i, l := range s.Lines {
		style, m := s.look(p.theme, i)
		q := point{b.x + s.legendStep(p.ruler)*float64(i/lines), b.y + 5 + legendLine*float64(i%lines)}
		p.stroke(style, q, point{q.x + 40, q.y})
		p.mark(m, style.color, point{q.x + 20, q.y}, 3.2)
		p.middle(legendScript, point{q.x + 48, q.y}, l.Label)
	}
	y := b.y + s.legendHeight(p.ruler, b.w)
	rows := s.rows(p.ruler, b.w)
	fixed := 0.0
	for _, row := range rows {
		fixed += rowTop + rowGap + row.below
	}
	height := (b.bottom() - y - fixed) / float64(len(rows))
	values := s.extent()
	for _, row := range rows {
		v := scale{values.low, values.high, y + rowTop + height, y + rowTop}
		p.text(script{size: tickScript.size, color: p.soft}, point{b.x, y + 9}, s.unit())
		for k, f := range s.frames(p.ruler, row, b.w) {
			f.from, f.to = f.from+b.x, f.to+b.x
			s.panel(p, row.panels[k], f, v, k == 0)
			for n, l := range row.labels[k] {
				axis := f.at(s.Panels[row.panels[k]].Axes[n].X)
				s.axisLabel(p, l, point{b.x, v.from + rowGap}, axis)
			}
		}
		y += rowTop + height + rowGap + row.below
	}
}

// extent is the scale of speeds: the same on all sheets.
func (s *Speeds) extent() scale {
	if s.span != nil {
		return *s.span
	}
	values := []float64{0, s.factor()}
	for _, l := range s.Lines {
		for _, points := range l.Points {
			for _, r := range points {
				values = append(values, ends(r, s.factor())...)
			}
		}
	}
	low, high := around(0.08, values...)
	return scale{low: low, high: high}
}

func (s *Speeds) axisLabel(p *pen, l axisLabel, corner point, axis float64) {
	soft := memberScript
	soft.color = p.soft
	soft.anchor = 0.5
	head := axisScript
	head.anchor = 0.5
	q := point{corner.x + l.x, corner.y + l.y}
	if l.y > 0 || math.Abs(q.x-axis) > l.width/2 {
		p.stroke(line{p.faint, 0.7, nil}, point{axis, corner.y - 6}, point{axis, q.y - 1})
	}
	p.lines(soft, point{q.x, p.lines(head, q, []string{l.name})}, l.members)
}

// panel draws one panel: x places axes, v speeds.
func (s *Speeds) panel(p *pen, i int, x, v scale, numbers bool) {
	panel := s.Panels[i]
	left, right := x.from-10-s.beside(), x.to+10+s.beside()
	p.text(script{size: 9.5, bold: true, color: p.soft}, point{left, v.to - 10}, panel.Title)
	at, labels := ticks(v.low, v.high, 7)
	for k, value := range at {
		y := v.at(value)
		p.stroke(line{p.faint, 0.6, nil}, point{left, y}, point{right, y})
		if numbers {
			p.middle(script{size: tickScript.size, color: p.soft, anchor: 1}, point{left - 5, y}, labels[k])
		}
	}
	p.hatch(line{p.soft, 1.2, nil}, point{right, v.at(0)}, point{left, v.at(0)})
	for _, a := range panel.Axes {
		axis := line{p.soft, 0.9, nil}
		if a.Moved {
			axis.dash = []float64{4, 2.5}
		}
		p.stroke(axis, point{x.at(a.X), v.from + 4}, point{x.at(a.X), v.to - 2})
	}
	for k := range s.Lines {
		s.bars(p, k, i, x, v)
	}
	for k := range s.Lines {
		s.line(p, k, i, x, v)
	}
	if len(s.Lines) < manyLines || len(panel.Gearsets) == 0 {
		s.values(p, i, x, v)
	} else {
		s.tags(p, i, x, v)
	}
}

// bars draws where free members can be, line k on panel i.
func (s *Speeds) bars(p *pen, k, i int, x, v scale) {
	style, _ := s.look(p.theme, k)
	style.width = 2.6
	for n, r := range s.Lines[k].Points[i] {
		if r.Empty || !r.Free() {
			continue
		}
		at := x.at(s.Panels[i].Axes[n].X) + s.barOffset(i, n, k, x)
		end := func(b exact.Bound, edge float64, up float64) float64 {
			if b.Inf == 0 {
				y := v.at(b.Float() * s.factor())
				p.stroke(line{style.color, 1.6, nil}, point{at - 3.5, y}, point{at + 3.5, y})
				return y
			}
			p.arrow(style.color, point{at, edge}, 0, up, 9)
			return edge - up*7
		}
		low, high := end(r.Min, v.from+3, 1), end(r.Max, v.to-1, -1)
		p.stroke(style, point{at, low}, point{at, high})
		p.solids = append(p.solids, box{at - style.width/2, high, style.width, low - high})
	}
}

// barGap is the distance of the bars of free members on one axis.
const barGap = 4

// freeOn counts the lines that are free on an axis: those before line k, and all.
func (s *Speeds) freeOn(panel, axis, k int) (before, all int) {
	for i, l := range s.Lines {
		if r := l.Points[panel][axis]; r.Empty || !r.Free() {
			continue
		}
		all++
		if i < k {
			before++
		}
	}
	return before, all
}

// barOffset is how far beside axis n the bar of line k stands: closer where the next
// axis is close.
func (s *Speeds) barOffset(i, n, k int, x scale) float64 {
	before, all := s.freeOn(i, n, k)
	gap := float64(barGap)
	for _, o := range []int{n - 1, n} {
		if o >= 0 && o+1 < len(s.Panels[i].Axes) {
			gap = min(gap, s.step(i, o, x)/float64(all+1))
		}
	}
	return gap * (float64(before) - float64(all-1)/2)
}

// line draws line k across the axes of panel i.
func (s *Speeds) line(p *pen, k, i int, x, v scale) {
	style, m := s.look(p.theme, k)
	var points []point
	var rest []bool
	var axes []int
	for n, r := range s.Lines[k].Points[i] {
		if value := s.Value(r); !math.IsNaN(value) {
			points = append(points, point{x.at(s.Panels[i].Axes[n].X), v.at(value)})
			rest = append(rest, r.IsZero())
			axes = append(axes, n)
		}
	}
	if len(s.Panels[i].Gearsets) > 0 {
		p.stroke(style, points...)
	}
	for n, q := range points {
		if rest[n] {
			p.rest(style.color, q, s.resting(k, i, axes[n]))
			continue
		}
		p.mark(m, style.color, q, 3.4)
	}
}

// resting counts the lines before k that are at rest on an axis.
func (s *Speeds) resting(k, i, axis int) int {
	n := 0
	for _, l := range s.Lines[:k] {
		if l.Points[i][axis].IsZero() {
			n++
		}
	}
	return n
}

// rest marks a member at rest; each line has a square of its own size, so that
// several can be seen on one axis.
func (p *pen) rest(c color.Color, q point, k int) {
	r := 3.4 + 2.2*float64(k%4)
	corners := box{q.x - r, q.y - r, 2 * r, 2 * r}.corners()
	p.outline(line{p.paper, 3, nil}, corners...)
	p.outline(line{c, 1.5, nil}, corners...)
}

// A note is text beside a mark.
type note struct {
	y    float64
	text string
	ink  color.Color
}

// column writes notes at x, below one another where they would overlap. Notes
// of the same text at the same height are written once, in ink.
func (p *pen) column(s script, x float64, notes []note, low, high float64) {
	var once []note
	for _, n := range notes {
		same := func(o note) bool { return o.text == n.text && math.Abs(o.y-n.y) < 10.5 }
		if k := slices.IndexFunc(once, same); k >= 0 {
			once[k].ink = p.ink
			continue
		}
		once = append(once, n)
	}
	kinematics.Sort(once, func(a, b note) int { return cmp.Compare(a.y, b.y) })
	ys := kinematics.Map(once, func(n note) float64 { return n.y })
	for i, y := range apart(ys, s.points()*1.12, low, high) {
		s.color = once[i].ink
		p.masked(s, point{x, y}, once[i].text)
	}
}

// values writes the speeds beside the marks of panel i.
func (s *Speeds) values(p *pen, i int, x, v scale) {
	for n, a := range s.Panels[i].Axes {
		var notes []note
		for k, l := range s.Lines {
			style, _ := s.look(p.theme, k)
			value := s.Value(l.Points[i][n])
			if n+1 < len(l.Points[i]) && s.Value(l.Points[i][n+1]) == value && s.step(i, n, x) < enough {
				continue // the next axis, close by, says it
			}
			if !math.IsNaN(value) && value != 0 {
				y := v.at(value) + s.aside(l.Points[i], n)
				notes = append(notes, note{y, signed(value, s.RPM > 0), style.color})
			}
		}
		_, all := s.freeOn(i, n, 0)
		off := 7 + barGap*float64(max(all-1, 0))/2
		words, at := valueScript, x.at(a.X)+off
		if s.crowded(i, n, x) {
			words.anchor, at = 1, x.at(a.X)-off
		}
		if clear, ok := p.beyondBars(words, at, notes); ok {
			at = clear
		} else {
			words.anchor, at = 1-words.anchor, 2*x.at(a.X)-at
			at, _ = p.beyondBars(words, at, notes)
		}
		p.column(words, at, notes, v.to, v.from)
	}
}

// beyondBars moves a column of notes, which begins or ends at x, away from its axis
// until it stands on no bar of another axis and on no other text, if it can.
func (p *pen) beyondBars(s script, x float64, notes []note) (at float64, ok bool) {
	way := 1 - 2*s.anchor
	for k := range 12 {
		at = x + 3*way*float64(k)
		hit := slices.ContainsFunc(notes, func(n note) bool {
			w := p.width(s, n.text) + 3
			b := box{at - s.anchor*w - 1.5*way, n.y - s.points(), w, 2 * s.points()}
			return slices.ContainsFunc(p.solids, b.overlaps) ||
				slices.ContainsFunc(p.texts, func(t inked) bool { return t.box.overlaps(b) })
		})
		if !hit {
			return at, true
		}
	}
	return x, false
}

// enough is the distance of axes that leaves room for a speed between them.
const enough = 36

// step is the distance from axis n to the next.
func (s *Speeds) step(i, n int, x scale) float64 {
	axes := s.Panels[i].Axes
	return x.at(axes[n+1].X) - x.at(axes[n].X)
}

// crowded says that there is more room to the left of an axis for its speeds
// than to the right. To the left of the first axis stand the numbers of the scale.
func (s *Speeds) crowded(i, n int, x scale) bool {
	if n == 0 || n+1 == len(s.Panels[i].Axes) {
		return false
	}
	right := s.step(i, n, x)
	return right < enough && s.step(i, n-1, x) > right
}

// aside moves the speed beside mark n out of the way of the line to the next
// mark: up, or down where that line rises.
func (s *Speeds) aside(points []analysis.Speed, n int) float64 {
	here := s.Value(points[n])
	for _, r := range points[n+1:] {
		if next := s.Value(r); !math.IsNaN(next) {
			if next > here {
				return 5
			}
			return -5
		}
	}
	return 0
}

// tags writes the names of the ranges behind the last axis on which they are fixed.
func (s *Speeds) tags(p *pen, i int, x, v scale) {
	last := len(s.Panels[i].Axes) - 1
	var notes []note
	for k, l := range s.Lines {
		style, _ := s.look(p.theme, k)
		if value := s.Value(l.Points[i][last]); !math.IsNaN(value) {
			notes = append(notes, note{v.at(value), p.clip(tagScript, l.Tag, s.right(p.ruler)-s.beside()-15), style.color})
		}
	}
	p.column(tagScript, x.to+13+s.beside(), notes, v.to, v.from)
}

// slack is what the panels can do without.
func (s *Speeds) slack(r *ruler) float64 { return 90 * float64(len(s.rows(r, rowWidth))) }

// least is the size with the lowest panels, a row for each where a slide is too narrow.
func (s *Speeds) least(r *ruler) (w, h float64) {
	sides := s.left() + s.right(r)
	w = most(max(480, s.legendStep(r)-14), s.Panels, func(p Panel) float64 { return sides + 0.9*p.span() })
	h = s.legendHeight(r, w)
	high := max(leastPanel, 9.5*float64(len(s.Lines))) // the names of the lines stand behind them
	for _, row := range s.rows(r, w) {
		h += rowTop + high + rowGap + row.below
	}
	return w, h
}
