package polyhedra

import (
	"math/big"
	"math/bits"

	"tieup/kinematics/exact"
	"tieup/kinematics/internal/integer"
)

// A Cone is the set {q : e q = 0 for some rows e, h q >= 0 for some rows h},
// held as generators: every point is a combination of lines, with any
// coefficients, and rays, with coefficients >= 0. Rows are added one at a time
// by the double description method [Motzkin et al. 1953; Fukuda and Prodon
// 1996, for the adjacency test]. It works in int64; a method that returns false
// would have overflowed, and leaves the cone of no further use until Reset.
//
// The zero Cone is ready for Reset. It keeps its memory from one use to the next.
//
// Safety: or is at least every absolute coordinate of a generator, bit by bit,
// so a coordinate has at most Len(or) bits. A dot product with a row whose
// absolute coefficients sum up to at most Row.bits bits stays below
// 2^(Row.bits+Len(or)); a combination a x - b y below 2^(1+max(Len a + Len x,
// Len b + Len y)). Both are computed only while that is less than 2^63.
type Cone struct {
	k       int
	lines   generators
	rays    generators
	next    generators // scratch for a ray step
	dots    []int64    // dot products with the current row, lines first
	bit     uint       // number of inequalities so far that have a bit in zeros
	x, y    []int64    // scratch for slices, lines first
	invalid bool
}

// generators are n vectors of k coordinates, one behind the other.
type generators struct {
	n     int
	v     []int64
	or    []uint64 // bitwise or of the absolute coordinates
	zeros []uint64 // the inequalities that the ray satisfies with equality
}

func (g *generators) at(i, k int) []int64 { return g.v[i*k : i*k+k : i*k+k] }

// grow makes room for n vectors.
func (g *generators) grow(n, k int) {
	if more := n - len(g.or); more > 0 {
		g.or = append(g.or, make([]uint64, more)...)
		g.zeros = append(g.zeros, make([]uint64, more)...)
	}
	if more := n*k - len(g.v); more > 0 {
		g.v = append(g.v, make([]int64, more)...)
	}
}

// drop removes vector i, moving the last into its place.
func (g *generators) drop(i, k int) {
	g.n--
	if i != g.n {
		copy(g.at(i, k), g.at(g.n, k))
		g.or[i], g.zeros[i] = g.or[g.n], g.zeros[g.n]
	}
}

// CopyFrom makes c the cone d, in memory of its own.
func (c *Cone) CopyFrom(d *Cone) {
	c.k, c.bit, c.invalid = d.k, d.bit, d.invalid
	c.lines.copyFrom(&d.lines, d.k)
	c.rays.copyFrom(&d.rays, d.k)
}

func (g *generators) copyFrom(h *generators, k int) {
	g.grow(h.n, k)
	g.n = h.n
	copy(g.v, h.v[:h.n*k])
	copy(g.or, h.or[:h.n])
	copy(g.zeros, h.zeros[:h.n])
}

// Reset makes c the whole space of k coordinates.
func (c *Cone) Reset(k int) {
	c.k, c.bit, c.invalid = k, 0, false
	c.rays.n = 0
	c.lines.n = k
	c.lines.grow(k, k)
	clear(c.lines.v[:k*k])
	for i := range k {
		c.lines.v[i*k+i] = 1
		c.lines.or[i] = 1
	}
}

// Zero adds the equation row q = 0.
func (c *Cone) Zero(row Row) bool { return c.add(row, true) }

// NonNegative adds the inequality row q >= 0.
func (c *Cone) NonNegative(row Row) bool { return c.add(row, false) }

func (c *Cone) add(row Row, equation bool) bool {
	pivot, ok := c.evaluate(row)
	if !ok {
		c.invalid = true
		return false
	}
	if !equation && c.bit == 64 {
		c.invalid = true
		return false
	}
	if pivot >= 0 {
		ok = c.absorb(pivot, equation)
	} else {
		ok = c.cut(equation)
	}
	if !equation {
		c.bit++
	}
	c.invalid = c.invalid || !ok
	return ok
}

