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
func (sub *request) inTime(d *worker) *page.InTime {
	it := &page.InTime{}
	link := func(to int) {
		st := sub.state
		st.To = sub.train.Ranges[to].Name
		it.Shifts = append(it.Shifts, page.Tab{Name: sub.state.Range + " to " + st.To, Link: st.Link(), Here: to == sub.to})
	}
	chosen := sub.to < 0
	for _, p := range d.finder.Pairs() {
		if p.From == sub.rng {
			link(p.To)
			chosen = chosen || p.To == sub.to
		}
	}
	if !chosen {
		link(sub.to)
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
