package polyhedra

import (
	"math/big"

	"tieup/kinematics/exact"
)

// A BigCone is a [Cone] over math/big: slower, and never out of range. It is
// written for clarity, on the same method.
type BigCone struct {
	lines, rays []bigRay
	bit         int
	x, y        []*big.Int // shadow, lines first
}

type bigRay struct {
	v     []*big.Int
	zeros *big.Int // set of inequalities satisfied with equality, as bits
}

// Reset makes c the whole space of k coordinates.
func (c *BigCone) Reset(k int) {
	*c = BigCone{}
	for i := range k {
		v := make([]*big.Int, k)
		for j := range v {
			v[j] = new(big.Int)
		}
		v[i].SetInt64(1)
		c.lines = append(c.lines, bigRay{v, new(big.Int)})
	}
}

// Zero adds the equation row q = 0. It returns true.
func (c *BigCone) Zero(row Row) bool { c.add(row, true); return true }

// NonNegative adds the inequality row q >= 0. It returns true.
func (c *BigCone) NonNegative(row Row) bool { c.add(row, false); return true }

func (c *BigCone) add(row Row, equation bool) {
	for p := range c.lines {
		if d := bigDot(row, c.lines[p].v); d.Sign() != 0 {
			c.absorb(row, p, d, equation)
			if !equation {
				c.bit++
			}
			return
		}
	}
	c.cut(row, equation)
	if !equation {
		c.bit++
	}
}

func bigDot(row Row, v []*big.Int) *big.Int {
	s := new(big.Int)
	var t big.Int
	for i, x := range row.Big {
		if x.Sign() != 0 && v[i].Sign() != 0 { // most are 0
			s.Add(s, t.Mul(x, v[i]))
		}
	}
	return s
}

// absorb is as [Cone.absorb].
func (c *BigCone) absorb(row Row, pivot int, alpha *big.Int, equation bool) {
	line := c.lines[pivot].v
	if alpha.Sign() < 0 {
		alpha.Neg(alpha)
		for _, x := range line {
			x.Neg(x)
		}
	}
	for i := range c.lines {
		if i != pivot {
			bigCombine(c.lines[i].v, alpha, line, bigDot(row, c.lines[i].v))
		}
	}
	for _, r := range c.rays {
		bigCombine(r.v, alpha, line, bigDot(row, r.v))
		if !equation {
			r.zeros.SetBit(r.zeros, c.bit, 1)
		}
	}
	c.lines = append(c.lines[:pivot:pivot], c.lines[pivot+1:]...)
	if !equation {
		all := new(big.Int).Lsh(big.NewInt(1), uint(c.bit))
		c.rays = append(c.rays, bigRay{line, all.Sub(all, big.NewInt(1))})
	}
}

func isOne(x *big.Int) bool { return x.IsInt64() && x.Int64() == 1 }

// bigCombine replaces x by a positive multiple of alpha x - d y, alpha > 0.
func bigCombine(x []*big.Int, alpha *big.Int, y []*big.Int, d *big.Int) {
	if d.Sign() == 0 {
		return
	}
	g, t := new(big.Int), new(big.Int)
	for i := range x {
		if x[i].Sign() != 0 {
			x[i].Mul(x[i], alpha)
		}
		if y[i].Sign() != 0 {
			x[i].Sub(x[i], t.Mul(y[i], d))
		}
		if x[i].Sign() != 0 && !isOne(g) {
			g.GCD(nil, nil, g, t.Abs(x[i]))
		}
	}
	if g.Sign() == 0 || isOne(g) {
		return
	}
	for i := range x {
		if x[i].Sign() != 0 {
			x[i].Quo(x[i], g)
		}
	}
}

// cut is as [Cone.cut].
func (c *BigCone) cut(row Row, equation bool) {
	d := make([]*big.Int, len(c.rays))
	for i, r := range c.rays {
		d[i] = bigDot(row, r.v)
	}
	var next []bigRay
	for i, r := range c.rays {
		if d[i].Sign() == 0 || d[i].Sign() > 0 && !equation {
			if d[i].Sign() == 0 && !equation {
				r.zeros = new(big.Int).SetBit(r.zeros, c.bit, 1)
			}
			next = append(next, r)
		}
	}
	for p := range c.rays {
		for m := range c.rays {
			if d[p].Sign() <= 0 || d[m].Sign() >= 0 || !c.adjacent(p, m) {
				continue
			}
			zeros := new(big.Int).And(c.rays[p].zeros, c.rays[m].zeros)
			if !equation {
				zeros.SetBit(zeros, c.bit, 1)
			}
			v := make([]*big.Int, len(c.rays[m].v))
			for i, x := range c.rays[m].v {
				v[i] = new(big.Int).Set(x)
			}
			bigCombine(v, d[p], c.rays[p].v, d[m])
			next = append(next, bigRay{v, zeros})
		}
	}
	c.rays = next
}

