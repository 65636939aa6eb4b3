package table

import (
	"tieup/kinematics/analysis"
)

// Reasons writes the answer of why: the first conflict in full, the others in a
// sentence each unless All is set.
type Reasons struct {
	*analysis.Reasons
	All bool
}

// text writes the headline and the sections of the explanation.
func (r Reasons) text(p *page) {
	p.line(r.Train.Name + ", " + rangeOrCombination(string(r.Range)) + ": " + applied(r.Apply) + " applied")
	p.faulted(r.Faulted)
	p.apart(r.Headline())
	if len(r.Chains) > 0 {
		p.apart("How the controls come to that")
		for _, way := range r.Chains {
			p.line("  " + way + " -> " + r.Reads)
		}
	}
	for i, s := range r.Reasons.Text {
		p.apart(s.Title)
		p.lines("  ", s.Text)
		if s.Aside && !r.All {
			if i+1 == len(r.Reasons.Text) || !r.Reasons.Text[i+1].Aside {
				p.apart("--all tells these further conflicts in full.")
			}
			continue
		}
		if len(s.Rows) > 0 {
			p.below(&Grid{Columns: columns(s.Heads...), Rows: s.Rows})
		}
		p.lines("  ", s.After)
	}
	if r.Remark != "" {
		p.apart(r.Remark)
	}
	p.apart(r.Cautions...)
}
