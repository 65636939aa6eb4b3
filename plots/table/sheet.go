package table

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A RoadTest is the answer of show: a train and what its healthy ranges do.
type RoadTest struct {
	Train   *kinematics.Train
	Motions []*solve.Motion // parallel to Train.Ranges
}

// Text writes the train in sections.
func (s RoadTest) Text(w io.Writer, width int) error {
	t := s.Train
	p := &page{w: w, width: width}
	p.line(titled(t))
	f := &fields{}
	f.add("input", t.Members[t.Input].Name+map[kinematics.Drive]string{
		kinematics.Converter: ", behind a torque converter", kinematics.Direct: ", driven directly"}[t.Drive])
	out := t.Members[t.Output].Name
	if t.Forward < 0 {
		out += "; the vehicle moves forward when it turns against the input"
	}
	f.add("output", out)
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

	p.heading("gearsets")
	p.grid(s.gearsetGrid())
	if len(t.Joints) > 0 {
		p.heading("joined for good")
		p.grid(s.jointGrid())
	}
	if t.ElementCount > 0 {
		p.heading("elements")
		p.grid(s.elementGrid())
		p.line("")
		p.line("forward here means: as the input turns")
	}
	if len(t.Ranges) == 0 {
		return p.err
	}
	p.heading("applied in each range")
	p.grid(s.chart(width))
	p.heading("ratios")
	p.grid(s.ratioGrid())
	if spread, ok := s.spread(); ok {
		p.line("")
		p.line("spread of the forward ratios: " + withExact(spread))
	}
	if len(t.Positions) > 0 {
		var ps []string
		for _, pos := range t.Positions {
			ps = append(ps, pos.Name+" ("+list(rangeNames(t, pos.Ranges))+")")
		}
		p.line("positions of the selector: " + list(ps))
	}
	return p.err
}

func rangeNames(t *kinematics.Train, ranges []int) []string {
	ns := make([]string, len(ranges))
	for i, r := range ranges {
		ns[i] = t.Ranges[r].Name
	}
	return ns
}

func (s RoadTest) gearsetGrid() *Grid {
	g := &Grid{Columns: columns("gearset", "kind", "teeth", "pinions>", "note")}
	for i := range s.Train.Gearsets {
		gs := &s.Train.Gearsets[i]
		var notes []string
		if !gs.Planetary() {
			m := s.Train.Meshes[gs.Meshes[0]]
			if m.Kind == kinematics.Chain {
				notes = append(notes, "linked by a chain")
			} else {
				notes = append(notes, m.Kind.String()+" mesh")
			}
			if gs.Carrier != kinematics.Housing {
				notes = append(notes, "carried by "+s.Train.Members[gs.Carrier].Name)
			}
		}
		if gs.ProfileShifted {
			notes = append(notes, "profile-shifted")
		}
		count := ""
		if gs.PinionCount > 0 {
			count = strconv.Itoa(gs.PinionCount)
		}
		g.Add(gs.Name, string(gs.Kind), teeth(gs), count, list(notes))
	}
	return g
}

