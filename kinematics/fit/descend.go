package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// A descent fits unknowns to printed ratios by the method of Levenberg and Marquardt
// [Marquardt 1963], on the logarithms of both.
type descent struct {
	rows   []quotient
	target []float64
	start  box
}

// from descends from a point and returns where it ends with the greatest relative
// deviation there, which is infinite where a ratio has another sign.
func (d *descent) from(x []float64) (at []float64, worst float64) {
	k := len(x)
	x = slices.Clone(x)
	r, jac := d.residuals(x)
	lambda := 1e-2
	for range 60 {
		cost := norm(r)
		if cost < 1e-24 {
			break
		}
		var step mat.VecDense
		a, g := normal(r, jac, k, lambda)
		if step.SolveVec(a, g) != nil {
			break
		}
		next := make([]float64, k)
		for v := range next {
			next[v] = x[v] * math.Exp(min(max(-step.AtVec(v), -0.5), 0.5))
			next[v] = min(max(next[v], d.start.lo[v]), d.start.hi[v])
		}
		rn, jn := d.residuals(next)
		switch c := norm(rn); {
		case c < cost:
			small := c > cost*(1-1e-9)
			x, r, jac, lambda = next, rn, jn, lambda/5
			if small {
				return x, greatest(r)
			}
		case lambda > 1e8:
			return x, greatest(r)
		default:
			lambda *= 4
		}
	}
	return x, greatest(r)
}

// residuals are ratio / printed - 1, with their slopes by the logarithms of the unknowns.
func (d *descent) residuals(x []float64) (r []float64, jac [][]float64) {
	for i, q := range d.rows {
		slope := make([]float64, len(x))
		ratio := q.at(x, slope)
		e := ratio/d.target[i] - 1
		if math.IsNaN(e) || math.IsInf(e, 0) {
			e = 1e6
		}
		for v := range slope {
			slope[v] *= x[v] / d.target[i]
			if math.IsNaN(slope[v]) || math.IsInf(slope[v], 0) {
				slope[v] = 0
			}
		}
		r, jac = append(r, e), append(jac, slope)
	}
	return r, jac
}

func normal(r []float64, jac [][]float64, k int, lambda float64) (*mat.SymDense, *mat.VecDense) {
	a, g := mat.NewSymDense(k, nil), mat.NewVecDense(k, nil)
	for i, e := range r {
		for v := range k {
			g.SetVec(v, g.AtVec(v)+jac[i][v]*e)
			for w := v; w < k; w++ {
				a.SetSym(v, w, a.At(v, w)+jac[i][v]*jac[i][w])
			}
		}
	}
	for v := range k {
		a.SetSym(v, v, a.At(v, v)*(1+lambda)+1e-12)
	}
	return a, g
}

func norm(r []float64) float64 {
	sum := 0.0
	for _, e := range r {
		sum += e * e
	}
	return sum
}

func greatest(r []float64) float64 {
	worst := 0.0
	for _, e := range r {
		worst = max(worst, math.Abs(e))
	}
	return worst
}

// starts are points spread evenly over a box by the golden ratio's generalisation to more
// dimensions, on the logarithms of the unknowns.
func starts(b box, n int) [][]float64 {
	k := len(b.lo)
	g := 2.0
	for range 40 {
		g = math.Pow(1+g, 1/float64(k+1))
	}
	list := make([][]float64, n)
	for i := range list {
		x := make([]float64, k)
		for v := range x {
			_, part := math.Modf(0.5 + float64(i+1)/math.Pow(g, float64(v+1)))
			// Most sets have ratios near the lower end.
			x[v] = b.lo[v] * math.Pow(b.hi[v]/b.lo[v], part*0.6+0.05)
			x[v] = min(max(x[v], b.lo[v]), b.hi[v])
		}
		list[i] = x
	}
	return list
}
