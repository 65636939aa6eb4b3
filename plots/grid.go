package plots

// A grid is a table picture: a head for each column, a head for each row, and
// cells with a sign and words.
type grid struct {
	corner string
	heads  []string
	rows   []gridRow
	column float64 // least width of the columns
	extra  float64 // what each row is higher than it need be
}

type gridRow struct {
	name, below string
	cells       []gridCell
	// gap sets the row off from the one above, section gives the words there.
	gap     bool
	section string
}

// A gridCell shows a sign and lines of words. Alarm cells are framed.
type gridCell struct {
	sign  sign
	text  string
	bold  bool
	soft  bool
	alarm bool
}

// A sign is the shape in a cell.
type sign int

// The signs.
const (
	noSign sign = iota
	fullDisc
	fullTriangle
	openTriangle
	openDisc
	smallDisc
	fullSquare
	fullDiamond
	bigCross
)

var (
	gridScript  = script{size: 8.5}
	gridStrong  = script{size: 8.5, bold: true}
	belowScript = script{size: 7.5}
)

// Sizes of a grid.
const (
	headHeight = 19
	cellRim    = 4
	signRoom   = 14
	lineStep   = 10.5
	sectionGap = 18
	mostExtra  = 16
	rowGapGrid = 7
)

func (c gridCell) script() script {
	if c.bold {
		return gridStrong
	}
	return gridScript
}

func (c gridCell) lines(r *ruler, width float64) []string {
	if c.text == "" {
		return nil
	}
	return r.wrap(c.script(), c.text, width-c.beside())
}

// beside is what of the width of a cell its words do not have.
func (c gridCell) beside() float64 {
	if c.sign == noSign {
		return 2 * cellRim
	}
	return 2*cellRim + signRoom
}

func (g *grid) sideWidth(r *ruler) float64 {
	return 3*cellRim + most(r.width(gridStrong, g.corner), g.rows, func(row gridRow) float64 {
		return max(r.width(gridStrong, row.name), r.width(belowScript, row.below))
	})
}

// rowHeight is the height of a row whose cells have a width.
func (g *grid) rowHeight(r *ruler, row gridRow, width float64) float64 {
	n := most(1, row.cells, func(c gridCell) float64 { return float64(len(c.lines(r, width))) })
	h := n*lineStep + 2*cellRim + 1
	if row.below != "" {
		h = max(h, 2*lineStep+2*cellRim-1)
	}
	return h + g.extra
}

// above is the room above a row.
func (g *grid) above(row gridRow) float64 {
	switch {
	case row.section != "":
		return sectionGap
	case row.gap:
		return rowGapGrid
	}
	return 0
}

// widest is the least width of the columns at which no word is broken.
func (g *grid) widest(r *ruler) float64 {
	w := most(g.column, g.heads, func(h string) float64 { return r.width(gridStrong, h) + 2*cellRim })
	for _, row := range g.rows {
		for _, c := range row.cells {
			if lines := c.lines(r, g.column); lines != nil {
				w = max(w, r.widest(c.script(), lines...)+c.beside())
			}
		}
	}
	return w
}

// size returns the least size of the grid if it is at least so wide.
func (g *grid) size(r *ruler, width float64) (w, h float64) {
	side, column := g.columns(r, width)
	h = headHeight
	for _, row := range g.rows {
		h += g.above(row) + g.rowHeight(r, row, column)
	}
	return side + column*float64(len(g.heads)), h
}

// columns returns the width of the names of the rows and of each column on a
// width: no less than they need and no more than twice that.
func (g *grid) columns(r *ruler, width float64) (side, column float64) {
	side = g.sideWidth(r)
	least := g.widest(r)
	return side, min(max((width-side)/float64(len(g.heads)), least), 2*least)
}