// teeth lists the tooth counts of a gearset, or its ratio.
func teeth(g *kinematics.Gearset) string {
	if g.RatioOnly && len(g.Gears) == 2 {
		a, b := g.Gears[0], g.Gears[1]
		return b.Part + "/" + a.Part + " = " + withExact(exact.NewFrac(b.Teeth, a.Teeth)) + " (ratio only)"
	}
	var parts []string
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

func (s RoadTest) jointGrid() *Grid {
	g := &Grid{Columns: columns("joint", "members")}
	for _, j := range s.Train.Joints {
		var ms []string
		for _, m := range j.Members {
			ms = append(ms, s.Train.Members[m].Name)
		}
		g.Add(j.Name, list(ms))
	}
	return g
}

func (s RoadTest) elementGrid() *Grid {
	g := &Grid{Columns: columns("element", "what it does", "in the source", "capacity", "note")}
	for i := range s.Train.Couplings[:s.Train.ElementCount] {
		c := &s.Train.Couplings[i]
		capacity := ""
		if c.Capacity > 0 {
			capacity = strconv.FormatFloat(c.Capacity, 'f', -1, 64) + " N m"
		}
		g.Add(c.Name, Element(s.Train, c), c.Also, capacity, c.Note)
	}
	return g
}

// chart is the application chart: a column an element where that fits.
func (s RoadTest) chart(width int) *Grid {
	t := s.Train
	wide := &Grid{Columns: columns(append([]string{"range"}, t.ElementNames()...)...)}
	narrow := &Grid{Columns: columns("range", "applied", "one-way clutches")}
	for i := range t.Ranges {
		r := &t.Ranges[i]
		row := []string{r.Name}
		var oneWays []string
		for e := range t.Couplings[:t.ElementCount] {
			cell := s.cell(i, e)
			row = append(row, cell)
			if cell != "" && t.Couplings[e].Kind == kinematics.OneWay {
				oneWays = append(oneWays, t.Couplings[e].Name+" "+cell)
			}
		}
		wide.Add(row...)
		narrow.Add(r.Name, names(t, r.Apply), list(oneWays))
	}
	natural, _ := wide.widths()
	if width > 0 && total(natural) > width {
		return narrow
	}
	return wide
}

// cell says what element e does in range r.
func (s RoadTest) cell(r, e int) string {
	c := &s.Train.Couplings[e]
	switch {
	case c.Kind != kinematics.OneWay && slices.Contains(s.Train.Ranges[r].Apply, e):
		return "on"
	case c.Kind == kinematics.OneWay && s.Motions[r].State.Modes[e] != kinematics.Open:
		return s.Motions[r].States[e].String()
	}
	return ""
}

func (s RoadTest) ratioGrid() *Grid {
	t := s.Train
	g := &Grid{Columns: columns("range", "reads", "ratio>", "exact>", "step to the next>", "coasting")}
	steps := s.steps()
	for i := range t.Ranges {
		m := s.Motions[i]
		read := reading.SpeedsAlone(t, m.Outcome)
		ratio, exact, step := "", "", ""
		if r, ok := m.Ratio(); ok {
			ratio, exact = places(r), r.String()
		}
		if st, ok := steps[i]; ok {
			step = places(st.ratio) + " to " + t.Ranges[st.to].Name
		}
		g.Add(t.Ranges[i].Name, read.Pull, ratio, exact, step, read.Coast)
	}
	return g
}

// A step is the quotient of the ratios of two neighbouring forward ranges.
type step struct {
	to    int
	ratio exact.Frac
}

// forward returns the ranges with distinct forward ratios, the largest first.
// Ranges with an input or output of their own are no neighbours of the others.
func (s RoadTest) forward() []int {
	var ranges []int
	for i, m := range s.Motions {
		if m.Verdict != solve.Forward || m.State.Input != s.Train.Input || m.State.Output != s.Train.Output {
			continue
		}
		r, _ := m.Ratio()
		if !slices.ContainsFunc(ranges, func(k int) bool { o, _ := s.Motions[k].Ratio(); return o.Cmp(r) == 0 }) {
			ranges = append(ranges, i)
		}
	}
	slices.SortStableFunc(ranges, func(a, b int) int {
		return cmp.Compare(s.size(b), s.size(a))
	})
	return ranges
}

// size is the size of the ratio of range i, for ordering.
func (s RoadTest) size(i int) float64 {
	r, _ := s.Motions[i].Ratio()
	return max(r.Float(), -r.Float())
}

// steps returns the step from each forward range to its neighbour.
func (s RoadTest) steps() map[int]step {
	steps := map[int]step{}
	ranges := s.forward()
	for k := range ranges[:max(0, len(ranges)-1)] {
		a, _ := s.Motions[ranges[k]].Ratio()
		b, _ := s.Motions[ranges[k+1]].Ratio()
		steps[ranges[k]] = step{ranges[k+1], a.Mul(b.Inv())}
	}
	return steps
}

// spread is the largest forward ratio over the smallest.
func (s RoadTest) spread() (exact.Frac, bool) {
	ranges := s.forward()
	if len(ranges) < 2 {
		return exact.Frac{}, false
	}
	a, _ := s.Motions[ranges[0]].Ratio()
	b, _ := s.Motions[ranges[len(ranges)-1]].Ratio()
	return a.Mul(b.Inv()), true
}

// CSV writes the application chart with the ratios.
func (s RoadTest) CSV(w io.Writer) error {
	t := s.Train
	heads := append(append([]string{"range"}, t.ElementNames()...), "verdict", "ratio", "ratio_exact")
	g := &Grid{Columns: columns(heads...)}
	for i := range t.Ranges {
		row := []string{t.Ranges[i].Name}
		for e := range t.Couplings[:t.ElementCount] {
			row = append(row, s.cell(i, e))
		}
		ratio, exact := "", ""
		if r, ok := s.Motions[i].Ratio(); ok {
			ratio, exact = shortest(r), r.String()
		}
		g.Add(append(row, s.Motions[i].Verdict.String(), ratio, exact)...)
	}
	return g.CSV(w)
}
