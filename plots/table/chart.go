package table

import (
	"cmp"
	"io"
	"slices"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// Chart writes the answer of chart for one train under given faults, or healthy.
type Chart struct{ *analysis.Chart }

// text writes a row per range: for a healthy train what each element does, for
// a faulty one the healthy and the faulty reading and what changed.
func (c Chart) text(p *page) {
	p.line(titled(c.Train))
	p.faults(c.Faults)
	p.line(several(c.Outcomes)...)
	p.below(c.rows())
	if note := c.Note(); note != "" {
		p.apart(note)
	}
	p.apart(c.Positions...)
	p.apart(c.Cautions...)
}

// Note says what stands in the rows, "" where they say it.
func (c Chart) Note() string {
	switch {
	case len(c.Outcomes) > 0:
		return reading.OrNote
	case c.Compares():
		return ""
	}
	return "on = applied; holds, overruns = one-way clutch under drive; ratio = input speed / output speed"
}

// Grid returns the rows of the text answer.
func (c Chart) Grid() *Grid { return c.rows().withoutEmptyColumns() }

func (c Chart) rows() *Grid {
	if !c.Compares() {
		return c.application()
	}
	return c.compared()
}

// application is the application chart: ranges by elements.
func (c Chart) application() *Grid {
	heads := append([]string{"range"}, c.Train.ElementNames()...)
	g := &Grid{Columns: columns(append(heads, "ratio>", "reads", "coasting")...)}
	for _, row := range c.Rows {
		cells := append([]string{row.Range.Name}, kinematics.Map(row.Doings[:c.Train.ElementCount], reading.Doing.Mark)...)
		ratio, reads := "", row.Healthy.Text()
		if r := row.Healthy.Ratio().Ratio; r != nil {
			ratio, reads = places(*r), string(row.Healthy.Reading.Words[0])
		}
		g.Add(append(cells, ratio, reads, row.Healthy.Reading.Coast)...)
	}
	return g
}

// compared sets the faulty readings beside the healthy ones.
func (c Chart) compared() *Grid {
	g := &Grid{Columns: columns("range", "applied", "healthy", "with the fault", "coasting then", "what changes")}
	if len(c.Faults) > 1 {
		g.Columns[3].Head = "with the faults"
	}
	for _, row := range c.Rows {
		faulty, coast := "as when healthy", ""
		if len(row.Changes) > 0 {
			faulty, coast = row.Faulty.Text(), row.Faulty.Reading.Coast
		}
		name := row.Range.Name
		if row.Or {
			name = "  or"
		}
		g.Add(name, applied(row.Apply), row.Healthy.Text(), faulty, coast, list(row.Changes))
	}
	return g
}

// CSV writes a line per range.
func (c Chart) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("range", "applied", "healthy", "healthy_ratio", "reads", "ratio", "coasting",
		"changes", "or")}
	for _, row := range c.Rows {
		before, _ := ratioCells(row.Healthy.Ratio(), shortest)
		ratio, _ := ratioCells(row.Faulty.Ratio(), shortest)
		g.Add(row.Range.Name, list(row.Apply), row.Healthy.Text(), before, row.Faulty.Text(), ratio,
			row.Faulty.Reading.Coast, list(row.Changes), strconv.FormatBool(row.Or))
	}
	return g.CSV(w, said(several(c.Outcomes), "", c.Cautions)...)
}

// WallChart writes the answer of chart --all and --pairs: a row per fault or set
// of faults, a column per range.
type WallChart struct{ *analysis.WallChart }

// text writes the wall chart in short words, with what they mean below.
func (c WallChart) text(p *page) {
	p.line(titled(c.Train))
	g := &Grid{Columns: columns(append([]string{"fault"}, c.Train.RangeNames()...)...)}
	for _, chart := range c.Charts {
		short := kinematics.Map(chart.Rows, func(row *analysis.ChartRow) string { return cmp.Or(row.Short(), ".") })
		g.Add(append([]string{chart.Head()}, short...)...)
	}
	p.below(g)
	note := ". = as when healthy; " + reading.ShortNotes
	if or := c.OrNote(); or != "" {
		note += "; " + or
	}
	p.apart(note)
	p.apart(c.Cautions...)
}

// CSV writes the wall chart with whole readings.
func (c WallChart) CSV(w io.Writer) error {
	g := &Grid{Columns: columns(slices.Concat([]string{"fault"}, c.Train.RangeNames(), []string{"or"})...)}
	for _, chart := range c.Charts {
		whole := kinematics.Map(chart.Rows, func(row *analysis.ChartRow) string { return row.Faulty.Whole() })
		g.Add(slices.Concat([]string{chart.Name()}, whole, []string{strconv.FormatBool(chart.Or)})...)
	}
	return g.CSV(w, c.Cautions...)
}
