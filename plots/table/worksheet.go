package table

import (
	"fmt"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// Worksheet writes the answer of worksheet: exercises to print, or their key.
type Worksheet struct {
	*analysis.Worksheet
	Key bool // the answers
}

// WriteHere stands in a cell that is to be filled in by hand.
const WriteHere = "______________________________"

// Heading is the name of the sheet or key.
func (s Worksheet) Heading() string {
	what := "Worksheet"
	if s.Key {
		what = "Answer key"
	}
	return fmt.Sprintf("%s %d: %s", what, s.Seed, titled(s.Train))
}

// Chart is the grid of an exercise that asks for each range.
func (s Worksheet) Chart(e *analysis.Exercise) *Grid {
	g := &Grid{Columns: columns("range", "from, to", "applied", "what it does", "why")}
	for _, r := range e.Rows {
		does, why := WriteHere, ""
		if s.Key {
			does, why = r.Reads, strings.Join(r.Why, " ")
		}
		if r.Or {
			if s.Key {
				g.Add("  or", "", "", does, why)
			}
			continue
		}
		g.Add(r.Range, s.EndsOf(r.RangeEnds), applied(r.Apply), does, why)
	}
	return g.withoutEmptyColumns()
}

// Complaint is the grid of what was seen.
func (s Worksheet) Complaint(e *analysis.Exercise) *Grid {
	g := &Grid{Columns: columns("range", "from, to", "applied", "what was seen")}
	for _, x := range e.Seen {
		g.Add(x.Range, s.EndsOf(x.RangeEnds), applied(x.Apply), x.Reads)
	}
	return g.withoutEmptyColumns()
}

// About is what a learner must know of the train: its gearsets, what is joined for
// good, and its elements.
func (s Worksheet) About() []Part {
	parts := []Part{{Heading: "gearsets", Grid: gearsetGrid(s.Train).withoutEmptyColumns()}}
	if len(s.Train.Joints) > 0 {
		parts = append(parts, Part{Heading: "joined for good", Grid: jointGrid(s.Train)})
	}
	if s.Train.ElementCount > 0 {
		g := &Grid{Columns: columns("element", "what it does")}
		for i := range s.Train.Couplings[:s.Train.ElementCount] {
			g.Add(s.Train.Couplings[i].Name, reading.Element(s.Train, &s.Train.Couplings[i]))
		}
		parts = append(parts, Part{Heading: "elements", Grid: g})
	}
	return parts
}

// Lines is how many blank lines an exercise leaves for its answer.
func (s Worksheet) Lines(e *analysis.Exercise) int {
	if s.Key {
		return 0
	}
	return e.Lines
}

// text writes the sheet or the key.
func (s Worksheet) text(p *page) {
	p.line(s.Heading())
	p.lines("fault: ", s.Given)
	p.line(kinematics.Map(s.Outcomes, analysis.RangeOutcomes.Several)...)
	if !s.Key {
		s.about(p)
	}
	for i := range s.Exercises {
		e := &s.Exercises[i]
		p.heading(fmt.Sprintf("%d. %s", i+1, e.Task))
		if len(e.Rows) > 0 {
			p.grid(s.Chart(e))
		}
		if len(e.Seen) > 0 {
			p.grid(s.Complaint(e))
		}
		p.lines("  suspect: ", e.Given)
		if s.Key {
			p.lines("  ", e.Answers)
			continue
		}
		for range s.Lines(e) {
			p.print("\n  " + WriteHere + WriteHere)
		}
	}
	p.apart(s.Cautions...)
}

// about writes what a learner must know to answer.
func (s Worksheet) about(p *page) {
	p.apart(s.Ends())
	p.line(s.Legend()...)
	for _, part := range s.About() {
		p.heading(part.Heading)
		p.grid(part.Grid)
	}
}
