package transient

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/combin"
)

// torques returns the bounds of the mean torque of every row over the last
// sample. They are one number but for rows that stuck all the time and whose
// slips are not independent: such couplings can pass load to one another along
// the null vectors v of their rows, Σ v_i g_i = 0, without any other sign of it.
//
// The bounds are taken over all ways to carry the load without strain of the
// couplings against each other: none of them could carry less without another
// carrying more.
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
	parts, seen := a.shared[string(key)]
	if !seen {
		parts = newSharings(a.rows, stuck)
		a.shared[string(key)] = parts
	}
	for _, p := range parts {
		if p.many() {
			a.run.OneWay = true
			continue
		}
		p.x, p.lo, p.hi = p.x[:0], p.lo[:0], p.hi[:0]
		for _, i := range p.chosen {
			v := a.laws[i].at(t)
			p.x = append(p.x, least[i])
			p.lo, p.hi = append(p.lo, min(v.lo, least[i])), append(p.hi, max(v.hi, least[i]))
		}
		lo, hi := p.bounds()
		for k, i := range p.chosen {
			least[i], most[i] = lo[k], hi[k]
		}
	}
	return least, most
}

// A sharing is the set of torques x + Σ t_d null_d between lo and hi, over couplings
// that can pass load to each other.
type sharing struct {
	chosen    []int       // their rows
	null      [][]float64 // a basis
	circuits  [][]float64 // the null vectors of fewest couplings, one sense of each
	x, lo, hi []float64
	rows      [][]float64 // scratch
	last      shared
}

// shared keeps the last bounds: at rest they are asked for again and again.
type shared struct{ x, lo, hi, least, most []float64 }

// maxCorners bounds the search for bounds.
const maxCorners = 3000

// many says that there are more points to look at than can be.
func (p *sharing) many() bool { return binomial(len(p.chosen), len(p.null)) > maxCorners }

// newSharings finds how the chosen rows depend on each other: a sharing for each set of
// them within which load can be passed, and to no other.
func newSharings(rows [][]float64, chosen []int) []*sharing {
	null := nullRows(rows, chosen)
	reduce(null)
	var parts []*sharing
	for len(null) > 0 {
		// The vectors that hang together with the first, by couplings of which both take.
		var own [][]float64
		takes := make([]bool, len(chosen))
		for own, null = null[:1:1], null[1:]; ; {
			for _, v := range own {
				for i, x := range v {
					takes[i] = takes[i] || x != 0
				}
			}
			apart := func(v []float64) bool {
				for i, x := range v {
					if x != 0 && takes[i] {
						return false
					}
				}
				return true
			}
			rest := slices.DeleteFunc(slices.Clone(null), func(v []float64) bool { return !apart(v) })
			if len(rest) == len(null) {
				break
			}
			own = append(own, slices.DeleteFunc(slices.Clone(null), apart)...)
			null = rest
		}
		part := &sharing{}
		for i, in := range takes {
			if in {
				part.chosen = append(part.chosen, chosen[i])
			}
		}
		for _, v := range own {
			var short []float64
			for i, in := range takes {
				if in {
					short = append(short, v[i])
				}
			}
			part.null = append(part.null, short)
		}
		part.findCircuits()
		parts = append(parts, part)
	}
	return parts
}

// reduce brings vectors into the form in which each has a place of its own, where all
// others are 0: then those that hang together share places.
func reduce(vectors [][]float64) {
	for k, v := range vectors {
		pivot := 0
		for i, x := range v {
			if math.Abs(x) > math.Abs(v[pivot]) {
				pivot = i
			}
		}
		by := v[pivot]
		if by == 0 {
			continue
		}
		for i := range v {
			v[i] /= by
		}
		for o, w := range vectors {
			if f := w[pivot]; o != k && f != 0 {
				for i := range w {
					w[i] -= f * v[i]
					if math.Abs(w[i]) < 1e-9 {
						w[i] = 0
					}
				}
			}
		}
	}
}

// findCircuits lists the null vectors of fewest couplings, none where they are too many.
func (p *sharing) findCircuits() {
	d, chosen := len(p.null), p.chosen
	if binomial(len(chosen), d-1) > maxCorners {
		return
	}
	// A circuit is the null vector that is zero at d-1 places.
	zero := make([]int, d-1)
	for g := combin.NewCombinationGenerator(len(chosen), d-1); g.Next(); {
		v := mat.NewDense(max(1, d-1), d, nil)
		for r, i := range g.Combination(zero) {
			for c, n := range p.null {
				v.Set(r, c, n[i])
			}
		}
		t := nullVector(v)
		if t == nil {
			continue // these places do not determine it
		}
		circuit := make([]float64, len(chosen))
		size := 0.0
		for i := range circuit {
			for c, n := range p.null {
				circuit[i] += t[c] * n[i]
			}
			size = max(size, math.Abs(circuit[i]))
		}
		for i, x := range circuit {
			if math.Abs(x) < 1e-9*size {
				circuit[i] = 0
			}
		}
		p.circuits = append(p.circuits, circuit)
	}
}

