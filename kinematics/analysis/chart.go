package analysis

import (
	"context"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Chart is what ranges of a train do, healthy beside faulty.
type Chart struct {
	Schema    string            `json:"schema"`
	Units     Named[string]     `json:"units"`
	Train     *kinematics.Train `json:"train"`
	Faults    List[Fault]       `json:"faults"`
	Rows      []*ChartRow       `json:"states"`
	Positions List[string]      `json:"positions"` // remarks on the selector
	Cautions  List[string]      `json:"cautions"`

	Question Question `json:"-"`
}

// A ChartRow is one range of a chart.
type ChartRow struct {
	Range   string       `json:"range"`
	Apply   List[string] `json:"apply"`
	Healthy *Cell        `json:"healthy"`
	Faulty  *Cell        `json:"faulty"` // nil in the chart of a healthy train
	Changes List[string] `json:"changes"`

	Row     reading.Row      `json:"-"`
	Hazards []reading.Hazard `json:"-"`
	// HealthyMotion and Motion, under the faults, are nil in a [WallChart], and so
	// is Doings, what each coupling does under the faults.
	HealthyMotion *solve.Motion   `json:"-"`
	Motion        *solve.Motion   `json:"-"`
	Doings        []reading.Doing `json:"-"`
}

// A Cell is what a range does.
type Cell struct {
	Verdict solve.Verdict `json:"verdict"`
	Ratio
	Reads    string    `json:"reads"`
	Coasting string    `json:"coasting"`
	As       Name      `json:"as"` // another range that has the ratio when healthy
	Friction *Friction `json:"friction"`
}

func cellOf(c reading.RangeReading) *Cell {
	return &Cell{
		c.Outcome.Verdict, ratioOf(c.Outcome.Ratio()), c.Text(), c.Reading.Coast, Name(c.As), frictionOf(c.Friction),
	}
}

// Chart reads ranges under faults beside themselves when healthy.
func (a *Analysis) Chart(ctx context.Context, q Question) (*Chart, error) {
	var c *Chart
	err := a.with(func(w *worker) error {
		chart := w.reader.Chart(q.Faults...)
		c = a.chartOf(q, chart)
		var hazards []reading.Hazard
		for _, row := range c.Rows {
			if err := ctx.Err(); err != nil {
				return err
			}
			row.HealthyMotion = w.system.Motion(a.Train.In(row.Row.Range))
			row.Motion = row.HealthyMotion
			if len(q.Faults) > 0 {
				row.Motion = w.system.Motion(a.Train.In(row.Row.Range, q.Faults...))
			}
			row.Doings = reading.Doings(a.Train, row.Row.Range, row.Motion, q.Faults)
			hazards = append(hazards, row.Hazards...)
		}
		c.Cautions = reading.Cautions(a.Train.Use, hazards)
		return nil
	})
	return c, err
}

func (a *Analysis) chartOf(q Question, chart *reading.Chart) *Chart {
	c := &Chart{
		Schema: "tieup.chart/1", Units: Named[string]{{"ratio", "input speed / output speed"}}, Train: a.Train,
		Faults: faultsOf(a.Train, q.Faults), Positions: chart.Positions, Question: q,
	}
	for _, r := range q.Ranges {
		at := slices.IndexFunc(chart.Rows, func(row reading.Row) bool { return row.Range.Name == r.Name })
		row := &ChartRow{Row: chart.Rows[at]}
		row.Range, row.Apply, row.Changes = r.Name, a.Train.CouplingNames(r.Apply), row.Row.Changes
		row.Healthy = cellOf(row.Row.Healthy)
		if len(q.Faults) > 0 {
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
	Faults List[Fault] `json:"faults"`
	Rows   []*ChartRow `json:"states"`

	Added []kinematics.Fault `json:"-"` // besides those given
}

// A WallQuestion asks for every single fault in some ranges, or for every pair of
// faults of different couplings. Faults that are given are there in every row.
type WallQuestion struct {
	Question
	Pairs bool
	// Progress, if not nil, is told how many of all sets of faults are read.
	Progress func(done, all int)
}

// sets are the faults that are added in each row.
func (q *WallQuestion) sets(t *kinematics.Train) [][]kinematics.Fault {
	sets := [][]kinematics.Fault{nil}
	there := func(f kinematics.Fault) bool { return t.Contradicts(q.Faults, f) != nil }
	singles := slices.DeleteFunc(t.SingleFaults(), there)
	for i, f := range singles {
		if !q.Pairs {
			sets = append(sets, []kinematics.Fault{f})
			continue
		}
		for _, g := range singles[i+1:] {
			if g.Coupling != f.Coupling {
				sets = append(sets, []kinematics.Fault{f, g})
			}
		}
	}
	return sets
}

// WallChart reads ranges under every single fault, or every pair of them.
func (a *Analysis) WallChart(ctx context.Context, q WallQuestion) (*WallChart, error) {
	c := &WallChart{Schema: "tieup.faults/1", Train: a.Train, Question: q}
	var hazards []reading.Hazard
	err := a.with(func(w *worker) error {
		sets := q.sets(a.Train)
		for n, set := range sets {
			if err := ctx.Err(); err != nil {
				return err
			}
			faults := append(slices.Clone(q.Faults), set...)
			chart := a.chartOf(Question{q.Ranges, faults}, w.reader.Chart(faults...))
			for _, row := range chart.Rows {
				row.Faulty = cellOf(row.Row.Faulty)
				hazards = append(hazards, row.Hazards...)
			}
			c.Charts = append(c.Charts, &WallRow{Faults: chart.Faults, Rows: chart.Rows, Added: set})
			if q.Progress != nil {
				q.Progress(n+1, len(sets))
			}
		}
		return nil
	})
	c.Cautions = reading.Cautions(a.Train.Use, hazards)
	return c, err
}
