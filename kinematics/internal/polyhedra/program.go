package polyhedra

import (
	"math/big"
	"slices"

	"tieup/kinematics/exact"
)

// A Program asks for the least cost of a motion q of N coordinates:
//
//	minimise    sum over terms of Plus max(row q, 0) + Minus max(-row q, 0)
//	subject to  Equal q = 1,  row q = 0 for Zero,  row q >= 0 for NonNegative.
//
// Plus and Minus of a term do not add up to less than 0.
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
// NonNegativeDual >= 0.
type Solution struct {
	Status          Status
	Value           exact.Frac
	Terms           []exact.Frac // value of each term's row at the optimum
	NonNegative     []exact.Frac
	TermDual        []exact.Frac
	NonNegativeDual []exact.Frac
	Unique          bool // no other values of the rows cost as little
	Pivots          int
	Big             bool // computed with math/big
}

// Solve finds the optimum by the simplex method with integer pivoting: every
// entry of the dictionary stands over one common denominator, the last pivot, and
// every division by the one before it leaves no remainder [Edmonds 1967].
func (p *Program) Solve() *Solution {
	s := simplex{p: p}
	if t := new(smallTableau); t.load(p) && s.run(t) {
		return s.solution()
	}
	t := new(bigTableau)
	t.load(p)
	s.run(t)
	return s.solution()
}

// A variable is one of the linear functions of a program, or a coordinate.
type variable struct {
	kind  variableKind
	index int // into Zero, Terms or NonNegative, or the coordinate
	// sense is the side of zero on which a basic term is, +1 or -1; it keeps it at
	// zero, too.
	sense int
}

type variableKind uint8

const (
	coordinate variableKind = iota // free
	zeroRow                        // must be 0
	term
	nonNegative
	equal // must be 1
)

// before is the order by which variables are chosen among equals.
func (v variable) before(w variable) bool {
	return v.kind < w.kind || v.kind == w.kind && v.index < w.index
}

// A simplex is a dictionary of a program: the rows, called basic, as functions of
// the columns. At first the columns are the coordinates and the rows all functions
// of the program. Columns are at 0, but for that of Equal, which is at 1 once it
// is one; so the entry of that column is the value of a row.
//
// The least variable that promises anything enters, and the least of those that
// limit it leaves, so that it cannot cycle [Bland 1977]. A term that is basic stands
// for its part on the side of its sense, a column for both parts: the program in
// which each term is the difference of two parts is never written down.
type simplex struct {
	p          *Program
	t          tableau
	rows, cols []variable
	unit       int // the column of Equal, -1 before it is one
	status     Status
	pivots     int
}

// A tableau holds the numbers of a dictionary, whole numbers over one common
// denominator above 0. Methods that return false have overflowed.
type tableau interface {
	load(p *Program) bool // zero rows, terms, non-negative rows, Equal
	sign(i, j int) int
	pivot(i, j int) bool // exchanges row i with column j, whose entry is not 0
	dropRow(i int)       // puts the last row in its place
	dropCol(j int)       // puts the last column in its place
	// cmpRatio compares the absolute values of the quotients of columns unit and
	// j in rows i and k.
	cmpRatio(i, k, j, unit int) int
	// slope is the sign of the cost per unit of column j on one side, +1 or -1,
	// with what it changes in the basic terms.
	slope(s *simplex, j, side int) int
	// cost is the sum of the costs of the basic terms per unit of column j.
	cost(s *simplex, j int) exact.Frac
	value(i, j int) exact.Frac
	big() bool
}

// run solves the program on t. It returns false if the numbers of t are too short.
func (s *simplex) run(t tableau) bool {
	*s = simplex{p: s.p, t: t, unit: -1}
	n := len(s.p.Zero) + len(s.p.Terms) + len(s.p.NonNegative) + 1
	s.rows, s.cols = make([]variable, 0, n), make([]variable, 0, s.p.N)
	for i := range s.p.Zero {
		s.rows = append(s.rows, variable{kind: zeroRow, index: i})
	}
	for i := range s.p.Terms {
		s.rows = append(s.rows, variable{kind: term, index: i, sense: 1})
	}
	for i := range s.p.NonNegative {
		s.rows = append(s.rows, variable{kind: nonNegative, index: i, sense: 1})
	}
	s.rows = append(s.rows, variable{kind: equal, sense: 1})
	for j := range s.p.N {
		s.cols = append(s.cols, variable{kind: coordinate, index: j})
	}
	return s.fix() && s.start() && (s.status != Optimal || s.improve())
}

// row returns the row of a kind that stands first, -1 if there is none.
func (s *simplex) row(kind variableKind) int {
	return slices.IndexFunc(s.rows, func(v variable) bool { return v.kind == kind })
}

// fix makes columns of the zero rows, which are then dropped for good, with the
// coordinates that become rows. A zero row that says nothing new is dropped, too.
func (s *simplex) fix() bool {
	for i := s.row(zeroRow); i >= 0; i = s.row(zeroRow) {
		for j := range s.cols {
			if s.t.sign(i, j) != 0 {
				if !s.t.pivot(i, j) {
					return false
				}
				s.pivots++
				last := len(s.cols) - 1
				s.cols[j] = s.cols[last]
				s.cols = s.cols[:last]
				s.t.dropCol(j)
				break
			}
		}
		s.dropRow(i)
	}
	return true
}

