package table

import (
	"fmt"
	"io"

	"tieup/kinematics/analysis"
)

// Swept writes a shift with one timing after the other.
type Swept struct{ *analysis.Swept }

// text writes the timings, and the window in which the limits are kept.
func (a Swept) text(p *page) {
	p.line(titled(a.Train))
	p.line(a.Heading)
	p.faulted(a.Faulted)
	p.apart(a.Changeover)
	p.below(a.points())
	p.apart(a.Words...)
	p.heading("assumed")
	p.lines("- ", a.Assumed)
	p.apart(a.Cautions...)
}

// points lists the timings.
func (a Swept) points() *Grid {
	g := &Grid{Columns: columns("overlap s>", string(a.Moves)+" s", "least N m>", "binds s>", "flares rpm>",
		"sags rpm>", "heat kJ>", "")}
	for _, x := range a.Points {
		within := ""
		if x.Within && a.Limited() {
			within = "within the limits"
		}
		g.Add(fixed(x.Overlap, 2), fmt.Sprintf("%.2f to %.2f", x.Ramp[0], x.Ramp[1]), fixed(x.Least, 0),
			blank(x.Bind, 2), blank(x.Flare, 0), blank(x.Sag, 0), blank(x.Heat/1000, 2), within)
	}
	return g
}

// CSV writes a line for each timing.
func (a Swept) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("overlap_s", "ramp_start_s", "ramp_end_s", "least_output_torque_nm",
		"bind_s", "flare_rpm", "sag_rpm", "heat_j", "within")}
	for _, x := range a.Points {
		g.Add(fixed(x.Overlap, 3), fixed(x.Ramp[0], 4), fixed(x.Ramp[1], 4), fixed(x.Least, 3), fixed(x.Bind, 4),
			fixed(x.Flare, 3), fixed(x.Sag, 3), fixed(x.Heat, 2), fmt.Sprint(x.Within))
	}
	return g.CSV(w, said(besides(a.Outcomes), "", a.Cautions)...)
}
