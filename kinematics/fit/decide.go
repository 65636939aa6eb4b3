package fit

import (
	"context"
	"math"
	"math/big"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/combin"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// finalBox bounds a final drive: as printed, or, where it is not, by common practice.
func (f *Fitted) finalBox() (low, high float64) {
	if p := f.chart.FinalDrive; p.Text != "" {
		l, h := p.interval(false)
		return l.Float() * (1 - 0x1p-51), h.Float() * (1 + 0x1p-51)
	}
	return 1, 12
}

// known is a basic ratio whose teeth are both given.
func (f *Fitted) known(v int) (exact.Frac, bool) {
	r := f.Layout.Ratios[v]
	g := &f.Layout.Train.Gearsets[r.Gearset]
	if g.Steps() {
		return exact.Frac{}, false
	}
	over, under := f.teethOf(g, r.Over), f.teethOf(g, r.Under)
	if over == 0 || under == 0 {
		return exact.Frac{}, false
	}
	return exact.NewFrac(over, under), true
}

// teethOf is the tooth count that the chart gives for a gear, 0 for none.
func (f *Fitted) teethOf(g *kinematics.Gearset, gear int) int64 {
	for _, t := range f.chart.Teeth {
		if t.Member == g.Name+"."+g.Gears[gear].Part {
			return t.Count
		}
	}
	return 0
}

// search finds the boxes of the unknowns that give all figures but those of one row, -1
// for none. What it finds it keeps.
func (f *Fitted) search(ctx context.Context, but int) bool {
	bands, ok := f.open(but)
	if !ok {
		f.Disproved = true
		return false
	}
	if len(f.Unknowns) == 0 {
		f.Boxes, f.At, f.Rank, f.Cut, f.Searched = nil, nil, 0, false, 0
		return true
	}
	start := f.startBox()
	f.Rank = rankOf(bands, len(f.Unknowns))
	s := newSearch(bands, start)
	if f.Rank < len(f.Unknowns) {
		s.most = mostBoxesOpen
	}
	from, _ := f.descend(bands, start)
	r := s.run(ctx, from)
	f.Disproved = len(r.Boxes) == 0
	if !r.Found {
		return false
	}
	f.Boxes = nil
	for _, b := range r.Boxes {
		f.Boxes = append(f.Boxes, f.exactBox(b))
	}
	f.Cut, f.Searched = r.Cut, r.Count
	f.At = f.point(bands, r.At, start)
	return f.At != nil
}

// open are the figures that some basic ratio changes, all but those of one row; it is false if
// another cannot be had.
func (f *Fitted) open(but int) (bands []band, ok bool) {
	ok = true
	for _, b := range f.bands {
		switch {
		case b.row == but:
		case b.depends() != 0:
			bands = append(bands, b)
		default:
			ok = ok && b.allows(nil)
		}
	}
	return bands, ok
}

// residual is the worst deviation of figures that no basic ratio changes.
func (f *Fitted) residual(bands []band) float64 {
	worst := 0.0
	for _, b := range bands {
		if b.depends() != 0 {
			continue
		}
		r := b.ratio(nil)
		if r == nil {
			return math.Inf(1)
		}
		v, _ := r.Float64()
		mid := (b.low.Float() + b.high.Float()) / 2
		worst = max(worst, math.Abs(v/mid-1))
	}
	return worst
}

// Starting points of the descent, and how many of them may end where others did, with all
// figures nearly met, before no more are tried.
const (
	manyStarts   = 16
	enoughStarts = 3
)

// descend fits the unknowns from many starts; it returns where the good ones end and the
// least of the worst deviations.
func (f *Fitted) descend(bands []band, start box) (ends [][]float64, residual float64) {
	d := descent{start: start}
	for _, b := range bands {
		d.rows = append(d.rows, b.quotient)
		d.target = append(d.target, (b.low.Float()+b.high.Float())/2)
	}
	residual = math.Inf(1)
	again := 0
	for _, x := range starts(start, manyStarts) {
		at, worst := d.from(x)
		residual = min(residual, worst)
		near := slices.ContainsFunc(ends, func(e []float64) bool { return close(e, at) })
		if worst < 0.05 && !near && len(ends) < 6 {
			ends = append(ends, at)
		}
		if near && worst < 0.005 {
			if again++; again == enoughStarts {
				break
			}
		}
	}
	return ends, residual
}

func close(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return math.Abs(x/y-1) <= 1e-4 })
}

