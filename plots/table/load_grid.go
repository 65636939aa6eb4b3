package table

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// elementGrid lists the elements; without the exact torques if the page is
// too narrow for them.
func (a *Loaded) elementGrid(p *page, l *solve.Load, s scale) *Grid {
	t := a.Train
	heads := columns("element", "between", "does", s.torqueHead(), "exact>", "with losses>", headOf("slip", "rpm", s.rpm))
	g := &Grid{Columns: heads}
	for i, c := range t.Couplings[:t.ElementCount] {
		does, slip := l.Motion.States[i].String(), ""
		if c.Kind == kinematics.OneWay && does != "open" {
			does = l.OneWay(i).String()
		}
		if v, one := l.Motion.Slips[i].Point(); !one {
			slip = "free"
		} else if v.Sign() != 0 {
			slip = s.speedOf(v, true)
		}
		torque, exact, lossy := "", "", ""
		if x := torqueOf(l.Ways, i); x.size().Sign() != 0 {
			torque, exact, lossy = x.text(s.torqueOf, true), exactOf(x, s), a.lossyTorque(l, s, i)
		}
		g.Add(c.Name, between(t, &c), does, torque, exact, lossy, slip)
	}
	if _, least := g.withoutEmptyColumns().widths(); p.width > 0 && total(least) > p.width {
		for _, row := range g.Rows {
			row[4] = ""
		}
	}
	return g
}

// jointGrid lists the splines that carry.
func (a *Loaded) jointGrid(l *solve.Load, s scale) *Grid {
	t := a.Train
	g := &Grid{Columns: columns("joint", "member", s.torqueHead(), "exact>", "with losses>")}
	for i := t.ElementCount; i < len(t.Couplings); i++ {
		if x := torqueOf(l.Ways, i); x.size().Sign() != 0 {
			joint, member, _ := strings.Cut(t.Couplings[i].Name, ":")
			g.Add(joint, member, x.text(s.torqueOf, true), exactOf(x, s), a.lossyTorque(l, s, i))
		}
	}
	return g
}

// torqueOf is the torque of coupling i.
func torqueOf(ways []solve.LoadSplit, i int) extent {
	x, _ := over(ways, func(w *solve.LoadSplit) exact.Frac { return w.Torque[i] })
	return x
}

// exactOf is the fraction where torques are per unit and there is one.
func exactOf(x extent, s scale) string {
	if s.torque != 0 || !x.one() {
		return ""
	}
	return x.min.String()
}

func (a *Loaded) lossyTorque(l *solve.Load, s scale, i int) string {
	if a.efficiencies() == "" {
		return ""
	}
	x, ok := over(l.Lossy, func(w *solve.LoadSplit) exact.Frac { return w.Torque[i] })
	if !ok {
		return ""
	}
	return x.text(s.torqueOf, true)
}

// setGrid splits the power through each gearset.
func (a *Loaded) setGrid(l *solve.Load, s scale) *Grid {
	unit := ""
	if s.kW() != 0 {
		unit = " kW"
	}
	g := &Grid{Columns: columns("gearset", "rolling"+unit+">", "with losses>", "coupling"+unit+">", "with losses>", "lost"+unit+">", "teeth driven by")}
	for i, set := range a.Train.Gearsets {
		if !slices.ContainsFunc(l.Ways, func(w solve.LoadSplit) bool { return len(w.Power.Sets[i].Members) > 0 }) {
			g.Add(set.Name, "not loaded", "", "", "", "", "")
			continue
		}
		of := func(ways []solve.LoadSplit, f func(*solve.SetPower) exact.Frac) string {
			x, ok := over(ways, func(w *solve.LoadSplit) exact.Frac { return f(&w.Power.Sets[i]) })
			if !ok {
				return ""
			}
			return x.text(s.powerOf, false)
		}
		rolling := func(p *solve.SetPower) exact.Frac { return p.Rolling }
		coupling := func(p *solve.SetPower) exact.Frac { return p.Coupling }
		cells := []string{set.Name, of(l.Ways, rolling), "", of(l.Ways, coupling), "", ""}
		if a.efficiencies() != "" {
			cells[2], cells[4] = of(l.Lossy, rolling), of(l.Lossy, coupling)
			cells[5] = of(l.Lossy, func(p *solve.SetPower) exact.Frac { return p.Loss })
		}
		g.Add(append(cells, list(a.drivers(l, i)))...)
	}
	return g
}

