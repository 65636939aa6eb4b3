// Package integer has the few operations on int64 and 128-bit products that the
// exact packages share.
package integer

import (
	"cmp"
	"math/big"
	"math/bits"
)

// Abs returns the absolute value of x, of the least int64 too.
func Abs(x int64) uint64 {
	if x < 0 {
		return uint64(-x)
	}
	return uint64(x)
}

// GCD returns the greatest common divisor by Stein's binary algorithm;
// GCD(0, x) = x.
func GCD(a, b uint64) uint64 {
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
		if a == 1 || a == b {
			return a << shift
		}
		b -= a
	}
}

// Product returns a b and whether it fits into int64 with room to be negated.
// Neither may be the least int64.
func Product(a, b int64) (int64, bool) {
	hi, lo := bits.Mul64(Abs(a), Abs(b))
	if hi != 0 || lo >= 1<<63 {
		return 0, false
	}
	if (a < 0) != (b < 0) {
		return -int64(lo), true
	}
	return int64(lo), true
}

// CompareQuotients compares a/b with c/d for b, d > 0, over 128-bit products.
func CompareQuotients(a, b, c, d int64) int {
	if s, t := cmp.Compare(a, 0), cmp.Compare(c, 0); s != t || s == 0 {
		return cmp.Compare(s, t)
	}
	hi1, lo1 := bits.Mul64(Abs(a), uint64(d))
	hi2, lo2 := bits.Mul64(Abs(c), uint64(b))
	r := cmp.Compare(hi1, hi2)
	if r == 0 {
		r = cmp.Compare(lo1, lo2)
	}
	if a < 0 {
		return -r
	}
	return r
}

// An Int128 is a sum of products.
type Int128 struct {
	hi int64
	lo uint64
}

// AddMul adds a b. Neither may be the least int64.
func (s *Int128) AddMul(a, b int64) {
	hi, lo := Mul128(a, b)
	var carry uint64
	s.lo, carry = bits.Add64(s.lo, lo, 0)
	s.hi += int64(hi) + int64(carry)
}

// Sign returns -1, 0 or +1.
func (s Int128) Sign() int {
	switch {
	case s.hi < 0:
		return -1
	case s.hi > 0 || s.lo > 0:
		return 1
	}
	return 0
}

// Over returns s / (a b) for a, b > 0 in lowest terms: as n/d, or as a big.Rat if
// these do not fit into int64.
func (s Int128) Over(a, b int64) (n, d int64, large *big.Rat) {
	hi, lo := uint64(s.hi), s.lo
	negative := s.hi < 0
	if negative {
		var carry uint64
		lo, carry = bits.Add64(^lo, 1, 0)
		hi = ^hi + carry
	}
	for _, d := range [...]*int64{&a, &b} {
		_, rest := bits.Div64(hi%uint64(*d), lo, uint64(*d))
		g := GCD(rest, uint64(*d))
		*d /= int64(g)
		lo, _ = bits.Div64(hi%g, lo, g)
		hi /= g
	}
	if high, d := bits.Mul64(uint64(a), uint64(b)); hi == 0 && lo < 1<<63 && high == 0 && d < 1<<63 {
		if negative {
			return -int64(lo), int64(d), nil
		}
		return int64(lo), int64(d), nil
	}
	num := new(big.Int).Lsh(new(big.Int).SetUint64(hi), 64)
	num.Add(num, new(big.Int).SetUint64(lo))
	if negative {
		num.Neg(num)
	}
	return 0, 0, new(big.Rat).SetFrac(num, new(big.Int).Mul(big.NewInt(a), big.NewInt(b)))
}

// MulSubDiv returns (a p - q r) / d for d > 0, which must divide without
// remainder, and whether the result fits (with room to be negated).
func MulSubDiv(a, p, q, r, d int64) (int64, bool) {
	const short = 1 << 31
	if Abs(a)|Abs(p)|Abs(q)|Abs(r) < short {
		x := a*p - q*r
		if d != 1 {
			x /= d
		}
		return x, true
	}
	hi1, lo1 := Mul128(a, p)
	hi2, lo2 := Mul128(q, r)
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

// Mul128 returns the two's complement 128-bit product of a and b, neither of
// which is the least int64.
func Mul128(a, b int64) (hi, lo uint64) {
	hi, lo = bits.Mul64(Abs(a), Abs(b))
	if a < 0 != (b < 0) {
		var carry uint64
		lo, carry = bits.Add64(^lo, 1, 0)
		hi = ^hi + carry
	}
	return hi, lo
}

// Parallel says whether a d = b c, over 128-bit products.
func Parallel(a, b, c, d int64) bool {
	hi1, lo1 := bits.Mul64(Abs(a), Abs(d))
	hi2, lo2 := bits.Mul64(Abs(b), Abs(c))
	if hi1 != hi2 || lo1 != lo2 {
		return false
	}
	return hi1 == 0 && lo1 == 0 || ((a < 0) != (d < 0)) == ((b < 0) != (c < 0))
}
