package serve

import (
	"context"
	"errors"

	"tieup/kinematics/analysis"
	"tieup/plots/page"
	"tieup/plots/table"
)

// play plays the shift of a subject with what the command transient assumes.
func (sub *request) play() (*analysis.Played, error) {
	if sub.to < 0 {
		return nil, errors.New("to which range? Add to=RANGE to the address")
	}
	q := analysis.PlayQuestion{From: &sub.train.Ranges[sub.rng], To: &sub.train.Ranges[sub.to], Faults: sub.faults}
	return sub.answers.Play(context.Background(), q)
}

// inTime lists the shifts from the range that can be played, and plays the
// chosen one. It is nil where there is none of either.
func (sub *request) inTime() *page.InTime {
	it := &page.InTime{}
	link := func(to string) {
		st := sub.state
		st.To = to
		it.Shifts = append(it.Shifts, page.Tab{Name: sub.state.Range + " to " + to, Link: st.Link(), Here: to == sub.state.To && sub.to >= 0})
	}
	chosen := sub.to < 0
	for _, r := range sub.answers.ShiftsFrom(&sub.train.Ranges[sub.rng]) {
		link(r.Name)
		chosen = chosen || r.Name == sub.train.Ranges[sub.to].Name
	}
	if !chosen {
		link(sub.train.Ranges[sub.to].Name)
	}
	if len(it.Shifts) == 0 {
		return nil
	}
	if sub.to < 0 {
		return it
	}
	answer, err := sub.play()
	if err != nil {
		it.Refused = err.Error()
		return it
	}
	it.Played = &table.Played{Played: answer}
	it.Drawing = page.Drawing{
		Title: inTime.title + ", " + sub.state.Range + " to " + sub.state.To,
		Link:  sub.drawing(inTime.name, "svg", false), Dark: sub.drawing(inTime.name, "svg", true), PDF: sub.drawing(inTime.name, "pdf", false),
		Text: it.Played.Heading + ". The numbers are in the table that follows.",
	}
	return it
}