// evaluate computes the dot products of the generators with row, and finds the
// line on which row is smallest but not 0, or -1.
func (c *Cone) evaluate(row Row) (pivot int, ok bool) {
	if c.invalid || row.small == nil {
		return -1, false
	}
	c.dots = c.dots[:0]
	pivot = -1
	var least uint64
	for i := range c.lines.n {
		if row.bits+bits.Len64(c.lines.or[i]) > 62 {
			return -1, false
		}
		d := dot(row.small, c.lines.at(i, c.k))
		c.dots = append(c.dots, d)
		if m := integer.Abs(d); m != 0 && (pivot < 0 || m < least) {
			pivot, least = i, m
		}
	}
	for i := range c.rays.n {
		if row.bits+bits.Len64(c.rays.or[i]) > 62 {
			return -1, false
		}
		c.dots = append(c.dots, dot(row.small, c.rays.at(i, c.k)))
	}
	return pivot, true
}

// An Effect is what a row makes of a cone.
type Effect int

// The effects.
const (
	Cuts  Effect = iota // something of it is left, or int64 is too short to say
	Idle                // all of it is left
	Rests               // nothing but the origin is left
)

// Effect says what the equation row q = 0 would make of the cone, or row q >= 0 if it
// is no equation.
func (c *Cone) Effect(row Row, equation bool) Effect {
	pivot, ok := c.evaluate(row)
	if !ok {
		return Cuts
	}
	below, above := 0, 0
	for _, d := range c.dots[c.lines.n:] {
		switch {
		case d < 0:
			below++
		case d > 0:
			above++
		}
	}
	switch {
	case pivot >= 0: // a line is cut; if it is all there is, an equation leaves nothing
		if equation && c.lines.n == 1 && c.rays.n == 0 {
			return Rests
		}
	case below == 0 && (above == 0 || !equation):
		return Idle
	case c.lines.n == 0 && (below == c.rays.n || above == c.rays.n && equation):
		return Rests
	}
	return Cuts
}

func dot(a, b []int64) int64 {
	var s int64
	for i, x := range a {
		s += x * b[i]
	}
	return s
}

// absorb uses up a line on which the row is not zero: all other generators are
// moved along it into the hyperplane row = 0. Of the line itself nothing is left
// by an equation, the half where row > 0 by an inequality.
func (c *Cone) absorb(pivot int, equation bool) bool {
	line, lineOr, alpha := c.lines.at(pivot, c.k), c.lines.or[pivot], c.dots[pivot]
	if alpha < 0 {
		alpha = -alpha
		for i := range line {
			line[i] = -line[i]
		}
	}
	for i := range c.lines.n {
		if i == pivot || c.dots[i] == 0 {
			continue
		}
		or, ok := combine(c.lines.at(i, c.k), c.lines.or[i], alpha, line, lineOr, c.dots[i])
		if !ok {
			return false
		}
		c.lines.or[i] = or
	}
	for i := range c.rays.n {
		if d := c.dots[c.lines.n+i]; d != 0 {
			or, ok := combine(c.rays.at(i, c.k), c.rays.or[i], alpha, line, lineOr, d)
			if !ok {
				return false
			}
			c.rays.or[i] = or
		}
		if !equation {
			c.rays.zeros[i] |= 1 << c.bit
		}
	}
	if !equation {
		r := c.rays.n
		c.rays.n++
		c.rays.grow(c.rays.n, c.k)
		copy(c.rays.at(r, c.k), line)
		c.rays.or[r] = lineOr
		c.rays.zeros[r] = 1<<c.bit - 1
	}
	c.lines.drop(pivot, c.k)
	return true
}

// combine replaces x by a positive multiple of alpha x - d y, where alpha > 0.
func combine(x []int64, xOr uint64, alpha int64, y []int64, yOr uint64, d int64) (or uint64, ok bool) {
	if g := int64(integer.GCD(uint64(alpha), integer.Abs(d))); g > 1 {
		alpha, d = alpha/g, d/g
	}
	if bits.Len64(uint64(alpha))+bits.Len64(xOr) > 61 || bits.Len64(integer.Abs(d))+bits.Len64(yOr) > 61 {
		return 0, false
	}
	for i := range x {
		x[i] = alpha*x[i] - d*y[i]
		or |= integer.Abs(x[i])
	}
	return primitive(x, or), true
}

// primitive divides x by the greatest common divisor of its coordinates, once
// they are long enough for that to pay, and returns their new bitwise or.
func primitive(x []int64, or uint64) uint64 {
	const long = 1 << 16
	if or < long {
		return or
	}
	var g uint64
	for _, v := range x {
		if g = integer.GCD(g, integer.Abs(v)); g == 1 {
			return or
		}
	}
	if g == 0 {
		return or
	}
	or = 0
	for i := range x {
		x[i] /= int64(g)
		or |= integer.Abs(x[i])
	}
	return or
}

