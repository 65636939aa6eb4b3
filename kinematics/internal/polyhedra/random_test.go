package polyhedra

import (
	"math/big"
	"math/rand/v2"
	"os"
	"slices"
)

// A dice throws rows for the tests of this package, the same for the same seed.
type dice struct{ *rand.Rand }

// sweep is how many random cases are tried: a quarter unless TIEUP_EXHAUSTIVE is set.
func sweep(all uint64) uint64 {
	if os.Getenv("TIEUP_EXHAUSTIVE") == "" {
		return all / 4
	}
	return all
}

func seeded(seed uint64) dice { return dice{rand.New(rand.NewPCG(seed, seed))} }

// row throws n coefficients of at most size, a third of them 0.
func (d dice) row(n int, size int64) Row {
	c := make([]int64, n)
	for i := range c {
		if d.IntN(3) > 0 {
			c[i] = d.Int64N(2*size+1) - size
		}
	}
	return RowOf(c...)
}

// rows throws rows of which some repeat, oppose or add up others.
func (d dice) rows(count, n int, size int64) []Row {
	list := make([]Row, 0, count)
	one, minus := big.NewInt(1), big.NewInt(-1)
	for len(list) < count {
		r := d.row(n, size)
		if len(list) > 0 {
			old := list[d.IntN(len(list))]
			switch d.IntN(8) {
			case 0:
				r = old
			case 1:
				r = Combine(minus, old, new(big.Int), old)
			case 2:
				r = Combine(one, old, one, list[d.IntN(len(list))])
			}
		}
		list = append(list, r)
	}
	return list
}

// The following is linear algebra in big.Rat by the book, which shares nothing
// with the code under test.

type ratRow []*big.Rat

func ratRowOf(r Row, right int64) ratRow {
	c := make(ratRow, len(r.Big)+1)
	for i, x := range r.Big {
		c[i] = new(big.Rat).SetInt(x)
	}
	c[len(r.Big)] = big.NewRat(right, 1)
	return c
}

// reduce brings rows of n unknowns, the right side last, into reduced echelon
// form. It returns the pivot column of each row that is left, and false if they
// contradict each other.
func reduce(rows []ratRow, n int) (left []ratRow, pivots []int, ok bool) {
	work := make([]ratRow, len(rows))
	for i, r := range rows {
		work[i] = make(ratRow, n+1)
		for j, x := range r {
			work[i][j] = new(big.Rat).Set(x)
		}
	}
	for j := range n {
		p := slices.IndexFunc(work, func(r ratRow) bool { return r[j].Sign() != 0 })
		if p < 0 {
			continue
		}
		pivot := work[p]
		work = slices.Delete(work, p, p+1)
		inv := new(big.Rat).Inv(pivot[j])
		for _, x := range pivot {
			x.Mul(x, inv)
		}
		for _, r := range append(work, left...) {
			f := new(big.Rat).Set(r[j])
			for c := range r {
				r[c].Sub(r[c], new(big.Rat).Mul(f, pivot[c]))
			}
		}
		left, pivots = append(left, pivot), append(pivots, j)
	}
	for _, r := range work {
		if r[n].Sign() != 0 {
			return nil, nil, false
		}
	}
	return left, pivots, true
}

// point returns the solution of rows if there is exactly one.
func point(rows []ratRow, n int) ([]*big.Rat, bool) {
	left, pivots, ok := reduce(rows, n)
	if !ok || len(left) < n {
		return nil, false
	}
	q := make([]*big.Rat, n)
	for i, r := range left {
		q[pivots[i]] = r[n]
	}
	return q, true
}

// direction returns a vector that spans the null space of rows if that is a line.
func direction(rows []ratRow, n int) ([]*big.Rat, bool) {
	left, pivots, _ := reduce(rows, n)
	if len(left) != n-1 {
		return nil, false
	}
	q := make([]*big.Rat, n)
	free := 0
	for slices.Contains(pivots, free) {
		free++
	}
	q[free] = big.NewRat(1, 1)
	for i, r := range left {
		q[pivots[i]] = new(big.Rat).Neg(r[free])
	}
	return q, true
}

func at(r Row, q []*big.Rat) *big.Rat {
	s := new(big.Rat)
	for i, x := range r.Big {
		s.Add(s, new(big.Rat).Mul(new(big.Rat).SetInt(x), q[i]))
	}
	return s
}

// subsets calls f with every subset of 0..n-1 that has k members or fewer.
func subsets(n, k int, f func([]int)) {
	var chosen []int
	var choose func(from int)
	choose = func(from int) {
		f(chosen)
		if len(chosen) == k {
			return
		}
		for i := from; i < n; i++ {
			chosen = append(chosen, i)
			choose(i + 1)
			chosen = chosen[:len(chosen)-1]
		}
	}
	choose(0)
}
