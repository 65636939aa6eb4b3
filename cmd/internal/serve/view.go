package serve

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
	"tieup/plots/page"
	"tieup/plots/table"
)

// firstTrain is shown where an address names none.
const firstTrain = "depot-shuttle-three-speed"

// A request is what a state is about: its names looked up.
type request struct {
	*loaded
	state page.State // with every default filled in
	rng   int        // index into Train.Ranges
	given analysis.WrittenFaults
	wrong analysis.Condition // under them
	to    int                // index of the range to which a shift is played, -1 for none
	sheet *analysis.Case     // what a road test showed
	plan  analysis.PlanQuestion
	// What was refused of it, word by word.
	refused []page.Observed
	// beyond is what is wrong with a number of the address that only the answer limits.
	beyond error
}

// look looks up the names of a state. What is wrong with it is left out of the
// subject, which is nil if there is no train.
func (s *Server) look(ctx context.Context, st page.State) (*request, error) {
	if st.Train == "" && st.File == "" {
		st.Train = firstTrain
	}
	l, err := s.trains.get(ctx, st)
	if err != nil {
		return nil, err
	}
	sub := &request{loaded: l, state: st, to: -1}
	t := l.train
	if len(t.Ranges) == 0 {
		return nil, fmt.Errorf("%s has no ranges, so there is no selector to move: "+
			"on the command line, turn its members with tieup turn", t.Name)
	}
	var errs []error
	sub.state.Faults = nil
	given := &sub.given
	for _, text := range st.Faults {
		if err := given.Add(t, text); err != nil {
			errs = append(errs, fmt.Errorf("fault %s: %w", kinematics.Quote(text), err))
		}
	}
	for i := range given.Own {
		given.Own[i].Ranges = page.Once(given.Own[i].Ranges)
		sub.state.Faults = append(sub.state.Faults, t.FaultText(given.Own[i]))
	}
	for _, f := range given.Above {
		sub.state.Faults = append(sub.state.Faults, f.String())
	}
	sub.wrong = analysis.InForce(t, given)
	errs = append(errs, sub.lookRange(st), sub.lookTo(st), sub.lookSaid(st), sub.lookCase(st), sub.lookPlan(st))
	return sub, errors.Join(errs...)
}

// lookRange looks up range and position.
func (sub *request) lookRange(st page.State) error {
	t := sub.train
	sub.rng = sub.answers.FirstForward()
	sub.state.Range, sub.state.Position = t.Ranges[sub.rng].Name, ""
	if st.Range == "" {
		return nil
	}
	i, err := t.FindRange(st.Range)
	if err != nil {
		return err
	}
	sub.rng, sub.state.Range = i, t.Ranges[i].Name
	if st.Position == "" || st.Position == positionOf(t, i) {
		return nil
	}
	at := slices.IndexFunc(t.Positions, func(p kinematics.Position) bool { return p.Name == st.Position })
	if at < 0 || !slices.Contains(t.Positions[at].Ranges, i) {
		return fmt.Errorf("%s has no position %s that offers %s", t.Name, kinematics.Quote(st.Position), st.Range)
	}
	sub.state.Position = st.Position
	return nil
}

// lookTo looks up the range to which a shift is played.
func (sub *request) lookTo(st page.State) error {
	sub.state.To = ""
	if st.To == "" {
		return nil
	}
	i, err := sub.train.FindRange(st.To)
	if err != nil {
		return err
	}
	sub.to, sub.state.To = i, sub.train.Ranges[i].Name
	return nil
}

// positionOf is the first position that offers a range, "" if none does.
func positionOf(t *kinematics.Train, rng int) string {
	for _, p := range t.Positions {
		if slices.Contains(p.Ranges, rng) {
			return p.Name
		}
	}
	return ""
}

// lookSaid keeps the answers of a lesson that fit the train, in its order.
func (sub *request) lookSaid(st page.State) error {
	t := sub.train
	sub.state.Said = nil
	for _, said := range st.Said {
		if _, err := t.FindRange(said.Range); err != nil {
			return err
		}
	}
	for i := range t.Ranges {
		r := &t.Ranges[i]
		v := st.SaidOf(r.Name)
		switch {
		case v == "":
		case !slices.Contains(analysis.LessonAnswers(t, r), analysis.LessonAnswer(v)):
			return fmt.Errorf("there is no answer %s for range %s", kinematics.Quote(v), r.Name)
		default:
			sub.state.Said = append(sub.state.Said, page.Reply{Range: r.Name, Verdict: v})
		}
	}
	return nil
}

