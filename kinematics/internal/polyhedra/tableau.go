package polyhedra

import (
	"math/big"
	"math/bits"

	"tieup/kinematics/exact"
	"tieup/kinematics/internal/integer"
)

// costBits bounds the costs of a small tableau, so that sums of their products
// with entries stay within 128 bits.
const costBits = 48

// entries are those of a tableau, by rows.
type entries[T any] struct{ a [][]T }

func (t *entries[T]) dropRow(i int) {
	last := len(t.a) - 1
	t.a[i] = t.a[last]
	t.a = t.a[:last]
}

func (t *entries[T]) dropCol(j int) {
	for i, row := range t.a {
		last := len(row) - 1
		row[j] = row[last]
		t.a[i] = row[:last]
	}
}

// rows yields the rows of a program in the order of a tableau.
func (p *Program) rows(yield func(Row) bool) {
	for _, r := range p.Zero {
		if !yield(r) {
			return
		}
	}
	for i := range p.Terms {
		if !yield(p.Terms[i].Row) {
			return
		}
	}
	for _, r := range p.NonNegative {
		if !yield(r) {
			return
		}
	}
	yield(p.Equal)
}

// A smallTableau is a tableau in int64. Products are taken over 128 bits.
type smallTableau struct {
	entries[int64]
	denom       int64
	plus, minus []int64 // costs of the terms, times scale
	scale       int64
}

func (t *smallTableau) big() bool { return false }

func (t *smallTableau) load(p *Program) bool {
	n := len(p.Zero) + len(p.Terms) + len(p.NonNegative) + 1
	flat := make([]int64, 0, n*p.N)
	t.denom = 1
	t.a = make([][]int64, 0, n)
	for r := range p.rows {
		if r.small == nil && p.N > 0 {
			return false
		}
		flat = append(flat, r.small...)
		t.a = append(t.a, flat[len(flat)-p.N:len(flat):len(flat)])
	}
	return t.loadCosts(p.Terms)
}

// loadCosts scales the costs to whole numbers.
func (t *smallTableau) loadCosts(terms []Term) bool {
	t.scale = 1
	for i := range terms {
		for _, x := range [...]*big.Rat{terms[i].Plus, terms[i].Minus} {
			if !x.Num().IsInt64() || !x.Denom().IsInt64() {
				return false
			}
			d := x.Denom().Int64()
			d /= int64(integer.GCD(uint64(d), uint64(t.scale)))
			if bits.Len64(uint64(d))+bits.Len64(uint64(t.scale)) > costBits {
				return false
			}
			t.scale *= d
		}
	}
	costs := make([]int64, 2*len(terms))
	t.plus, t.minus = costs[:len(terms)], costs[len(terms):]
	for i := range terms {
		for k, x := range [...]*big.Rat{terms[i].Plus, terms[i].Minus} {
			num, factor := x.Num().Int64(), t.scale/x.Denom().Int64()
			if bits.Len64(integer.Abs(num))+bits.Len64(uint64(factor)) > costBits {
				return false
			}
			costs[k*len(terms)+i] = num * factor
		}
	}
	return true
}

