package plots

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// An Application is the application chart of a train: what each element does in
// each range, and what comes of it.
type Application struct {
	Train  *kinematics.Train
	Ranges []kinematics.Range
	Faults []kinematics.Fault
	// Couplings are the rows: all elements, and the splines that are faulty.
	Couplings []int
	Cells     [][]ElementCell // by row and range
	Rows      []reading.Row   // by range
	Positions []string        // remarks on the selector
}

// An ElementCell is what an element does in a range.
type ElementCell struct {
	Word string // "" for released
	// Faulty says that a fault acts on the element in the range.
	Faulty bool
}

// The words of the cells of an application chart.
const (
	WordApplied  = "applied"
	WordHolds    = "holds"
	WordOverruns = "overruns"
	WordIdle     = "idle" // a one-way clutch that neither holds nor overruns
)

// ApplicationChart computes the application chart of ranges under faults.
func ApplicationChart(sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault) *Application {
	t := sys.Train
	a := &Application{Train: t, Ranges: ranges, Faults: faults}
	for i := range t.Couplings {
		faulty := slices.ContainsFunc(faults, func(f kinematics.Fault) bool { return f.Coupling == i })
		if i < t.ElementCount || faulty {
			a.Couplings = append(a.Couplings, i)
		}
	}
	chart := reading.NewReader(sys).Chart(faults...)
	a.Positions = chart.Positions
	a.Cells = make([][]ElementCell, len(a.Couplings))
	for i := range ranges {
		r := &ranges[i]
		a.Rows = append(a.Rows, chart.Rows[slices.IndexFunc(chart.Rows, func(row reading.Row) bool { return row.Range.Name == r.Name })])
		m := sys.Motion(t.In(r, faults...))
		for k, c := range a.Couplings {
			a.Cells[k] = append(a.Cells[k], elementCell(t, r, c, m, faults))
		}
	}
	return a
}

// elementCell says what coupling i does in a range.
func elementCell(t *kinematics.Train, r *kinematics.Range, i int, m *solve.Motion, faults []kinematics.Fault) ElementCell {
	var c ElementCell
	applied := slices.Contains(r.Apply, i)
	switch {
	case t.Couplings[i].Kind != kinematics.OneWay:
		if applied {
			c.Word = WordApplied
		}
	case m.States[i] == solve.StateHolding:
		c.Word = WordHolds
	case m.States[i] == solve.StateOverrunning:
		c.Word = WordOverruns
	case m.States[i] == solve.StateIdle || m.States[i] == solve.StateFree:
		c.Word = WordIdle
	}
	for _, f := range faults {
		if f.Coupling != i || !f.ActsIn(r.Name) {
			continue
		}
		c.Faulty = true
		switch f.Kind {
		case kinematics.Backward: // what it does then is worth knowing
			c.Word = strings.TrimSuffix(string(f.Kind)+", "+c.Word, ", ")
		default:
			c.Word = string(f.Kind)
		}
	}
	return c
}

// sign is the shape for an element cell.
func (c ElementCell) sign() sign {
	word := c.Word
	if i := strings.LastIndex(word, ", "); i >= 0 {
		word = word[i+2:]
	}
	switch word {
	case "":
		return noSign
	case WordApplied:
		return fullDisc
	case WordHolds:
		return fullTriangle
	case WordOverruns, string(kinematics.Backward):
		return openTriangle
	case WordIdle:
		return smallDisc
	case string(kinematics.Stuck), string(kinematics.Seized):
		return fullSquare
	case string(kinematics.Weak), string(kinematics.Dragging):
		return openDisc
	}
	return bigCross
}

func (a *Application) heading() heading {
	h := heading{train: a.Train, title: titleOf(a.Train), subtitle: subtitle("Application chart", a.Train, nil, a.Faults)}
	h.notes = append(h.notes, "A one-way clutch holds or overruns under drive; idle is neither. Ratios are input speed / output speed.")
	if len(a.Faults) > 0 {
		h.notes = append(h.notes, "Framed: a faulty element, and what differs from the healthy train.")
	}
	for _, p := range a.Positions {
		h.notes = append(h.notes, "With the fault, "+p+".")
	}
	return h
}

// grid puts the chart into a table.
func (a *Application) grid() *grid {
	t := a.Train
	g := &grid{corner: "element", column: 62}
	for _, r := range a.Ranges {
		g.heads = append(g.heads, gridHead{name: r.Name})
	}
	for k, c := range a.Couplings {
		row := gridRow{name: t.Couplings[c].Name, below: t.Couplings[c].Kind.String()}
		for _, cell := range a.Cells[k] {
			quiet := cell.Word == WordIdle || cell.Word == WordOverruns
			row.cells = append(row.cells, gridCell{sign: cell.sign(), text: cell.Word, alarm: cell.Faulty, soft: quiet && !cell.Faulty})
		}
		g.rows = append(g.rows, row)
	}
	add := func(section, name string, cell func(reading.Row) gridCell) {
		row := gridRow{name: name, section: section}
		for _, r := range a.Rows {
			row.cells = append(row.cells, cell(r))
		}
		g.rows = append(g.rows, row)
	}
	add("what comes of it", "pulling", func(r reading.Row) gridCell { return gridCell{text: r.Healthy.Text(), bold: len(a.Faults) == 0} })
	add("", "coasting", func(r reading.Row) gridCell { return gridCell{text: r.Healthy.Reading.Coast} })
	if len(a.Faults) == 0 {
		return g
	}
	g.rows[len(g.rows)-2].section = "healthy"
	add("with the faults", "pulling", func(r reading.Row) gridCell {
		return gridCell{text: r.Faulty.Text(), bold: true, alarm: r.Faulty.Text() != r.Healthy.Text()}
	})
	add("", "coasting", func(r reading.Row) gridCell {
		return gridCell{text: r.Faulty.Reading.Coast, alarm: r.Faulty.Reading.Coast != r.Healthy.Reading.Coast}
	})
	add("", "what changes", func(r reading.Row) gridCell {
		if len(r.Changes) == 0 {
			return gridCell{text: "nothing", soft: true}
		}
		return gridCell{text: strings.Join(r.Changes, ", ")}
	})
	if len(a.Faults) == 1 {
		g.rows[len(g.rows)-3].section = "with the fault"
	}
	return g
}

func (a *Application) size(r *ruler) (w, h float64) { return a.grid().size(r, 360) }

func (a *Application) draw(p *pen, b box) { a.grid().draw(p, b) }
