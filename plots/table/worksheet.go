package table

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/lesson"
	"tieup/kinematics/reading"
)

// Worksheet writes the answer of worksheet: exercises to print, or their key.
type Worksheet struct {
	*lesson.Worksheet
	Faults   []analysis.Fault
	Cautions []string
	Key      bool // the answers
}

// NewWorksheet returns the writer of a worksheet, or of its key.
func NewWorksheet(a *analysis.Worksheet, key bool) Worksheet {
	return Worksheet{&a.Sheet, a.Faults, a.Cautions, key}
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
func (s Worksheet) Chart(e *lesson.Exercise) *Grid {
	g := &Grid{Columns: columns("range", "from, to", "applied", "what it does", "why")}
	for _, r := range e.Rows {
		does, why := WriteHere, ""
		if s.Key {
			does, why = r.Cell.Text(), strings.Join(r.Why, " ")
		}
		g.Add(r.Range.Name, s.ends(r.Range), names(s.Train, r.Range.Apply), does, why)
	}
	return g.withoutEmptyColumns()
}

// Seen is the grid of what a complaint says.
func (s Worksheet) Seen(e *lesson.Exercise) *Grid {
	g := &Grid{Columns: columns("range", "from, to", "applied", "what was seen")}
	for _, x := range e.Seen {
		g.Add(x.Range.Name, s.ends(x.Range), names(s.Train, x.Range.Apply), x.Text())
	}
	return g.withoutEmptyColumns()
}

// ends names the input and output of a range; "" in a train of which all ranges
// have the same.
func (s Worksheet) ends(r *kinematics.Range) string {
	t := s.Train
	other := func(x kinematics.Range) bool { return x.Input != t.Input || x.Output != t.Output }
	if !slices.ContainsFunc(t.Ranges, other) {
		return ""
	}
	return t.Members[r.Input].Name + ", " + t.Members[r.Output].Name
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

// Ends tells the input and the output of the train.
func (s Worksheet) Ends() string {
	t := s.Train
	text := "Input " + t.Members[t.Input].Name + ", output " + t.Members[t.Output].Name
	if s.ends(&t.Ranges[0]) != "" {
		text += ", but where a range says otherwise"
	}
	if t.Forward < 0 {
		text += "; the vehicle moves forward when the output turns against the input"
	}
	return text + ". Forward, of an element, means as the input turns."
}

// Legend explains the words of a sheet.
func (s Worksheet) Legend() []string {
	return []string{
		"Ratios are input speed / output speed.",
		"No drive: the input turns, and leaves the output to itself.",
		"No drive, output held: the input turns, and the vehicle rolls neither way.",
		"Input held: the input cannot turn, and the vehicle rolls.",
		"Ties up: the input cannot turn, and the vehicle does not roll while it stands.",
		"Where nothing is said of rolling or coasting, it was not tried.",
	}
}

// Answers are the sentences of the key.
func (s Worksheet) Answers(e *lesson.Exercise) []string {
	switch e.Kind {
	case lesson.Suspects:
		return s.suspects(e.Suspects)
	case lesson.NextTest:
		return s.tests(e)
	}
	return nil
}

func (s Worksheet) suspects(faults []kinematics.Fault) []string {
	var lines []string
	for _, f := range faults {
		lines = append(lines, reading.Fault(s.Train, f))
	}
	return lines
}

func (s Worksheet) tests(e *lesson.Exercise) []string {
	if len(e.Best) == 0 {
		return []string{"No range tells them apart, under power or coasting: only a test of an element itself does."}
	}
	var lines []string
	for _, i := range e.Best {
		t := &e.Tests[i]
		for _, r := range t.Results {
			at := t.Range.Name
			if t.Coasting {
				at += ", coasting"
			}
			lines = append(lines, fmt.Sprintf("%s: %s, if %s", at, r.Seen, or(s.suspects(r.Suspects))))
		}
	}
	return lines
}

// or lists sentences of which one is true.
func or(words []string) string { return strings.Join(words, "; or ") }

// Suspected are the suspects that an exercise names in its question.
func (s Worksheet) Suspected(e *lesson.Exercise) []string {
	if e.Kind != lesson.NextTest {
		return nil
	}
	return s.suspects(e.Suspects)
}

// Lines is how many blank lines an exercise leaves for its answer.
func (s Worksheet) Lines(e *lesson.Exercise) int {
	switch {
	case s.Key || e.Kind == lesson.FillChart || e.Kind == lesson.Predict:
		return 0
	case e.Kind == lesson.NextTest:
		return 2 + len(e.Suspects)
	}
	return 4
}

// Text writes the sheet or the key.
func (s Worksheet) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	p.line(s.Heading())
	p.faults(s.Faults)
	if !s.Key {
		s.about(p)
	}
	for i := range s.Exercises {
		e := &s.Exercises[i]
		p.heading(fmt.Sprintf("%d. %s", i+1, s.Task(e)))
		if len(e.Rows) > 0 {
			p.grid(s.Chart(e))
		}
		if len(e.Seen) > 0 {
			p.grid(s.Seen(e))
		}
		for _, line := range s.Suspected(e) {
			p.line("  suspect: " + line)
		}
		if s.Key {
			for _, line := range s.Answers(e) {
				p.line("  " + line)
			}
			continue
		}
		for range s.Lines(e) {
			p.print("\n  " + WriteHere + WriteHere)
		}
	}
	p.cautions(s.Cautions)
	return p.err
}

// about writes what a learner must know to answer.
func (s Worksheet) about(p *page) {
	p.line("")
	p.line(s.Ends())
	for _, line := range s.Legend() {
		p.line(line)
	}
	for _, part := range s.About() {
		p.heading(part.Heading)
		p.grid(part.Grid)
	}
}
