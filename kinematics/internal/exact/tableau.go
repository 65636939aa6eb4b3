package exact

import (
	"math/big"
	"math/bits"
)

// A smallTableau is a tableau in int64. Products are taken over 128 bits; a
// method that returns false would have overflowed.
type smallTableau struct {
	a     [][]int64
	denom int64
}

func (t *smallTableau) load(rows [][]*big.Int) bool {
	t.denom = 1
	t.a = make([][]int64, len(rows))
	flat := make([]int64, len(rows)*len(rows[0]))
	for i, r := range rows {
		t.a[i], flat = flat[:len(r):len(r)], flat[len(r):]
		for j, x := range r {
			t.a[i][j] = x.Int64()
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

func (t *smallTableau) cmp(i, j, k, l int) int {
	x, y := t.a[i][j], t.a[k][l]
	switch {
	case x < y:
		return -1
	case x > y:
		return 1
	}
	return 0
}

func (t *smallTableau) cmpRatio(i, k, col, rhs int) int {
	return cmpQuotients(t.a[i][rhs], t.a[i][col], t.a[k][rhs], t.a[k][col])
}

func (t *smallTableau) negate(i int) {
	for j := range t.a[i] {
		t.a[i][j] = -t.a[i][j]
	}
}

func (t *smallTableau) keep(rows []int) {
	for n, i := range rows {
		t.a[n] = t.a[i]
	}
	t.a = t.a[:len(rows)]
}

func (t *smallTableau) pivot(r, c int) bool {
	p := t.a[r][c]
	for i, row := range t.a {
		if i == r {
			continue
		}
		q := row[c]
		if q == 0 && p == t.denom {
			continue
		}
		for j := range row {
			v, ok := mulSubDiv(row[j], p, q, t.a[r][j], t.denom)
			if !ok {
				return false
			}
			row[j] = v
		}
	}
	t.denom = p
	return true
}

func (t *smallTableau) price(row, by int, cost *big.Int) bool {
	if !cost.IsInt64() {
		return false
	}
	for j := range t.a[row] {
		v, ok := mulSubDiv(t.a[row][j], 1, cost.Int64(), t.a[by][j], 1)
		if !ok {
			return false
		}
		t.a[row][j] = v
	}
	return true
}

func (t *smallTableau) value(i, j int) *big.Rat { return big.NewRat(t.a[i][j], t.denom) }

// mulSubDiv returns (a p - q r) / d for d > 0, which must divide without
// remainder, and whether the result fits (with room to be negated).
func mulSubDiv(a, p, q, r, d int64) (int64, bool) {
	const short = 1 << 31
	if abs(a)|abs(p)|abs(q)|abs(r) < short {
		x := a*p - q*r
		if d != 1 {
			x /= d
		}
		return x, true
	}
	hi1, lo1 := mul128(a, p)
	hi2, lo2 := mul128(q, r)
	// Each product is at most 2^126, so their difference fits into 128 bits.
	lo, borrow := bits.Sub64(lo1, lo2, 0)
	hi, _ := bits.Sub64(hi1, hi2, borrow)
	negative := int64(hi) < 0
	if negative {
		var carry uint64
		lo, carry = bits.Add64(^lo, 1, 0)
		hi = ^hi + carry
	}
	if hi >= uint64(d) {
		return 0, false
	}
	x, _ := bits.Div64(hi, lo, uint64(d))
	if x >= 1<<63 {
		return 0, false
	}
	if negative {
		return -int64(x), true
	}
	return int64(x), true
}

// mul128 returns the two's complement 128-bit product of a and b, neither of
// which is the least int64.
func mul128(a, b int64) (hi, lo uint64) {
	hi, lo = bits.Mul64(abs(a), abs(b))
	if a < 0 != (b < 0) {
		var carry uint64
		lo, carry = bits.Add64(^lo, 1, 0)
		hi = ^hi + carry
	}
	return hi, lo
}

// A bigTableau is a tableau over math/big. Its methods that return bool return true.
type bigTableau struct {
	a     [][]*big.Int
	denom *big.Int
}

func (t *bigTableau) load(rows [][]*big.Int) bool {
	t.denom = big.NewInt(1)
	t.a = make([][]*big.Int, len(rows))
	for i, r := range rows {
		t.a[i] = make([]*big.Int, len(r))
		for j, x := range r {
			t.a[i][j] = new(big.Int).Set(x)
		}
	}
	return true
}

func (t *bigTableau) sign(i, j int) int { return t.a[i][j].Sign() }

func (t *bigTableau) cmp(i, j, k, l int) int { return t.a[i][j].Cmp(t.a[k][l]) }

func (t *bigTableau) cmpRatio(i, k, col, rhs int) int {
	x := new(big.Int).Mul(t.a[i][rhs], t.a[k][col])
	return x.Cmp(new(big.Int).Mul(t.a[k][rhs], t.a[i][col]))
}

func (t *bigTableau) negate(i int) {
	for _, x := range t.a[i] {
		x.Neg(x)
	}
}

func (t *bigTableau) keep(rows []int) {
	for n, i := range rows {
		t.a[n] = t.a[i]
	}
	t.a = t.a[:len(rows)]
}

func (t *bigTableau) pivot(r, c int) bool {
	p := new(big.Int).Set(t.a[r][c])
	u := new(big.Int)
	for i, row := range t.a {
		if i == r {
			continue
		}
		q := new(big.Int).Set(row[c])
		for j, x := range row {
			x.Sub(x.Mul(x, p), u.Mul(q, t.a[r][j]))
			x.Quo(x, t.denom)
		}
	}
	t.denom = p
	return true
}

func (t *bigTableau) price(row, by int, cost *big.Int) bool {
	u := new(big.Int)
	for j, x := range t.a[row] {
		x.Sub(x, u.Mul(cost, t.a[by][j]))
	}
	return true
}

func (t *bigTableau) value(i, j int) *big.Rat { return new(big.Rat).SetFrac(t.a[i][j], t.denom) }
