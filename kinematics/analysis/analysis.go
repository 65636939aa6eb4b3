package analysis

import (
	"context"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
	"tieup/kinematics/shift"
	"tieup/kinematics/solve"
)

// An Analysis answers questions about one train.
type Analysis struct {
	Train *kinematics.Train

	system  *solve.System
	workers stock[*worker]
	finders stock[*diagnosis.Finder] // with the usual assumptions
}

// What questions and writers name of the engine's values.
type (
	// A Motion is the full motion of one state.
	Motion = solve.Motion
	// A Speed is the speed of a member or a slip.
	Speed = solve.Speed
	// A Given is the speed that a member is made to turn at.
	Given = solve.Given
)

// The verdicts, see [solve.Verdict].
const (
	TieUp      = solve.TieUp
	InputHeld  = solve.InputHeld
	OutputHeld = solve.OutputHeld
	Neutral    = solve.Neutral
	Forward    = solve.Forward
	Reverse    = solve.Reverse
)

// Open compiles a train.
func Open(t *kinematics.Train) *Analysis {
	a := &Analysis{Train: t, system: solve.Compile(t)}
	a.workers.make = func() *worker { return &worker{system: a.system, reader: reading.NewReader(a.system)} }
	return a
}

// A worker is what one question is answered with. It remembers what it found, and
// serves one question at a time.
type worker struct {
	system    *solve.System
	reader    *reading.Reader
	predictor *shift.Predictor // nil until a question needs it
}

// shifts returns the worker's predictor of shifts.
func (w *worker) shifts() *shift.Predictor {
	if w.predictor == nil {
		w.predictor = shift.NewPredictor(w.system)
	}
	return w.predictor
}

// A stock keeps what serves one question at a time and gets faster with use, since
// it remembers what it found: a pool that no garbage collection empties.
type stock[T any] struct {
	make func() T
	mu   sync.Mutex
	free []T
}

// take takes the one that was used last, or makes one.
func (s *stock[T]) take() T {
	if last, ok := s.last(); ok {
		return last
	}
	return s.make()
}

// last takes the one that was used last, if there is one.
func (s *stock[T]) last() (last T, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := len(s.free)
	if n == 0 {
		return last, false
	}
	last, s.free = s.free[n-1], s.free[:n-1]
	return last, true
}

// put puts back what was taken.
func (s *stock[T]) put(x T) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.free = append(s.free, x)
}

// A Question names what of a train is asked: ranges, which may be ones that are
// made up for a combination of elements, under faults.
type Question struct {
	Ranges []kinematics.Range // all of the train's if there are none
	Condition
}

// all returns the question with the ranges that it is about.
func (q Question) all(t *kinematics.Train) Question {
	if len(q.Ranges) == 0 {
		q.Ranges = t.Ranges
	}
	return q
}

// of is the question about its ranges, with those faults alone that act in one of them.
func (q Question) of(t *kinematics.Train) (Question, error) {
	q = q.all(t)
	ranges := pointers(q.Ranges)
	err := q.in(t, ranges...)
	q.Condition = q.at(ranges...)
	return q, err
}

// complete is [Question.all] for ranges of the train alone.
func (q *Question) complete(t *kinematics.Train) error {
	*q = q.all(t)
	ranges := pointers(q.Ranges)
	if _, err := indices(t, ranges...); err != nil {
		return err
	}
	return q.in(t, ranges...)
}

// indices are those of ranges of a train. All others are refused.
func indices(t *kinematics.Train, ranges ...*kinematics.Range) ([]int, error) {
	var list []int
	for _, r := range ranges {
		if r == nil {
			return nil, errNoRange
		}
		i, err := t.FindRange(r.Name)
		if err == nil {
			err = t.CheckRange(r)
		}
		if err != nil {
			return nil, &QuestionError{[]string{"range"}, err}
		}
		list = append(list, i)
	}
	return list, nil
}

// WithProgress returns a context whose long work tells p what it is at, and how many steps
// of all are done; the last time that all are. p is called by one goroutine at a time of a
// question, and must not take long.
func WithProgress(ctx context.Context, p func(work string, done, all int)) context.Context {
	return solve.WithProgress(ctx, p)
}