// view answers a state. The problem, if any, is put on top. It is nil if the
// context ended meanwhile.
func (s *Server) view(ctx context.Context, st page.State, sub *request, problem error) *page.View {
	v := &page.View{State: st}
	if sub != nil {
		v.State = sub.state
	}
	for _, name := range gearsets.Names() {
		v.Trains = append(v.Trains, page.Option{Value: name, Text: name, Chosen: name == v.State.Train})
	}
	v.Tabs = tabs(v.State)
	v.Refuse(problem)
	if sub == nil {
		return v
	}
	v.Train = sub.train
	v.Warnings = sub.file.Problems.Excerpts()
	v.Groups = sub.groups()
	for _, f := range sub.given.Own {
		v.Faults = append(v.Faults, page.Fault{Text: sub.train.FaultText(f), Short: reading.FaultBrief(sub.train, f),
			Sentence: reading.FaultWhere(sub.train, f)})
	}
	for _, f := range sub.given.Above {
		words := reading.ControlFault(f)
		v.Faults = append(v.Faults, page.Fault{Text: f.String(), Short: words, Sentence: words})
	}
	v.Choices, v.Switches = choices(sub.train), sub.switches()
	if v.Problem == "" || sub.state.Mode == page.Test {
		sub.show(ctx, v)
		v.Refuse(sub.beyond)
	}
	// What is shown below a refusal must not seem to be the answer: the train alone.
	if v.Problem != "" && v.RoadTest == nil {
		v.Answer, v.Lesson = nil, nil
		if v.Stage = sub.stage(ctx, v); v.Stage != nil {
			hide(v, nil)
		}
	}
	if ctx.Err() != nil {
		return nil
	}
	v.State = sub.state
	return v
}

// show answers a state in its mode.
func (sub *request) show(ctx context.Context, v *page.View) {
	switch sub.state.Mode {
	case page.Test:
		v.RoadTest = sub.roadTest(ctx)
		return
	case page.Work:
		if v.Answer = sub.answer(ctx); v.Answer != nil {
			mark(v.Groups, sub.train, kinematics.Map(v.Answer.Chart.First(), func(r *analysis.ChartRow) reading.Row {
				return r.Row
			}))
			markOthers(v.Groups, v.Answer.Chart.Outcomes)
		}
		return
	}
	if sub.state.Mode == page.Lesson {
		v.Lesson = sub.round(ctx)
	}
	if v.Lesson != nil && !v.Lesson.Revealed {
		sub.ask(ctx, v)
	} else {
		v.Stage = sub.stage(ctx, v)
	}
	if v.Stage == nil {
		return
	}
	if sub.state.Mode == page.Time {
		sub.inTime(ctx, v.Stage)
	}
	sub.tell(v.Stage)
}

// limit refuses a number of the address that the answer has no room for: a text that goes on
// with ", not 40".
func limit[T int | float64](sub *request, n *T, most T, format string, args ...any) {
	if *n > most {
		sub.beyond = errors.Join(sub.beyond, fmt.Errorf(format+", not %v", append(args, *n)...))
		*n = 0
	}
}

func tabs(st page.State) []page.Tab {
	names := map[page.Mode]string{page.Look: "Look", page.Lesson: "Lesson", page.Test: "Road test", page.Time: "Time"}
	var list []page.Tab
	for _, m := range page.Modes {
		to := st
		to.Mode, to.Reveal, to.Step = m, false, 0
		id := string(m)
		if m == page.Look {
			id = "look"
		}
		here := m == st.Mode || m == page.Look && st.Mode == page.Work
		list = append(list, page.Tab{ID: id, Name: names[m], Link: to.Link(), Here: here})
	}
	return list
}

// groups are the positions of the selector with their ranges, and ranges that
// no position offers.
func (sub *request) groups() []page.Group {
	t := sub.train
	var groups []page.Group
	at := sub.state.Position
	if at == "" {
		at = positionOf(t, sub.rng)
	}
	add := func(position string, ranges []int) {
		g := page.Group{Position: position}
		for _, r := range ranges {
			name := t.Ranges[r].Name
			g.Ranges = append(g.Ranges, page.Place{
				Range: name, Value: position + "." + name, Chosen: r == sub.rng && position == at,
			})
		}
		groups = append(groups, g)
	}
	var rest []int
	for i := range t.Ranges {
		if positionOf(t, i) == "" {
			rest = append(rest, i)
		}
	}
	for _, p := range t.Positions {
		add(p.Name, p.Ranges)
	}
	if len(rest) > 0 {
		add("", rest)
	}
	return groups
}

