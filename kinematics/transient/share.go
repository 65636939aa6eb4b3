package transient

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// torques returns the bounds of the mean torque of every row over the last
// sample. They are one number but for rows that stuck all the time and whose
// slips are not independent: such couplings can pass load to one another along
// the null vectors v of their rows, Σ v_i g_i = 0, without any other sign of it.
//
// The bounds are taken over the ways in which a statically determinate part of
// them carries the load, the others carrying nothing or all they can.
func (a *player) torques(t, span float64) (least, most []float64) {
	n := len(a.rows)
	least, most = make([]float64, n), make([]float64, n)
	key := make([]byte, 0, n)
	var stuck []int
	for i, x := range a.impulse {
		least[i] = x / span
		most[i] = least[i]
		if !a.moved[i] && a.laws[i].at(t) != open {
			stuck, key = append(stuck, i), append(key, byte(i))
		}
	}
	null, seen := a.shared[string(key)]
	if !seen {
		null = nullRows(a.rows, stuck)
		a.shared[string(key)] = null
	}
	if len(null) == 0 {
		return least, most
	}
	p := sharing{null: null}
	for _, i := range stuck {
		v := a.laws[i].at(t)
		p.x = append(p.x, least[i])
		p.lo, p.hi = append(p.lo, min(v.lo, least[i])), append(p.hi, max(v.hi, least[i]))
	}
	lo, hi := p.bounds()
	for k, i := range stuck {
		least[i], most[i] = lo[k], hi[k]
	}
	return least, most
}

// nullRows returns a basis of the vectors v over the chosen rows g with
// Σ v_i g_i = 0.
func nullRows(rows [][]float64, chosen []int) [][]float64 {
	if len(chosen) == 0 {
		return nil
	}
	g := mat.NewDense(len(rows[0]), len(chosen), nil)
	for j, i := range chosen {
		size := math.Sqrt(dot(rows[i], rows[i]))
		for r, v := range rows[i] {
			g.Set(r, j, v/size)
		}
	}
	var svd mat.SVD
	if !svd.Factorize(g, mat.SVDFull) {
		return nil
	}
	var v mat.Dense
	svd.VTo(&v)
	var null [][]float64
	for j := svd.Rank(1e-9); j < len(chosen); j++ {
		vector := make([]float64, len(chosen))
		for k, i := range chosen {
			x := v.At(k, j) / math.Sqrt(dot(rows[i], rows[i]))
			if math.Abs(v.At(k, j)) > 1e-9 {
				vector[k] = x
			}
		}
		null = append(null, vector)
	}
	return null
}

// A sharing is the set of torques x + Σ t_d null_d between lo and hi.
type sharing struct {
	null      [][]float64
	x, lo, hi []float64
}

// maxCorners bounds the search for bounds.
const maxCorners = 20_000

// bounds returns the bounds over the corners of the set: points at which as
// many torques as it has dimensions are nothing or at a limit. Where these are
// too many, the limits of each coupling are its bounds.
func (p *sharing) bounds() (least, most []float64) {
	n, d := len(p.x), len(p.null)
	least, most = append([]float64(nil), p.x...), append([]float64(nil), p.x...)
	type plane struct {
		i int
		x float64
	}
	var planes []plane
	for i := range p.x {
		moves := false
		for _, v := range p.null {
			moves = moves || v[i] != 0
		}
		if !moves {
			continue
		}
		for _, x := range []float64{0, p.lo[i], p.hi[i]} {
			if !math.IsInf(x, 0) && (x != 0 || p.lo[i] <= 0 && p.hi[i] >= 0) {
				planes = append(planes, plane{i, x})
			}
		}
	}
	corners := 1.0
	for j := range d {
		corners *= float64(len(planes)-j) / float64(j+1)
	}
	if corners > maxCorners {
		for _, pl := range planes {
			least[pl.i], most[pl.i] = p.lo[pl.i], p.hi[pl.i]
		}
		return least, most
	}
	size := 0.0
	for _, x := range p.x {
		size = max(size, math.Abs(x))
	}
	slack := 1e-9 * size
	first := true
	chosen := make([]plane, 0, d)
	var pick func(from int)
	pick = func(from int) {
		if len(chosen) < d {
			for j := from; j < len(planes); j++ {
				chosen = append(chosen, planes[j])
				pick(j + 1)
				chosen = chosen[:len(chosen)-1]
			}
			return
		}
		a, b, t := mat.NewDense(d, d, nil), mat.NewVecDense(d, nil), mat.NewVecDense(d, nil)
		for r, pl := range chosen {
			for c, v := range p.null {
				a.Set(r, c, v[pl.i])
			}
			b.SetVec(r, pl.x-p.x[pl.i])
		}
		if err := t.SolveVec(a, b); err != nil {
			return // no corner: these torques do not determine the others
		}
		at := make([]float64, n)
		for i := range at {
			at[i] = p.x[i]
			for c, v := range p.null {
				at[i] += t.AtVec(c) * v[i]
			}
			if at[i] < p.lo[i]-slack || at[i] > p.hi[i]+slack {
				return
			}
		}
		for i, x := range at {
			if first || x < least[i] {
				least[i] = x
			}
			if first || x > most[i] {
				most[i] = x
			}
		}
		first = false
	}
	pick(0)
	return least, most
}
