package table

import (
	"fmt"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// Planned writes the answer of plan.
type Planned struct {
	*analysis.Planned
	Tree bool // with what tells the suspects apart
}

// text writes the turns, what each proves, and what none does.
func (s Planned) text(p *page) {
	p.line(titled(s.Train))
	if part := s.Without.String(); part != "" {
		p.line("without: " + part)
	}
	p.apart(s.Summary())
	for i := range s.Turns {
		s.turn(p, i)
	}
	s.certificate(p)
	s.open(p)
	p.heading("taken to be so")
	p.list(2, 2, s.Assumptions)
	p.apart(reading.Viewed)
	p.apart(s.Cautions...)
}

func (s Planned) turn(p *page, i int) {
	x := &s.Turns[i]
	p.headline(7, fmt.Sprintf("%s %d. %s", Box(x.Saw, x.Agrees), i+1, x.Says))
	p.hanging(4, 4, "expect: "+x.Expect.Says)
	if x.Saw != "" && !x.Agrees {
		p.hanging(4, 4, "seen: "+string(x.Saw)+", which is not as it should be")
	}
	s.suspects(p, 4, x.Otherwise)
}

// Box is the box of a turn: to be ticked, ticked, or crossed where it showed something else.
func Box(saw analysis.Name, agrees bool) string {
	switch {
	case agrees:
		return "[x]"
	case saw != "":
		return "[!]"
	}
	return "[ ]"
}

// suspects writes what is seen otherwise, and whom it suspects.
func (s Planned) suspects(p *page, blanks int, list []analysis.BenchSuspect) {
	for _, o := range list {
		p.hanging(blanks, blanks+4, "if "+o.Seen.Says+": "+strings.Join(o.Words, "; "))
		if o.Next != nil && s.Tree {
			p.hanging(blanks+4, blanks+4, "then "+o.Next.Says)
			s.suspects(p, blanks+4, o.Next.Branches)
		}
	}
}

// certificate names for each fault the turn that shows it.
func (s Planned) certificate(p *page) {
	p.heading("which turn shows which fault")
	for i := range s.Turns {
		var words []string
		for _, f := range s.Shown {
			if f.Turn == i+1 {
				words = append(words, f.Words)
			}
		}
		p.hanging(2, 5, fmt.Sprintf("%d  %s", i+1, strings.Join(words, "; ")))
	}
}

// open says what is not shown, and not told apart.
func (s Planned) open(p *page) {
	if len(s.Hidden)+len(s.Beyond) > 0 {
		p.heading("what turning cannot show, and the test that does")
		for _, h := range s.Hidden {
			p.hanging(2, 4, h.Words+": "+h.Test)
		}
		p.list(2, 4, s.Beyond)
	}
	if len(s.Unfit) > 0 {
		p.heading("not fitted, so to be proved afterwards")
		p.hanging(2, 2, list(kinematics.Map(s.Unfit, analysis.Fault.String)))
	}
	if s.Pairs != nil {
		p.section("pairs that hide each other", 2, 4, s.Pairs.Hidden)
	}
	if len(s.Alike) > 0 {
		p.heading("what no turning tells apart")
		for _, words := range s.Alike {
			p.hanging(2, 4, strings.Join(words, "; "))
		}
	}
}
