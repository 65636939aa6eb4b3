package table

import (
	"io"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Turned is the answer of turn: some members turned or held, all others read.
type Turned struct {
	Train  *kinematics.Train
	Given  []solve.Given
	Apply  []int
	Faults []kinematics.Fault
	Result *solve.Turned
}

// ViewNote says how turn names directions.
const ViewNote = "directions seen from the input end: clockwise is +, the way the engine turns the input"

// Text writes a line for each member, or what fights.
func (s Turned) Text(w io.Writer, width int) error {
	t, r := s.Train, s.Result
	p := &page{w: w, width: width}
	p.line(titled(t))
	for _, f := range s.Faults {
		p.line("fault: " + reading.Fault(t, f))
	}
	if len(s.Apply) > 0 {
		p.line("applied: " + names(t, s.Apply))
	}
	if reading.ByTorque(&kinematics.Range{Apply: s.Apply}, s.Faults) {
		p.line(reading.TorqueRemark)
	}
	p.line("")
	if r.Locks {
		p.line("locks: these cannot all be so at once")
		for _, i := range r.Fight {
			p.line("  " + s.givenWords(s.Given[i]))
		}
		for _, e := range r.FightCouplings {
			c := &t.Couplings[e]
			p.line("  " + c.Name + " holding (" + Element(t, c) + ")")
		}
		p.line("Let any one of these go, and the others no longer fight.")
		p.cautions(s.Cautions())
		return p.err
	}
	g := &Grid{Columns: columns("member", "speed>", "exact>", "on its carrier>", "direction", "note")}
	for i, member := range t.Members {
		id := kinematics.MemberID(i)
		if member.Kind == kinematics.JointHub || id == kinematics.Housing {
			continue
		}
		speed, exact, onCarrier, direction, note := "", "", "", "", ""
		if v, one := r.Members[i].Point(); one {
			speed, exact, direction = signed(v), v.String(), Direction(v)
		} else if !r.Members[i].Empty {
			speed, direction = "free", bounds(r.Members[i].Interval)
		}
		if given, ok := s.given(id); ok {
			note = "turned"
			if given.Sign() == 0 {
				note = "held"
			}
		}
		if gs, pinion := pinionOf(t, id); pinion != nil {
			onCarrier, note = spinWords(analysis.SpinOf(t, gs, pinion, r.Members, nil), r.Members[i].Empty)
			if r.Members[i].Empty && !gs.Across() {
				speed = "not given"
			}
		}
		g.Add(member.Name, speed, exact, onCarrier, direction, note)
	}
	p.grid(g)
	p.line("")
	p.line(ViewNote)
	p.cautions(s.Cautions())
	return p.err
}

// Cautions is what must be said to whoever turns a train by hand.
func (s Turned) Cautions() []string {
	return reading.Cautions(s.Train.Use, []reading.Hazard{reading.Jumps})
}

// Direction names the sense of a speed seen from the input end.
func Direction(f exact.Frac) string {
	switch f.Sign() {
	case 1:
		return "clockwise"
	case -1:
		return "counterclockwise"
	}
	return "at rest"
}

func (s Turned) givenWords(g solve.Given) string {
	name := s.Train.Members[g.Member].Name
	if g.Speed.Sign() == 0 {
		return name + " held"
	}
	return name + " turned at " + g.Speed.String()
}

func (s Turned) given(m kinematics.MemberID) (exact.Frac, bool) {
	for _, g := range s.Given {
		if g.Member == m {
			return g.Speed, true
		}
	}
	return exact.Frac{}, false
}

// rows calls row for every member that has a line in machine output.
func (s Turned) rows(row func(i int, m kinematics.Member)) {
	for i, m := range s.Train.Members {
		if m.Kind != kinematics.JointHub && s.known(i) {
			row(i, m)
		}
	}
}

// known says whether the speed of a member can be known: not that of a pinion whose
// teeth are not known, unless its set turns as one.
func (s Turned) known(i int) bool {
	return !s.Train.Members[i].Unknown || !s.Result.Locks && !s.Result.Members[i].Empty
}

// JSON writes the schema tieup.turn/1.
func (s Turned) JSON(w io.Writer) error {
	t, r := s.Train, s.Result
	type fight struct {
		Members  []string `json:"members"`
		Elements []string `json:"elements"`
	}
	answer := struct {
		Schema       string   `json:"schema"`
		Units        ordered  `json:"units"`
		Train        string   `json:"train"`
		Given        ordered  `json:"given"`
		Apply        []string `json:"apply"`
		Faults       []string `json:"faults"`
		Locks        bool     `json:"locks"`
		Fight        *fight   `json:"fight"`
		Members      ordered  `json:"members"`
		MembersExact ordered  `json:"members_exact"`
		PinionSpin   ordered  `json:"pinion_spin"`
		NotGiven     []string `json:"not_given"`
		Slips        ordered  `json:"slips"`
		Cautions     []string `json:"cautions"`
	}{
		Schema: "tieup.turn/1",
		Units:  ordered{{"given, members, pinion_spin, slips", "turns, + clockwise seen from the input end"}},
		Train:  t.Name, Given: ordered{}, Apply: t.CouplingNames(s.Apply), Faults: []string{}, Locks: r.Locks,
		Members: ordered{}, MembersExact: ordered{}, PinionSpin: ordered{}, NotGiven: []string{}, Slips: ordered{}, Cautions: s.Cautions(),
	}
	for _, g := range s.Given {
		answer.Given = append(answer.Given, named{t.Members[g.Member].Name, scaled(g.Speed, 1)})
	}
	for _, f := range s.Faults {
		answer.Faults = append(answer.Faults, t.FaultText(f))
	}
	for i, m := range t.Members {
		if !s.known(i) {
			answer.NotGiven = append(answer.NotGiven, m.Name)
		}
	}
	if r.Locks {
		answer.Fight = &fight{[]string{}, t.CouplingNames(r.FightCouplings)}
		for _, i := range r.Fight {
			answer.Fight.Members = append(answer.Fight.Members, t.Members[s.Given[i].Member].Name)
		}
		return WriteJSON(w, answer)
	}
	s.rows(func(i int, m kinematics.Member) {
		if v, one := r.Members[i].Point(); one {
			answer.Members = append(answer.Members, named{m.Name, scaled(v, 1)})
			answer.MembersExact = append(answer.MembersExact, named{m.Name, v.String()})
		} else {
			answer.Members = append(answer.Members, named{m.Name, jsonInterval(r.Members[i].Interval, 1)})
			answer.MembersExact = append(answer.MembersExact, named{m.Name, minMax{r.Members[i].Min.String(), r.Members[i].Max.String()}})
		}
	})
	for i := range t.Gearsets {
		for k := range t.Gearsets[i].Pinions {
			pinion := &t.Gearsets[i].Pinions[k]
			switch spin := analysis.SpinOf(t, &t.Gearsets[i], pinion, r.Members, nil); {
			case spin.Known && spin.Free:
				answer.PinionSpin = append(answer.PinionSpin, named{t.Members[pinion.Member].Name, "free"})
			case spin.Known:
				answer.PinionSpin = append(answer.PinionSpin, named{t.Members[pinion.Member].Name, scaled(spin.Speed, 1)})
			}
		}
	}
	for i, c := range t.Couplings[:t.ElementCount] {
		if v, one := r.Slips[i].Point(); one {
			answer.Slips = append(answer.Slips, named{c.Name, scaled(v, 1)})
		} else {
			answer.Slips = append(answer.Slips, named{c.Name, jsonInterval(r.Slips[i].Interval, 1)})
		}
	}
	return WriteJSON(w, answer)
}

// CSV writes a line for each member.
func (s Turned) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("member", "speed", "exact", "min", "max", "direction")}
	if s.Result.Locks {
		return g.CSV(w, s.Cautions()...)
	}
	s.rows(func(i int, m kinematics.Member) {
		iv := s.Result.Members[i].Interval
		speed, exact, direction := "", "", ""
		if v, one := iv.Point(); one {
			speed, exact, direction = shortest(v), v.String(), Direction(v)
		}
		g.Add(m.Name, speed, exact, iv.Min.String(), iv.Max.String(), direction)
	})
	return g.CSV(w, s.Cautions()...)
}

// pinionOf returns the pinion that a member is, and its gearset, or nil.
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
