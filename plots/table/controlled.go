package table

import (
	"io"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
)

// Controlled writes the answer of controls.
type Controlled struct{ *analysis.Controlled }

// text writes a table of the ranges, or of one range part by part.
func (c Controlled) text(p *page) {
	p.line(titled(c.Train))
	for _, f := range c.Question.Faults {
		p.line("fault: " + reading.ControlFault(f))
	}
	if len(c.Question.Ranges) == 1 {
		for _, r := range c.Ranges {
			c.detail(p, r)
		}
	} else {
		p.below(c.grid())
		c.because(p)
	}
	if c.Known {
		p.apart(analysis.FailSafeNote)
	}
	p.apart(c.Cautions...)
}

// CSV writes the table of the ranges.
func (c Controlled) CSV(w io.Writer) error { return c.grid().CSV(w, c.Cautions...) }

// grid is a row for every range when healthy, and one for each thing that it can come
// to under the faults.
func (c Controlled) grid() *Grid {
	g := &Grid{Columns: columns("lever", "range", "", "solenoids on", "valves up", "circuits", "fed", "does", "changes")}
	for _, r := range c.Ranges {
		word := ""
		if len(r.Faulty) > 0 {
			word = "healthy"
		}
		g.Add(append([]string{string(r.Position), r.Range, word}, controlCells(r.Healthy)...)...)
		for _, s := range r.Faulty {
			g.Add(append([]string{"", "", c.When(s)}, controlCells(s)...)...)
		}
	}
	return g
}

func controlCells(s analysis.ControlState) []string {
	var up, pressed []string
	for name, is := range s.Valves.All() {
		switch is {
		case "up":
			up = append(up, name)
		case "unknown":
			up = append(up, name+"?")
		}
	}
	for name, l := range s.Circuits.All() {
		switch l {
		case controls.None:
		case controls.Full:
			pressed = append(pressed, name)
		case controls.Low:
			pressed = append(pressed, name+" low")
		default:
			pressed = append(pressed, name+"?")
		}
	}
	return []string{orNone(s.On), list(up), list(pressed), orNone(s.Fed()), s.Reads, list(s.Changes)}
}

// because writes how the faults reach the elements, each way once.
func (c Controlled) because(p *page) {
	told := map[string]bool{}
	for _, r := range c.Ranges {
		for _, s := range r.Faulty {
			for _, way := range s.Because {
				text := r.Range + ": " + way + " -> " + s.Reads
				if len(told) == 0 {
					p.heading("how the fault gets there")
				}
				if !told[text] {
					p.line(text)
				}
				told[text] = true
			}
		}
	}
}

// detail writes one range part by part.
func (c Controlled) detail(p *page, r analysis.ControlledRange) {
	head := "range " + r.Range
	if r.Position != "" {
		head += ", lever in " + string(r.Position)
	}
	p.heading(head + ": solenoids commanded " + orNone(r.Healthy.Commanded))
	g := &Grid{Columns: columns(append([]string{"part", "healthy"}, kinematics.Map(r.Faulty, c.When)...)...)}
	states := append([]analysis.ControlState{r.Healthy}, r.Faulty...)
	rows := func(name string, of func(s analysis.ControlState) string) {
		g.Add(append([]string{name}, kinematics.Map(states, of)...)...)
	}
	for _, name := range controls.Of(c.Train).Solenoids() {
		rows(name, func(s analysis.ControlState) string { return onOff(s.On, name) })
	}
	for name := range r.Healthy.Valves.All() {
		rows(name, func(s analysis.ControlState) string { is, _ := s.Valves.Get(name); return is })
	}
	for name := range r.Healthy.Circuits.All() {
		rows("circuit "+name, func(s analysis.ControlState) string {
			l, _ := s.Circuits.Get(name)
			return reading.Pressure(l)
		})
	}
	for name := range r.Healthy.Elements.All() {
		rows("element "+name, func(s analysis.ControlState) string {
			l, _ := s.Elements.Get(name)
			return reading.Feeding(l)
		})
	}
	rows("does", func(s analysis.ControlState) string { return s.Reads })
	p.grid(g)
	for _, s := range r.Faulty {
		for _, way := range s.Because {
			p.line(way + " -> " + s.Reads)
		}
	}
}

func onOff(on []string, name string) string {
	if slices.Contains(on, name) {
		return "on"
	}
	return "off"
}

// ControlChart writes the chart of all single faults of the controls.
type ControlChart struct{ *analysis.ControlChart }

// text writes a row for every fault, a column for every range.
func (c ControlChart) text(p *page) {
	p.line(titled(c.Train))
	p.below(c.grid())
	p.apart("An empty cell = as when healthy; " + reading.ShortNote + "; " + reading.OrNote)
	p.apart(c.Cautions...)
}

// CSV writes the chart.
func (c ControlChart) CSV(w io.Writer) error { return c.grid().CSV(w, c.Cautions...) }

func (c ControlChart) grid() *Grid {
	g := &Grid{Columns: columns(append([]string{"fault", ""}, c.Ranges...)...)}
	g.Add(append([]string{"none", ""}, c.Healthy...)...)
	for i, row := range c.Rows {
		when := ""
		switch {
		case row.AfterFailSafe:
			when = "after fail-safe"
		case i+1 < len(c.Rows) && c.Rows[i+1].AfterFailSafe:
			when = "before fail-safe"
		}
		g.Add(append([]string{row.Fault, when}, kinematics.Map(row.Cells, controlCell)...)...)
	}
	return g
}

func controlCell(list []analysis.ControlCell) string {
	var words []string
	for _, x := range list {
		switch {
		case x.Short != "":
			words = append(words, x.Short)
		case len(list) > 1:
			words = append(words, "as healthy")
		}
	}
	return strings.Join(words, " or ")
}
