package fit

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Source is the source line of a fitted train.
const Source = "fitted from the user's figures"

// A RemarkKind says what a fitted train has that the chart does not say.
type RemarkKind string

// The kinds of remark.
const (
	// AssumedOneWay: a one-way clutch that the figures need, or that the matched train has.
	AssumedOneWay RemarkKind = "assumed one-way"
	// LeftOut: a row, column or element that is not in the train.
	RowLeftOut    RemarkKind = "row left out"
	ColumnLeftOut RemarkKind = "column left out"
	// MarksOfLayout: a row whose marks contradict its figure has those of the layout.
	MarksOfLayout RemarkKind = "marks of the layout"
	// UnknownMarks: what the chart does not tell of a row is as in the layout.
	UnknownMarks RemarkKind = "unknown marks"
	// ReadAsOneWay: a column without a kind that is read as a one-way clutch.
	ReadAsOneWay RemarkKind = "read as one-way"
	// StandsBehind: a column that is a one-way clutch in series with an element, which it lets
	// act only while it holds. StandsBeside: one parallel to it.
	StandsBehind RemarkKind = "behind an element"
	StandsBeside RemarkKind = "beside an element"
	// CarriesNothing: a one-way clutch beside an element that is applied wherever the clutch holds.
	CarriesNothing RemarkKind = "carries nothing"
	// SpeedNotUsed, TeethNotUsed: what the chart tells of a member that the layout does not have.
	SpeedNotUsed RemarkKind = "speed not used"
	TeethNotUsed RemarkKind = "teeth not used"
	// KeptRatio: a basic ratio on which no figure depends is that of the matched train.
	KeptRatio RemarkKind = "kept ratio"
	// StandForRatio: the gears of a stepped set have numbers that stand for their ratios.
	StandForRatio RemarkKind = "stand for a ratio"
)

// A Remark is what a fitted train has that the chart does not say.
type Remark struct {
	Kind RemarkKind
	Name string // of the row, element, column or basic ratio
	With string // of a one-way clutch: the element that it is beside or behind, "" if the layout has it
}

// Made is a train that was made of a fit.
type Made struct {
	Train   *kinematics.Train
	Remarks []Remark
	Ratios  []*exact.Frac // of each row of the chart, in the vehicle's sense; nil where it does not drive
	agree   int           // how many rows have their figure
}

// Make makes the train of a fit: with a candidate's teeth, or by ratios for nil.
func (f *Fitted) Make(name string, teeth *Candidate) (*Made, error) {
	m := &maker{f: f, b: blueprintOf(f.Layout.Train)}
	m.head(name)
	m.gears(teeth)
	m.elements()
	m.finalDrive()
	if err := m.rows(); err != nil {
		return nil, err
	}
	return m.make()
}

// A maker makes a train of a fit.
type maker struct {
	f       *Fitted
	b       *blueprint
	names   []string // of the element of each column, "" for none
	remarks []Remark
	pending []pendingClutch
}

// A pendingClutch is a one-way clutch whose sense is still to be found.
type pendingClutch struct{ name, beside, a, b string }

func (m *maker) remark(kind RemarkKind, name, with string) {
	m.remarks = append(m.remarks, Remark{kind, name, with})
}

func (m *maker) head(name string) {
	t := &m.b.train
	t.Name, t.Title, t.Note = name, m.f.Layout.Train.Title, ""
	for _, k := range m.f.chart.read {
		m.remark(ReadAsOneWay, m.f.chart.Columns[k].Name, "")
	}
	for _, x := range m.f.chart.Speeds {
		if !m.f.Layout.hasMember(x.Member) {
			m.remark(SpeedNotUsed, m.f.chart.Rows[x.Row].Name, x.Member)
		}
	}
	for _, x := range m.f.chart.Teeth {
		if !m.f.Layout.HasGear(x.Member) {
			m.remark(TeethNotUsed, x.Member, "")
		}
	}
	t.Sources = []string{Source, "layout of " + m.f.Layout.base}
}

// gears gives the gearsets their teeth or ratios.
func (m *maker) gears(teeth *Candidate) {
	l := m.f.Layout
	for g := range m.b.sets {
		set := &m.b.sets[g]
		if len(m.f.unknownsOf(g)) == 0 {
			m.remark(KeptRatio, set.name, "")
			continue
		}
		gearset := &l.Train.Gearsets[g]
		set.pinions, set.shifted = 0, false
		for _, p := range gearset.Pinions {
			delete(set.spec.Teeth, p.Part)
		}
		if teeth != nil && m.byTeeth(set, teeth) {
			continue
		}
		m.byRatio(set, gearset)
	}
}

