package polyhedra

import (
	"math/big"
	"slices"

	"tieup/kinematics/internal/integer"
)

// A Search looks for elementary vectors: the vectors of a null space whose signed unknowns
// are not negative, with a support (set of unknowns that are not 0) that contains no smaller
// one. Each is given once, in whole numbers without a common factor, and with its first
// unknown that is not 0 positive unless the signs ask for the opposite; a vector that may be
// turned over is given one way only. There can be exponentially many, so a search has a budget.
//
// Any vector of the null space that obeys the signs is a sum of elementary ones
// that obey them, none of whose supports leaves its own [Rockafellar 1969].
// Supports therefore say which sets of rows can balance by themselves.
type Search struct {
	Signed []bool // unknowns that are not negative
	// Through leaves out vectors in which this unknown is 0; -1 takes all.
	Through int
	Budget  *Budget // nil is no bound
}

// A Budget bounds searches by their work, counted in entries of matrices that are
// computed, and by a channel that is closed when nobody waits any longer.
type Budget struct {
	Work int // 0 is no bound
	Done <-chan struct{}

	spent int
}

// Spent is how much work was done.
func (b *Budget) Spent() int { return b.spent }

// Spend takes work from the budget and says whether it allows it.
func (b *Budget) Spend(work int) bool {
	if b == nil {
		return true
	}
	b.spent += work
	select {
	case <-b.Done:
		return false
	default:
		return b.Work == 0 || b.spent <= b.Work
	}
}

// NullSpace finds the elementary vectors of the null space of rows, of n unknowns each, and
// says whether it came to the end of them all: it also ends when yield returns false.
//
// An elementary vector is found by deleting unknowns, which makes them 0, until one
// line is left. The unknowns are taken in order: each is deleted or kept, and where
// it is kept it must not become 0 later on; so no vector is found twice.
func (s *Search) NullSpace(rows []Row, n int, yield func(v []*big.Int) bool) bool {
	basis := NullSpace(rows, n)
	if len(basis) == 0 {
		return true
	}
	return s.from(spanOf(basis), yield)
}

// from finds the elementary vectors of a span.
func (s *Search) from(all span, yield func(v []*big.Int) bool) bool {
	distinct := all.distinct()
	kept := make([]int, 0, len(distinct))
	var choose func(x span, next int) bool
	choose = func(x span, next int) bool {
		mark := len(kept)
		defer func() { kept = kept[:mark] }()
		if x.dim() == 1 {
			if v := x.vector(); orient(v, s.Signed) {
				return yield(v)
			}
			return true
		}
		for i := next; i < len(distinct); i++ {
			column := distinct[i]
			if x.vanishes(column) {
				continue
			}
			if len(distinct)-i < x.dim()-1 {
				break
			}
			if !s.Budget.Spend(x.size()) {
				return false
			}
			if y := x.delete(column); s.possible(y, kept) && !choose(y, i+1) {
				return false
			}
			kept = append(kept, column)
		}
		return true
	}
	return !s.possible(all, kept) || choose(all, 0)
}

// possible says whether unknowns that must not be 0 can still be something else.
func (s *Search) possible(x span, kept []int) bool {
	if s.Through >= 0 && x.vanishes(s.Through) {
		return false
	}
	return !slices.ContainsFunc(kept, x.vanishes)
}

// Cover finds an elementary vector through s.Through and each other unknown that is not in
// covered yet, as far as there is one: a list that a budget has cut is then at least not
// silent about any of them. It tries few orders, so that signs can hide a vector from it.
// Those that are found go into covered.
//
// Unknowns are deleted as long as a vector still goes through both. Signs apart there is
// one if and only if the two hang together, by rows of the basis that share unknowns: the
// components of a matroid are those of any basis in which each row has an unknown of its
// own, and two elements of a component are in a circuit [Whitney 1935].
func (s *Search) Cover(rows []Row, n int, covered []bool, yield func(v []*big.Int)) {
	basis := NullSpace(rows, n)
	if len(basis) == 0 {
		return
	}
	all := spanOf(basis)
	for k := range n {
		if k == s.Through || covered[k] || !joined(all, k, s.Through) {
			continue
		}
		for _, first := range [][]bool{covered, s.Signed} {
			v := s.between(all, k, first)
			if v == nil {
				return
			}
			if orient(v, s.Signed) {
				yield(v)
				for j, x := range v {
					covered[j] = covered[j] || x.Sign() != 0
				}
				break
			}
		}
	}
}

// between deletes what one vector through k can do without, some unknowns first; nil if the
// budget ends.
func (s *Search) between(x span, k int, first []bool) []*big.Int {
	for _, now := range []bool{true, false} {
		for j := range first {
			if first[j] != now || j == k || j == s.Through || x.dim() == 1 || x.vanishes(j) {
				continue
			}
			if !s.Budget.Spend(x.size()) {
				return nil
			}
			if y := x.delete(j); joined(y, k, s.Through) {
				x = y
			}
		}
	}
	return x.vector()
}

// joined says whether an elementary vector goes through both a and b: whether their rows
// hang together by unknowns that they share.
func joined(x span, a, b int) bool {
	reached, seen := make([]bool, x.dim()), make([]bool, x.width())
	columns := []int{a}
	for len(columns) > 0 {
		column := columns[0]
		columns = columns[1:]
		for i := range reached {
			if reached[i] || x.zero(i, column) {
				continue
			}
			reached[i] = true
			for j := range seen {
				if !seen[j] && !x.zero(i, j) {
					seen[j], columns = true, append(columns, j)
				}
			}
			if seen[b] {
				return true
			}
		}
	}
	return false
}

