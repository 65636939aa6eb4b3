package analysis

import (
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
func (a *Analysis) RightAnswers(faults []kinematics.Fault) (list []LessonAnswer) {
	a.with(func(w *worker) error {
		for i := range a.Train.Ranges {
			list = append(list, lesson.Right(w.reader.Read(&a.Train.Ranges[i], faults...)))
		}
		return nil
	})
	return list
}

// NextFault returns the fault of the exercise that follows the one with a fault: of
// those that show, in the order of a seed, which differs from train to train. There is
// none if no fault shows.
func (a *Analysis) NextFault(now kinematics.Fault, seed uint64) (next kinematics.Fault, ok bool) {
	a.with(func(w *worker) error {
		next, ok = lesson.After(lesson.NewTeacher(a.Train, w.reader).Faults(lesson.Seed(a.Train)^seed), now)
		return nil
	})
	return next, ok
}

// FirstForward is the first range that drives forward when healthy, else the first.
func (a *Analysis) FirstForward() (first int) {
	a.with(func(w *worker) error {
		for i := range a.Train.Ranges {
			if w.reader.Healthy(i).Outcome.Verdict == solve.Forward {
				first = i
				break
			}
		}
		return nil
	})
	return first
}