// cut intersects the rays with the half-space row >= 0 or the hyperplane row =
// 0 when the row is zero on all lines. New rays come from pairs of adjacent
// rays on either side.
func (c *Cone) cut(equation bool) bool {
	d := c.dots[c.lines.n:]
	cuts := false
	for _, x := range d {
		if x < 0 || equation && x > 0 {
			cuts = true
		}
	}
	if !cuts {
		if !equation {
			for i := range c.rays.n {
				if d[i] == 0 {
					c.rays.zeros[i] |= 1 << c.bit
				}
			}
		}
		return true
	}
	c.next.n = 0
	for i := range c.rays.n {
		if d[i] == 0 || d[i] > 0 && !equation {
			j := c.push(c.rays.at(i, c.k), c.rays.or[i], c.rays.zeros[i])
			if d[i] == 0 && !equation {
				c.next.zeros[j] |= 1 << c.bit
			}
		}
	}
	for p := range c.rays.n {
		for m := range c.rays.n {
			if d[p] <= 0 || d[m] >= 0 || !c.adjacent(p, m) {
				continue
			}
			zeros := c.rays.zeros[p] & c.rays.zeros[m]
			if !equation {
				zeros |= 1 << c.bit
			}
			j := c.push(c.rays.at(m, c.k), c.rays.or[m], zeros)
			// d[p] m - d[m] p lies in the hyperplane, both factors positive.
			or, ok := combine(c.next.at(j, c.k), c.next.or[j], d[p], c.rays.at(p, c.k), c.rays.or[p], d[m])
			if !ok {
				return false
			}
			c.next.or[j] = or
		}
	}
	c.rays, c.next = c.next, c.rays
	return true
}

// push copies a ray to next and returns its index there.
func (c *Cone) push(v []int64, or, zeros uint64) int {
	j := c.next.n
	c.next.n++
	c.next.grow(c.next.n, c.k)
	copy(c.next.at(j, c.k), v)
	c.next.or[j], c.next.zeros[j] = or, zeros
	return j
}

// adjacent says whether rays p and m span a face of the cone: no third ray
// satisfies all the inequalities with equality that both of them do.
func (c *Cone) adjacent(p, m int) bool {
	common := c.rays.zeros[p] & c.rays.zeros[m]
	for i := range c.rays.n {
		if i != p && i != m && c.rays.zeros[i]&common == common {
			return false
		}
	}
	return true
}

// Size returns the numbers of lines and rays.
func (c *Cone) Size() (lines, rays int) { return c.lines.n, c.rays.n }

// Generators returns the vectors of the lines and of the rays.
func (c *Cone) Generators() (lines, rays [][]*big.Int) {
	return c.lines.vectors(c.k), c.rays.vectors(c.k)
}

func (g *generators) vectors(k int) [][]*big.Int {
	list := make([][]*big.Int, g.n)
	for i := range list {
		for _, x := range g.at(i, k) {
			list[i] = append(list[i], big.NewInt(x))
		}
	}
	return list
}

// Project computes the shadow of the cone on the plane of two rows; the slices
// of the shadow are then had by [Cone.Slice].
func (c *Cone) Project(x, y Row) bool {
	if c.invalid || x.small == nil || y.small == nil {
		return false
	}
	c.x, c.y = c.x[:0], c.y[:0]
	size := max(x.bits, y.bits)
	for _, g := range [...]*generators{&c.lines, &c.rays} {
		for i := range g.n {
			if size+bits.Len64(g.or[i]) > 62 {
				c.invalid = true
				return false
			}
			v := g.at(i, c.k)
			c.x = append(c.x, dot(x.small, v))
			c.y = append(c.y, dot(y.small, v))
		}
	}
	return true
}

// Ray returns the shadow of a cone that is one ray.
func (c *Cone) Ray() (x, y int64, ok bool) {
	if c.lines.n != 0 || c.rays.n != 1 {
		return 0, 0, false
	}
	return c.x[0], c.y[0], true
}