// exactBox turns the ends of a box into fractions with few places, outward.
func (f *Fitted) exactBox(b box) Box {
	var list Box
	for v := range b.lo {
		if known, ok := f.isKnown(v); ok {
			list = append(list, exact.Between(known, known))
			continue
		}
		const unit = 1_000_000
		low := exact.NewFrac(int64(math.Floor(b.lo[v]*unit)), unit)
		high := exact.NewFrac(int64(math.Ceil(b.hi[v]*unit)), unit)
		list = append(list, exact.Between(low, high))
	}
	return list
}

// isKnown says whether the teeth give an unknown.
func (f *Fitted) isKnown(v int) (exact.Frac, bool) {
	if f.Unknowns[v] == len(f.Layout.Ratios) {
		return exact.Frac{}, false
	}
	return f.known(f.Unknowns[v])
}

// point returns exact values with as few places as will do that give all figures, nil if
// there are none near x.
func (f *Fitted) point(bands []band, x []float64, start box) []exact.Frac {
	for places := int64(100); places <= 1_000_000_000; places *= 10 {
		at := make([]exact.Frac, len(x))
		for v := range x {
			at[v] = exact.NewFrac(int64(math.Round(x[v]*float64(places))), places)
			if known, ok := f.isKnown(v); ok {
				at[v] = known
			}
		}
		if allow(bands, rats(at)) {
			f.shorten(bands, at)
			return at
		}
	}
	return nil
}

// shorten takes simpler fractions for the gears on stepped pinions, which no ratio can
// stand for in a train file: all of them alike, so that none takes the room of the others.
func (f *Fitted) shorten(bands []band, at []exact.Frac) {
	for part := int64(10); part <= 1_000_000_000; part *= 10 {
		short := slices.Clone(at)
		for i, v := range f.Unknowns {
			if v < len(f.Layout.Ratios) && f.Layout.Train.Gearsets[f.Layout.Ratios[v].Gearset].Steps() {
				near := at[i].Mul(exact.NewFrac(1, part))
				short[i] = simplest(at[i].Sub(near), at[i].Add(near))
			}
		}
		if allow(bands, rats(short)) {
			copy(at, short)
			return
		}
	}
}

// simplest is the fraction with the least denominator between two above 0, found by going
// down the tree of Stern and Brocot.
func simplest(low, high exact.Frac) exact.Frac {
	a, b, c, d := int64(0), int64(1), int64(1), int64(0)
	for {
		m := exact.NewFrac(a+c, b+d)
		switch {
		case m.Cmp(low) < 0:
			a, b = a+c, b+d
		case m.Cmp(high) > 0:
			c, d = a+c, b+d
		default:
			return m
		}
	}
}

// allow decides exactly whether values give all figures.
func allow(bands []band, x []*big.Rat) bool {
	return !slices.ContainsFunc(bands, func(b band) bool { return !b.allows(x) })
}

func rats(at []exact.Frac) []*big.Rat { return kinematics.Map(at, exact.Frac.Rat) }

// rankOf is the number of independent ratios: the rank of their slopes at values without a
// meaning.
func rankOf(bands []band, k int) int { return rank(slopesOf(bands, k)) }

func slopesOf(bands []band, k int) [][]int64 {
	return kinematics.Map(bands, func(b band) []int64 { return b.slopes(k) })
}

// slopes are those of a ratio at values without a meaning, times den², modulo prime.
func (q quotient) slopes(k int) []int64 {
	x := make([]int64, k)
	for v := range x {
		x[v] = meaningless(v)
	}
	n, d := q.num.modulo(x, -1), q.den.modulo(x, -1)
	row := make([]int64, k)
	for v := range row {
		row[v] = (q.num.modulo(x, v)*d - n*q.den.modulo(x, v)%prime + prime) % prime
	}
	return row
}

// modulo is the value of a poly, or its slope by a variable, modulo prime.
func (p poly) modulo(x []int64, by int) int64 {
	sum := int64(0)
	for m, c := range p {
		if c == 0 || by >= 0 && m>>by&1 == 0 {
			continue
		}
		t := (c%prime + prime) % prime
		for v := range x {
			if m>>v&1 == 1 && v != by {
				t = t * x[v] % prime
			}
		}
		sum = (sum + t) % prime
	}
	return sum
}

