package solve

import (
	"math/big"

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
	// several when elements could give first just as well as others. More says that
	// there are too many to be listed: Optima is one of them.
	Optima []MechanismMotion
	More   bool
	// AtLeast says that capacities matter which can be larger: what is forced then costs
	// Torque at least, and other motions may cost least. So it is where the engine runs
	// away, if any capacity can be larger.
	AtLeast bool
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
	listed                  *few            // what can give, where it can be listed; nil if it was not
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
		return &Mechanism{End: RunsAway, AtLeast: x.g.AtLeast()}
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
	best := x.optima(f, sol)
	r.Optima, r.More = best.corners, best.more
	r.AtLeast = x.g.open(r.Optima, r.More)
	unit := exact.Finite(exact.Int(f.sense))
	r.Input, r.Output = exact.Interval{Min: unit, Max: unit}, best.other
	if !f.standing {
		r.Input, r.Output = r.Output, r.Input
	}
	x.react(r)
	x.unstrain(r)
	r.Proved = x.balanced(r) && x.within(r)
	return r
}

func zeros(n int) []exact.Frac {
	z := make([]exact.Frac, n)
	for i := range z {
		z[i] = exact.NewFrac(0, 1)
	}
	return z
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
