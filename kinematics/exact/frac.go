package exact

import (
	"cmp"
	"math/big"
	"strconv"

	"tieup/kinematics/internal/integer"
)

// A Frac is an exact fraction in lowest terms, n/d with d > 0. It is a small
// value; fractions that do not fit into int64 carry a big.Rat. The zero Frac is
// no number, and is written as null; make one with [NewFrac], [FromRat], [Int] or [Parse].
type Frac struct {
	n, d int64
	big  *big.Rat // when n/d do not fit
}

// Int returns the whole number n.
func Int(n int64) Frac { return Frac{n: n, d: 1} }

// NewFrac returns n/d in lowest terms. It panics if d is 0.
func NewFrac(n, d int64) Frac {
	const least = -1 << 63
	if d == 0 {
		panic("exact: fraction with denominator 0")
	}
	if n == least || d == least {
		return FromRat(big.NewRat(n, d))
	}
	if d < 0 {
		n, d = -n, -d
	}
	if g := integer.GCD(integer.Abs(n), uint64(d)); g > 1 {
		n, d = n/int64(g), d/int64(g)
	}
	return Frac{n: n, d: d}
}

// FromRat returns r as a Frac. r must not be changed afterwards.
func FromRat(r *big.Rat) Frac {
	const least = -1 << 63
	if r.Num().IsInt64() && r.Denom().IsInt64() && r.Num().Int64() != least {
		return Frac{n: r.Num().Int64(), d: r.Denom().Int64()}
	}
	return Frac{big: r}
}

// Rat returns f as a new big.Rat.
func (f Frac) Rat() *big.Rat {
	if f.big != nil {
		return new(big.Rat).Set(f.big)
	}
	return big.NewRat(f.n, f.d)
}

// Small returns numerator and denominator, and whether both fit into int64.
func (f Frac) Small() (n, d int64, ok bool) { return f.n, f.d, f.big == nil }

// Float returns the nearest float64.
func (f Frac) Float() float64 {
	if f.big == nil && integer.Abs(f.n) < 1<<53 && f.d < 1<<53 {
		return float64(f.n) / float64(f.d)
	}
	x, _ := f.Rat().Float64()
	return x
}

// Sign returns -1, 0 or +1.
func (f Frac) Sign() int {
	if f.big != nil {
		return f.big.Sign()
	}
	return cmp.Compare(f.n, 0)
}

// IsInt says whether f is a whole number.
func (f Frac) IsInt() bool {
	if f.big != nil {
		return f.big.IsInt()
	}
	return f.d == 1
}

// String returns "27/11", or "3" for a whole number.
func (f Frac) String() string {
	if f.big != nil {
		return f.big.RatString()
	}
	if f.d == 1 {
		return strconv.FormatInt(f.n, 10)
	}
	return strconv.FormatInt(f.n, 10) + "/" + strconv.FormatInt(f.d, 10)
}

// Abs returns |f|.
func (f Frac) Abs() Frac {
	if f.Sign() < 0 {
		return f.Neg()
	}
	return f
}

// Neg returns -f.
func (f Frac) Neg() Frac {
	if f.big != nil {
		return Frac{big: new(big.Rat).Neg(f.big)}
	}
	return Frac{n: -f.n, d: f.d}
}

// Inv returns 1/f. It panics if f is 0.
func (f Frac) Inv() Frac {
	if f.big != nil {
		return FromRat(new(big.Rat).Inv(f.big))
	}
	return NewFrac(f.d, f.n)
}

// Cmp compares f and g exactly: -1 if f < g, 0 if equal, +1 if f > g.
func (f Frac) Cmp(g Frac) int {
	if f.big != nil || g.big != nil {
		return f.Rat().Cmp(g.Rat())
	}
	return integer.CompareQuotients(f.n, f.d, g.n, g.d)
}

// Mul returns f g.
func (f Frac) Mul(g Frac) Frac {
	if f.big == nil && g.big == nil {
		// Reduced crosswise, the products are in lowest terms.
		a, b := int64(integer.GCD(integer.Abs(f.n), uint64(g.d))), int64(integer.GCD(integer.Abs(g.n), uint64(f.d)))
		n, fits := integer.Product(f.n/a, g.n/b)
		d, also := integer.Product(f.d/b, g.d/a)
		if fits && also && d > 0 {
			return Frac{n: n, d: d}
		}
	}
	return FromRat(new(big.Rat).Mul(f.Rat(), g.Rat()))
}

// Add returns f + g.
func (f Frac) Add(g Frac) Frac {
	if f.big == nil && g.big == nil {
		c := int64(integer.GCD(uint64(f.d), uint64(g.d)))
		x, okX := integer.Product(f.n, g.d/c)
		y, okY := integer.Product(g.n, f.d/c)
		d, okD := integer.Product(f.d, g.d/c)
		n := x + y
		if overflows := (x < 0) == (y < 0) && (n < 0) != (x < 0); okX && okY && okD && !overflows {
			return NewFrac(n, d)
		}
	}
	return FromRat(new(big.Rat).Add(f.Rat(), g.Rat()))
}

// Sub returns f - g.
func (f Frac) Sub(g Frac) Frac { return f.Add(g.Neg()) }
