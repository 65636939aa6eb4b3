package table

import (
	"io"
	"strconv"
	"strings"

	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// Shifts writes what each shift of a train risks.
type Shifts struct {
	*analysis.Shifts
	// Detail asks for every state of the first shift instead of a line for each.
	Detail bool
}

// text writes a line for each shift and the states on the way, or the whole of
// one shift.
func (s Shifts) text(p *page) {
	if s.Detail {
		s.detail(p, s.Shifts.Shifts[0])
	} else {
		s.list(p)
	}
	p.apart(s.Cautions...)
}

// The groups of shifts, in the order in which they are listed.
var shiftGroups = []struct {
	heading, pulling string
	has              func(*analysis.Shift) bool
}{
	{"from range to range", "pulling", func(s *analysis.Shift) bool { return !s.Standing && !s.Selector }},
	{"by moving the selector", "pulling", func(s *analysis.Shift) bool { return !s.Standing && s.Selector }},
	{"engaging and letting go, at a standstill", "what happens", func(s *analysis.Shift) bool { return s.Standing }},
}

func (s Shifts) list(p *page) {
	p.line(titled(s.Train))
	p.faulted(s.Faulted)
	for _, part := range s.Parts() {
		p.heading(part.Heading)
		p.grid(part.Grid)
	}
	p.line("")
	p.said(s.Note())
	p.line(analysis.EarlyLate + ". Every state of one shift: tieup shifts TRAIN FROM TO")
}

// A Part is a grid of an answer under its heading.
type Part struct {
	Heading string
	Grid    *Grid
	Aside   bool // details, which a page may hide until they are asked for
}

// Parts returns the grids of a list of shifts: a line for each shift, and the
// states on the way.
func (s Shifts) Parts() []Part {
	var parts []Part
	add := func(heading string, g *Grid, aside bool) {
		if len(g.Rows) > 0 {
			parts = append(parts, Part{Heading: heading, Grid: g.withoutEmptyColumns(), Aside: aside})
		}
	}
	for _, group := range shiftGroups {
		g := &Grid{Columns: columns("shift", "off-going", "on-coming", group.pulling, "coasting")}
		for _, x := range s.Shifts.Shifts {
			if group.has(x) {
				g.Add(x.Name(), list(x.OffGoing), list(x.OnComing), x.Pulling.Text, coastingText(x))
			}
		}
		add(group.heading, g, false)
	}
	add(holeHeading, s.holes(), false)
	add("on the way between two ranges", s.onTheWay(), true)
	return parts
}

const holeHeading = "output torque while the off-going elements still hold, pulling"

// coastingText says what a shift risks while coasting, nothing at a standstill.
func coastingText(x *analysis.Shift) string {
	if x.Coasting == nil {
		return ""
	}
	return x.Coasting.Text
}

// Note says what the output torques of a list mean, "" if it has none.
func (s Shifts) Note() string {
	if len(s.holes().Rows) == 0 {
		return ""
	}
	return analysis.HoleNote
}

// holes lists the torque holes of the shifts.
func (s Shifts) holes() *Grid {
	g := &Grid{Columns: columns("shift", "at first>", "at handover>", "on-coming then", "least>", "note")}
	for _, x := range s.Shifts.Shifts {
		if x.Hole != nil {
			g.Add(append([]string{x.Name()}, holeCells(x.Hole)...)...)
		}
	}
	return g
}

// holeCells returns the cells of a torque hole.
func holeCells(h *analysis.ShiftHole) []string {
	torque := func(f exact.Frac) string { return strconv.FormatFloat(f.Float(), 'f', 2, 64) }
	handover, carry := "none", ""
	if p := h.Point("handover"); p != nil {
		handover = torque(p.Output)
		var parts []string
		for name, x := range p.OnComing.All() {
			parts = append(parts, name+" "+torque(x))
		}
		carry = list(parts)
	}
	least := "not known"
	if h.Known {
		least = torque(h.Least)
	}
	return []string{torque(h.Point("first").Output), handover, carry, least, h.Note}
}

// onTheWay lists what the shifts under way pass between their ranges: overlap
// and underlap, and those of the other states that do what neither of these
// does. There and back the states are the same, so they are listed once.
func (s Shifts) onTheWay() *Grid {
	g := &Grid{Columns: columns("on the way", "holding", "pulling", "coasting")}
	listed := map[[2]string]bool{}
	for _, x := range s.Shifts.Shifts {
		if x.Standing || listed[[2]string{x.To, x.From}] {
			continue
		}
		listed[[2]string{x.From, x.To}] = true
		seen := map[[2]string]bool{}
		for _, state := range x.OnTheWay() {
			reads := [2]string{state.Reads, state.Coasting}
			if seen[reads] && state.State == "partly" {
				continue
			}
			seen[reads] = true
			g.Add(x.From+" - "+x.To+", "+state.State, holding(&state), state.Reads, state.Coasting)
		}
	}
	return g
}

// holding names the changing couplings that hold in a state.
func holding(state *analysis.ShiftState) string { return orNone(state.Holding) }

// detail writes the whole of one shift.
func (s Shifts) detail(p *page, x *analysis.Shift) {
	p.line(s.Train.Name + ", shift " + x.Name())
	p.faulted(s.Faulted)
	p.line("")
	exchange(x).write(p)
	p.heading("from state to state")
	g := &Grid{Columns: columns("state", "holding", "pulling", "coasting", "harm pulling", "harm coasting")}
	for i := range x.States {
		state := &x.States[i]
		name := state.State
		switch name {
		case "from":
			name = x.From
		case "to":
			name = x.To
		}
		g.Add(name, holding(state), state.Reads, state.Coasting, state.HarmPulling, state.HarmCoasting)
	}
	p.grid(g)
	if x.Hole != nil {
		p.hole(x.Hole)
	} else {
		p.line("")
	}
	p.said(x.Shortened)
	p.line("holding: of the elements that change")
	if !x.Standing {
		p.line(analysis.EarlyLate)
	}
}

// exchange says what a shift exchanges, and what that risks.
func exchange(x *analysis.Shift) *fields {
	f := &fields{}
	f.add("off-going", applied(x.OffGoing))
	f.add("on-coming", applied(x.OnComing))
	f.add("stays", applied(x.Shared))
	for _, text := range x.ByFault() {
		f.add("by the fault", text)
	}
	if x.Standing {
		f.add("what happens", x.Pulling.Text)
		return f
	}
	f.add("pulling", x.Pulling.Text)
	f.add("coasting", x.Coasting.Text)
	return f
}

// hole writes the torque hole of one shift.
func (p *page) hole(h *analysis.ShiftHole) {
	p.heading(holeHeading)
	g := &Grid{Columns: columns("at first>", "at handover>", "on-coming then", "least>")}
	cells := holeCells(h)
	g.Add(cells[:4]...)
	p.grid(g)
	p.said(h.Note)
	p.apart(analysis.HoleNote)
}

// CSV writes a line for each shift.
func (s Shifts) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("train", "faults", "from", "to", "selector", "standing",
		"off_going", "on_coming", "shared",
		"overlap", "overlap_ratio_exact", "overlap_coasting", "underlap", "underlap_ratio_exact", "underlap_coasting",
		"pulling", "coasting", "pulling_text", "coasting_text", "output_torque_first", "output_torque_handover",
		"output_torque_least")}
	for _, x := range s.Shifts.Shifts {
		row := []string{s.Train.Name, analysis.FaultTexts(s.Faults, " "), x.From, x.To,
			strconv.FormatBool(x.Selector), strconv.FormatBool(x.Standing),
			strings.Join(x.OffGoing, " "), strings.Join(x.OnComing, " "), strings.Join(x.Shared, " ")}
		for _, name := range []string{"overlap", "underlap"} {
			if state := x.State(name); state != nil {
				_, fraction := ratioCells(state.Ratio, shortest)
				row = append(row, state.Reads, fraction, state.Coasting)
			} else {
				row = append(row, "", "", "")
			}
		}
		coasting := ""
		if x.Coasting != nil {
			coasting = x.Coasting.Verdict.String()
		}
		row = append(row, x.Pulling.Verdict.String(), coasting, x.Pulling.Text, coastingText(x))
		g.Add(append(row, holeNumbers(x.Hole)...)...)
	}
	return g.CSV(w, said(besides(s.Outcomes), "", s.Cautions)...)
}

// holeNumbers are the output torques of a torque hole: first, handover, least.
func holeNumbers(h *analysis.ShiftHole) []string {
	if h == nil {
		return []string{"", "", ""}
	}
	handover := ""
	if p := h.Point("handover"); p != nil {
		handover = shortest(p.Output)
	}
	return []string{shortest(h.Point("first").Output), handover, shortest(h.Least)}
}
