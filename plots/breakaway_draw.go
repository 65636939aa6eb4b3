package plots

import (
	"math"
	"slices"
	"strconv"
)

// Sizes of a breakaway drawing.
const (
	breakWidth  = 560
	breakHeight = 300
	breakLeft   = 46
	breakTop    = 24
	breakFoot   = 40
	breakLine   = 15 // of what stands below
)

// A breakRow is a line of what stands below the scales: the name of a chain, a piece
// of it, or both for a chain of one piece.
type breakRow struct {
	chain int // -1 for a piece alone
	name  string
	// number is that of the piece, 0 for none.
	number int
	piece  string
}

func (x breakRow) width(r *ruler) float64 {
	return 48 + r.width(chainScript, x.name) + 2*tagRadius + 15 + r.width(legendScript, x.piece) + 14
}

var chainScript = script{size: 9, bold: true}

// legend returns the rows of each chain.
func (b *Breakaway) legend() [][]breakRow {
	var blocks [][]breakRow
	for k, c := range b.Chains {
		head := breakRow{chain: k, name: c.Label}
		switch {
		case c.Missing != "":
			head.name += ": " + c.Missing
		case len(c.Pieces) == 1:
			head.number, head.piece = c.Pieces[0].Number, c.Pieces[0].title()
		}
		block := []breakRow{head}
		for _, p := range c.Pieces {
			if len(c.Pieces) > 1 {
				block = append(block, breakRow{chain: -1, number: p.Number, piece: p.title()})
			}
		}
		blocks = append(blocks, block)
	}
	return blocks
}

// columns parts the legend into as many columns as there is use and room for.
func (b *Breakaway) columns(r *ruler) (columns [][]breakRow, width, rows float64) {
	const most, few = 1000.0, 7
	blocks := b.legend()
	total := 0
	for _, block := range blocks {
		total += len(block)
		for _, row := range block {
			width = max(width, row.width(r))
		}
	}
	n := max(1, min(3, int(most/width), (total+few-1)/few))
	columns = make([][]breakRow, 1)
	for _, block := range blocks {
		last := len(columns) - 1
		if at := len(columns[last]); at > 0 && at+len(block) > (total+n-1)/n && last+1 < n {
			columns = append(columns, nil)
			last++
		}
		columns[last] = append(columns[last], block...)
	}
	for _, c := range columns {
		rows = max(rows, float64(len(c)))
	}
	return columns, width, rows
}

// title is a piece in words.
func (c ChainPiece) title() string { return "from resistance " + plain(c.From) + ": " + c.Words }

