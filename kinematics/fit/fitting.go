package fit

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A DifferenceKind says what a cell means that differs from the matched layout.
type DifferenceKind string

// The kinds of difference.
const (
	// Harmless: the ratio is the same with the cell as it is.
	Harmless DifferenceKind = "harmless"
	// NeedsOneWay: the ratio needs a one-way clutch beside the element.
	NeedsOneWay DifferenceKind = "needs one-way"
	// Contradicts: with the cell as it is the row cannot have its ratio.
	Contradicts DifferenceKind = "contradicts"
	// NotThere: the layout has no such element.
	NotThere DifferenceKind = "not in the layout"
)

// A Difference is a cell of a chart that differs from the matched layout.
type Difference struct {
	Row     int
	Column  int // -1 where the chart has no column for the element
	Element int // index into Train.Couplings of the layout, -1 if it has none
	Printed Mark
	Matched Mark
	Kind    DifferenceKind
}

// A RowFit is a row of a chart beside the layout.
type RowFit struct {
	Row    int
	Range  int   // index into Train.Ranges of the layout, -1 if none was matched
	Locked []int // what has no slip
	quotient
}

// A Fitted is a layout with all basic ratios that give a chart's figures.
type Fitted struct {
	Layout      *Layout
	Columns     []int  // for each column, the element that it is, -1 for none
	Beside      []bool // the column is a one-way clutch beside that element
	Behind      []bool // and stands behind it, so that it acts only while the clutch holds
	Rows        []RowFit
	Differences []Difference
	Cells       int // how many cells differ

	Truncated bool // the figures were cut off, not rounded
	// Unknowns are the basic ratios that a figure depends on, and Ratios what they can be:
	// parallel, with the final drive behind them where it is one. Others keep the value
	// of the layout's train.
	Unknowns []int
	Boxes    []Box // contain every solution
	At       []exact.Frac
	Cut      bool // the search was cut: the boxes are not tight
	Searched int  // how many boxes were looked at
	Rank     int  // independent ratios
	Settling []Settling
	Misprint int // the row whose figure is left out as a misprint, -1 if none
	// Suspects are the rows without whose figure all others agree, Misprint the first: one of
	// them is misprinted.
	Suspects []Suspect
	// OwnTeeth says that the train that the layout comes from has all figures as it is.
	OwnTeeth bool
	// Disproved says that no values give the figures; without it and without a fit what is
	// left was too small to be decided.
	Disproved bool

	chart *Chart
	bands []band
	extra int
	odd   int  // rows without a figure that do not do what their name or mark says
	final bool // the last unknown is the final drive
}

// A Box is an interval of each unknown of a fit.
type Box []exact.Interval

// A Settling is what would settle basic ratios that the figures leave open: a ratio with
// some elements applied, or, without any, a tooth count.
type Settling struct {
	Elements []int
	Range    int // of the layout, -1 if it is none of its ranges
	Open     int // index into Layout.Ratios, of a tooth count
}

// A Refusal is a layout that cannot give the figures.
type Refusal struct {
	Layout   *Layout
	Cells    int // that differ, -1 for too many to tell
	Row      int // the first row that it cannot give with those above it, -1 if that is not known
	Residual float64
}

// An Answer is what fits a chart.
type Answer struct {
	Fitted []*Fitted // with the fewest cells that differ, the best first
	// Near are the layouts that match and cannot give the figures, or, where none
	// matches, those that come nearest.
	Near []Refusal
	Cut  []*Layout // that match in more than MostMatches ways, of which the first were tried
	// Chart is the chart as it was read, and Final how its ratios contain the final drive of
	// which it gives the figure, "" where it gives none. EitherFinal says that a layout fits
	// either way.
	Chart       *Chart
	Final       FinalReading
	EitherFinal bool
	// ReadingsCut says that columns without a kind can be one-way clutches in more ways than were
	// tried.
	ReadingsCut bool
}