func (t *smallTableau) sign(i, j int) int {
	switch x := t.a[i][j]; {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// pivot solves row r for column c and puts that into all others:
//
//	denom x_r = sum a_rj x_j   gives   a_rc x_c = denom x_r - sum' a_rj x_j
//
// so that entries away from row and column become (a_ij a_rc - a_ic a_rj) / denom
// over the new denominator a_rc, turned positive.
func (t *smallTableau) pivot(r, c int) bool {
	p, d, pivotRow := t.a[r][c], t.denom, t.a[r]
	sign := int64(1)
	if p < 0 {
		sign, p = -1, -p
	}
	for i, row := range t.a {
		if i == r {
			continue
		}
		q := sign * row[c]
		for j := range row {
			if j == c {
				continue
			}
			v, ok := integer.MulSubDiv(row[j], p, q, pivotRow[j], d)
			if !ok {
				return false
			}
			row[j] = v
		}
		row[c] = q
	}
	for j := range pivotRow {
		pivotRow[j] *= -sign
	}
	pivotRow[c] = sign * d
	t.denom = p
	return true
}

func (t *smallTableau) cmpRatio(i, k, j, unit int) int {
	size := func(x int64) int64 { return int64(integer.Abs(x)) }
	return integer.CompareQuotients(size(t.a[i][unit]), size(t.a[i][j]), size(t.a[k][unit]), size(t.a[k][j]))
}

// basic adds the costs of the basic terms per unit of column j, over denom and
// scale, on a side.
func (t *smallTableau) basic(s *simplex, j int, side int64) integer.Int128 {
	var sum integer.Int128
	for i := range s.rows {
		if v := &s.rows[i]; v.kind == term {
			if c := t.plus[v.index]; v.sense > 0 {
				sum.AddMul(side*c, t.a[i][j])
			} else {
				sum.AddMul(-side*t.minus[v.index], t.a[i][j])
			}
		}
	}
	return sum
}

func (t *smallTableau) slope(s *simplex, j, side int) int {
	sum := t.basic(s, j, int64(side))
	if v := s.cols[j]; v.kind == term {
		if side > 0 {
			sum.AddMul(t.plus[v.index], t.denom)
		} else {
			sum.AddMul(t.minus[v.index], t.denom)
		}
	}
	return sum.Sign()
}

func (t *smallTableau) cost(s *simplex, j int) exact.Frac {
	n, d, large := t.basic(s, j, 1).Over(t.denom, t.scale)
	if large != nil {
		return exact.FromRat(large)
	}
	return exact.NewFrac(n, d)
}

func (t *smallTableau) value(i, j int) exact.Frac { return exact.NewFrac(t.a[i][j], t.denom) }

// A bigTableau is a tableau over math/big. Its methods that return bool return true.
type bigTableau struct {
	entries[*big.Int]
	denom       *big.Int
	plus, minus []*big.Int // costs of the terms, times scale
	scale       *big.Int
}

func (t *bigTableau) big() bool { return true }

func (t *bigTableau) load(p *Program) bool {
	t.denom = big.NewInt(1)
	for r := range p.rows {
		row := make([]*big.Int, p.N)
		for j := range row {
			row[j] = new(big.Int).Set(r.Big[j])
		}
		t.a = append(t.a, row)
	}
	t.scale = big.NewInt(1)
	for _, x := range p.Terms {
		for _, cost := range [...]*big.Rat{x.Plus, x.Minus} {
			g := new(big.Int).GCD(nil, nil, t.scale, cost.Denom())
			t.scale.Mul(t.scale, g.Quo(cost.Denom(), g))
		}
	}
	whole := func(cost *big.Rat) *big.Int {
		x := new(big.Int).Quo(t.scale, cost.Denom())
		return x.Mul(x, cost.Num())
	}
	for _, x := range p.Terms {
		t.plus, t.minus = append(t.plus, whole(x.Plus)), append(t.minus, whole(x.Minus))
	}
	return true
}

func (t *bigTableau) sign(i, j int) int { return t.a[i][j].Sign() }

// pivot is as [smallTableau.pivot].
func (t *bigTableau) pivot(r, c int) bool {
	p, d, pivotRow := new(big.Int).Set(t.a[r][c]), t.denom, t.a[r]
	negative := p.Sign() < 0
	p.Abs(p)
	u := new(big.Int)
	for i, row := range t.a {
		if i == r {
			continue
		}
		if negative {
			row[c].Neg(row[c])
		}
		for j, x := range row {
			if j != c {
				x.Sub(x.Mul(x, p), u.Mul(row[c], pivotRow[j]))
				x.Quo(x, d)
			}
		}
	}
	pivotRow[c] = new(big.Int).Neg(d)
	for _, x := range pivotRow {
		if !negative {
			x.Neg(x)
		}
	}
	t.denom = p
	return true
}

func (t *bigTableau) cmpRatio(i, k, j, unit int) int {
	x := new(big.Int).Mul(t.a[i][unit], t.a[k][j])
	return x.CmpAbs(new(big.Int).Mul(t.a[k][unit], t.a[i][j]))
}

func (t *bigTableau) slope(s *simplex, j, side int) int {
	sum := t.basic(s, j)
	if side < 0 {
		sum.Neg(sum)
	}
	if v := s.cols[j]; v.kind == term {
		cost := t.plus[v.index]
		if side < 0 {
			cost = t.minus[v.index]
		}
		sum.Add(sum, new(big.Int).Mul(cost, t.denom))
	}
	return sum.Sign()
}

// basic adds the costs of the basic terms per unit of column j, over denom and scale.
func (t *bigTableau) basic(s *simplex, j int) *big.Int {
	sum, u := new(big.Int), new(big.Int)
	for i := range s.rows {
		switch v := &s.rows[i]; {
		case v.kind != term || t.a[i][j].Sign() == 0:
		case v.sense > 0:
			sum.Add(sum, u.Mul(t.a[i][j], t.plus[v.index]))
		default:
			sum.Sub(sum, u.Mul(t.a[i][j], t.minus[v.index]))
		}
	}
	return sum
}

func (t *bigTableau) cost(s *simplex, j int) exact.Frac {
	return exact.FromRat(new(big.Rat).SetFrac(t.basic(s, j), new(big.Int).Mul(t.denom, t.scale)))
}

func (t *bigTableau) value(i, j int) exact.Frac {
	return exact.FromRat(new(big.Rat).SetFrac(t.a[i][j], t.denom))
}
