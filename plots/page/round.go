package page

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
	Said           string // verdict that was chosen, "" for none

	// The rest is set when the answers are revealed.
	Right   bool
	Verdict string
	Text    string   // what it does
	Coast   string   // what coasting does
	Why     []string // the reason in a few sentences
}

// SaidText is what was said in the words of the choices.
func (r RoundRow) SaidText() string {
	for _, o := range verdictOptions {
		if o.Value == r.Said {
			return o.Text
		}
	}
	return "nothing"
}
