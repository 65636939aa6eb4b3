package serve

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots/page"
)

// lookPlan looks up what the turns by hand are planned for.
func (sub *request) lookPlan(st page.State) error {
	var errs []error
	sub.state.Air, sub.state.Without = nil, ""
	sub.plan = analysis.PlanQuestion{NoHold: st.NoHold}
	for _, name := range page.Once(st.Air) {
		e, err := sub.train.FindElement(name)
		if err != nil {
			errs = append(errs, fmt.Errorf("air: %w", err))
			continue
		}
		sub.plan.Air = append(sub.plan.Air, e)
		sub.state.Air = append(sub.state.Air, name)
	}
	if err := sub.plan.Without.UnmarshalText([]byte(st.Without)); err != nil {
		errs = append(errs, fmt.Errorf("without %s: %w", kinematics.Quote(st.Without), err))
	} else {
		sub.state.Without = st.Without
	}
	return errors.Join(errs...)
}

// planned is the plan of turns by hand, or a link to it where none is asked for.
func (sub *request) planned(ctx context.Context) *page.Plan {
	st := sub.state
	if st.Turn == 0 {
		st.Turn = 1
		return &page.Plan{Open: st.Link()}
	}
	st.Turn = 0
	p := &page.Plan{Close: st.Link()}
	for i := range sub.train.ElementCount {
		c := &sub.train.Couplings[i]
		if analysis.Airable(c) {
			p.Air = append(p.Air, page.Option{Value: c.Name, Text: c.Name, Chosen: slices.Contains(sub.state.Air, c.Name)})
		}
	}
	p.Without = []page.Option{{Value: "", Text: "nothing: all is fitted"}}
	for _, part := range analysis.Removable() {
		p.Without = append(p.Without, page.Option{Value: part, Text: part, Chosen: part == sub.state.Without})
	}
	answer, err := sub.answers.Plan(ctx, sub.plan)
	if err != nil {
		p.Refused = err.Error()
		return p
	}
	answer.Tick(sub.sheet)
	p.Planned = answer
	limit(sub, &sub.state.Turn, max(1, len(answer.Turns)), "this plan has %d turns by hand", len(answer.Turns))
	for i := range answer.Turns {
		st.Turn = i + 1
		p.Turns = append(p.Turns, page.Tab{ID: "turn-" + strconv.Itoa(i+1), Name: answer.Turns[i].Says,
			Link: st.Link(), Here: st.Turn == sub.state.Turn})
	}
	if sub.state.Turn > 0 && len(answer.Turns) > 0 {
		p.Turn = &answer.Turns[sub.state.Turn-1]
		p.Picture = page.Drawing{Title: "Half-section: framed is what this turn applies",
			Link: sub.drawing(byHand.name, "svg")}
	}
	return p
}
