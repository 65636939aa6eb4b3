package table

import (
	"io"

	"tieup/kinematics/analysis"
)

// Reasons writes the answer of why: the first conflict in full, the others in a
// sentence each unless All is set.
type Reasons struct {
	*analysis.Reasons
	All bool
}

// Text writes the headline and the sections of the explanation.
func (r Reasons) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	p.line(r.Train.Name + ", " + rangeOrCombination(string(r.Range)) + ": " + applied(r.Apply) + " applied")
	p.faults(r.Faults)
	p.outcomes(r.Outcomes)
	p.line("")
	p.line(r.Headline)
	if len(r.Chains) > 0 {
		p.line("")
		p.line("How the controls come to that")
		for _, way := range r.Chains {
			p.line("  " + way + " -> " + r.Reads)
		}
	}
	for i, s := range r.Reasons.Text {
		p.line("")
		p.line(s.Title)
		p.lines("  ", s.Text)
		if s.Aside && !r.All {
			if i+1 == len(r.Reasons.Text) || !r.Reasons.Text[i+1].Aside {
				p.line("")
				p.line("--all tells these further conflicts in full.")
			}
			continue
		}
		if len(s.Rows) > 0 {
			p.line("")
			p.grid(&Grid{Columns: columns(s.Heads...), Rows: s.Rows})
		}
		p.lines("  ", s.After)
	}
	if r.Remark != "" {
		p.line("")
		p.line(r.Remark)
	}
	p.cautions(r.Cautions)
	return p.err
}
