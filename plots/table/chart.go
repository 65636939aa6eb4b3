package table

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Charted is the answer of chart for one train under given faults, or healthy.
type Charted struct {
	Chart    *reading.Chart
	Motions  []*solve.Motion // of the rows, under the faults
	Cautions []string
}

// Text writes a row per range: for a healthy train what each element does, for
// a faulty one the healthy and the faulty reading and what changed.
func (c Charted) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	t := c.Chart.Train
	p.line(titled(t))
	for _, f := range c.Chart.Faults {
		p.line("fault: " + reading.Fault(t, f))
	}
	p.line("")
	if len(c.Chart.Faults) == 0 {
		p.grid(c.application())
		p.line("")
		p.line(c.Note())
	} else {
		p.grid(c.compared())
	}
	for i, remark := range c.Chart.Positions {
		if i == 0 {
			p.line("")
		}
		p.line(remark)
	}
	p.cautions(c.Cautions)
	return p.err
}

// Note says what stands in the rows of the application chart, "" for faulty trains.
func (c Charted) Note() string {
	if len(c.Chart.Faults) > 0 {
		return ""
	}
	return "on = applied; holds, overruns = one-way clutch under drive; ratio = input speed / output speed"
}

// Grid returns the rows of the text answer.
func (c Charted) Grid() *Grid {
	if len(c.Chart.Faults) == 0 {
		return c.application().withoutEmptyColumns()
	}
	return c.compared().withoutEmptyColumns()
}

// application is the application chart: ranges by elements.
func (c Charted) application() *Grid {
	t := c.Chart.Train
	heads := append([]string{"range"}, t.ElementNames()...)
	g := &Grid{Columns: columns(append(heads, "ratio>", "reads", "coasting")...)}
	for i, row := range c.Chart.Rows {
		cells := []string{row.Range.Name}
		for e := range t.ElementCount {
			cells = append(cells, does(t, row.Range, e, c.Motions[i].States[e]))
		}
		ratio, reads := "", row.Faulty.Text()
		if r, ok := row.Faulty.Outcome.Ratio(); ok {
			ratio, reads = places(r), string(row.Faulty.Reading.Words[0])
		}
		g.Add(append(cells, ratio, reads, row.Faulty.Reading.Coast)...)
	}
	return g
}

// does says what an element does in a range, as an application chart marks it.
func does(t *kinematics.Train, r *kinematics.Range, e int, state solve.CouplingState) string {
	if t.Couplings[e].Kind == kinematics.OneWay {
		switch state {
		case solve.StateHolding, solve.StateOverrunning:
			return map[solve.CouplingState]string{solve.StateHolding: "holds", solve.StateOverrunning: "overruns"}[state]
		}
		return ""
	}
	for _, a := range r.Apply {
		if a == e {
			return "on"
		}
	}
	return ""
}

// compared sets the faulty readings beside the healthy ones.
func (c Charted) compared() *Grid {
	t := c.Chart.Train
	g := &Grid{Columns: columns("range", "applied", "healthy", "with the fault", "coasting then", "what changes")}
	if len(c.Chart.Faults) > 1 {
		g.Columns[3].Head = "with the faults"
	}
	for _, row := range c.Chart.Rows {
		faulty, coast, changed := "as when healthy", "", ""
		if len(row.Changes) > 0 {
			faulty, coast, changed = row.Faulty.Text(), row.Faulty.Reading.Coast, list(row.Changes)
		}
		g.Add(row.Range.Name, names(t, row.Range.Apply), row.Healthy.Text(), faulty, coast, changed)
	}
	return g
}

type cellJSON struct {
	Verdict    string   `json:"verdict"`
	Ratio      *float64 `json:"ratio"`
	RatioExact *string  `json:"ratio_exact"`
	Reads      string   `json:"reads"`
	Coasting   string   `json:"coasting"`
	As         *string  `json:"as"`
	// Friction is null where no fault acts through torque.
	Friction *analysis.Friction `json:"friction"`
}

func jsonCell(c reading.RangeReading) cellJSON {
	ratio := jsonRatio(c.Outcome.Ratio())
	j := cellJSON{Verdict: c.Outcome.Verdict.String(), Ratio: ratio.Ratio, RatioExact: ratio.Exact, Reads: c.Text(), Coasting: c.Reading.Coast,
		Friction: analysis.FrictionOf(c.Friction)}
	if c.As != "" {
		j.As = &c.As
	}
	return j
}

type chartRowJSON struct {
	Range   string    `json:"range"`
	Apply   []string  `json:"apply"`
	Healthy cellJSON  `json:"healthy"`
	Faulty  *cellJSON `json:"faulty"`
	Changes []string  `json:"changes"`
}

