package table

import (
	"io"

	"tieup/kinematics/diagnosis"
)

// FitTable is the answer of diagnose --table: how observations fit.
type FitTable struct{}

// FitRule says what the fits weigh.
const FitRule = "An observation that does not fit counts as one contradiction, one that fits partly as half. Where one observation in 20 is wrong, a " +
	"contradiction makes a suspect 20 times less likely, a half 4.5 times. A second fault counts as six tenths of a contradiction; the whole way " +
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
			g.Add(row.Word, list(t.That(&row, diagnosis.Fully)), list(t.That(&row, diagnosis.Partly)))
		}
		p.grid(g)
	}
	p.line("")
	p.line("What is not named does not fit. " + FitRule)
	return p.err
}

// fitWord is the word for a fit in the tables.
func fitWord(x diagnosis.Fit) string {
	return [...]string{diagnosis.Fully: "fully", diagnosis.Partly: "partly", diagnosis.Not: "not"}[x]
}

// CSV writes a row for each observation and thing that can be seen.
func (FitTable) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("case", "seen", "does", "fits")}
	for _, t := range diagnosis.FitTables() {
		for _, row := range t.Rows {
			for i, x := range row.Fits {
				g.Add(t.Title, row.Word, t.Columns[i], fitWord(x))
			}
		}
	}
	return g.CSV(w)
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
	}{Schema: "tieup.fits/1", Rule: FitRule}
	for _, t := range diagnosis.FitTables() {
		for _, row := range t.Rows {
			for i, x := range row.Fits {
				answer.Fits = append(answer.Fits, fitJSON{t.Title, row.Word, t.Columns[i], fitWord(x)})
			}
		}
	}
	return WriteJSON(w, answer)
}