// byTeeth gives a set the teeth of a candidate; false if it has none for it.
func (m *maker) byTeeth(set *setPlan, teeth *Candidate) bool {
	found := false
	for _, t := range teeth.Teeth {
		name, part, _ := strings.Cut(t.Member, ".")
		if name == set.name {
			set.spec.Teeth[part] = t.Count
			set.spec.RatioOnly = false
			found = true
		}
	}
	return found
}

// byRatio gives a set the ratios of the fit. Ratios of the set on which no figure depends
// stay those of the layout.
func (m *maker) byRatio(set *setPlan, g *kinematics.Gearset) {
	l := m.f.Layout
	base := baseGear(g)
	values := map[int]exact.Frac{} // of the other gear, over that of the base
	for v, r := range l.Ratios {
		if l.Train.Gearsets[r.Gearset].Name != set.name {
			continue
		}
		x := r.Value
		if i := slices.Index(m.f.Unknowns, v); i >= 0 {
			x = m.f.At[i]
		} else {
			m.remark(KeptRatio, r.Name, "")
		}
		if other := r.Over; other != base {
			values[other] = x
		} else {
			values[r.Under] = x.Inv()
		}
	}
	if g.Steps() {
		m.bySteps(set, g, base, values)
		return
	}
	common := int64(1)
	for _, x := range values {
		_, d, _ := x.Small()
		_, rest, _ := exact.NewFrac(common, d).Small() // of d, what common has not
		common *= rest
	}
	set.spec.RatioOnly = true
	set.spec.Teeth = map[string]int64{g.Gears[base].Part: common}
	for other, x := range values {
		n, d, _ := x.Small()
		set.spec.Teeth[g.Gears[other].Part] = common / d * n
	}
}

// bySteps gives a stepped set numbers whose quotients are the ratios: they are no teeth.
func (m *maker) bySteps(set *setPlan, g *kinematics.Gearset, base int, values map[int]exact.Frac) {
	m.remark(StandForRatio, set.name, "")
	values[base] = exact.Int(1)
	// Every ring must have more teeth than its step.
	scale := int64(1)
	for i, gear := range g.Gears {
		for gear.Internal && values[i].Mul(exact.Int(scale)).Cmp(exact.Int(1)) <= 0 {
			scale++
		}
	}
	for i := range set.spec.Steps {
		n, d, _ := values[i].Small()
		set.spec.Steps[i].Teeth, set.spec.Steps[i].PinionTeeth = n*scale, d
	}
	set.shifted = true
}

// elements keeps the elements that the chart has, under the layout's names with the
// user's letters, and the one-way clutches that it leaves out.
func (m *maker) elements() {
	f, l := m.f, m.f.Layout
	m.names = make([]string, len(f.Columns))
	var gone []string
	for i, c := range l.Train.Couplings[:l.Train.ElementCount] {
		e := m.b.element(c.Name)
		e.Also, e.Note = "", ""
		switch col := f.columnOf(i); {
		case col >= 0:
			m.names[col] = c.Name
			e.Also = f.chart.Columns[col].Name
		case c.Kind == kinematics.OneWay && m.holds(i):
			e.Note = "assumed: the chart has no column for it"
			m.remark(AssumedOneWay, c.Name, "")
		case m.applied(i):
			// An element that only the layout applies stays.
		default:
			gone = append(gone, c.Name)
		}
	}
	for k, x := range f.Columns {
		switch {
		case x < 0:
			m.remark(ColumnLeftOut, f.chart.Columns[k].Name, "")
		case f.Behind[k]:
			m.names[k] = m.addBehind(x, f.chart.Columns[k].Name)
			m.remark(StandsBehind, f.chart.Columns[k].Name, l.Train.Couplings[x].Name)
		case f.Beside[k]:
			m.names[k] = m.addBeside(x, f.chart.Columns[k].Name, "")
			m.remark(StandsBeside, f.chart.Columns[k].Name, l.Train.Couplings[x].Name)
			if f.carriesNothing(k) {
				m.remark(CarriesNothing, f.chart.Columns[k].Name, l.Train.Couplings[x].Name)
			}
		}
	}
	for _, d := range f.Differences {
		if d.Kind == NeedsOneWay && d.Element >= 0 && !slices.ContainsFunc(m.pending, func(p pendingClutch) bool {
			return p.beside == l.Train.Couplings[d.Element].Name
		}) {
			m.addBeside(d.Element, "", "assumed: the figures need it")
		}
	}
	m.b.drop(gone...)
}