// adjacent is as [Cone.adjacent]. It compares the zero sets as they were before
// the current row.
func (c *BigCone) adjacent(p, m int) bool {
	common := new(big.Int).And(c.rays[p].zeros, c.rays[m].zeros)
	t := new(big.Int)
	for i, r := range c.rays {
		if i != p && i != m && t.And(r.zeros, common).Cmp(common) == 0 {
			return false
		}
	}
	return true
}

// Size returns the numbers of lines and rays.
func (c *BigCone) Size() (lines, rays int) { return len(c.lines), len(c.rays) }

// Generators returns the vectors of the lines and of the rays. They must not
// be changed.
func (c *BigCone) Generators() (lines, rays [][]*big.Int) {
	for _, l := range c.lines {
		lines = append(lines, l.v)
	}
	for _, r := range c.rays {
		rays = append(rays, r.v)
	}
	return lines, rays
}

// Project is as [Cone.Project]. It returns true.
func (c *BigCone) Project(x, y Row) bool {
	c.x, c.y = c.x[:0], c.y[:0]
	for _, g := range [...][]bigRay{c.lines, c.rays} {
		for _, r := range g {
			c.x = append(c.x, bigDot(x, r.v))
			c.y = append(c.y, bigDot(y, r.v))
		}
	}
	return true
}

// Slice is as [Cone.Slice].
func (c *BigCone) Slice(sign int) exact.Interval { return bigSlice(c.x, c.y, len(c.lines), sign) }

// SliceOther is as [Cone.SliceOther].
func (c *BigCone) SliceOther(sign int) exact.Interval { return bigSlice(c.y, c.x, len(c.lines), sign) }

// Reaches is as [Cone.Reaches].
func (c *BigCone) Reaches(sign int) bool {
	for i, x := range c.x {
		if x.Sign() != 0 && (i < len(c.lines) || x.Sign() > 0 == (sign > 0)) {
			return true
		}
	}
	return false
}

// Range is as [Cone.Range].
func (c *BigCone) Range() exact.Interval {
	up, down := false, false
	for i := range c.x {
		if c.x[i].Sign() == 0 {
			up = up || c.y[i].Sign() > 0 || c.y[i].Sign() < 0 && i < len(c.lines)
			down = down || c.y[i].Sign() < 0 || c.y[i].Sign() > 0 && i < len(c.lines)
		}
	}
	if s := c.Slice(1); !s.Empty {
		up, down = up || s.Max.Inf != 0, down || s.Min.Inf != 0
	}
	r := exact.Interval{Min: exact.Finite(exact.Int(0)), Max: exact.Finite(exact.Int(0))}
	if up {
		r.Max = exact.Bound{Inf: 1}
	}
	if down {
		r.Min = exact.Bound{Inf: -1}
	}
	return r
}

// bigSlice is as slice: the convex hull of the slopes on the side of sign,
// unbounded where a sum of two generators, or one, leaves x at 0.
func bigSlice(x, y []*big.Int, lines, sign int) exact.Interval {
	var here, there []*big.Rat
	up, down := false, false
	for i := range x {
		side := x[i].Sign() * sign
		if side == 0 {
			up = up || y[i].Sign() > 0 || y[i].Sign() < 0 && i < lines
			down = down || y[i].Sign() < 0 || y[i].Sign() > 0 && i < lines
			continue
		}
		slope := new(big.Rat).SetFrac(y[i], x[i])
		if sign < 0 {
			slope.Neg(slope)
		}
		if side > 0 || i < lines {
			here = append(here, slope)
		}
		if side < 0 || i < lines {
			there = append(there, slope)
		}
	}
	if len(here) == 0 {
		return exact.None
	}
	lo, hi := extremes(here)
	if len(there) > 0 {
		otherLo, otherHi := extremes(there)
		up = up || otherLo.Cmp(hi) < 0
		down = down || lo.Cmp(otherHi) < 0
	}
	r := exact.Interval{Min: exact.Finite(exact.FromRat(lo)), Max: exact.Finite(exact.FromRat(hi))}
	if down {
		r.Min = exact.Bound{Inf: -1}
	}
	if up {
		r.Max = exact.Bound{Inf: 1}
	}
	return r
}

func extremes(s []*big.Rat) (lo, hi *big.Rat) {
	lo, hi = s[0], s[0]
	for _, r := range s[1:] {
		if r.Cmp(lo) < 0 {
			lo = r
		}
		if r.Cmp(hi) > 0 {
			hi = r
		}
	}
	return lo, hi
}
