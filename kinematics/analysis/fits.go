package analysis

import (
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/document"
	"tieup/kinematics/reading"
)

// Fits is how observations fit what ranges can do, and what set-ups of tests carry.
// Its document is tieup.fits/1.
type Fits struct {
	Schema string                      `json:"schema"`
	Rule   string                      `json:"rule"`
	Fits   []Named[string]             `json:"fits"` // how one observation fits one thing that a range can do
	SetUps Named[List[reading.Hazard]] `json:"set_ups_carry"`
	Safety string                      `json:"set_up_rule"`
	Tables []FitTable                  `json:"-"` // the same by tables
}

// A FitTable is the fits of one case, by observations.
type FitTable struct {
	Title string
	Rows  []FitRow
}

// A FitRow is what one observation fits, fully and partly.
type FitRow struct {
	Seen          string
	Fully, Partly []string
}

// fitRule says what the fits weigh.
const fitRule = "An observation that does not fit counts as one contradiction, one that fits partly as half. " +
	"Where one observation in 20 is wrong, a contradiction makes a suspect 20 times less likely, a half 4.5 times. " +
	"A second fault counts as six tenths of a contradiction; the whole way " +
	"from the likeliest class of causes to the least likely as one tenth."

// setUpRule says how tests are judged by what can happen in them.
const setUpRule = "What can happen is judged under every suspect that nothing contradicts or that weighs more than " +
	"1 % of all (0.1 % where wheels can lock at speed), and by what was seen. " +
	"Where the set-up does not carry it, a lower one is taken; where none does, the test is refused. " +
	"No range is driven at speed before it has shown at creep or on stands that it does not bind. Common practice, " +
	"no source."

// AllFits answers how every observation fits, and what every set-up carries.
func AllFits() *Fits {
	x := &Fits{Schema: "tieup.fits/1", Rule: fitRule, Safety: setUpRule}
	for _, s := range diagnosis.SetUps() {
		var carries List[reading.Hazard]
		for _, h := range reading.AllHazards() {
			if s.Carries(h) {
				carries = append(carries, h)
			}
		}
		x.SetUps.Add(s.String(), carries)
	}
	words := [...]string{diagnosis.Fully: "fully", diagnosis.BySlip: "by slip", diagnosis.Partly: "partly",
		diagnosis.Not: "not"}
	for _, t := range diagnosis.FitTables() {
		table := FitTable{Title: t.Title}
		for _, row := range t.Rows {
			table.Rows = append(table.Rows, FitRow{row.Word, t.That(&row, diagnosis.Fully), t.Less(&row)})
			for i, fit := range row.Fits {
				x.Fits = append(x.Fits, document.Texts("case", t.Title, "seen", row.Word, "does", t.Columns[i],
					"fits", words[fit]))
			}
		}
		x.Tables = append(x.Tables, table)
	}
	return x
}
