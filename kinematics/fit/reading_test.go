package fit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// twoRanges is the layout of one set with a brake on its ring and a clutch that locks it: the
// ratios are 1 + ring/sun and 1.
func twoRanges(t *testing.T) *Layout {
	t.Helper()
	b := kinematics.NewBuilder("set")
	b.Simple("set", 30, 60, 15, false)
	b.Element("low", kinematics.Brake, "set.ring", kinematics.HousingName)
	b.Element("direct", kinematics.Clutch, "set.sun", "set.carrier")
	b.Ports("set.sun", "set.carrier")
	b.Range("D1", "low")
	b.Range("D2", "direct")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return Layouts([]*kinematics.Train{train})[0]
}

// figure reads a figure with all its places.
func figure(text string) *Printed {
	v, err := exact.Parse(text)
	if err != nil {
		panic(err)
	}
	places := 0
	for i, c := range text {
		if c == '.' {
			places = len(text) - 1 - i
		}
	}
	return &Printed{Text: text, Value: v, Places: places}
}

// How a final drive is contained, by hand. The set above has a ratio that is 1 whatever its teeth
// are: with a final drive of 2 the figures 6.00 and 2.00 contain it, 3.00 and 1.00 do not, and one
// of 1 changes nothing: the first reading stands, and that the second would do is told.
//
// A Simpson train has D1 = (f + 1 + r)/f, D2 = (f + 1)/f, D3 = 1 and R = -r. The ratios 2.5, 1.5, 1
// and -2.1 are those of f = 2.05, r = 2.12 to one place; times 4.123 and read to three places they
// would ask for f = 2, r = 2.1 and so D1 = 2.55.
func TestWhichFinalDriveFirst(t *testing.T) {
	simpson, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	set := []*Layout{twoRanges(t)}
	for _, c := range []struct {
		layouts []*Layout
		drive   string
		figures []string
		want    FinalReading
		either  bool
	}{
		{set, "2.00", []string{"6.00", "2.00"}, Contained, false},
		{set, "2.00", []string{"3.00", "1.00"}, NotContained, false},
		{set, "1.00", []string{"3.00", "1.00"}, Contained, true},
		{Layouts([]*kinematics.Train{simpson}), "4.123", []string{"10.308", "6.185", "4.123", "-8.658"}, Multiplied, false},
	} {
		l := c.layouts[0]
		chart := chartOf(l, l.values(), 2, rand.New(rand.NewPCG(1, 2)))
		chart.Rows = slices.DeleteFunc(chart.Rows, func(r Row) bool { return r.Name[0] == 'M' })
		reverse := slices.IndexFunc(chart.Rows, func(r Row) bool { return r.Name == "R" })
		if reverse >= 0 { // behind the others, as the figures are
			chart.Rows = append(slices.Delete(slices.Clone(chart.Rows), reverse, reverse+1), chart.Rows[reverse])
		}
		if len(chart.Rows) != len(c.figures) {
			t.Fatalf("%d rows", len(chart.Rows))
		}
		for i := range chart.Rows {
			chart.Rows[i].Ratio = figure(c.figures[i])
		}
		chart.FinalDrive = figure(c.drive)
		a, err := Fit(t.Context(), chart, c.layouts)
		if err != nil {
			t.Fatal(err)
		}
		if len(a.Fitted) == 0 || a.Fitted[0].blames() || a.Final != c.want || a.EitherFinal != c.either {
			t.Errorf("%q with %s: %q, either %v, of %d that fit; want %q, either %v", c.figures, c.drive, a.Final, a.EitherFinal,
				len(a.Fitted), c.want, c.either)
		}
	}
}

