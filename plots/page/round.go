package page

import (
	"slices"

	"tieup/kinematics/analysis"
)

// A Round is one round of a lesson: for each range the learner says what it
// does under the faults, and then sees.
type Round struct {
	Rows     []RoundRow
	Revealed bool
	Answered int    // how many ranges were answered
	Right    int    // how many of them rightly; known once revealed
	Next     string // link to a round with another fault
	Here     *RoundRow
}

// Count is how many ranges there are to answer.
func (r *Round) Count() int { return len(r.Rows) }

// A RoundRow is a range of a round.
type RoundRow struct {
	Range   string
	Choices []analysis.LessonAnswer
	Said    analysis.LessonAnswer   // "" for nothing
	Right   bool                    // known once revealed
	Several []analysis.LessonAnswer // what is right, once revealed, where that is more than one thing
}

// Also says whether an answer is one of several that are right.
func (r *RoundRow) Also(a analysis.LessonAnswer) bool { return slices.Contains(r.Several, a) }
