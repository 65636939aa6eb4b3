package table

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Overview writes the answer of show: a train and what its healthy ranges do.
type Overview struct{ *analysis.Shown }

// text writes the train in sections.
func (s Overview) text(p *page) {
	t := s.Train
	p.line(titled(t))
	s.head(p)
	p.heading("gearsets")
	p.grid(gearsetGrid(t))
	p.part("joined for good", jointGrid(t))
	if t.ElementCount > 0 {
		p.heading("elements")
		p.grid(s.elementGrid())
		p.apart("forward here means: as the input turns")
	}
	if len(t.Ranges) == 0 {
		return
	}
	p.heading("applied in each range")
	p.grid(s.chart(p.width))
	p.heading("ratios")
	p.grid(s.ratioGrid())
	if s.Spread.Ratio != nil {
		p.apart("spread of the forward ratios: " + withExact(*s.Spread.Ratio))
	}
	if len(s.Positions) > 0 {
		p.line("positions of the selector: " + list(kinematics.Map(s.Positions, func(pos analysis.ShownPosition) string {
			return pos.Name + " (" + list(pos.Ranges) + ")"
		})))
	}
	if s.Controls != nil {
		showControls(p, s.Controls)
	}
}

// head writes the ends of the train and where it comes from.
func (s Overview) head(p *page) {
	t := s.Train
	f := &fields{}
	input, output := s.Ends()
	f.add("input", input)
	f.add("output", output)
	if t.Use != kinematics.InVehicle {
		f.add("built into", "a "+string(t.Use))
	}
	if s.Taps != nil {
		f.add("pressure taps", cmp.Or(list(s.Taps), "none but that of line pressure"))
	}
	if t.RatedTorque > 0 {
		f.add("rated torque", strconv.FormatFloat(t.RatedTorque, 'f', -1, 64)+" N m at the input")
	}
	for _, source := range t.Sources {
		f.add("source", source)
	}
	if t.Note != "" {
		f.add("note", t.Note)
	}
	f.write(p)
}

func gearsetGrid(t *kinematics.Train) *Grid {
	g := &Grid{Columns: columns("gearset", "kind", "teeth", "pinions>", "note")}
	for i := range t.Gearsets {
		gs := &t.Gearsets[i]
		count := ""
		if gs.PinionCount > 0 {
			count = strconv.Itoa(gs.PinionCount)
		}
		g.Add(gs.Name, string(gs.Kind), teeth(gs), count, list(reading.GearsetNotes(t, gs)))
	}
	return g
}

// teeth lists the tooth counts of a gearset, or its ratio.
func teeth(g *kinematics.Gearset) string {
	var parts []string
	if g.RatioOnly {
		for key, x := range g.Ratios() {
			parts = append(parts, key+" = "+withExact(exact.NewFrac(x[0], x[1])))
		}
		return list(parts) + " (ratio only)"
	}
	for _, gear := range g.Gears {
		word := fmt.Sprintf("%s %d", gear.Part, gear.Teeth)
		if g.Steps() {
			word += fmt.Sprintf(" on a step of %d", gear.PinionTeeth)
		}
		parts = append(parts, word)
	}
	for _, pinion := range g.Pinions {
		switch {
		case pinion.Teeth == 0 && g.Steps():
		case pinion.Teeth == 0:
			parts = append(parts, pinion.Part+" not given")
		case pinion.Derived:
			parts = append(parts, fmt.Sprintf("%s %d (from the others)", pinion.Part, pinion.Teeth))
		default:
			parts = append(parts, fmt.Sprintf("%s %d", pinion.Part, pinion.Teeth))
		}
	}
	return list(parts)
}

func jointGrid(t *kinematics.Train) *Grid {
	g := &Grid{Columns: columns("joint", "members")}
	for _, j := range t.Joints {
		g.Add(j.Name, list(t.NamesOf(j.Members)))
	}
	return g
}

func (s Overview) elementGrid() *Grid {
	g := &Grid{Columns: columns("element", "what it does", "in the source", "capacity", "note")}
	for i, e := range s.Elements {
		capacity := ""
		if e.Capacity != nil {
			capacity = strconv.FormatFloat(*e.Capacity, 'f', -1, 64) + " N m"
		}
		g.Add(e.Name, e.Does, e.Also, capacity, s.Train.Couplings[i].Note)
	}
	return g
}

// chart is the application chart: a column an element where that fits.
func (s Overview) chart(width int) *Grid {
	wide := &Grid{Columns: columns(append([]string{"range"}, s.Train.ElementNames()...)...)}
	narrow := &Grid{Columns: columns("range", "applied", "one-way clutches")}
	for _, r := range s.Ranges {
		row := []string{r.Name}
		var oneWays []string
		for e, x := range s.Elements {
			cell := s.cell(r, e)
			row = append(row, cell)
			if cell != "" && x.Kind == kinematics.OneWay {
				oneWays = append(oneWays, x.Name+" "+cell)
			}
		}
		wide.Add(row...)
		narrow.Add(r.Name, applied(r.Apply), list(oneWays))
	}
	natural, _ := wide.widths()
	if width > 0 && total(natural) > width {
		return narrow
	}
	return wide
}

// cell says what element e does in a range.
func (s Overview) cell(r *analysis.ShownRange, e int) string {
	oneWay := s.Elements[e].Kind == kinematics.OneWay
	switch {
	case !oneWay && slices.Contains(r.Apply, s.Elements[e].Name):
		return "on"
	case oneWay && r.Motion.State.Modes[e] != kinematics.Open:
		return r.Motion.States[e].String()
	}
	return ""
}

func (s Overview) ratioGrid() *Grid {
	g := &Grid{Columns: columns("range", "reads", "ratio>", "exact>", "step to the next>", "coasting")}
	for _, r := range s.Ranges {
		ratio, exact := ratioCells(r.Ratio, places)
		step := ""
		if r.Step != nil {
			step = places(*r.Step.Ratio.Ratio) + " to " + r.Step.To
		}
		g.Add(r.Name, r.Reading.Reading.Pull, ratio, exact, step, r.Reading.Reading.Coast)
	}
	s.addGears(g)
	return g
}

// addGears puts in, behind the range, which gear the trouble codes of the unit call it,
// where the file tells that.
func (s Overview) addGears(g *Grid) {
	if !slices.ContainsFunc(s.Ranges, func(r *analysis.ShownRange) bool { return r.Gear != "" }) {
		return
	}
	g.Columns = slices.Insert(g.Columns, 1, columns("gear")...)
	for i, r := range s.Ranges {
		g.Rows[i] = slices.Insert(g.Rows[i], 1, r.Gear)
	}
}

// CSV writes the application chart with the ratios.
func (s Overview) CSV(w io.Writer) error {
	heads := append(append([]string{"range"}, s.Train.ElementNames()...), "verdict", "ratio", "ratio_exact")
	g := &Grid{Columns: columns(heads...)}
	for _, r := range s.Ranges {
		row := []string{r.Name}
		for e := range s.Elements {
			row = append(row, s.cell(r, e))
		}
		ratio, exact := ratioCells(r.Ratio, shortest)
		g.Add(append(row, r.Verdict.String(), ratio, exact)...)
	}
	return g.CSV(w)
}
