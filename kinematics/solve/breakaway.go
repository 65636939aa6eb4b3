package solve

import (
	"math/big"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// A Mechanism says what gives first when a gripped train is forced to move: the
// motion of least dissipation of a rigid-plastic body [Drucker, Prager and
// Greenberg 1952]. Torques are on the scale of the ratings, speeds per unit of
// the forced motion.
type Mechanism struct {
	End MechanismEnd
	// Torque is what the forced motion costs: at the input for Standing, at the
	// output for Rolling (positive when the train resists being rolled).
	Torque exact.Frac
	// Optima are the corners of the set of all motions that cost as little:
	// several when elements could give first just as well as others.
	Optima []MechanismMotion
	// Output and Input are the speeds that these motions leave possible.
	Output, Input exact.Interval
	// Dual is the torque that each coupling exerts on its member A, parallel to
	// Train.Couplings; OutputTorque and InputTorque are those from outside. They
	// are an equilibrium within all capacities that balances Torque, which proves
	// that nothing moves at less. Where couplings share a load in several ways,
	// which Shared says, it is one that strains none of them against the others if
	// there is such a one. Sound joints are taken as one body and left at 0. Proved
	// says that all this was checked; every motion of Optima costs Torque.
	Dual                      []exact.Frac
	InputTorque, OutputTorque exact.Frac
	Shared                    bool
	Proved                    bool
}

// MechanismEnd says how a forced motion ends.
type MechanismEnd uint8

// The ends of a forced motion.
const (
	Moves    MechanismEnd = iota // at the torque found
	Jams                         // nothing can slip: something must break
	RunsAway                     // the stated engine torque is not resisted: the engine runs up
)

// A MechanismMotion is a motion in which a train gives.
type MechanismMotion struct {
	Input, Output exact.Frac
	Slip          []exact.Frac // of every coupling, parallel to Train.Couplings
	Slips         []int        // friction elements that slip, ascending
	Heat          []exact.Frac // capacity times slip speed of each of those
}

// forced states a program: unit is the functional that is made 1.
type forced struct {
	unit, other   polyhedra.Row
	cost, against *big.Rat // of other, per unit in its + and - sense
	standing      bool     // unit is the input, other the output
	sense         int64    // -1 if unit is the speed with its sign turned
}

// Standing turns the input forward, in = +1, against a resistance at the output
// (the vehicle's, the same both ways, >= 0), and finds the input torque needed:
//
//	min sum C|slip| + R|out|.
func (s *System) Standing(g *Capacities, resistance exact.Frac) *Mechanism {
	x := s.gripped(g)
	return x.force(x.standing(resistance))
}

// standing is the motion forced on a standing vehicle.
func (x *gripped) standing(resistance exact.Frac) forced {
	r := resistance.Rat()
	return forced{
		unit: x.member[x.g.State.Input], other: x.member[x.g.State.Output], cost: r, against: r, standing: true, sense: 1,
	}
}

// Rolling rolls the vehicle, out = +1 in the vehicle's sense (or backward),
// with an engine torque (0: throttle closed) at the input, and finds the torque
// that drags at the output:
//
//	min sum C|slip| - T in.
func (s *System) Rolling(g *Capacities, forward bool, torque exact.Frac) *Mechanism {
	x := s.gripped(g)
	return x.force(x.rolling(forward, torque))
}

// rolling is the motion forced on a vehicle that rolls.
func (x *gripped) rolling(forward bool, torque exact.Frac) forced {
	out, sense := x.member[x.g.State.Output], int64(1)
	if forward != (x.t.Forward > 0) {
		out, sense = negative(out), -1
	}
	t := torque.Rat()
	return forced{unit: out, other: x.member[x.g.State.Input], cost: new(big.Rat).Neg(t), against: t, sense: sense}
}

// negative returns -r.
func negative(r polyhedra.Row) polyhedra.Row {
	return polyhedra.Combine(big.NewInt(-1), r, new(big.Int), r)
}

// A gripped is a grip with its couplings sorted by how they hold.
type gripped struct {
	*basis
	t                       *kinematics.Train
	g                       *Capacities
	friction, oneWay, rigid []int
	ways                    []polyhedra.Row // rows of oneWay, >= 0
	locks                   []polyhedra.Row // rows of rigid, = 0
}

func (s *System) gripped(g *Capacities) *gripped {
	x := &gripped{basis: s.basisOf(g.State.Modes), t: s.Train, g: g}
	for i, m := range g.State.Modes {
		switch {
		case g.Capacity[i] != nil:
			x.friction = append(x.friction, i)
		case m == kinematics.Locked:
			x.rigid, x.locks = append(x.rigid, i), append(x.locks, x.lock[i])
		case m == kinematics.Overruns:
			x.oneWay, x.ways = append(x.oneWay, i), append(x.ways, x.slip[i])
		case m == kinematics.Reversed:
			x.oneWay, x.ways = append(x.oneWay, i), append(x.ways, negative(x.slip[i]))
		}
	}
	return x
}

// program is the linear program of a forced motion. Its first term is the other
// end, the rest are the couplings that can slip.
func (x *gripped) program(f forced) *polyhedra.Program {
	p := &polyhedra.Program{N: x.k, Equal: f.unit, Zero: x.locks, NonNegative: x.ways}
	p.Terms = append(p.Terms, polyhedra.Term{Row: f.other, Plus: f.cost, Minus: f.against})
	for _, i := range x.friction {
		p.Terms = append(p.Terms, polyhedra.Term{Row: x.slip[i], Plus: x.g.Capacity[i], Minus: x.g.Capacity[i]})
	}
	return p
}

// force solves the program of a forced motion and describes its optimum.
func (x *gripped) force(f forced) *Mechanism {
	p := x.program(f)
	sol := p.Solve()
	switch sol.Status {
	case polyhedra.Infeasible:
		return &Mechanism{End: Jams}
	case polyhedra.Unbounded:
		return &Mechanism{End: RunsAway}
	}
	r := &Mechanism{Torque: sol.Value, Dual: zeros(len(x.g.State.Modes))}
	for k, i := range x.friction {
		r.Dual[i] = sol.TermDual[k+1]
	}
	for k, i := range x.oneWay {
		r.Dual[i] = sol.NonNegativeDual[k]
		if x.g.State.Modes[i] == kinematics.Reversed {
			r.Dual[i] = r.Dual[i].Neg()
		}
	}
	r.InputTorque, r.OutputTorque = r.Torque, sol.TermDual[0]
	if !f.standing {
		// The engine's torque is the dual of the input, whose cost is -T either way.
		r.InputTorque, r.OutputTorque = r.OutputTorque, r.Torque.Mul(exact.NewFrac(f.sense, 1))
	}
	if sol.Unique {
		x.only(f, r, sol)
	} else {
		x.face(f, r)
	}
	x.react(r)
	x.unstrain(r)
	r.Proved = x.balanced(r) && x.within(r)
	return r
}

// only takes the motion of a solution as the one optimum.
func (x *gripped) only(f forced, r *Mechanism, sol *polyhedra.Solution) {
	m := MechanismMotion{Input: exact.NewFrac(1, 1), Output: sol.Terms[0], Slip: zeros(len(x.g.State.Modes))}
	if !f.standing {
		m.Output, m.Input = exact.NewFrac(f.sense, 1), m.Output
	}
	for k, i := range x.friction {
		m.Slip[i] = sol.Terms[k+1]
	}
	for k, i := range x.oneWay {
		m.Slip[i] = sol.NonNegative[k]
	}
	x.heat(&m)
	r.Optima = []MechanismMotion{m}
	in, out := exact.Finite(m.Input), exact.Finite(m.Output)
	r.Input, r.Output = exact.Interval{Min: in, Max: in}, exact.Interval{Min: out, Max: out}
}

func zeros(n int) []exact.Frac {
	z := make([]exact.Frac, n)
	for i := range z {
		z[i] = exact.NewFrac(0, 1)
	}
	return z
}

// A corner is an elementary motion of a grip.
type corner struct {
	unit, other    *big.Int
	friction, ways []*big.Int // parallel to gripped.friction and gripped.oneWay
}

// dissipation returns sum C|slip| of the corner.
func (x *gripped) dissipation(c corner) *big.Rat {
	cost := new(big.Rat)
	for k, slip := range c.friction {
		size := new(big.Rat).SetInt(new(big.Int).Abs(slip))
		cost.Add(cost, size.Mul(size, x.g.Capacity[x.friction[k]]))
	}
	return cost
}

// motion describes a corner with unit > 0, per unit.
func (x *gripped) motion(f forced, c corner) MechanismMotion {
	one := new(big.Rat).SetInt(c.unit)
	per := func(v *big.Int) exact.Frac { return exact.FromRat(new(big.Rat).Quo(new(big.Rat).SetInt(v), one)) }
	m := MechanismMotion{Input: exact.NewFrac(1, 1), Output: per(c.other), Slip: zeros(len(x.g.State.Modes))}
	if !f.standing {
		m.Output, m.Input = exact.NewFrac(f.sense, 1), m.Output
	}
	for k, i := range x.friction {
		m.Slip[i] = per(c.friction[k])
	}
	for k, i := range x.oneWay {
		m.Slip[i] = per(c.ways[k])
	}
	x.heat(&m)
	return m
}

// heat completes a motion by what slips, and turns the slips of one-way clutches
// fitted backwards, of which the rows are the negative.
func (x *gripped) heat(m *MechanismMotion) {
	for _, i := range x.oneWay {
		if x.g.State.Modes[i] == kinematics.Reversed {
			m.Slip[i] = m.Slip[i].Neg()
		}
	}
	for _, i := range x.friction {
		if slip := m.Slip[i]; slip.Sign() != 0 {
			m.Slips = append(m.Slips, i)
			m.Heat = append(m.Heat, exact.FromRat(x.g.Capacity[i]).Mul(slip.Abs()))
		}
	}
}

func absolute(f exact.Frac) exact.Frac {
	if f.Sign() < 0 {
		return f.Neg()
	}
	return f
}

// corners enumerates the elementary vectors of (unit, other, friction slips,
// one-way slips) on what the rigid couplings leave. Any motion is a sum of them
// without cancellation, so that its cost is the sum of theirs.
func (x *gripped) corners(f forced, yield func(corner)) {
	left := polyhedra.NullSpace(x.locks, x.k)
	reduce := func(r polyhedra.Row) polyhedra.Row {
		c := make([]*big.Int, len(left))
		for j, v := range left {
			c[j] = r.Of(v)
		}
		return polyhedra.NewRow(c)
	}
	functions := []polyhedra.Row{reduce(f.unit), reduce(f.other)}
	for _, i := range x.friction {
		functions = append(functions, reduce(x.slip[i]))
	}
	n := len(functions)
	for _, w := range x.ways {
		functions = append(functions, reduce(w))
	}
	signed := make([]bool, len(functions))
	signed[0] = true
	for k := n; k < len(signed); k++ {
		signed[k] = true
	}
	search := polyhedra.Search{Signed: signed, Through: -1}
	search.Image(functions, len(left), func(v []*big.Int) bool {
		yield(corner{v[0], v[1], v[2:n], v[n:]})
		return true
	})
}

// face finds the corners of the optimal face, those whose cost is the optimum,
// and what speeds of the other end they and the directions that cost nothing
// leave possible.
func (x *gripped) face(f forced, r *Mechanism) {
	at := exact.Interval{Empty: true}
	widen := func(b exact.Bound) {
		if at.Empty || b.Cmp(at.Min) < 0 {
			at.Min = b
		}
		if at.Empty || b.Cmp(at.Max) > 0 {
			at.Max = b
		}
		at.Empty = false
	}
	x.corners(f, func(c corner) {
		heat, price, back := x.dissipation(c), f.cost, f.against
		if c.other.Sign() < 0 {
			price, back = back, price
		}
		size := new(big.Rat).SetInt(new(big.Int).Abs(c.other))
		cost := new(big.Rat).Mul(size, price)
		cost.Add(cost, heat)
		switch {
		case c.unit.Sign() == 0 && c.other.Sign() != 0:
			if cost.Sign() == 0 {
				widen(exact.Bound{Inf: int8(c.other.Sign())})
			}
			// The same motion the other way, where no one-way coupling forbids it.
			free := !slices.ContainsFunc(c.ways, func(w *big.Int) bool { return w.Sign() != 0 })
			if cost.Add(heat, size.Mul(size, back)); free && cost.Sign() == 0 {
				widen(exact.Bound{Inf: int8(-c.other.Sign())})
			}
		case c.unit.Sign() > 0 && cost.Quo(cost, new(big.Rat).SetInt(c.unit)).Cmp(r.Torque.Rat()) == 0:
			m := x.motion(f, c)
			r.Optima = append(r.Optima, m)
			if f.standing {
				widen(exact.Finite(m.Output))
			} else {
				widen(exact.Finite(m.Input))
			}
		}
	})
	if at.Empty {
		panic("solve: no corner of the optimal face")
	}
	unit := exact.Finite(exact.NewFrac(f.sense, 1))
	r.Input, r.Output = exact.Interval{Min: unit, Max: unit}, at
	if !f.standing {
		r.Input, r.Output = r.Output, r.Input
	}
}

// A Stretch is a span of the vehicle's resistance over which the train gives in
// the same way.
type Stretch struct {
	From, To exact.Bound // resistance at the output
	// At From the input torque needed is Torque; it grows with the resistance by
	// Slope, which is the output speed of the motions, without sign.
	Torque, Slope exact.Frac
	Optima        []MechanismMotion // all that cost the same over the whole stretch
}

// Stretches returns how the answer of [System.Standing] changes as the
// resistance of the vehicle grows from 0 without end. The least cost is a
// concave chain of lines c + R|out|, one per corner that is ever the cheapest, so
// that the points where the answer switches are computed, not sampled. It is
// empty if nothing can slip.
func (s *System) Stretches(g *Capacities) []Stretch {
	x := s.gripped(g)
	f := x.standing(exact.NewFrac(0, 1))
	type line struct {
		c, o   *big.Rat
		optima []MechanismMotion
	}
	var lines []*line
	x.corners(f, func(c corner) {
		if c.unit.Sign() == 0 {
			return
		}
		one := new(big.Rat).SetInt(c.unit)
		cost := x.dissipation(c)
		cost.Quo(cost, one)
		out := new(big.Rat).SetInt(new(big.Int).Abs(c.other))
		out.Quo(out, one)
		for _, l := range lines {
			if l.c.Cmp(cost) == 0 && l.o.Cmp(out) == 0 {
				l.optima = append(l.optima, x.motion(f, c))
				return
			}
		}
		lines = append(lines, &line{cost, out, []MechanismMotion{x.motion(f, c)}})
	})
	if len(lines) == 0 {
		return nil
	}
	// At R = 0 the least c counts, then the least slope.
	now := lines[0]
	for _, l := range lines[1:] {
		if d := l.c.Cmp(now.c); d < 0 || d == 0 && l.o.Cmp(now.o) < 0 {
			now = l
		}
	}
	var list []Stretch
	from := new(big.Rat)
	for {
		var next *line
		var at *big.Rat
		for _, l := range lines {
			if l.o.Cmp(now.o) >= 0 {
				continue
			}
			// c + R o meets at R = (l.c - now.c) / (now.o - l.o).
			r := new(big.Rat).Sub(l.c, now.c)
			r.Quo(r, new(big.Rat).Sub(now.o, l.o))
			if next == nil || r.Cmp(at) < 0 || r.Cmp(at) == 0 && l.o.Cmp(next.o) < 0 {
				next, at = l, r
			}
		}
		torque := new(big.Rat).Mul(from, now.o)
		st := Stretch{From: exact.Finite(exact.FromRat(from)), To: exact.Bound{Inf: 1}, Torque: exact.FromRat(torque.Add(torque, now.c)), Slope: exact.FromRat(now.o), Optima: now.optima}
		if next != nil {
			st.To = exact.Finite(exact.FromRat(at))
		}
		list = append(list, st)
		if next == nil {
			return list
		}
		now, from = next, at
	}
}
