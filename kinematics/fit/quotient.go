package fit

import (
	"fmt"
	"slices"

	"tieup/kinematics"
)

// A poly is a polynomial of degree 1 in each variable: the coefficient at index m is that
// of the product of the variables whose bits are set in m.
type poly []int64

// A quotient is the ratio of a state, num / den. Both are affine in each basic ratio,
// since each stands in one row of the system that they are determinants of.
type quotient struct{ num, den poly }

// prime is for ranks at values without a meaning: a rank that is too small by chance has
// a probability of some 1e-8, and costs a layout that fits, never a wrong answer.
const prime = 1<<31 - 1

// meaningless is a value of the basic ratio v at which nothing is so by chance.
func meaningless(v int) int64 { return int64(1000003 + v*v*7919 + v*104729) }

// A lookup is a quotient that was found, or that there is none.
type lookup struct {
	quotient
	ok bool
}

// quotient returns input speed / output speed of a state in which some couplings are locked.
// It is false if that leaves no ratio.
func (l *Layout) quotient(locked []int, input, output kinematics.MemberID) (quotient, bool) {
	key := fmt.Sprint(input, output, locked)
	k, seen := l.quotients[key]
	if !seen {
		k.quotient, k.ok = l.findQuotient(locked, input, output)
		l.quotients[key] = k
	}
	return k.quotient, k.ok
}

func (l *Layout) findQuotient(locked []int, input, output kinematics.MemberID) (quotient, bool) {
	s := l.state(locked)
	in, out := s.of[l.body[input]], s.of[l.body[output]]
	if in == 0 || out == 0 {
		return quotient{}, false
	}
	k := len(l.Ratios)
	if in == out {
		one := make(poly, 1<<k)
		one[0] = 1
		return quotient{one, one}, s.turns(in)
	}
	if !s.square(in, out) {
		return quotient{}, false
	}
	q := quotient{make(poly, 1<<k), make(poly, 1<<k)}
	for m := range q.num {
		// Columns are counted without the housing.
		a := s.at(func(r int) int64 { return int64(m >> r & 1) })
		q.num[m] = minor(a, in-1)
		q.den[m] = minor(a, out-1)
	}
	if (in+out)%2 == 1 {
		q.num = q.num.neg()
	}
	coefficients(q.num)
	coefficients(q.den)
	return q.reduced(k)
}

// A stateRows is the system of a state over its bodies, the housing being 0.
type stateRows struct {
	of     []int // body of the state by body of the layout
	bodies int
	rows   []gearRow
	fixed  []int // bodies that are loose, held to settle them
	keep   []int // rows that are independent
}

func (l *Layout) state(locked []int) *stateRows {
	u := newUnion(l.bodies)
	for _, c := range locked {
		u.join(l.body[l.Train.Couplings[c].A], l.body[l.Train.Couplings[c].B])
	}
	s := &stateRows{}
	s.of, s.bodies = u.number(func(int) bool { return false })
	for _, r := range l.rows {
		r.over, r.under, r.carrier = s.of[r.over], s.of[r.under], s.of[r.carrier]
		if r.over != r.carrier || r.under != r.carrier {
			s.rows = append(s.rows, r)
		}
	}
	return s
}

// addRow adds a row at some value of its basic ratio.
func addRow[T int64 | float64](r *gearRow, into []T, value T) {
	add := func(body int, x T) {
		if body > 0 {
			into[body-1] += x
		}
	}
	add(r.over, value)
	add(r.under, T(r.sign))
	add(r.carrier, -value-T(r.sign))
}

// generic returns all rows at values without a meaning, and those that hold loose bodies.
func (s *stateRows) generic() [][]int64 {
	var a [][]int64
	for i := range s.rows {
		row := make([]int64, s.bodies-1)
		addRow(&s.rows[i], row, meaningless(s.rows[i].ratio))
		a = append(a, row)
	}
	for _, b := range s.fixed {
		a = append(a, unit(s.bodies-1, b-1))
	}
	return a
}

func unit(n, i int) []int64 {
	row := make([]int64, n)
	row[i] = 1
	return row
}

// turns says whether a body can turn.
func (s *stateRows) turns(body int) bool {
	a := s.generic()
	return rank(append(a, unit(s.bodies-1, body-1))) > rank(a)
}

// square holds loose bodies until one motion is left, in which input and output turn, and
// keeps as many rows as it takes. It is false if there is no such motion.
func (s *stateRows) square(in, out int) bool {
	n := s.bodies - 1
	free := func(bodies ...int) int {
		a := s.generic()
		before := rank(a)
		for _, b := range bodies {
			a = append(a, unit(n, b-1))
		}
		return rank(a) - before
	}
	if free(in, out) != 1 || free(in) != 1 || free(out) != 1 {
		return false
	}
	for b := 1; b <= n; b++ {
		if b != in && b != out && free(in, b) == 2 {
			s.fixed = append(s.fixed, b)
		}
	}
	s.keep = independent(s.generic())
	return len(s.keep) == n-1
}

