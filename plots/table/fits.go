package table

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// Fits writes the answer of diagnose --table: how observations fit.
type Fits struct{ *analysis.Fits }

// text writes for every observation what it fits fully, and what partly.
func (f Fits) text(p *page) {
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
	p.apart("What is not named does not fit. " + f.Rule)
	p.apart("what a set-up carries: a test is made in one that carries all that can happen in it")
	p.grid(f.setUps())
	p.apart(f.Safety)
}

// setUps says which hazards each set-up carries.
func (f Fits) setUps() *Grid {
	hazards := reading.AllHazards()
	g := &Grid{Columns: columns(append([]string{"set-up"}, kinematics.Map(hazards, reading.Hazard.String)...)...)}
	for name, carries := range f.SetUps.All() {
		g.Add(append([]string{name}, kinematics.Map(hazards, func(h reading.Hazard) string {
			return map[bool]string{true: "carries", false: "-"}[slices.Contains(carries, h)]
		})...)...)
	}
	return g
}
