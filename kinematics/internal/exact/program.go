package exact

import (
	"math/big"
)

// A Program asks for the least cost of a motion q of n coordinates:
//
//	minimise    sum over terms of Plus max(row q, 0) + Minus max(-row q, 0)
//	subject to  Equal q = 1,  row q = 0 for Zero,  row q >= 0 for NonNegative.
type Program struct {
	N           int
	Equal       Row
	Zero        []Row
	NonNegative []Row
	Terms       []Term
}

// A Term is a linear function with a cost per unit on either side of zero. A
// negative cost is a gain.
type Term struct {
	Row         Row
	Plus, Minus *big.Rat
}

// Status says how a program ended.
type Status uint8

// The ends of a program.
const (
	Optimal Status = iota
	Infeasible
	Unbounded
)

// A Solution is the end of a program. The duals prove the value:
//
//	Value Equal + sum TermDual row + sum NonNegativeDual row = 0
//
// on all q with Zero q = 0, where -Plus <= TermDual <= Minus and
// NonNegativeDual >= 0. Fractions are exact.
type Solution struct {
	Status          Status
	Value           *big.Rat
	Terms           []*big.Rat // value of each term's row at the optimum
	NonNegative     []*big.Rat
	TermDual        []*big.Rat
	NonNegativeDual []*big.Rat
	Pivots          int
	Big             bool // computed with math/big
}

// Solve finds the optimum by the simplex method with integer pivoting: every
// entry of the tableau stands over one common denominator, the last pivot, and
// every division by the one before it leaves no remainder [Edmonds 1967].
func (p *Program) Solve() *Solution {
	s := newSimplex(p)
	if s.small() && s.run(&smallTableau{}) {
		return s.solution()
	}
	s.big = true
	s.run(&bigTableau{})
	return s.solution()
}

// simplex holds the steps of the method, which are the same for both kinds of
// numbers. Columns are: the coordinates q, then a plus and a minus part for
// every term, then a surplus for every NonNegative row, then the right side.
// The last row holds the reduced costs.
type simplex struct {
	p      *Program
	scale  *big.Int // costs are multiplied by it to be whole
	first  [][]*big.Int
	costs  []*big.Int
	t      tableau
	basis  []int // basic column of each row
	equal  int   // row of Equal while its artificial variable is basic, else -1
	status Status
	pivots int
	big    bool
}

// A tableau is a matrix of whole numbers over one common denominator.
type tableau interface {
	load(rows [][]*big.Int) bool
	sign(i, j int) int
	cmp(i, j, k, l int) int          // compares entry i,j with entry k,l
	cmpRatio(i, k, col, rhs int) int // compares rhs/col of rows i and k, both col > 0
	negate(i int)
	pivot(r, c int) bool
	keep(rows []int)                       // drops all rows but these
	price(row, by int, cost *big.Int) bool // row -= cost by
	value(i, j int) *big.Rat
}

func (s *simplex) plus(i int) int    { return s.p.N + 2*i }
func (s *simplex) minus(i int) int   { return s.p.N + 2*i + 1 }
func (s *simplex) surplus(i int) int { return s.p.N + 2*len(s.p.Terms) + i }
func (s *simplex) rhs() int          { return s.p.N + 2*len(s.p.Terms) + len(s.p.NonNegative) }

// newSimplex writes down the first tableau: Zero rows, then terms, then
// NonNegative rows, then Equal, then the costs.
func newSimplex(p *Program) *simplex {
	s := &simplex{p: p, scale: big.NewInt(1), equal: -1}
	width := s.rhs() + 1
	row := func(r Row) []*big.Int {
		c := make([]*big.Int, width)
		copy(c, r.Big)
		for j := len(r.Big); j < width; j++ {
			c[j] = new(big.Int)
		}
		return c
	}
	for _, r := range p.Zero {
		s.first = append(s.first, row(r))
	}
	for i, t := range p.Terms {
		c := row(t.Row)
		c[s.plus(i)], c[s.minus(i)] = big.NewInt(-1), big.NewInt(1)
		s.first = append(s.first, c)
		for _, x := range []*big.Rat{t.Plus, t.Minus} {
			g := new(big.Int).GCD(nil, nil, s.scale, x.Denom())
			s.scale.Mul(s.scale, new(big.Int).Quo(x.Denom(), g))
		}
	}
	for i, r := range p.NonNegative {
		c := row(r)
		c[s.surplus(i)] = big.NewInt(-1)
		s.first = append(s.first, c)
	}
	equal := row(p.Equal)
	equal[s.rhs()] = big.NewInt(1)
	s.first = append(s.first, equal)

	s.costs = make([]*big.Int, width)
	for j := range s.costs {
		s.costs[j] = new(big.Int)
	}
	whole := func(x *big.Rat) *big.Int {
		c := new(big.Int).Mul(x.Num(), s.scale)
		return c.Quo(c, x.Denom())
	}
	for i, t := range p.Terms {
		s.costs[s.plus(i)], s.costs[s.minus(i)] = whole(t.Plus), whole(t.Minus)
	}
	s.first = append(s.first, s.costs)
	return s
}

// small says whether the first tableau fits into int64.
func (s *simplex) small() bool {
	for _, r := range s.first {
		for _, x := range r {
			if x.BitLen() > 62 {
				return false
			}
		}
	}
	return true
}