// firstRefused is the first row that cannot be had with those above it, -1 if that is not
// known.
func (f *Fitted) firstRefused(ctx context.Context) int {
	all := f.bands
	defer func() { f.bands = all }()
	for n := 1; n <= len(all); n++ {
		f.bands = all[:n]
		if !f.possible(ctx, -1) {
			return all[n-1].row
		}
	}
	return -1
}

// possible says whether the figures may be had, all but those of one row.
func (f *Fitted) possible(ctx context.Context, but int) bool {
	bands, ok := f.open(but)
	if !ok || len(bands) == 0 {
		return ok
	}
	return newSearch(bands, f.startBox()).possible(ctx, 3000)
}

// stands judges what differs and what is left open, and makes the train of the fit: it
// stands if the engine finds all figures again in it. Where a mark contradicts its figure some
// other must be to spare: with as many unknowns as figures many a layout has them all.
func (f *Fitted) stands(printed, matched []RowFit) bool {
	for i := range f.Differences {
		f.judgeCell(&f.Differences[i], printed, matched)
	}
	if f.Rank < len(f.Unknowns) {
		f.settle()
	}
	f.OwnTeeth = f.ownTeeth()
	if f.found() {
		return !f.contradicted() || f.spare() > 0
	}
	needs := false
	for i := range f.Differences {
		if f.Differences[i].Kind == NeedsOneWay {
			f.Differences[i].Kind, needs = Contradicts, true
		}
	}
	return needs && f.spare() > 0 && f.found()
}

// found says whether the engine finds all figures in the train of the fit.
func (f *Fitted) found() bool {
	made, err := f.Make("fitted", nil)
	if err != nil || made.agree != f.printedRows() {
		return false
	}
	f.odd = 0
	for i, r := range f.chart.Rows {
		if r.Ratio == nil && Reversing(r.Name) && (made.Ratios[i] == nil || made.Ratios[i].Sign() > 0) {
			f.odd++
		}
	}
	for _, r := range made.Remarks {
		if r.Kind == RowLeftOut {
			f.odd++
		}
	}
	return true
}

// ownTeeth says whether the train that the layout comes from has all figures as it is.
func (f *Fitted) ownTeeth() bool {
	if f.final || f.Misprint >= 0 {
		return false
	}
	at := kinematics.Map(f.Unknowns, func(v int) exact.Frac { return f.Layout.Ratios[v].Value })
	return allow(f.bands, rats(at))
}

// printedRows counts the figures that are not misprinted.
func (f *Fitted) printedRows() int {
	return count(f.Rows, func(r RowFit) bool { return r.Row != f.Misprint })
}

// judgeCell says what a cell means that differs: it is harmless if its row has its figure
// with the marks as they are printed, all else as it is fitted.
func (f *Fitted) judgeCell(d *Difference, printed, matched []RowFit) {
	if d.Kind == NotThere || d.Row == f.Misprint {
		return
	}
	i := slices.IndexFunc(f.Rows, func(r RowFit) bool { return r.Row == d.Row })
	asPrinted := printed[i]
	if asPrinted.num != nil && asPrinted.same(matched[i].quotient) && f.drivesAsPrinted(d.Row) ||
		asPrinted.num != nil && !asPrinted.same(matched[i].quotient) && asPrinted.same(f.Rows[i].quotient) {
		d.Kind = Harmless
		return
	}
	d.Kind = Contradicts
	if d.Matched == On && d.Printed == Off && d.Element >= 0 &&
		f.Layout.Train.Couplings[d.Element].Kind != kinematics.OneWay {
		d.Kind = NeedsOneWay
	}
}

// same says whether two quotients are the same ratio.
func (q quotient) same(p quotient) bool { return same(q.num, p.den, q.den, p.num) }

// drivesAsPrinted says whether the marks of a row alone give a ratio.
func (f *Fitted) drivesAsPrinted(row int) bool {
	_, ok := f.Layout.printedRow(f.chart, f.asMatch(), row)
	return ok
}

// asMatch is the match that the fit was made of.
func (f *Fitted) asMatch() match {
	m := match{layout: f.Layout, beside: f.Beside, behind: f.Behind, gears: none(len(f.chart.Rows))}
	for _, e := range f.Columns {
		m.columns = append(m.columns, slices.Index(f.Layout.columns, e))
	}
	for _, r := range f.Rows {
		m.gears[r.Row] = slices.IndexFunc(f.Layout.ranges, func(g gear) bool { return g.index == r.Range })
	}
	return m
}