// Fit fits a chart to layouts. A mark or a figure is a misprint only where no reading of
// columns without a kind as one-way clutches explains the chart with fewer cells that differ,
// and none of its final drive: of the ways in which ratios can contain that the first that needs
// no misprint counts, in the order of the constants. Its error is that of the context.
func Fit(ctx context.Context, c *Chart, layouts []*Layout) (best *Answer, err error) {
	readings := c.finalReadings()
	for _, how := range []FinalReading{Contained, NotContained, Multiplied} {
		x := readings[how]
		if x == nil {
			continue
		}
		y := *x
		y.refused = map[string]bool{}
		a, err := fitReading(ctx, &y, layouts)
		if err != nil {
			return nil, err
		}
		a.Chart, a.Final = &y, how
		switch {
		case best == nil || a.plain() > best.plain():
			best = a
		case a.plain() == 2 && best.Final == Contained && how == NotContained:
			best.EitherFinal = true
		}
	}
	if len(readings) == 1 {
		best.Final = ""
	}
	return best, nil
}

// fitReading fits a chart with columns read as one-way clutches where that explains it.
func fitReading(ctx context.Context, c *Chart, layouts []*Layout) (*Answer, error) {
	a, err := fitAsWritten(ctx, c, layouts)
	if err != nil {
		return nil, err
	}
	below := MostCells + 1
	for _, f := range a.Fitted {
		if f.blames() {
			below = min(below, max(f.Cells, 1))
		}
	}
	switch {
	case len(a.Fitted) == 0:
		below = 1
	case !slices.ContainsFunc(a.Fitted, (*Fitted).blames):
		return a, nil
	}
	better, cut := fitReadings(ctx, c, layouts, below)
	a.ReadingsCut = cut
	if len(better) > 0 {
		better = append(better, slices.DeleteFunc(a.Fitted, (*Fitted).blames)...)
		sortFitted(better)
		a.Fitted = distinct(better)
	}
	return a, ctx.Err()
}

// blames says whether a fit calls a mark or a figure a misprint.
func (f *Fitted) blames() bool { return f.Misprint >= 0 || f.contradicted() }

// contradicted says whether a mark contradicts its figure.
func (f *Fitted) contradicted() bool {
	return slices.ContainsFunc(f.Differences, func(d Difference) bool { return d.Kind == Contradicts })
}

// spareToBlame is how many figures must agree beyond those that settle the basic ratios before
// another figure or a mark is called a misprint.
const spareToBlame = 2

// spare is how many figures agree beyond those that settle the basic ratios. Direct drive, which
// every train has, and what is the same ratio count nothing.
func (f *Fitted) spare() int {
	var own []band
	for _, b := range f.bands {
		if b.row != f.Misprint && b.depends() != 0 &&
			!slices.ContainsFunc(own, func(o band) bool { return o.same(b.quotient) }) {
			own = append(own, b)
		}
	}
	return len(own) - f.Rank
}

// Sure says whether enough figures agree to call a mark that contradicts its own a misprint.
func (f *Fitted) Sure() bool { return f.spare() >= spareToBlame }

// MostRead is how many columns without a kind are read as one-way clutches at once.
const MostRead = 3

// fitReadings fits a chart with columns that have no kind read as one-way clutches: the
// fewest cells that differ, below a number, then the fewest columns. cut says that there are more
// ways than were tried, and none of those that were fits.
func fitReadings(ctx context.Context, c *Chart, layouts []*Layout, below int) (fitted []*Fitted, cut bool) {
	readings := c.readings()
	tried := 0
	for cells := range below {
		for i, r := range readings {
			if len(fitted) > 0 && len(r.read) > len(readings[i-1].read) {
				return fitted, false
			}
			found, _ := matchAll(r, layouts, cells)
			if tried += len(found); tried > mostTriedRead {
				return fitted, len(fitted) == 0
			}
			for _, m := range found {
				if f, _ := fitMatch(ctx, r, m); f != nil {
					fitted = append(fitted, f)
				}
				if ctx.Err() != nil {
					return nil, true
				}
			}
		}
		if len(fitted) > 0 {
			return fitted, false
		}
	}
	return nil, false
}

