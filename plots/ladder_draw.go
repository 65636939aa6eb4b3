package plots

import (
	"fmt"
	"image/color"
	"slices"

	"tieup/kinematics/analysis"
)

// Sizes of the parts of a ladder.
const (
	ladderWidth  = 560 // of the scales, without numbers and names
	ladderHeight = 280
	slipHeight   = 150
	ladderLeft   = 46
	ladderTop    = 48 // steps and names of the ranges
	ladderGap    = 40 // between the two scales
	nameHeight   = 36 // of the name of a scale above it
	ladderFoot   = 34 // numbers and name of the output speed
	slipTop      = 24 // above slips that stand alone
)

var seriesScript = script{size: 8}

func (l *Ladder) labelWidth(r *ruler) float64 {
	w := most(r.width(script{size: 8, bold: true}, l.Input.Label+", input"), slices.Concat(l.Members, l.Slips),
		func(s analysis.Series) float64 { return r.width(seriesScript, s.Label) })
	return min(w, 170) + 26
}

func (l *Ladder) size(r *ruler) (w, h float64) {
	h = ladderTop + ladderHeight + ladderFoot
	if l.slipsAlone {
		return ladderLeft + ladderWidth + l.labelWidth(r), slipTop + slipHeight + ladderFoot
	}
	if len(l.Slips) > 0 {
		h += ladderGap + slipHeight
	}
	return ladderLeft + ladderWidth + l.labelWidth(r), h
}

func (l *Ladder) unit() string {
	if l.RPM {
		return "turns per minute"
	}
	return "shares of the shift speed"
}

func (l *Ladder) draw(p *pen, b box) {
	spare := b.h - ladderTop - ladderFoot
	upper := spare
	if len(l.Slips) > 0 {
		upper = (spare - ladderGap) * ladderHeight / (ladderHeight + slipHeight)
	}
	x := scale{0, l.Rungs[len(l.Rungs)-1].To, b.x + ladderLeft, b.right() - l.labelWidth(p.ruler)}
	main := slices.Concat([]analysis.Series{l.Input}, l.Members)
	low, high := extremes(main)
	y := scale{low, high, b.y + ladderTop + upper, b.y + ladderTop}
	slips := y.from + ladderGap
	if l.slipsAlone {
		slips = b.y + slipTop
	} else {
		l.ground(p, x, y, "speed, "+l.unit(), nameHeight)
		l.lines(p, x, y, l.Members, 1)
		l.saw(p, x, y)
		l.names(p, x, y, main, true)
	}
	if len(l.Slips) > 0 {
		low, high := extremes(l.Slips)
		y = scale{min(low, 0), high, b.bottom() - ladderFoot, slips}
		l.ground(p, x, y, "slip, "+l.unit(), 18)
		l.lines(p, x, y, l.Slips, 0)
		l.names(p, x, y, l.Slips, false)
	}
	at, labels := ticks(0, x.high, 8)
	for k, v := range at {
		p.middle(script{size: tickScript.size, color: p.soft, anchor: 0.5}, point{x.at(v), y.from + 9}, labels[k])
	}
	p.middle(script{size: tickScript.size, color: p.soft, anchor: 0.5}, point{(x.from + x.to) / 2, y.from + 23},
		"output speed, "+l.unit())
}

// extremes returns the bounds of some series, 0 among them.
func extremes(list []analysis.Series) (low, high float64) {
	values := []float64{0}
	for _, s := range list {
		for _, p := range s.Pieces {
			if !p.Absent {
				values = append(values, p.Start, p.Value)
			}
		}
	}
	return around(0.04, values...)
}

// ground draws the scales: a line for each value and for each shift.
func (l *Ladder) ground(p *pen, x, y scale, name string, above float64) {
	p.text(script{size: tickScript.size, color: p.soft}, point{x.from - ladderLeft, y.to - above}, name)
	p.levels(x, y, 7, 1.6)
	p.stroke(line{p.soft, 0.9, nil}, point{x.from, y.from}, point{x.from, y.to})
	p.stroke(line{p.soft, 0.9, nil}, point{x.from, y.from}, point{x.to, y.from})
	for _, g := range l.Rungs {
		p.stroke(line{p.faint, 0.9, []float64{3, 3}}, point{x.at(g.To), y.from}, point{x.at(g.To), y.to})
	}
}

