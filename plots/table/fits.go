package table

import (
	"io"
	"slices"

	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// Fits writes the answer of diagnose --table: how observations fit.
type Fits struct{ *analysis.Fits }

// Text writes for every observation what it fits fully, and what partly.
func (f Fits) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	for i, t := range f.Tables {
		if i > 0 {
			p.line("")
		}
		p.line(t.Title)
		g := &Grid{Columns: columns("seen", "fits fully", "fits partly")}
		for _, row := range t.Rows {
			g.Add(row.Seen, list(row.Fully), list(row.Partly))
		}
		p.grid(g)
	}
	p.line("")
	p.line("What is not named does not fit. " + f.Rule)
	p.line("")
	p.line("what a set-up carries: a test is made in one that carries all that can happen in it")
	p.grid(f.setUps())
	p.line("")
	p.line(f.Safety)
	return p.err
}

// setUps says which hazards each set-up carries.
func (f Fits) setUps() *Grid {
	g := &Grid{Columns: columns("set-up")}
	for _, h := range reading.AllHazards() {
		g.Columns = append(g.Columns, columns(h.String())...)
	}
	for name, carries := range f.SetUps.All() {
		row := []string{name}
		for _, h := range reading.AllHazards() {
			row = append(row, map[bool]string{true: "carries", false: "-"}[slices.Contains(carries, h)])
		}
		g.Add(row...)
	}
	return g
}
