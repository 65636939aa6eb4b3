package solve_test

import (
	"errors"
	"math"
	"math/big"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
	"tieup/kinematics/solve"
)

// singleFaultGrips are the grips of every range of a train under every single
// fault, and healthy.
func singleFaultGrips(t testing.TB, train *kinematics.Train) (*solve.System, []*solve.Capacities) {
	t.Helper()
	sys := solve.Compile(train)
	ratings := sys.Ratings(solve.ScaleOf(train), solve.DefaultReserve(), nil)
	var grips []*solve.Capacities
	for i := range train.Ranges {
		for _, f := range torqueFaults(train) {
			var faults []kinematics.Fault
			if f != nil {
				faults = append(faults, *f)
			}
			g, err := sys.Capacities(&train.Ranges[i], faults, ratings)
			if err != nil {
				t.Fatal(err)
			}
			grips = append(grips, g)
		}
	}
	return sys, grips
}

// programsOf are the programs of a table: standing with free wheels, and rolling
// both ways.
func programsOf(sys *solve.System, grips []*solve.Capacities) []*polyhedra.Program {
	zero := exact.NewFrac(0, 1)
	var list []*polyhedra.Program
	for _, g := range grips {
		list = append(list, sys.StandingProgram(g, zero), sys.RollingProgram(g, true, zero),
			sys.RollingProgram(g, false, zero))
	}
	return list
}

// A standardForm is a program as gonum takes it: min c x, A x = b, x >= 0, without
// the dependent rows and empty columns that it refuses.
type standardForm struct {
	a    *mat.Dense
	b, c []float64
}

// standard writes a program in that form. Coordinates are eliminated beforehand:
// what is left are the values of the rows, each term's as the difference of two
// unknowns, and one equation for each way in which the rows depend on each other.
// It returns nil if these contradict each other.
func standard(p *polyhedra.Program) *standardForm {
	functions := []polyhedra.Row{p.Equal}
	for _, t := range p.Terms {
		functions = append(functions, t.Row)
	}
	functions = append(functions, p.NonNegative...)
	left := polyhedra.NullSpace(p.Zero, p.N)
	transposed := make([]polyhedra.Row, len(left))
	for j, v := range left {
		c := make([]*big.Int, len(functions))
		for i, f := range functions {
			c[i] = f.Of(v)
		}
		transposed[j] = polyhedra.NewRow(c)
	}
	terms := len(p.Terms)
	width := 2*terms + len(p.NonNegative)
	var rows [][]float64
	for _, relation := range polyhedra.NullSpace(transposed, len(functions)) {
		row, largest := make([]float64, width+1), 0.0
		for i, x := range relation {
			f, _ := new(big.Float).SetInt(x).Float64()
			largest = max(largest, math.Abs(f))
			switch {
			case i == 0:
				row[width] = -f
			case i <= terms:
				row[2*(i-1)], row[2*(i-1)+1] = f, -f
			default:
				row[terms+i-1] = f
			}
		}
		for j := range row {
			row[j] /= largest
		}
		rows = append(rows, row)
	}
	rows, ok := independent(rows)
	if !ok || rows == nil {
		return nil
	}
	var used []int
	for j := range width {
		if slices.ContainsFunc(rows, func(r []float64) bool { return r[j] != 0 }) {
			used = append(used, j)
		}
	}
	f := &standardForm{a: mat.NewDense(len(rows), len(used), nil), b: make([]float64, len(rows)),
		c: make([]float64, len(used))}
	for i, r := range rows {
		f.b[i] = r[width]
		for k, j := range used {
			f.a.Set(i, k, r[j])
		}
	}
	for k, j := range used {
		if j < 2*terms {
			t := p.Terms[j/2]
			f.c[k], _ = []*big.Rat{t.Plus, t.Minus}[j%2].Float64()
		}
	}
	return f
}

// forGonum are the programs that are not trivial, with their standard forms.
func forGonum(programs []*polyhedra.Program) (kept []*polyhedra.Program, forms []*standardForm) {
	for _, p := range programs {
		if f := standard(p); f != nil {
			kept, forms = append(kept, p), append(forms, f)
		}
	}
	return kept, forms
}

// BenchmarkBreakaway makes the table of all single faults of the eight-speed:
// the whole answers; and of the programs that are not trivial the exact solution,
// and that by gonum. gonum can run for ever on others (gonum issue 1914); the list
// is fixed, and [TestBreakawayByGonum] has been seen to pass on it.
func BenchmarkBreakaway(b *testing.B) {
	train := library(b, "four-carrier-eight-speed")
	sys, grips := singleFaultGrips(b, train)
	programs, forms := forGonum(programsOf(sys, grips))
	zero := exact.NewFrac(0, 1)
	per := func(b *testing.B, n int) {
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/program")
	}
	b.Run("Answers", func(b *testing.B) {
		for b.Loop() {
			for _, g := range grips {
				sys.Standing(g, zero)
				sys.Rolling(g, true, zero)
				sys.Rolling(g, false, zero)
			}
		}
		per(b, 3*len(grips))
	})
	b.Run("Exact", func(b *testing.B) {
		for b.Loop() {
			for _, p := range programs {
				p.Solve()
			}
		}
		per(b, len(programs))
	})
	b.Run("Gonum", func(b *testing.B) {
		for b.Loop() {
			for _, f := range forms {
				_, _, _ = lp.Simplex(f.c, f.a, f.b, 1e-10, nil)
			}
		}
		per(b, len(forms))
	})
}

// TestBreakawayByGonum makes sure that the benchmark compares like with like: on
// each of its programs gonum finds the exact optimum, or none.
func TestBreakawayByGonum(t *testing.T) {
	programs, forms := forGonum(programsOf(singleFaultGrips(t, library(t, "four-carrier-eight-speed"))))
	for k, p := range programs {
		sol, f := p.Solve(), forms[k]
		got, _, err := lp.Simplex(f.c, f.a, f.b, 1e-10, nil)
		if sol.Status != polyhedra.Optimal {
			if !errors.Is(err, lp.ErrInfeasible) {
				t.Errorf("program %d: %v, %v by gonum, exactly none", k, got, err)
			}
			continue
		}
		if want := sol.Value.Float(); err != nil || math.Abs(got-want) > 1e-7*max(1, want) {
			t.Errorf("program %d: %v, %v by gonum, exactly %v", k, got, err, want)
		}
	}
	if len(programs) < 700 {
		t.Errorf("only %d programs", len(programs))
	}
}
