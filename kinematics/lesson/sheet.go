package lesson

import (
	"cmp"
	"context"
	"math/rand/v2"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Worksheet is a list of exercises with their answers.
type Worksheet struct {
	Train     *kinematics.Train
	Given     Given
	Exercises []Exercise
}

// A Kind is a kind of exercise.
type Kind string

// The kinds of exercise.
const (
	FillChart Kind = "chart"
	Predict   Kind = "predict"
	Suspects  Kind = "suspects"
	NextTest  Kind = "next"
)

// An Exercise is one exercise with its answer.
type Exercise struct {
	Kind Kind

	// Faults are what to predict for.
	Faults []kinematics.Fault
	// Rows are the answers of a chart or prediction: one a range, and one more for each
	// other thing that it can come to.
	Rows []Row

	// Seen is the complaint, Suspects are the single faults that explain it.
	Seen     []Sight
	Suspects []kinematics.Fault

	// Tests are what can be tried next, with what would be seen of each suspect:
	// under power the ranges that were not tried and, if none of them tells any
	// suspects apart, all ranges coasting. Best are those with the most different
	// results, of which the largest leaves the fewest suspects, as indices into
	// Tests; none if no range tells any suspects apart.
	Tests []Test
	Best  []int
}

// Task is what an exercise asks for, in words.
func (s *Worksheet) Task(e *Exercise) string {
	switch e.Kind {
	case FillChart:
		const ask = "hich way does it drive in each range, and at what ratio, or does it not drive?"
		if wrong := s.Given.Words(s.Train); len(wrong) > 0 {
			return "Fill in the chart of the train. What is wrong: " + strings.Join(wrong, "; ") + ". W" + ask
		}
		return "Fill in the chart of the healthy train: w" + ask
	case Predict:
		wrong := s.Given.Words(s.Train, e.Faults[len(s.Given.Faults):]...)
		return "What does each range do? What is wrong: " + strings.Join(wrong, "; ") + "."
	case Suspects:
		if len(s.Given.Words(s.Train)) > 0 {
			return "Which single faults, beside what is wrong in every exercise, explain what was seen?"
		}
		return "Which single faults explain what was seen?"
	}
	return "Which range would you try next under power, to tell the suspects apart, and what would each suspect do " +
		"there? " +
		"If none tells them apart, which would you try coasting?"
}

// A Row is what a range does, and why.
type Row struct {
	Range *kinematics.Range
	Cell  reading.RangeReading
	Why   []string
	Or    bool // the range can come to this as well as to the row before
}

// A Sight is what was seen in a range: what it does under power and, if Rolling,
// how the vehicle rolls.
type Sight struct {
	Range   *kinematics.Range
	Cell    reading.RangeReading
	Rolling bool
}

// Text tells what was seen.
func (s Sight) Text() string {
	if s.Rolling && !s.Cell.RollingTold() {
		return s.Cell.Pulling() + ", but " + s.Cell.Reading.Coast
	}
	return s.Cell.Text()
}

// of says whether the sight can be of a range that does what c is.
func (s Sight) of(c reading.RangeReading) bool {
	return c.PullsLike(s.Cell) && (!s.Rolling || c.CoastsLike(s.Cell))
}

// sight is what a learner is told of a range: how the vehicle rolls only where
// that is odd, or where it should be held and is not.
func (t *Teacher) sight(i int, c reading.RangeReading) Sight {
	loose := t.before[i].Held() && c.Outcome.Verdict == solve.Neutral
	return Sight{&t.train.Ranges[i], c, c.RollingTold() || loose}
}

// A Test is a range that can be tried next, under power or coasting.
type Test struct {
	Range    *kinematics.Range
	Coasting bool
	// Results are the different things that can then be seen, each with the
	// suspects of which it is true.
	Results []Result
}

// A Result is what is seen of some suspects in a range.
type Result struct {
	Seen     string
	Suspects []kinematics.Fault
	cell     reading.RangeReading // of the first suspect
}

// MostExercises is the largest number of exercises on a sheet.
const MostExercises = 100

// Sheet makes count exercises: the application chart first, then the other kinds
// in turn, about faults in the order of the seed. Its error is that of the context, if it
// ends before.
func (t *Teacher) Sheet(ctx context.Context, seed uint64, count int) (Worksheet, error) {
	s := Worksheet{Train: t.train, Given: t.given}
	if count > 0 {
		s.Exercises = append(s.Exercises, t.fillChart())
	}
	faults := t.Faults(seed)
	if len(faults) == 0 {
		return s, nil
	}
	r := random(seed)
	kinds := []Kind{Predict, Suspects, NextTest}
	err := solve.Each(ctx, "exercises", max(count-1, 0), func(n int) {
		// Each time round the faults get another kind of exercise.
		f, round := faults[n%len(faults)], n/len(faults)
		switch kinds[(n+round)%len(kinds)] {
		case Predict:
			s.Exercises = append(s.Exercises, t.predict(ctx, f))
		case Suspects:
			e := t.complaint(r, f, 3)
			e.Kind = Suspects
			s.Exercises = append(s.Exercises, e)
		case NextTest:
			s.Exercises = append(s.Exercises, t.nextTest(r, f))
		}
	})
	return s, err
}

func (t *Teacher) fillChart() Exercise {
	e := Exercise{Kind: FillChart, Faults: t.given.Faults}
	for i := range t.train.Ranges {
		e.Rows = append(e.Rows, t.rows(i, e.Faults, func([]kinematics.Fault) []string { return nil })...)
	}
	return e
}

// rows say what range number i does under faults: in each way in which those of the controls
// can end, what reads the same once.
func (t *Teacher) rows(i int, faults []kinematics.Fault, why func(faults []kinematics.Fault) []string) []Row {
	var list []Row
	r := &t.train.Ranges[i]
	for _, way := range append([][]kinematics.Fault{faults}, t.given.Brought.Instead(r, faults)...) {
		cell := t.reader.Read(r, way...)
		if !slices.ContainsFunc(list, func(x Row) bool { return x.Cell.Text() == cell.Text() }) {
			list = append(list, Row{Range: r, Cell: cell, Why: why(way), Or: len(list) > 0})
		}
	}
	return list
}

func (t *Teacher) predict(ctx context.Context, f kinematics.Fault) Exercise {
	e := Exercise{Kind: Predict, Faults: append(slices.Clone(t.given.Faults), f)}
	for i := 0; i < len(t.train.Ranges) && ctx.Err() == nil; i++ {
		e.Rows = append(e.Rows, t.rows(i, e.Faults, func(faults []kinematics.Fault) []string {
			why := reading.Explain(ctx, t.reader, &t.train.Ranges[i], faults...)
			if ctx.Err() != nil {
				return nil
			}
			return why.Brief()
		})...)
	}
	return e
}

// complaint describes a fault by what is seen in some ranges that come to one thing, one of
// them a range in which the fault shows, and finds all faults that explain it.
func (t *Teacher) complaint(r *rand.Rand, f kinematics.Fault, ranges int) Exercise {
	cells := t.read(f)
	order := kinematics.Map(r.Perm(len(t.settled)), func(k int) int { return t.settled[k] })
	if at := slices.IndexFunc(order, func(i int) bool { return t.shows(i, cells[i]) }); at > 0 {
		order[0], order[at] = order[at], order[0]
	}
	tried := order[:min(ranges, len(order))]
	slices.Sort(tried)
	var e Exercise
	e.Seen = kinematics.Map(tried, func(i int) Sight { return t.sight(i, cells[i]) })
	for k, g := range t.faults {
		explains := true
		for n, i := range tried {
			explains = explains && e.Seen[n].of(t.cells[k][i])
		}
		if explains {
			e.Suspects = append(e.Suspects, g)
		}
	}
	return e
}

// nextTest is a complaint that leaves several suspects, and what can be tried
// next. If every choice of ranges leaves one suspect only, it asks for that one.
func (t *Teacher) nextTest(r *rand.Rand, f kinematics.Fault) Exercise {
	var e Exercise
	for range 20 {
		if e = t.complaint(r, f, 2); len(e.Suspects) > 1 {
			break
		}
	}
	if e.Kind = NextTest; len(e.Suspects) < 2 {
		e.Kind = Suspects
		return e
	}
	for _, i := range t.settled {
		if e.sight(&t.train.Ranges[i]) == nil {
			e.addTest(t.test(i, false, e.Suspects))
		}
	}
	for _, i := range t.settled {
		if len(e.Best) > 0 && !e.Tests[e.Best[0]].Coasting {
			break
		}
		if s := e.sight(&t.train.Ranges[i]); s == nil || !s.Rolling {
			e.addTest(t.test(i, true, e.Suspects))
		}
	}
	return e
}

// sight returns what was seen in a range, nil if it was not tried.
func (e *Exercise) sight(r *kinematics.Range) *Sight {
	for i := range e.Seen {
		if e.Seen[i].Range == r {
			return &e.Seen[i]
		}
	}
	return nil
}

// addTest adds a test, to the best ones if it is as good or better.
func (e *Exercise) addTest(test Test) {
	e.Tests = append(e.Tests, test)
	if len(test.Results) < 2 {
		return
	}
	better := 1
	if len(e.Best) > 0 {
		better = test.against(&e.Tests[e.Best[0]])
	}
	if better > 0 {
		e.Best = nil
	}
	if better >= 0 {
		e.Best = append(e.Best, len(e.Tests)-1)
	}
}

// test groups suspects by what would be seen in a range.
func (t *Teacher) test(i int, coasting bool, suspects []kinematics.Fault) Test {
	test := Test{Range: &t.train.Ranges[i], Coasting: coasting}
	for _, f := range suspects {
		cell := t.reader.Read(&t.train.Ranges[i], append(slices.Clone(t.given.Faults), f)...)
		like, seen := cell.PullsLike, cell.Pulling()
		if coasting {
			like, seen = cell.CoastsLike, cell.Reading.Coast
		}
		at := slices.IndexFunc(test.Results, func(r Result) bool { return like(r.cell) })
		if at < 0 {
			at = len(test.Results)
			test.Results = append(test.Results, Result{Seen: seen, cell: cell})
		}
		test.Results[at].Suspects = append(test.Results[at].Suspects, f)
	}
	return test
}

// against is above 0 if a test tells more apart than another, below 0 if less.
func (t *Test) against(o *Test) int {
	if n := cmp.Compare(len(t.Results), len(o.Results)); n != 0 {
		return n
	}
	return cmp.Compare(o.largest(), t.largest())
}

// largest is how many suspects the result leaves that leaves the most.
func (t *Test) largest() int {
	most := 0
	for _, r := range t.Results {
		most = max(most, len(r.Suspects))
	}
	return most
}
