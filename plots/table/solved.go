package table

import (
	"io"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Solved is the answer of solve: states of a train, one a range or combination.
type Solved struct {
	Train  *kinematics.Train
	Faults []kinematics.Fault
	States []State
	// Detail asks for the whole motion of the first state instead of a line.
	Detail bool
	// InputRPM is the speed of the input in turns per minute, 0 when speeds are
	// asked for in turns per turn of the input.
	InputRPM float64
	// Cautions are what must be said to whoever runs the vehicle.
	Cautions []string
}

// A State is one solved state.
type State struct {
	Range  string // "" for a combination of elements that is no range
	Apply  []int
	Faults []kinematics.Fault // those that act here
	Motion *solve.Motion
	Cell   reading.RangeReading
	// Carried are the statically determinate ways in which the state carries its
	// load; empty if it does not drive.
	Carried []solve.Equilibrium
}

// name is the range, or the combination.
func (s *State) name(t *kinematics.Train) string {
	if s.Range != "" {
		return s.Range
	}
	return strings.Join(elementNames(t, s.Apply), "+")
}

// Text writes a line for each state, or the whole motion of one.
func (s Solved) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	if s.Detail {
		s.detail(p, &s.States[0])
	} else {
		s.lines(p)
	}
	if s.byTorque() {
		p.line(torqueRemark)
	}
	p.cautions(s.Cautions)
	return p.err
}

// byTorque says whether a fault acts through torque in any of the states.
func (s Solved) byTorque() bool {
	for i := range s.States {
		if byTorque(s.States[i].Range, s.States[i].Apply, s.States[i].Faults) {
			return true
		}
	}
	return false
}

func (s Solved) faultLines(p *page) {
	for _, f := range s.Faults {
		p.line("fault: " + reading.Fault(s.Train, f))
	}
}

