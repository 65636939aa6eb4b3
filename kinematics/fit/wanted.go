package fit

import (
	"cmp"
	"container/heap"
	"context"
	"fmt"
	"math"
	"math/big"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A WantedQuestion asks for tooth counts of a layout that come near wanted ratios.
type WantedQuestion struct {
	Layout *Layout
	Wanted []exact.Frac // input / output in the vehicle's sense: below 0 for reverse
	Within exact.Frac   // the greatest relative deviation
	// Low and High bound the teeth of every gear.
	Low, High int64
	// Module bounds the module of every set in mm, and Outer the diameter in mm that its
	// largest gear may have; all 0 for none.
	LeastModule, MostModule, Outer float64
	Most                           int // boxes to look at, 0 for the usual number
}

// mostWanted is the usual number of boxes of a search for wanted ratios.
const mostWanted = 400_000

// A Wanted is the tooth counts that come nearest wanted ratios: of any two, each is better
// in one thing, the worst deviation or the evenness of the steps.
type Wanted struct {
	Found []WantedTeeth // the least deviation first
	Rows  []int         // ranges of the layout, parallel to WantedTeeth.Ratios, the greatest first
	Cut   bool
	// Proved is the deviation below which nothing is missing where the search was cut; where
	// nothing was found, the least deviation that there can be.
	Proved float64
	Boxes  int
}

// A WantedTeeth is one set of tooth counts.
type WantedTeeth struct {
	Teeth     []Teeth
	Ratios    []exact.Frac
	Deviation exact.Frac // of the worst ratio, relative
	// Uneven is by how much the least even neighbouring steps differ, relative: 0 where
	// each step from one forward ratio to the next is the same.
	Uneven  exact.Frac
	Modules []SetModule
}

// A SetModule is the largest module of the standard series that a set has room for.
type SetModule struct {
	Gearset string
	Module  float64
}

// modules is the preferred series of ISO 54 (from memory), mm.
var modules = []float64{1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25}

// A wantedSearch goes through boxes of basic ratios, the one that may come nearest first.
type wantedSearch struct {
	q    WantedQuestion
	f    *Fitted // the unknowns, as in a fit
	s    *search
	rows []wantedRow
	sets []toothSet
	out  Wanted
	x    []*big.Rat
	near []float64 // x in floats
	open wantedQueue
}

type wantedRow struct {
	band
	wanted  exact.Frac // the zero Frac where no ratio is wanted
	forward bool
}

type wantedBox struct {
	box
	deviation, uneven float64 // nothing in the box is better
}

type wantedQueue []wantedBox

func (q wantedQueue) Len() int           { return len(q) }
func (q wantedQueue) Less(i, j int) bool { return q[i].deviation < q[j].deviation }
func (q wantedQueue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *wantedQueue) Push(x any)        { *q = append(*q, x.(wantedBox)) }
func (q *wantedQueue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

// FindWanted searches for tooth counts. When ctx ends it returns the best so far.
func FindWanted(ctx context.Context, q WantedQuestion) (*Wanted, error) {
	w := &wantedSearch{q: q}
	if w.q.Most == 0 {
		w.q.Most = mostWanted
	}
	if err := w.setRows(); err != nil {
		return nil, err
	}
	if err := w.setSets(); err != nil {
		return nil, err
	}
	w.run(ctx)
	return &w.out, nil
}

// setRows finds which range each wanted ratio is: in order, as many as the layout has.
func (w *wantedSearch) setRows() error {
	l := w.q.Layout
	w.f = &Fitted{Layout: l, chart: &Chart{}}
	for _, reverse := range []bool{false, true} {
		var wanted []exact.Frac
		for _, x := range w.q.Wanted {
			if (x.Sign() < 0) == reverse {
				wanted = append(wanted, x)
			}
		}
		kinematics.Sort(wanted, func(a, b exact.Frac) int { return b.Abs().Cmp(a.Abs()) })
		groups := l.groups(reverse)
		if len(wanted) != len(groups) && !(reverse && len(wanted) == 0) {
			return fmt.Errorf("%s has %s: give as many ratios, below 0 for reverse", l.Train.Name, l.gearCount())
		}
		for i, g := range groups {
			r := &l.Train.Ranges[l.ranges[g[0]].index]
			quotient, ok := l.quotient(l.ranges[g[0]].locked, r.Input, r.Output)
			if !ok {
				return fmt.Errorf("%s: %s has no ratio of its own", l.Train.Name, r.Name)
			}
			row := wantedRow{forward: !reverse}
			row.quotient, row.row = l.vehicle(quotient), l.ranges[g[0]].index
			if len(wanted) > 0 {
				row.wanted = wanted[i]
			}
			w.rows = append(w.rows, row)
			w.out.Rows = append(w.out.Rows, row.row)
		}
	}
	return w.setUnknowns()
}

// gearCount says how many ratios a layout has: "8 forward ranges and 1 reverse".
func (l *Layout) gearCount() string {
	return fmt.Sprintf("%s and %d reverse", kinematics.Count(len(l.groups(false)), "forward range"), len(l.groups(true)))
}

// setUnknowns finds the basic ratios that the wanted ratios depend on, and sees that those
// on which none depends are as wanted.
func (w *wantedSearch) setUnknowns() error {
	depends := 0
	for i := range w.rows {
		depends |= w.rows[i].depends()
	}
	w.f.Unknowns = members(depends)
	var bands []band
	for i := range w.rows {
		r := &w.rows[i]
		r.quotient = r.pick(w.f.Unknowns)
		if r.wanted == (exact.Frac{}) {
			continue
		}
		off := r.wanted.Abs().Mul(w.q.Within)
		r.low, r.high = r.wanted.Sub(off), r.wanted.Add(off)
		switch {
		case r.depends() != 0:
			bands = append(bands, r.band)
		case !r.allows(nil):
			return fmt.Errorf("%s: %s has the ratio %s whatever the teeth are", w.q.Layout.Train.Name,
				w.q.Layout.Train.Ranges[r.row].Name, exact.FromRat(r.ratio(nil)))
		}
	}
	w.s = newSearch(bands, w.f.startBox())
	w.x, w.near = make([]*big.Rat, len(w.f.Unknowns)), make([]float64, len(w.f.Unknowns))
	return nil
}

// setSets lists the teeth of every set that have room.
func (w *wantedSearch) setSets() error {
	start := w.s.start.clone()
	if !w.s.contract(start) {
		return nil
	}
	w.f.Boxes = []Box{w.f.exactBox(start)}
	t := &toothSearch{fit: w.f, ask: TeethQuestion{Low: w.q.Low, High: w.q.High}}
	t.findSets()
	if len(t.out.Stepped) > 0 {
		return fmt.Errorf("%s: steps of %s can be cut in too many ways", w.q.Layout.Train.Name,
			kinematics.And(t.out.Stepped))
	}
	for _, set := range t.sets {
		for i := range set.options {
			o := &set.options[i]
			o.teeth = slices.DeleteFunc(o.teeth, func(c Candidate) bool { return !w.hasRoom(set.gearset, c.Teeth) })
			slices.SortFunc(o.teeth, func(a, b Candidate) int { return cmp.Compare(a.Sum, b.Sum) })
		}
		set.options = slices.DeleteFunc(set.options, func(o toothOption) bool { return len(o.teeth) == 0 })
		slices.SortFunc(set.options, func(a, b toothOption) int { return cmp.Compare(a.floats[0], b.floats[0]) })
		w.sets = append(w.sets, set)
	}
	return nil
}

// hasRoom says whether a set fits the outer diameter with the least module: the root of a
// ring at (z + 2.5) modules, the tips of other gears at (z + 2).
func (w *wantedSearch) hasRoom(set int, teeth []Teeth) bool {
	return w.q.Outer == 0 || w.q.LeastModule*w.across(set, teeth) <= w.q.Outer
}

// across is the diameter of the largest gear of a set in modules.
func (w *wantedSearch) across(set int, teeth []Teeth) float64 {
	g := &w.q.Layout.Train.Gearsets[set]
	most := 0.0
	for _, t := range teeth {
		for _, x := range g.Gears {
			if t.Member != g.Name+"."+x.Part {
				continue
			}
			d := float64(t.Count) + 2
			if x.Internal {
				d += 0.5
			}
			most = max(most, d)
		}
	}
	return most
}

// run takes the box that may come nearest until nothing is left that may be better.
func (w *wantedSearch) run(ctx context.Context) {
	if len(w.sets) == 0 {
		w.out.Proved = w.q.Within.Float()
		return
	}
	w.push(w.s.start.clone())
	solve.Report(ctx, "boxes", 0, w.q.Most)
	defer solve.Report(ctx, "boxes", w.q.Most, w.q.Most)
	for len(w.open) > 0 {
		if w.out.Boxes++; w.out.Boxes > w.q.Most || w.out.Boxes%256 == 0 && ctx.Err() != nil {
			w.out.Cut, w.out.Proved = true, w.open[0].deviation
			break
		}
		b := heap.Pop(&w.open).(wantedBox)
		if w.out.Boxes%256 == 0 {
			solve.Report(ctx, "boxes", w.out.Boxes, w.q.Most)
		}
		if w.beaten(b.deviation, b.uneven) {
			continue
		}
		if w.few(b.box) {
			w.leaf(0, b.box, nil)
			continue
		}
		left, right := halves(b.box, widest(b.box))
		w.push(left)
		w.push(right)
	}
	if !w.out.Cut && len(w.out.Found) == 0 {
		w.out.Proved = w.q.Within.Float()
	}
	kinematics.Sort(w.out.Found, func(a, b WantedTeeth) int { return a.Deviation.Cmp(b.Deviation) })
}

// push adds a box that may have something better.
func (w *wantedSearch) push(b box) {
	if !w.s.contract(b) {
		return
	}
	deviation, uneven := w.bounds(b)
	if deviation <= w.q.Within.Float()*(1+1e-9) && !w.beaten(deviation, uneven) {
		heap.Push(&w.open, wantedBox{b, deviation, uneven})
	}
}

// beaten says whether something was found that is as good in both things.
func (w *wantedSearch) beaten(deviation, uneven float64) bool {
	return slices.ContainsFunc(w.out.Found, func(f WantedTeeth) bool {
		return f.Deviation.Float() <= deviation && f.Uneven.Float() <= uneven
	})
}

// bounds returns the least worst deviation and unevenness that a box can have: a quotient
// of two that are affine in each unknown is monotone in it, and takes its extremes at corners.
func (w *wantedSearch) bounds(b box) (deviation, uneven float64) {
	var low, high []float64
	for i := range w.rows {
		r := &w.rows[i]
		l, h := w.extremes(r, b)
		if r.wanted != (exact.Frac{}) {
			x := r.wanted.Float()
			if x < 0 {
				l, h, x = -h, -l, -x
			}
			deviation = max(deviation, l/x-1, 1-h/x)
		}
		if r.forward {
			low, high = append(low, l), append(high, h)
		}
	}
	for i := 0; i+2 < len(low); i++ {
		least := low[i] / high[i+1] / (high[i+1] / low[i+2])
		most := high[i] / low[i+1] / (low[i+1] / high[i+2])
		uneven = max(uneven, least-1, 1/most-1)
	}
	return deviation * (1 - 1e-12), uneven * (1 - 1e-12)
}

// extremes are those of a ratio over a box, infinite where its denominator can be 0.
func (w *wantedSearch) extremes(r *wantedRow, b box) (low, high float64) {
	k := len(b.lo)
	low, high = math.Inf(1), math.Inf(-1)
	x := make([]float64, k)
	sign := 0.0
	wide := 0
	for v := range x {
		if b.lo[v] < b.hi[v] {
			wide |= 1 << v
		}
	}
	for m := range 1 << k {
		if m&^wide != 0 {
			continue // the same corner
		}
		for v := range x {
			x[v] = b.lo[v]
			if m>>v&1 == 1 {
				x[v] = b.hi[v]
			}
		}
		n, d := r.num.float(x, nil), r.den.float(x, nil)
		if d == 0 || sign*d < 0 {
			return math.Inf(-1), math.Inf(1)
		}
		sign = d
		low, high = min(low, n/d), max(high, n/d)
	}
	return low, high
}

// few says whether a box has so few teeth that they are tried one by one.
func (w *wantedSearch) few(b box) bool {
	n := 1
	for i := range w.sets {
		n *= w.sets[i].count(b, 24)
		if n > 24 {
			return false
		}
	}
	return true
}

// between are the options whose first ratio lies in a box.
func (s *toothSet) between(b box) []toothOption {
	v := s.unknowns[0]
	at := func(x float64) int {
		i, _ := slices.BinarySearchFunc(s.options, x, func(o toothOption, x float64) int {
			return cmp.Compare(o.floats[0], x)
		})
		return i
	}
	return s.options[at(b.lo[v]*(1-1e-12)):at(b.hi[v]*(1+1e-12))]
}

// count counts the options in a box, up to one more than most.
func (s *toothSet) count(b box, most int) int {
	n := 0
	for _, o := range s.between(b) {
		if o.in(s.unknowns, b) {
			if n++; n > most {
				break
			}
		}
	}
	return n
}

// leaf tries the teeth in a box one by one.
func (w *wantedSearch) leaf(set int, b box, taken []*toothOption) {
	if set == len(w.sets) {
		w.try(taken)
		return
	}
	list := w.sets[set].between(b)
	for i := range list {
		o := &list[i]
		if o.in(w.sets[set].unknowns, b) {
			for k, v := range w.sets[set].unknowns {
				w.x[v], w.near[v] = o.ratios[k].Rat(), o.floats[k]
			}
			w.leaf(set+1, b, append(taken, o))
		}
	}
}

// hopeless says whether floats tell, with much to spare, that teeth are too far off or that
// something found is better.
func (w *wantedSearch) hopeless() bool {
	const spare = 1e-7
	deviation, uneven := w.bounds(box{w.near, w.near})
	return deviation > w.q.Within.Float()+spare || w.beaten(deviation-spare, uneven-spare)
}

// try keeps teeth that nothing found is as good as, decided exactly.
func (w *wantedSearch) try(taken []*toothOption) {
	if w.hopeless() {
		return
	}
	x := WantedTeeth{}
	var forward []exact.Frac
	for i := range w.rows {
		r := &w.rows[i]
		ratio := r.ratio(w.x)
		if ratio == nil || ratio.Sign() == 0 {
			return
		}
		v := exact.FromRat(ratio)
		x.Ratios = append(x.Ratios, v)
		if r.forward {
			forward = append(forward, v)
		}
		if r.wanted == (exact.Frac{}) {
			continue
		}
		if off := v.Mul(r.wanted.Inv()).Sub(exact.Int(1)).Abs(); x.Deviation == (exact.Frac{}) || off.Cmp(x.Deviation) > 0 {
			x.Deviation = off
		}
	}
	if x.Deviation.Cmp(w.q.Within) > 0 {
		return
	}
	x.Uneven = unevenness(forward)
	if slices.ContainsFunc(w.out.Found, func(f WantedTeeth) bool { return f.beats(&x) }) {
		return
	}
	for i, o := range taken { // sets with few options come first
		x.Teeth = append(x.Teeth, o.teeth[0].Teeth...)
		x.Modules = append(x.Modules, SetModule{w.q.Layout.Train.Gearsets[w.sets[i].gearset].Name,
			w.module(w.sets[i].gearset, o.teeth[0].Teeth)})
	}
	t := &toothSearch{fit: w.f}
	kinematics.Sort(x.Teeth, func(a, b Teeth) int { return cmp.Compare(t.order(a.Member), t.order(b.Member)) })
	kinematics.Sort(x.Modules, func(a, b SetModule) int {
		return cmp.Compare(w.gearset(a.Gearset), w.gearset(b.Gearset))
	})
	w.out.Found = slices.DeleteFunc(w.out.Found, func(f WantedTeeth) bool { return x.beats(&f) })
	w.out.Found = append(w.out.Found, x)
}

// beats says whether teeth are as good in both things.
func (x *WantedTeeth) beats(y *WantedTeeth) bool {
	return x.Deviation.Cmp(y.Deviation) <= 0 && x.Uneven.Cmp(y.Uneven) <= 0
}

// gearset is the index of a gearset in the train.
func (w *wantedSearch) gearset(name string) int {
	return slices.IndexFunc(w.q.Layout.Train.Gearsets, func(g kinematics.Gearset) bool { return g.Name == name })
}

// module is the largest of the series that a set has room for, 0 where none is asked for.
func (w *wantedSearch) module(set int, teeth []Teeth) float64 {
	best := 0.0
	for _, m := range modules {
		if w.q.Outer > 0 && m >= w.q.LeastModule && m <= w.q.MostModule && m*w.across(set, teeth) <= w.q.Outer {
			best = m
		}
	}
	return best
}

// unevenness is by how much neighbouring steps differ at most.
func unevenness(ratios []exact.Frac) exact.Frac {
	worst := exact.Int(0)
	for i := 0; i+2 < len(ratios); i++ {
		q := ratios[i].Mul(ratios[i+2]).Mul(ratios[i+1].Mul(ratios[i+1]).Inv())
		if q.Cmp(exact.Int(1)) < 0 {
			q = q.Inv()
		}
		if d := q.Sub(exact.Int(1)); d.Cmp(worst) > 0 {
			worst = d
		}
	}
	return worst
}

// With returns the train of the layout with some teeth.
func (l *Layout) With(name string, teeth []Teeth) (*kinematics.Train, error) {
	m := &maker{f: &Fitted{Layout: l, chart: &Chart{}}, b: blueprintOf(l.Train)}
	m.b.train.Name, m.b.train.Note = name, ""
	m.b.train.Sources = []string{"teeth searched for wanted ratios", "layout of " + l.base}
	for i := range m.b.sets {
		set := &m.b.sets[i]
		if m.byTeeth(set, &Candidate{Teeth: teeth}) {
			for _, p := range l.Train.Gearsets[i].Pinions {
				delete(set.spec.Teeth, p.Part)
			}
			set.pinions, set.shifted = 0, false
		}
	}
	for i := range m.b.ranges {
		m.b.ranges[i].Published = nil
	}
	return m.b.build()
}

// Reverses says whether a range of the train drives backward.
func (l *Layout) Reverses(rng int) bool {
	return slices.ContainsFunc(l.ranges, func(g gear) bool { return g.index == rng && g.ratio.Sign() < 0 })
}