// drivers returns the gears that drive the teeth of gearset g as seen from its
// carrier.
func (a *Loaded) drivers(l *solve.Load, g int) []string {
	var ns []string
	for _, w := range l.Ways {
		for _, x := range w.Power.Sets[g].Members {
			if name := a.Train.Members[x.Member].Name; x.Rolling.Sign() > 0 && !slices.Contains(ns, name) {
				ns = append(ns, name)
			}
		}
	}
	return ns
}

// memberGrid lists the loaded members of gearsets.
func (a *Loaded) memberGrid(l *solve.Load, s scale) *Grid {
	g := &Grid{Columns: columns("member", s.torqueHead(), "with losses>", s.speedHead(), s.powerHead(), "rolling>", "coupling>")}
	for i := range a.Train.Gearsets {
		for _, id := range a.setMembers(l, i) {
			of := func(ways []solve.LoadSplit, f func(*solve.MemberPower) exact.Frac, write func(exact.Frac, bool) string) string {
				x, ok := over(ways, func(w *solve.LoadSplit) exact.Frac { return f(memberPower(w, i, id)) })
				if !ok {
					return ""
				}
				return x.text(write, true)
			}
			torque := func(m *solve.MemberPower) exact.Frac { return m.Torque }
			lossy := ""
			if a.efficiencies() != "" {
				lossy = of(l.Lossy, torque, s.torqueOf)
			}
			g.Add(a.Train.Members[id].Name, of(l.Ways, torque, s.torqueOf), lossy, s.speedOf(l.Motion.Members[id].Min.Frac, true),
				of(l.Ways, func(m *solve.MemberPower) exact.Frac { return m.Power }, s.powerOf),
				of(l.Ways, func(m *solve.MemberPower) exact.Frac { return m.Rolling }, s.powerOf),
				of(l.Ways, func(m *solve.MemberPower) exact.Frac { return m.Coupling }, s.powerOf))
		}
	}
	return g
}

// setMembers returns the members of gearset g that any way loads.
func (a *Loaded) setMembers(l *solve.Load, g int) []kinematics.MemberID {
	var ids []kinematics.MemberID
	for _, w := range l.Ways {
		for _, m := range w.Power.Sets[g].Members {
			if !slices.Contains(ids, m.Member) {
				ids = append(ids, m.Member)
			}
		}
	}
	return ids
}

// memberPower returns the power of a member of gearset g, zero if it has none.
func memberPower(w *solve.LoadSplit, g int, id kinematics.MemberID) *solve.MemberPower {
	for i := range w.Power.Sets[g].Members {
		if m := &w.Power.Sets[g].Members[i]; m.Member == id {
			return m
		}
	}
	zero := exact.NewFrac(0, 1)
	return &solve.MemberPower{Member: id, Torque: zero, Power: zero, Rolling: zero, Coupling: zero}
}

// meshGrid lists the gears in engagement that carry load.
func (a *Loaded) meshGrid(l *solve.Load, s scale) *Grid {
	t := a.Train
	unit := ""
	if s.torque != 0 {
		unit = " N m"
	}
	g := &Grid{Columns: columns("mesh", "on first"+unit+">", "on second"+unit+">", headOf("first rolls", "rpm", s.rpm), headOf("lost", "kW", s.kW()))}
	for i := range l.Ways[0].Meshes {
		ml := &l.Ways[0].Meshes[i]
		first, _ := over(l.Ways, func(w *solve.LoadSplit) exact.Frac { return w.Meshes[i].TorqueA })
		if first.size().Sign() == 0 {
			continue
		}
		onFirst, second, rolls := "not given", "not given", "not given"
		if ml.GivenA {
			onFirst, rolls = first.text(s.torqueOf, true), s.speedOf(ml.Rolls, true)
		}
		if ml.GivenB {
			x, _ := over(l.Ways, func(w *solve.LoadSplit) exact.Frac { return w.Meshes[i].TorqueB })
			second = x.text(s.torqueOf, true)
		}
		lost := ""
		if x, ok := over(l.Lossy, func(w *solve.LoadSplit) exact.Frac { return w.Meshes[i].Loss }); ok && a.Losses.Basic == nil && a.efficiencies() != "" {
			lost = x.text(s.powerOf, false)
		}
		g.Add(t.Members[ml.A].Name+" x "+t.Members[ml.B].Name, onFirst, second, rolls, lost)
	}
	return g
}