// carriesNothing says whether the element that a column stands beside is applied wherever it holds.
func (f *Fitted) carriesNothing(column int) bool {
	k := f.columnOf(f.Columns[column])
	return k >= 0 &&
		!slices.ContainsFunc(f.chart.Rows, func(r Row) bool { return r.Marks[column] == On && r.Marks[k] != On })
}

// columnOf is the column that is an element itself, -1 for none.
func (f *Fitted) columnOf(element int) int {
	for k, e := range f.Columns {
		if e == element && !f.Beside[k] {
			return k
		}
	}
	return -1
}

// holds says whether a coupling has no slip in some row.
func (m *maker) holds(i int) bool {
	return slices.ContainsFunc(m.f.Rows, func(r RowFit) bool { return slices.Contains(r.Locked, i) })
}

// applied says whether a coupling that no column is is needed by some row.
func (m *maker) applied(i int) bool {
	return slices.ContainsFunc(m.f.Differences, func(d Difference) bool {
		return d.Element == i && d.Matched == On && d.Kind == Contradicts
	})
}

// addBeside adds a one-way clutch beside an element. Its sense is found in the end.
func (m *maker) addBeside(element int, also, note string) string {
	beside := m.f.Layout.Train.Couplings[element].Name
	name := beside + "-one-way"
	x := *m.b.element(beside)
	x.Name, x.Kind, x.Also, x.Note, x.Capacity, x.Area = name, kinematics.OneWay, also, note, 0, 0
	m.b.elements = append(m.b.elements, x)
	m.pending = append(m.pending, pendingClutch{name, beside, x.a, x.b})
	if also == "" {
		m.remark(AssumedOneWay, name, beside)
	}
	return name
}

// addBehind puts a one-way clutch between an element and what it drives or holds.
func (m *maker) addBehind(element int, also string) string {
	e := m.b.element(m.f.Layout.Train.Couplings[element].Name)
	race, name := e.Name+"-race", e.Name+"-one-way-behind"
	m.b.shafts = append(slices.Clone(m.b.shafts), race)
	x := *e
	x.Name, x.Kind, x.Also, x.Note, x.Capacity, x.Area = name, kinematics.OneWay, also, "", 0, 0
	far := &e.b
	if *far == kinematics.HousingName {
		far = &e.a
	}
	x.a, x.b = race, *far
	*far = race
	m.pending = append(m.pending, pendingClutch{name, e.Name, x.a, x.b})
	m.b.elements = append(m.b.elements, x)
	return name
}

// finalDrive puts a fitted final drive behind the output: a chain, since only its ratio is
// known, so that the sense stays.
func (m *maker) finalDrive() {
	f := m.f
	if !f.final || len(f.At) == 0 {
		return
	}
	n, d, _ := f.At[len(f.At)-1].Small()
	m.b.sets = append(m.b.sets, setPlan{name: "final-drive", kind: kinematics.Pair, spec: kinematics.GearsetSpec{
		Teeth: map[string]int64{"a": d, "b": n}, RatioOnly: true, Mesh: kinematics.Chain, Carrier: kinematics.HousingName}})
	t := f.Layout.Train
	output := t.Members[t.Output].Name
	joined := false
	for i := range m.b.joints {
		if j := &m.b.joints[i]; slices.Contains(j.members, output) {
			j.members, joined = append(slices.Clone(j.members), "final-drive.a"), true
		}
	}
	if !joined {
		m.b.joints = append(m.b.joints, jointPlan{"to-final-drive", []string{output, "final-drive.a"}})
	}
	m.b.output = "final-drive.b"
}

