package table

import (
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// BrokenAway writes what gives first in one range.
type BrokenAway struct{ *analysis.BrokenAway }

// text writes the ratings, the standing answer with how it changes as the vehicle
// resists, and rolling either way.
func (a BrokenAway) text(p *page) {
	p.line(a.Train.Name + ", range " + a.Range + ": " + applied(a.Apply) + " applied")
	p.faulted(a.Faulted)

	p.heading(a.Resists())
	a.standing().write(p)
	if len(a.Stretches) > 0 {
		p.heading("standing, from free wheels to held by the brakes")
		p.grid(a.chainGrid())
		p.said(a.Held())
	}
	p.heading("rolling")
	p.grid(a.rollGrid())
	p.heading("elements")
	p.grid(a.elementGrid())
	if g := a.carryGrid(); len(g.Rows) > 0 {
		p.heading("torque that they carry then")
		p.grid(g)
		p.said(a.Shared())
	}
	p.apart(analysis.BreakawayNote)
	if !a.Unit.NewtonMetres() {
		p.line("x rated: times the rated input torque, at the output, too; --rated-torque gives N m.")
	}
	p.apart(a.Cautions...)
}

// standing says what turns the input of the standing vehicle.
func (a BrokenAway) standing() *fields {
	s, f := &a.Standing, &fields{}
	f.add("needs", s.Reads[0])
	f.add("available", s.Reads[1])
	if s.Moves() {
		first := "slips first"
		if s.SlipsNothing() {
			first = "slips"
		}
		f.add(first, s.Gives)
		if s.Heat != "" {
			f.add("power goes to", s.Heat)
		}
	}
	f.add("vehicle", s.Reads[2])
	if x := a.SlipFree; x != nil && x.Says != "" {
		f.add("slip-free", x.Says)
	}
	return f
}

// chainGrid says how the standing answer changes as the vehicle resists more.
func (a BrokenAway) chainGrid() *Grid {
	g := &Grid{Columns: columns("output torque", "needs at the input", "slips", "vehicle")}
	torque, unit := a.Unit.Number, " "+a.Unit.Short()
	for _, s := range a.Stretches {
		least := reading.AtLeast(s.AtLeast)
		resists, needs := torque(s.From.Frac)+unit+" or more", least+torque(s.Torque)+unit
		if s.To.Inf == 0 {
			end := s.AtEnd()
			resists = torque(s.From.Frac) + " to " + torque(s.To.Frac) + unit
			if end.Cmp(s.Torque) != 0 {
				needs = least + torque(s.Torque) + " to " + torque(end) + unit
			}
		} else if s.Slope.Sign() > 0 {
			needs += ", rising"
		}
		g.Add(resists, needs, s.Gives, s.Vehicle)
	}
	return g
}

// rollGrid says what rolling the vehicle meets.
func (a BrokenAway) rollGrid() *Grid {
	g := &Grid{Columns: columns("rolling", "the wheels are", "slips", "locked by", "engine")}
	for _, r := range a.Rolling {
		g.Add(r.Name, r.Reads, r.Gives, r.LockedBy(), r.Turns)
	}
	return g
}

// elementGrid lists what every element that acts can hold.
func (a BrokenAway) elementGrid() *Grid {
	g := &Grid{Columns: columns("element", "here", "holds", "rating")}
	for name, e := range a.Elements.All() {
		if !e.Idle {
			g.Add(name, e.Here, e.HoldsText, e.OriginText)
		}
	}
	return g
}

// carryGrid lists the torque that the elements carry in each answer.
func (a BrokenAway) carryGrid() *Grid {
	g := &Grid{Columns: columns("element", "standing")}
	answers := []*analysis.Mechanism{&a.Standing.Mechanism}
	for i := range a.Rolling {
		answers = append(answers, &a.Rolling[i].Mechanism)
		g.Columns = append(g.Columns, Column{Head: "rolling " + a.Rolling[i].Name})
	}
	for i, e := range a.Elements {
		row, loaded := []string{e.Name}, false
		for _, m := range answers {
			cell := a.carried(m, i)
			row, loaded = append(row, cell), loaded || cell != ""
		}
		if loaded {
			g.Add(row...)
		}
	}
	return g
}

// carried is the size of the torque that an element carries in an answer, nothing for none.
func (a BrokenAway) carried(m *analysis.Mechanism, element int) string {
	if !m.Moves() || m.Dual[element].Sign() == 0 {
		return ""
	}
	return a.Unit.Number(m.Dual[element].Abs()) + " " + a.Unit.Short()
}
