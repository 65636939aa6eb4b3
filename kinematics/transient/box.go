package transient

import "math"

// A box is the problem of one time step: the impulses x of n couplings, each
// between its bounds,
//
//	min  ½ xᵀD x + cᵀx    lo <= x <= hi
//
// with D = G M⁻¹ Gᵀ (n×n, the Delassus matrix) and c (n×1) the slips that the
// step would end with if no coupling acted. The gradient s = c + D x is the slip
// at the end of the step, so the conditions of the optimum are the laws of the
// couplings:
//
//	x at lo     s >= 0
//	x between   s  = 0
//	x at hi     s <= 0
//
// Bounds -C, C are friction, 0, ∞ a one-way clutch, -∞, ∞ a rigid coupling.
//
// It is solved by an active set [Stark and Parker 1995]: which couplings stick
// is carried from one step to the next, where it seldom changes, with the
// Cholesky factor of their part of D. Impulses that are not unique (couplings
// that share a load) are some optimum; the slips are unique always.
type box struct {
	n        int
	d        []float64 // n×n
	x, s     []float64 // n×1: impulses and slips
	lo, hi   []float64 // n×1: the bounds, set by the user before solve
	where    []place   // n×1
	free     []int     // couplings that stick, in the order of the factor
	factor   []float64 // lower Cholesky factor of D[free, free], rows of n
	factored int       // rows of factor that are right
	z        []float64 // scratch
	scale    float64   // the largest sum of absolute terms of a slip: below rounding·scale it is 0
}

// place says where an impulse lies between its bounds.
type place uint8

const (
	atLo place = iota
	between
	atHi
	// beside is a coupling without the bound that it would lie on, whose row
	// depends on those that stick: they hold it, and its impulse stays as it is.
	beside
)

const (
	// rounding bounds the relative error of a slip computed in floats.
	rounding = 1e-13
	// underflow is a slip below which floats lose their figures.
	underflow = 1e-290
	// dependent is the pivot, against the diagonal of D, below which a row is
	// taken as a combination of the rows that stick already. Rows of gear trains
	// are small fractions: they are combinations, or far from it.
	dependent = 1e-9
	// maxPivots ends a search that rounding keeps from ending. The residual of
	// the answer says how good it is in any case.
	maxPivots = 200
)

// newBox prepares the problem for rows (n rows of k): D = rows rowsᵀ, rows
// being G L⁻ᵀ with M = L Lᵀ.
func newBox(rows [][]float64) *box {
	n := len(rows)
	b := &box{n: n, d: make([]float64, n*n)}
	for _, v := range []*[]float64{&b.x, &b.s, &b.lo, &b.hi, &b.z} {
		*v = make([]float64, n)
	}
	b.where, b.factor = make([]place, n), make([]float64, n*n)
	for i, r := range rows {
		for j, q := range rows {
			b.d[i*n+j] = dot(r, q)
		}
	}
	return b
}

// solve finds x and s for the slips c, and says whether it could.
func (b *box) solve(c []float64) bool {
	b.settle()
	for pivots := range maxPivots {
		if !b.stick(c) {
			continue
		}
		b.slips(c)
		worst := b.worst(pivots > maxPivots/2)
		if worst < 0 {
			return true
		}
		if !b.release(worst) {
			return false
		}
	}
	return false
}

// settle brings the impulses of the last step between the bounds of this one.
func (b *box) settle() {
	for i := range b.n {
		lo, hi := b.lo[i], b.hi[i]
		switch {
		case b.where[i] == atLo && !math.IsInf(lo, 0), lo == hi:
			b.leave(i, atLo)
		case b.where[i] == atHi && !math.IsInf(hi, 0):
			b.leave(i, atHi)
		case b.where[i] != between:
			b.x[i] = min(max(b.x[i], lo), hi)
			if math.IsInf(b.x[i], 0) {
				b.x[i] = 0
			}
			if !b.enter(i) {
				b.where[i] = beside
			}
		default:
			b.x[i] = min(max(b.x[i], lo), hi)
		}
	}
}

// leave puts impulse i on a bound.
func (b *box) leave(i int, at place) {
	if b.where[i] == between {
		for k, f := range b.free {
			if f == i {
				b.free = append(b.free[:k], b.free[k+1:]...)
				b.factored = min(b.factored, k)
				break
			}
		}
	}
	b.where[i] = at
	if at == atLo {
		b.x[i] = b.lo[i]
	} else {
		b.x[i] = b.hi[i]
	}
}

// enter lets coupling i stick, unless its row depends on those that do.
func (b *box) enter(i int) bool {
	b.refactor()
	if b.extend(i) {
		b.free = append(b.free, i)
		b.factored++
		b.where[i] = between
		return true
	}
	return false
}

// extend writes the row of the factor that coupling i would add.
func (b *box) extend(i int) bool {
	m, n := b.factored, b.n
	row := b.factor[m*n : m*n+n]
	pivot := b.d[i*n+i]
	for k, f := range b.free[:m] {
		sum := b.d[i*n+f]
		other := b.factor[k*n : k*n+n]
		for j := range k {
			sum -= row[j] * other[j]
		}
		row[k] = sum / other[k]
		pivot -= row[k] * row[k]
	}
	if pivot <= dependent*b.d[i*n+i] {
		return false
	}
	row[m] = math.Sqrt(pivot)
	return true
}

