package solve

import (
	"slices"

	"tieup/kinematics/exact"
)

// An echelon solves for the combination of rows that gives a target.
type echelon struct {
	n     int // rows there are
	rows  [][]exact.Frac
	from  [][]exact.Frac // each as a combination of the rows there are
	pivot []int
}

func newEchelon(rows [][]exact.Frac) *echelon {
	e := &echelon{}
	for _, row := range rows {
		e = e.with(row)
	}
	return e
}

// with returns an echelon with one row more.
func (e *echelon) with(row []exact.Frac) *echelon {
	rest, combination := e.reduce(row)
	next := &echelon{n: e.n + 1, rows: slices.Clip(e.rows), from: slices.Clip(e.from), pivot: slices.Clip(e.pivot)}
	pivot := slices.IndexFunc(rest, func(x exact.Frac) bool { return x.Sign() != 0 })
	if pivot < 0 {
		return next
	}
	for i := range combination {
		combination[i] = combination[i].Neg()
	}
	next.rows, next.pivot = append(next.rows, rest), append(next.pivot, pivot)
	next.from = append(next.from, append(combination, exact.Int(1)))
	return next
}

// reduce takes rows off a target, and returns what is left and what was taken.
func (e *echelon) reduce(target []exact.Frac) (rest, taken []exact.Frac) {
	rest, taken = slices.Clone(target), zeros(e.n)
	for k, row := range e.rows {
		at := e.pivot[k]
		if rest[at].Sign() == 0 {
			continue
		}
		f := rest[at].Mul(row[at].Inv())
		subtract(rest, f, row)
		subtract(taken, f.Neg(), e.from[k])
	}
	return rest, taken
}

// subtract takes f times row from x.
func subtract(x []exact.Frac, f exact.Frac, row []exact.Frac) {
	for j, v := range row {
		if v.Sign() != 0 {
			x[j] = x[j].Sub(f.Mul(v))
		}
	}
}

// solve returns the multipliers of all rows that add up to a target.
func (e *echelon) solve(target []exact.Frac) []exact.Frac {
	rest, taken := e.reduce(target)
	if slices.ContainsFunc(rest, func(x exact.Frac) bool { return x.Sign() != 0 }) {
		panic("solve: the rows do not add up to what they prove")
	}
	return taken
}

// rightInverse returns the columns x_k for which row i times x_k is 1 where i = k, else 0,
// as a matrix with a row for each column there is; nil if the rows depend on each other.
func rightInverse(rows [][]exact.Frac) [][]exact.Frac {
	e := newEchelon(rows)
	if len(e.rows) < len(rows) {
		return nil
	}
	inverse := make([][]exact.Frac, len(rows[0]))
	for j := range inverse {
		inverse[j] = zeros(len(rows))
	}
	// Row k of the echelon is from[k] times the rows: solve upward from the last.
	for k := len(e.rows) - 1; k >= 0; k-- {
		x := zeros(len(rows))
		copy(x, e.from[k])
		for later := k + 1; later < len(e.rows); later++ {
			subtract(x, e.rows[k][e.pivot[later]], inverse[e.pivot[later]])
		}
		scale := e.rows[k][e.pivot[k]].Inv()
		for i := range x {
			x[i] = x[i].Mul(scale)
		}
		inverse[e.pivot[k]] = x
	}
	return inverse
}
