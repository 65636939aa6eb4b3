package table

import (
	"fmt"
	"strings"

	"tieup/kinematics/analysis"
)

// CaseShown writes a case as it stands.
type CaseShown struct{ *analysis.CaseShown }

// text writes who is suspected, what was found and replaced, and the turns by hand.
func (s CaseShown) text(p *page) {
	d := Diagnosed{Diagnosed: s.Diagnosis, Brief: true}
	p.line(fitted(d.Train, p.width))
	p.line(d.ToldLines()...)
	d.suspects(p)
	d.opened(p)
	if len(s.Replaced) > 0 {
		p.heading("Replaced")
		p.line(strings.Join(s.Replaced, "; "))
	}
	p.heading("Turns by hand")
	if says, _ := s.Plan.Proved(); says != "" {
		p.line(says)
	}
	for i := range s.Plan.Turns {
		x := &s.Plan.Turns[i]
		p.hanging(0, 7, fmt.Sprintf("%s %d. %s: %s", Box(x.Saw, x.Agrees), i+1, x.Says, x.Expect.Says))
		if x.Saw != "" && !x.Agrees {
			p.hanging(7, 7, "seen: "+string(x.Saw))
			Planned{Planned: s.Plan}.suspects(p, 7, x.Otherwise)
		}
	}
	for i := range s.Plan.Others {
		x := &s.Plan.Others[i]
		p.hanging(0, 7, Box(x.Saw, x.Agrees)+" also "+x.Says)
		p.hanging(7, 7, "seen: "+string(x.Saw))
	}
	p.apart(s.Cautions...)
}
