package analysis

import (
	"context"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/document"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Chart is what ranges of a train do, healthy beside faulty.
type Chart struct {
	Schema string            `json:"schema"`
	Units  Named[string]     `json:"units"`
	Train  *kinematics.Train `json:"train"`
	Faulted
	Rows      []*ChartRow  `json:"states"`
	Positions List[string] `json:"positions"` // remarks on the selector
	Cautions  List[string] `json:"cautions"`

	Question Question `json:"-"`
}

// Compares says whether the chart is of a train with faults, beside itself when healthy.
func (c *Chart) Compares() bool { return len(c.Faults) > 0 || c.Question.brought != nil }

// A ChartRow is one range of a chart.
type ChartRow struct {
	Range string `json:"range"`
	// Or says that the range can come to this as well as to the row before.
	Or      bool          `json:"or,omitempty"`
	Apply   List[string]  `json:"apply"`
	Healthy *RangeReading `json:"healthy"`
	Faulty  *RangeReading `json:"faulty"` // nil in the chart of a healthy train
	Changes List[string]  `json:"changes"`

	Row     reading.Row      `json:"-"`
	Hazards []reading.Hazard `json:"-"`
	// HealthyMotion and Motion, under the faults, are nil in a [WallChart], and so
	// is Doings, what each coupling does under the faults.
	HealthyMotion *solve.Motion   `json:"-"`
	Motion        *solve.Motion   `json:"-"`
	Doings        []reading.Doing `json:"-"`
	faults        []kinematics.Fault
}

// A Drive is what a state does: its verdict, its ratio, and both in words.
type Drive struct {
	Verdict solve.Verdict `json:"verdict"`
	Ratio
	Reads    string `json:"reads"`
	Coasting string `json:"coasting"`
}

func driveOf(o *solve.Outcome, reads, coasting string) Drive {
	return Drive{o.Verdict, document.RatioOf(o.Ratio()), reads, coasting}
}

// A RangeReading is what a range does.
type RangeReading struct {
	Drive
	As       Name              `json:"as"` // another range that has the ratio when healthy
	Friction *reading.Friction `json:"friction"`
}

func cellOf(c reading.RangeReading) *RangeReading {
	return &RangeReading{driveOf(&c.Outcome, c.Text(), c.Reading.Coast), Name(c.As), c.Friction}
}

// Chart reads ranges of the train under faults beside themselves when healthy.
func (a *Analysis) Chart(ctx context.Context, q Question) (*Chart, error) {
	if err := q.complete(a.Train); err != nil {
		return nil, err
	}
	w := a.workers.take()
	defer a.workers.put(w)
	c := a.chartOf(q, w.reader.Chart(q.Faults...))
	c.Rows = w.alsoOther(a, q, c.Rows)
	var hazards []reading.Hazard
	err := solve.Each(ctx, "rows", len(c.Rows), func(i int) {
		row := c.Rows[i]
		row.HealthyMotion = w.system.Motion(a.Train.In(row.Row.Range))
		row.Motion = row.HealthyMotion
		if len(row.faults) > 0 {
			row.Motion = w.system.Motion(a.Train.In(row.Row.Range, row.faults...))
		}
		row.Doings = reading.Doings(a.Train, row.Row.Range, row.Motion, row.faults)
		hazards = append(hazards, row.Hazards...)
	})
	c.Cautions = reading.Cautions(a.Train.Use, hazards)
	return c, err
}

// alsoOther puts behind each row those of the other outcomes of its range.
func (w *worker) alsoOther(a *Analysis, q Question, rows []*ChartRow) []*ChartRow {
	var list []*ChartRow
	for _, row := range rows {
		list = append(list, row)
		for _, faults := range q.brought.Instead(row.Row.Range, q.Faults) {
			one := Question{Ranges: []kinematics.Range{*row.Row.Range}, Faults: faults, brought: q.brought}
			other := a.chartOf(one, w.reader.Chart(faults...)).Rows[0]
			other.Or = true
			list = append(list, other)
		}
	}
	return list
}

func (a *Analysis) chartOf(q Question, chart *reading.Chart) *Chart {
	c := &Chart{
		Schema: "tieup.chart/1", Units: document.Texts("ratio", "input speed / output speed"), Train: a.Train,
		Faulted: faulted(a.Train, q.Faults), Positions: chart.Positions, Question: q,
	}
	for _, r := range q.Ranges {
		at := slices.IndexFunc(chart.Rows, func(row reading.Row) bool { return row.Range.Name == r.Name })
		row := &ChartRow{Row: chart.Rows[at], faults: q.Faults}
		row.Range, row.Apply, row.Changes = r.Name, a.Train.CouplingNames(r.Apply), row.Row.Changes
		row.Healthy = cellOf(row.Row.Healthy)
		if len(q.Faults) > 0 || q.brought != nil {
			row.Faulty = cellOf(row.Row.Faulty)
		}
		row.Hazards = reading.Hazards(row.Row.Healthy, row.Row.Faulty)
		c.Rows = append(c.Rows, row)
	}
	return c
}

// A WallChart is what every single fault of a train does in its ranges, or every
// pair of faults.
type WallChart struct {
	Schema   string            `json:"schema"`
	Train    *kinematics.Train `json:"train"`
	Charts   []*WallRow        `json:"charts"` // the first without a fault besides those given
	Cautions List[string]      `json:"cautions"`

	Question WallQuestion `json:"-"`
}

// A WallRow is what the ranges do under some faults.
type WallRow struct {
	Faulted
	Rows []*ChartRow `json:"states"`

	Added []kinematics.Fault `json:"-"` // besides those given
	// Above are the faults of the controls of the row, nil where all are of elements; Or
	// says that the row is what else they can come to.
	Above []controls.Fault `json:"-"`
	Or    bool             `json:"or,omitempty"`
	all   []kinematics.Fault
}

// Name is what the row is called: its faults as the command line takes them.
func (r *WallRow) Name() string {
	if r.Or {
		return "  or"
	}
	own := slices.DeleteFunc(slices.Clone(r.Faults), func(f Fault) bool { return f.Cause != "" })
	names := append(slices.Clone(r.Controls), faultTexts(own)...)
	if len(names) == 0 {
		return "healthy"
	}
	return strings.Join(names, " + ")
}

// A WallQuestion asks for every single fault in some ranges, or for every pair of
// faults of different couplings or parts of the controls. Faults that are given are there in every row.
type WallQuestion struct {
	Question
	Pairs bool
}

// rows are the rows of the chart, without what the ranges do.
func (q *WallQuestion) rows(t *kinematics.Train) []*WallRow {
	rows := []*WallRow{{}}
	there := func(f kinematics.Fault) bool { return t.Contradicts(q.Faults, f) != nil }
	singles := slices.DeleteFunc(t.SingleFaults(), there)
	for i, f := range singles {
		if !q.Pairs {
			rows = append(rows, &WallRow{Added: []kinematics.Fault{f}})
			continue
		}
		for _, g := range singles[i+1:] {
			if g.Coupling != f.Coupling {
				rows = append(rows, &WallRow{Added: []kinematics.Fault{f, g}})
			}
		}
	}
	for _, row := range rows {
		row.all = append(slices.Clone(q.Faults), row.Added...)
	}
	if n := controls.Of(t); n != nil {
		rows = append(rows, q.above(n, singles)...)
	}
	return rows
}

// above are the rows of single faults of the controls, after any fail-safe, as when
// they are given; one for each thing that a fault can come to. With pairs, of every two
// of them, and of every one with a fault of an element.
func (q *WallQuestion) above(n *controls.Network, elements []kinematics.Fault) []*WallRow {
	given := q.Controls()
	own := slices.DeleteFunc(slices.Clone(q.Faults), func(f kinematics.Fault) bool { return f.Cause != "" })
	faults := slices.DeleteFunc(n.SingleFaults(), func(f controls.Fault) bool { return n.Contradicts(given, f) != nil })
	var rows []*WallRow
	add := func(b *controls.Brought, added []kinematics.Fault, above ...controls.Fault) {
		for k, way := range b.Ways() {
			all := controls.Merge(append(slices.Clone(own), added...), way)
			rows = append(rows, &WallRow{Added: added, Above: above, Or: k > 0, all: all})
		}
	}
	for i, f := range faults {
		b := n.Bring(append(slices.Clone(given), f))
		if !q.Pairs {
			add(b, nil, f)
			continue
		}
		for k := range elements {
			add(b, elements[k:k+1], f)
		}
		for _, g := range faults[i+1:] {
			if n.Contradicts([]controls.Fault{f}, g) == nil {
				add(n.Bring(append(slices.Clone(given), f, g)), nil, f, g)
			}
		}
	}
	return rows
}

// WallChart reads ranges under every single fault, or every pair of them.
func (a *Analysis) WallChart(ctx context.Context, q WallQuestion) (*WallChart, error) {
	if err := q.complete(a.Train); err != nil {
		return nil, err
	}
	c := &WallChart{Schema: "tieup.faults/1", Train: a.Train, Question: q}
	var hazards []reading.Hazard
	w := a.workers.take()
	defer a.workers.put(w)
	rows := q.rows(a.Train)
	err := solve.Each(ctx, "fault sets", len(rows), func(n int) {
		x := rows[n]
		chart := a.chartOf(Question{Ranges: q.Ranges, Faults: x.all}, w.reader.Chart(x.all...))
		for _, row := range chart.Rows {
			row.Faulty = cellOf(row.Row.Faulty)
			hazards = append(hazards, row.Hazards...)
		}
		x.Faulted, x.Rows = chart.Faulted, chart.Rows
		if len(x.Controls) == 0 {
			x.Controls = kinematics.Map(x.Above, controls.Fault.String)
		}
		c.Charts = append(c.Charts, x)
	})
	c.Cautions = reading.Cautions(a.Train.Use, hazards)
	return c, err
}