// JSON writes the schema tieup.chart/1.
func (c Charted) JSON(w io.Writer) error {
	t := c.Chart.Train
	answer := struct {
		Schema    string         `json:"schema"`
		Units     ordered        `json:"units"`
		Train     string         `json:"train"`
		Faults    []string       `json:"faults"`
		States    []chartRowJSON `json:"states"`
		Positions []string       `json:"positions"`
		Cautions  []string       `json:"cautions"`
	}{
		Schema: "tieup.chart/1", Units: ordered{{"ratio", "input speed / output speed"}}, Train: t.Name, Faults: []string{},
		Positions: append([]string{}, c.Chart.Positions...), Cautions: append([]string{}, c.Cautions...),
	}
	for _, f := range c.Chart.Faults {
		answer.Faults = append(answer.Faults, t.FaultText(f))
	}
	for _, row := range c.Chart.Rows {
		j := chartRowJSON{row.Range.Name, t.CouplingNames(row.Range.Apply), jsonCell(row.Healthy), nil, append([]string{}, row.Changes...)}
		if len(c.Chart.Faults) > 0 {
			cell := jsonCell(row.Faulty)
			j.Faulty = &cell
		}
		answer.States = append(answer.States, j)
	}
	return WriteJSON(w, answer)
}

// CSV writes a line per range.
func (c Charted) CSV(w io.Writer) error {
	e := csv.NewWriter(w)
	e.Write([]string{"range", "applied", "healthy", "healthy_ratio", "reads", "ratio", "coasting", "changes"})
	for _, row := range c.Chart.Rows {
		e.Write([]string{
			row.Range.Name, list(c.Chart.Train.CouplingNames(row.Range.Apply)), row.Healthy.Text(), csvRatio(row.Healthy),
			row.Faulty.Text(), csvRatio(row.Faulty), row.Faulty.Reading.Coast, list(row.Changes),
		})
	}
	e.Flush()
	return e.Error()
}

func csvRatio(c reading.RangeReading) string {
	r, ok := c.Outcome.Ratio()
	if !ok {
		return ""
	}
	return strconv.FormatFloat(r.Float(), 'g', -1, 64)
}

// A WallChart is the answer of chart --all and --pairs: a row per fault or set
// of faults, a column per range.
type WallChart struct {
	Train  *kinematics.Train
	Charts []*reading.Chart
}

// Text writes the wall chart in short words, with what they mean below.
func (c WallChart) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	p.line(titled(c.Train))
	p.line("")
	p.grid(c.grid(func(row reading.Row) string {
		if short := row.Short(); short != "" {
			return short
		}
		return "."
	}))
	p.line("")
	p.line(". = as when healthy; fwd, rev = drives forward, backward at that ratio; a range behind it = the ratio of that range; " +
		"lurches = pushes against the pawl; engine braking, no engine braking, can roll back, does not roll back = it pulls as when " +
		"healthy but coasts so")
	return p.err
}

func (c WallChart) grid(cell func(reading.Row) string) *Grid {
	heads := append([]string{"fault"}, c.Train.RangeNames()...)
	g := &Grid{Columns: columns(heads...)}
	for _, chart := range c.Charts {
		row := []string{c.name(chart)}
		for _, r := range chart.Rows {
			row = append(row, cell(r))
		}
		g.Add(row...)
	}
	return g
}

func (c WallChart) name(chart *reading.Chart) string {
	if len(chart.Faults) == 0 {
		return "healthy"
	}
	text := ""
	for i, f := range chart.Faults {
		if i > 0 {
			text += " + "
		}
		text += c.Train.FaultText(f)
	}
	return text
}

// JSON writes the schema tieup.faults/1.
func (c WallChart) JSON(w io.Writer) error {
	type faultRow struct {
		Faults []string       `json:"faults"`
		States []chartRowJSON `json:"states"`
	}
	answer := struct {
		Schema string     `json:"schema"`
		Train  string     `json:"train"`
		Charts []faultRow `json:"charts"`
	}{Schema: "tieup.faults/1", Train: c.Train.Name}
	for _, chart := range c.Charts {
		row := faultRow{Faults: []string{}}
		for _, f := range chart.Faults {
			row.Faults = append(row.Faults, c.Train.FaultText(f))
		}
		for _, r := range chart.Rows {
			cell := jsonCell(r.Faulty)
			row.States = append(row.States, chartRowJSON{r.Range.Name, c.Train.CouplingNames(r.Range.Apply), jsonCell(r.Healthy), &cell, append([]string{}, r.Changes...)})
		}
		answer.Charts = append(answer.Charts, row)
	}
	return WriteJSON(w, answer)
}

// CSV writes the wall chart with whole readings.
func (c WallChart) CSV(w io.Writer) error {
	g := c.grid(func(row reading.Row) string {
		text, coast := row.Faulty.Text(), row.Faulty.Reading.Coast
		if !strings.Contains(text, coast) {
			text += ", " + coast
		}
		return text
	})
	return g.CSV(w)
}