// choices lists every fault that can be added, by coupling or part of the controls.
func choices(t *kinematics.Train) []page.Alternatives {
	var list []page.Alternatives
	for i := range t.Couplings {
		c := &t.Couplings[i]
		name := c.Name + ", " + c.Kind.String()
		if i >= t.ElementCount {
			name = "joint " + t.Joints[c.Joint].Name
		}
		for _, k := range t.FaultKinds(i) {
			text := reading.Fault(t, kinematics.Fault{Coupling: i, Kind: k})
			switch k {
			case kinematics.Weak:
				text = c.Name + " is weak: say how much below"
			case kinematics.Dragging:
				text = c.Name + " drags when released: say how much below"
			}
			list = under(list, name, page.Option{Value: c.Name + "=" + string(k), Text: text})
		}
	}
	if n := controls.Of(t); n != nil {
		for _, f := range n.SingleFaults() {
			list = under(list, f.Part+", controls", page.Option{Value: f.String(), Text: reading.ControlFault(f)})
		}
	}
	return list
}

// under puts an option under a label: under the last one if that is it.
func under(list []page.Alternatives, label string, o page.Option) []page.Alternatives {
	if n := len(list); n == 0 || list[n-1].Label != label {
		list = append(list, page.Alternatives{Label: label})
	}
	last := &list[len(list)-1]
	last.Options = append(last.Options, o)
	return list
}

// switches lists, for each solenoid and valve and for the supply, the faults that one
// press puts in force, or takes away.
func (sub *request) switches() []page.Switch {
	n := controls.Of(sub.train)
	if n == nil {
		return nil
	}
	var list []page.Switch
	for _, f := range n.SingleFaults() {
		if f.With != "" || !f.Kind.Switched() {
			continue
		}
		p := page.Press{Value: f.String(), Kind: string(f.Kind), Says: reading.ControlFault(f)}
		p.On = slices.Contains(sub.state.Faults, p.Value)
		if k := len(list); k == 0 || list[k-1].Name != f.Part {
			list = append(list, page.Switch{Name: f.Part})
		}
		list[len(list)-1].Presses = append(list[len(list)-1].Presses, p)
	}
	return list
}

// markOthers marks the ranges that can come to harm that is not shown.
func markOthers(groups []page.Group, outcomes []analysis.RangeOutcomes) {
	for _, o := range outcomes {
		for g := range groups {
			for k := range groups[g].Ranges {
				if p := &groups[g].Ranges[k]; p.Range == o.Range {
					p.Danger, p.Says = p.Danger || len(o.Hazards) > 0, p.Says+". "+o.Brief()
				}
			}
		}
	}
}

// answer asks the packages what the commands solve, why, chart and shifts ask. It
// is nil if the context ended meanwhile.
func (sub *request) answer(ctx context.Context) *page.Answer {
	t, r := sub.train, &sub.train.Ranges[sub.rng]
	reasons, err := sub.answers.Why(ctx, r, sub.wrong)
	if err != nil {
		return nil
	}
	a := &page.Answer{Range: r, Why: reasons.Why}
	chart, err := sub.answers.Chart(ctx, analysis.Question{Ranges: t.Ranges, Condition: sub.wrong})
	if err != nil {
		return nil
	}
	row := chart.First()[sub.rng]
	a.Chart, a.Changes, a.Healthy, a.Cell = table.Chart{Chart: chart}, row.Changes, row.Healthy, row.Faulty
	solved, err := sub.answers.Solve(ctx, analysis.SolveQuestion{
		Question: analysis.Question{Ranges: []kinematics.Range{*r}, Condition: sub.wrong},
	})
	if err != nil {
		return nil
	}
	a.Solved = table.Solved{Solved: solved, Detail: true}
	a.Cautions, _ = reading.Apart(reasons.Cautions)
	a.Cautions = append(a.Cautions, kinematics.Map(reasons.Outcomes, analysis.RangeOutcomes.Brief)...)
	a.Remark = solved.Remark
	var none *analysis.NoShifts
	a.Shifts.Shifts, err = sub.answers.Shifts(ctx, analysis.ShiftsQuestion{Condition: sub.wrong})
	if err != nil && !errors.As(err, &none) {
		a.NoShifts = err.Error()
	}
	if ctx.Err() != nil {
		return nil
	}
	a.Plan = sub.planned(ctx)
	a.Other = sub.drawings()
	a.Command = sub.commands(a.NoShifts == "")
	return a
}