// Figures divided by a final drive, by hand. With one of 2.0, the figure 6.0 is 3.0 times it, no
// other ratio of one place; of two places 2.98 to 3.02 give it, so that none is told. 6.3 is 2.0 times
// nothing that has one place. With one of 0.5, 3.1 and 3.2 both give 1.6 to one place, with one of 0.6
// 2.6 (1.56) and 2.7 (1.62) do, and 2.3 (1.38) and 2.4 (1.44) both give 1.4.
func TestDivided(t *testing.T) {
	for _, c := range []struct {
		drive, ratio string
		places       int
		want         string // "" for none
	}{
		{"2.0", "6.0", 1, "3.0"}, {"2.0", "6.0", 2, ""}, {"2.0", "6.3", 1, ""}, {"2.0", "-6.2", 1, "-3.1"},
		{"0.5", "1.6", 1, ""}, {"0.6", "1.6", 1, ""}, {"0.6", "1.4", 1, ""},
		{"3.73", "11.45", 2, "3.07"}, {"3.73", "11.4511", 2, "3.07"}, {"3.73", "11.46", 2, ""},
	} {
		for _, beside := range []bool{false, true} { // a figure that is itself however it is read
			chart := &Chart{FinalDrive: figure(c.drive), Rows: []Row{{Name: "D1", Ratio: figure(c.ratio)}, {Name: "N"}}}
			if beside {
				chart.Rows = append(chart.Rows, Row{Name: "D2", Ratio: figure(c.ratio)})
			}
			x := chart.divided(c.places)
			switch {
			case (x == nil) != (c.want == ""):
				t.Errorf("%s by %s to %d places: %+v, want %q", c.ratio, c.drive, c.places, x, c.want)
			case x != nil && (x.Rows[0].Ratio.Text != c.want || x.Rows[0].Ratio.Places != c.places || x.Rows[1].Ratio != nil ||
				x.Rows[0].Ratio.Value.Cmp(figure(c.want).Value) != 0 || x.FinalDrive != nil):
				t.Errorf("%s by %s to %d places: %+v, want %q", c.ratio, c.drive, c.places, x.Rows[0].Ratio, c.want)
			case chart.Rows[0].Ratio.Text != c.ratio || chart.FinalDrive == nil:
				t.Errorf("the chart became %+v", chart)
			}
			chart.OutIn = true
			if chart.divided(c.places) != nil {
				t.Errorf("%s out/in is divided", c.ratio)
			}
		}
	}
}

// A one-way clutch can stand behind a column that is applied wherever it holds, and at least once.
func TestCutsOut(t *testing.T) {
	for _, c := range []struct {
		kind          ColumnKind
		clutch, other []Mark
		want          bool
	}{
		{AnyKind, []Mark{On, Off, Off}, []Mark{On, On, Off}, true},
		{BrakeColumn, []Mark{On, Unknown, On}, []Mark{On, Off, Unknown}, true},
		{AnyKind, []Mark{On, On, Off}, []Mark{On, Off, Off}, false},  // it holds without
		{AnyKind, []Mark{Off, Off, Off}, []Mark{On, On, Off}, false}, // it never holds
		{AnyKind, []Mark{On, Off, Unknown}, []Mark{Unknown, On, On}, false},
		{OneWayColumn, []Mark{On, Off, Off}, []Mark{On, On, Off}, false},
		{OutsideColumn, []Mark{On, Off, Off}, []Mark{On, On, Off}, false},
	} {
		chart := &Chart{Columns: []Column{{"clutch", OneWayColumn}, {"other", c.kind}}}
		for i := range c.clutch {
			chart.Rows = append(chart.Rows, Row{Marks: []Mark{c.clutch[i], c.other[i]}})
		}
		if got := chart.cutsOut(0); got != c.want {
			t.Errorf("%v beside %v of kind %q: %v, want %v", c.clutch, c.other, c.kind, got, c.want)
		}
	}
}