func (s *simplex) dropRow(i int) {
	last := len(s.rows) - 1
	s.rows[i] = s.rows[last]
	s.rows = s.rows[:last]
	s.t.dropRow(i)
}

// exchange makes a column of row i and a row of column j, on a side of zero. A
// coordinate that becomes a row limits nothing ever after and is dropped.
func (s *simplex) exchange(i, j, side int) bool {
	s.pivots++
	if !s.t.pivot(i, j) {
		return false
	}
	s.rows[i], s.cols[j] = s.cols[j], s.rows[i]
	s.rows[i].sense = side
	if s.rows[i].kind == coordinate {
		s.dropRow(i)
	}
	return true
}

// start finds a motion that obeys all inequalities with Equal at 1 (phase one).
// It begins with all at 0, where only inequalities can keep Equal from growing.
func (s *simplex) start() bool {
	for {
		u := s.row(equal)
		j, side := -1, 0
		for k, v := range s.cols {
			sign := s.t.sign(u, k)
			if sign != 0 && (sign > 0 || v.kind == coordinate) && (j < 0 || v.before(s.cols[j])) {
				j, side = k, sign
			}
		}
		if j < 0 {
			s.status = Infeasible
			return true
		}
		leaves := -1
		for i, v := range s.rows {
			if v.kind == nonNegative && s.t.sign(i, j)*side < 0 && (leaves < 0 || v.before(s.rows[leaves])) {
				leaves = i
			}
		}
		if leaves >= 0 {
			if !s.exchange(leaves, j, side) {
				return false
			}
			continue
		}
		if !s.exchange(u, j, side) {
			return false
		}
		s.unit = j
		for i := range s.rows {
			s.rows[i].sense = 1
			if s.t.sign(i, j) < 0 {
				s.rows[i].sense = -1
			}
		}
		return true
	}
}

// improve exchanges until no column promises anything (phase two).
func (s *simplex) improve() bool {
	for {
		j, side := s.enters()
		if j < 0 {
			return true
		}
		i := s.leaves(j, side)
		if i < 0 {
			s.status = Unbounded
			return true
		}
		if !s.exchange(i, j, side) {
			return false
		}
	}
}

// enters chooses a column and a side of zero on which it lowers the cost.
func (s *simplex) enters() (col, side int) {
	col = -1
	for j, v := range s.cols {
		if j == s.unit || col >= 0 && s.cols[col].before(v) {
			continue
		}
		switch {
		case s.t.slope(s, j, 1) < 0:
			col, side = j, 1
		case v.kind != nonNegative && s.t.slope(s, j, -1) < 0:
			col, side = j, -1
		}
	}
	return col, side
}

// leaves chooses the row that first reaches zero as column j goes to a side.
func (s *simplex) leaves(j, side int) int {
	row := -1
	for i, v := range s.rows {
		if s.t.sign(i, j)*side*v.sense >= 0 {
			continue
		}
		if row >= 0 {
			if c := s.t.cmpRatio(i, row, j, s.unit); c > 0 || c == 0 && s.rows[row].before(v) {
				continue
			}
		}
		row = i
	}
	return row
}

// unique says whether every way out of the optimum costs something. Coordinates
// on which nothing depends do not count.
func (s *simplex) unique() bool {
	for j, v := range s.cols {
		switch {
		case j == s.unit:
		case v.kind == coordinate:
			for i := range s.rows {
				if s.t.sign(i, j) != 0 {
					return false
				}
			}
		case s.t.slope(s, j, 1) == 0, v.kind == term && s.t.slope(s, j, -1) == 0:
			return false
		}
	}
	return true
}

// solution reads the answer off the last dictionary.
func (s *simplex) solution() *Solution {
	r := &Solution{Status: s.status, Pivots: s.pivots, Big: s.t.big()}
	if s.status != Optimal {
		return r
	}
	zeros := func(n int) []exact.Frac {
		z := make([]exact.Frac, n)
		for i := range z {
			z[i] = exact.Int(0)
		}
		return z
	}
	r.Terms, r.TermDual = zeros(len(s.p.Terms)), zeros(len(s.p.Terms))
	r.NonNegative, r.NonNegativeDual = zeros(len(s.p.NonNegative)), zeros(len(s.p.NonNegative))
	r.Value = s.t.cost(s, s.unit)
	r.Unique = s.unique()
	for i, v := range s.rows {
		switch v.kind {
		case term:
			r.Terms[v.index] = s.t.value(i, s.unit)
			if t := &s.p.Terms[v.index]; v.sense > 0 {
				r.TermDual[v.index] = exact.FromRat(t.Plus).Neg()
			} else {
				r.TermDual[v.index] = exact.FromRat(t.Minus)
			}
		case nonNegative:
			r.NonNegative[v.index] = s.t.value(i, s.unit)
		}
	}
	for j, v := range s.cols {
		switch v.kind {
		case term:
			r.TermDual[v.index] = s.t.cost(s, j)
		case nonNegative:
			r.NonNegativeDual[v.index] = s.t.cost(s, j)
		}
	}
	return r
}
