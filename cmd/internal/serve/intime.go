package serve

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
	"tieup/plots/page"
	"tieup/plots/stage"
)

// play plays the shift of a subject with what the command transient assumes.
func (sub *request) play(ctx context.Context) (*analysis.Played, error) {
	if sub.to < 0 {
		return nil, errors.New("to which range? Add to=RANGE to the address")
	}
	q := analysis.PlayQuestion{From: &sub.train.Ranges[sub.rng], To: &sub.train.Ranges[sub.to], Condition: sub.wrong}
	return sub.answers.Play(ctx, q)
}

// inTime lists the shifts from the range that can be played, and puts the chosen one,
// else the first, on the stage.
func (sub *request) inTime(ctx context.Context, on *page.Stage) {
	it := &page.InTime{}
	on.InTime = it
	link := func(to string) {
		st := sub.state
		st.To, st.Moment = to, 0
		it.Shifts = append(it.Shifts, page.Tab{ID: sub.state.Range + "-" + to, Name: sub.state.Range + " to " + to,
			Link: st.Link(), Here: to == sub.state.To})
	}
	from, err := sub.answers.ShiftsFrom(&sub.train.Ranges[sub.rng])
	if err != nil {
		it.Refused = err.Error()
		return
	}
	if sub.to < 0 && len(from) > 0 {
		sub.to, _ = sub.train.Range(from[0].Name)
		sub.state.To = from[0].Name
	}
	chosen := sub.to < 0
	for _, r := range from {
		link(r.Name)
		chosen = chosen || r.Name == sub.state.To
	}
	if !chosen {
		link(sub.state.To)
	}
	if sub.to < 0 {
		it.Refused = "From " + sub.state.Range + " no shift can be played."
		return
	}
	played, err := sub.play(ctx)
	if err != nil {
		it.Refused = err.Error()
		return
	}
	it.Played = played
	it.Drawing = page.Drawing{Title: inTime.title, Link: sub.drawing(inTime.name, "svg"),
		PDF: sub.drawing(inTime.name, "pdf")}
	on.Range = sub.state.Range + " to " + sub.state.To
	for _, w := range played.Words {
		on.Words = append(on.Words, stage.TrueMinus(sub.asSentence(w)))
	}
	on.Why = strings.Join(on.Words, " ")
	if on.Aside, _ = reading.Apart(played.Cautions); len(on.Aside) == 0 {
		on.Aside = []string{played.Heading + "."}
	}
	on.Brief = reading.Brief(sub.train.Use, played.Hazards)
	on.Scene.Base.Text = on.Why
	on.Scene.Frames, on.Scene.Lines, on.Scene.Healthy = nil, nil, nil
	course := stage.NewCourse(on.Figure, sub.train, played)
	on.Scene.Course = course
	limit(sub, &sub.state.Moment, math.Ceil(course.End()*1000)/1000, "a moment of %s is from 0 to %.2f s", on.Range,
		course.End())
	now := course.At(sub.state.Moment)
	on.Head, on.Verdict, on.Danger = now.Says, now.Sign, now.Danger
	on.Own = on.Head
}

// asSentence begins words with a capital letter, but for the name of an element, and ends them.
func (sub *request) asSentence(words string) string {
	first, _, _ := strings.Cut(strings.ReplaceAll(words, ",", " "), " ")
	named := slices.ContainsFunc(sub.train.Couplings, func(c kinematics.Coupling) bool { return c.Name == first })
	if !named && first != "" {
		words = strings.ToUpper(words[:1]) + words[1:]
	}
	return words + "."
}
