package polyhedra

import (
	"math/big"
	"slices"
	"testing"

	"tieup/kinematics/exact"
)

// throwProgram throws a program of a few coordinates. One in four has a gain in
// it, as a stated engine torque is one.
func throwProgram(d dice, size int64) *Program {
	n := 1 + d.IntN(4)
	p := &Program{N: n, Equal: d.row(n, size)}
	p.Zero = d.rows(d.IntN(2), n, size)
	p.NonNegative = d.rows(d.IntN(3), n, size)
	cost := func() *big.Rat { return big.NewRat(d.Int64N(40), 1+d.Int64N(9)) }
	for _, r := range d.rows(1+d.IntN(4), n, size) {
		p.Terms = append(p.Terms, Term{Row: r, Plus: cost(), Minus: cost()})
	}
	if d.IntN(4) == 0 {
		t := cost()
		p.Terms[0].Plus, p.Terms[0].Minus = new(big.Rat).Neg(t), t
	}
	if d.IntN(4) == 0 {
		p.Equal = p.Terms[0].Row
	}
	return p
}

func (p *Program) cost(q []*big.Rat) *big.Rat {
	sum := new(big.Rat)
	for _, t := range p.Terms {
		x, c := at(t.Row, q), t.Plus
		if x.Sign() < 0 {
			c = t.Minus
		}
		sum.Add(sum, x.Mul(x.Abs(x), c))
	}
	return sum
}

func (p *Program) admits(q []*big.Rat) bool {
	for _, r := range p.NonNegative {
		if at(r, q).Sign() < 0 {
			return false
		}
	}
	return true
}

// bruteForce solves p by trying every meeting point, and every line, of the
// planes on which a term or inequality is 0. Coordinate planes join in, so that
// directions on which nothing depends do not matter.
func bruteForce(p *Program) (Status, *big.Rat) {
	var planes []Row
	for _, t := range p.Terms {
		planes = append(planes, t.Row)
	}
	planes = append(planes, p.NonNegative...)
	for j := range p.N {
		c := make([]int64, p.N)
		c[j] = 1
		planes = append(planes, RowOf(c...))
	}
	base := func(unit int64) []ratRow {
		rows := []ratRow{ratRowOf(p.Equal, unit)}
		for _, r := range p.Zero {
			rows = append(rows, ratRowOf(r, 0))
		}
		return rows
	}
	var best *big.Rat
	unbounded := false
	points, lines := base(1), base(0)
	subsets(len(planes), p.N, func(chosen []int) {
		with := func(rows []ratRow) []ratRow {
			rows = slices.Clip(rows)
			for _, i := range chosen {
				rows = append(rows, ratRowOf(planes[i], 0))
			}
			return rows
		}
		if q, ok := point(with(points), p.N); ok && p.admits(q) {
			if c := p.cost(q); best == nil || c.Cmp(best) < 0 {
				best = c
			}
		}
		if q, ok := direction(with(lines), p.N); ok {
			for range 2 {
				unbounded = unbounded || p.admits(q) && p.cost(q).Sign() < 0
				for i := range q {
					q[i] = new(big.Rat).Neg(q[i])
				}
			}
		}
	})
	switch {
	case best == nil:
		return Infeasible, nil
	case unbounded:
		return Unbounded, nil
	}
	return Optimal, best
}

// checkProof checks that a solution is one, and that its duals prove it.
func checkProof(t *testing.T, p *Program, s *Solution) {
	t.Helper()
	primal, residual := new(big.Rat), make([]*big.Rat, p.N)
	for j := range residual {
		residual[j] = new(big.Rat)
	}
	add := func(r Row, x *big.Rat) {
		for j, c := range r.Big {
			residual[j].Add(residual[j], new(big.Rat).Mul(new(big.Rat).SetInt(c), x))
		}
	}
	// Is there a motion with these values?
	equations := []ratRow{ratRowOf(p.Equal, 1)}
	for _, r := range p.Zero {
		equations = append(equations, ratRowOf(r, 0))
	}
	equate := func(r Row, x *big.Rat) {
		e := ratRowOf(r, 0)
		e[p.N] = x
		equations = append(equations, e)
	}
	add(p.Equal, s.Value.Rat())
	for i, term := range p.Terms {
		x, c, d := s.Terms[i].Rat(), term.Plus, s.TermDual[i].Rat()
		if x.Sign() < 0 {
			c = term.Minus
		}
		primal.Add(primal, new(big.Rat).Mul(new(big.Rat).Abs(x), c))
		if d.Cmp(term.Minus) > 0 || new(big.Rat).Neg(d).Cmp(term.Plus) > 0 {
			t.Errorf("dual %v of a term that costs %v, %v", d, term.Plus, term.Minus)
		}
		add(term.Row, d)
		equate(term.Row, x)
	}
	for i, r := range p.NonNegative {
		if s.NonNegative[i].Sign() < 0 || s.NonNegativeDual[i].Sign() < 0 {
			t.Errorf("inequality %d: value %v, dual %v", i, s.NonNegative[i], s.NonNegativeDual[i])
		}
		add(r, s.NonNegativeDual[i].Rat())
		equate(r, s.NonNegative[i].Rat())
	}
	if primal.Cmp(s.Value.Rat()) != 0 {
		t.Errorf("value %v, but the motion costs %v", s.Value, primal)
	}
	if _, _, ok := reduce(equations, p.N); !ok {
		t.Error("no motion has the values of the solution")
	}
	// The residual must be a combination of the Zero rows: orthogonal to all
	// that they leave.
	for _, v := range NullSpace(p.Zero, p.N) {
		sum := new(big.Rat)
		for j, x := range v {
			sum.Add(sum, new(big.Rat).Mul(residual[j], new(big.Rat).SetInt(x)))
		}
		if sum.Sign() != 0 {
			t.Errorf("the duals leave %v", sum)
		}
	}
}

