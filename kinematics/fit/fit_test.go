package fit

import (
	"context"
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

func library(t testing.TB) []*kinematics.Train {
	var trains []*kinematics.Train
	for _, n := range gearsets.Names() {
		x, err := gearsets.Library(n)
		if err != nil {
			t.Fatal(err)
		}
		trains = append(trains, x)
	}
	return trains
}

// fitted is what fits a chart, and what does not.
func fitted(c *Chart, layouts []*Layout) ([]*Fitted, []Refusal, error) {
	a, err := Fit(context.Background(), c, layouts)
	if err != nil {
		return nil, nil, err
	}
	return a.Fitted, a.Near, nil
}

// printed rounds a ratio to some places.
func printed(v float64, places int) *Printed {
	text := fmt.Sprintf("%.*f", places, v)
	f, err := exact.Parse(text)
	if err != nil {
		panic(err)
	}
	return &Printed{Text: text, Value: f, Places: places}
}

// chartOf writes the chart of a layout at some basic ratios, with letters in another order
// than that of its elements.
func chartOf(l *Layout, x []*big.Rat, places int, r *rand.Rand) *Chart {
	c := &Chart{Name: l.Train.Name}
	order := r.Perm(len(l.columns))
	for i, e := range order {
		k := l.Train.Couplings[l.columns[e]].Kind
		kind := AnyKind
		if k == kinematics.OneWay {
			kind = OneWayColumn
		}
		c.Columns = append(c.Columns, Column{string(rune('A' + i)), kind})
	}
	for _, g := range l.ranges {
		rng := l.Train.Ranges[g.index]
		q, ok := l.quotient(g.locked, rng.Input, rng.Output)
		if !ok {
			continue
		}
		v := l.vehicle(q).ratio(x)
		if v == nil {
			continue
		}
		f, _ := v.Float64()
		n := places
		if math.Abs(f) < 0.2 {
			n += 2
		}
		if math.Abs(f) < 1e-3 || math.Abs(f) > 1e3 {
			continue
		}
		row := Row{Name: rng.Name, Ratio: printed(f, n)}
		for _, e := range order {
			row.Marks = append(row.Marks, map[mark]Mark{off: Off, on: On, either: Unknown}[g.marks[e]])
		}
		c.Rows = append(c.Rows, row)
	}
	return c
}

func (l *Layout) values() []*big.Rat {
	var x []*big.Rat
	for _, r := range l.Ratios {
		x = append(x, r.Value.Rat())
	}
	return x
}

// within says whether true basic ratios lie in one of the boxes.
func (f *Fitted) within(x []*big.Rat) bool {
	if len(f.Unknowns) == 0 {
		return true
	}
	return slices.ContainsFunc(f.Boxes, func(b Box) bool {
		for i, v := range f.Unknowns {
			if v < len(x) && (b[i].Min.Frac.Rat().Cmp(x[v]) > 0 || b[i].Max.Frac.Rat().Cmp(x[v]) < 0) {
				return false
			}
		}
		return true
	})
}

// A train of the library without its teeth is found again: itself among what fits best, with
// its own basic ratios in the boxes, and every train made of a fit loads and has all figures.
func TestLibraryFoundAgain(t *testing.T) {
	layouts := Layouts(library(t))
	for n, l := range layouts {
		if !whole() && n%4 != 0 {
			continue
		}
		c := chartOf(l, l.values(), 2+n%3/2, rand.New(rand.NewPCG(1, uint64(n))))
		found, near, err := fitted(c, layouts)
		if err != nil || len(found) == 0 {
			t.Errorf("%s: nothing fits; near %v, %v", l.Train.Name, near, err)
			continue
		}
		if !slices.ContainsFunc(found, func(f *Fitted) bool {
			return (f.Layout.base == l.base || f.Layout.sameGears(l)) && f.within(l.values())
		}) {
			t.Errorf("%s is not among what fits its own figures", l.Train.Name)
		}
		for _, f := range found[:min(len(found), 3)] {
			loads(t, f)
		}
	}
}

// loads makes the train of a fit, reads it again from its file and compares its figures.
func loads(t *testing.T, f *Fitted) {
	t.Helper()
	made, err := f.Make("fitted", nil)
	if err != nil {
		t.Errorf("%s as %s: %v", f.chart.Name, f.Layout.Train.Name, err)
		return
	}
	src := gearsets.Write(made.Train)
	again, problems := gearsets.Parse("fitted.yaml", src)
	if again == nil {
		t.Errorf("%s as %s: %s\n%s", f.chart.Name, f.Layout.Train.Name, problems.Excerpts(), src)
		return
	}
	k := solve.Compile(again).Kernel()
	for i := range again.Ranges {
		r := &again.Ranges[i]
		ratio, drives := k.Outcome(again.In(r)).Ratio()
		if r.Published == nil {
			continue
		}
		if !drives {
			t.Errorf("%s as %s: %s does not drive\n%s", f.chart.Name, f.Layout.Train.Name, r.Name, src)
		} else if cmp, _ := r.Published.Against(ratio.Rat()); !cmp.Agrees {
			t.Errorf("%s as %s: %s gives %s, not %s\n%s", f.chart.Name, f.Layout.Train.Name, r.Name, ratio,
				r.Published.Text, src)
		}
	}
}

// whole says whether all cases are tried.
func whole() bool { return os.Getenv("TIEUP_EXHAUSTIVE") != "" }

// The true basic ratios of random trains of each layout lie in the boxes: 10,000 of each with
// TIEUP_EXHAUSTIVE=1, in rounds that each tell what was tried.
func TestRandomTrains(t *testing.T) {
	count, rounds := 6, 1
	switch os.Getenv("TIEUP_EXHAUSTIVE") {
	case "":
	case "1":
		count, rounds = 200, 50
	default:
		count = 200
	}
	layouts := Layouts(library(t))
	tried, missed := 0, 0
	for round := range rounds {
		r := rand.New(rand.NewPCG(5, uint64(6+round)))
		for _, l := range layouts {
			for range count {
				x := l.random(r)
				c := chartOf(l, x, 2+r.IntN(2), r)
				f := l.own(c)
				tried++
				switch {
				case f.solve(context.Background()):
					if !f.within(x) {
						t.Errorf("%s: %v lies outside %v", l.Train.Name, x, f.Boxes)
					}
				case f.Disproved:
					t.Errorf("%s: nothing fits figures of %v", l.Train.Name, x)
				default:
					missed++ // all that is left is too small for a point in decimals
				}
			}
		}
		t.Logf("%d trains of each of %d layouts, %d without a point", (round+1)*count, len(layouts), missed)
	}
	if missed*50 > tried {
		t.Errorf("%d of %d trains have no point", missed, tried)
	}
}

// random are basic ratios of gears with 17 to 100 teeth that can be built.
func (l *Layout) random(r *rand.Rand) []*big.Rat {
	x := make([]*big.Rat, len(l.Ratios))
	for i, b := range l.Ratios {
		for x[i] == nil {
			over, under := 17+r.Int64N(84), 17+r.Int64N(84)
			if v := float64(over) / float64(under); v > b.Low*1.01 && v < b.High*0.99 {
				x[i] = big.NewRat(over, under)
			}
		}
	}
	return x
}

// own is the fit of a chart to its own layout, with its own columns.
func (l *Layout) own(c *Chart) *Fitted {
	f := &Fitted{chart: c, Layout: l, Misprint: -1}
	for _, g := range l.ranges {
		rng := l.Train.Ranges[g.index]
		q, ok := l.quotient(g.locked, rng.Input, rng.Output)
		i := slices.IndexFunc(c.Rows, func(r Row) bool { return r.Name == rng.Name })
		if ok && i >= 0 {
			f.Rows = append(f.Rows, RowFit{Row: i, Range: g.index, Locked: g.locked, quotient: l.vehicle(q)})
		}
	}
	return f
}

// A Ravigneaux set of 72/36/30 and two interlinked simple sets with ring/sun 2 and 1.4 are
// one lever: both give -2, 12/5, 22/15, 1 and 2/3 with the same marks.
func TestOneClass(t *testing.T) {
	layouts := Layouts(library(t))
	var c *Chart
	for _, l := range layouts {
		if l.Train.Name == "ravigneaux-four-speed" && l.Plain {
			c = chartOf(l, l.values(), 3, rand.New(rand.NewPCG(1, 2)))
		}
	}
	found, _, err := fitted(c, layouts)
	if err != nil {
		t.Fatal(err)
	}
	classes := Classes(found)
	if len(classes) != 1 || len(classes[0].Fits) != 2 {
		t.Fatalf("%d classes, the first of %d layouts", len(classes), len(classes[0].Fits))
	}
	for _, f := range classes[0].Fits {
		if got := fmt.Sprint(f.At); got != map[string]string{"interlinked-four-speed": "[2 7/5]",
			"ravigneaux-four-speed": "[12/5 2]"}[f.Layout.Train.Name] {
			t.Errorf("%s: %s", f.Layout.Train.Name, got)
		}
	}
}

// The number of tooth counts against a count by brute force. The ratios of a simple set with
// its sun held ahead of a Ravigneaux set follow by hand from
//
//	i = 1 + sun/ring of the front set, a = ring/sun-short, b = ring/sun-long
//	sun-short = carrier + a (ring - carrier), sun-long = carrier - b (ring - carrier)
func TestTeethByBruteForce(t *testing.T) {
	train, err := gearsets.Library("lepelletier-six-speed")
	if err != nil {
		t.Fatal(err)
	}
	layouts := Layouts([]*kinematics.Train{train})
	c := chartOf(layouts[0], layouts[0].values(), 2, rand.New(rand.NewPCG(1, 2)))
	found, _, err := fitted(c, layouts)
	if err != nil || len(found) == 0 {
		t.Fatal(err)
	}
	const low, high = 17, 100
	got, err := found[0].Candidates(context.Background(), TeethQuestion{Low: low, High: high, Show: 20})
	if err != nil || got.Cut {
		t.Fatal(got, err)
	}
	figures := map[string]float64{}
	for _, r := range c.Rows {
		figures[r.Name] = r.Ratio.Value.Float()
	}
	ok := func(name string, v float64) bool { return math.Abs(v-figures[name]) <= 0.005+1e-12 }
	count := int64(0)
	for sun := low; sun <= high; sun++ {
		for ring := low; ring <= high; ring++ {
			i := 1 + float64(sun)/float64(ring)
			if ok("D3", i) {
				count += rearSets(low, high, i, ok)
			}
		}
	}
	if count == 0 || count != got.Count {
		t.Errorf("%d sets, by brute force %d", got.Count, count)
	}
}

// rearSets counts the Ravigneaux sets that give all figures behind a front set.
func rearSets(low, high int, i float64, ok func(string, float64) bool) (count int64) {
	for ring := low; ring <= high; ring++ {
		for short := low; short < ring; short++ {
			a := float64(ring) / float64(short)
			if !ok("D1", i*a) || !ok("D4", 1/(1+(1/i-1)/a)) {
				continue
			}
			for long := low; long < ring; long++ {
				b := float64(ring) / float64(long)
				if ok("R", -i*b) && ok("D2", i*(a+b)/(1+b)) && ok("D5", 1/(1+(1-1/i)/b)) && ok("D6", 1/(1+1/b)) {
					count++
				}
			}
		}
	}
	return count
}

// The charts of benchmarks are those of trains of the library, at two places.
func benchmarkChart(b *testing.B, name string) (*Chart, []*Layout) {
	layouts := Layouts(library(b))
	for _, l := range layouts {
		if l.Train.Name == name && !l.Plain {
			return chartOf(l, l.values(), 2, rand.New(rand.NewPCG(1, 2))), layouts
		}
	}
	b.Fatalf("no layout %s", name)
	return nil, nil
}

// BenchmarkMatch matches a chart with the whole library, which is compiled each time.
func BenchmarkMatch(b *testing.B) {
	trains := library(b)
	for _, name := range []string{"lepelletier-six-speed", "four-carrier-eight-speed", "simpson-three-speed"} {
		c, _ := benchmarkChart(b, name)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				layouts, found := Layouts(trains), []match(nil)
				for cells := 0; cells <= MostCells && found == nil; cells++ {
					found, _ = matchAll(c, layouts, cells)
				}
			}
		})
	}
}

