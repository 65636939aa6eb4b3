package analysis

import (
	"context"

	"tieup/kinematics"
	"tieup/kinematics/lesson"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A LessonAnswer is what a learner can say that a range does.
type LessonAnswer = lesson.Answer

// LessonAnswers returns what can be said of a range.
func LessonAnswers(t *kinematics.Train, r *kinematics.Range) []LessonAnswer {
	return lesson.Answers(t, r)
}

// RightAnswers says of every range of the train what a learner can rightly answer: more than
// one thing where the range can come to more.
func (a *Analysis) RightAnswers(c Condition) ([][]LessonAnswer, error) {
	if err := c.in(a.Train); err != nil {
		return nil, err
	}
	w := a.workers.take()
	defer a.workers.put(w)
	return kinematics.Map(a.Train.Ranges, func(r kinematics.Range) []LessonAnswer {
		return kinematics.Union(nil, kinematics.Map(c.ways(&r), func(way Condition) LessonAnswer {
			return lesson.Right(w.reader.Read(&r, way.Faults...))
		})...)
	}), nil
}

// LessonGiven is what a learner is told to be wrong: faults, and in words which ranges can come
// to more than one thing.
func (a *Analysis) LessonGiven(c Condition) (faults []kinematics.Fault, unsettled []string, err error) {
	if err := c.in(a.Train); err != nil {
		return nil, nil, err
	}
	w := a.workers.take()
	defer a.workers.put(w)
	given := w.given(c)
	return given.Told(), given.Unsettled, nil
}

// given is a condition as lessons have it.
func (w *worker) given(c Condition) lesson.Given {
	g := lesson.Given{Faults: c.Faults, Brought: c.brought}
	if c.brought == nil {
		return g
	}
	ranges := map[string][]string{} // by what it depends on
	var order []string
	for _, i := range c.brought.Open {
		r := &w.system.Train.Ranges[i]
		on := w.depends(c.brought, r)
		ranges[on], order = append(ranges[on], r.Name), kinematics.Union(order, on)
	}
	g.Unsettled = kinematics.Map(order, func(on string) string {
		return reading.Unsettled(c.brought.Faults, ranges[on], on)
	})
	return g
}

// NextFault returns the fault of the exercise that follows the one with a fault: of
// those that show, in the order of a seed, which differs from train to train. There is
// none if no fault shows, or the context ends before.
func (a *Analysis) NextFault(ctx context.Context, now kinematics.Fault, seed uint64) (next kinematics.Fault, ok bool) {
	w := a.workers.take()
	defer a.workers.put(w)
	teacher, err := lesson.NewTeacher(ctx, a.Train, w.reader, lesson.Given{})
	if err != nil {
		return next, false
	}
	return lesson.After(teacher.Faults(lesson.Seed(a.Train)^seed), now)
}

// FirstForward is the first range that drives forward when healthy, else the first.
func (a *Analysis) FirstForward() int {
	w := a.workers.take()
	defer a.workers.put(w)
	for i := range a.Train.Ranges {
		if w.reader.Healthy(i).Outcome.Verdict == solve.Forward {
			return i
		}
	}
	return 0
}
