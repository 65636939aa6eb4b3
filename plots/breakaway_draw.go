package plots

import (
	"fmt"
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
)

// lines returns what stands below the scales: a line for each chain and each piece.
func (b *Breakaway) lines() (texts []string, chain []int) {
	for k, c := range b.Chains {
		label := c.Label
		switch {
		case c.Missing != "":
			label += ": " + c.Missing
		case len(c.Pieces) == 0:
			label += ": nothing can slip, something must break"
		}
		texts, chain = append(texts, label), append(chain, k)
		for _, p := range c.Pieces {
			texts, chain = append(texts, p.title()), append(chain, -1)
		}
	}
	return texts, chain
}

// title is a piece in words, with its numbers.
func (c ChainPiece) title() string {
	return fmt.Sprintf("%d   from resistance %s: %s", c.Number, plain(c.From), c.Words())
}

func plain(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

func (b *Breakaway) size(r *ruler) (w, h float64) {
	texts, _ := b.lines()
	return max(breakLeft+breakWidth+30, r.widest(legendScript, texts...)+70),
		breakTop + breakHeight + breakFoot + legendLine*float64(len(texts))
}

func (b *Breakaway) look(t *theme, k int) (line, mark) {
	c := b.Chains[k]
	if c.Faulty {
		return line{t.series[k%len(t.series)], 2.2, nil}, mark(k % 4)
	}
	return line{t.series[k%len(t.series)], 1.6, dashes[1+k%(len(dashes)-1)]}, mark(k % 4)
}

func (b *Breakaway) draw(p *pen, page box) {
	texts, chains := b.lines()
	foot := breakFoot + legendLine*float64(len(texts))
	values := []float64{0, b.Torque}
	for _, c := range b.Chains {
		for _, piece := range c.Pieces {
			if piece.From <= b.UpTo {
				values = append(values, piece.Torque, piece.at(min(piece.To, b.UpTo)))
			}
		}
	}
	_, high := around(0.06, values...)
	x := scale{0, b.UpTo, page.x + breakLeft, page.right() - 30}
	y := scale{0, high, page.bottom() - foot, page.y + breakTop}
	b.ground(p, x, y)
	var taken []box
	for _, t := range p.texts {
		taken = append(taken, t.box)
	}
	for k := range b.Chains {
		taken = b.chain(p, k, x, y, taken)
	}
	at := y.from + breakFoot
	for i, text := range texts {
		left := page.x + 56
		if k := chains[i]; k >= 0 {
			style, m := b.look(p.theme, k)
			p.stroke(style, point{page.x, at}, point{page.x + 40, at})
			p.mark(m, style.color, point{page.x + 20, at}, 3)
			left = page.x + 48
			p.middle(script{size: 9, bold: true}, point{left, at}, text)
		} else {
			p.middle(legendScript, point{left, at}, text)
		}
		at += legendLine
	}
}

func (b *Breakaway) ground(p *pen, x, y scale) {
	unit := b.Unit.Name()
	soft := script{size: tickScript.size, color: p.soft}
	p.text(soft, point{x.from - breakLeft, y.to - 14}, "input torque needed, "+unit)
	right, center := soft, soft
	right.anchor, center.anchor = 1, 0.5
	at, labels := ticks(y.low, y.high, 7)
	for k, v := range at {
		p.stroke(line{p.faint, 0.6, nil}, point{x.from, y.at(v)}, point{x.to, y.at(v)})
		p.middle(right, point{x.from - 5, y.at(v)}, labels[k])
	}
	at, labels = ticks(x.low, x.high, 8)
	for k, v := range at {
		p.stroke(line{p.faint, 0.6, nil}, point{x.at(v), y.from}, point{x.at(v), y.to})
		p.middle(center, point{x.at(v), y.from + 9}, labels[k])
	}
	p.middle(center, point{(x.from + x.to) / 2, y.from + 22}, "resistance of the vehicle at the output, "+unit)
	p.stroke(line{p.soft, 0.9, nil}, point{x.from, y.to}, point{x.from, y.from}, point{x.to, y.from})
	if b.Torque == 0 {
		return
	}
	p.stroke(line{p.ink, 1, []float64{8, 3, 2, 3}}, point{x.from, y.at(b.Torque)}, point{x.to, y.at(b.Torque)})
	p.masked(script{size: 8, anchor: 1}, point{x.to, y.at(b.Torque) - 7}, "available: "+b.Unit.Number(b.Available))
}

// chain draws a chain with its switching points and the numbers of its pieces,
// which keep away from what is taken.
func (b *Breakaway) chain(p *pen, k int, x, y scale, taken []box) []box {
	style, m := b.look(p.theme, k)
	c := b.Chains[k]
	var points []point
	for _, piece := range c.Pieces {
		if piece.From > b.UpTo {
			break
		}
		to := min(piece.To, b.UpTo)
		points = append(points, point{x.at(piece.From), y.at(piece.Torque)}, point{x.at(to), y.at(piece.at(to))})
	}
	p.stroke(style, points...)
	for i := 2; i < len(points); i += 2 {
		p.mark(m, style.color, points[i], 3.4)
	}
	for i, piece := range c.Pieces {
		if 2*i+1 >= len(points) {
			break
		}
		a, z := points[2*i], points[2*i+1]
		if a == z {
			continue
		}
		q := beside(a, z, taken, box{x.from, y.to - 2*tagRadius, x.to - x.from, y.from - y.to + 2*tagRadius})
		taken = append(taken, tagBox(q))
		p.disc(p.paper, q, tagRadius)
		p.circle(line{style.color, 1, nil}, q, tagRadius)
		p.middle(script{size: 8, bold: true, anchor: 0.5}, q, strconv.Itoa(piece.Number))
	}
	return taken
}

// tagRadius is that of the circle around a number.
const tagRadius = 6.5

func tagBox(q point) box { return box{q.x - tagRadius, q.y - tagRadius, 2 * tagRadius, 2 * tagRadius} }

// beside finds a place for a tag beside the line from a to z, near its middle,
// in the room and away from what is taken.
func beside(a, z point, taken []box, room box) point {
	length := math.Hypot(z.x-a.x, z.y-a.y)
	for _, side := range []float64{9, -9, 23, -23, 37} {
		for k := range 19 { // shares of the line: 0.5, 0.45, 0.55, 0.4 ...
			share := 0.5 + 0.05*fan(k)/fanStep
			q := point{a.x + share*(z.x-a.x) + side*(z.y-a.y)/length, a.y + share*(z.y-a.y) - side*(z.x-a.x)/length}
			if tag := tagBox(q); room.holds(tag) && !slices.ContainsFunc(taken, tag.overlaps) {
				return q
			}
		}
	}
	return point{(a.x + z.x) / 2, (a.y+z.y)/2 - 9}
}