// readings are the chart with some columns that have marks and no kind as one-way clutches,
// those with the fewest first.
func (c *Chart) readings() (list []*Chart) {
	for first := []*Chart{c}; len(first) > 0 && len(first[0].read) < MostRead; {
		var next []*Chart
		for _, r := range first {
			for k := range c.Columns {
				if len(r.read) > 0 && k <= r.read[len(r.read)-1] || c.Columns[k].Kind != AnyKind ||
					!slices.ContainsFunc(c.Rows, func(row Row) bool { return row.Marks[k] == On }) {
					continue
				}
				x := *r
				x.Columns = slices.Clone(r.Columns)
				x.Columns[k].Kind = OneWayColumn
				x.read = append(slices.Clone(r.read), k)
				next = append(next, &x)
			}
		}
		list, first = append(list, next...), next
	}
	return list
}

// fitAsWritten fits a chart with its columns as it says what they are.
func fitAsWritten(ctx context.Context, c *Chart, layouts []*Layout) (*Answer, error) {
	var all []match
	var fitted, refused []*Fitted
	var near []Refusal
	var cut []*Layout
	for cells := 0; cells <= MostCells && len(fitted) == 0; cells++ {
		found, more := matchAll(c, layouts, cells)
		cut = kinematics.Union(cut, more...)
		for _, m := range found {
			all = append(all, m)
			if f, no := fitMatch(ctx, c, m); f != nil {
				fitted = append(fitted, f)
			} else if no != nil {
				refused = append(refused, no)
			}
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
		}
	}
	// One figure is rather misprinted than two marks.
	doubted := !slices.ContainsFunc(fitted, func(f *Fitted) bool { return f.suspect() < 2 })
	for cells := 0; cells <= MostCells && doubted && (len(fitted) == 0 || cells == 0); cells++ {
		for _, m := range all {
			if m.cells == cells && ctx.Err() == nil {
				fitted = append(fitted, misprints(ctx, c, m)...)
			}
		}
	}
	switch {
	case len(fitted) > 0:
	case len(all) == 0:
		near = nearest(c, layouts)
	default:
		for _, f := range refused {
			near = refuse(near, f.refusal(ctx))
		}
	}
	sortFitted(fitted)
	kinematics.Sort(near, func(a, b Refusal) int {
		return cmp.Or(cmp.Compare(a.Cells, b.Cells), cmp.Compare(a.Residual, b.Residual))
	})
	return &Answer{Fitted: distinct(fitted), Near: near, Cut: cut}, ctx.Err()
}

// matchAll matches a chart to layouts with so many cells that differ, and returns the
// layouts that match in more ways than are kept.
func matchAll(c *Chart, layouts []*Layout, cells int) (all []match, cut []*Layout) {
	for _, l := range layouts {
		if c.Layout == "" || c.Layout == l.base {
			found, more := matches(c, l, cells)
			all = append(all, found...)
			if more {
				cut = append(cut, l)
			}
		}
	}
	return all, cut
}

// refuse adds a refusal, the best for each layout.
func refuse(list []Refusal, r Refusal) []Refusal {
	for i := range list {
		if list[i].Layout.base == r.Layout.base {
			if r.Residual < list[i].Residual {
				list[i] = r
			}
			return list
		}
	}
	return append(list, r)
}

// sortFitted puts what needs the fewest excuses first.
func sortFitted(list []*Fitted) {
	own := func(f *Fitted) int {
		if f.OwnTeeth {
			return 0
		}
		return 1
	}
	kinematics.Sort(list, func(a, b *Fitted) int {
		return cmp.Or(cmp.Compare(a.suspect(), b.suspect()), cmp.Compare(a.foreign(), b.foreign()),
			cmp.Compare(len(a.Suspects), len(b.Suspects)),
			cmp.Compare(a.Cells, b.Cells), cmp.Compare(a.odd, b.odd), cmp.Compare(own(a), own(b)),
			cmp.Compare(a.unmatched()+a.unused(), b.unmatched()+b.unused()), cmp.Compare(a.extra, b.extra),
			cmp.Compare(a.idle(), b.idle()), cmp.Compare(a.missing(), b.missing()),
			cmp.Compare(len(a.Unknowns)-a.Rank, len(b.Unknowns)-b.Rank))
	})
}