// Space returns the dimension of the shadow, 0, 1 or 2, and in dimension 1 a
// direction of it, where the shadow is a linear space: where the cone has no rays.
func (c *Cone) Space() (dimension int, x, y int64, linear bool) {
	if c.rays.n > 0 {
		return 0, 0, 0, false
	}
	for i := range c.x {
		switch {
		case c.x[i] == 0 && c.y[i] == 0:
		case dimension == 0:
			dimension, x, y = 1, c.x[i], c.y[i]
		case !integer.Parallel(x, y, c.x[i], c.y[i]):
			return 2, 0, 0, true
		}
	}
	return dimension, x, y, true
}

// Slice returns the values of y on the part of the shadow where x = sign.
func (c *Cone) Slice(sign int) exact.Interval { return slice(c.x, c.y, c.lines.n, sign) }

// Reaches says whether the shadow has points where x = sign.
func (c *Cone) Reaches(sign int) bool {
	for i, x := range c.x {
		if x != 0 && (i < c.lines.n || x > 0 == (sign > 0)) {
			return true
		}
	}
	return false
}

// SliceOther returns the values of x on the part of the shadow where y = sign.
func (c *Cone) SliceOther(sign int) exact.Interval { return slice(c.y, c.x, c.lines.n, sign) }

// Range returns the values of y on the shadow where x = 0: 0, or unbounded.
func (c *Cone) Range() exact.Interval { return rangeAtZero(c.x, c.y, c.lines.n) }

// A quotient is n/d with d > 0.
type quotient struct{ n, d int64 }

func (a quotient) less(b quotient) bool { return integer.CompareQuotients(a.n, a.d, b.n, b.d) < 0 }

// slice returns {y : (sign, y) in the plane cone of the generators (x, y)}, the
// first of which, lines in number, count both ways.
//
// Points of the slice are y/|x| of the generators on the side of sign. The
// slice reaches to +infinity if a generator with x = 0 goes up, or if one on the
// side of sign rises more steeply than one on the other side falls: their sum
// with x cancelled then goes up. Likewise down.
func slice(x, y []int64, lines, sign int) exact.Interval {
	var lo, hi, otherLo, otherHi quotient // slopes y/x on either side
	here, there, up, down := false, false, false, false
	for i := range x {
		a, b := x[i], y[i]
		if sign < 0 {
			a = -a
		}
		switch {
		case a == 0:
			up = up || b > 0 || b < 0 && i < lines
			down = down || b < 0 || b > 0 && i < lines
			continue
		case a < 0:
			a, b = -a, -b
			s := quotient{b, a}
			if !there || s.less(otherLo) {
				otherLo = s
			}
			if !there || otherHi.less(s) {
				otherHi = s
			}
			there = true
			if i >= lines {
				continue
			}
		}
		s := quotient{b, a}
		if !here || s.less(lo) {
			lo = s
		}
		if !here || hi.less(s) {
			hi = s
		}
		here = true
		if i < lines {
			if !there || s.less(otherLo) {
				otherLo = s
			}
			if !there || otherHi.less(s) {
				otherHi = s
			}
			there = true
		}
	}
	if !here {
		return exact.None
	}
	if there {
		up = up || otherLo.less(hi)
		down = down || lo.less(otherHi)
	}
	var r exact.Interval
	if down {
		r.Min.Inf = -1
	} else {
		r.Min.Frac = exact.NewFrac(lo.n, lo.d)
	}
	if up {
		r.Max.Inf = 1
	} else {
		r.Max.Frac = exact.NewFrac(hi.n, hi.d)
	}
	return r
}

// rangeAtZero returns {y : (0, y) in the plane cone}: {0}, a half-line or all.
func rangeAtZero(x, y []int64, lines int) exact.Interval {
	zero := exact.Interval{Min: exact.Finite(exact.Int(0)), Max: exact.Finite(exact.Int(0))}
	up, down := false, false
	for i := range x {
		if x[i] == 0 {
			up = up || y[i] > 0 || y[i] < 0 && i < lines
			down = down || y[i] < 0 || y[i] > 0 && i < lines
		}
	}
	if s := slice(x, y, lines, 1); !s.Empty {
		up = up || s.Max.Inf != 0
		down = down || s.Min.Inf != 0
	}
	if up {
		zero.Max = exact.Bound{Inf: 1}
	}
	if down {
		zero.Min = exact.Bound{Inf: -1}
	}
	return zero
}
