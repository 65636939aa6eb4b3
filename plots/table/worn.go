package table

import (
	"fmt"
	"io"

	"tieup/kinematics/analysis"
)

// Worn writes the answer of wear.
type Worn struct{ *analysis.Worn }

// text writes the parts that are harmed, and what takes the heat in each motion.
func (s Worn) text(p *page) {
	p.line(titled(s.Train))
	p.lines("fault: ", s.Above)
	p.faulted(s.Faulted)
	p.line("")
	if len(s.Parts) == 0 {
		p.line(s.Unharmed())
	} else {
		p.line("to be inspected, the most harmed first")
		for i := range s.Parts {
			p.hanging(2, 5, fmt.Sprintf("%d  %s", i+1, s.Parts[i].Says()))
		}
		s.motions(p)
	}
	mend := "to be mended"
	if len(s.Parts) > 0 {
		mend += ", or it burns again"
	}
	p.section(mend, 2, 4, s.Look)
	p.section("not played", 2, 4, s.Unplayed)
	p.heading("for what that is")
	p.list(2, 2, s.Assumptions)
	p.apart(s.Cautions...)
}

// motions lists what happens in each motion.
func (s Worn) motions(p *page) {
	p.heading("in which motion")
	g := &Grid{Columns: columns("motion", "needs N m>", "part", "slips rpm>", "carries N m>", "of the heat>")}
	for i := range s.Motions {
		m := &s.Motions[i]
		says, needs := m.Says, ""
		if m.Needs != nil {
			needs = fmt.Sprintf("%.0f", *m.Needs)
		}
		for name, l := range m.Loads.All() {
			share := ""
			if l.Heat.Max > 0 {
				share = fmt.Sprintf("%.0f %%", 100*l.Share)
			}
			g.Add(says, needs, name, extent(l.Slip), fmt.Sprintf("%.0f", l.Torque), share)
			says, needs = "", ""
		}
	}
	p.grid(g)
	if forced := s.Forced(); forced != "" {
		p.line(forced)
	}
}

func extent(x analysis.Spread) string {
	if most := fixed(x.Max, 0); x.Min == 0 && most != "0" {
		return "up to " + most
	}
	return spread(x.Min, x.Max, 0)
}

// CSV writes a line for each part in each motion.
func (s Worn) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("motion", "range", "to", "part", "slip_min_rpm", "slip_max_rpm", "torque_nm",
		"heat_min_j",
		"heat_max_j", "heat_sound_j", "share", "happens")}
	number := func(x float64) string { return fmt.Sprintf("%.6g", x) }
	for _, m := range s.Motions {
		for name, l := range m.Loads.All() {
			g.Add(m.Kind, m.Range, string(m.To), name, number(l.Slip.Min), number(l.Slip.Max), number(l.Torque),
				number(l.Heat.Min), number(l.Heat.Max), number(l.Sound), number(l.Share), fmt.Sprint(m.Happens))
		}
	}
	return g.CSV(w, said(besides(s.Outcomes), "", s.Cautions)...)
}
