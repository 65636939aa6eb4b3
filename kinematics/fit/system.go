package fit

import (
	"math"
	"math/big"

	"tieup/kinematics/exact"
)

// A band is the ratio of one row and the interval in which it must lie.
type band struct {
	row int
	quotient
	low, high exact.Frac
	open      int          // +1 where high is not in the interval, -1 where low is not
	speed     *MemberSpeed // whose speed it is, nil for the ratio of the row
	// below is num - low den, above is num - high den, each times the denominator of
	// its bound: the ratio lies within the interval where they have opposite signs, or
	// one of them is 0.
	below, above, under form
}

// A form is a poly with its coefficients as floats, which hold them exactly.
type form struct {
	c    []float64
	size []float64 // absolute values of c
}

func formOf(p poly, by int64, q poly, minus int64) form {
	f := form{make([]float64, len(p)), make([]float64, len(p))}
	for m := range p {
		f.c[m] = float64(p[m]*by - q[m]*minus)
		f.size[m] = math.Abs(f.c[m])
	}
	return f
}

// A box is an interval of each unknown.
type box struct{ lo, hi []float64 }

func (b box) clone() box {
	return box{append([]float64(nil), b.lo...), append([]float64(nil), b.hi...)}
}

func (b box) middle() []float64 {
	x := make([]float64, len(b.lo))
	for i := range x {
		x[i] = (b.lo[i] + b.hi[i]) / 2
	}
	return x
}

// A scratch is memory for the corners of a box.
type scratch struct{ v, w []float64 }

func newScratch(k int) *scratch { return &scratch{make([]float64, 1<<k), make([]float64, 1<<k)} }

// rounding bounds the error of a form anywhere in a box with its upper ends at hi, all of
// which are above 0: each of its k steps rounds twice.
func (s *scratch) rounding(f form, hi []float64) float64 {
	w := s.w[:len(f.c)]
	copy(w, f.size)
	for v := range hi {
		h := len(w) / 2
		for m := range h {
			w[m] = w[2*m] + w[2*m+1]*hi[v]
		}
		w = w[:h]
	}
	return w[0] * float64(4*len(hi)+4) * 0x1p-52
}

// corners leaves in s.v the values of a form at all corners of a box.
func (s *scratch) corners(f form, b box) []float64 {
	copy(s.v, f.c)
	v := s.v[:len(f.c)]
	for i := range b.lo {
		bit := 1 << i
		for m := range v {
			if m&bit == 0 {
				c0, c1 := v[m], v[m|bit]
				v[m], v[m|bit] = c0+c1*b.lo[i], c0+c1*b.hi[i]
			}
		}
	}
	return v
}

// extremes returns bounds of a form over a box: it takes its extremes at corners.
func (s *scratch) extremes(f form, b box) (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, x := range s.corners(f, b) {
		least, most = min(least, x), max(most, x)
	}
	e := s.rounding(f, b.hi)
	return least - e, most + e
}

// sign is that of a form over a box, 0 if it is not the same, or not certain, everywhere.
func (s *scratch) sign(f form, b box) int {
	switch least, most := s.extremes(f, b); {
	case least > 0:
		return 1
	case most < 0:
		return -1
	}
	return 0
}

// misses says that the ratio is nowhere in a box within its interval.
func (s *scratch) misses(c *band, b box) bool {
	x := s.sign(c.below, b)
	return x != 0 && x == s.sign(c.above, b)
}

// shrink cuts off ends of a box, one unknown at a time, where sign times the form is
// certainly below 0. It is false if nothing is left.
func (s *scratch) shrink(f form, sign float64, b box) bool {
	var values []float64
	e := s.rounding(f, b.hi)
	for v := range b.lo {
		if b.lo[v] == b.hi[v] {
			continue
		}
		if values == nil {
			values = s.corners(f, b)
		}
		least, most := faces(values, sign, 1<<v)
		switch {
		case least+e >= 0 && most+e >= 0:
			continue
		case least+e < 0 && most+e < 0:
			return false
		case least+e < 0:
			b.lo[v] += (b.hi[v]-b.lo[v])*crossing(values, sign, e, 0, 1<<v) - b.hi[v]*0x1p-50
		default:
			b.hi[v] -= (b.hi[v]-b.lo[v])*crossing(values, sign, e, 1<<v, 1<<v) - b.hi[v]*0x1p-50
		}
		values = nil
	}
	return true
}

// faces returns the greatest values, times sign, at the corners with the lower end of one
// unknown, and at those with its upper end.
func faces(values []float64, sign float64, bit int) (lower, upper float64) {
	lower, upper = math.Inf(-1), math.Inf(-1)
	for m, x := range values {
		if m&bit == 0 {
			lower = max(lower, x*sign)
		} else {
			upper = max(upper, x*sign)
		}
	}
	return lower, upper
}

// crossing is how much of the way from one end of an unknown to the other, at whose end all
// values times sign are below 0, they stay below 0: along the edges they are lines, and as
// the largest of lines convex.
func crossing(values []float64, sign, e float64, from, bit int) float64 {
	part := 1.0
	for m := range values {
		if m&bit != from {
			continue
		}
		near, far := values[m]*sign+e, values[m^bit]*sign+e
		if near+(far-near)*part > 0 {
			part = min(part, near/(near-far))
		}
	}
	return part
}

// value is a poly at exact values; without any, its constant.
func (p poly) value(x []*big.Rat) *big.Rat {
	v := make([]*big.Rat, len(p))
	for m := range p {
		v[m] = new(big.Rat).SetInt64(p[m])
	}
	for _, at := range x {
		h := len(v) / 2
		for m := range h {
			v[m] = new(big.Rat).Add(v[2*m], new(big.Rat).Mul(v[2*m+1], at))
		}
		v = v[:h]
	}
	return v[0]
}

// ratio is the quotient at exact values, nil where it has none.
func (q quotient) ratio(x []*big.Rat) *big.Rat {
	d := q.den.value(x)
	if d.Sign() == 0 {
		return nil
	}
	return d.Quo(q.num.value(x), d)
}

// allows decides exactly whether the ratio lies within its interval.
func (c *band) allows(x []*big.Rat) bool {
	r := c.ratio(x)
	if r == nil {
		return false
	}
	low, high := r.Cmp(c.low.Rat()), r.Cmp(c.high.Rat())
	return low >= 0 && high <= 0 && !(c.open > 0 && high == 0) && !(c.open < 0 && low == 0)
}

// at returns the ratio and its derivatives as floats.
func (q quotient) at(x, slope []float64) float64 {
	n, d := q.num.float(x, nil), q.den.float(x, nil)
	if slope != nil {
		for v := range x {
			dn, dd := q.num.float(x, &v), q.den.float(x, &v)
			slope[v] = (dn - n/d*dd) / d
		}
	}
	return n / d
}

// float is the value of a poly, or its derivative by one variable.
func (p poly) float(x []float64, by *int) float64 {
	sum := 0.0
	for m, c := range p {
		if c == 0 || by != nil && m>>*by&1 == 0 {
			continue
		}
		t := float64(c)
		for v := range x {
			if m>>v&1 == 1 && (by == nil || v != *by) {
				t *= x[v]
			}
		}
		sum += t
	}
	return sum
}
