package plots

import (
	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// ReportPage draws a report of a case: its words, and its half-section.
func ReportPage(x *analysis.Report) *Report { return &Report{Report: x, section: ReportSection(x)} }

// ReportSection draws the half-section of a report, with what it is about framed.
func ReportSection(x *analysis.Report) *Sections {
	d := HalfSection(x.Drawing)
	d.framed = x.Framed
	for i := range d.States {
		d.States[i].Label = ""
		for e := range d.States[i].Elements {
			d.States[i].Elements[e].Contradicts = x.Mark[e]
		}
		for c := range x.Mark {
			if k := &x.Train.Couplings[c]; k.Kind == kinematics.Spline {
				d.States[i].Loaded[k.A] = true
			}
		}
	}
	return d
}

// Upright is a sheet of A4 paper that stands.
func Upright() Size { return Size{Width: shortA4, Height: longA4} }

// A Report is a page of a case.
type Report struct {
	*analysis.Report

	section *Sections
}

// Sizes of a report, at its natural size.
const (
	reportWidth = 520
	boxSide     = 8
	boxIndent   = 16
)

var (
	reportHeading = script{size: 11, bold: true}
	reportText    = script{size: 9.5}
	reportSmall   = script{size: 8.5}
)

func (x *Report) heading() heading {
	h := heading{train: x.Train, title: x.Title, subtitle: titleOf(x.Train), cautions: x.Cautions}
	if x.Vehicle != "" {
		h.subtitle = x.Vehicle + " – " + h.subtitle
	}
	if x.Framed != "" {
		h.notes = append(h.notes, x.Framed)
	}
	return h
}

// block is a run of lines in one script, at an indent.
type block struct {
	script script
	indent float64
	box    string // of its first line
	lines  []string
	above  float64
}

// blocks breaks the words into lines of a width.
func (x *Report) blocks(r *ruler, width float64) []block {
	var list []block
	add := func(s script, indent, above float64, mark, text string) {
		list = append(list, block{s, indent, mark, r.wrap(s, text, width-indent), above})
	}
	for _, s := range x.Sections {
		add(reportHeading, 0, 9, "", s.Heading)
		for _, l := range s.Lines {
			indent := 0.0
			if l.Box != "" {
				indent = boxIndent
			}
			add(reportText, indent, 3, l.Box, l.Text)
			for _, f := range l.Further {
				add(reportSmall, indent+10, 1, "", f)
			}
		}
	}
	return list
}

func (b block) height() float64 { return b.above + leading*b.script.points()*float64(len(b.lines)) }

func (x *Report) size(r *ruler) (w, h float64) {
	sw, sh := x.section.size(r)
	w = max(reportWidth, min(sw, 1.2*reportWidth))
	h = x.drawingHeight(w, sw, sh) + paperFrame.gap
	for _, b := range x.blocks(r, w) {
		h += b.height()
	}
	return w, h
}

// drawingHeight is how high the half-section is drawn on a width.
func (x *Report) drawingHeight(w, sw, sh float64) float64 { return sh * min(1, w/sw) }

func (x *Report) draw(p *pen, b box) {
	sw, sh := x.section.size(p.ruler)
	high := x.drawingHeight(b.w, sw, sh)
	x.drawSection(p, box{b.x, b.y, b.w, high}, sw, sh)
	y := b.y + high + paperFrame.gap
	for _, k := range x.blocks(p.ruler, b.w) {
		y += k.above
		if k.box != "" {
			drawBox(p, point{b.x, y + 1}, k.box)
		}
		y = p.lines(k.script, point{b.x + k.indent, y}, k.lines)
	}
}

// drawSection draws the half-section into a box that may be smaller than it is.
func (x *Report) drawSection(p *pen, b box, sw, sh float64) {
	scale := min(1, b.w/sw)
	q := &pen{ruler: p.ruler, theme: p.theme, canvas: p.canvas, scale: p.scale * scale, height: p.height / scale}
	x.section.draw(q, box{(b.x + (b.w-sw*scale)/2) / scale, b.y / scale, sw, sh})
}

// drawBox draws a box to be ticked.
func drawBox(p *pen, q point, mark string) {
	b := box{q.x, q.y, boxSide, boxSide}
	l := line{color: p.ink, width: 0.8}
	p.outline(l, b.corners()...)
	switch mark {
	case "x":
		p.stroke(line{color: p.ink, width: 1.4}, point{b.x + 1.5, b.y + 4}, point{b.x + 3.5, b.y + 6.5},
			point{b.x + 7, b.y + 1.5})
	case "!":
		p.stroke(line{color: p.ink, width: 1.4}, point{b.x + 2, b.y + 2}, point{b.x + 6, b.y + 6})
		p.stroke(line{color: p.ink, width: 1.4}, point{b.x + 6, b.y + 2}, point{b.x + 2, b.y + 6})
	}
}