// refactor brings the factor up to date with the free couplings.
func (b *box) refactor() {
	for b.factored < len(b.free) {
		if !b.extend(b.free[b.factored]) {
			panic("transient: couplings that stick became dependent")
		}
		b.factored++
	}
}

// substitute solves D[free, free] y = y in place.
func (b *box) substitute(y []float64) {
	n := b.n
	for k := range b.free {
		row := b.factor[k*n : k*n+k+1]
		sum := y[k]
		for j, v := range row[:k] {
			sum -= v * y[j]
		}
		y[k] = sum / row[k]
	}
	for k := len(b.free) - 1; k >= 0; k-- {
		sum := y[k]
		for j := k + 1; j < len(b.free); j++ {
			sum -= b.factor[j*n+k] * y[j]
		}
		y[k] = sum / b.factor[k*n+k]
	}
}

// stick moves the impulses of the sticking couplings to where all of them have
// slip 0, or as far as the first bound on the way; it says whether it arrived.
func (b *box) stick(c []float64) bool {
	b.refactor()
	z := b.z[:len(b.free)]
	for k, f := range b.free {
		z[k] = -c[f]
		row := b.d[f*b.n : f*b.n+b.n]
		for j, w := range b.where {
			if w != between {
				z[k] -= row[j] * b.x[j]
			}
		}
	}
	b.substitute(z)
	first, part := -1, 1.0
	for k, f := range b.free {
		var room float64
		switch {
		case z[k] < b.lo[f]:
			room = (b.lo[f] - b.x[f]) / (z[k] - b.x[f])
		case z[k] > b.hi[f]:
			room = (b.hi[f] - b.x[f]) / (z[k] - b.x[f])
		default:
			continue
		}
		if room < part || first < 0 {
			first, part = k, room
		}
	}
	if first < 0 {
		for k, f := range b.free {
			b.x[f] = z[k]
		}
		return true
	}
	at := atLo
	if z[first] > b.hi[b.free[first]] {
		at = atHi
	}
	for k, f := range b.free {
		b.x[f] = min(max(b.x[f]+part*(z[k]-b.x[f]), b.lo[f]), b.hi[f])
	}
	b.leave(b.free[first], at)
	return false
}

// slips computes s = c + D x, and the largest size of its terms.
func (b *box) slips(c []float64) {
	b.scale = 0
	for i := range b.n {
		sum, size := c[i], math.Abs(c[i])
		for j, v := range b.d[i*b.n : i*b.n+b.n] {
			sum += v * b.x[j]
			size += math.Abs(v * b.x[j])
		}
		b.s[i] = sum
		b.scale = max(b.scale, size)
	}
}

// off is by how much the slip of coupling i breaks the law of the coupling.
func (b *box) off(i int) float64 {
	switch {
	case b.lo[i] == b.hi[i]:
		return 0
	case b.where[i] == between, b.where[i] == beside:
		return math.Abs(b.s[i])
	case b.where[i] == atLo:
		return max(0, -b.s[i])
	}
	return max(0, b.s[i])
}

// worst returns the coupling on a bound whose law is broken most, or the first
// of them, which cannot cycle [Bland's rule]; -1 if none is.
func (b *box) worst(firstOne bool) int {
	worst, most := -1, rounding*b.scale+underflow
	for i := range b.n {
		if b.where[i] == between {
			continue
		}
		if off := b.off(i); off > most {
			worst, most = i, off
			if firstOne {
				break
			}
		}
	}
	return worst
}

// release takes coupling i from its bound. Where its row depends on those that
// stick, an exchange that leaves all slips as they are takes it inward until
// another coupling meets a bound.
func (b *box) release(i int) bool {
	if b.enter(i) {
		return true
	}
	n := b.n
	y := b.z[:len(b.free)]
	for k, f := range b.free {
		y[k] = b.d[i*n+f]
	}
	b.substitute(y)
	sign, room := 1.0, b.hi[i]-b.x[i] // the way in which x[i] moves, and how far it can
	if b.s[i] > 0 {
		sign, room = -1, b.x[i]-b.lo[i]
	}
	first, step := -1, room
	for k, f := range b.free {
		room = math.Inf(1)
		switch change := -sign * y[k]; {
		case change > dependent:
			room = (b.hi[f] - b.x[f]) / change
		case change < -dependent:
			room = (b.lo[f] - b.x[f]) / change
		}
		if room < step {
			first, step = k, room
		}
	}
	if math.IsInf(step, 0) {
		return false
	}
	for k, f := range b.free {
		b.x[f] = min(max(b.x[f]-sign*step*y[k], b.lo[f]), b.hi[f])
	}
	if first < 0 {
		if sign > 0 {
			b.leave(i, atHi)
		} else {
			b.leave(i, atLo)
		}
		return true
	}
	out, at := b.free[first], atLo
	if -sign*y[first] > 0 {
		at = atHi
	}
	x := b.x[i] + sign*step
	b.leave(out, at)
	b.refactor()
	b.x[i] = x
	return b.enter(i)
}

// residual is the length of the vector of all slips that break the law of
// their coupling.
func (b *box) residual() float64 {
	sum := 0.0
	for i := range b.n {
		off := b.off(i)
		sum += off * off
	}
	return math.Sqrt(sum)
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
