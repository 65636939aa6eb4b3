package table

import (
	"io"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/shift"
)

// Shifts is the answer of shifts: what each shift of a train risks.
type Shifts struct {
	Train  *kinematics.Train
	Faults []kinematics.Fault
	Shifts []*shift.Shift
	// Detail asks for every state of the first shift instead of a line for each.
	Detail   bool
	Cautions []string
}

// Text writes a line for each shift and the states on the way, or the whole of
// one shift.
func (s Shifts) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	if s.Detail {
		s.detail(p, s.Shifts[0])
	} else {
		s.list(p)
	}
	p.cautions(s.Cautions)
	return p.err
}

// The groups of shifts, in the order in which they are listed.
var shiftGroups = []struct {
	heading string
	has     func(*shift.Shift) bool
}{
	{"from range to range", func(s *shift.Shift) bool { return !s.Standing && !s.Selector }},
	{"by moving the selector", func(s *shift.Shift) bool { return !s.Standing && s.Selector }},
	{"engaging and letting go, at a standstill", func(s *shift.Shift) bool { return s.Standing }},
}

func (s Shifts) list(p *page) {
	p.line(titled(s.Train))
	p.faultLines(s.Train, s.Faults)
	for _, part := range s.Parts() {
		p.heading(part.Heading)
		p.grid(part.Grid)
	}
	p.line("")
	if note := s.Note(); note != "" {
		p.line(note)
	}
	p.line(EarlyLate + ". Every state of one shift: tieup shifts TRAIN FROM TO")
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
	for _, group := range shiftGroups {
		g := &Grid{Columns: columns("shift", "off-going", "on-coming", "pulling", "coasting")}
		if group.has(&shift.Shift{Standing: true}) {
			g.Columns[3].Head = "what happens"
		}
		for _, x := range s.Shifts {
			if group.has(x) {
				g.Add(x.Name(), list(s.Train.CouplingNames(x.OffGoing)), list(s.Train.CouplingNames(x.OnComing)), x.PullingText(), x.CoastingText())
			}
		}
		if len(g.Rows) > 0 {
			parts = append(parts, Part{Heading: group.heading, Grid: g.withoutEmptyColumns()})
		}
	}
	if g := s.holes(); len(g.Rows) > 0 {
		parts = append(parts, Part{Heading: "output torque while the off-going elements still hold, pulling", Grid: g.withoutEmptyColumns()})
	}
	if g := s.onTheWay(); len(g.Rows) > 0 {
		parts = append(parts, Part{Heading: "on the way between two ranges", Grid: g.withoutEmptyColumns(), Aside: true})
	}
	return parts
}

// Note says what the output torques of a list mean, "" if it has none.
func (s Shifts) Note() string {
	if len(s.holes().Rows) == 0 {
		return ""
	}
	return HoleNote
}

// HoleNote says what the columns of the torque hole mean.
const HoleNote = "output torque: times the input torque, at the speeds of the first range; at handover the on-coming elements carry " +
	"what they carry in the second, at the least one of them its rating (assumed where the file gives none) at rated input torque"

// holes lists the torque holes of the shifts.
func (s Shifts) holes() *Grid {
	g := &Grid{Columns: columns("shift", "at first>", "at handover>", "on-coming then", "least>", "note")}
	for _, x := range s.Shifts {
		if x.Hole != nil {
			g.Add(append([]string{x.Name()}, s.hole(x.Hole)...)...)
		}
	}
	return g
}

// hole returns the cells of a torque hole.
func (s Shifts) hole(h *shift.Hole) []string {
	torque := func(f exact.Frac) string { return strconv.FormatFloat(f.Float(), 'f', 2, 64) }
	handover, carry := "none", ""
	if h.HandsOver {
		handover = torque(h.Handover)
		var parts []string
		for k, i := range h.OnComing {
			parts = append(parts, s.Train.Couplings[i].Name+" "+torque(h.Torque[k]))
		}
		carry = list(parts)
	}
	least := torque(h.Least)
	if !h.Rated && !h.LetsGo {
		least = "not known"
	}
	return []string{torque(h.From), handover, carry, least, h.Note()}
}

