package analysis

import (
	"cmp"
	"context"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/lesson"
	"tieup/kinematics/reading"
)

// A Worksheet is exercises about a train with their answers.
type Worksheet struct {
	Schema    string            `json:"schema"`
	Train     *kinematics.Train `json:"train"`
	Faulted                     // in every exercise
	Seed      uint64            `json:"seed"`
	Exercises List[Exercise]    `json:"exercises"`
	Cautions  List[string]      `json:"cautions"`

	// Given is what is wrong in every exercise, in words, but in ranges that can come to more
	// than one thing.
	Given []string `json:"-"`
	// Unloaded is the healthy train with nothing applied, for the picture on a printed
	// sheet; the document has the train itself.
	Unloaded *Explained `json:"-"`
}

// Ends tells the input and the output of the train.
func (s *Worksheet) Ends() string {
	t := s.Train
	text := "Input " + t.Members[t.Input].Name + ", output " + t.Members[t.Output].Name
	if otherEnds(t) {
		text += ", but where a range says otherwise"
	}
	if t.Forward < 0 {
		text += "; the vehicle moves forward when the output turns against the input"
	}
	return text + ". Forward, of an element, means as the input turns."
}

// Legend explains the words of a sheet.
func (s *Worksheet) Legend() []string {
	return []string{
		"Ratios are input speed / output speed.",
		"No drive: the input turns, and leaves the output to itself.",
		"No drive, output held: the input turns, and the vehicle rolls neither way.",
		"Input held: the input cannot turn, and the vehicle rolls.",
		"Ties up: the input cannot turn, and the vehicle does not roll while it stands.",
		"Where nothing is said of rolling or coasting, it was not tried.",
	}
}

// EndsOf names the input and output of a range; "" in a train of which all ranges have the
// same.
func (s *Worksheet) EndsOf(r RangeEnds) string {
	if !otherEnds(s.Train) {
		return ""
	}
	return r.Input + ", " + r.Output
}

// MostExercises is the largest number of exercises on a sheet.
const MostExercises = lesson.MostExercises

// An Exercise is one exercise of a worksheet. What its kind does not ask is empty.
type Exercise struct {
	Kind     lesson.Kind       `json:"kind"`
	Task     string            `json:"task"`
	Faults   List[Fault]       `json:"faults"`
	Rows     List[ExerciseRow] `json:"rows"`
	Seen     List[Sight]       `json:"seen"`
	Suspects List[Fault]       `json:"suspects"`
	Tests    List[Named[any]]  `json:"tests"` // ranges that can be tried next, with what would be seen of whom
	Best     List[string]      `json:"best"`

	Given   []string `json:"-"` // the suspects that the question names
	Answers []string `json:"-"` // the sentences of the key
	Lines   int      `json:"-"` // how many lines an answer takes; 0 where a chart is filled in
}

// A RangeEnds is a range with its ends.
type RangeEnds struct {
	Range  string `json:"range"`
	Input  string `json:"input"`
	Output string `json:"output"`
}

// An ExerciseRow is what a range does, and why.
type ExerciseRow struct {
	RangeEnds
	Apply List[string] `json:"apply"`
	Drive
	As       Name              `json:"as"` // another range that has the ratio when healthy
	Friction *reading.Friction `json:"friction"`
	Why      List[string]      `json:"why"`
	Or       bool              `json:"or,omitempty"` // the range can come to this as well as to the row before
}

// A Sight is what was seen in a range.
type Sight struct {
	RangeEnds
	Reads string   `json:"reads"`
	Apply []string `json:"-"`
}

// Worksheet makes count exercises about faults in the order of the seed. Of a range that can
// come to more than one thing all are right where it is asked what ranges do; nothing else is
// asked of it.
func (a *Analysis) Worksheet(ctx context.Context, c Condition, seed uint64, count int) (*Worksheet, error) {
	if err := cmp.Or(c.in(a.Train), number("count", float64(count), 0)); err != nil {
		return nil, err
	}
	s := &Worksheet{Schema: "tieup.worksheet/1", Train: a.Train, Faulted: c.faulted(a.Train), Seed: seed}
	w := a.workers.take()
	defer a.workers.put(w)
	var hazards []reading.Hazard
	s.Outcomes, hazards = w.hazards(c, pointers(a.Train.Ranges)...)
	given := w.given(c)
	s.Given = kinematics.Map(faultsOf(a.Train, given.Told()), Fault.Words)
	teacher, err := lesson.NewTeacher(ctx, a.Train, w.reader, given)
	if err != nil {
		return nil, err
	}
	sheet, err := teacher.Sheet(ctx, seed, count)
	if err != nil {
		return nil, err
	}
	s.Exercises = kinematics.Map(sheet.Exercises, func(e lesson.Exercise) Exercise { return a.exercise(&sheet, &e) })
	hazards = append(append(hazards, reading.Practice()...), reading.Jumps) // whoever learns may try it
	s.Cautions = reading.Cautions(a.Train.Use, hazards)
	s.Unloaded, err = a.unloaded(ctx)
	return s, err
}

func (a *Analysis) exercise(s *lesson.Worksheet, e *lesson.Exercise) Exercise {
	t := a.Train
	x := Exercise{Kind: e.Kind, Task: s.Task(e), Faults: faultsOf(t, e.Faults), Suspects: faultsOf(t, e.Suspects)}
	ends := func(r *kinematics.Range) RangeEnds {
		return RangeEnds{r.Name, t.Members[r.Input].Name, t.Members[r.Output].Name}
	}
	x.Rows = kinematics.Map(e.Rows, func(r lesson.Row) ExerciseRow {
		drive := driveOf(&r.Cell.Outcome, r.Cell.Text(), r.Cell.Reading.Coast)
		return ExerciseRow{ends(r.Range), t.CouplingNames(r.Range.Apply), drive, Name(r.Cell.As), r.Cell.Friction, r.Why,
			r.Or}
	})
	x.Seen = kinematics.Map(e.Seen, func(s lesson.Sight) Sight {
		return Sight{ends(s.Range), s.Text(), t.CouplingNames(s.Range.Apply)}
	})
	x.Tests = kinematics.Map(e.Tests, func(test lesson.Test) Named[any] {
		results := kinematics.Map(test.Results, func(r lesson.Result) Named[any] {
			return document.Object("reads", r.Seen, "suspects", faultsOf(t, r.Suspects))
		})
		return document.Object("range", test.Range.Name, "coasting", test.Coasting, "results", List[Named[any]](results))
	})
	x.Best = kinematics.Map(e.Best, func(i int) string { return e.Tests[i].Range.Name })
	suspects := kinematics.Map(x.Suspects, Fault.Words)
	switch e.Kind {
	case lesson.Suspects:
		x.Answers, x.Lines = suspects, 4
	case lesson.NextTest:
		x.Given, x.Answers, x.Lines = suspects, bestTests(t, e), 2+len(suspects)
	}
	return x
}

// bestTests says what the best tests show of whom.
func bestTests(t *kinematics.Train, e *lesson.Exercise) []string {
	if len(e.Best) == 0 {
		return []string{"No range tells them apart, under power or coasting: only a test of an element itself does."}
	}
	var lines []string
	for _, i := range e.Best {
		at := e.Tests[i].Range.Name
		if e.Tests[i].Coasting {
			at += ", coasting"
		}
		for _, r := range e.Tests[i].Results {
			who := kinematics.Map(faultsOf(t, r.Suspects), Fault.Words)
			lines = append(lines, at+": "+r.Seen+", if "+strings.Join(who, "; or "))
		}
	}
	return lines
}
