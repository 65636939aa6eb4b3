package solve

import (
	"cmp"
	"context"
	"math/big"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// Couplings whose columns in the equations of equilibrium are equal but for a factor
// are parallel: what one of them can balance each of the others can. A class of them
// counts as one unknown, of which each member can be what it amounts to. So n brakes
// on one ring are one unknown, not n, and n pairs in a row are one way, not 2^n.

// parallels are the couplings of a state that are not open, by class.
type parallels struct {
	st      kinematics.State
	classes []class
}

// A class is parallel couplings. Its unknown is the sum of factor times torque.
type class struct {
	column    polyhedra.Row // without common factor, its first coefficient positive
	couplings []int
	factor    []*big.Int // the column of each is factor times column
}

// add puts coupling i into the class of its column. One that balances nothing, as
// its slip is always 0, stands alone: it carries whatever one likes.
func (x *parallels) add(i int, column polyhedra.Row) {
	alone := column.Primitive()
	first := slices.IndexFunc(alone.Big, func(c *big.Int) bool { return c.Sign() != 0 })
	if first < 0 {
		x.classes = append(x.classes, class{alone, []int{i}, []*big.Int{big.NewInt(1)}})
		return
	}
	if alone.Big[first].Sign() < 0 {
		alone = negative(alone)
	}
	factor := new(big.Int).Quo(column.Big[first], alone.Big[first])
	for k := range x.classes {
		if c := &x.classes[k]; c.column.Equal(alone) {
			c.couplings, c.factor = append(c.couplings, i), append(c.factor, factor)
			return
		}
	}
	x.classes = append(x.classes, class{alone, []int{i}, []*big.Int{factor}})
}

// allowed returns the positions in class k of couplings that can make its unknown
// have a sign.
func (x *parallels) allowed(k, sign int) (list []int) {
	for n, i := range x.classes[k].couplings {
		torque := sign * x.classes[k].factor[n].Sign()
		if m := x.st.Modes[i]; m == kinematics.Locked || m == kinematics.Overruns && torque > 0 ||
			m == kinematics.Reversed && torque < 0 {
			list = append(list, n)
		}
	}
	return list
}

// signs says whether the unknown of class k has one sign alone, and whether that is
// the negative one.
func (x *parallels) signs(k int) (one, negative bool) {
	plus, minus := x.allowed(k, 1) != nil, x.allowed(k, -1) != nil
	return !plus || !minus, !plus
}

// torque is what the coupling at position n of class k carries if it makes up the
// unknown alone.
func (x *parallels) torque(k, n int, unknown exact.Frac) exact.Frac {
	return unknown.Mul(intFrac(x.classes[k].factor[n]).Inv())
}

// expand calls yield with the torques of all couplings for every choice of one
// coupling of each class that makes up its unknown, until it returns false. The
// torques are overwritten by the next call.
func (x *parallels) expand(unknowns []exact.Frac, yield func(torques []exact.Frac) bool) bool {
	torques := zeros(len(x.st.Modes))
	var choose func(k int) bool
	choose = func(k int) bool {
		for k < len(x.classes) && unknowns[k].Sign() == 0 {
			k++
		}
		if k == len(x.classes) {
			return yield(torques)
		}
		for _, n := range x.allowed(k, unknowns[k].Sign()) {
			i := x.classes[k].couplings[n]
			torques[i] = x.torque(k, n, unknowns[k])
			more := choose(k + 1)
			if torques[i] = exact.Int(0); !more {
				return false
			}
		}
		return true
	}
	return choose(0)
}

// balance states the equations of virtual power of a query: one equation per
// coordinate of the loose basis, one unknown per class of couplings, then the input
// torque and the output torque.
type balance struct {
	parallels
	rows    []polyhedra.Row
	columns int
	signed  []bool
	turned  []bool // the unknown is the torque with its sign turned
	in, out int    // columns, -1 if there is no such torque
	loaded  int    // the column that must not be 0, -1 for any
}

// balance sets up a query.
func (s *System) balance(q query) *balance {
	b := s.loose()
	x := &balance{parallels: parallels{st: q.st}}
	loaded := q.input != 0 || q.output != 0
	for i, m := range q.st.Modes {
		if m != kinematics.Open && !(loaded && b.slip[i].IsZero()) {
			x.add(i, b.slip[i])
		}
	}
	var columns []polyhedra.Row
	for k := range x.classes {
		columns = append(columns, x.classes[k].column)
		one, negative := x.signs(k)
		x.signed, x.turned = append(x.signed, one), append(x.turned, negative)
	}
	end := func(m kinematics.MemberID, sign int, free bool) int {
		if sign == 0 && !free {
			return -1
		}
		columns = append(columns, b.member[m])
		x.signed = append(x.signed, !free)
		x.turned = append(x.turned, sign < 0)
		return len(columns) - 1
	}
	x.in = end(q.st.Input, q.input, false)
	x.out = end(q.st.Output, q.output, q.outputFree)
	if x.loaded = x.in; q.output != 0 {
		x.loaded = x.out
	}
	x.columns = len(columns)
	x.rows = make([]polyhedra.Row, b.k)
	for j := range x.rows {
		c := make([]*big.Int, len(columns))
		for k := range columns {
			if c[k] = columns[k].Big[j]; x.turned[k] {
				c[k] = new(big.Int).Neg(c[k])
			}
		}
		x.rows[j] = polyhedra.NewRow(c)
	}
	return x
}

// search finds the elementary solutions, class by class and per unit of the loaded
// end, and says whether they are all.
func (x *balance) search(budget *polyhedra.Budget, yield func(unknowns []exact.Frac) bool) bool {
	s := polyhedra.Search{Signed: x.signed, Through: x.loaded, Budget: budget}
	return s.NullSpace(x.rows, x.columns, func(v []*big.Int) bool { return yield(x.unknowns(v)) })
}

// unknowns is an elementary solution per unit of the loaded end.
func (x *balance) unknowns(v []*big.Int) []exact.Frac {
	unit := big.NewInt(1)
	if x.loaded >= 0 {
		unit = v[x.loaded]
	}
	unknowns := make([]exact.Frac, len(v))
	for k := range v {
		r := new(big.Rat).SetFrac(v[k], unit)
		if x.turned[k] {
			r.Neg(r)
		}
		unknowns[k] = exact.FromRat(r)
	}
	return unknowns
}

// equilibria calls yield with every equilibrium in which one coupling of each class
// makes up its unknown, until it returns false.
func (x *balance) equilibria(unknowns []exact.Frac, yield func(Equilibrium) bool) bool {
	value := func(k int) exact.Frac {
		if k < 0 {
			return exact.Int(0)
		}
		return unknowns[k]
	}
	return x.expand(unknowns, func(torques []exact.Frac) bool {
		e := Equilibrium{Input: value(x.in), Output: value(x.out), Torque: slices.Clone(torques)}
		for i := range torques {
			if e.Carries(i) {
				e.Carry = append(e.Carry, i)
			}
		}
		if x.loaded < 0 {
			e = x.whole(e)
		}
		return yield(e)
	})
}

// pairs calls yield with what parallel couplings strain each other by, two by two.
func (x *balance) pairs(yield func(Equilibrium) bool) bool {
	for k := range x.classes {
		c := &x.classes[k]
		for n, i := range c.couplings {
			for m, j := range c.couplings[:n] {
				e := Equilibrium{Input: exact.Int(0), Output: exact.Int(0), Torque: zeros(len(x.st.Modes)),
					Carry: []int{j, i}}
				e.Torque[j], e.Torque[i] = intFrac(c.factor[n]), intFrac(c.factor[m]).Neg()
				if !x.fits(&e) {
					e.turn()
				}
				if x.fits(&e) && !yield(x.whole(e)) {
					return false
				}
			}
		}
	}
	return true
}

// fits says whether the couplings can exert the torques of e.
func (x *balance) fits(e *Equilibrium) bool {
	for _, i := range e.Carry {
		m, sign := x.st.Modes[i], e.Torque[i].Sign()
		if m == kinematics.Overruns && sign < 0 || m == kinematics.Reversed && sign > 0 {
			return false
		}
	}
	return true
}

// turn turns the torques of couplings over.
func (e *Equilibrium) turn() {
	for _, i := range e.Carry {
		e.Torque[i] = e.Torque[i].Neg()
	}
}

// whole makes the torques of a strain whole numbers without a common factor, the
// first above 0 if the couplings allow both.
func (x *balance) whole(e Equilibrium) Equilibrium {
	row := make([]*big.Rat, len(e.Carry))
	for n, i := range e.Carry {
		row[n] = e.Torque[i].Rat()
	}
	for n, v := range wholeRow(row).Primitive().Big {
		e.Torque[e.Carry[n]] = intFrac(v)
	}
	if e.Torque[e.Carry[0]].Sign() < 0 {
		if e.turn(); !x.fits(&e) {
			e.turn()
		}
	}
	return e
}

// equilibria lists the elementary solutions of a query, those first that do without
// the couplings that come first, and says whether they are all.
func (s *System) equilibria(ctx context.Context, q query, limit Limit) (list []Equilibrium, all bool) {
	x := s.balance(q)
	add := func(e Equilibrium) bool {
		if limit.Count > 0 && len(list) == limit.Count {
			return false
		}
		list = append(list, e)
		return true
	}
	all = x.loaded >= 0 || x.pairs(add)
	budget := &polyhedra.Budget{Work: limit.Work, Done: ctx.Done()}
	all = all && x.search(budget, func(unknowns []exact.Frac) bool {
		if !x.equilibria(unknowns, add) {
			return false
		}
		if x.loaded >= 0 {
			return true
		}
		return x.turnedOver(unknowns, add)
	})
	kinematics.Sort(list, func(a, b Equilibrium) int { return without(a.Carry, b.Carry) })
	return list, all
}

// turnedOver expands a solution with no torque from outside the other way round, as
// far as that loads couplings that cannot be loaded both ways: others are in the
// list one way, which stands for both.
func (x *balance) turnedOver(unknowns []exact.Frac, yield func(Equilibrium) bool) bool {
	over := make([]exact.Frac, len(unknowns))
	for k, u := range unknowns {
		if over[k] = u.Neg(); u.Sign() != 0 && x.signed[k] {
			return true
		}
	}
	return x.equilibria(over, func(e Equilibrium) bool {
		for _, i := range e.Carry {
			if x.st.Modes[i] != kinematics.Locked {
				return yield(e)
			}
		}
		return true
	})
}

// without orders sets: at the first place where they differ, the one that does
// without it is first.
func without(a, b []int) int {
	for k := range min(len(a), len(b)) {
		if a[k] != b[k] {
			return cmp.Compare(b[k], a[k])
		}
	}
	return cmp.Compare(len(a), len(b))
}

// sharing counts the elementary solutions of a query and bounds their torques. If there
// are too many, it looks for one through each class of which none is found.
func (s *System) sharing(ctx context.Context, q query, limit Limit) Sharing {
	x, share := s.balance(q), newSharing(q.st)
	budget := &polyhedra.Budget{Work: limit.Work, Done: ctx.Done()}
	if share.All = x.search(budget, x.adds(&share)); !share.All {
		x.cover(coverWork(ctx), &share, func(i int) bool { return larger(share.Torque[i]).Sign() > 0 })
	}
	return share
}

// coverWork bounds the search for one way through each coupling.
func coverWork(ctx context.Context) *polyhedra.Budget {
	return &polyhedra.Budget{Work: 5 * Usual.Work, Done: ctx.Done()}
}

func newSharing(st kinematics.State) Sharing {
	share := Sharing{Torque: make([]exact.Interval, len(st.Modes))}
	for i := range share.Torque {
		share.Torque[i] = exact.None
	}
	return share
}

// adds returns what takes a solution into a sharing.
func (x *balance) adds(share *Sharing) func(unknowns []exact.Frac) bool {
	return func(unknowns []exact.Frac) bool {
		ways := 1
		loaded := make([]bool, len(share.Torque)) // in every one of these ways
		for k := range x.classes {
			if unknowns[k].Sign() == 0 {
				continue
			}
			members := x.allowed(k, unknowns[k].Sign())
			ways *= len(members)
			for _, n := range members {
				i := x.classes[k].couplings[n]
				share.Torque[i] = share.Torque[i].Include(x.torque(k, n, unknowns[k]))
				loaded[i] = len(members) == 1
			}
		}
		share.Ways += ways
		for i, must := range loaded {
			if !must {
				share.Torque[i] = share.Torque[i].Include(exact.Int(0))
			}
		}
		return true
	}
}

// cover adds to a sharing a way through each class of which no coupling is known to be
// loaded.
func (x *balance) cover(budget *polyhedra.Budget, share *Sharing, known func(i int) bool) {
	covered := make([]bool, x.columns)
	for k, c := range x.classes {
		covered[k] = slices.ContainsFunc(c.couplings, known)
	}
	add := x.adds(share)
	s := polyhedra.Search{Signed: x.signed, Through: x.loaded, Budget: budget}
	s.Cover(x.rows, x.columns, covered, func(v []*big.Int) { add(x.unknowns(v)) })
}

// some finds equilibria within a limit. If the limit allows none, it looks for one
// by letting couplings go for as long as holds stays true.
func (s *System) some(
	ctx context.Context, q query, limit Limit, holds func(kinematics.State) bool,
) (list []Equilibrium, all bool) {
	if list, all = s.equilibria(ctx, q, limit); all || len(list) > 0 || ctx.Err() != nil || !holds(q.st) {
		return list, all
	}
	list, _ = s.equilibria(ctx, s.bare(q, holds), Limit{Count: 1})
	return list, false
}

// bare lets couplings go for as long as holds stays true.
func (s *System) bare(q query, holds func(kinematics.State) bool) query {
	q.st = q.st.Clone()
	for i, mode := range q.st.Modes {
		if q.st.Modes[i] = kinematics.Open; mode != kinematics.Open && !holds(q.st) {
			q.st.Modes[i] = mode
		}
	}
	return q
}

// forbids says whether a motion is impossible.
func (o Outcome) forbids(m Demand) bool {
	switch m {
	case InputForward:
		return o.Pull.Empty
	case InputBackward:
		return !o.InputBackward
	case OutputForward:
		return o.CoastForward.Empty
	}
	return o.CoastBackward.Empty
}
