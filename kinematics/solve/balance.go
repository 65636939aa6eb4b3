package solve

import (
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/certify"
	"tieup/kinematics/exact"
)

// balance writes down an equilibrium of torques outside and of rows, at a motion.
func (p *Prover) balance(field string, outside linear, motion int) *certify.Balance {
	p.Certificate.Balances = append(p.Certificate.Balances, certify.Balance{
		Field: field, Motion: motion, Outside: p.form(outside), Rows: certify.Form{},
	})
	return &p.Certificate.Balances[len(p.Certificate.Balances)-1]
}

// Load proves the ways of a load of the state: equilibria without losses as "ways", each
// the only one with what it loads if alone is asked, and with losses as "ways_with_losses". It says whether
// those with losses are proved: not where a pinion of which no teeth are known parts the
// load between gears, for one row from gear to gear then cannot say which of them drives.
func (p *Prover) Load(l *Load, alone bool) (lossy bool) {
	one := exact.Int(1)
	x := p.under([]condition{{linear{p.st.Input: one}, one}, {linear{p.st.Output: one}, l.Motion.At.Output}})
	motion := x.motion(x.points[0])
	for i := range l.Ways {
		b := p.way("ways", &l.Ways[i], motion)
		if b.Unknown = p.s.Train.Members[p.st.Output].Name; alone {
			b.Alone = p.alone(b)
		}
	}
	lossy = !slices.ContainsFunc(p.s.Train.Meshes, func(m kinematics.Mesh) bool {
		return parted(p.s.Train, &m)
	})
	for i := range l.Lossy {
		if lossy {
			p.way("ways_with_losses", &l.Lossy[i], motion)
		}
	}
	return lossy
}

// parted says whether a mesh stands for a path over a pinion that takes load elsewhere, too.
func parted(t *kinematics.Train, m *kinematics.Mesh) bool {
	return m.Path && len(t.Gearsets[m.Gearset].Gears) > 2
}

// way writes down one way to carry a load.
func (p *Prover) way(field string, w *LoadSplit, motion int) *certify.Balance {
	b := p.balance(field, linear{p.st.Input: w.Input, p.st.Output: w.Output}, motion)
	for _, i := range w.Carry {
		b.Rows[p.s.Train.Couplings[i].Name] = frac(w.Torque[i])
	}
	for i := range p.s.Train.Meshes {
		if load := w.load(p.s.Train, &p.s.Train.Meshes[i]); load.Sign() != 0 {
			b.Rows[MeshRow(i)] = frac(load)
		}
	}
	return b
}

// load is the multiplier of the row of a mesh: the torque on the gear that drives, and so
// gets no less than the row says, per tooth.
func (w *LoadSplit) load(t *kinematics.Train, m *kinematics.Mesh) exact.Frac {
	var a, b, rolls exact.Frac
	for i := range w.Meshes {
		switch x := &w.Meshes[i]; {
		case x.A == m.A && x.B == m.B:
			a, b, rolls = x.TorqueA, x.TorqueB, x.Rolls
		case m.Path && x.A == m.A:
			a, rolls = x.TorqueA, x.Rolls
		case m.Path && x.A == m.B:
			b = x.TorqueA
		}
	}
	if a.Sign()*rolls.Sign() > 0 || parted(t, m) {
		return b.Mul(exact.NewFrac(1, m.Kind.Sign()*m.ZB))
	}
	return a.Mul(exact.NewFrac(1, m.ZA))
}

// alone finds, for each row that carries and for the member whose torque is not known, a
// motion in which it alone moves, by one; nil if there is none for some row.
func (p *Prover) alone(b *certify.Balance) map[string]certify.Form {
	names, rows := []string{""}, [][]exact.Frac{p.row()}
	p.at(rows[0], p.st.Output, exact.Int(1))
	add := func(name string, row []exact.Frac) {
		if has(b.Rows, name) {
			names, rows = append(names, name), append(rows, row)
		}
	}
	for i := range p.s.Train.Meshes {
		add(MeshRow(i), p.meshRow(i))
	}
	for i := range p.s.Train.Couplings {
		row := p.row()
		p.addSlip(row, i, exact.Int(1))
		add(p.s.Train.Couplings[i].Name, row)
	}
	inverse := rightInverse(rows)
	if inverse == nil {
		return nil
	}
	alone := map[string]certify.Form{}
	for k, name := range names {
		alone[name] = certify.Form{}
		for m, c := range p.column {
			if c >= 0 && inverse[c][k].Sign() != 0 {
				alone[name][p.s.Train.Members[m].Name] = frac(inverse[c][k])
			}
		}
	}
	return alone
}

// opened is a state in which some couplings are open.
func opened(st kinematics.State, open func(i int) bool) kinematics.State {
	st = st.Clone()
	for i := range st.Modes {
		if open(i) {
			st.Modes[i] = kinematics.Open
		}
	}
	return st
}

// ProverOf returns a prover of mechanisms: what can slip is open in its state.
func (s *System) ProverOf(g *Capacities) *Prover {
	p := s.Prover(opened(g.State, func(i int) bool { return g.Capacity[i] != nil }))
	p.Capacities = certify.Form{}
	for i, c := range g.Capacity {
		if c != nil {
			p.Capacities[s.Train.Couplings[i].Name] = frac(exact.FromRat(c))
		}
	}
	return p
}

// Standing proves what it costs to turn the input of the standing vehicle against a
// resistance, or that it is impossible.
func (p *Prover) Standing(field string, g *Capacities, m *Mechanism, resistance exact.Frac) {
	if m.End == Jams {
		p.under([]condition{p.s.asked(p.st, InputForward)}).slice(fieldOf(InputForward), p.speed(p.st.Output))
		return
	}
	p.standing(field, g, m, &m.Optima[0], resistance)
}