// draw draws the grid from the upper left corner of b, its rows higher where b is
// higher than the grid.
func (g *grid) draw(p *pen, b box) {
	side, column := g.columns(p.ruler, b.w)
	if _, h := g.size(p.ruler, b.w); b.h > h {
		g.extra = min((b.h-h)/float64(len(g.rows)), mostExtra)
	}
	width := side + column*float64(len(g.heads))
	p.strokes(line{p.faint, 0.7, nil}, g.rules(p.ruler, b, side, column)...)
	y := b.y
	head := box{b.x, y, width, headHeight}
	p.fill(p.wash, head.corners()...)
	p.middle(gridStrong, point{b.x + cellRim, y + head.h/2}, g.corner)
	for k, h := range g.heads {
		center := gridStrong
		center.anchor = 0.5
		p.middle(center, point{b.x + side + column*(float64(k)+0.5), y + head.h/2}, h)
	}
	y = head.bottom()
	for _, row := range g.rows {
		if row.section != "" {
			p.text(script{size: 8.5, bold: true, color: p.soft}, point{b.x + cellRim, y + sectionGap - 5}, row.section)
		}
		y += g.above(row)
		h := g.rowHeight(p.ruler, row, column)
		if row.below == "" {
			p.middle(gridStrong, point{b.x + cellRim, y + h/2}, row.name)
		} else {
			p.middle(gridStrong, point{b.x + cellRim, y + h/2 - 5}, row.name)
			p.middle(script{size: belowScript.size, color: p.soft}, point{b.x + cellRim, y + h/2 + 5}, row.below)
		}
		for k, c := range row.cells {
			p.cell(c, box{b.x + side + column*float64(k), y, column, h})
		}
		y += h
	}
}

// rules are the lines between the cells.
func (g *grid) rules(r *ruler, b box, side, column float64) [][2]point {
	var list [][2]point
	y := b.y + headHeight
	right := b.x + side + column*float64(len(g.heads))
	for k := range g.heads {
		x := b.x + side + column*float64(k)
		list = append(list, [2]point{{x, b.y}, {x, y}})
	}
	for i, row := range g.rows {
		if i == 0 || g.above(row) > 0 {
			y += g.above(row)
			list = append(list, [2]point{{b.x, y}, {right, y}})
		}
		below := y + g.rowHeight(r, row, column)
		for k := range g.heads {
			x := b.x + side + column*float64(k)
			list = append(list, [2]point{{x, y}, {x, below}})
		}
		list = append(list, [2]point{{b.x, below}, {right, below}})
		y = below
	}
	return list
}

// cell draws a cell.
func (p *pen) cell(c gridCell, b box) {
	style := c.script()
	style.color = p.ink
	switch {
	case c.alarm:
		inner := box{b.x + 1, b.y + 1, b.w - 2, b.h - 2}
		p.fill(p.alarmWash, inner.corners()...)
		p.outline(line{p.alarm, 1, nil}, inner.corners()...)
	case c.soft:
		style.color = p.soft
	}
	lines := c.lines(p.ruler, b.w)
	width := p.widest(style, lines...)
	x := b.x + b.w/2 - width/2
	if c.sign != noSign {
		if width > 0 {
			x += signRoom / 2
		}
		ink := p.ink
		if c.alarm {
			ink = p.alarm
		}
		at := point{x - signRoom/2, b.y + b.h/2}
		if width == 0 {
			at.x = b.x + b.w/2
		}
		p.sign(c.sign, line{color: ink, width: 1.4}, at)
	}
	y := b.y + b.h/2 - float64(len(lines)-1)/2*lineStep
	if c.sign == noSign {
		x, style.anchor = b.x+b.w/2, 0.5
	}
	for _, l := range lines {
		p.middle(style, point{x, y}, l)
		y += lineStep
	}
}

// sign draws a sign with its centre at q.
func (p *pen) sign(s sign, l line, q point) {
	const r = 4
	up := []point{{q.x, q.y - r}, {q.x + r, q.y + 0.8*r}, {q.x - r, q.y + 0.8*r}}
	switch s {
	case fullDisc:
		p.disc(l.color, q, r)
	case openDisc:
		p.circle(l, q, r-0.6)
	case smallDisc:
		p.disc(l.color, q, 1.3)
	case fullTriangle:
		p.fill(l.color, up...)
	case openTriangle:
		p.outline(l, up...)
	case fullSquare:
		p.fill(l.color, box{q.x - r + 0.4, q.y - r + 0.4, 2*r - 0.8, 2*r - 0.8}.corners()...)
	case fullDiamond:
		p.fill(l.color, point{q.x, q.y - r - 0.6}, point{q.x + r + 0.6, q.y}, point{q.x, q.y + r + 0.6},
			point{q.x - r - 0.6, q.y})
	case bigCross:
		l.width = 1.8
		p.stroke(l, point{q.x - r + 0.8, q.y - r + 0.8}, point{q.x + r - 0.8, q.y + r - 0.8})
		p.stroke(l, point{q.x - r + 0.8, q.y + r - 0.8}, point{q.x + r - 0.8, q.y - r + 0.8})
	}
}