// at returns the independent rows at values of the basic ratios.
func (s *stateRows) at(value func(ratio int) int64) [][]int64 {
	var a [][]int64
	for _, k := range s.keep {
		if k >= len(s.rows) {
			a = append(a, unit(s.bodies-1, s.fixed[k-len(s.rows)]-1))
			continue
		}
		row := make([]int64, s.bodies-1)
		addRow(&s.rows[k], row, value(s.rows[k].ratio))
		a = append(a, row)
	}
	return a
}

// rank is that of a matrix of integers modulo prime.
func rank(a [][]int64) int { return len(independent(a)) }

// independent are the indices of the first rows that have the rank of a matrix.
func independent(a [][]int64) (rows []int) {
	var reduced [][]int64
	var pivots []int
	for i, row := range a {
		r := make([]int64, len(row))
		for j, x := range row {
			r[j] = (x%prime + prime) % prime
		}
		for k, p := range pivots {
			if f := r[p]; f != 0 {
				for j := range r {
					r[j] = (r[j] + (prime-f)*reduced[k][j]) % prime
				}
			}
		}
		p := 0
		for p < len(r) && r[p] == 0 {
			p++
		}
		if p == len(r) {
			continue
		}
		inv := power(r[p], prime-2)
		for j := range r {
			r[j] = r[j] * inv % prime
		}
		reduced, pivots, rows = append(reduced, r), append(pivots, p), append(rows, i)
	}
	return rows
}

func power(x, n int64) int64 {
	result := int64(1)
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			result = result * x % prime
		}
		x = x * x % prime
	}
	return result
}

// minor is the determinant of n-1 rows without one of their n columns, by elimination
// without fractions [Bareiss 1968]. Rows hold a few numbers up to 2, so that all stays
// far within int64.
func minor(rows [][]int64, without int) int64 {
	n := len(rows)
	a := make([][]int64, n)
	for i, row := range rows {
		a[i] = append(append(make([]int64, 0, n), row[:without]...), row[without+1:]...)
	}
	sign, before := int64(1), int64(1)
	for k := range n {
		p := k
		for p < n && a[p][k] == 0 {
			p++
		}
		if p == n {
			return 0
		}
		if p != k {
			a[p], a[k] = a[k], a[p]
			sign = -sign
		}
		for i := k + 1; i < n; i++ {
			for j := k + 1; j < n; j++ {
				a[i][j] = (a[i][j]*a[k][k] - a[i][k]*a[k][j]) / before
			}
		}
		before = a[k][k]
	}
	return sign * before
}

func (p poly) neg() poly { return kinematics.Map(p, func(c int64) int64 { return -c }) }

// coefficients turns the values at all corners of the unit cube into coefficients.
func coefficients(p poly) {
	for bit := 1; bit < len(p); bit <<= 1 {
		for m := range p {
			if m&bit != 0 {
				p[m] -= p[m^bit]
			}
		}
	}
}

// reduced takes out the variables on which the quotient does not depend: factors of both.
func (q quotient) reduced(k int) (quotient, bool) {
	for v := range k {
		n0, n1 := q.num.split(v)
		d0, d1 := q.den.split(v)
		if !same(n0, d1, n1, d0) {
			continue
		}
		if n0.zero() && d0.zero() {
			n0, d0 = n1, d1
		}
		q = quotient{n0, d0}
	}
	return q, !q.num.zero() && !q.den.zero()
}

// split returns the polynomials a and b of p = a + b x, both without x.
func (p poly) split(v int) (a, b poly) {
	a, b = make(poly, len(p)), make(poly, len(p))
	for m, c := range p {
		if m>>v&1 == 0 {
			a[m] = c
		} else {
			b[m^1<<v] = c
		}
	}
	return a, b
}

func (p poly) zero() bool { return !slices.ContainsFunc(p, func(c int64) bool { return c != 0 }) }

// same says whether a b = c d. The products are of degree 2 in each variable.
func same(a, b, c, d poly) bool {
	product := map[[2]int]int64{}
	add := func(p, q poly, sign int64) {
		for i, x := range p {
			if x == 0 {
				continue
			}
			for j, y := range q {
				if y != 0 {
					product[[2]int{i ^ j, i & j}] += sign * x * y
				}
			}
		}
	}
	add(a, b, 1)
	add(c, d, -1)
	for _, x := range product {
		if x != 0 {
			return false
		}
	}
	return true
}

// depends is the set of variables that a quotient depends on.
func (q quotient) depends() int {
	all := 0
	for m := range q.num {
		if q.num[m] != 0 || q.den[m] != 0 {
			all |= m
		}
	}
	return all
}