// nullRows returns a basis of the vectors v over the chosen rows g with
// Σ v_i g_i = 0.
func nullRows(rows [][]float64, chosen []int) [][]float64 {
	if len(chosen) == 0 {
		return nil
	}
	size := make([]float64, len(chosen))
	g := mat.NewDense(len(rows[0]), len(chosen), nil)
	for j, i := range chosen {
		size[j] = math.Sqrt(dot(rows[i], rows[i]))
		for r, v := range rows[i] {
			g.Set(r, j, v/size[j])
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
		for k := range chosen {
			if math.Abs(v.At(k, j)) > 1e-9 {
				vector[k] = v.At(k, j) / size[k]
			}
		}
		null = append(null, vector)
	}
	return null
}

// nullVector returns the vector that m makes zero, nil unless there is one.
func nullVector(m *mat.Dense) []float64 {
	_, n := m.Dims()
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDFullV) || mat.Norm(m, 2) > 0 && svd.Rank(1e-9) != n-1 || mat.Norm(m, 2) == 0 && n != 1 {
		return nil
	}
	var v mat.Dense
	svd.VTo(&v)
	return mat.Col(nil, n-1, &v)
}

// A corner is a torque that is put on one of its planes.
type corner struct {
	i int
	x float64
}

// bounds returns the bounds over the set without strain. Without limits they are
// those over its basic points, at which as many torques as it has dimensions are
// nothing: no torque without strain is larger than at one of them. A limit matters
// only if a basic point is beyond it, and then the bounds are those over all points
// at which so many torques are nothing or at such a limit. Where these are too many,
// the bounds are those of the basic points, cut off at the limits.
func (p *sharing) bounds() (least, most []float64) {
	if slices.Equal(p.x, p.last.x) && slices.Equal(p.lo, p.last.lo) && slices.Equal(p.hi, p.last.hi) {
		return p.last.least, p.last.most
	}
	size := 0.0
	for _, x := range p.x {
		size = max(size, math.Abs(x))
	}
	slack := 1e-9 * size
	var planes []corner
	for i := range p.x {
		if slices.ContainsFunc(p.null, func(v []float64) bool { return v[i] != 0 }) {
			planes = append(planes, corner{i, 0})
		}
	}
	least, most = p.over(planes, func([]float64) bool { return true })
	basic := len(planes)
	for i := range p.x {
		if least[i] < p.lo[i]-slack {
			planes = append(planes, corner{i, p.lo[i]})
		}
		if most[i] > p.hi[i]+slack {
			planes = append(planes, corner{i, p.hi[i]})
		}
		least[i], most[i] = max(least[i], p.lo[i]), min(most[i], p.hi[i])
	}
	if p.circuits != nil && len(planes) > basic && binomial(len(planes), len(p.null)) <= maxCorners {
		least, most = p.over(planes, func(at []float64) bool {
			for i, x := range at {
				if x < p.lo[i]-slack || x > p.hi[i]+slack {
					return false
				}
			}
			return !p.strained(at, slack)
		})
	}
	p.last = shared{slices.Clone(p.x), slices.Clone(p.lo), slices.Clone(p.hi), least, most}
	return least, most
}

// over returns the bounds over the points where planes meet that are in the set.
func (p *sharing) over(planes []corner, in func([]float64) bool) (least, most []float64) {
	least, most = slices.Clone(p.x), slices.Clone(p.x)
	at := make([]float64, len(p.x))
	first := true
	chosen := make([]int, len(p.null))
	for g := combin.NewCombinationGenerator(len(planes), len(p.null)); g.Next(); {
		if !p.meet(planes, g.Combination(chosen), at) || !in(at) {
			continue
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
	return least, most
}

// meet writes the point where the chosen planes meet into at, if they do.
func (p *sharing) meet(planes []corner, chosen []int, at []float64) bool {
	d := len(p.null)
	if len(p.rows) != d {
		p.rows = make([][]float64, d)
		for r := range p.rows {
			p.rows[r] = make([]float64, d+1)
		}
	}
	for r, c := range chosen {
		pl := planes[c]
		for k, v := range p.null {
			p.rows[r][k] = v[pl.i]
		}
		p.rows[r][d] = pl.x - p.x[pl.i]
	}
	if !eliminate(p.rows) {
		return false
	}
	for i := range at {
		at[i] = p.x[i]
		for k, v := range p.null {
			at[i] += p.rows[k][d] * v[i]
		}
	}
	return true
}

// eliminate solves d equations of d+1 columns in place, the solution being the
// last column; it says whether there is one. The tiny systems of the corners are
// many, and a factorisation of gonum's costs ten times as much.
func eliminate(rows [][]float64) bool {
	d := len(rows)
	for k := range d {
		pivot := k
		for r := k + 1; r < d; r++ {
			if math.Abs(rows[r][k]) > math.Abs(rows[pivot][k]) {
				pivot = r
			}
		}
		rows[k], rows[pivot] = rows[pivot], rows[k]
		if math.Abs(rows[k][k]) < 1e-9 {
			return false
		}
		for c := d; c >= k; c-- {
			rows[k][c] /= rows[k][k]
		}
		for r := range d {
			if r == k {
				continue
			}
			for c := d; c >= k; c-- {
				rows[r][c] -= rows[r][k] * rows[k][c]
			}
		}
	}
	return true
}

// strained says whether some couplings of at push against each other: whether a
// circuit could be taken from it that all of them would carry less by.
func (p *sharing) strained(at []float64, slack float64) bool {
	for _, v := range p.circuits {
		for _, sense := range []float64{1, -1} {
			against := true
			for i, x := range v {
				against = against && (x == 0 || sense*x*at[i] > 0 && math.Abs(at[i]) > slack)
			}
			if against {
				return true
			}
		}
	}
	return false
}

func binomial(n, k int) float64 {
	b := 1.0
	for j := range k {
		b *= float64(n-j) / float64(j+1)
	}
	return b
}
