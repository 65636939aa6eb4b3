package table

import (
	"fmt"
	"io"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// BrokenAway writes what gives first in one range.
type BrokenAway struct{ *analysis.BrokenAway }

// Text writes the ratings, the standing answer with how it changes as the vehicle
// resists, and rolling either way.
func (a BrokenAway) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	b := a.Reading
	p.line(a.Train.Name + ", range " + a.Range + ": " + applied(a.Apply) + " applied")
	p.faults(a.Faults)

	p.heading(a.standingHeading())
	f := &fields{}
	f.add("needs", b.Needs())
	f.add("available", b.Against())
	if b.Standing.End == solve.Moves {
		first := "slips first"
		if b.Gives(b.Standing.Optima, "") == reading.NothingSlips {
			first = "slips"
		}
		f.add(first, b.Gives(b.Standing.Optima, " turns per input turn"))
		if heat := b.Heat(); heat != "" {
			f.add("power goes to", heat)
		}
	}
	f.add("vehicle", b.Vehicle())
	if r, torque, limited, ok := b.SlipFree(); ok && limited && torque.Sign() > 0 {
		f.add("slip-free", fmt.Sprintf("up to %s at the input, %s at the output", reading.Torque(b.Scale, torque), reading.Torque(b.Scale, r)))
	}
	f.write(p)

	if n := len(b.Chain); n > 0 {
		p.heading("standing, from free wheels to held by the brakes")
		p.grid(a.chainGrid())
		if b.Chain[n-1].Slope.Sign() > 0 {
			p.line("With the wheels held nothing can slip: the input does not turn.")
		}
	}
	p.heading("rolling")
	p.grid(a.rollGrid())
	p.heading("elements")
	p.grid(a.elementGrid())
	if g := a.carryGrid(); len(g.Rows) > 0 {
		p.heading("torque that they carry then")
		p.grid(g)
		if a.shared() {
			p.line("Where several can hold the same load, this is one of the ways in which they can share it.")
		}
	}
	p.line("")
	p.line("Slips are turns per turn of the end that is moved; ratio = input speed / output speed. " +
		"Where the road gives less than drags at the output, the wheels lock.")
	if !b.Scale.NewtonMetres {
		p.line("x rated: times the rated input torque, at the output, too; --rated-torque gives N m.")
	}
	p.cautions(a.Cautions)
	return p.err
}

func (a BrokenAway) standingHeading() string {
	if a.Reading.Resistance.Sign() == 0 {
		return "standing, the wheels free: the input is turned forward"
	}
	return "standing, the vehicle resisting with " + reading.Torque(a.Reading.Scale, a.Reading.Resistance) + " at the output: the input is turned forward"
}

// chainGrid says how the standing answer changes as the vehicle resists more.
func (a BrokenAway) chainGrid() *Grid {
	g := &Grid{Columns: columns("output torque", "needs at the input", "slips", "vehicle")}
	torque := func(f exact.Frac) string { return reading.TorqueNumber(a.Reading.Scale, f) }
	unit := " " + reading.ShortUnit(a.Reading.Scale)
	for _, s := range a.Reading.Chain {
		resists, needs := torque(s.From.Frac)+unit+" or more", torque(s.Torque)+unit
		if s.To.Inf == 0 {
			end := s.Torque.Add(s.Slope.Mul(s.To.Frac.Sub(s.From.Frac)))
			resists = torque(s.From.Frac) + " to " + torque(s.To.Frac) + unit
			if end.Cmp(s.Torque) != 0 {
				needs = torque(s.Torque) + " to " + torque(end) + unit
			}
		} else if s.Slope.Sign() > 0 {
			needs = torque(s.Torque) + unit + ", rising"
		}
		g.Add(resists, needs, a.Reading.Gives(s.Optima, ""), a.Reading.Stretch(s))
	}
	return g
}

// rollGrid says what rolling the vehicle meets.
func (a BrokenAway) rollGrid() *Grid {
	g := &Grid{Columns: columns("rolling", "the wheels are", "slips", "locked by", "engine")}
	for _, r := range a.Reading.Rolls {
		slips := ""
		if r.Break.End == solve.Moves {
			slips = a.Reading.Gives(r.Break.Optima, "")
		}
		by := list(a.Train.CouplingNames(r.LockedBy))
		if r.Break.End == solve.Jams && len(r.LockedBy) > 1 {
			by += " contradict one another"
		}
		g.Add(r.Name(), a.Reading.Does(r), slips, by, a.Reading.Engine(r))
	}
	return g
}

// elementGrid lists what every element that acts can hold.
func (a BrokenAway) elementGrid() *Grid {
	g := &Grid{Columns: columns("element", "here", "holds", "rating")}
	for i, c := range a.Train.Couplings[:a.Train.ElementCount] {
		if a.Reading.Grip.State.Modes[i] == kinematics.Open && a.Reading.Here(i) == "released" {
			continue
		}
		origin := ""
		if a.Reading.Grip.Capacity[i] != nil {
			origin = a.Reading.Origin(i)
		}
		g.Add(c.Name, a.Reading.Here(i), a.Reading.Holds(i), origin)
	}
	return g
}

// shared says whether a load of any answer can be shared in several ways.
func (a BrokenAway) shared() bool {
	shared := a.Standing.Shared
	for _, r := range a.Reading.Rolls {
		shared = shared || r.Break.Shared
	}
	return shared
}

// carryGrid lists the torque that the elements carry in each answer.
func (a BrokenAway) carryGrid() *Grid {
	g := &Grid{Columns: columns("element", "standing")}
	answers := []*solve.Mechanism{a.Reading.Standing}
	for _, r := range a.Reading.Rolls {
		answers = append(answers, r.Break)
		g.Columns = append(g.Columns, Column{Head: "rolling " + r.Name()})
	}
	for i, c := range a.Train.Couplings[:a.Train.ElementCount] {
		row, loaded := []string{c.Name}, false
		for _, k := range answers {
			cell := ""
			if k.End == solve.Moves && k.Dual[i].Sign() != 0 {
				d := k.Dual[i]
				if d.Sign() < 0 {
					d = d.Neg()
				}
				cell, loaded = reading.TorqueCell(a.Reading.Scale, d), true
			}
			row = append(row, cell)
		}
		if loaded {
			g.Add(row...)
		}
	}
	return g
}
