package solve

import (
	"math/big"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// react gives the rigid couplings torques that balance all others. A coupling
// that only repeats what those before it hold gets none.
func (x *gripped) react(r *Mechanism) {
	n := len(x.rigid)
	if n == 0 {
		return
	}
	rest := x.unbalance(r)
	// One equation a coordinate: the slips' coefficients, and -rest behind them.
	rows := make([][]exact.Frac, x.k)
	for j := range rows {
		rows[j] = make([]exact.Frac, n+1)
		for k, i := range x.rigid {
			rows[j][k] = intFrac(x.slip[i].Big[j])
		}
		rows[j][n] = rest[j].Neg()
	}
	pivot := 0
	where := make([]int, n)
	for k := range n {
		where[k] = -1
		p := slices.IndexFunc(rows[pivot:], func(row []exact.Frac) bool { return row[k].Sign() != 0 })
		if p < 0 {
			continue
		}
		rows[pivot], rows[pivot+p] = rows[pivot+p], rows[pivot]
		inv := rows[pivot][k].Inv()
		for j, row := range rows {
			if j == pivot || row[k].Sign() == 0 {
				continue
			}
			f := row[k].Mul(inv)
			for c := range row {
				row[c] = row[c].Sub(f.Mul(rows[pivot][c]))
			}
		}
		where[k] = pivot
		pivot++
	}
	for k, i := range x.rigid {
		if p := where[k]; p >= 0 {
			r.Dual[i] = rows[p][n].Mul(rows[p][k].Inv())
		}
	}
}

func intFrac(x *big.Int) exact.Frac {
	if x.IsInt64() {
		return exact.NewFrac(x.Int64(), 1)
	}
	return exact.FromRat(new(big.Rat).SetInt(x))
}

// unbalance is the virtual power of all torques, one coefficient a coordinate of
// the motions that meshes and joints allow; all are 0 in equilibrium.
func (x *gripped) unbalance(r *Mechanism) []exact.Frac {
	sum := zeros(x.k)
	add := func(row polyhedra.Row, torque exact.Frac) {
		if torque.Sign() == 0 {
			return
		}
		for j, c := range row.Big {
			if c.Sign() != 0 {
				sum[j] = sum[j].Add(torque.Mul(intFrac(c)))
			}
		}
	}
	add(x.member[x.g.State.Input], r.InputTorque)
	add(x.member[x.g.State.Output], r.OutputTorque)
	for i, d := range r.Dual {
		add(x.slip[i], d)
	}
	return sum
}

// balanced says whether the torques of r are in equilibrium.
func (x *gripped) balanced(r *Mechanism) bool {
	return !slices.ContainsFunc(x.unbalance(r), func(f exact.Frac) bool { return f.Sign() != 0 })
}

// within says whether every coupling can carry its torque in r.
func (x *gripped) within(r *Mechanism) bool {
	for i, d := range r.Dual {
		if d.Sign() == 0 {
			continue
		}
		switch mode := x.g.State.Modes[i]; {
		case x.g.Capacity[i] != nil:
			if d.Abs().Cmp(exact.FromRat(x.g.Capacity[i])) > 0 {
				return false
			}
		case mode == kinematics.Open, mode == kinematics.Overruns && d.Sign() < 0,
			mode == kinematics.Reversed && d.Sign() > 0:
			return false
		}
	}
	return true
}

// unstrain takes out of the torques of r what couplings that do not slip strain
// against each other: as long as some of those that are loaded can balance by
// themselves, it adds so much of that balance that one of them is unloaded, where
// that overloads no other. It notes whether a load can be shared in several ways.
func (x *gripped) unstrain(r *Mechanism) {
	var all, loaded []int
	for i, mode := range x.g.State.Modes {
		slips := slices.ContainsFunc(r.Optima, func(m MechanismMotion) bool { return m.Slip[i].Sign() != 0 })
		if mode == kinematics.Open || slips || x.slip[i].IsZero() {
			continue
		}
		all = append(all, i)
		if r.Dual[i].Sign() != 0 {
			loaded = append(loaded, i)
		}
	}
	if loaded == nil {
		return
	}
	for _, v := range x.strains(all) {
		for k, i := range all {
			r.Shared = r.Shared || v[k].Sign() != 0 && r.Dual[i].Sign() != 0
		}
	}
	if !r.Shared {
		return
	}
	for {
		unloaded := -1
		for _, v := range x.strains(loaded) {
			if unloaded = x.relieve(r, loaded, v); unloaded >= 0 {
				break
			}
		}
		if unloaded < 0 {
			return
		}
		loaded = slices.DeleteFunc(loaded, func(i int) bool { return r.Dual[i].Sign() == 0 })
	}
}

// strains returns a basis of the torques with which couplings balance by
// themselves, parallel to them.
func (x *gripped) strains(couplings []int) [][]*big.Int {
	rows := make([]polyhedra.Row, x.k)
	for j := range rows {
		c := make([]*big.Int, len(couplings))
		for k, i := range couplings {
			c[k] = x.slip[i].Big[j]
		}
		rows[j] = polyhedra.NewRow(c)
	}
	return polyhedra.NullSpace(rows, len(couplings))
}

// relieve adds a multiple of v to the torques of couplings that unloads one of
// them and overloads none. It returns the one unloaded, -1 if there is no such
// multiple.
func (x *gripped) relieve(r *Mechanism, couplings []int, v []*big.Int) int {
	before := slices.Clone(r.Dual)
	for k, i := range couplings {
		if v[k].Sign() == 0 {
			continue
		}
		factor := before[i].Mul(intFrac(v[k]).Inv()).Neg()
		for n, c := range couplings {
			r.Dual[c] = before[c].Add(factor.Mul(intFrac(v[n])))
		}
		if x.within(r) {
			return i
		}
		copy(r.Dual, before)
	}
	return -1
}