// onTheWay lists what the shifts under way pass between their ranges: overlap
// and underlap, and those of the other states that do what neither of these
// does. There and back the states are the same, so they are listed once.
func (s Shifts) onTheWay() *Grid {
	g := &Grid{Columns: columns("on the way", "holding", "pulling", "coasting")}
	listed := map[[2]int]bool{}
	for _, x := range s.Shifts {
		if x.Standing || listed[[2]int{x.To, x.From}] {
			continue
		}
		listed[[2]int{x.From, x.To}] = true
		between := s.Train.Ranges[x.From].Name + " - " + s.Train.Ranges[x.To].Name + ", "
		seen := map[string]bool{}
		for _, state := range onTheWay(x) {
			reads := state.Text() + "\n" + state.Reading.Coast
			if seen[reads] && state != x.Overlap && state != x.Underlap {
				continue
			}
			seen[reads] = true
			g.Add(between+wayName(x, state), holding(s.Train, state), state.Text(), state.Reading.Coast)
		}
	}
	return g
}

// onTheWay returns the partial states of a shift, overlap and underlap in front.
func onTheWay(x *shift.Shift) []*shift.State {
	var states []*shift.State
	for _, named := range []*shift.State{x.Overlap, x.Underlap} {
		if named != nil {
			states = append(states, named)
		}
	}
	for i := range x.Partial {
		if state := &x.Partial[i]; state != x.Overlap && state != x.Underlap {
			states = append(states, state)
		}
	}
	return states
}

// wayName names a partial state.
func wayName(x *shift.Shift, state *shift.State) string {
	switch state {
	case x.Overlap:
		return "overlap"
	case x.Underlap:
		return "underlap"
	}
	return "partly"
}

// holding names the changing couplings that hold in a state.
func holding(t *kinematics.Train, state *shift.State) string {
	if len(state.Holding) == 0 {
		return "none"
	}
	return list(t.CouplingNames(state.Holding))
}

// detail writes the whole of one shift.
func (s Shifts) detail(p *page, x *shift.Shift) {
	t := s.Train
	p.line(t.Name + ", shift " + x.Name())
	p.faultLines(t, s.Faults)
	p.line("")
	f := &fields{}
	f.add("off-going", names(t, x.OffGoing))
	f.add("on-coming", names(t, x.OnComing))
	f.add("stays", names(t, x.Shared))
	if unchanged, uncalled := x.Faulty(); len(unchanged)+len(uncalled) > 0 {
		if len(unchanged) > 0 {
			f.add("by the fault", names(t, unchanged)+" does not change")
		}
		if len(uncalled) > 0 {
			f.add("by the fault", names(t, uncalled)+" changes though neither range calls for it")
		}
	}
	if x.Standing {
		f.add("what happens", x.PullingText())
	} else {
		f.add("pulling", x.PullingText())
		f.add("coasting", x.CoastingText())
	}
	f.write(p)

	p.heading("from state to state")
	g := &Grid{Columns: columns("state", "holding", "pulling", "coasting", "harm pulling", "harm coasting")}
	add := func(name string, state *shift.State) {
		harm := func(e shift.Effect) string {
			if e.Kind.Harmless() || e.Kind == shift.AsTo {
				return ""
			}
			return e.Text()
		}
		g.Add(name, holding(t, state), state.Text(), state.Reading.Coast, harm(state.Pulling), harm(state.Coasting))
	}
	add(t.Ranges[x.From].Name, &x.First)
	for _, state := range onTheWay(x) {
		add(wayName(x, state), state)
	}
	add(t.Ranges[x.To].Name, &x.Second)
	p.grid(g)
	if x.Hole != nil {
		p.heading("output torque while the off-going elements still hold, pulling")
		g := s.holes()
		g.Columns = g.Columns[1 : len(g.Columns)-1]
		g.Rows[0] = g.Rows[0][1 : len(g.Rows[0])-1]
		p.grid(g)
		if note := x.Hole.Note(); note != "" {
			p.line(note)
		}
		p.line("")
		p.line(HoleNote)
	} else {
		p.line("")
	}
	if !x.Every {
		p.line(strconv.Itoa(len(x.Changes)) + " couplings change: of the " + strconv.FormatUint(1<<len(x.Changes)-2, 10) +
			" states on the way only overlap and underlap are evaluated")
	}
	p.line("holding: of the elements that change")
	if !x.Standing {
		p.line(EarlyLate)
	}
}

// EarlyLate says what is early and late.
const EarlyLate = "early: the on-coming holds before the off-going lets go, so that both hold (overlap); " +
	"late: after it, so that neither holds (underlap)"