// rows writes the ranges of the chart.
func (m *maker) rows() error {
	f, t := m.f, m.f.Layout.Train
	m.b.ranges = nil
	for r := range f.chart.Rows {
		row := &f.chart.Rows[r]
		x := rangePlan{Range: kinematics.Range{Name: row.Name}}
		in, out := t.Input, t.Output
		fit := slices.IndexFunc(f.Rows, func(x RowFit) bool { return x.Row == r })
		if fit >= 0 && f.Rows[fit].Range >= 0 {
			in, out = t.Ranges[f.Rows[fit].Range].Input, t.Ranges[f.Rows[fit].Range].Output
		}
		x.input, x.output = t.Members[in].Name, t.Members[out].Name
		if m.b.output != "" && out == t.Output {
			x.output = m.b.output
		}
		x.apply = m.apply(r)
		if row.Ratio != nil && r != f.Misprint {
			x.Published = f.chart.published(row, f.Truncated, t.Forward)
		}
		m.b.ranges = append(m.b.ranges, x)
	}
	if len(m.b.ranges) == 0 {
		return fmt.Errorf("no row of the chart has a ratio")
	}
	return nil
}

// apply are the elements of a row: as marked, but where that contradicts its figure.
func (m *maker) apply(r int) []string {
	f := m.f
	var list []string
	add := func(name string) {
		e := m.b.element(name)
		if e != nil && (e.Kind != kinematics.OneWay || e.Switched) && !slices.Contains(list, name) {
			list = append(list, name)
		}
	}
	if slices.Contains(f.chart.Rows[r].Marks, Unknown) && f.chart.Rows[r].Ratio != nil {
		m.remark(UnknownMarks, f.chart.Rows[r].Name, "")
	}
	for k, mark := range f.chart.Rows[r].Marks {
		if f.Columns[k] < 0 || f.Beside[k] {
			continue
		}
		if f.markOf(r, k, mark) == On {
			add(m.names[k])
		}
	}
	for _, d := range f.Differences {
		if d.Row == r && d.Kind == Contradicts {
			if d.Column < 0 {
				add(f.Layout.Train.Couplings[d.Element].Name)
			}
			if !slices.Contains(m.remarks, Remark{MarksOfLayout, f.chart.Rows[r].Name, ""}) {
				m.remark(MarksOfLayout, f.chart.Rows[r].Name, "")
			}
		}
	}
	return list
}

// markOf is a mark as it is written into the train.
func (f *Fitted) markOf(r, column int, mark Mark) Mark {
	for _, d := range f.Differences {
		if d.Row == r && d.Column == column && d.Kind == Contradicts {
			return d.Matched
		}
	}
	if mark != Unknown {
		return mark
	}
	m := f.asMatch()
	if g := m.gears[r]; g >= 0 && f.Layout.ranges[g].marks[m.columns[column]] == on {
		return On
	}
	return Off
}

// make builds the train: with the senses of added one-way clutches in which every row has
// its figure, and without rows that nothing can be said of.
func (m *maker) make() (*Made, error) {
	var best *Made
	var err error
	for senses := range 1 << len(m.pending) {
		for i, p := range m.pending {
			e := m.b.element(p.name)
			e.a, e.b = p.a, p.b
			if senses>>i&1 == 1 {
				e.a, e.b = p.b, p.a
			}
		}
		made, e := m.try()
		if e != nil {
			err = e
			continue
		}
		if best == nil || made.agree > best.agree {
			best = made
		}
	}
	if best == nil {
		return nil, err
	}
	return best, nil
}

// try builds the train and counts the rows that have their figures.
func (m *maker) try() (*Made, error) {
	t, err := m.b.build()
	if err != nil {
		return nil, err
	}
	k := solve.Compile(t).Kernel()
	made := &Made{Remarks: slices.Clone(m.remarks), Ratios: make([]*exact.Frac, len(m.f.chart.Rows))}
	plan := *m.b
	plan.ranges = nil
	for i := range t.Ranges {
		r := &t.Ranges[i]
		o := k.Outcome(t.In(r))
		ratio, drives := o.Ratio()
		if drives {
			v := ratio.Mul(exact.Int(int64(t.Forward)))
			made.Ratios[i] = &v
		}
		if r.Published != nil && drives {
			if c, ok := r.Published.Against(ratio.Rat()); ok && c.Agrees {
				made.agree++
			}
		}
		if o.Verdict == solve.TieUp || o.NothingTurns() && r.Published == nil {
			made.Remarks = append(made.Remarks, Remark{RowLeftOut, r.Name, ""})
			continue
		}
		plan.ranges = append(plan.ranges, m.b.ranges[i])
	}
	made.Train, err = plan.build()
	return made, err
}