// BenchmarkFit fits a chart to the whole library and counts the teeth.
func BenchmarkFit(b *testing.B) {
	for _, name := range []string{"lepelletier-six-speed", "four-carrier-eight-speed"} {
		c, layouts := benchmarkChart(b, name)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				found, _, err := fitted(c, layouts)
				if err != nil || len(found) == 0 {
					b.Fatal(err)
				}
				if _, err := found[0].Candidates(context.Background(), TeethQuestion{Low: FewestTeeth, High: MostTeeth,
					Show: 20}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// Every train of the library whose source prints ratios, without its teeth: the class of its
// lever comes first, and its true teeth are among the candidates.
func TestPublishedTrains(t *testing.T) {
	layouts := Layouts(library(t))
	tried := 0
	for _, l := range layouts {
		c := publishedChart(l)
		if l.Plain || c == nil {
			continue
		}
		if tried++; !whole() && tried%6 != 0 {
			continue
		}
		found, near, err := fitted(c, layouts)
		if err != nil || len(found) == 0 {
			t.Errorf("%s: nothing fits its printed ratios; near %v, %v", l.Train.Name, near, err)
			continue
		}
		var own *Fitted
		for _, f := range Classes(found)[0].Fits {
			if f.Layout.base == l.base || f.Layout.sameGears(l) {
				own = f
			}
		}
		if own == nil || !own.within(l.values()) {
			t.Errorf("%s is not in the first class of what fits its printed ratios: %s", l.Train.Name,
				found[0].Layout.Train.Name)
			continue
		}
		var has []Teeth
		for _, g := range l.Train.Gearsets {
			for _, x := range g.Gears {
				has = append(has, Teeth{own.Layout.Train.Members[x.Member].Name, x.Teeth})
			}
		}
		got, err := own.Candidates(context.Background(), TeethQuestion{Low: FewestTeeth, High: MostTeeth, Has: has, Show: 1})
		if err != nil || got.Count == 0 && len(got.Stepped) == 0 && len(own.Unknowns) > 0 {
			t.Errorf("%s: its true teeth are not among the candidates: %+v, %v", l.Train.Name, got, err)
		}
	}
	if tried < 12 {
		t.Errorf("only %d trains have printed ratios", tried)
	}
}

// What counts as a doubt, by hand: 67 - 30 and 59 - 30 are odd; 66 + 32, 67 + 30 and 59 + 30 are
// no multiples of 3 to 6; (60 - 32)/2 and (59 - 30)/2 are below 17.
func TestDoubts(t *testing.T) {
	g := &kinematics.Gearset{Kind: kinematics.Simple, Gears: make([]kinematics.Gear, 2)}
	for _, c := range []struct{ sun, ring, want int64 }{{30, 66, 0}, {32, 66, 1}, {30, 67, 2}, {32, 60, 1}, {30, 59, 3}} {
		if got := doubts(g, []int64{c.sun, c.ring}); got != c.want {
			t.Errorf("sun %d, ring %d: %d doubts, not %d", c.sun, c.ring, got, c.want)
		}
	}
}

// publishedChart is the chart of a train with the ratios that its source prints, nil if it
// prints none.
func publishedChart(l *Layout) *Chart {
	c := &Chart{Name: l.Train.Name}
	for _, e := range l.columns {
		kind := AnyKind
		if l.Train.Couplings[e].Kind == kinematics.OneWay {
			kind = OneWayColumn
		}
		c.Columns = append(c.Columns, Column{l.Train.Couplings[e].Name, kind})
	}
	for i, r := range l.Train.Ranges {
		row := Row{Name: r.Name}
		g := slices.IndexFunc(l.ranges, func(g gear) bool { return g.index == i })
		for e, c := range l.columns {
			m := Off
			if g >= 0 {
				m = map[mark]Mark{off: Off, on: On, either: Unknown}[l.ranges[g].marks[e]]
			} else if r.Applies(c) {
				m = On
			}
			row.Marks = append(row.Marks, m)
		}
		if r.Published != nil && g >= 0 {
			v, err := exact.Parse(r.Published.Text)
			if err != nil {
				continue
			}
			_, places, _ := strings.Cut(r.Published.Text, ".")
			row.Ratio = &Printed{r.Published.Text, v.Mul(exact.Int(int64(l.Train.Forward))), len(places)}
			c.OutIn, c.Truncated, c.Rounded = r.Published.OutIn, r.Published.Truncated, !r.Published.Truncated
		}
		c.Rows = append(c.Rows, row)
	}
	if !slices.ContainsFunc(c.Rows, func(r Row) bool { return r.Ratio != nil }) {
		return nil
	}
	return c
}

// Teeth for wanted ratios against all teeth, tried one by one on a Simpson train. By hand,
// with ring/sun f of the front set and r of the rear one: first = (f + 1 + r)/f,
// second = (f + 1)/f, reverse = -r.
func TestWantedByBruteForce(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	l := Layouts([]*kinematics.Train{train})[0]
	wanted := []exact.Frac{exact.NewFrac(5, 2), exact.NewFrac(3, 2), exact.Int(1), exact.NewFrac(-21, 10)}
	const low, high = 17, 50
	q := WantedQuestion{Layout: l, Wanted: wanted, Within: exact.NewFrac(1, 50), Low: low, High: high}
	got, err := FindWanted(context.Background(), q)
	if err != nil || got.Cut || len(got.Found) == 0 {
		t.Fatal(got, err)
	}
	best, even := math.Inf(1), math.Inf(1)
	for a := low; a <= high; a++ {
		for b := a + 1; b <= high; b++ {
			for c := low; c <= high; c++ {
				for d := c + 1; d <= high; d++ {
					f, r := float64(b)/float64(a), float64(d)/float64(c)
					first, second := (f+1+r)/f, (f+1)/f
					off := max(math.Abs(first/2.5-1), math.Abs(second/1.5-1), math.Abs(r/2.1-1))
					if off > 0.02 {
						continue
					}
					step := first / second / second
					uneven := max(step, 1/step) - 1
					best, even = min(best, off), min(even, uneven)
					if !slices.ContainsFunc(got.Found, func(w WantedTeeth) bool {
						return w.Deviation.Float() <= off+1e-12 && w.Uneven.Float() <= uneven+1e-12
					}) {
						t.Fatalf("%d/%d and %d/%d are beaten by nothing in the list", b, a, d, c)
					}
				}
			}
		}
	}
	last := got.Found[len(got.Found)-1]
	if math.Abs(got.Found[0].Deviation.Float()-best) > 1e-9 || math.Abs(last.Uneven.Float()-even) > 1e-9 {
		t.Errorf("best %v and %v, by brute force %v and %v", got.Found[0].Deviation, last.Uneven, best, even)
	}
	q.Most = 5
	if cut, err := FindWanted(context.Background(), q); err != nil || !cut.Cut || cut.Proved > best {
		t.Errorf("cut after 5 boxes it says that nothing below %v is missing: %v", cut.Proved, err)
	}
	q.Wanted = wanted[:2]
	if _, err := FindWanted(context.Background(), q); err == nil {
		t.Error("two ratios are taken for three ranges and a reverse")
	}
}

// Two figures of a Simpson train that both depend on both basic ratios leave a family: by hand,
// with ring/sun f of the front set and r of the rear one, first = (f + 1 + r)/f settles neither
// alone; second = (f + 1)/f or reverse = -r beside it settles both.
func TestSettling(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	layouts := Layouts([]*kinematics.Train{train})[:1]
	whole := chartOf(layouts[0], layouts[0].values(), 2, rand.New(rand.NewPCG(3, 4)))
	with := func(names ...string) *Fitted {
		c := *whole
		c.Rows = slices.DeleteFunc(slices.Clone(whole.Rows), func(r Row) bool { return !slices.Contains(names, r.Name) })
		found, near, err := fitted(&c, layouts)
		if err != nil || len(found) == 0 {
			t.Fatalf("%v: nothing fits: %v, %v", names, near, err)
		}
		return found[0]
	}
	f := with("D1", "D3")
	if len(f.Unknowns) != 2 || f.Rank != 1 {
		t.Fatalf("%d unknowns of rank %d", len(f.Unknowns), f.Rank)
	}
	settles := map[string]bool{}
	for _, s := range f.Settling {
		if s.Range < 0 {
			t.Fatalf("%+v is no range", s)
		}
		settles[train.Ranges[s.Range].Name] = true
	}
	for name, want := range map[string]bool{"D1": false, "D2": true, "D3": false, "R": true, "M1": false} {
		if settles[name] != want {
			t.Errorf("%s settles it: %v, by hand %v", name, settles[name], want)
		}
	}
	for name := range settles {
		if strings.HasPrefix(name, "M") {
			continue // the same ratio as in D
		}
		if f := with("D1", "D3", name); f.Rank != 2 || len(f.Settling) > 0 {
			t.Errorf("with %s the rank is %d", name, f.Rank)
		}
	}
}

// An interrupted is a context that ends when it was asked so many times.
type interrupted struct {
	context.Context
	left *int
}

func (c interrupted) Err() error {
	if *c.left--; *c.left < 0 {
		return context.Canceled
	}
	return nil
}

// A search for wanted ratios that is stopped gives the best so far, and proves no more than
// is so: what the whole search finds is not better than that.
func TestWantedStopped(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	q := WantedQuestion{Layout: Layouts([]*kinematics.Train{train})[0], Within: exact.NewFrac(1, 10), Low: 17, High: 110,
		Wanted: []exact.Frac{exact.NewFrac(5, 2), exact.NewFrac(3, 2), exact.Int(1), exact.NewFrac(-21, 10)}}
	all, err := FindWanted(context.Background(), q)
	if err != nil || all.Cut || all.Boxes < 1000 {
		t.Fatal(all, err)
	}
	found := 0
	for asked := range all.Boxes/256 - 1 {
		got, err := FindWanted(interrupted{context.Background(), &asked}, q)
		if err != nil || !got.Cut {
			t.Fatalf("stopped after %d boxes: cut %v, %v", got.Boxes, got.Cut, err)
		}
		if best := all.Found[0].Deviation.Float(); got.Proved > best+1e-12 && len(got.Found) == 0 {
			t.Errorf("stopped after %d boxes: nothing below %v is missing, but %v is", got.Boxes, got.Proved, best)
		}
		for _, w := range got.Found {
			if found++; w.Deviation.Cmp(q.Within) > 0 {
				t.Errorf("stopped after %d boxes: %v is too far off", got.Boxes, w.Deviation)
			}
		}
	}
	if found == 0 {
		t.Error("nothing is found before the end")
	}
}