// run solves the program on t. It returns false if the numbers of t are too short.
func (s *simplex) run(t tableau) bool {
	s.t, s.pivots, s.status, s.equal = t, 0, Optimal, -1
	if !t.load(s.first) || !s.eliminate() || !s.feasible() {
		return false
	}
	if s.status == Optimal {
		return s.improve()
	}
	return true
}

// eliminate brings the coordinates q, which are free, into the basis for good,
// drops their rows, and starts the others from their own plus part or surplus.
func (s *simplex) eliminate() bool {
	rows := len(s.first) - 1
	taken := make([]bool, rows)
	for j := range s.p.N {
		for i := range rows {
			if taken[i] || s.t.sign(i, j) == 0 {
				continue
			}
			if s.t.sign(i, j) < 0 {
				s.t.negate(i)
			}
			if !s.t.pivot(i, j) {
				return false
			}
			taken[i] = true
			break
		}
	}
	keep := make([]int, 0, rows)
	s.basis = s.basis[:0]
	zeros, terms := len(s.p.Zero), len(s.p.Terms)
	for i := zeros; i < rows; i++ {
		if taken[i] {
			continue
		}
		switch {
		case i < zeros+terms:
			s.basis = append(s.basis, s.plus(i-zeros))
		case i < rows-1:
			s.basis = append(s.basis, s.surplus(i-zeros-terms))
		default:
			s.equal = len(keep)
			s.basis = append(s.basis, -1)
		}
		if i < rows-1 {
			s.t.negate(i)
		}
		keep = append(keep, i)
	}
	s.t.keep(append(keep, rows))
	cost := len(s.basis)
	for i, b := range s.basis {
		if b >= 0 && s.costs[b].Sign() != 0 && !s.t.price(cost, i, s.costs[b]) {
			return false
		}
	}
	return true
}

// dantzigPivots is how many pivots choose the column that promises most; after
// them the first that promises anything, which cannot cycle [Bland 1977].
const dantzigPivots = 40

// feasible drives out the artificial variable of Equal (phase one).
func (s *simplex) feasible() bool {
	for s.equal >= 0 {
		col := s.enter(s.equal, 1)
		if col < 0 {
			s.status = Infeasible
			return true
		}
		if !s.step(col) {
			return false
		}
	}
	return true
}

// improve pivots until no reduced cost is negative (phase two).
func (s *simplex) improve() bool {
	cost := len(s.basis)
	for {
		col := s.enter(cost, -1)
		if col < 0 {
			return true
		}
		if !s.leaves(col) {
			s.status = Unbounded
			return true
		}
		if !s.step(col) {
			return false
		}
	}
}

// enter chooses a column whose entry in the row has the sign, or -1.
func (s *simplex) enter(row, sign int) int {
	best := -1
	for j := s.p.N; j < s.rhs(); j++ {
		if s.t.sign(row, j) != sign {
			continue
		}
		if best < 0 || s.t.cmp(row, j, row, best) == sign {
			best = j
		}
		if s.pivots >= dantzigPivots {
			break
		}
	}
	return best
}

// leaves says whether any row limits the growth of a column.
func (s *simplex) leaves(col int) bool {
	for i := range s.basis {
		if s.t.sign(i, col) > 0 {
			return true
		}
	}
	return false
}

// step brings a column into the basis in the row that limits it first; among
// equals the artificial variable leaves, else the lowest column.
func (s *simplex) step(col int) bool {
	out := -1
	for i := range s.basis {
		if s.t.sign(i, col) <= 0 {
			continue
		}
		if out < 0 {
			out = i
			continue
		}
		c := s.t.cmpRatio(i, out, col, s.rhs())
		if c < 0 || c == 0 && s.basis[i] < s.basis[out] {
			out = i
		}
	}
	s.pivots++
	if out == s.equal {
		s.equal = -1
	}
	s.basis[out] = col
	return s.t.pivot(out, col)
}

// solution reads the answer off the last tableau.
func (s *simplex) solution() *Solution {
	r := &Solution{Status: s.status, Pivots: s.pivots, Big: s.big}
	if s.status != Optimal {
		return r
	}
	x := make([]*big.Rat, s.rhs())
	for j := range x {
		x[j] = new(big.Rat)
	}
	for i, b := range s.basis {
		x[b] = s.t.value(i, s.rhs())
	}
	cost := len(s.basis)
	reduced := func(j int) *big.Rat {
		v := s.t.value(cost, j)
		return v.Quo(v, new(big.Rat).SetInt(s.scale))
	}
	r.Value = reduced(s.rhs())
	r.Value.Neg(r.Value)
	for i, t := range s.p.Terms {
		r.Terms = append(r.Terms, new(big.Rat).Sub(x[s.plus(i)], x[s.minus(i)]))
		d := reduced(s.plus(i))
		r.TermDual = append(r.TermDual, d.Sub(d, t.Plus))
	}
	for i := range s.p.NonNegative {
		r.NonNegative = append(r.NonNegative, x[s.surplus(i)])
		r.NonNegativeDual = append(r.NonNegativeDual, reduced(s.surplus(i)))
	}
	return r
}