// count counts what something is so of.
func count[T any](list []T, is func(T) bool) (n int) {
	for _, x := range list {
		if is(x) {
			n++
		}
	}
	return n
}

// suspect counts what is not as the chart prints it: a figure, and cells that differ and are not
// harmless.
func (f *Fitted) suspect() int {
	n := count(f.Differences, func(d Difference) bool { return d.Kind != Harmless })
	if f.Misprint >= 0 {
		n++
	}
	return n
}

// foreign counts what the chart tells of members that the layout does not have.
func (f *Fitted) foreign() int {
	return count(f.chart.Speeds, func(s MemberSpeed) bool { return !f.Layout.hasMember(s.Member) }) +
		count(f.chart.Teeth, func(t Teeth) bool { return !f.Layout.HasGear(t.Member) })
}

// missing counts the elements of the layout that no column is.
func (f *Fitted) missing() int {
	return count(f.Layout.columns, func(e int) bool { return !slices.Contains(f.Columns, e) })
}

// idle counts the columns without a mark that would be one-way clutches: one that never
// holds is rather something else that the chart's ranges do not need.
func (f *Fitted) idle() int {
	n := 0
	for k, e := range f.Columns {
		marked := slices.ContainsFunc(f.chart.Rows, func(r Row) bool { return r.Marks[k] != Off })
		if e >= 0 && !marked && f.Layout.Train.Couplings[e].Kind == kinematics.OneWay {
			n++
		}
	}
	return n
}

// unmatched counts the rows that are no range of the layout.
func (f *Fitted) unmatched() int {
	return count(f.Rows, func(r RowFit) bool { return r.Range < 0 })
}

// unused counts the gears of the layout that the chart does not have.
func (f *Fitted) unused() int {
	return count(f.Layout.ranges, func(g gear) bool {
		return !slices.ContainsFunc(f.Rows, func(r RowFit) bool { return r.Range == g.index })
	})
}

// distinct leaves out fits that say the same of the same layout.
func distinct(list []*Fitted) []*Fitted {
	var kept []*Fitted
	for _, f := range list {
		if !slices.ContainsFunc(kept, func(k *Fitted) bool { return k.sameAs(f) }) {
			kept = append(kept, f)
		}
	}
	return kept
}

// sameAs says that a fit is of the same gears joined to the same elements.
func (f *Fitted) sameAs(g *Fitted) bool {
	a, b := f.Layout, g.Layout
	if a.base != b.base && !a.sameGears(b) {
		return false
	}
	if len(f.Unknowns) != len(g.Unknowns) || len(f.Rows) != len(g.Rows) {
		return false
	}
	for i := range f.Rows {
		if !slices.Equal(f.Rows[i].num, g.Rows[i].num) || !slices.Equal(f.Rows[i].den, g.Rows[i].den) {
			return false
		}
	}
	return true
}

// sameGears says that two layouts have the same gearsets by kind and gears.
func (l *Layout) sameGears(m *Layout) bool {
	return slices.EqualFunc(l.Train.Gearsets, m.Train.Gearsets, func(a, b kinematics.Gearset) bool {
		return a.Kind == b.Kind && slices.EqualFunc(a.Gears, b.Gears, func(x, y kinematics.Gear) bool {
			return x.Part == y.Part && x.Pinion == y.Pinion
		})
	})
}

func newFitted(c *Chart, m match) *Fitted {
	f := &Fitted{chart: c, Layout: m.layout, Beside: m.beside, Behind: m.behind, Cells: m.cells, Misprint: -1,
		extra: m.extra, final: c.FinalDrive != nil, Differences: differences(c, m)}
	for _, e := range m.columns {
		if e >= 0 {
			e = m.layout.columns[e]
		}
		f.Columns = append(f.Columns, e)
	}
	return f
}

