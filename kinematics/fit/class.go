package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"tieup/kinematics"
)

// A Class is one lever: all fits in which input, output and the elements of the chart turn
// alike in every motion, so that no ratio and no mark can tell them apart.
type Class struct {
	Fits []*Fitted
	// Freedoms is how many speeds of the lever can be chosen: a lever of two bars has 2.
	Freedoms int
}

// Classes groups fits by their lever, in their order.
func Classes(list []*Fitted) []Class {
	var classes []Class
	var levers []*lever
	for _, f := range list {
		v := f.lever()
		i := slices.IndexFunc(levers, func(w *lever) bool { return v.like(w) })
		if i < 0 {
			classes, levers = append(classes, Class{Freedoms: v.freedoms}), append(levers, v)
			i = len(classes) - 1
		}
		classes[i].Fits = append(classes[i].Fits, f)
	}
	return classes
}

// A lever is the space of motions of a train without its elements, seen at input, output
// and the slips of the elements: the projection onto it, with how far the box of a fit
// leaves it open.
type lever struct {
	freedoms int
	p, open  []float64
}

func (v *lever) like(w *lever) bool {
	if v.freedoms != w.freedoms || len(v.p) != len(w.p) {
		return false
	}
	for i := range v.p {
		if math.Abs(math.Abs(v.p[i])-math.Abs(w.p[i])) > v.open[i]+w.open[i]+1e-6 {
			return false
		}
	}
	return true
}

// lever finds the lever at the values of the fit and at the corners of its boxes.
func (f *Fitted) lever() *lever {
	v := &lever{}
	v.p, v.freedoms = f.project(f.values(nil))
	v.open = make([]float64, len(v.p))
	k := min(len(f.Unknowns), 8)
	for _, b := range f.Boxes {
		for m := range 1 << k {
			p, _ := f.project(f.values(func(i int) float64 {
				if i < k && m>>i&1 == 1 {
					return b[i].Max.Frac.Float()
				}
				return b[i].Min.Frac.Float()
			}))
			for i := range p {
				v.open[i] = max(v.open[i], math.Abs(math.Abs(p[i])-math.Abs(v.p[i])))
			}
		}
	}
	return v
}

// values are all basic ratios of the layout: those of the fit, or, for the unknowns, those
// that of gives.
func (f *Fitted) values(of func(i int) float64) []float64 {
	x := make([]float64, len(f.Layout.Ratios))
	for v, r := range f.Layout.Ratios {
		x[v] = r.Value.Float()
	}
	for i, v := range f.Unknowns {
		if v >= len(x) {
			continue
		}
		x[v] = f.At[i].Float()
		if of != nil {
			x[v] = of(i)
		}
	}
	return x
}

// project returns the projection onto the motions of input, output and the slips of the
// columns, and how many are independent.
func (f *Fitted) project(x []float64) (p []float64, freedoms int) {
	l := f.Layout
	n := l.bodies - 1
	a := mat.NewDense(max(1, len(l.rows)), n, nil)
	for i := range l.rows {
		addRow(&l.rows[i], a.RawRowView(i), x[l.rows[i].ratio])
	}
	seen := f.seen()
	s := mat.NewDense(len(seen), n, nil)
	for i, ends := range seen {
		for k, body := range ends {
			if body > 0 {
				s.Set(i, body-1, s.At(i, body-1)+float64(1-2*k))
			}
		}
	}
	motions := nullspace(a)
	if motions == nil {
		return make([]float64, len(seen)*len(seen)), 0
	}
	var m mat.Dense
	m.Mul(s, motions)
	return rangeOf(&m)
}

// seen are input, output and the elements of the columns, each as two bodies. One-way
// clutches beside elements say nothing new.
func (f *Fitted) seen() [][2]int {
	l := f.Layout
	list := [][2]int{{l.body[l.Train.Input], 0}, {l.body[l.Train.Output], 0}}
	for k, e := range f.Columns {
		if e >= 0 && !f.Beside[k] {
			list = append(list, [2]int{l.body[l.Train.Couplings[e].A], l.body[l.Train.Couplings[e].B]})
		} else if f.chart.Columns[k].Kind != OneWayColumn {
			list = append(list, [2]int{0, 0})
		}
	}
	return list
}

// nullspace returns a basis of the motions that rows allow, nil for none.
func nullspace(a *mat.Dense) *mat.Dense {
	_, n := a.Dims()
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDFullV) {
		return nil
	}
	rank := svd.Rank(1e-10)
	if rank == n {
		return nil
	}
	var v mat.Dense
	svd.VTo(&v)
	return mat.DenseCopyOf(v.Slice(0, n, rank, n))
}

// rangeOf returns the projection onto the columns of a matrix, row by row, and its rank.
func rangeOf(m *mat.Dense) (p []float64, rank int) {
	n, _ := m.Dims()
	p = make([]float64, n*n)
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDThin) {
		return p, 0
	}
	var u mat.Dense
	svd.UTo(&u)
	for k, s := range svd.Values(nil) {
		if s < 1e-9 {
			continue
		}
		rank++
		for i := range n {
			for j := range n {
				p[i*n+j] += u.At(i, k) * u.At(j, k)
			}
		}
	}
	return p, rank
}

// A Telling is what tells a layout of a class apart from the others.
type Telling struct {
	Layout *Layout
	Sets   []kinematics.Kind // its gearsets, of which each is a part in hand
	// Row and Member are a range of the chart in which a member of this layout turns at a
	// speed that no member of the others has; Row is -1 if there is none.
	Row    int
	Member kinematics.MemberID
	Speed  float64 // per turn of the input
}

// Tell says what tells the layouts of a class apart.
func (c Class) Tell() []Telling {
	speeds := kinematics.Map(c.Fits, (*Fitted).speeds)
	var list []Telling
	for i, f := range c.Fits {
		t := Telling{Layout: f.Layout, Row: -1}
		for _, g := range f.Layout.Train.Gearsets {
			t.Sets = append(t.Sets, g.Kind)
		}
		if len(c.Fits) > 1 {
			f.findOwn(&t, i, speeds)
		}
		list = append(list, t)
	}
	return list
}

// findOwn finds a member whose speed in some row no other layout has.
func (f *Fitted) findOwn(t *Telling, own int, speeds [][][]float64) {
	for r := range f.Rows {
		for m, w := range speeds[own][r] {
			if math.IsNaN(w) || f.Layout.body[m] == 0 || f.Layout.Train.Members[m].Kind == kinematics.JointHub {
				continue
			}
			unique := true
			for i, other := range speeds {
				if i != own && r < len(other) && slices.ContainsFunc(other[r],
					func(x float64) bool { return math.Abs(x-w) < 0.02 }) {
					unique = false
				}
			}
			if unique {
				t.Row, t.Member, t.Speed = f.Rows[r].Row, kinematics.MemberID(m), w
				return
			}
		}
	}
}

// speeds are those of all members in every row, per turn of the input; NaN where a row
// leaves them open.
func (f *Fitted) speeds() [][]float64 {
	var list [][]float64
	l := f.Layout
	x := f.values(nil)
	for _, r := range f.Rows {
		row := make([]float64, len(l.Train.Members))
		for m := range row {
			row[m] = math.NaN()
			switch body := l.body[m]; {
			case body < 0:
			case body == 0:
				row[m] = 0
			default:
				if q, ok := l.quotient(r.Locked, l.Train.Input, kinematics.MemberID(m)); ok {
					if v := q.at(x, nil); v != 0 {
						row[m] = 1 / v
					}
				}
			}
		}
		list = append(list, row)
	}
	return list
}