// The ways to place n things in order on m places, or as many as there are places, against all
// ways to place them at all. Of n and m there are as many as choices of the fewer from the more.
func TestInjections(t *testing.T) {
	for n := range 6 {
		for m := range 6 {
			want := map[string]bool{}
			var try func(at []int)
			try = func(at []int) {
				if len(at) < n {
					for p := -1; p < m; p++ {
						try(append(slices.Clone(at), p))
					}
					return
				}
				placed := slices.DeleteFunc(slices.Clone(at), func(p int) bool { return p < 0 })
				ordered := slices.IsSorted(placed) && len(slices.Compact(slices.Clone(placed))) == len(placed)
				if ordered && len(placed) == min(n, m) {
					want[fmt.Sprint(at)] = true
				}
			}
			if max(n-m, m-n) <= mostSkipped {
				try(nil)
			}
			got := injections(n, m)
			for _, at := range got {
				if !want[fmt.Sprint(at)] {
					t.Errorf("%d on %d: %v is no way, or twice", n, m, at)
				}
				delete(want, fmt.Sprint(at))
			}
			for at := range want {
				t.Errorf("%d on %d: %s is missing", n, m, at)
			}
		}
	}
}

// A one-way clutch beside the brake stands in for it where it holds, and where the chart does not
// tell whether it does, not where it is said to be off.
func TestUnknownMarkBeside(t *testing.T) {
	l := twoRanges(t)
	for mark, want := range map[Mark]bool{On: true, Unknown: true, Off: false} {
		chart := &Chart{
			Columns: []Column{{"A", OneWayColumn}, {"B", AnyKind}, {"C", AnyKind}},
			Rows: []Row{
				{Name: "D1", Marks: []Mark{mark, Off, Off}, Ratio: figure("3.00")},
				{Name: "D2", Marks: []Mark{Off, Off, On}, Ratio: figure("1.00")},
			},
		}
		found, _ := matches(chart, l, 0)
		got := slices.ContainsFunc(found, func(m match) bool {
			return m.beside[0] && !m.behind[0] && l.Train.Couplings[l.columns[m.columns[0]]].Name == "low"
		})
		if got != want {
			t.Errorf("%v: beside low %v, want %v, among %d matches", mark, got, want, len(found))
		}
	}
}

// A column that stands beside an element, and a one-way clutch that is none, tell nothing of a
// lever: it is as without them. Any other column that is no element is one that never moves.
func TestLeverWithoutWhatStandsBeside(t *testing.T) {
	l := twoRanges(t)
	low, _ := l.Train.Element("low")
	direct, _ := l.Train.Element("direct")
	fit := func(kinds []ColumnKind, columns []int, beside []bool) *Fitted {
		f := &Fitted{Layout: l, chart: &Chart{}, Columns: columns, Beside: beside}
		for i, k := range kinds {
			f.chart.Columns = append(f.chart.Columns, Column{string(rune('A' + i)), k})
		}
		return f
	}
	plain := fit([]ColumnKind{"", ""}, []int{low, direct}, []bool{false, false})
	ends := plain.seen()
	c := &l.Train.Couplings[direct]
	if len(ends) != 4 || ends[3] != [2]int{l.body[c.A], l.body[c.B]} || ends[2][1] != 0 && ends[2][0] != 0 {
		t.Fatalf("seen are %v", ends)
	}
	for _, f := range []*Fitted{
		fit([]ColumnKind{OneWayColumn, "", ""}, []int{low, low, direct}, []bool{true, false, false}),
		fit([]ColumnKind{"", OneWayColumn, ""}, []int{low, -1, direct}, []bool{false, false, false}),
	} {
		if !slices.Equal(f.seen(), ends) || !f.lever().like(plain.lever()) {
			t.Errorf("seen are %v, without the clutch %v", f.seen(), ends)
		}
	}
	still := fit([]ColumnKind{"", "", OutsideColumn}, []int{low, direct, -1}, []bool{false, false, false})
	if want := append(slices.Clone(ends), [2]int{0, 0}); !slices.Equal(still.seen(), want) {
		t.Errorf("seen are %v, want %v", still.seen(), want)
	}
	// input, output and two slips of one set that is free: any two speeds are the others
	if v := plain.lever(); v.freedoms != 2 {
		t.Errorf("%d freedoms", v.freedoms)
	}
}