func equalFracs(a, b []exact.Frac) bool {
	return slices.EqualFunc(a, b, func(x, y exact.Frac) bool { return x.Cmp(y) == 0 })
}

// TestProgram solves random programs three ways: in int64, in math/big, and by
// trying every corner.
func TestProgram(t *testing.T) {
	ends := map[Status]int{}
	for seed := range sweep(600) {
		p := throwProgram(seeded(seed), 9)
		s := p.Solve()
		if s.Big {
			t.Errorf("seed %d: small numbers needed math/big", seed)
		}
		status, value := bruteForce(p)
		if s.Status != status || status == Optimal && s.Value.Rat().Cmp(value) != 0 {
			t.Fatalf("seed %d: status %d, value %v, want %d, %v", seed, s.Status, s.Value, status, value)
		}
		ends[status]++
		x, slow := simplex{p: p}, new(bigTableau)
		slow.load(p)
		if !x.run(slow) {
			t.Fatalf("seed %d: math/big gave up", seed)
		}
		b := x.solution()
		if b.Status != s.Status || b.Pivots != s.Pivots {
			t.Fatalf("seed %d: %d after %d pivots, in math/big %d after %d", seed, s.Status, s.Pivots, b.Status,
				b.Pivots)
		}
		if status != Optimal {
			continue
		}
		if b.Value.Cmp(s.Value) != 0 || !equalFracs(b.TermDual, s.TermDual) || !equalFracs(b.Terms,
			s.Terms) || !equalFracs(b.NonNegativeDual, s.NonNegativeDual) {
			t.Fatalf("seed %d: math/big differs", seed)
		}
		checkProof(t, p, s)
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
	t.Logf("ends %v", ends)
	for _, s := range []Status{Optimal, Infeasible, Unbounded} {
		if ends[s] < 3 {
			t.Errorf("only %d programs end as %d: the generator is too narrow", ends[s], s)
		}
	}
}

// TestProgramOverflow has coefficients that int64 cannot pivot with.
func TestProgramOverflow(t *testing.T) {
	bigs, optimal := 0, 0
	for seed := range uint64(120) {
		p := throwProgram(seeded(seed), 1<<40)
		s := p.Solve()
		if s.Big {
			bigs++
		}
		status, value := bruteForce(p)
		if s.Status != status || status == Optimal && s.Value.Rat().Cmp(value) != 0 {
			t.Fatalf("seed %d: status %d, value %v, want %d, %v", seed, s.Status, s.Value, status, value)
		}
		if status == Optimal {
			optimal++
			checkProof(t, p, s)
		}
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
	t.Logf("%d of 120 in math/big, %d optimal", bigs, optimal)
	if bigs < 20 || optimal < 20 {
		t.Errorf("%d programs in math/big, %d with an optimum", bigs, optimal)
	}
	// Numbers that do not even fit into the first tableau.
	huge := new(big.Int).Lsh(big.NewInt(1), 70)
	p := &Program{N: 1, Equal: NewRow([]*big.Int{huge}), Terms: []Term{{Row: RowOf(3), Plus: big.NewRat(2, 1),
		Minus: big.NewRat(1, 1)}}}
	if s := p.Solve(); !s.Big || s.Value.Rat().Cmp(new(big.Rat).SetFrac(big.NewInt(6), huge)) != 0 {
		t.Errorf("value %v, math/big %t", s.Value, s.Big)
	}
}