// fitMatch fits the figures of a chart to a matched layout, or returns what it cannot fit, nil where
// another match of the layout asked the same.
func fitMatch(ctx context.Context, c *Chart, m match) (f, refused *Fitted) {
	f = newFitted(c, m)
	rows, printed := rowsOf(c, m)
	if rows == nil {
		return nil, f
	}
	truncations := []bool{false, true}
	switch {
	case c.Truncated:
		truncations = truncations[1:]
	case c.Rounded:
		truncations = truncations[:1]
	}
	for _, truncated := range truncations {
		for i, ask := range [][]RowFit{printed, rows} {
			if i > 0 && len(f.Differences) == 0 {
				break
			}
			f.Truncated, f.Rows = truncated, ask
			key := f.asked("")
			if c.refused[key] {
				continue
			}
			if f.solve(ctx) && f.stands(printed, rows) {
				return f, nil
			}
			if f.Disproved && ctx.Err() == nil {
				c.refused[key] = true
			}
			if refused == nil || truncated == truncations[0] {
				refused = newFitted(c, m)
				refused.Truncated, refused.Rows = truncated, ask
			}
		}
	}
	return nil, refused
}

// asked is what a fit asks of its layout, so that no two matches ask the same twice.
func (f *Fitted) asked(how string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%p %s %t", f.Layout, how, f.Truncated)
	for _, r := range f.Rows {
		fmt.Fprint(&b, " ", r.Row, r.Locked, r.num, r.den)
	}
	return b.String()
}

// refusal says why a fit is refused.
func (f *Fitted) refusal(ctx context.Context) Refusal {
	if f.Rows == nil {
		return Refusal{Layout: f.Layout, Cells: f.Cells, Row: -1, Residual: math.Inf(1)}
	}
	f.setBands()
	bands, _ := f.open(-1)
	residual := f.residual(f.bands)
	if residual == 0 && len(f.Unknowns) > 0 {
		_, residual = f.descend(bands, f.startBox())
	}
	return Refusal{Layout: f.Layout, Cells: f.Cells, Row: f.firstRefused(ctx), Residual: residual}
}

// misprints fits a match without the one figure that is, or may be, misprinted, if there is one.
func misprints(ctx context.Context, c *Chart, m match) []*Fitted {
	f := newFitted(c, m)
	rows, printed := rowsOf(c, m)
	if rows == nil {
		return nil
	}
	f.Truncated, f.Rows = c.Truncated, rows
	key := f.asked("but one")
	if c.refused[key] {
		return nil
	}
	if !f.misprinted(ctx) {
		c.refused[key] = ctx.Err() == nil
		return nil
	}
	if slices.ContainsFunc(f.Rows, func(r RowFit) bool { return r.Row == f.Misprint && r.Range < 0 }) {
		return nil // the layout has no such gear: that is no misprint
	}
	// A mark that is wrong, too, takes another figure that agrees.
	if !f.stands(printed, rows) || f.spare() < f.suspect() {
		return nil
	}
	return []*Fitted{f}
}

// differences lists the cells that differ.
func differences(c *Chart, m match) []Difference {
	var list []Difference
	x := &matcher{chart: c, match: m}
	for r, g := range m.gears {
		if g < 0 {
			continue
		}
		marks := m.layout.ranges[g].marks
		for col := range c.Columns {
			if c.Columns[col].Kind == OutsideColumn {
				continue
			}
			e := m.columns[col]
			if x.differs(col, e, r, g) > 0 {
				d := Difference{Row: r, Column: col, Element: -1, Printed: c.Rows[r].Marks[col], Kind: NotThere}
				if e >= 0 {
					d.Element, d.Kind = m.layout.columns[e], Harmless
					if marks[e] == on {
						d.Matched = On
					}
				}
				list = append(list, d)
			}
		}
		for e, i := range m.layout.columns {
			if !slices.Contains(m.columns, e) && marks[e] == on && m.layout.Train.Couplings[i].Kind != kinematics.OneWay {
				list = append(list, Difference{Row: r, Column: -1, Element: i, Matched: On, Kind: Harmless})
			}
		}
	}
	return list
}

