package table

import (
	"io"

	"tieup/kinematics/analysis"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
)

// FitTable is the answer of diagnose --table: how observations fit.
type FitTable struct{}

// FitRule says what the fits weigh.
const FitRule = "An observation that does not fit counts as one contradiction, one that fits partly as half. " +
	"Where one observation in 20 is wrong, a contradiction makes a suspect 20 times less likely, a half 4.5 times. " +
	"A second fault counts as six tenths of a contradiction; the whole way " +
	"from the likeliest class of causes to the least likely as one tenth."

// Text writes for every observation what it fits fully, and what partly.
func (FitTable) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	for i, t := range diagnosis.FitTables() {
		if i > 0 {
			p.line("")
		}
		p.line(t.Title)
		g := &Grid{Columns: columns("seen", "fits fully", "fits partly")}
		for _, row := range t.Rows {
			g.Add(row.Word, list(t.That(&row, diagnosis.Fully)), list(t.Less(&row)))
		}
		p.grid(g)
	}
	p.line("")
	p.line("What is not named does not fit. " + FitRule)
	p.line("")
	p.line("what a set-up carries: a test is made in one that carries all that can happen in it")
	p.grid(setUpGrid())
	p.line("")
	p.line(SetUpRule)
	return p.err
}

// fitWord is the word for a fit in the tables.
func fitWord(x diagnosis.Fit) string {
	return [...]string{diagnosis.Fully: "fully", diagnosis.BySlip: "by slip", diagnosis.Partly: "partly",
		diagnosis.Not: "not"}[x]
}

// JSON writes the schema tieup.fits/1.
func (FitTable) JSON(w io.Writer) error {
	type fitJSON struct {
		Case string `json:"case"`
		Seen string `json:"seen"`
		Does string `json:"does"`
		Fits string `json:"fits"`
	}
	answer := struct {
		Schema string    `json:"schema"`
		Rule   string    `json:"rule"`
		Fits   []fitJSON `json:"fits"`
		SetUps ordered   `json:"set_ups_carry"`
		Safety string    `json:"set_up_rule"`
	}{Schema: "tieup.fits/1", Rule: FitRule, Safety: SetUpRule}
	for _, s := range diagnosis.SetUps() {
		var carries []reading.Hazard
		for _, h := range reading.AllHazards() {
			if s.Carries(h) {
				carries = append(carries, h)
			}
		}
		answer.SetUps = append(answer.SetUps, named{s.String(), analysis.List[reading.Hazard](carries)})
	}
	for _, t := range diagnosis.FitTables() {
		for _, row := range t.Rows {
			for i, x := range row.Fits {
				answer.Fits = append(answer.Fits, fitJSON{t.Title, row.Word, t.Columns[i], fitWord(x)})
			}
		}
	}
	return WriteJSON(w, answer)
}

// SetUpRule says how tests are judged by what can happen in them.
const SetUpRule = "What can happen is judged under every suspect that nothing contradicts or that weighs more than " +
	"1 % of all (0.1 % where wheels can lock at speed), and by what was seen. " +
	"Where the set-up does not carry it, a lower one is taken; where none does, the test is refused. " +
	"No range is driven at speed before it has shown at creep or on stands that it does not bind. Common practice, no source."

// setUpGrid says which hazards each set-up carries.
func setUpGrid() *Grid {
	g := &Grid{Columns: columns("set-up")}
	for _, h := range reading.AllHazards() {
		g.Columns = append(g.Columns, columns(h.String())...)
	}
	for _, s := range diagnosis.SetUps() {
		row := []string{s.String()}
		for _, h := range reading.AllHazards() {
			row = append(row, map[bool]string{true: "carries", false: "-"}[s.Carries(h)])
		}
		g.Add(row...)
	}
	return g
}
