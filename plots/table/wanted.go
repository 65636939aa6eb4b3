package table

import (
	"fmt"
	"io"
	"slices"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// Wanted writes the answer of fit to wanted ratios.
type Wanted struct{ *analysis.WantedTeeth }

// shownWanted is how many candidates text shows of the ratios, speeds and torques of.
const shownWanted = 8

// text writes the candidates, and the ratios, speeds and torques of the first.
func (x Wanted) text(p *page) {
	p.line(fmt.Sprintf("%s: teeth for the wanted ratios, at most %s off", x.Layout, percent(x.Within.Float())))
	p.line("")
	if len(x.Found) > 0 {
		x.list(p)
		p.line("")
		x.ratios(p)
		p.line("")
		x.parts(p)
		p.apart("deviation: of the worst ratio; uneven: by how much the least even neighbouring steps differ;")
		p.line("speeds per turn of the input, torques per input torque, the largest of all ranges.")
	}
	p.line(x.WantedTeeth.Text)
}

func percent(v float64) string { return strconv.FormatFloat(100*v, 'g', 3, 64) + " %" }

func (x Wanted) list(p *page) {
	g := &Grid{Columns: columns(slices.Concat([]string{"no>"}, headsOf(x.Found[0].Teeth, "", ">"),
		[]string{"deviation>", "uneven>", "modules", "audit of standard teeth"})...)}
	for i, c := range x.Found {
		modules := kinematics.Map(c.Modules, func(m analysis.Entry[float64]) string {
			return fmt.Sprintf("%s %g", m.Name, m.Value)
		})
		g.Add(slices.Concat([]string{strconv.Itoa(i + 1)}, counts(c.Teeth), []string{percent(c.Deviation.Float()),
			percent(c.Uneven.Float()), list(modules), c.Audit()})...)
	}
	p.grid(g)
}

func (x Wanted) ratios(p *page) {
	g := &Grid{Columns: columns("range", "wanted>")}
	n := min(len(x.Found), shownWanted)
	for i := range n {
		g.Columns = append(g.Columns, columns("no "+strconv.Itoa(i+1)+">")...)
	}
	for r, name := range x.Ranges {
		row := []string{name, ""}
		if x.WantedTeeth.Wanted[r] != nil {
			row[1] = places(*x.WantedTeeth.Wanted[r])
		}
		for i := range n {
			row = append(row, places(x.Found[i].Ratios[r]))
		}
		g.Add(row...)
	}
	p.grid(g)
}

// parts writes the fastest member and the torques of the elements.
func (x Wanted) parts(p *page) {
	g := &Grid{Columns: columns("no>", "fastest member", "speed>", "largest torques of the elements")}
	for i := range min(len(x.Found), shownWanted) {
		c := &x.Found[i]
		torques := kinematics.Map(c.Torques, func(t analysis.Entry[exact.Frac]) string {
			return fmt.Sprintf("%s %.2f", t.Name, t.Value.Float())
		})
		g.Add(strconv.Itoa(i+1), c.Fastest.Member+" in "+c.Fastest.Range, fmt.Sprintf("%.2f", c.Fastest.Speed.Float()),
			list(torques))
	}
	p.grid(g)
}

// CSV writes a line for each candidate.
func (x Wanted) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("no", "worst_deviation", "unevenness")}
	if len(x.Found) > 0 {
		first := &x.Found[0]
		g.Columns = append(g.Columns, columns(slices.Concat(headsOf(first.Teeth, "", ""),
			kinematics.Map(x.Ranges, func(r string) string { return "ratio_" + r }), headsOf(first.Modules, "module_", ""),
			[]string{"fastest_member", "fastest_in", "fastest_speed"}, headsOf(first.Torques, "torque_", ""),
			[]string{"audit"})...)...)
	}
	for i, c := range x.Found {
		row := slices.Concat([]string{strconv.Itoa(i + 1), shortest(c.Deviation), shortest(c.Uneven)}, counts(c.Teeth),
			kinematics.Map(c.Ratios, shortest))
		for _, m := range x.Found[0].Modules {
			module := ""
			if v, ok := c.Modules.Get(m.Name); ok {
				module = strconv.FormatFloat(v, 'g', -1, 64)
			}
			row = append(row, module)
		}
		row = append(row, c.Fastest.Member, c.Fastest.Range, shortest(c.Fastest.Speed))
		for _, t := range x.Found[0].Torques {
			torque := ""
			if v, ok := c.Torques.Get(t.Name); ok {
				torque = shortest(v)
			}
			row = append(row, torque)
		}
		g.Add(append(row, c.Audit())...)
	}
	if x.Cut {
		return g.CSV(w, x.WantedTeeth.Text)
	}
	return g.CSV(w)
}
