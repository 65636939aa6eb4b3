package analysis

import (
	"cmp"
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
	compares bool
}

// Compares says whether the chart is of a train with faults, beside itself when healthy.
func (c *Chart) Compares() bool { return c.compares }

// First are the rows without those of what else ranges can come to, one for each range.
func (c *Chart) First() []*ChartRow {
	return slices.DeleteFunc(slices.Clone(c.Rows), func(r *ChartRow) bool { return r.Or })
}

// A ChartRow is one range of a chart.
type ChartRow struct {
	reading.Row
	// Or says that the range can come to this as well as to the row before.
	Or      bool
	Apply   List[string]
	Hazards []reading.Hazard
	// HealthyMotion and Motion, under the faults, are nil in a [WallChart], and so
	// is Doings, what each coupling does under the faults.
	HealthyMotion, Motion *solve.Motion
	Doings                []reading.Doing

	faults   []kinematics.Fault
	compares bool // it is not of the chart of a healthy train
}

// readsAs says whether two rows of a range read the same: each thing is said once.
func (r *ChartRow) readsAs(o *ChartRow) bool {
	return r.Faulty.Whole() == o.Faulty.Whole() && r.Faulty.Reading.Coast == o.Faulty.Reading.Coast
}

// MarshalJSON writes the range by name, healthy beside faulty; "faulty" is null in the chart
// of a healthy train.
func (r *ChartRow) MarshalJSON() ([]byte, error) {
	row := document.Object("range", r.Range.Name)
	if r.Or {
		row.Add("or", true)
	}
	return append(row, document.Object("apply", r.Apply, "healthy", r.Healthy,
		"faulty", document.If(r.Faulty, r.compares), "changes", List[string](r.Changes))...).MarshalJSON()
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

// Chart reads ranges of the train under faults beside themselves when healthy.
func (a *Analysis) Chart(ctx context.Context, q Question) (*Chart, error) {
	if err := q.complete(a.Train); err != nil {
		return nil, err
	}
	w := a.workers.take()
	defer a.workers.put(w)
	c := a.chartOf(q, w.reader.Chart(q.Faults...))
	c.Rows = w.alsoOther(a, q, c.Rows)
	c.Question.Condition = q.at(pointers(q.Ranges)...)
	c.Faults = faultsOf(a.Train, q.brought.Settled(c.Question.Faults)) // what is so in all rows
	c.Outcomes, _ = w.outcomes(q.Condition, pointers(q.Ranges)...)
	var hazards []reading.Hazard
	err := solve.Each(ctx, "rows", len(c.Rows), func(i int) {
		row := c.Rows[i]
		row.HealthyMotion = w.system.Motion(a.Train.In(row.Range))
		row.Motion = row.HealthyMotion
		if len(row.faults) > 0 {
			row.Motion = w.system.Motion(a.Train.In(row.Range, row.faults...))
		}
		row.Doings = reading.Doings(a.Train, row.Range, row.Motion, row.faults)
		hazards = append(hazards, row.Hazards...)
	})
	c.Cautions = reading.Cautions(a.Train.Use, hazards)
	return c, err
}

// alsoOther puts behind each row those of the other things that its range can come to.
func (w *worker) alsoOther(a *Analysis, q Question, rows []*ChartRow) []*ChartRow {
	var list []*ChartRow
	for _, row := range rows {
		own := []*ChartRow{row}
		for _, way := range q.ways(row.Range)[1:] {
			one := Question{[]kinematics.Range{*row.Range}, way}
			other := a.chartOf(one, w.reader.Chart(way.Faults...)).Rows[0]
			if !slices.ContainsFunc(own, other.readsAs) {
				other.Or = true
				own = append(own, other)
			}
		}
		list = append(list, own...)
	}
	return list
}

func (a *Analysis) chartOf(q Question, chart *reading.Chart) *Chart {
	c := &Chart{
		Schema: "tieup.chart/1", Units: document.Texts("ratio", "input speed / output speed"), Train: a.Train,
		Faulted: q.faulted(a.Train), Positions: chart.Positions, Question: q,
		compares: len(q.Faults) > 0 || q.brought != nil,
	}
	for _, r := range q.Ranges {
		at := slices.IndexFunc(chart.Rows, func(row reading.Row) bool { return row.Range.Name == r.Name })
		row := &ChartRow{Row: chart.Rows[at], Apply: a.Train.CouplingNames(r.Apply), faults: q.Faults}
		row.compares = c.compares
		row.Hazards = reading.Hazards(row.Healthy, row.Faulty)
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

	condition Condition
}

// Head is the name of the row below that of what it is another outcome of.
func (r *WallRow) Head() string {
	if r.Or {
		return "  or"
	}
	return r.Name()
}

// Name is what the row is called: its faults as the command line takes them.
func (r *WallRow) Name() string {
	own := slices.DeleteFunc(slices.Clone(r.Faults), func(f Fault) bool { return f.Cause != "" })
	names := append(slices.Clone(r.Controls), faultTexts(own)...)
	return cmp.Or(strings.Join(names, " + "), "healthy")
}

// Healthy says that nothing is wrong in the row.
func (r *WallRow) Healthy() bool { return len(r.Faults)+len(r.Controls) == 0 }

// A WallQuestion asks for every single fault in some ranges, or for every pair of
// faults of different couplings or parts of the controls. Faults that are given are there in every row.
type WallQuestion struct {
	Question
	Pairs bool
}

// rows are the rows of the chart, without what the ranges do; one for each thing that
// faults of the controls can come to.
func (q *WallQuestion) rows(t *kinematics.Train) []*WallRow {
	var rows []*WallRow
	own := slices.DeleteFunc(slices.Clone(q.Faults), func(f kinematics.Fault) bool {
		return q.brought != nil && f.Cause != ""
	})
	add := func(b *controls.Brought, added []kinematics.Fault, above ...controls.Fault) {
		for k, way := range b.Ways() {
			all := controls.Merge(append(slices.Clone(own), added...), way)
			rows = append(rows, &WallRow{Added: added, Above: above, Or: k > 0, condition: Condition{all, b, nil}})
		}
	}
	add(q.brought, nil)
	there := func(f kinematics.Fault) bool { return t.Contradicts(q.Faults, f) != nil }
	singles := slices.DeleteFunc(t.SingleFaults(), there)
	for i, f := range singles {
		if !q.Pairs {
			add(q.brought, []kinematics.Fault{f})
			continue
		}
		for _, g := range singles[i+1:] {
			if g.Coupling != f.Coupling {
				add(q.brought, []kinematics.Fault{f, g})
			}
		}
	}
	if n := controls.Of(t); n != nil {
		q.above(n, singles, add)
	}
	return rows
}

// above adds the rows of single faults of the controls, after any fail-safe, as when they
// are given. With pairs, of every two of them, and of every one with a fault of an element.
func (q *WallQuestion) above(n *controls.Network, elements []kinematics.Fault,
	add func(b *controls.Brought, added []kinematics.Fault, above ...controls.Fault),
) {
	given := q.Controls()
	faults := slices.DeleteFunc(n.SingleFaults(), func(f controls.Fault) bool { return n.Contradicts(given, f) != nil })
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
	var own []*WallRow // of the same faults
	err := solve.Each(ctx, "fault sets", len(rows), func(n int) {
		x := rows[n]
		chart := a.chartOf(Question{q.Ranges, x.condition}, w.reader.Chart(x.condition.Faults...))
		for _, row := range chart.Rows {
			row.compares = true
			hazards = append(hazards, row.Hazards...)
		}
		x.Faulted, x.Rows = chart.Faulted, chart.Rows
		alike := func(o *WallRow) bool { return slices.EqualFunc(o.Rows, x.Rows, (*ChartRow).readsAs) }
		if !x.Or {
			own = nil
		} else if slices.ContainsFunc(own, alike) {
			return
		}
		own, c.Charts = append(own, x), append(c.Charts, x)
	})
	c.Cautions = reading.Cautions(a.Train.Use, hazards)
	return c, err
}
