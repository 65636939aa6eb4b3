package analysis

import (
	"context"

	"tieup/kinematics"
	"tieup/kinematics/lesson"
	"tieup/kinematics/solve"
)

// A LessonAnswer is what a learner can say that a range does.
type LessonAnswer = lesson.Answer

// LessonAnswers returns what can be said of a range.
func LessonAnswers(t *kinematics.Train, r *kinematics.Range) []LessonAnswer {
	return lesson.Answers(t, r)
}

// RightAnswers says of every range of the train what a learner should answer.
func (a *Analysis) RightAnswers(faults []kinematics.Fault) []LessonAnswer {
	w := a.workers.take()
	defer a.workers.put(w)
	return kinematics.Map(a.Train.Ranges, func(r kinematics.Range) LessonAnswer {
		return lesson.Right(w.reader.Read(&r, faults...))
	})
}

// NextFault returns the fault of the exercise that follows the one with a fault: of
// those that show, in the order of a seed, which differs from train to train. There is
// none if no fault shows, or the context ends before.
func (a *Analysis) NextFault(ctx context.Context, now kinematics.Fault, seed uint64) (next kinematics.Fault, ok bool) {
	w := a.workers.take()
	defer a.workers.put(w)
	teacher, err := lesson.NewTeacher(ctx, a.Train, w.reader)
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
