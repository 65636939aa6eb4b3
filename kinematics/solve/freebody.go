package solve

import (
	"math/big"

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
	couplings []int // that can carry torque, without the splines that hold
	input     int64 // the torque from outside at the input: 1, or -1 where the input holds back
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
	for i, m := range st.Modes {
		if m != kinematics.Open && t.Couplings[i].Kind != kinematics.Spline {
			b.couplings = append(b.couplings, i)
		}
	}
	return b
}

// solve returns every statically determinate way to satisfy the equilibrium: by a
// set of couplings none of which can be missed. Where meshes share a load among
// themselves there are several ways with the same couplings.
func (b *freeBodies) solve(loss []factors) []loading {
	t := b.t
	nc, n := len(b.contacts), len(b.contacts)+len(b.couplings)
	in, out := n, n+1
	rows := make([][]*big.Int, len(t.Members))
	add := func(m kinematics.MemberID, column int, x *big.Int) {
		m = b.body[m]
		if m == kinematics.Housing {
			return
		}
		if rows[m] == nil {
			rows[m] = make([]*big.Int, n+2)
			for i := range rows[m] {
				rows[m][i] = new(big.Int)
			}
		}
		rows[m][column].Add(rows[m][column], x)
	}
	unit := make([]*big.Int, nc) // the column of a contact is in these parts of its load
	for i, c := range b.contacts {
		var za, zb *big.Int
		za, zb, unit[i] = wholeTeeth(c, loss[i])
		add(c.a, i, za)
		add(c.b, i, zb)
		add(c.carrier, i, new(big.Int).Neg(za))
		add(c.carrier, i, new(big.Int).Neg(zb))
	}
	signed := make([]bool, n+2)
	sign := make([]int64, n+2) // of the unknown: -1 where it is the torque with its sign turned
	for i := range sign {
		sign[i] = 1
	}
	for k, i := range b.couplings {
		column := nc + k
		signed[column] = b.st.Modes[i] != kinematics.Locked
		if b.st.Modes[i] == kinematics.Reversed {
			sign[column] = -1
		}
		add(t.Couplings[i].A, column, big.NewInt(sign[column]))
		add(t.Couplings[i].B, column, big.NewInt(-sign[column]))
	}
	signed[in], sign[in] = true, b.input
	add(b.st.Input, in, big.NewInt(b.input))
	add(b.st.Output, out, big.NewInt(1))

	var equations []polyhedra.Row
	for _, r := range rows {
		if r != nil {
			equations = append(equations, polyhedra.NewRow(r))
		}
	}
	var list []loading
	search := polyhedra.Search{Signed: signed, Through: in}
	search.NullSpace(equations, n+2, func(v []*big.Int) bool {
		value := func(column int, parts *big.Int) exact.Frac {
			x := new(big.Int).Mul(v[column], parts)
			return exact.FromRat(new(big.Rat).SetFrac(x.Mul(x, big.NewInt(sign[column])), v[in]))
		}
		one := big.NewInt(1)
		l := loading{torque: zeros(len(t.Couplings)), output: value(out, one)}
		for i := range b.contacts {
			l.contact = append(l.contact, value(i, unit[i]))
		}
		for k, i := range b.couplings {
			l.torque[i] = value(nc+k, one)
		}
		list = append(list, l)
		return true
	})
	return smallest(list)
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
