package table

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"tieup/kinematics/analysis"
)

// Wanted writes the answer of fit to wanted ratios.
type Wanted struct{ *analysis.WantedTeeth }

// shownWanted is how many candidates text shows of the ratios, speeds and torques of.
const shownWanted = 8

// Text writes the candidates, and the ratios, speeds and torques of the first.
func (x Wanted) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	p.line(fmt.Sprintf("%s: teeth for the wanted ratios, at most %s off", x.Layout, percent(x.Within.Float())))
	p.line("")
	if len(x.Found) > 0 {
		x.list(p)
		p.line("")
		x.ratios(p)
		p.line("")
		x.parts(p)
		p.line("")
		p.line("deviation: of the worst ratio; uneven: by how much the least even neighbouring steps differ;")
		p.line("speeds per turn of the input, torques per input torque, the largest of all ranges.")
	}
	p.line(x.WantedTeeth.Text)
	return p.err
}

func percent(v float64) string { return strconv.FormatFloat(100*v, 'g', 3, 64) + " %" }

func (x Wanted) list(p *page) {
	g := &Grid{Columns: columns("no>")}
	for _, e := range x.Found[0].Teeth {
		g.Columns = append(g.Columns, Column{Head: e.Name, Right: true})
	}
	g.Columns = append(g.Columns, columns("deviation>", "uneven>", "modules", "audit of standard teeth")...)
	for i, c := range x.Found {
		row := []string{strconv.Itoa(i + 1)}
		for _, e := range c.Teeth {
			row = append(row, strconv.FormatInt(e.Value, 10))
		}
		var modules []string
		for _, m := range c.Modules {
			modules = append(modules, fmt.Sprintf("%s %g", m.Name, m.Value))
		}
		g.Add(append(row, percent(c.Deviation.Float()), percent(c.Uneven.Float()), strings.Join(modules, ", "),
			auditText(c.Warnings, c.Small))...)
	}
	p.grid(g)
}

func (x Wanted) ratios(p *page) {
	g := &Grid{Columns: columns("range", "wanted>")}
	n := min(len(x.Found), shownWanted)
	for i := range n {
		g.Columns = append(g.Columns, Column{Head: "no " + strconv.Itoa(i+1), Right: true})
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
		var torques []string
		for _, t := range c.Torques {
			torques = append(torques, fmt.Sprintf("%s %.2f", t.Name, t.Value.Float()))
		}
		g.Add(strconv.Itoa(i+1), c.Fastest.Member+" in "+c.Fastest.Range, fmt.Sprintf("%.2f", c.Fastest.Speed.Float()),
			strings.Join(torques, ", "))
	}
	p.grid(g)
}

// CSV writes a line for each candidate.
func (x Wanted) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("no", "worst_deviation", "unevenness")}
	if len(x.Found) > 0 {
		for _, e := range x.Found[0].Teeth {
			g.Columns = append(g.Columns, Column{Head: e.Name})
		}
		for _, r := range x.Ranges {
			g.Columns = append(g.Columns, Column{Head: "ratio_" + r})
		}
		for _, m := range x.Found[0].Modules {
			g.Columns = append(g.Columns, Column{Head: "module_" + m.Name})
		}
		g.Columns = append(g.Columns, columns("fastest_member", "fastest_in", "fastest_speed")...)
		for _, t := range x.Found[0].Torques {
			g.Columns = append(g.Columns, Column{Head: "torque_" + t.Name})
		}
		g.Columns = append(g.Columns, columns("audit")...)
	}
	for i, c := range x.Found {
		row := []string{strconv.Itoa(i + 1), shortest(c.Deviation), shortest(c.Uneven)}
		for _, e := range c.Teeth {
			row = append(row, strconv.FormatInt(e.Value, 10))
		}
		for _, r := range c.Ratios {
			row = append(row, shortest(r))
		}
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
		g.Add(append(row, auditText(c.Warnings, c.Small))...)
	}
	if x.Cut {
		return g.CSV(w, x.WantedTeeth.Text)
	}
	return g.CSV(w)
}