// settle finds the ratios that would settle what is open: of the layout's own ranges, then
// with any elements applied; else a tooth count.
func (f *Fitted) settle() {
	l := f.Layout
	k := len(f.Unknowns)
	a := slopesOf(f.bands, k)
	have := rank(a)
	raises := func(q quotient) bool {
		q = quotient{q.num.wider(len(l.Ratios) + 1), q.den.wider(len(l.Ratios) + 1)}
		if f.final {
			q.num = q.num.times(len(l.Ratios))
		}
		return rank(append(slices.Clone(a), q.pick(f.Unknowns).slopes(k))) > have
	}
	for _, g := range l.ranges {
		r := l.Train.Ranges[g.index]
		if q, ok := l.quotient(g.locked, r.Input, r.Output); ok && raises(q) {
			f.Settling = append(f.Settling, Settling{Elements: r.Apply, Range: g.index, Open: -1})
		}
	}
	if len(f.Settling) > 0 {
		return
	}
	for _, set := range l.combinations() {
		if q, ok := l.quotient(set, l.Train.Input, l.Train.Output); ok && raises(q) {
			f.Settling = append(f.Settling, Settling{Elements: set, Range: -1, Open: -1})
			if len(f.Settling) == 3 {
				return
			}
		}
	}
	if len(f.Settling) > 0 {
		return
	}
	for i, v := range f.Unknowns {
		row := make([]int64, k)
		row[i] = 1
		if v < len(l.Ratios) && rank(append(slices.Clone(a), row)) > have {
			f.Settling = append(f.Settling, Settling{Range: -1, Open: v})
		}
	}
}

// combinations are the sets of up to four elements that hold both ways.
func (l *Layout) combinations() [][]int {
	both := slices.DeleteFunc(slices.Clone(l.columns), func(e int) bool {
		return l.Train.Couplings[e].Kind == kinematics.OneWay
	})
	var list [][]int
	for n := 1; n <= min(4, len(both)); n++ {
		for _, set := range combin.Combinations(len(both), n) {
			list = append(list, kinematics.Map(set, func(i int) int { return both[i] }))
		}
	}
	return list
}

// nearest are the layouts that come nearest to a chart which none matches.
func nearest(c *Chart, layouts []*Layout) []Refusal {
	var list []Refusal
	for _, l := range layouts {
		if c.Layout != "" && c.Layout != l.base || l.Plain {
			continue
		}
		for cells := MostCells + 1; cells <= 3*MostCells; cells++ {
			if found, _ := matches(c, l, cells); len(found) > 0 {
				list = append(list, Refusal{Layout: l, Cells: cells, Row: -1, Residual: math.Inf(1)})
				break
			}
		}
	}
	return list
}

// Range returns the least and greatest value of an unknown over all boxes.
func (f *Fitted) Range(v int) (least, most exact.Frac) {
	low := slices.MinFunc(f.Boxes, func(a, b Box) int { return a[v].Min.Cmp(b[v].Min) })
	high := slices.MaxFunc(f.Boxes, func(a, b Box) int { return a[v].Max.Cmp(b[v].Max) })
	return low[v].Min.Frac, high[v].Max.Frac
}

// Ratio is the fitted figure of a row as input speed / output speed in the vehicle's
// sense, with the final drive where ratios contain it; nil if it has none.
func (f *Fitted) Ratio(row int) *big.Rat {
	return f.bands[row].ratio(rats(f.At))
}

// A SpeedFit is the speed of a member beside that of the fit, nil where it has none.
type SpeedFit struct {
	MemberSpeed
	Fitted *big.Rat
}

// SpeedFits are the speeds of the chart that the layout has.
func (f *Fitted) SpeedFits() (list []SpeedFit) {
	for _, b := range f.bands {
		if b.speed != nil {
			list = append(list, SpeedFit{*b.speed, b.ratio(rats(f.At))})
		}
	}
	return list
}

// RatioName is the name of an unknown.
func (f *Fitted) RatioName(v int) string {
	if f.Unknowns[v] == len(f.Layout.Ratios) {
		return "final drive"
	}
	return strings.TrimSpace(f.Layout.Ratios[f.Unknowns[v]].Name)
}