// rowsOf returns the rows with their ratios: matched, by the marks of the layout; printed,
// by those of the chart as far as they give a ratio. Matched is nil if a row has no ratio.
func rowsOf(c *Chart, m match) (matched, printed []RowFit) {
	l := m.layout
	for r := range c.Rows {
		if c.Rows[r].Ratio == nil {
			continue
		}
		g := m.gears[r]
		asPrinted, ok := RowFit{}, false
		if g < 0 || differsIn(c, m, r) {
			asPrinted, ok = l.printedRow(c, m, r)
		}
		if g < 0 {
			if !ok {
				return nil, nil
			}
			matched, printed = append(matched, asPrinted), append(printed, asPrinted)
			continue
		}
		gear := l.ranges[g]
		rng := l.Train.Ranges[gear.index]
		q, has := l.quotient(gear.locked, rng.Input, rng.Output)
		if !has {
			return nil, nil
		}
		own := RowFit{Row: r, Range: gear.index, Locked: gear.locked, quotient: l.vehicle(q)}
		matched = append(matched, own)
		if !ok {
			asPrinted = own
		}
		printed = append(printed, asPrinted)
	}
	return matched, printed
}

func differsIn(c *Chart, m match, r int) bool {
	return slices.ContainsFunc(differences(c, m), func(d Difference) bool { return d.Row == r })
}

// vehicle turns a quotient into the vehicle's sense.
func (l *Layout) vehicle(q quotient) quotient {
	if l.Train.Forward > 0 {
		return q
	}
	return quotient{q.num.neg(), q.den}
}

// printedRow is a row as its marks say.
func (l *Layout) printedRow(c *Chart, m match, r int) (RowFit, bool) {
	t := l.Train
	x := RowFit{Row: r, Range: -1}
	in, out := t.Input, t.Output
	g := m.gears[r]
	if g >= 0 {
		x.Range = l.ranges[g].index
		in, out = t.Ranges[x.Range].Input, t.Ranges[x.Range].Output
	}
	k := l.driving(l.applied(c, m, r), in, out)
	x.Locked, x.quotient = k.locked, l.vehicle(k.quotient)
	return x, k.ok
}

// A drive is what some applied elements lock, with the quotient of the state if they drive.
type drive struct {
	locked []int
	lookup
}

// driving is what some elements do that are applied: many matches apply the same.
func (l *Layout) driving(applied []int, in, out kinematics.MemberID) drive {
	slices.Sort(applied)
	key := fmt.Sprint(in, out, applied)
	if k, seen := l.drives[key]; seen {
		return k
	}
	t, k := l.Train, drive{}
	st := t.Applying(applied...)
	st.Input, st.Output = in, out
	for _, e := range applied {
		if t.Couplings[e].Kind == kinematics.OneWay {
			st.Modes[e] = kinematics.Locked
		}
	}
	motion := l.system.Motion(st)
	if _, drives := motion.Ratio(); drives {
		k.locked = lockedOf(t, st, motion)
		k.quotient, k.ok = l.quotient(k.locked, in, out)
	}
	l.drives[key] = k
	return k
}

// applied are the elements that the marks of a row apply; what the chart does not tell
// is as in the layout.
func (l *Layout) applied(c *Chart, m match, r int) []int {
	var list []int
	x := &matcher{chart: c, match: m}
	for col, e := range m.columns {
		if e < 0 {
			continue
		}
		mark := c.Rows[r].Marks[col]
		if mark == Unknown && m.gears[r] >= 0 && !m.beside[col] && l.ranges[m.gears[r]].marks[e] == on {
			mark = On
		}
		if mark == On && x.cutOut(e, r) {
			continue
		}
		if i := l.columns[e]; mark == On && !slices.Contains(list, i) {
			list = append(list, i)
		}
	}
	return list
}

