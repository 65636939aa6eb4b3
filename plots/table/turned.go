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
		p.line(s.Fighting()...)
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
	p.apart(reading.Viewed)
	p.apart(s.Cautions...)
}

func (s Turned) row(id kinematics.MemberID, name string) []string {
	speed, fraction, onCarrier, direction, note := "", "", "", "", ""
	amount, known := s.Members.Get(name)
	if v, one := exact.Interval(amount).Point(); known && one {
		speed, fraction, direction = signed(v), v.String(), sense(v)
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

// sense is the sense of a speed, seen from the input end.
func sense(f exact.Frac) string {
	if f.Sign() == 0 {
		return "at rest"
	}
	return reading.Rotation(f.Sign() < 0)
}

// CSV writes a line for each member.
func (s Turned) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("member", "speed", "exact", "min", "max", "direction")}
	for name, amount := range s.Members.All() {
		i := exact.Interval(amount)
		speed, fraction, direction := "", "", ""
		if v, one := i.Point(); one {
			speed, fraction, direction = shortest(v), v.String(), sense(v)
		}
		g.Add(name, speed, fraction, i.Min.String(), i.Max.String(), direction)
	}
	return g.CSV(w, said(nil, s.Remark, s.Cautions)...)
}