// standing writes down the equilibrium of a motion against a resistance.
func (p *Prover) standing(field string, g *Capacities, m *Mechanism, best *MechanismMotion, resistance exact.Frac) {
	b := p.mechanism(field, g, m, best, linear{p.st.Input: m.InputTorque}, m.OutputTorque)
	b.Rows[Resistance] = frac(m.OutputTorque)
	p.Resistances[field] = frac(resistance)
}

// speed is the speed of a member, of the output as the vehicle counts it.
func (p *Prover) speed(m kinematics.MemberID) linear {
	if m == p.st.Output {
		return linear{m: exact.Int(int64(p.s.Train.Forward))}
	}
	return linear{m: exact.Int(1)}
}

// Stretches proves what it costs over each stretch of the resistance: at both its ends it
// is that of the same motion, so that it is between them, being concave. Without end it is
// if the motion does not turn the output, or if nothing can turn the input without it.
func (p *Prover) Stretches(g *Capacities, list []Stretch) {
	for i := range list {
		s := &list[i]
		for _, end := range []struct {
			field string
			at    exact.Bound
		}{{"from", s.From}, {"to", s.To}} {
			if end.at.Inf != 0 {
				if s.Slope.Sign() != 0 {
					p.under([]condition{p.s.asked(p.st, InputForward)}).slice(fieldOf(InputForward), p.speed(p.st.Output))
				}
				continue
			}
			field := fmt.Sprintf("stretches.%d.%s", i, end.field)
			p.standing(field, g, p.s.Standing(g, end.at.Frac), &s.Optima[0], end.at.Frac)
		}
	}
}

// Rolling proves what it costs to roll the vehicle with a torque of the engine, that it is
// impossible, or that the engine runs away.
func (p *Prover) Rolling(field string, g *Capacities, m *Mechanism, forward bool, engine exact.Frac) {
	demand := OutputBackward
	if forward {
		demand = OutputForward
	}
	x := p.under([]condition{p.s.asked(p.st, demand)})
	switch m.End {
	case Jams:
		x.slice(fieldOf(demand), p.speed(p.st.Input))
	case RunsAway:
		x.runsAway(field, g, engine)
	case Moves:
		outside := linear{p.st.Input: m.InputTorque, p.st.Output: m.OutputTorque}
		p.mechanism(field, g, m, &m.Optima[0], outside, exact.Int(0))
	}
}

// Resistance is the name under which the resistance of the vehicle stands among the
// rows of a proof: a brake of the output.
const Resistance = "resistance"

// mechanism writes down the equilibrium of a forced motion, one of those that cost least.
func (p *Prover) mechanism(field string, g *Capacities, m *Mechanism, best *MechanismMotion, outside linear,
	resistance exact.Frac) *certify.Balance {
	x := p.under(append(p.slips(g, best.Slip), condition{p.input(), best.Input},
		condition{linear{p.st.Output: exact.Int(1)}, best.Output}))
	b := p.balance(field, outside, x.motion(x.points[0]))
	target := p.row()
	for end, torque := range outside {
		p.at(target, end, torque.Neg())
	}
	p.at(target, p.st.Output, resistance.Neg())
	for i, torque := range m.Dual {
		if g.Capacity[i] != nil || slices.Contains(p.ways, i) {
			p.addSlip(target, i, torque.Neg())
			if torque.Sign() != 0 {
				b.Rows[p.s.Train.Couplings[i].Name] = frac(torque)
			}
		}
	}
	p.write(b.Rows, p.base.solve(target))
	return b
}

func (p *Prover) input() linear { return linear{p.st.Input: exact.Int(1)} }

// slips are the slips of what can slip, as conditions.
func (p *Prover) slips(g *Capacities, slip []exact.Frac) (list []condition) {
	for i, c := range g.Capacity {
		if c != nil {
			x := p.s.Train.Couplings[i]
			f := linear{}
			f.add(x.A, exact.Int(1))
			f.add(x.B, exact.Int(-1))
			list = append(list, condition{f, slip[i]})
		}
	}
	return list
}

// runsAway proves that with the vehicle rolled as x says the cost has no least value: in a
// motion with the output at rest the engine gives more than friction takes.
func (x *sliced) runsAway(field string, g *Capacities, engine exact.Frac) {
	grip := x.s.gripped(g)
	sense := int64(engine.Sign())
	f := forced{unit: grip.member[x.st.Input], sense: 1}
	if sense < 0 {
		f.unit = negative(f.unit)
	}
	program := grip.program(f)
	program.Terms, program.Zero = program.Terms[1:], append(slices.Clip(program.Zero), grip.member[x.st.Output])
	sol := program.Solve()
	slip := zeros(len(g.Capacity))
	for k, i := range grip.friction {
		slip[i] = sol.Terms[k]
	}
	ray := x.under(append(x.slips(g, slip), condition{x.input(), exact.Int(sense)},
		condition{linear{x.st.Output: exact.Int(1)}, exact.Int(0)}))
	r := x.motion(ray.points[0])
	s := certify.Slice{Field: field, Quantity: x.form(linear{x.st.Input: engine.Neg()}), Costs: true,
		Min: &certify.End{Motion: x.motion(x.points[0]), Ray: &r}}
	s.Given, s.Is = x.forms(x.given)
	x.Certificate.Slices = append(x.Certificate.Slices, s)
}

func (f linear) add(m kinematics.MemberID, x exact.Frac) {
	if y, ok := f[m]; ok {
		x = x.Add(y)
	}
	f[m] = x
}
