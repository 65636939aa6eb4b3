package table

import (
	"io"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Solved writes the answer of analysis.
type Solved struct {
	*analysis.Solved
	// Detail asks for the whole motion of the first state instead of a line.
	Detail bool
}

// stateName is the range, or the combination.
func stateName(st *analysis.State) string {
	if st.Range != "" {
		return string(st.Range)
	}
	return strings.Join(st.Apply, "+")
}

// text writes a line for each state, or the whole motion of one.
func (s Solved) text(p *page) {
	if s.Detail {
		s.details(p)
	} else {
		s.lines(p)
	}
	if s.Remark != "" {
		p.line(s.Remark)
	}
	p.apart(s.Cautions...)
}

// details writes the whole motion of a range, and of what else it can come to.
func (s Solved) details(p *page) {
	for _, st := range s.States {
		if st.Or {
			p.apart("It can come to this as well:")
		}
		s.detail(p, st)
	}
}

func (s Solved) lines(p *page) {
	p.line(titled(s.Train))
	p.faults(s.Faults)
	p.line(several(s.Outcomes)...)
	p.line("")
	g := &Grid{Columns: columns("range", "applied", "reads", "ratio>", "exact>", "coasting", "free", "output rpm>")}
	for _, st := range s.States {
		ratio, exact := ratioCells(st.Ratio, places)
		out := ""
		if st.Ratio.Ratio != nil {
			out = s.rpm(st.Motion.At.Output)
		}
		name := stateName(st)
		if st.Or {
			name = "  or"
		}
		g.Add(name, applied(st.Apply), st.Reads, ratio, exact, st.Coasting, list(st.Free), out)
	}
	p.grid(g)
	note := RatioNote
	if len(s.Outcomes) > 0 {
		note += "; " + reading.OrNote
	}
	p.apart(note)
}

// rpm is a speed in turns per minute where those are asked for.
func (s Solved) rpm(w exact.Frac) string {
	if s.InputRPM == nil {
		return ""
	}
	return rpm(w, *s.InputRPM)
}

// RatioNote says what a ratio is.
const RatioNote = "ratio = input speed / output speed; a minus sign: the output turns against the input"

// titled is the name of a train with its title.
func titled(t *kinematics.Train) string {
	if t.Title == "" {
		return t.Name
	}
	return t.Name + ": " + t.Title
}

func (s Solved) detail(p *page, st *analysis.State) {
	m := st.Motion
	p.line(st.Train + ", " + rangeOrCombination(string(st.Range)) + ": " + applied(st.Apply) + " applied")
	p.faults(st.Faults)
	if !st.Or {
		p.line(several(s.Outcomes)...)
	}
	p.line("")

	f := &fields{}
	f.add("reads", st.Reads)
	ends := "input " + st.Input + ", output " + st.Output
	if st.Ratio.Ratio != nil {
		f.add("ratio", withExact(*st.Ratio.Ratio)+" ("+ends+")")
	} else {
		f.add("between", ends)
	}
	f.add("output", s.output(m))
	f.add("coasting", st.Coasting)
	f.add("rolling forward", reading.Rolling(m.CoastForward, withExact))
	f.add("rolling backward", reading.Rolling(m.CoastBackward, withExact))
	can := "can"
	if !m.InputBackward {
		can = "cannot"
	}
	f.add("input backward", can+" be turned backward")
	if m.NothingTurns() {
		f.add("", "nothing turns, at either end, either way")
	}
	f.write(p)

	p.heading(s.speedHeading(m))
	p.grid(s.memberGrid(st))
	for _, set := range st.Groups {
		word := "turn as one: "
		if set[0] == kinematics.HousingName {
			word = "held: "
			set = set[1:]
		}
		p.line(word + list(set))
	}
	p.heading("elements")
	p.grid(s.couplingGrid(st))
	p.apart(reading.SlipNote)
}

// Members returns the speeds of all members in the i-th state.
func (s Solved) Members(i int) *Grid { return s.memberGrid(s.States[i]).withoutEmptyColumns() }

// Elements returns what every element does in the i-th state.
func (s Solved) Elements(i int) *Grid { return s.couplingGrid(s.States[i]).withoutEmptyColumns() }

// output says how the output moves at the operating point.
func (s Solved) output(m *analysis.Motion) string {
	if m.At.OutputFree {
		w := m.Members[m.State.Output]
		if m.At.Input == 0 {
			return "with the input at rest: free, " + bounds(w.Interval)
		}
		return "free, " + bounds(w.Interval)
	}
	var words string
	switch m.At.Output.Sign() {
	case 0:
		return "at rest"
	case 1:
		words = "turns as the input"
	case -1:
		words = "turns against the input"
	}
	if s.InputRPM != nil {
		return words + ", " + s.rpm(m.At.Output) + " rpm"
	}
	return words + ", " + withExact(m.At.Output) + " per input turn"
}

func (s Solved) speedHeading(m *analysis.Motion) string {
	if m.At.Input == 0 {
		return "speeds, the input at rest"
	}
	if s.InputRPM != nil {
		return "speeds at " + strconv.FormatFloat(*s.InputRPM, 'f', -1, 64) + " rpm of the input"
	}
	return "speeds per turn of the input"
}

func (s Solved) memberGrid(st *analysis.State) *Grid {
	g := &Grid{Columns: columns("member", "rpm>", "speed>", "exact>", "on its carrier>", "note")}
	for i, member := range s.Train.Members {
		id := kinematics.MemberID(i)
		if member.Kind != kinematics.JointHub && id != kinematics.Housing {
			g.Add(s.memberRow(st, id)...)
		}
	}
	return g
}

func (s Solved) memberRow(st *analysis.State, id kinematics.MemberID) []string {
	m := st.Motion
	w := m.Members[id]
	var notes []string
	if id == m.State.Input {
		notes = append(notes, "input")
	}
	if id == m.State.Output {
		notes = append(notes, "output")
	}
	perMinute, speed, exact, onCarrier := "", "", "", ""
	if v, one := w.Point(); one {
		speed, exact = signed(v), v.String()
		if m.At.Input != 0 {
			perMinute = s.rpm(v)
		}
	} else if !w.Empty {
		speed = "free"
		notes = append(notes, bounds(w.Interval))
	}
	if spin, pinion := st.Spins[id]; pinion {
		word, note := spinWords(spin, w.Empty)
		onCarrier = word
		if note != "" {
			notes = append(notes, note)
		}
		if w.Empty && !spin.Across {
			speed = "not given"
		}
	}
	return []string{s.Train.Members[id].Name, perMinute, speed, exact, onCarrier, list(notes)}
}

// spinWords returns the cell of a pinion's spin, and a note.
func spinWords(s analysis.Spin, unknown bool) (cell, note string) {
	switch {
	case !s.Known && s.Across:
		return "not given", "only spins; its teeth are not given"
	case !s.Known:
		return "not given", "its teeth are not given"
	case s.Free:
		return "free", ""
	case s.Across:
		return withExact(s.Speed), "only spins, either sense"
	}
	if s.Speed.Sign() > 0 {
		return "+" + withExact(s.Speed), ""
	}
	return withExact(s.Speed), ""
}

func (s Solved) couplingGrid(st *analysis.State) *Grid {
	t, m := s.Train, st.Motion
	g := &Grid{Columns: columns("element", "kind", "between", "applied", "state", "slip rpm>", "slip>",
		"exact>", "fault")}
	for name, x := range st.Couplings.All() {
		c := &t.Couplings[x.ID]
		applied, slip, exact, perMinute := "", "", "", ""
		if x.Applied {
			applied = "yes"
		}
		if v, one := m.Slips[x.ID].Point(); one {
			slip, exact = signed(v), v.String()
			if m.At.Input != 0 {
				perMinute = s.rpm(v)
			}
		} else {
			slip = "free, " + bounds(m.Slips[x.ID].Interval)
		}
		g.Add(name, c.Kind.String(), lyingBetween(t, c), applied, x.State.String(), perMinute, slip, exact, string(x.Fault))
	}
	return g
}

// lyingBetween names the members of a coupling; the housing is left out.
func lyingBetween(t *kinematics.Train, c *kinematics.Coupling) string {
	a := t.Members[c.A].Name
	if c.Kind == kinematics.Spline || c.B == kinematics.Housing && c.Kind != kinematics.OneWay {
		return a
	}
	return a + ", " + t.Members[c.B].Name
}

// fields are lines with a label in front.
type fields struct{ lines [][2]string }

func (f *fields) add(label, text string) { f.lines = append(f.lines, [2]string{label, text}) }

func (f *fields) write(p *page) {
	label := 0
	for _, l := range f.lines {
		label = max(label, len(l[0]))
	}
	for _, l := range f.lines {
		text := l[1]
		if p.width > 0 {
			text = Wrap(text, max(p.width-label-gap, 10))
		}
		indent := strings.Repeat(" ", label+gap)
		p.print(l[0] + indent[len(l[0]):] + strings.ReplaceAll(text, "\n", "\n"+indent))
	}
}

// CSV writes a line for each state.
func (s Solved) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("train", "range", "apply", "faults", "verdict", "ratio", "ratio_exact", "pull_min",
		"pull_max", "rolls_forward", "rolls_backward", "engine_braking", "engine_braking_ratio_exact", "input_backward",
		"free", "reads", "coasting", "control_faults", "or")}
	for _, st := range s.States {
		m := st.Motion
		pullMin, pullMax := "", ""
		if !m.Pull.Empty {
			pullMin, pullMax = m.Pull.Min.String(), m.Pull.Max.String()
		}
		braking := ""
		if st.EngineBraking != nil {
			braking = strconv.FormatBool(*st.EngineBraking)
		}
		ratio, exact := ratioCells(st.Ratio, shortest)
		_, brakingRatio := ratioCells(st.EngineBrakingRatio, shortest)
		g.Add(st.Train, string(st.Range), strings.Join(st.Apply, " "), analysis.FaultTexts(st.Faults, " "),
			m.Verdict.String(),
			ratio, exact, pullMin, pullMax,
			strconv.FormatBool(!m.CoastForward.Empty), strconv.FormatBool(!m.CoastBackward.Empty),
			braking, brakingRatio, strconv.FormatBool(m.InputBackward), strings.Join(st.Free, " "), st.Reads, st.Coasting,
			strings.Join(st.Controls, ", "), strconv.FormatBool(st.Or))
	}
	return g.CSV(w, said(several(s.Outcomes), s.Remark, s.Cautions)...)
}