func plain(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

func (b *Breakaway) size(r *ruler) (w, h float64) {
	columns, width, rows := b.columns(r)
	return max(breakLeft+breakWidth+b.right(r), width*float64(len(columns))),
		breakTop + breakHeight + breakFoot + breakLine*rows
}

// right is the room for what is named at the right end of the scales.
func (b *Breakaway) right(r *ruler) float64 {
	if b.Torque == 0 {
		return 40 + b.staggered()
	}
	return 26 + 2*b.staggered() + r.width(tickScript, b.available())
}

func (b *Breakaway) available() string {
	return "available: " + b.Answer.Unit.Number(b.Answer.Torques.Available)
}

func (b *Breakaway) look(t *theme, k int) (line, mark) {
	c := b.Chains[k]
	if c.Faulty {
		return line{t.series[k%len(t.series)], 2.2, nil}, mark(k % 4)
	}
	return line{t.series[k%len(t.series)], 1.6, dashes[1+k%(len(dashes)-1)]}, mark(k % 4)
}

func (b *Breakaway) draw(p *pen, page box) {
	columns, _, rows := b.columns(p.ruler)
	foot := breakFoot + breakLine*rows
	x := scale{0, b.UpTo, page.x + breakLeft, page.right() - b.right(p.ruler)}
	y := scale{0, b.high(), page.bottom() - foot, page.y + breakTop}
	b.ground(p, x, y)
	ways := make([][]point, len(b.Chains))
	for k := range b.Chains {
		ways[k] = b.way(k, x, y)
		style, m := b.look(p.theme, k)
		p.stroke(style, ways[k]...)
		for i := 2; i < len(ways[k]); i += 2 {
			p.mark(m, style.color, ways[k][i], 3.4)
		}
	}
	b.ends(p, ways, x, y)
	b.tags(p, ways, x, y)
	step := page.w / float64(len(columns))
	for c, column := range columns {
		for i, row := range column {
			b.row(p, row, point{page.x + step*float64(c), y.from + breakFoot + breakLine*float64(i)})
		}
	}
}

// high is where the scale of torque ends: on all sheets at the same.
func (b *Breakaway) high() float64 {
	if b.top > 0 {
		return b.top
	}
	values := []float64{0, b.Torque}
	for _, c := range b.Chains {
		for _, piece := range c.Pieces {
			if piece.From <= b.UpTo {
				values = append(values, piece.Torque, piece.at(min(piece.To, b.UpTo)))
			}
		}
	}
	_, high := around(0.06, values...)
	return high
}

// row writes a row of the legend.
func (b *Breakaway) row(p *pen, row breakRow, q point) {
	left := q.x + 48
	if row.chain >= 0 {
		style, m := b.look(p.theme, row.chain)
		p.stroke(style, q, point{q.x + 40, q.y})
		p.mark(m, style.color, point{q.x + 20, q.y}, 3)
		left = p.middle(chainScript, point{left, q.y}, row.name).right() + 10
	}
	if row.number > 0 {
		q.x = left + tagRadius
		p.tag(line{p.soft, 0.8, nil}, row.number, q)
		p.middle(legendScript, point{q.x + tagRadius + 5, q.y}, row.piece)
	}
}

// way is a chain on the page: two points for each piece.
func (b *Breakaway) way(k int, x, y scale) []point {
	var points []point
	for _, piece := range b.Chains[k].Pieces {
		if piece.From > b.UpTo {
			break
		}
		to := min(piece.To, b.UpTo)
		points = append(points, point{x.at(piece.From), y.at(piece.Torque)}, point{x.at(to), y.at(piece.at(to))})
	}
	return points
}

// ends puts the numbers of the last pieces that are drawn, and the torque that is
// available, at the right end of the scales.
func (b *Breakaway) ends(p *pen, ways [][]point, x, y scale) {
	var chains []int
	var wanted []float64
	for k, way := range ways {
		if n := len(way); n > 0 {
			chains, wanted = append(chains, k), append(wanted, way[n-1].y)
		}
	}
	if b.Torque > 0 {
		chains, wanted = append(chains, -1), append(wanted, y.at(b.Torque))
	}
	rows, second := 2*tagRadius+1.0, b.staggered()
	if second > 0 {
		rows /= 2
	}
	places := apart(wanted, rows, y.to, y.from)
	for n, i := range ascending(places) {
		q := point{x.to + 11 + tagRadius + second*float64(n%2), places[i]}
		p.stroke(line{p.faint, 0.7, nil}, point{x.to, wanted[i]}, point{x.to + 6, q.y}, q)
		if k := chains[i]; k < 0 {
			p.middle(tickScript, point{x.to + 12 + 2*second, q.y}, b.available())
		} else {
			b.tag(p, k, len(ways[k])/2-1, q)
		}
	}
}

// staggered is the distance of a second column of numbers at the right end, 0 where
// one is enough.
func (b *Breakaway) staggered() float64 {
	if len(b.Chains) < 14 {
		return 0
	}
	return 2*tagRadius + 3
}

// tags puts the numbers of all other pieces onto them, where other chains are furthest.
func (b *Breakaway) tags(p *pen, ways [][]point, x, y scale) {
	// The numbers of the scales and their names are taken.
	taken := []box{{x.from - breakLeft, y.to - breakLeft, breakLeft, y.from - y.to + breakLeft},
		{x.from - breakLeft, y.from + 2, x.to - x.from + 2*breakLeft, breakFoot},
		{x.from - breakLeft, y.to - 24, p.width(tickScript, b.scaleName()), 19}}
	for _, way := range ways {
		for i := 2; i < len(way); i += 2 {
			taken = append(taken, box{way[i].x - 5, way[i].y - 5, 10, 10})
		}
	}
	for k, way := range ways {
		for i := 0; i+3 < len(way); i += 2 {
			if way[i] == way[i+1] {
				continue
			}
			q := onPiece(way[i], way[i+1], taken, func(tag box) bool { return crossed(ways, k, tag) })
			p.stroke(line{p.faint, 0.7, nil}, point{(way[i].x + way[i+1].x) / 2, (way[i].y + way[i+1].y) / 2}, q)
			taken = append(taken, tagBox(q))
			b.tag(p, k, i/2, q)
		}
	}
}

func (b *Breakaway) scaleName() string { return "input torque needed, " + b.Answer.Unit.Name() }

// crossed says whether a chain other than k passes through a box.
func crossed(ways [][]point, k int, b box) bool {
	for o, way := range ways {
		for i := 1; i < len(way); i++ {
			if o != k && meets(way[i-1], way[i], b) {
				return true
			}
		}
	}
	return false
}

// tag draws the number of a piece in a circle.
func (b *Breakaway) tag(p *pen, k, piece int, q point) {
	style, _ := b.look(p.theme, k)
	p.tag(line{style.color, 1, nil}, b.Chains[k].Pieces[piece].Number, q)
}

// tag draws a number in a circle.
func (p *pen) tag(rim line, number int, q point) {
	p.disc(p.paper, q, tagRadius)
	p.solids = append(p.solids, tagBox(q))
	p.circle(rim, q, tagRadius)
	p.middle(script{size: 8, bold: true, anchor: 0.5}, q, strconv.Itoa(number))
}

func (b *Breakaway) ground(p *pen, x, y scale) {
	soft := script{size: tickScript.size, color: p.soft}
	p.text(soft, point{x.from - breakLeft, y.to - 14}, b.scaleName())
	center := soft
	center.anchor = 0.5
	p.levels(x, y, 7, 0.6)
	at, labels := ticks(x.low, x.high, 8)
	for k, v := range at {
		p.stroke(line{p.faint, 0.6, nil}, point{x.at(v), y.from}, point{x.at(v), y.to})
		p.middle(center, point{x.at(v), y.from + 9}, labels[k])
	}
	p.middle(center, point{(x.from + x.to) / 2, y.from + 22},
		"resistance of the vehicle at the output, "+b.Answer.Unit.Name())
	p.stroke(line{p.soft, 0.9, nil}, point{x.from, y.to}, point{x.from, y.from}, point{x.to, y.from})
	if b.Torque == 0 {
		return
	}
	p.stroke(line{p.ink, 1, []float64{8, 3, 2, 3}}, point{x.from, y.at(b.Torque)}, point{x.to, y.at(b.Torque)})
}

// tagRadius is that of the circle around a number.
const tagRadius = 6.5

func tagBox(q point) box { return box{q.x - tagRadius, q.y - tagRadius, 2 * tagRadius, 2 * tagRadius} }

// onPiece finds a place for a tag on the line from a to z or beside it, near its
// middle and away from what is taken; if it can be, where no other chain passes.
func onPiece(a, z point, taken []box, crossed func(box) bool) point {
	length := math.Hypot(z.x-a.x, z.y-a.y)
	second := point{}
	found := false
	for _, side := range []float64{0, 16, -16, 30, -30, 44, -44} {
		for k := range 19 { // shares of the line: 0.5, 0.45, 0.55, 0.4 ...
			share := 0.5 + 0.05*fan(k)/fanStep
			q := point{a.x + share*(z.x-a.x) + side*(z.y-a.y)/length, a.y + share*(z.y-a.y) - side*(z.x-a.x)/length}
			switch tag := tagBox(q); {
			case slices.ContainsFunc(taken, tag.overlaps):
			case !crossed(tag):
				return q
			case !found:
				second, found = q, true
			}
		}
		if found {
			return second
		}
	}
	return point{(a.x + z.x) / 2, (a.y + z.y) / 2}
}

// slack is what the scales can do without.
func (b *Breakaway) slack(*ruler) float64 { return 90 }

// least is the size with the smallest scales.
func (b *Breakaway) least(r *ruler) (w, h float64) {
	columns, width, _ := b.columns(r)
	_, h = b.size(r)
	return max(breakLeft+280+b.right(r), width*float64(len(columns))), h - breakHeight + 80
}