type shiftJSON struct {
	From      string           `json:"from"`
	To        string           `json:"to"`
	Selector  bool             `json:"selector"`
	Standing  bool             `json:"standing"`
	Way       string           `json:"way"`
	OffGoing  []string         `json:"off_going"`
	OnComing  []string         `json:"on_coming"`
	Shared    []string         `json:"shared"`
	Changes   []string         `json:"changes"`
	Evaluated string           `json:"evaluated"`
	Pulling   shiftViewJSON    `json:"pulling"`
	Coasting  *shiftViewJSON   `json:"coasting"`
	States    []shiftStateJSON `json:"states"`
	// Hole is null at a standstill, and where no on-coming element slips.
	Hole *holeJSON `json:"torque_hole"`
}

// holeJSON is the output torque of a shift against that of its on-coming elements
// while the off-going ones hold: straight lines from each point to the next.
type holeJSON struct {
	Points    []holePoint `json:"points"`
	HandsOver bool        `json:"hands_over"`
	LetsGo    bool        `json:"one_way_lets_go"`
	Least     float64     `json:"least"`
	Note      string      `json:"note"`
}

type holePoint struct {
	At       string  `json:"at"` // first, handover, rating
	OnComing ordered `json:"on_coming"`
	Output   float64 `json:"output_torque"`
	Exact    string  `json:"output_torque_exact"`
}

func (s Shifts) holeJSON(h *shift.Hole) *holeJSON {
	if h == nil {
		return nil
	}
	j := &holeJSON{HandsOver: h.HandsOver, LetsGo: h.LetsGo, Least: scaled(h.Least, 1), Note: h.Note()}
	add := func(at string, torques []exact.Frac, output exact.Frac) {
		on := ordered{}
		for k, i := range h.OnComing {
			x := 0.0
			if torques != nil {
				x = scaled(torques[k], 1)
			}
			on = append(on, named{s.Train.Couplings[i].Name, x})
		}
		j.Points = append(j.Points, holePoint{at, on, scaled(output, 1), output.String()})
	}
	add("first", nil, h.From)
	if h.HandsOver {
		add("handover", h.Torque, h.Handover)
	}
	if h.Rated && !h.LetsGo {
		add("rating", h.FullTorque, h.Full)
	}
	return j
}

type shiftViewJSON struct {
	Verdict  string   `json:"verdict"`
	Text     string   `json:"text"`
	Early    *string  `json:"early"`
	Late     *string  `json:"late"`
	Mixed    *string  `json:"mixed"`
	Overruns []string `json:"overruns"`
	Catches  []string `json:"catches"`
	Order    []string `json:"order"`
}

type shiftStateJSON struct {
	State   string   `json:"state"`
	Holding []string `json:"holding"`
	Verdict string   `json:"verdict"`
	ratioJSON
	Reads          string    `json:"reads"`
	Coasting       string    `json:"coasting"`
	Pull           minMax    `json:"pull"`
	Coast          coastJSON `json:"coast"`
	PullingEffect  *string   `json:"pulling_effect"`
	CoastingEffect *string   `json:"coasting_effect"`
}

// JSON writes the schema tieup.shifts/1.
func (s Shifts) JSON(w io.Writer) error {
	answer := struct {
		Schema   string      `json:"schema"`
		Units    ordered     `json:"units"`
		Train    string      `json:"train"`
		Faults   []string    `json:"faults"`
		Shifts   []shiftJSON `json:"shifts"`
		Cautions []string    `json:"cautions"`
	}{
		Schema: "tieup.shifts/1",
		Units: ordered{
			{"ratio", "input speed / output speed"},
			{"pull", "turns of the output per turn of the input, + moves the vehicle forward"},
			{"coast", "turns of the input per turn of the output"},
			{"torque_hole", "times the input torque"},
		},
		Train: s.Train.Name, Faults: []string{}, Shifts: []shiftJSON{}, Cautions: append([]string{}, s.Cautions...),
	}
	for _, f := range s.Faults {
		answer.Faults = append(answer.Faults, s.Train.FaultText(f))
	}
	for _, x := range s.Shifts {
		answer.Shifts = append(answer.Shifts, s.shiftJSON(x))
	}
	return WriteJSON(w, answer)
}

