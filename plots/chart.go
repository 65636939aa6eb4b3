package plots

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// An Application is the application chart of a train: what each element does in
// each range, and what comes of it.
type Application struct {
	*analysis.Chart
	// Couplings are the rows: all elements, and the splines that are faulty.
	Couplings []int

	rows rowed
}

// ApplicationChart draws a chart as the application chart.
func ApplicationChart(c *analysis.Chart) *Application {
	a := &Application{Chart: c}
	for i := range c.Train.Couplings {
		faulty := slices.ContainsFunc(c.Question.Faults, func(f kinematics.Fault) bool { return f.Coupling == i })
		if i < c.Train.ElementCount || faulty {
			a.Couplings = append(a.Couplings, i)
		}
	}
	return a
}

// doingSign is the shape for what an element does.
func doingSign(d reading.Doing) sign {
	switch d.Fault {
	case kinematics.Stuck, kinematics.Seized:
		return fullSquare
	case kinematics.Weak, kinematics.Dragging:
		return openDisc
	case "", kinematics.Backward:
	default:
		return bigCross
	}
	switch d.Word {
	case reading.Applied:
		return fullDisc
	case reading.Holds:
		return fullTriangle
	case reading.Overruns:
		return openTriangle
	case reading.Idle:
		return smallDisc
	}
	if d.Fault == kinematics.Backward {
		return openTriangle
	}
	return noSign
}

func (a *Application) heading() heading {
	faults := kinematics.Map(a.Faults, func(f analysis.Fault) kinematics.Fault { return f.Fault })
	h := headed("Application chart", a.Train, analysis.Question{Condition: analysis.Under(faults...)}, a.Cautions)
	h.others = kinematics.Map(a.Outcomes, analysis.RangeOutcomes.Several)
	if len(h.others) > 0 {
		h.notes = append(h.notes, reading.OrNote+".")
	}
	h.notes = append(h.notes,
		"A one-way clutch holds or overruns under drive; idle is neither. Ratios are input speed / output speed.")
	if a.Compares() {
		h.notes = append(h.notes, "Framed: a faulty element, and what differs from the healthy train.")
	}
	for _, p := range a.Positions {
		h.notes = append(h.notes, "With the fault, "+p+".")
	}
	return h
}

// grid puts the chart into a table.
func (a *Application) grid() *grid {
	g := &grid{corner: "element", column: 62}
	g.heads = kinematics.Map(a.Rows, func(r *analysis.ChartRow) string {
		if r.Or {
			return "or"
		}
		return r.Range.Name
	})
	for _, c := range a.Couplings {
		row := gridRow{name: a.Train.Couplings[c].Name, below: a.Train.Couplings[c].Kind.String()}
		for _, r := range a.Rows {
			d := r.Doings[c]
			quiet := d.Word == reading.Idle || d.Word == reading.Overruns
			row.cells = append(row.cells, gridCell{
				sign: doingSign(d), text: d.Text(), alarm: d.Faulty(), soft: quiet && !d.Faulty(),
			})
		}
		g.rows = append(g.rows, row)
	}
	add := func(section, name string, cell func(*analysis.ChartRow) gridCell) {
		g.rows = append(g.rows, gridRow{name: name, section: section, cells: kinematics.Map(a.Rows, cell)})
	}
	healthy, faulty := "healthy", "with the faults"
	switch {
	case !a.Compares():
		healthy = "what comes of it"
	case len(a.Faults) < 2:
		faulty = "with the fault"
	}
	add(healthy, "pulling", func(r *analysis.ChartRow) gridCell {
		return gridCell{text: r.Healthy.Text(), bold: !a.Compares()}
	})
	add("", "coasting", func(r *analysis.ChartRow) gridCell { return gridCell{text: r.Healthy.Reading.Coast} })
	if !a.Compares() {
		return a.rows.of(g)
	}
	add(faulty, "pulling", func(r *analysis.ChartRow) gridCell {
		return gridCell{text: r.Faulty.Text(), bold: true, alarm: !r.Faulty.ReadsLike(r.Healthy)}
	})
	add("", "coasting", func(r *analysis.ChartRow) gridCell {
		return gridCell{text: r.Faulty.Reading.Coast, alarm: !r.Faulty.CoastsLike(r.Healthy)}
	})
	add("", "what changes", func(r *analysis.ChartRow) gridCell {
		if len(r.Changes) == 0 {
			return gridCell{text: "nothing", soft: true}
		}
		return gridCell{text: strings.Join(r.Changes, ", ")}
	})
	return a.rows.of(g)
}

func (a *Application) size(r *ruler) (w, h float64) { return a.grid().size(r, 360) }

func (a *Application) draw(p *pen, b box) { a.grid().draw(p, b) }