// look is how series i is drawn: in the colour of its body, a slip in ink.
func (l *Ladder) look(t *theme, s *analysis.Series, i int) (line, mark) {
	round := i / len(dashes)
	return line{t.hue(l.hues, s.Body), 1.4, dashes[i%len(dashes)]}, mark((i + round) % int(marks))
}

// lines draws series, each with a mark in the middle of its pieces; first is the
// number of the first look.
func (l *Ladder) lines(p *pen, x, y scale, list []analysis.Series, first int) {
	for i, s := range list {
		style, m := l.look(p.theme, &s, i+first)
		for _, piece := range s.Pieces {
			if !piece.Absent {
				p.stroke(style, point{x.at(piece.From), y.at(piece.Start)}, point{x.at(piece.To), y.at(piece.Value)})
			}
		}
		for _, piece := range s.Pieces {
			if !piece.Absent {
				p.mark(m, style.color, point{x.at(0.5 * (piece.From + piece.To)), y.at(0.5 * (piece.Start + piece.Value))}, 2.6)
			}
		}
	}
}

// saw draws the input with its steps.
func (l *Ladder) saw(p *pen, x, y scale) {
	style := line{p.hue(l.hues, l.Input.Body), 2.4, nil}
	for i, piece := range l.Input.Pieces {
		top := point{x.at(piece.To), y.at(piece.Value)}
		p.stroke(style, point{x.at(piece.From), y.at(piece.Start)}, top)
		if i+1 < len(l.Input.Pieces) {
			p.stroke(line{style.color, 1.4, []float64{3, 2}}, top, point{top.x, y.at(l.Input.Pieces[i+1].Start)})
		}
	}
	l.heads(p, x, y)
}

// heads writes the names of the ranges above the scale and, above the shifts between
// them, the steps, by turns in two rows where shifts are close.
func (l *Ladder) heads(p *pen, x, y scale) {
	steps := script{size: 7.5, anchor: 0.5, color: p.soft}
	narrow := false
	for i, g := range l.Rungs {
		p.text(script{size: 9, bold: true, anchor: 0.5}, point{(x.at(g.From) + x.at(g.To)) / 2, y.to - 6}, g.Range)
		narrow = narrow || i > 0 && i+1 < len(l.Rungs) && x.at(g.To)-x.at(g.From) < 24
	}
	for i, g := range l.Rungs[:len(l.Rungs)-1] {
		high := y.to - 18
		if narrow && i%2 == 1 {
			high -= 10
		}
		p.stroke(line{p.faint, 0.9, []float64{3, 3}}, point{x.at(g.To), y.to}, point{x.at(g.To), high + 3})
		p.text(steps, point{x.at(g.To), high}, fmt.Sprintf("%.2f", g.Step))
	}
}

// names writes the names of series at the right, each with its line and mark.
func (l *Ladder) names(p *pen, x, y scale, list []analysis.Series, input bool) {
	var wanted []float64
	for _, s := range list {
		last := y.at(0)
		for _, piece := range s.Pieces {
			if !piece.Absent {
				last = y.at(piece.Value)
			}
		}
		wanted = append(wanted, last)
	}
	room := l.labelWidth(p.ruler) - 26
	for i, at := range apart(wanted, 10.5, y.to, y.from) {
		s := list[i]
		var ink color.Color = p.hue(l.hues, s.Body)
		style, m := line{ink, 2.4, nil}, mark(-1)
		words := script{size: 8, bold: true}
		label := s.Label + ", input"
		if !input || i > 0 {
			style, m = l.look(p.theme, &s, i)
			ink, words, label = style.color, seriesScript, s.Label
		}
		words.color = ink
		if !s.Pieces[len(s.Pieces)-1].Absent {
			p.stroke(line{p.faint, 0.7, nil}, point{x.to, wanted[i]}, point{x.to + 6, at})
		}
		p.stroke(style, point{x.to + 6, at}, point{x.to + 22, at})
		if m >= 0 {
			p.mark(m, ink, point{x.to + 14, at}, 2.6)
		}
		p.middle(words, point{x.to + 26, at}, p.clip(words, label, room))
	}
}

// slack is what the scales can do without.
func (l *Ladder) slack(*ruler) float64 { return 100 }

// least is the size with the smallest scales.
func (l *Ladder) least(r *ruler) (w, h float64) {
	w, h = l.size(r)
	if !l.slipsAlone {
		h -= ladderHeight - max(110, 10.5*float64(len(l.Members)+1))
	}
	return w - ladderWidth + 300, h
}