func (s Shifts) shiftJSON(x *shift.Shift) shiftJSON {
	t := s.Train
	j := shiftJSON{
		From: t.Ranges[x.From].Name, To: t.Ranges[x.To].Name, Selector: x.Selector, Standing: x.Standing, Way: x.Way.String(),
		OffGoing: t.CouplingNames(x.OffGoing), OnComing: t.CouplingNames(x.OnComing), Shared: t.CouplingNames(x.Shared),
		Changes: []string{}, Evaluated: "all", Pulling: s.viewJSON(&x.Pulling, x.PullingText()), Hole: s.holeJSON(x.Hole),
	}
	for _, c := range x.Changes {
		j.Changes = append(j.Changes, t.Couplings[c.Coupling].Name)
	}
	if !x.Every {
		j.Evaluated = "overlap and underlap"
	}
	if !x.Standing {
		v := s.viewJSON(&x.Coasting, x.CoastingText())
		j.Coasting = &v
	}
	j.States = append(j.States, s.stateJSON(x, "from", &x.First))
	for _, state := range onTheWay(x) {
		j.States = append(j.States, s.stateJSON(x, wayName(x, state), state))
	}
	j.States = append(j.States, s.stateJSON(x, "to", &x.Second))
	return j
}

func (s Shifts) viewJSON(v *shift.View, text string) shiftViewJSON {
	word := func(e *shift.Effect) *string {
		if e == nil {
			return nil
		}
		w := e.Kind.String()
		return &w
	}
	j := shiftViewJSON{
		Verdict: v.Verdict.String(), Text: text, Early: word(v.Early), Late: word(v.Late), Mixed: word(v.Mixed),
		Overruns: s.Train.CouplingNames(v.Overruns), Catches: s.Train.CouplingNames(v.Catches),
	}
	if v.Order != nil {
		j.Order = s.Train.CouplingNames(v.Order)
	}
	return j
}

func (s Shifts) stateJSON(x *shift.Shift, name string, state *shift.State) shiftStateJSON {
	o := state.Outcome
	j := shiftStateJSON{
		State: name, Holding: s.Train.CouplingNames(state.Holding), Verdict: o.Verdict.String(), ratioJSON: jsonRatio(o.Ratio()),
		Reads: state.Text(), Coasting: state.Reading.Coast,
		Pull: jsonInterval(o.Pull, 1), Coast: coastJSON{jsonCoast(o.CoastForward), jsonCoast(o.CoastBackward)},
	}
	pulling, coasting := state.Pulling.Kind.String(), state.Coasting.Kind.String()
	j.PullingEffect = &pulling
	if !x.Standing {
		j.CoastingEffect = &coasting
	}
	return j
}

// CSV writes a line for each shift.
func (s Shifts) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("train", "faults", "from", "to", "selector", "standing", "off_going", "on_coming", "shared",
		"overlap", "overlap_ratio_exact", "overlap_coasting", "underlap", "underlap_ratio_exact", "underlap_coasting",
		"pulling", "coasting", "pulling_text", "coasting_text", "output_torque_first", "output_torque_handover", "output_torque_least")}
	t := s.Train
	words := func(elements []int) string { return strings.Join(t.CouplingNames(elements), " ") }
	var faults []string
	for _, f := range s.Faults {
		faults = append(faults, t.FaultText(f))
	}
	for _, x := range s.Shifts {
		row := []string{t.Name, strings.Join(faults, " "), t.Ranges[x.From].Name, t.Ranges[x.To].Name,
			strconv.FormatBool(x.Selector), strconv.FormatBool(x.Standing), words(x.OffGoing), words(x.OnComing), words(x.Shared)}
		for _, state := range []*shift.State{x.Overlap, x.Underlap} {
			if state == nil {
				row = append(row, "", "", "")
				continue
			}
			exact := ""
			if r, drives := state.Outcome.Ratio(); drives {
				exact = r.String()
			}
			row = append(row, state.Text(), exact, state.Reading.Coast)
		}
		coasting := ""
		if !x.Standing {
			coasting = x.Coasting.Verdict.String()
		}
		first, handover, least := "", "", ""
		if h := x.Hole; h != nil {
			first, least = shortest(h.From), shortest(h.Least)
			if h.HandsOver {
				handover = shortest(h.Handover)
			}
		}
		g.Add(append(row, x.Pulling.Verdict.String(), coasting, x.PullingText(), x.CoastingText(), first, handover, least)...)
	}
	return g.CSV(w)
}