func (s Solved) lines(p *page) {
	p.line(titled(s.Train))
	s.faultLines(p)
	p.line("")
	heads := columns("range", "applied", "reads", "ratio>", "exact>", "coasting", "free", "output rpm>")
	if s.InputRPM == 0 {
		heads = heads[:7]
	}
	g := &Grid{Columns: heads}
	for i := range s.States {
		st := &s.States[i]
		ratio, exact, out := "", "", ""
		if r, ok := st.Motion.Ratio(); ok {
			ratio, exact = places(r), r.String()
			out = rpm(st.Motion.At.Output, s.InputRPM)
		}
		row := []string{st.name(s.Train), names(s.Train, st.Apply), st.Cell.Text(), ratio, exact, st.Cell.Reading.Coast, list(free(s.Train, st.Motion))}
		if s.InputRPM != 0 {
			row = append(row, out)
		}
		g.Add(row...)
	}
	p.grid(g)
	p.line("")
	p.line(RatioNote)
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

func (s Solved) detail(p *page, st *State) {
	t, m := s.Train, st.Motion
	what := "combination"
	if st.Range != "" {
		what = "range " + st.Range
	}
	p.line(t.Name + ", " + what + ": " + names(t, st.Apply) + " applied")
	s.faultLines(p)
	p.line("")

	f := &fields{}
	f.add("reads", st.Cell.Text())
	if r, ok := m.Ratio(); ok {
		f.add("ratio", withExact(r)+" (input "+t.Members[m.State.Input].Name+", output "+t.Members[m.State.Output].Name+")")
	} else {
		f.add("between", "input "+t.Members[m.State.Input].Name+", output "+t.Members[m.State.Output].Name)
	}
	f.add("output", s.output(m))
	f.add("coasting", st.Cell.Reading.Coast)
	f.add("rolling forward", coast(m.CoastForward))
	f.add("rolling backward", coast(m.CoastBackward))
	f.add("input backward", map[bool]string{true: "can be turned backward", false: "cannot be turned backward"}[m.InputBackward])
	if m.NothingTurns() {
		f.add("", "nothing turns, at either end, either way")
	}
	f.write(p)

	p.heading(s.speedHeading(m))
	p.grid(s.memberGrid(m))
	for _, set := range turnAsOne(t, m.Groups) {
		word := "turn as one: "
		if set[0] == kinematics.HousingName {
			word = "held: "
			set = set[1:]
		}
		p.line(word + list(set))
	}
	p.heading("elements")
	p.grid(s.couplingGrid(st))
	p.line("")
	p.line("+ turns as the input does; slip is the first member seen from the second")
}

// Members returns the speeds of all members in the i-th state.
func (s Solved) Members(i int) *Grid { return s.memberGrid(s.States[i].Motion).withoutEmptyColumns() }

// Elements returns what every element does in the i-th state.
func (s Solved) Elements(i int) *Grid { return s.couplingGrid(&s.States[i]).withoutEmptyColumns() }

// output says how the output moves at the operating point.
func (s Solved) output(m *solve.Motion) string {
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
	if s.InputRPM != 0 {
		return words + ", " + rpm(m.At.Output, s.InputRPM) + " rpm"
	}
	return words + ", " + withExact(m.At.Output) + " per input turn"
}

// coast says how the input turns while the vehicle rolls, per turn of the output.
func coast(i exact.Interval) string {
	if i.Empty {
		return "does not roll"
	}
	if w, one := i.Point(); one {
		if w.Sign() == 0 {
			return "rolls; the input stays at rest"
		}
		return "rolls; the input turns " + withExact(w) + " per output turn"
	}
	const words, per = "rolls; the input turns ", " per output turn"
	switch {
	case i.Min.Inf < 0 && i.Max.Inf > 0:
		return words + "at any speed"
	case i.Max.Inf > 0:
		return words + withExact(i.Min.Frac) + " or more" + per
	case i.Min.Inf < 0:
		return words + withExact(i.Max.Frac) + " or less" + per
	}
	return words + withExact(i.Min.Frac) + " to " + withExact(i.Max.Frac) + per
}

func (s Solved) speedHeading(m *solve.Motion) string {
	if m.At.Input == 0 {
		return "speeds, the input at rest"
	}
	if s.InputRPM != 0 {
		return "speeds at " + strconv.FormatFloat(s.InputRPM, 'f', -1, 64) + " rpm of the input"
	}
	return "speeds per turn of the input"
}

func (s Solved) memberGrid(m *solve.Motion) *Grid {
	t := s.Train
	heads := columns("member", "rpm>", "speed>", "exact>", "on its carrier>", "note")
	g := &Grid{Columns: heads}
	for i, member := range t.Members {
		id := kinematics.MemberID(i)
		if member.Kind == kinematics.JointHub || id == kinematics.Housing {
			continue
		}
		var notes []string
		if id == m.State.Input {
			notes = append(notes, "input")
		}
		if id == m.State.Output {
			notes = append(notes, "output")
		}
		perMinute, speed, exact, onCarrier := "", "", "", ""
		if w, one := m.Members[i].Point(); one {
			speed, exact = signed(w), w.String()
			if s.InputRPM != 0 && m.At.Input != 0 {
				perMinute = rpm(w, s.InputRPM)
			}
		} else if !m.Members[i].Empty {
			speed = "free"
			notes = append(notes, bounds(m.Members[i].Interval))
		}
		if gs, p := pinionOf(t, id); p != nil {
			word, note := spinWords(spinOf(t, gs, p, m.Members, m.Groups), m.Members[i].Empty)
			onCarrier = word
			if note != "" {
				notes = append(notes, note)
			}
			if m.Members[i].Empty && gs.Kind != kinematics.Bevel {
				speed = "not given"
			}
		}
		g.Add(member.Name, perMinute, speed, exact, onCarrier, list(notes))
	}
	return g
}

// spinWords returns the cell of a pinion's spin, and a note.
func spinWords(s spin, unknown bool) (cell, note string) {
	switch {
	case !s.known && s.across:
		return "not given", "only spins; its teeth are not given"
	case !s.known:
		return "not given", "its teeth are not given"
	case s.free:
		return "free", ""
	case s.across:
		return withExact(s.speed), "only spins, either sense"
	}
	if s.speed.Sign() > 0 {
		return "+" + withExact(s.speed), ""
	}
	return withExact(s.speed), ""
}

// pinionOf returns the pinion that a member is, and its gearset.
func pinionOf(t *kinematics.Train, id kinematics.MemberID) (*kinematics.Gearset, *kinematics.Pinion) {
	if t.Members[id].Kind != kinematics.PinionMember {
		return nil, nil
	}
	g := &t.Gearsets[t.Members[id].Gearset]
	for i := range g.Pinions {
		if g.Pinions[i].Member == id {
			return g, &g.Pinions[i]
		}
	}
	return nil, nil
}

// shown returns the couplings that an answer lists: the elements, and splines
// that have a fault.
func (s *State) shown(t *kinematics.Train) []int {
	var shown []int
	for i := range t.Couplings {
		if i < t.ElementCount || s.fault(i) != nil {
			shown = append(shown, i)
		}
	}
	return shown
}

// fault returns the fault of coupling i, or nil.
func (s *State) fault(i int) *kinematics.Fault {
	for k := range s.Faults {
		if s.Faults[k].Coupling == i {
			return &s.Faults[k]
		}
	}
	return nil
}

// commanded says whether the range applies coupling i.
func (s *State) commanded(i int) bool {
	for _, e := range s.Apply {
		if e == i {
			return true
		}
	}
	return false
}

func (s Solved) couplingGrid(st *State) *Grid {
	t, m := s.Train, st.Motion
	heads := columns("element", "kind", "between", "applied", "state", "slip rpm>", "slip>", "exact>", "fault")
	g := &Grid{Columns: heads}
	for _, i := range st.shown(t) {
		c := &t.Couplings[i]
		applied, slip, exact, perMinute, fault := "", "", "", "", ""
		if st.commanded(i) {
			applied = "yes"
		}
		if v, one := m.Slips[i].Point(); one {
			slip, exact = signed(v), v.String()
			if s.InputRPM != 0 && m.At.Input != 0 {
				perMinute = rpm(v, s.InputRPM)
			}
		} else {
			slip = "free, " + bounds(m.Slips[i].Interval)
		}
		if f := st.fault(i); f != nil {
			fault = string(f.Kind)
		}
		g.Add(c.Name, c.Kind.String(), between(t, c), applied, m.States[i].String(), perMinute, slip, exact, fault)
	}
	return g
}

// between names the members of a coupling; the housing is left out.
func between(t *kinematics.Train, c *kinematics.Coupling) string {
	a, b := t.Members[c.A].Name, t.Members[c.B].Name
	if c.Kind == kinematics.Spline {
		return a
	}
	if c.B == kinematics.Housing && c.Kind != kinematics.OneWay {
		return a
	}
	return a + ", " + b
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
		if p.err == nil {
			p.err = print(p.w, l[0]+indent[len(l[0]):]+strings.ReplaceAll(text, "\n", "\n"+indent))
		}
	}
}
