package table

import (
	"io"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Turned writes the answer of turn.
type Turned struct{ *analysis.Turned }

// ViewNote says how turn names directions.
const ViewNote = reading.Viewed

// text writes a line for each member, or what fights.
func (s Turned) text(p *page) {
	p.line(titled(s.Train))
	p.faults(s.Faults)
	if len(s.Apply) > 0 {
		p.line("applied: " + list(s.Apply))
	}
	if s.Remark != "" {
		p.line(s.Remark)
	}
	p.line("")
	if s.Locks {
		s.fight(p)
		p.apart(s.Cautions...)
		return
	}
	g := &Grid{Columns: columns("member", "speed>", "exact>", "on its carrier>", "direction", "note")}
	for i, member := range s.Train.Members {
		if id := kinematics.MemberID(i); member.Kind != kinematics.JointHub && id != kinematics.Housing {
			g.Add(s.row(id, member.Name)...)
		}
	}
	p.grid(g)
	p.apart(ViewNote)
	p.apart(s.Cautions...)
}

// fight says what contradicts itself.
func (s Turned) fight(p *page) {
	p.line("locks: these cannot all be so at once")
	for _, name := range s.Fight.Members {
		speed, _ := s.Given.Get(name)
		if speed.Sign() == 0 {
			p.line("  " + name + " held")
		} else {
			p.line("  " + name + " turned at " + speed.String())
		}
	}
	for _, e := range s.Fight.Couplings {
		c := &s.Train.Couplings[e]
		p.line("  " + c.Name + " holding (" + reading.Element(s.Train, c) + ")")
	}
	p.line("Let any one of these go, and the others no longer fight.")
}

func (s Turned) row(id kinematics.MemberID, name string) []string {
	speed, fraction, onCarrier, direction, note := "", "", "", "", ""
	amount, known := s.Members.Get(name)
	if v, one := exact.Interval(amount).Point(); known && one {
		speed, fraction, direction = signed(v), v.String(), Direction(v)
	} else if known {
		speed, direction = "free", bounds(exact.Interval(amount))
	}
	if given, ok := s.Given.Get(name); ok {
		note = "turned"
		if given.Sign() == 0 {
			note = "held"
		}
	}
	if spin, pinion := s.Spins[id]; pinion {
		onCarrier, note = spinWords(spin, !known)
		if !known && !spin.Across {
			speed = "not given"
		}
	}
	return []string{name, speed, fraction, onCarrier, direction, note}
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

// CSV writes a line for each member.
func (s Turned) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("member", "speed", "exact", "min", "max", "direction")}
	for name, amount := range s.Members.All() {
		i := exact.Interval(amount)
		speed, fraction, direction := "", "", ""
		if v, one := i.Point(); one {
			speed, fraction, direction = shortest(v), v.String(), Direction(v)
		}
		g.Add(name, speed, fraction, i.Min.String(), i.Max.String(), direction)
	}
	return g.CSV(w, said(s.Remark, s.Cautions)...)
}
