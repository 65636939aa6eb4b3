package exact

import (
	"cmp"
	"math/big"
	"math/bits"
	"strconv"
)

// A Frac is an exact fraction in lowest terms, n/d with d > 0. It is a small
// value; fractions that do not fit into int64 carry a big.Rat. The zero Frac is
// not a number of any use; make one with [NewFrac], [FromRat] or [Int].
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
	if g := gcd(abs(n), uint64(d)); g > 1 {
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
	if f.big == nil && abs(f.n) < 1<<53 && f.d < 1<<53 {
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
	return cmpQuotients(f.n, f.d, g.n, g.d)
}

// Mul returns f g.
func (f Frac) Mul(g Frac) Frac {
	if f.big == nil && g.big == nil {
		// Reduced crosswise, the products are in lowest terms.
		a, b := int64(gcd(abs(f.n), uint64(g.d))), int64(gcd(abs(g.n), uint64(f.d)))
		n, fits := product(f.n/a, g.n/b)
		d, also := product(f.d/b, g.d/a)
		if fits && also && d > 0 {
			return Frac{n: n, d: d}
		}
	}
	return FromRat(new(big.Rat).Mul(f.Rat(), g.Rat()))
}

// Add returns f + g.
func (f Frac) Add(g Frac) Frac {
	if f.big == nil && g.big == nil {
		c := int64(gcd(uint64(f.d), uint64(g.d)))
		x, okX := product(f.n, g.d/c)
		y, okY := product(g.n, f.d/c)
		d, okD := product(f.d, g.d/c)
		n := x + y
		if overflows := (x < 0) == (y < 0) && (n < 0) != (x < 0); okX && okY && okD && !overflows {
			return NewFrac(n, d)
		}
	}
	return FromRat(new(big.Rat).Add(f.Rat(), g.Rat()))
}

// Sub returns f - g.
func (f Frac) Sub(g Frac) Frac { return f.Add(g.Neg()) }

// product returns a b and whether it fits into int64 with room to be negated.
// Neither may be the least int64.
func product(a, b int64) (int64, bool) {
	hi, lo := bits.Mul64(abs(a), abs(b))
	if hi != 0 || lo >= 1<<63 {
		return 0, false
	}
	if (a < 0) != (b < 0) {
		return -int64(lo), true
	}
	return int64(lo), true
}

// cmpQuotients compares a/b with c/d for b, d > 0, over 128-bit products.
func cmpQuotients(a, b, c, d int64) int {
	if s, t := cmp.Compare(a, 0), cmp.Compare(c, 0); s != t || s == 0 {
		return cmp.Compare(s, t)
	}
	hi1, lo1 := bits.Mul64(abs(a), uint64(d))
	hi2, lo2 := bits.Mul64(abs(c), uint64(b))
	r := cmp.Compare(hi1, hi2)
	if r == 0 {
		r = cmp.Compare(lo1, lo2)
	}
	if a < 0 {
		return -r
	}
	return r
}

func abs(x int64) uint64 {
	if x < 0 {
		return uint64(-x)
	}
	return uint64(x)
}

// gcd is Stein's binary algorithm; gcd(0, x) = x.
func gcd(a, b uint64) uint64 {
	if a == 0 {
		return b
	}
	if b == 0 {
		return a
	}
	shift := bits.TrailingZeros64(a | b)
	a >>= bits.TrailingZeros64(a)
	for {
		b >>= bits.TrailingZeros64(b)
		if a > b {
			a, b = b, a
		}
		b -= a
		if b == 0 {
			return a << shift
		}
	}
}
