package solve

import (
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

// Conflicts returns every smallest set of couplings of a state that makes a
// motion impossible, the meshes being given: without any one of them the others
// allow it. There are none if the state allows the motion. Each set comes with
// the torques that prove it [Farkas' lemma]: a unit torque at the moved member
// is balanced by the couplings alone.
func (s *System) Conflicts(st kinematics.State, m Demand) []Equilibrium {
	list, _ := s.equilibria(s.blocked(st, m), Limit{})
	return list
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
// way unless couplings share the load.
func (s *System) Carrying(m *Motion) []Equilibrium {
	list, _ := s.equilibria(carried(m), Limit{})
	return list
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
// in whole numbers without a common factor.
func (s *System) Agreements(st kinematics.State) []Equilibrium {
	list, _ := s.equilibria(query{st: st}, Limit{})
	return list
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

// equilibria finds the elementary solutions of the equations of virtual power,
// one equation per coordinate of the loose basis, one unknown per coupling
// that is not open, then input, then output torque.
// It says whether they are all.
func (s *System) equilibria(q query, limit Limit) (list []Equilibrium, all bool) {
	b := s.loose()
	var active []int
	for i, m := range q.st.Modes {
		if m != kinematics.Open {
			active = append(active, i)
		}
	}
	n := len(active)
	columns := make([]polyhedra.Row, n, n+2)
	signed := make([]bool, n, n+2)
	turned := make([]bool, n, n+2) // the unknown is the torque with its sign turned
	for k, i := range active {
		columns[k] = b.slip[i]
		signed[k] = q.st.Modes[i] != kinematics.Locked
		turned[k] = q.st.Modes[i] == kinematics.Reversed
	}
	end := func(m kinematics.MemberID, sign int, free bool) int {
		if sign == 0 && !free {
			return -1
		}
		columns = append(columns, b.member[m])
		signed = append(signed, !free)
		turned = append(turned, sign < 0)
		return len(columns) - 1
	}
	in := end(q.st.Input, q.input, false)
	out := end(q.st.Output, q.output, q.outputFree)
	loaded := in
	if q.output != 0 {
		loaded = out
	}

	rows := make([]polyhedra.Row, b.k)
	for j := range rows {
		c := make([]*big.Int, len(columns))
		for k := range columns {
			c[k] = columns[k].Big[j]
			if turned[k] {
				c[k] = new(big.Int).Neg(c[k])
			}
		}
		rows[j] = polyhedra.NewRow(c)
	}
	search := polyhedra.Search{Signed: signed, Through: loaded, Budget: &polyhedra.Budget{Work: limit.Work}}
	all = search.NullSpace(rows, len(columns), func(v []*big.Int) bool {
		unit := big.NewInt(1)
		if loaded >= 0 {
			unit = v[loaded]
		}
		if limit.Count > 0 && len(list) == limit.Count {
			return false
		}
		value := func(k int) exact.Frac {
			if k < 0 {
				return exact.Int(0)
			}
			r := new(big.Rat).SetFrac(v[k], unit)
			if turned[k] {
				r.Neg(r)
			}
			return exact.FromRat(r)
		}
		e := Equilibrium{Input: value(in), Output: value(out), Torque: make([]exact.Frac, len(q.st.Modes))}
		for i := range e.Torque {
			e.Torque[i] = exact.Int(0)
		}
		for k, i := range active {
			e.Torque[i] = value(k)
			if e.Carries(i) {
				e.Carry = append(e.Carry, i)
			}
		}
		list = append(list, e)
		return true
	})
	return list, all
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
