package polyhedra

import (
	"math/big"
	"math/bits"

	"tieup/kinematics/internal/integer"
)

// A Row is a linear function with whole coefficients, one per coordinate.
type Row struct {
	Big   []*big.Int
	small []int64 // the same, nil if the coefficients are too large
	bits  int     // bit length of the sum of the absolute coefficients
}

// NewRow returns the row with the given coefficients, which must not be
// changed afterwards.
func NewRow(c []*big.Int) Row {
	r := Row{Big: c, small: make([]int64, len(c))}
	var norm uint64
	for i, x := range c {
		if !x.IsInt64() || x.BitLen() > 62 {
			return Row{Big: c}
		}
		r.small[i] = x.Int64()
		var carry uint64
		if norm, carry = bits.Add64(norm, integer.Abs(r.small[i]), 0); carry != 0 {
			return Row{Big: c}
		}
	}
	r.bits = bits.Len64(norm)
	return r
}

// integers returns n zeros, with room for what is small in one piece.
func integers(n int) []*big.Int {
	const each = 2 // words: a product of two small numbers
	room, values, c := make([]big.Word, each*n), make([]big.Int, n), make([]*big.Int, n)
	for i := range c {
		c[i] = values[i].SetBits(room[each*i : each*i : each*(i+1)])
	}
	return c
}

// RowOf is [NewRow] for small coefficients.
func RowOf(c ...int64) Row {
	b := integers(len(c))
	for i, x := range c {
		b[i].SetInt64(x)
	}
	return NewRow(b)
}

// Combine returns a r + b s.
func Combine(a *big.Int, r Row, b *big.Int, s Row) Row {
	c := integers(len(r.Big))
	var t big.Int
	for i := range c {
		c[i].Mul(a, r.Big[i])
		c[i].Add(c[i], t.Mul(b, s.Big[i]))
	}
	return NewRow(c)
}

// Primitive returns r divided by the greatest common divisor of its coefficients.
func (r Row) Primitive() Row {
	g := new(big.Int)
	for _, x := range r.Big {
		g.GCD(nil, nil, g, new(big.Int).Abs(x))
	}
	if g.BitLen() <= 1 {
		return r
	}
	c := make([]*big.Int, len(r.Big))
	for i, x := range r.Big {
		c[i] = new(big.Int).Quo(x, g)
	}
	return NewRow(c)
}

// Equal says whether r and s are the same function.
func (r Row) Equal(s Row) bool {
	for i := range r.Big {
		if r.Big[i].Cmp(s.Big[i]) != 0 {
			return false
		}
	}
	return true
}

// IsZero says whether r is zero everywhere.
func (r Row) IsZero() bool {
	for _, x := range r.Big {
		if x.Sign() != 0 {
			return false
		}
	}
	return true
}

// Of returns the value of r at v.
func (r Row) Of(v []*big.Int) *big.Int { return bigDot(r, v) }

// Opposite says whether r and s are the same function but for the sign.
func (r Row) Opposite(s Row) bool {
	for i := range r.Big {
		if r.Big[i].CmpAbs(s.Big[i]) != 0 || r.Big[i].Sign() != -s.Big[i].Sign() {
			return false
		}
	}
	return true
}