// What tells a layout of a class apart is the speed of one of its members that nothing has in the
// others, as the engine says; where none is told there is none.
func TestMemberOfItsOwn(t *testing.T) {
	var trains []*kinematics.Train
	for _, name := range []string{"ravigneaux-four-speed", "interlinked-four-speed"} {
		x, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		trains = append(trains, x)
	}
	layouts := Layouts(trains)
	i := slices.IndexFunc(layouts, func(l *Layout) bool { return l.Train.Name == trains[0].Name && l.Plain })
	found, _, err := fitted(chartOf(layouts[i], layouts[i].values(), 3, rand.New(rand.NewPCG(1, 2))), layouts)
	if err != nil {
		t.Fatal(err)
	}
	// The one lever of both has four bars, and so has each of them: all members are seen.
	same := Classes(found)[0]
	for _, x := range same.Tell() {
		if len(same.Fits) != 2 || x.Row != -1 {
			t.Errorf("of %d layouts that are one lever %s has a member of its own: %+v", len(same.Fits), x.Layout.Train.Name, x)
		}
	}
	// With the teeth that they have in the library they are two.
	j := slices.IndexFunc(layouts, func(l *Layout) bool { return l.Train.Name == trains[1].Name })
	class := Class{Fits: []*Fitted{layouts[i].own(found[0].chart), layouts[j].own(found[0].chart)}}
	has := func(f *Fitted, row int) bool {
		return slices.ContainsFunc(f.Rows, func(r RowFit) bool { return r.Row == row })
	}
	for k, f := range class.Fits { // the ranges that both have
		f.Rows = slices.DeleteFunc(f.Rows, func(r RowFit) bool { return !has(class.Fits[1-k], r.Row) })
		slices.SortFunc(f.Rows, func(a, b RowFit) int { return a.Row - b.Row })
		if len(f.Rows) < 4 {
			t.Fatalf("both have %d ranges", len(f.Rows))
		}
	}
	for _, f := range class.Fits {
		f.Rows = f.Rows[1:] // so that they are no longer counted as in the chart
	}
	// turns are the speeds of the members of a layout in a row of the chart.
	turns := func(f *Fitted, row int) map[kinematics.MemberID]float64 {
		list := map[kinematics.MemberID]float64{}
		k := slices.IndexFunc(f.Rows, func(r RowFit) bool { return r.Row == row })
		train := f.Layout.Train
		for m, w := range solve.Compile(train).Motion(train.In(&train.Ranges[f.Rows[k].Range])).Members {
			kind := train.Members[m].Kind
			if x, one := w.Interval.Point(); one && kind != kinematics.JointHub && f.Layout.body[m] >= 0 {
				list[kinematics.MemberID(m)] = x.Float()
			}
		}
		return list
	}
	near := func(list map[kinematics.MemberID]float64, v float64) bool {
		for _, w := range list {
			if math.Abs(v-w) < 0.02 {
				return true
			}
		}
		return false
	}
	told := 0
	for i, x := range class.Tell() {
		f, other := class.Fits[i], class.Fits[1-i]
		if x.Layout != f.Layout || len(x.Sets) != len(f.Layout.Train.Gearsets) {
			t.Errorf("%s: %+v", f.Layout.Train.Name, x)
		}
		if x.Row >= 0 {
			told++
			if v, there := turns(f, x.Row)[x.Member]; !there || math.Abs(v-x.Speed) > 1e-9 || near(turns(other, x.Row), x.Speed) {
				t.Errorf("%s: %s turns at %g in %s, by the engine at %g; in the other %v", f.Layout.Train.Name,
					f.Layout.Train.Members[x.Member].Name, x.Speed, f.chart.Rows[x.Row].Name, v, turns(other, x.Row))
			}
			continue
		}
		for _, r := range f.Rows {
			for m, v := range turns(f, r.Row) {
				if f.Layout.body[m] > 0 && !near(turns(other, r.Row), v) {
					t.Errorf("%s: nothing is told, but %s turns at %g", f.Layout.Train.Name, f.Layout.Train.Members[m].Name, v)
				}
			}
		}
	}
	if told != 2 {
		t.Errorf("%d layouts have a member of their own", told)
	}
}