// commands are the command lines that give the same answers; with speeds those of
// speeds alone, too.
func (sub *request) commands(speeds bool) []string {
	name := sub.state.Train
	if sub.state.File != "" {
		name = shellWord(sub.state.FileName)
	}
	faults := ""
	for _, f := range sub.state.Faults {
		faults += " --fault " + shellWord(f)
	}
	rng := shellWord(sub.state.Range)
	lines := []string{
		"tieup solve " + name + " " + rng + faults,
		"tieup why " + name + " " + rng + faults,
		"tieup chart " + name + faults,
		"tieup plot chart " + name + faults + " -o chart.svg",
	}
	if speeds {
		lines = append(lines,
			"tieup shifts "+name+faults,
			"tieup plot speeds "+name+" "+rng+faults+" -o speeds.svg",
			"tieup plot path "+name+" "+rng+faults+" -o path.svg")
	}
	if sub.to >= 0 {
		lines = append(lines, "tieup transient "+name+" "+rng+" "+shellWord(sub.state.To)+faults)
	}
	return lines
}

// shellWord quotes a word for a shell where it needs that.
func shellWord(w string) string {
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_=.,:@/", r)
	}
	if w != "" && !strings.ContainsFunc(w, func(r rune) bool { return !plain(r) }) {
		return w
	}
	return "'" + strings.ReplaceAll(w, "'", `'\''`) + "'"
}

// round makes a round of a lesson: every range, with the answers only when
// they are to be shown.
func (sub *request) round(ctx context.Context) *page.Round {
	t := sub.train
	l := &page.Round{Revealed: sub.state.Reveal}
	right, err := sub.answers.RightAnswers(sub.wrong)
	if err != nil {
		return nil
	}
	for i := range t.Ranges {
		r := &t.Ranges[i]
		row := page.RoundRow{Range: r.Name, Choices: analysis.LessonAnswers(t, r),
			Said: analysis.LessonAnswer(sub.state.SaidOf(r.Name))}
		if row.Said != "" {
			l.Answered++
		}
		if l.Revealed {
			if row.Right = slices.Contains(right[i], row.Said); row.Right {
				l.Right++
			}
			if len(right[i]) > 1 {
				row.Several = right[i]
			}
		}
		l.Rows = append(l.Rows, row)
	}
	l.Here = &l.Rows[sub.rng]
	var now kinematics.Fault
	if len(sub.wrong.Faults) > 0 {
		now = sub.wrong.Faults[0]
	}
	if f, ok := sub.answers.NextFault(ctx, now, uint64(sub.state.Seed)); ok {
		next := sub.state
		next.Faults, next.Said, next.Reveal, next.Step = []string{t.FaultText(f)}, nil, false, 0
		l.Next = next.Link()
	}
	return l
}

// edited makes the changes that a form asks for on top of the state it sends: answers of a
// lesson hidden, all suspects or the likeliest, position and range ("D.D2"), a fault taken
// away by its number, one of the controls put in force by a switch or taken away, and a fault
// added, with the share of its rating and the ranges in which it acts.
func edited(st page.State, q url.Values) (page.State, error) {
	if q.Get("hide") == "1" {
		st.Reveal = false
	}
	if suspects := q.Get("suspects"); suspects != "" {
		st.All = suspects == "all"
	}
	if at := q.Get("at"); at != "" {
		position, rng, ok := strings.Cut(at, ".")
		if !ok {
			return st, fmt.Errorf("there is no place %s of the selector", kinematics.Quote(at))
		}
		if st.Range != rng {
			st.To, st.Step, st.Moment = "", 0, 0
		}
		st.Position, st.Range = position, rng
	}
	drop, press, add, only := q.Get("drop"), q.Get("switch"), q.Get("add"), q["only"]
	share := strings.TrimSpace(q.Get("share"))
	if drop == "" && press == "" && add == "" {
		if share != "" || len(only) > 0 {
			return st, errors.New("what is wrong? Choose a fault before saying how much or where")
		}
		return st, nil
	}
	faults := slices.Clone(st.Faults)
	switch n, err := strconv.Atoi(drop); {
	case drop != "" && (err != nil || n < 0 || n >= len(faults)):
		return st, fmt.Errorf("there is no fault number %s to remove", kinematics.Quote(drop))
	case drop != "":
		faults, add = slices.Delete(faults, n, n+1), ""
	case press != "": // in place of others of its part
		part, _, _ := strings.Cut(press, "=")
		faults = slices.DeleteFunc(faults, func(f string) bool { return strings.HasPrefix(f, part+"=") })
		if add, share = press, ""; slices.Contains(st.Faults, press) {
			add = ""
		}
	}
	if add != "" {
		if len(faults) >= page.MostFaults {
			return st, fmt.Errorf("up to %d faults at once can be shown: remove one first", page.MostFaults)
		}
		if share != "" {
			add += " " + share
		}
		if len(only) > 0 {
			add += "@" + strings.Join(only, ",")
		}
		faults = append(faults, add)
	}
	st.Faults = faults
	st.Said, st.Reveal = nil, false // of another question
	return st, nil
}
