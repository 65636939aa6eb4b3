package fit

import (
	"cmp"
	"context"
	"math"
	"math/big"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// TeethQuestion asks for tooth counts that give a chart's figures.
type TeethQuestion struct {
	Low, High int64   // bounds of the teeth of every gear
	Has       []Teeth // gears whose teeth are known
	Show      int     // how many candidates are wanted
}

// The usual bounds of a tooth count: common practice, no source.
const (
	FewestTeeth = 12
	MostTeeth   = 120
)

// A Candidate is the teeth of all gears that the figures depend on. Doubts is how many conditions
// its simple sets fail that most of those built keep: with standard teeth the ring closes on sun
// and pinion; 3, 4, 5 or 6 equal pinions can stand at equal angles and clear each other by
// addenda of one module; no gear has fewer than 17 teeth, which standard teeth of 20 degrees
// take to be free of undercut, and no pinion fewer than [FewestTeeth] (common practice, no source).
// They order candidates, and exclude none.
type Candidate struct {
	Teeth  []Teeth
	Sum    int64
	Doubts int64
}

// doubts is how many of the conditions of a [Candidate] a set fails.
func doubts(g *kinematics.Gearset, teeth []int64) (n int64) {
	if !g.Kind.Facts().SunAndRing() || len(g.Gears) != 2 {
		return 0
	}
	ring, sun := max(teeth[0], teeth[1]), min(teeth[0], teeth[1])
	if (ring-sun)%2 != 0 {
		n++
	}
	if !slices.ContainsFunc([]int64{3, 4, 5, 6}, func(pinions int64) bool {
		apart := float64(ring+sun) / 2 * math.Sin(math.Pi/float64(pinions)) // in modules, as 2 tip radii
		return (ring+sun)%pinions == 0 && apart > float64(ring-sun)/2+2
	}) {
		n++
	}
	if min(sun, (ring-sun)/2) < 17 {
		n++
	}
	if (ring-sun)/2 < FewestTeeth {
		n++
	}
	return n
}

// Candidates are the tooth counts that give a chart's figures, all of them counted.
type Candidates struct {
	Count int64
	// Cut says that the search was cut, or that sets with steps, of which there are too
	// many, were left out: Count is then how many were found.
	Cut     bool
	Stepped []string    // gearsets whose teeth were not looked for
	First   []Candidate // those with the fewest doubts, then with the fewest teeth in all
}

// mostSteps bounds the search for teeth.
const mostSteps = 3_000_000

// A toothSearch goes through the gearsets, one at a time, as long as the figures can be had
// with what is chosen.
type toothSearch struct {
	fit   *Fitted
	bands []band
	s     *search
	sets  []toothSet
	ask   TeethQuestion
	x     []*big.Rat
	out   Candidates
	steps int
	taken []*toothOption
}

// A toothSet is what the teeth of one gearset can be.
type toothSet struct {
	gearset  int
	unknowns []int // indices into Fitted.Unknowns
	options  []toothOption
}

// A toothOption is values of the basic ratios of a gearset and all teeth that give them.
type toothOption struct {
	ratios []exact.Frac
	floats []float64
	teeth  []Candidate // of the one gearset
}

// before orders by doubts, then by teeth in all.
func (c Candidate) before(d Candidate) int {
	return cmp.Or(cmp.Compare(c.Doubts, d.Doubts), cmp.Compare(c.Sum, d.Sum))
}

// Candidates returns the tooth counts that give all figures.
func (f *Fitted) Candidates(ctx context.Context, q TeethQuestion) (*Candidates, error) {
	t := &toothSearch{fit: f, ask: q, x: make([]*big.Rat, len(f.Unknowns))}
	t.ask.Has = append(slices.Clone(f.chart.Teeth), q.Has...)
	t.bands, _ = f.open(f.Misprint)
	if len(f.Unknowns) == 0 {
		return &t.out, nil
	}
	t.s = newSearch(t.bands, f.startBox())
	t.findSets()
	for _, b := range f.Boxes {
		t.from(ctx, 0, floatBox(b))
	}
	t.out.Cut = t.out.Cut || t.steps > mostSteps || len(t.out.Stepped) > 0
	return &t.out, ctx.Err()
}

func floatBox(b Box) box {
	var x box
	for _, i := range b {
		x.lo = append(x.lo, i.Min.Frac.Float()*(1-0x1p-50))
		x.hi = append(x.hi, i.Max.Frac.Float()*(1+0x1p-50))
	}
	return x
}

func byTeeth(a, b Candidate) int {
	byCount := func(x, y Teeth) int { return cmp.Compare(x.Count, y.Count) }
	return cmp.Or(a.before(b), slices.CompareFunc(a.Teeth, b.Teeth, byCount))
}

// findSets lists the options of every gearset, the set with the fewest first.
func (t *toothSearch) findSets() {
	f := t.fit
	for g := range f.Layout.Train.Gearsets {
		set := toothSet{gearset: g, unknowns: f.unknownsOf(g)}
		if len(set.unknowns) == 0 {
			continue
		}
		gearset := &f.Layout.Train.Gearsets[g]
		if gearset.Steps() {
			t.out.Stepped = append(t.out.Stepped, gearset.Name)
			continue
		}
		t.fill(&set, gearset)
		t.sets = append(t.sets, set)
	}
	kinematics.Sort(t.sets, func(a, b toothSet) int { return len(a.options) - len(b.options) })
}

// bounds are those of the teeth of a gear.
func (t *toothSearch) bounds(g *kinematics.Gearset, gear int) (low, high int64) {
	low, high = t.ask.Low, t.ask.High
	for _, h := range t.ask.Has {
		if h.Member == g.Name+"."+g.Gears[gear].Part {
			low, high = h.Count, h.Count
		}
	}
	return low, high
}

// fill lists the teeth of a set whose ratios lie within the boxes.
func (t *toothSearch) fill(set *toothSet, g *kinematics.Gearset) {
	f := t.fit
	base := baseGear(g)
	var lo, hi []float64 // of other / base, over all boxes
	var others []int
	for _, i := range set.unknowns {
		r := f.Layout.Ratios[f.Unknowns[i]]
		least, most := f.Range(i)
		l, h := least.Float(), most.Float()
		other := r.Over
		if r.Over == base {
			other, l, h = r.Under, 1/h, 1/l
		}
		others, lo, hi = append(others, other), append(lo, l), append(hi, h)
	}
	byRatio := map[string]int{}
	first, last := t.bounds(g, base)
	teeth := make([]int64, len(g.Gears))
	var next func(k int)
	next = func(k int) {
		if k == len(others) {
			t.option(set, g, base, others, teeth, byRatio)
			return
		}
		l, h := t.bounds(g, others[k])
		z := float64(teeth[base])
		for n := max(l, int64(lo[k]*z*(1-1e-9))); n <= min(h, int64(hi[k]*z*(1+1e-9))+1); n++ {
			if n > 0 {
				teeth[others[k]] = n
				next(k + 1)
			}
		}
	}
	for z := first; z <= last; z++ {
		teeth[base] = z
		next(0)
	}
}

func (t *toothSearch) option(set *toothSet, g *kinematics.Gearset, base int, others []int, teeth []int64,
	byRatio map[string]int) {
	var o toothOption
	key := ""
	for _, i := range set.unknowns {
		r := t.fit.Layout.Ratios[t.fit.Unknowns[i]]
		x := exact.NewFrac(teeth[r.Over], teeth[r.Under])
		o.ratios, o.floats = append(o.ratios, x), append(o.floats, x.Float())
		key += x.String() + " "
	}
	at, ok := byRatio[key]
	if !ok {
		at = len(set.options)
		byRatio[key] = at
		set.options = append(set.options, o)
	}
	c := Candidate{Doubts: doubts(g, teeth)}
	for _, k := range append([]int{base}, others...) {
		c.Teeth = append(c.Teeth, Teeth{g.Name + "." + g.Gears[k].Part, teeth[k]})
		c.Sum += teeth[k]
	}
	set.options[at].teeth = append(set.options[at].teeth, c)
}

// from goes on with the set at a depth, within a box of what is left.
func (t *toothSearch) from(ctx context.Context, depth int, b box) {
	if t.steps++; t.steps > mostSteps || t.steps%1024 == 0 && ctx.Err() != nil {
		t.out.Cut = true
		return
	}
	if depth == len(t.sets) {
		if len(t.out.Stepped) == 0 && (t.s.holdsIn(b) || t.gives()) {
			t.count()
		}
		return
	}
	if !t.s.contract(b) {
		return
	}
	set := &t.sets[depth]
	for i := range set.options {
		o := &set.options[i]
		if !o.in(set.unknowns, b) {
			continue
		}
		next := b.clone()
		for k, v := range set.unknowns {
			next.lo[v], next.hi[v] = o.floats[k]*(1-0x1p-51), o.floats[k]*(1+0x1p-51)
			t.x[v] = o.ratios[k].Rat()
		}
		t.taken = append(t.taken, o)
		t.from(ctx, depth+1, next)
		t.taken = t.taken[:depth]
	}
}

func (o *toothOption) in(unknowns []int, b box) bool {
	for k, v := range unknowns {
		if o.floats[k] < b.lo[v]*(1-1e-12) || o.floats[k] > b.hi[v]*(1+1e-12) {
			return false
		}
	}
	return true
}

// count counts the teeth of chosen ratios.
func (t *toothSearch) count() {
	n, rest := int64(1), make([]Candidate, len(t.taken)+1) // the least of what is still to be chosen
	for i := len(t.taken) - 1; i >= 0; i-- {
		o := t.taken[i]
		n *= int64(len(o.teeth))
		c := slices.MinFunc(o.teeth, Candidate.before)
		rest[i] = Candidate{Sum: rest[i+1].Sum + c.Sum, Doubts: rest[i+1].Doubts + c.Doubts}
	}
	t.out.Count += n
	t.list(rest, Candidate{})
}

// list adds the ways to have the chosen ratios to the candidates, as far as they can be among the
// first. rest is the least of the sets from each on.
func (t *toothSearch) list(rest []Candidate, so Candidate) {
	least := Candidate{Sum: so.Sum + rest[0].Sum, Doubts: so.Doubts + rest[0].Doubts}
	if n := len(t.out.First); n > 0 && n == t.ask.Show && least.before(t.out.First[n-1]) > 0 {
		return
	}
	set := len(t.taken) + 1 - len(rest)
	if set == len(t.taken) {
		c := so
		c.Teeth = slices.Clone(so.Teeth)
		kinematics.Sort(c.Teeth, func(a, b Teeth) int { return cmp.Compare(t.order(a.Member), t.order(b.Member)) })
		at, _ := slices.BinarySearchFunc(t.out.First, c, byTeeth)
		t.out.First = slices.Insert(t.out.First, at, c)
		t.out.First = t.out.First[:min(len(t.out.First), t.ask.Show)]
		return
	}
	for _, o := range t.taken[set].teeth {
		t.list(rest[1:], Candidate{append(so.Teeth, o.Teeth...), so.Sum + o.Sum, so.Doubts + o.Doubts})
	}
}

// order is that of the members of the train.
func (t *toothSearch) order(member string) int {
	m, _ := t.fit.Layout.Train.Member(member)
	return int(m)
}

// gives decides exactly whether the chosen ratios give all figures: with a final drive,
// whether one gives them all.
func (t *toothSearch) gives() bool {
	if !t.fit.final {
		return allow(t.bands, t.x)
	}
	last := len(t.x) - 1
	t.x[last] = big.NewRat(1, 1)
	low, high := t.fit.finalBox()
	lo, hi := new(big.Rat).SetFloat64(low), new(big.Rat).SetFloat64(high)
	for _, b := range t.bands {
		r := b.ratio(t.x)
		if r == nil || r.Sign() == 0 {
			return false
		}
		x, y := new(big.Rat).Quo(b.low.Rat(), r), new(big.Rat).Quo(b.high.Rat(), r)
		if x.Cmp(y) > 0 {
			x, y = y, x
		}
		if x.Cmp(lo) > 0 {
			lo = x
		}
		if y.Cmp(hi) < 0 {
			hi = y
		}
	}
	return lo.Cmp(hi) <= 0
}
