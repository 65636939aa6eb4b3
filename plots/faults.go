package plots

import (
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// A WallChart is what every single fault of a train does in each range.
type WallChart struct {
	*analysis.WallChart
	rows rowed
}

// FaultChart draws the wall chart of all single faults.
func FaultChart(w *analysis.WallChart) *WallChart { return &WallChart{WallChart: w} }

// differenceSign is the shape for a difference.
func differenceSign(d reading.Difference) sign {
	return [...]sign{
		reading.SameAsHealthy: smallDisc, reading.OtherwiseRolling: openTriangle, reading.DriveLost: openDisc,
		reading.WrongRatio: fullDiamond, reading.TiedUp: fullSquare, reading.MustNot: fullTriangle,
	}[d]
}

func (w *WallChart) heading() heading {
	kind := "Every single fault"
	given := w.Question.Faults
	if len(given) > 0 {
		kind = "Every further fault"
	}
	h := headed(kind+" in each range", w.Train, analysis.Question{Condition: analysis.Under(given...)}, w.Cautions)
	h.notes = []string{
		reading.ShortNote + "; ratio = input speed / output speed. " +
			"Framed: the range can do harm, because the vehicle moves, locks or rolls when it should not.",
		"A fault acts in all ranges. A joint is named with the member that turns free of it.",
	}
	if or := w.OrNote(); or != "" {
		h.notes = append(h.notes, or+".")
	}
	return h
}

// grid puts the chart into a table.
func (w *WallChart) grid() *grid {
	t := w.Train
	g := &grid{corner: "fault", column: 66}
	g.heads = kinematics.Map(w.Question.Ranges, func(r kinematics.Range) string { return r.Name })
	g.rows = []gridRow{{name: "healthy", cells: kinematics.Map(w.Charts[0].Rows, func(r *analysis.ChartRow) gridCell {
		return gridCell{text: r.Healthy.Short(), bold: true}
	})}}
	last, above := -1, false
	for _, x := range w.Charts {
		row := gridRow{name: x.Head()}
		switch {
		case x.Healthy():
			continue
		case x.Or: // stands below its other outcome
		case x.Above != nil && !above:
			row.section, above = "controls", true
		case x.Added != nil && x.Above == nil:
			row, last = faultRow(t, x.Added[0], last), x.Added[0].Coupling
		}
		for _, r := range x.Rows {
			d := r.Difference()
			row.cells = append(row.cells, gridCell{
				sign: differenceSign(d), text: r.Short(), alarm: len(r.Hazards) > 0, soft: d == reading.SameAsHealthy,
			})
		}
		g.rows = append(g.rows, row)
	}
	return w.rows.of(g)
}

// faultRow begins the row of a fault of an element or joint, below those of the
// coupling last, -1 for none.
func faultRow(t *kinematics.Train, fault kinematics.Fault, last int) gridRow {
	c := t.Couplings[fault.Coupling]
	row := gridRow{name: c.Name + " " + string(fault.Kind)}
	switch {
	case last < 0 || c.Kind == kinematics.Spline && t.Couplings[last].Kind != kinematics.Spline:
		row.section = "elements"
		if c.Kind == kinematics.Spline {
			row.section = "joints"
		}
	case last != fault.Coupling && c.Kind != kinematics.Spline:
		row.gap = true
	}
	return row
}

const signLegend = 16 // height of the line that explains the signs

func (w *WallChart) size(r *ruler) (width, height float64) {
	legend := w.legend(r, func(reading.Difference, float64) {})
	width, height = w.grid().size(r, legend)
	return max(width, legend), height + signLegend + 8
}

// legend calls put with each difference and where its sign stands, and returns the
// width of them all.
func (w *WallChart) legend(r *ruler, put func(d reading.Difference, x float64)) float64 {
	x := 0.0
	for d := range reading.Differences {
		put(d, x)
		x += signRoom + r.width(gridScript, d.String()) + 14
	}
	return x
}

func (w *WallChart) draw(p *pen, b box) {
	w.legend(p.ruler, func(d reading.Difference, x float64) {
		p.sign(differenceSign(d), line{color: p.ink, width: 1.4}, point{b.x + x + 5, b.y + 5})
		p.middle(gridScript, point{b.x + x + signRoom, b.y + 5}, d.String())
	})
	w.grid().draw(p, box{b.x, b.y + signLegend + 8, b.w, b.h - signLegend - 8})
}
