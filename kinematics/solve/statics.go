package solve

import (
	"context"
	"math/big"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// An Equilibrium is one statically determinate way in which the couplings of a
// state can balance torques at its input and output: it names a smallest set of
// couplings that can do so, and what each of them then carries.
//
// By virtual power, on every motion q of the meshes and with s the slips,
//
//	Input wIn + Output wOut + sum Torque_i s_i = 0.
//
// A torque at a member is positive when it pushes the member in the positive
// sense. Torque[i] is what coupling i exerts on its member A; its member B gets
// the opposite. A one-way clutch that may slip forward (s >= 0) can only push A
// forward, Torque >= 0; one fitted backwards only backward.
type Equilibrium struct {
	Input, Output exact.Frac   // torques from outside on the input and output member
	Torque        []exact.Frac // parallel to Train.Couplings
	Carry         []int        // couplings whose torque is not 0, ascending
}

// Carries says whether coupling i carries torque.
func (e *Equilibrium) Carries(i int) bool { return e.Torque[i].Sign() != 0 }

// A Demand is a motion asked of a state.
type Demand uint8

// The demands.
const (
	InputForward   Demand = iota // turn the input forward
	InputBackward                // turn the input backward
	OutputForward                // roll the vehicle forward
	OutputBackward               // roll the vehicle backward
)

// A Limit bounds a search for equilibria, of which there can be exponentially many:
// to so much work, counted in entries of matrices (some hundred million a second),
// and so many that are found. 0 is no bound.
type Limit struct{ Work, Count int }

// Usual is the limit for what is shown to people: several times what any train of
// the library needs, and a small part of a second.
var Usual = Limit{Work: 2_000_000, Count: 24}

// Conflicts returns every smallest set of couplings of a state that makes a
// motion impossible, the meshes being given: without any one of them the others
// allow it. There are none if the state allows the motion. Each set comes with
// the torques that prove it [Farkas' lemma]: a unit torque at the moved member
// is balanced by the couplings alone.
//
// It stops at the limit, or when ctx ends, and says whether the list is whole; it
// finds one conflict in any case, if there is one.
func (s *System) Conflicts(ctx context.Context, st kinematics.State, m Demand, limit Limit) (list []Equilibrium,
	all bool) {
	k := s.Kernel()
	return s.some(ctx, s.blocked(st, m), limit, func(st kinematics.State) bool { return k.Outcome(st).forbids(m) })
}

// blocked is the query for what balances a unit torque that asks for a motion.
func (s *System) blocked(st kinematics.State, m Demand) query {
	q := query{st: st}
	switch m {
	case InputForward:
		q.input = 1
	case InputBackward:
		q.input = -1
	case OutputForward:
		q.output = s.Train.Forward
	case OutputBackward:
		q.output = -s.Train.Forward
	}
	return q
}

// Carrying returns every statically determinate way in which a state that
// drives can carry a unit torque from its input to its output at the operating
// point of m: one-way clutches that overrun there carry nothing. There is one
// way unless couplings share the load. It stops at the limit, or when ctx ends, and
// says whether the list is whole; it finds one way in any case.
func (s *System) Carrying(ctx context.Context, m *Motion, limit Limit) (list []Equilibrium, all bool) {
	return s.some(ctx, carried(m), limit, s.runsAs(m, false))
}

// Sharing is how couplings share a load.
type Sharing struct {
	Ways int  // how many statically determinate ways there are
	All  bool // these are all ways; else there are more
	// Torque is what each coupling carries in these ways, between bounds that are
	// reached, parallel to Train.Couplings.
	Torque []exact.Interval
}

// Sharing returns how the couplings of a state that drives can share a unit torque
// at the input. Ways that differ in which of parallel couplings they load are
// counted, not listed, so that it can bound what [System.Carrying] cannot list.
func (s *System) Sharing(ctx context.Context, m *Motion, limit Limit) Sharing {
	q := carried(m)
	share := s.sharing(ctx, q, limit)
	if share.Ways == 0 && !share.All {
		share = s.sharing(ctx, s.bare(q, s.runsAs(m, false)), Limit{})
		share.All = false
	}
	return share
}

// carried is the query for what carries a unit torque through a motion.
func carried(m *Motion) query {
	st := m.State.Clone()
	for i, state := range m.States {
		if state == StateOverrunning || state == StateFree {
			st.Modes[i] = kinematics.Open
		}
	}
	return query{st: st, input: 1, outputFree: true}
}

// Agreements returns every smallest set of couplings of a state that can strain
// against each other with no torque from outside: their slips are linked, so that
// what holds both ways asks for nothing that the others, holding both ways too,
// would not ask for. Whether one of them can be spared is for [System.Spare] to
// say: a one-way clutch in the set may leave it alone the other way. Torques are
// in whole numbers without a common factor. It stops at the limit, or when ctx
// ends, and says whether the list is whole.
func (s *System) Agreements(ctx context.Context, st kinematics.State, limit Limit) (list []Equilibrium, all bool) {
	return s.equilibria(ctx, query{st: st}, limit)
}

// Spare says whether coupling i of a state could let go and every motion stay as
// it is: the other couplings keep its slip at zero, or on its free side.
func (s *System) Spare(st kinematics.State, i int) bool {
	mode := st.Modes[i]
	st = st.Clone()
	st.Modes[i] = kinematics.Open
	b := s.basisOf(st.Modes)
	var c polyhedra.BigCone
	b.constrain(&c, st.Modes)
	nothing := polyhedra.RowOf(make([]int64, b.k)...)
	c.Project(nothing, b.slip[i])
	slip := c.Range()
	switch mode {
	case kinematics.Locked:
		return slip.IsZero()
	case kinematics.Overruns:
		return slip.Min.Sign() >= 0
	case kinematics.Reversed:
		return slip.Max.Sign() <= 0
	}
	return true
}

// A query says what torques from outside an equilibrium may have: a sign, any,
// or (both zero) none. The end with a sign is the one that must be loaded.
type query struct {
	st            kinematics.State
	input, output int
	outputFree    bool
}

// MeshTorques returns, for an equilibrium, the tooth load of every mesh as a
// multiplier t: gear A gets the torque ZA t from the mesh, gear B gets
// Kind.Sign() ZB t, and the carrier the opposite of their sum. ok is false if
// the meshes themselves share the load in more ways than one, as parallel power
// paths without a coupling between them do.
func (s *System) MeshTorques(e *Equilibrium, st kinematics.State) (t []exact.Frac, ok bool) {
	tr := s.Train
	n := len(tr.Meshes)
	rows := make([][]*big.Rat, len(tr.Members))
	for m := range rows {
		rows[m] = make([]*big.Rat, n+1)
		for j := range rows[m] {
			rows[m][j] = new(big.Rat)
		}
	}
	add := func(m kinematics.MemberID, j int, x *big.Rat) { rows[m][j].Add(rows[m][j], x) }
	for j, mesh := range tr.Meshes {
		za, zb := mesh.ZA, mesh.Kind.Sign()*mesh.ZB
		add(mesh.A, j, big.NewRat(za, 1))
		add(mesh.B, j, big.NewRat(zb, 1))
		add(mesh.Carrier, j, big.NewRat(-za-zb, 1))
	}
	add(st.Input, n, e.Input.Rat())
	add(st.Output, n, e.Output.Rat())
	for _, i := range e.Carry {
		c := tr.Couplings[i]
		add(c.A, n, e.Torque[i].Rat())
		add(c.B, n, e.Torque[i].Neg().Rat())
	}
	whole := make([]polyhedra.Row, 0, len(rows))
	for m := range rows {
		if kinematics.MemberID(m) != kinematics.Housing && !tr.Members[m].Unknown {
			whole = append(whole, wholeRow(rows[m]))
		}
	}
	basis := polyhedra.NullSpace(whole, n+1)
	if len(basis) != 1 || basis[0][n].Sign() == 0 {
		return nil, false
	}
	for j := range n {
		t = append(t, exact.FromRat(new(big.Rat).SetFrac(basis[0][j], basis[0][n])))
	}
	return t, true
}

// wholeRow returns r times the least common multiple of its denominators.
func wholeRow(r []*big.Rat) polyhedra.Row {
	lcm := big.NewInt(1)
	for _, x := range r {
		g := new(big.Int).GCD(nil, nil, lcm, x.Denom())
		lcm.Mul(lcm, new(big.Int).Quo(x.Denom(), g))
	}
	c := make([]*big.Int, len(r))
	for i, x := range r {
		c[i] = new(big.Int).Mul(x.Num(), new(big.Int).Quo(lcm, x.Denom()))
	}
	return polyhedra.NewRow(c)
}