// solve finds all basic ratios that give the figures of the rows. It is false if there are
// none.
func (f *Fitted) solve(ctx context.Context) bool {
	f.setBands()
	if f.Disproved = !f.possible(ctx, -1); f.Disproved {
		return false
	}
	return f.search(ctx, -1)
}

// setBands gives every row its interval, and finds the unknowns.
func (f *Fitted) setBands() {
	c := f.chart
	f.bands = nil
	k := len(f.Layout.Ratios)
	for _, r := range f.Rows {
		low, high := c.Rows[r.Row].Ratio.interval(f.Truncated)
		open := 0
		if f.Truncated {
			open = c.Rows[r.Row].Ratio.Value.Sign()
		}
		if c.OutIn {
			low, high, open = high.Inv(), low.Inv(), -open
		}
		q := quotient{r.num.wider(k + 1), r.den.wider(k + 1)}
		if f.final {
			q.num = q.num.times(k)
		}
		f.bands = append(f.bands, band{row: r.Row, quotient: q, low: low, high: high, open: open})
	}
	f.speedBands(k)
	depends := 0
	for _, b := range f.bands {
		depends |= b.depends()
	}
	f.Unknowns = members(depends)
	for i := range f.bands {
		f.bands[i].quotient = f.bands[i].pick(f.Unknowns)
	}
}

// speedBands adds the speeds of members that the chart gives.
func (f *Fitted) speedBands(k int) {
	l, c := f.Layout, f.chart
	for _, s := range c.Speeds {
		i := slices.IndexFunc(f.Rows, func(r RowFit) bool { return r.Row == s.Row })
		if i < 0 || !l.hasMember(s.Member) {
			continue
		}
		member, _ := l.Train.Member(s.Member)
		q, ok := l.quotient(f.Rows[i].Locked, l.Train.Input, member)
		if !ok {
			continue
		}
		low, high := s.Speed.interval(f.Truncated)
		f.bands = append(f.bands, band{row: s.Row, quotient: quotient{q.den.wider(k + 1), q.num.wider(k + 1)}, low: low,
			high: high, speed: &s})
	}
}

// members are the numbers of the bits that are set.
func members(set int) (list []int) {
	for ; set != 0; set &= set - 1 {
		list = append(list, bits.TrailingZeros(uint(set)))
	}
	return list
}

// unknownsOf are the unknowns that are basic ratios of a gearset, indices into Unknowns.
func (f *Fitted) unknownsOf(gearset int) (list []int) {
	for i, v := range f.Unknowns {
		if v < len(f.Layout.Ratios) && f.Layout.Ratios[v].Gearset == gearset {
			list = append(list, i)
		}
	}
	return list
}

// wider is a poly with room for k variables.
func (p poly) wider(k int) poly { return append(slices.Clone(p), make(poly, 1<<k-len(p))...) }

// times multiplies a poly with a variable that it does not have.
func (p poly) times(v int) poly {
	q := make(poly, len(p))
	for m, x := range p {
		if x != 0 {
			q[m|1<<v] = x
		}
	}
	return q
}

// pick leaves only some variables, on which all depends.
func (q quotient) pick(vars []int) quotient {
	pick := func(p poly) poly {
		small := make(poly, 1<<len(vars))
		for m := range small {
			from := 0
			for i, v := range vars {
				from |= m >> i & 1 << v
			}
			small[m] = p[from]
		}
		return small
	}
	return quotient{pick(q.num), pick(q.den)}
}

// startBox is what the unknowns can be.
func (f *Fitted) startBox() box {
	var b box
	for _, v := range f.Unknowns {
		low, high := 0.0, 0.0
		if v == len(f.Layout.Ratios) {
			low, high = f.finalBox()
		} else {
			r := f.Layout.Ratios[v]
			low, high = r.Low, r.High
			if known, ok := f.known(v); ok {
				x := known.Float()
				low, high = x*(1-0x1p-51), x*(1+0x1p-51)
			}
		}
		b.lo, b.hi = append(b.lo, low), append(b.hi, high)
	}
	return b
}
