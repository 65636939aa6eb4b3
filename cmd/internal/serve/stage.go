package serve

import (
	"cmp"
	"context"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
	"tieup/plots/page"
	"tieup/plots/stage"
)

// figures keeps what was drawn of a train: laying out a half-section takes longer
// than all the rest of an answer.
type figures struct {
	mu   sync.Mutex
	made map[string]*stage.Figure
}

// mostFigures is how many figures of a train are kept.
const mostFigures = 32

// of returns the figure of a train under faults, the same one for all in which the
// same joints hold.
func (f *figures) of(t *kinematics.Train, faults []kinematics.Fault, r *kinematics.Range) *stage.Figure {
	key := stage.Key(t, faults, r.Input, r.Output)
	f.mu.Lock()
	defer f.mu.Unlock()
	if x := f.made[key]; x != nil {
		return x
	}
	if len(f.made) >= mostFigures || f.made == nil {
		f.made = map[string]*stage.Figure{}
	}
	x := stage.NewFigure(t, faults, r.Input, r.Output)
	f.made[key] = x
	return x
}

// stage answers what is on the stage: the range with its reason, and what all ranges
// do. It is nil if the context ended meanwhile.
func (sub *request) stage(ctx context.Context, v *page.View) *page.Stage {
	t, r := sub.train, &sub.train.Ranges[sub.rng]
	a, err := sub.answers.Stage(ctx, sub.rng, sub.wrong)
	if err != nil {
		return nil
	}
	figure := sub.figures.of(t, kinematics.Acting(sub.wrong.Faults, r), r)
	s := &page.Stage{
		Range: r.Name, Verdict: page.VerdictOf(a.Now), Danger: len(a.Warnings) > 0, Head: a.Headline, Own: a.Headline,
		Why:   a.Reason,
		Notes: a.Notes, HasLines: a.Contradicts(), Figure: figure, Scene: stage.NewScene(figure, t, a),
		Section: sub.drawing("path", "svg"), Lever: sub.drawing("lever", "svg"),
	}
	if s.Aside, s.Brief = a.Warnings, a.Brief; !s.Danger {
		s.Aside = []string{a.Beside()}
	}
	if a.Also != "" {
		if s.Danger { // there is no room for more
			s.Aside = []string{a.Brief}
		}
		s.Aside = append(s.Aside[:1:1], a.Also)
	}
	mark(v.Groups, t, a.Chart.Rows)
	markOthers(v.Groups, a.Outcomes)
	return s
}

// tell puts the step of the story into words, where the state has one.
func (sub *request) tell(s *page.Stage) {
	n := len(s.Scene.Frames)
	if n == 0 {
		limit(sub, &sub.state.Step, 0, "no story is told here, so there is no step of it to write")
	} else {
		limit(sub, &sub.state.Step, n, "a step of the story of %s is a number from 1 to %d", s.Range, n)
	}
	if k := sub.state.Step; k > 0 {
		f := s.Scene.Frames[k-1]
		s.Head, s.Why = cmp.Or(f.Head, s.Head), f.Text
	}
}

// mark marks the ranges of the selector with what they do.
func mark(groups []page.Group, t *kinematics.Train, rows []reading.Row) {
	seen := map[string]bool{}
	for g := range groups {
		for k := range groups[g].Ranges {
			p := &groups[g].Ranges[k]
			i, _ := t.Range(p.Range)
			row := rows[i]
			p.Danger = len(analysis.Harm(t, row)) > 0
			p.Sign, p.Says = page.VerdictOf(row.Faulty), row.Faulty.Headline()
			p.Again, seen[p.Range] = seen[p.Range], true
		}
	}
}

// ask makes the stage of a question, which does not answer it.
func (sub *request) ask(ctx context.Context, v *page.View) {
	t, r := sub.train, &sub.train.Ranges[sub.rng]
	told, unsettled, err := sub.answers.LessonGiven(sub.wrong)
	if err != nil {
		return
	}
	asked := *sub
	asked.wrong = analysis.Under(told...)
	s := asked.stage(ctx, v)
	if v.Stage = s; s == nil {
		return
	}
	hide(v, r.Apply)
	s.Verdict, s.Brief = "question", ""
	s.Head = "What does " + r.Name + " do?"
	s.Own, s.Why = s.Head, reading.Setting(t, r, told)
	s.Aside = append(kinematics.Map(told, func(f kinematics.Fault) string { return reading.FaultWhere(t, f) }),
		unsettled...)
	if len(s.Aside) == 0 {
		s.Aside = []string{reading.AllHealthy}
	}
	for _, g := range v.Groups {
		for k := range g.Ranges {
			if p := &g.Ranges[k]; sub.state.SaidOf(p.Range) != "" {
				p.Sign, p.Says = "answered", "answered"
			}
		}
	}
}

// hide takes off a stage and the selector what answers: what moves but for elements that are
// applied, notes, marks and the drawings.
func hide(v *page.View, applied []int) {
	s := v.Stage
	s.Scene.Hide(applied)
	s.Danger, s.Notes, s.HasLines, s.Section, s.Lever = false, nil, false, "", ""
	unmark(v.Groups)
}

// unmark takes the marks off the selector.
func unmark(groups []page.Group) {
	for _, g := range groups {
		for k := range g.Ranges {
			p := &g.Ranges[k]
			p.Danger, p.Sign, p.Says = false, "", ""
		}
	}
}