// A span is a linear space of vectors of n unknowns, given by independent rows in
// whole numbers. Deleting an unknown eliminates it from all rows by one of them,
// which is then used up; the division by the pivot before leaves no remainder
// [Bareiss 1968].
type span interface {
	dim() int
	size() int
	width() int
	zero(row, column int) bool
	vanishes(column int) bool
	delete(column int) span
	distinct() []int    // columns that are not 0, one of those that differ by a factor alone
	vector() []*big.Int // the one of one dimension, without a common factor
}

// spanOf returns the span of vectors.
func spanOf(basis [][]*big.Int) span {
	small := smallSpan{pivot: 1}
	for _, v := range basis {
		row := NewRow(v)
		if row.small == nil {
			return bigSpan{basis, big.NewInt(1)}
		}
		small.rows = append(small.rows, row.small)
	}
	return small
}

// A smallSpan is a span in int64.
type smallSpan struct {
	rows  [][]int64
	pivot int64
}

func (s smallSpan) dim() int                  { return len(s.rows) }
func (s smallSpan) size() int                 { return len(s.rows) * len(s.rows[0]) }
func (s smallSpan) width() int                { return len(s.rows[0]) }
func (s smallSpan) zero(row, column int) bool { return s.rows[row][column] == 0 }

func (s smallSpan) vanishes(column int) bool {
	for _, row := range s.rows {
		if row[column] != 0 {
			return false
		}
	}
	return true
}

func (s smallSpan) delete(column int) span {
	at := 0
	for s.rows[at][column] == 0 {
		at++
	}
	used := s.rows[at]
	pivot, sign := used[column], int64(1)
	if pivot < 0 {
		pivot, sign = -pivot, -1
	}
	n := len(used)
	next := smallSpan{rows: make([][]int64, 0, len(s.rows)-1), pivot: pivot}
	flat := make([]int64, n*(len(s.rows)-1))
	for i, row := range s.rows {
		if i == at {
			continue
		}
		to := flat[:n:n]
		flat = flat[n:]
		for j := range to {
			v, ok := integer.MulSubDiv(row[j], pivot, sign*row[column], used[j], s.pivot)
			if !ok {
				return s.large().delete(column)
			}
			to[j] = v
		}
		next.rows = append(next.rows, to)
	}
	return next
}

// large returns the same over math/big.
func (s smallSpan) large() bigSpan {
	b := bigSpan{pivot: big.NewInt(s.pivot)}
	for _, row := range s.rows {
		b.rows = append(b.rows, RowOf(row...).Big)
	}
	return b
}

func (s smallSpan) distinct() []int { return s.large().distinct() }

func (s smallSpan) vector() []*big.Int { return RowOf(s.rows[0]...).Primitive().Big }

// A bigSpan is a span over math/big.
type bigSpan struct {
	rows  [][]*big.Int
	pivot *big.Int
}

func (b bigSpan) dim() int                  { return len(b.rows) }
func (b bigSpan) size() int                 { return 20 * len(b.rows) * len(b.rows[0]) }
func (b bigSpan) width() int                { return len(b.rows[0]) }
func (b bigSpan) zero(row, column int) bool { return b.rows[row][column].Sign() == 0 }

func (b bigSpan) vanishes(column int) bool {
	for _, row := range b.rows {
		if row[column].Sign() != 0 {
			return false
		}
	}
	return true
}

func (b bigSpan) delete(column int) span {
	at := 0
	for b.rows[at][column].Sign() == 0 {
		at++
	}
	used, t := b.rows[at], new(big.Int)
	next := bigSpan{pivot: new(big.Int).Abs(used[column])}
	for i, row := range b.rows {
		if i == at {
			continue
		}
		to := make([]*big.Int, len(row))
		for j := range to {
			to[j] = new(big.Int).Mul(row[j], used[column])
			to[j].Sub(to[j], t.Mul(row[column], used[j]))
			to[j].Quo(to[j], b.pivot)
			if used[column].Sign() < 0 {
				to[j].Neg(to[j])
			}
		}
		next.rows = append(next.rows, to)
	}
	return next
}

func (b bigSpan) distinct() []int {
	var list []int
	var columns []Row
	for j := range b.rows[0] {
		c := make([]*big.Int, len(b.rows))
		for i, row := range b.rows {
			c[i] = row[j]
		}
		column := NewRow(c).Primitive()
		seen := column.IsZero()
		for _, other := range columns {
			seen = seen || column.Equal(other) || column.Opposite(other)
		}
		if !seen {
			list, columns = append(list, j), append(columns, column)
		}
	}
	return list
}

func (b bigSpan) vector() []*big.Int {
	v := make([]*big.Int, len(b.rows[0]))
	for j, x := range b.rows[0] {
		v[j] = new(big.Int).Set(x)
	}
	return NewRow(v).Primitive().Big
}

// orient turns v over if that is needed to obey the signs, and says whether
// it then does. Without signs its first unknown that is not 0 becomes positive.
func orient(v []*big.Int, signed []bool) bool {
	plus, minus, first := false, false, 0
	for i, x := range v {
		if first == 0 {
			first = x.Sign()
		}
		if signed[i] {
			plus = plus || x.Sign() > 0
			minus = minus || x.Sign() < 0
		}
	}
	if plus && minus {
		return false
	}
	if minus || !plus && first < 0 {
		for _, x := range v {
			x.Neg(x)
		}
	}
	return true
}
