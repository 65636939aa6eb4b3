package page

import "tieup/kinematics/lesson"

// A Round is one round of a lesson: for each range the learner says what it
// does under the faults, and then sees.
type Round struct {
	Rows     []RoundRow
	Revealed bool
	Answered int    // how many ranges were answered
	Right    int    // how many of them rightly; known once revealed
	Next     string // link to a round with another fault
}

// A RoundRow is a range of a round.
type RoundRow struct {
	Range, Applied string
	Choices        []lesson.Answer
	Said           lesson.Answer // "" for nothing

	// The rest is set when the answers are revealed.
	Right bool
	Text  string   // what it does
	Coast string   // what coasting does
	Why   []string // the reason in a few sentences
}
