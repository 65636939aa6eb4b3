package transient

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawBox draws rows of small whole numbers, among them copies and sums of
// others, and bounds of every kind: friction, one-way, rigid, open.
func drawBox(t *rapid.T) (rows [][]float64, lo, hi []float64) {
	k := rapid.IntRange(1, 4).Draw(t, "k")
	n := rapid.IntRange(1, 7).Draw(t, "n")
	inf := math.Inf(1)
	for i := range n {
		r := make([]float64, k)
		if i > 1 && rapid.IntRange(0, 3).Draw(t, "sum") == 0 {
			for j := range r {
				r[j] = rows[i-1][j] - rows[i-2][j]
			}
		} else {
			for j := range r {
				r[j] = float64(rapid.IntRange(-3, 3).Draw(t, "g"))
			}
		}
		if dot(r, r) == 0 {
			r[0] = 1
		}
		rows = append(rows, r)
		c := rapid.Float64Range(0, 5).Draw(t, "C")
		b := [][2]float64{{-c, c}, {-c, c}, {0, inf}, {-inf, 0}, {-inf, inf}, {0, 0}, {0, c}}[rapid.IntRange(0, 6).Draw(t, "kind")]
		lo, hi = append(lo, b[0]), append(hi, b[1])
	}
	return rows, lo, hi
}

// The conditions of the optimum hold, to rounding, for impulses that lie
// between their bounds exactly: for a convex problem they prove the optimum.
// Several steps with changing bounds and slips start from one another.
func TestBoxOptimum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, lo, hi := drawBox(t)
		b := newBox(rows)
		for range 4 {
			share := rapid.Float64Range(0, 1).Draw(t, "share")
			for i := range lo {
				b.lo[i], b.hi[i] = lo[i], hi[i]
				if !math.IsInf(lo[i], 0) && !math.IsInf(hi[i], 0) {
					b.lo[i], b.hi[i] = share*lo[i], share*hi[i]
				}
			}
			yf := make([]float64, len(rows[0]))
			for j := range yf {
				yf[j] = rapid.Float64Range(-10, 10).Draw(t, "y")
			}
			c := make([]float64, len(rows))
			for i, r := range rows {
				c[i] = dot(r, yf)
			}
			if !b.solve(c) {
				t.Fatalf("not solved: rows %v lo %v hi %v c %v", rows, b.lo, b.hi, c)
			}
			y := append([]float64(nil), yf...)
			for i, r := range rows {
				if b.x[i] < b.lo[i] || b.x[i] > b.hi[i] {
					t.Fatalf("impulse %g outside %g..%g", b.x[i], b.lo[i], b.hi[i])
				}
				for j := range y {
					y[j] += r[j] * b.x[i]
				}
			}
			for i, r := range rows {
				s, tol := dot(r, y), 1e-9
				switch {
				case b.lo[i] == b.hi[i]:
				case b.x[i] == b.lo[i] && s < -tol, b.x[i] == b.hi[i] && s > tol,
					b.x[i] > b.lo[i] && b.x[i] < b.hi[i] && math.Abs(s) > tol:
					t.Fatalf("row %d %v: slip %g with impulse %g of %g..%g", i, r, s, b.x[i], b.lo[i], b.hi[i])
				}
			}
		}
	})
}

// The bound on what wrong slips do to speeds holds for random errors in them.
func TestSteepest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, lo, hi := drawBox(t)
		k, bound := len(rows[0]), steepest(rows)
		speeds := func(yf, delta []float64) []float64 {
			b := newBox(rows)
			copy(b.lo, lo)
			copy(b.hi, hi)
			c := make([]float64, len(rows))
			for i, r := range rows {
				c[i] = dot(r, yf) - delta[i]
			}
			if !b.solve(c) {
				t.Skip("errors in rigid rows contradict each other")
			}
			y := append([]float64(nil), yf...)
			for i, r := range rows {
				for j := range y {
					y[j] += r[j] * b.x[i]
				}
			}
			for i, r := range rows {
				if b.lo[i] < b.hi[i] && b.where[i] == between && math.Abs(dot(r, y)-delta[i]) > 1e-9 {
					t.Skip("errors in rigid rows contradict each other")
				}
			}
			return y
		}
		yf, z := make([]float64, k), make([]float64, len(rows))
		for j := range yf {
			yf[j] = rapid.Float64Range(-10, 10).Draw(t, "y")
		}
		delta := make([]float64, len(rows))
		for i := range delta {
			if !math.IsInf(lo[i], 0) || !math.IsInf(hi[i], 0) {
				delta[i] = rapid.Float64Range(-1, 1).Draw(t, "delta")
			}
		}
		exact, wrong := speeds(yf, z), speeds(yf, delta)
		d := 0.0
		for j := range exact {
			d += (exact[j] - wrong[j]) * (exact[j] - wrong[j])
		}
		if size := math.Sqrt(dot(delta, delta)); math.Sqrt(d) > bound*size+1e-9 {
			t.Fatalf("slips wrong by %g move the speeds by %g, more than %g times", size, math.Sqrt(d), bound)
		}
	})
}
