package analysis

import "tieup/kinematics/reading"

// CaseShown is a case as it stands: who is suspected, what was found, what was replaced,
// and the turns by hand with what they showed. Its document is tieup.case/1.
type CaseShown struct {
	Schema    string       `json:"schema"`
	Diagnosis *Diagnosed   `json:"diagnosis"`
	Replaced  List[string] `json:"replaced"`
	Plan      *Planned     `json:"plan"`
	Cautions  List[string] `json:"cautions"` // of both
}

// NewCaseShown puts the answers about a case together.
func NewCaseShown(d *Diagnosed, c *Case, p *Planned) *CaseShown {
	return &CaseShown{"tieup.case/1", d, c.Replaced, p, reading.Merge(d.Cautions, p.Cautions)}
}
