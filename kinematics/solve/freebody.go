package solve

import (
	"math/big"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// freeBodies state the equilibrium of every body of a train in a state. A body
// is what splines that hold join. With t the load of a contact, T the torque
// that a coupling exerts on its member A, and f the loss factors of a contact,
// every body but the housing has
//
//	sum over its gears     zA fA t, or zB fB t
//	- sum over its carriers (zA fA + zB fB) t
//	+ sum over couplings   T at member A, -T at member B
//	+ torque from outside at the input and output = 0.
//
// Without losses all f are 1. Losses act on torques as other teeth would, with
// one factor for each gear: a gear that is driven gets less than the tooth ratio
// says. The balance of a contact, with what it puts on its carrier, stays exact.
type freeBodies struct {
	t         *kinematics.Train
	st        kinematics.State
	body      []kinematics.MemberID
	contacts  []contact
	couplings []int     // that can carry torque, without the splines that hold
	classes   parallels // of couplings
	row       []int     // equation of each member's body, -1 for the housing
	size      int       // how many equations
	input     int64     // the torque from outside at the input: 1, or -1 where the input holds back
}

// factors are the loss factors of one contact on its gears a and b.
type factors struct{ a, b exact.Frac }

// A loading is a solution of the equations of equilibrium, per unit of torque at the input.
type loading struct {
	contact []exact.Frac // load of every contact
	torque  []exact.Frac // parallel to Train.Couplings; splines that hold are 0
	output  exact.Frac   // torque from outside at the output
}

// newFreeBodies states the equilibrium of st, in which couplings that slip are open.
func newFreeBodies(t *kinematics.Train, st kinematics.State, input int64) *freeBodies {
	holds := func(spline int) bool { return st.Modes[spline] == kinematics.Locked }
	b := &freeBodies{t: t, st: st, body: bodies(t, holds), contacts: contacts(t), input: input}
	b.row = make([]int, len(t.Members))
	for m := range b.row {
		b.row[m] = -1
	}
	for m, body := range b.body {
		if body == kinematics.Housing {
			continue
		}
		if b.row[body] < 0 {
			b.row[body] = b.size
			b.size++
		}
		b.row[m] = b.row[body]
	}
	b.classes.st = st
	for i, m := range st.Modes {
		if m == kinematics.Open || t.Couplings[i].Kind == kinematics.Spline {
			continue
		}
		b.couplings = append(b.couplings, i)
		c := make([]int64, b.size)
		x, y := b.row[t.Couplings[i].A], b.row[t.Couplings[i].B]
		if x == y {
			continue // both ends on one body: it can carry nothing
		}
		if x >= 0 {
			c[x]++
		}
		if y >= 0 {
			c[y]--
		}
		b.classes.add(i, polyhedra.RowOf(c...))
	}
	return b
}

// solve returns every statically determinate way to satisfy the equilibrium by the
// contacts that may be used: by a set of couplings none of which can be missed. Where
// meshes share a load among themselves there are several ways with the same
// couplings. It says whether these are all ways.
func (b *freeBodies) solve(loss []factors, use []bool, limit search) (list []loading, all bool) {
	e := b.equations(loss, use)
	in, out := len(e.columns)-2, len(e.columns)-1
	find := polyhedra.Search{Signed: e.signed, Through: in, Budget: limit.budget}
	all = find.NullSpace(e.rows(), len(e.columns), func(v []*big.Int) bool {
		value := func(column int) exact.Frac {
			x := new(big.Int).Mul(v[column], e.parts[column])
			return exact.FromRat(new(big.Rat).SetFrac(x, v[in]))
		}
		contact := zeros(len(b.contacts))
		for column, i := range e.contacts {
			contact[i] = value(column)
		}
		unknowns := make([]exact.Frac, len(b.classes.classes))
		for k := range unknowns {
			unknowns[k] = value(len(e.contacts) + k)
		}
		return b.classes.expand(unknowns, func(torques []exact.Frac) bool {
			if limit.count > 0 && len(list) == limit.count {
				return false
			}
			list = append(list, loading{contact: contact, torque: slices.Clone(torques), output: value(out)})
			return true
		})
	})
	return smallest(list), all
}

// A search bounds how far ways are looked for.
type search struct {
	budget *polyhedra.Budget
	count  int
}

// equations are those of all bodies: a column per contact that is used, per class of
// parallel couplings, then the torques from outside at the input and the output.
type equations struct {
	contacts []int
	columns  [][]*big.Int
	parts    []*big.Int // the torque, or load, is the unknown times this
	signed   []bool
	size     int
}

// equations sets them up with the contacts to use.
func (b *freeBodies) equations(loss []factors, use []bool) *equations {
	e := &equations{size: b.size}
	for i := range b.contacts {
		if !use[i] {
			continue
		}
		c := &b.contacts[i]
		za, zb, unit := wholeTeeth(*c, loss[i])
		e.contacts = append(e.contacts, i)
		add, column := b.column()
		add(c.a, za)
		add(c.b, zb)
		add(c.carrier, new(big.Int).Neg(za))
		add(c.carrier, new(big.Int).Neg(zb))
		e.add(column, unit, false)
	}
	for k := range b.classes.classes {
		one, negative := b.classes.signs(k)
		sign := big.NewInt(1)
		if negative {
			sign.SetInt64(-1)
		}
		_, column := b.column()
		for j, x := range b.classes.classes[k].column.Big {
			column[j].Mul(x, sign)
		}
		e.add(column, sign, one)
	}
	addIn, in := b.column()
	addIn(b.st.Input, big.NewInt(b.input))
	e.add(in, big.NewInt(b.input), true)
	addOut, out := b.column()
	addOut(b.st.Output, big.NewInt(1))
	e.add(out, big.NewInt(1), false)
	return e
}

func (e *equations) add(column []*big.Int, part *big.Int, signed bool) {
	e.columns, e.parts, e.signed = append(e.columns, column), append(e.parts, part), append(e.signed, signed)
}

// column returns an empty column, and what adds a coefficient in the equation of a
// member's body.
func (b *freeBodies) column() (add func(m kinematics.MemberID, x *big.Int), column []*big.Int) {
	column = make([]*big.Int, b.size)
	for i := range column {
		column[i] = new(big.Int)
	}
	return func(m kinematics.MemberID, x *big.Int) {
		if row := b.row[m]; row >= 0 {
			column[row].Add(column[row], x)
		}
	}, column
}

// rows returns the equations as rows.
func (e *equations) rows() []polyhedra.Row {
	rows := make([]polyhedra.Row, e.size)
	for i := range rows {
		c := make([]*big.Int, len(e.columns))
		for j, column := range e.columns {
			c[j] = column[i]
		}
		rows[i] = polyhedra.NewRow(c)
	}
	return rows
}

// wholeTeeth returns teeth times loss factors as whole numbers, and by what
// they were multiplied.
func wholeTeeth(c contact, f factors) (za, zb, by *big.Int) {
	a, b := f.a.Rat(), f.b.Rat()
	by = new(big.Int).Mul(a.Denom(), b.Denom())
	za = new(big.Int).Mul(a.Num(), b.Denom())
	zb = new(big.Int).Mul(b.Num(), a.Denom())
	return za.Mul(za, big.NewInt(c.za)), zb.Mul(zb, big.NewInt(c.zb)), by
}

// smallest keeps the loadings whose couplings are not more than those of another.
func smallest(list []loading) []loading {
	var keep []loading
	for i := range list {
		least := true
		for j := range list {
			least = least && !(within(list[j].torque, list[i].torque) && !within(list[i].torque, list[j].torque))
		}
		if least {
			keep = append(keep, list[i])
		}
	}
	return keep
}

// within says whether x is 0 wherever y is.
func within(x, y []exact.Frac) bool {
	for i := range x {
		if x[i].Sign() != 0 && y[i].Sign() == 0 {
			return false
		}
	}
	return true
}

// memberTorques returns what the meshes together exert on each member.
func (b *freeBodies) memberTorques(l *loading, loss []factors) []exact.Frac {
	torque := zeros(len(b.t.Members))
	for i, c := range b.contacts {
		if l.contact[i].Sign() == 0 {
			continue
		}
		ta, tb := c.torques(l.contact[i], loss[i])
		torque[c.a] = torque[c.a].Add(ta)
		torque[c.b] = torque[c.b].Add(tb)
		torque[c.carrier] = torque[c.carrier].Sub(ta.Add(tb))
	}
	return torque
}

// torques returns what a contact under load exerts on its gears.
func (c *contact) torques(load exact.Frac, f factors) (ta, tb exact.Frac) {
	return load.Mul(f.a).Mul(exact.NewFrac(c.za, 1)), load.Mul(f.b).Mul(exact.NewFrac(c.zb, 1))
}

// splines completes the torques of couplings with those of the splines that
// hold. Splines join members and hubs without closed ways, so there is always an
// end with one spline only: it takes what the others there leave over.
func (b *freeBodies) splines(l *loading, member []exact.Frac) []exact.Frac {
	left := append([]exact.Frac(nil), member...)
	left[b.st.Input] = left[b.st.Input].Add(exact.NewFrac(b.input, 1))
	left[b.st.Output] = left[b.st.Output].Add(l.output)
	exert := func(i int, torque exact.Frac) {
		c := &b.t.Couplings[i]
		left[c.A] = left[c.A].Add(torque)
		left[c.B] = left[c.B].Sub(torque)
	}
	for _, i := range b.couplings {
		exert(i, l.torque[i])
	}
	torque := append([]exact.Frac(nil), l.torque...)
	open := make([]int, len(b.t.Members)) // splines at each body that are not yet known
	open[kinematics.Housing] = len(b.t.Couplings)
	var todo []int
	for i := b.t.ElementCount; i < len(b.t.Couplings); i++ {
		if b.st.Modes[i] == kinematics.Locked {
			todo = append(todo, i)
			open[b.t.Couplings[i].A]++
			open[b.t.Couplings[i].B]++
		}
	}
	for len(todo) > 0 {
		var later []int
		for _, i := range todo {
			c := &b.t.Couplings[i]
			switch {
			case open[c.A] == 1:
				torque[i] = left[c.A].Neg()
			case open[c.B] == 1:
				torque[i] = left[c.B]
			default:
				later = append(later, i)
				continue
			}
			exert(i, torque[i])
			open[c.A]--
			open[c.B]--
		}
		if len(later) == len(todo) {
			break // a closed way, which no train file has: it shares its load in any way
		}
		todo = later
	}
	return torque
}
