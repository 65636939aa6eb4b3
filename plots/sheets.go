package plots

import (
	"fmt"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// The sides of a sheet of A4 paper [ISO 216], in points.
const longA4, shortA4 = 297 * 72 / 25.4, 210 * 72 / 25.4

// The size of the smallest letters of a picture at its natural size, and the least
// that they may have: in points where they are printed, and as a share of the height
// on a slide, whose size is given in pixels (that of the stage when it is presented). The
// foot of a slide is as small as the smallest type of the stage, 12 of 900.
const (
	smallest     = 7.5
	leastPrinted = 6.0
	leastShown   = 0.025
	footShown    = 12.0 / 900
)

// A parted drawing shows parts that can be put on several sheets: ranges, or the rows
// of a table.
type parted interface {
	Drawing
	parts() int
	// part is the same drawing of some of the parts.
	part(from, to int) Drawing
}

// leastScale is the scale at which the smallest letters of a drawing can be read on a
// size.
func leastScale(d Drawing, s Size) float64 {
	switch {
	case !s.pixels:
		return leastPrinted / smallest
	case onWall(d):
		return footShown * s.Height / smallest
	}
	return leastShown * s.Height / smallest
}

// onWall says whether a drawing is for the wall or the file, to be read from near by: a
// slide of it is a picture of the paper.
func onWall(d Drawing) bool {
	switch d.(type) {
	case *Application, *WallChart, *Report:
		return true
	}
	return false
}

// partsOf are the parts of a drawing on a size. On paper the scales and panels of one
// drawing stay together.
func partsOf(d Drawing, s Size) (parted, bool) {
	p, ok := d.(parted)
	switch d.(type) {
	case *Speeds, *InTime, *Ladder, *Breakaway:
		ok = s.pixels
	}
	return p, ok && p.parts() > 1
}

// Sheets parts a drawing so that its letters can be read on the size that is given,
// in PDF on A4 without one. Where one part is too much for that, it is as large as it
// goes. Without a size, SVG and PNG are one sheet of the natural size.
func Sheets(format Format, d Drawing, s Style) ([]Drawing, Style) {
	r := newRuler()
	if s.Size.Width > 0 {
		sheets, _ := split(r, d, s)
		return sheets, s
	}
	if format != PDF {
		return []Drawing{d}, s
	}
	upright, across := s, s
	upright.Size, across.Size = Size{Width: shortA4, Height: longA4}, Size{Width: longA4, Height: shortA4}
	tall, large := split(r, d, upright)
	wide, larger := split(r, d, across)
	if len(tall) < len(wide) && large >= leastScale(d, upright.Size) || len(tall) == len(wide) && large > larger {
		return tall, upright
	}
	return wide, across
}

// split parts a drawing onto the fewest sheets on which it can be read, and returns
// the scale of the smallest.
func split(r *ruler, d Drawing, s Style) ([]Drawing, float64) {
	scale := func(sheets []Drawing) float64 {
		least := compose(r, sheets[0], s).scale
		for _, x := range sheets[1:] {
			least = min(least, compose(r, x, s).scale)
		}
		return least
	}
	one := []Drawing{d}
	reached := scale(one)
	p, ok := partsOf(d, s.Size)
	if !ok || reached >= leastScale(d, s.Size) {
		return one, reached
	}
	const hair = 0.98 // what makes no difference
	enough := min(leastScale(d, s.Size), hair*scale(evenly(p, p.parts())))
	for n := 2; ; n++ {
		sheets := evenly(p, n)
		if reached = scale(sheets); reached >= enough || n == p.parts() {
			return finer(r, sheets, reached, s)
		}
	}
}

// finer parts sheets that are still too small to be read where a part has parts of its
// own, as a range has levers.
func finer(r *ruler, sheets []Drawing, reached float64, s Style) ([]Drawing, float64) {
	if reached >= leastScale(sheets[0], s.Size) {
		return sheets, reached
	}
	var list []Drawing
	least := math.Inf(1)
	for _, x := range sheets {
		parts, scale := split(r, x, s)
		list, least = append(list, parts...), min(least, scale)
	}
	return list, least
}

// evenly parts a drawing into n as even as they come.
func evenly(p parted, n int) []Drawing {
	var list []Drawing
	from := 0
	for i := range n {
		to := (i + 1) * p.parts() / n
		list = append(list, p.part(from, to))
		from = to
	}
	return list
}

func (d *Sections) parts() int { return len(d.States) }

func (d *Sections) part(from, to int) Drawing {
	x := *d
	x.Explained = explainedPart(d.Explained, from, to)
	x.States, x.cuts, x.grid = d.States[from:to], d.cuts[from:to], tiles{}
	return &x
}

// The parts are ranges; those of a range by itself are its levers.
func (d *Levers) parts() int {
	if len(d.States) == 1 {
		return len(d.States[0].Levers)
	}
	return len(d.States)
}

func (d *Levers) part(from, to int) Drawing {
	x, answer := *d, *d.Answer
	if len(d.States) == 1 {
		state := d.States[0].outputFirst()
		x.States, x.grid = []LeverState{state.only(d.Answer.Train, from, to)}, tiles{}
		return &x
	}
	answer.Explained = explainedPart(answer.Explained, from, to)
	x.Answer, x.States, x.grid = &answer, d.States[from:to], tiles{}
	return &x
}

// outputFirst begins the levers of a state that ties up with those that the output stands on:
// there its lines part.
func (s *LeverState) outputFirst() LeverState {
	x := *s
	if len(s.Lines) < 2 {
		return x
	}
	var order []int
	for _, wanted := range []bool{true, false} {
		for l := range s.Levers {
			output := func(n Node) bool {
				return slices.ContainsFunc(n.Ports, func(p Port) bool { return p.Kind == OutputPort })
			}
			if slices.ContainsFunc(s.Levers[l].Nodes, output) == wanted {
				order = append(order, l)
			}
		}
	}
	x.Levers = kinematics.Map(order, func(l int) Lever { return s.Levers[l] })
	x.Lines = slices.Clone(s.Lines)
	for i := range x.Lines {
		x.Lines[i].Speeds = kinematics.Map(order, func(l int) []analysis.Speed { return s.Lines[i].Speeds[l] })
	}
	x.Links = kinematics.Map(s.Links, func(l Link) Link {
		l.From.Lever, l.To.Lever = slices.Index(order, l.From.Lever), slices.Index(order, l.To.Lever)
		return l
	})
	return x
}

// only are some levers of a state. What ties them to others is said in words, but for
// a body that stands on several levers, which has its name on each.
func (s *LeverState) only(t *kinematics.Train, from, to int) LeverState {
	x, span := *s, s.extent()
	x.span = &span
	x.Levers, x.Links, x.Lines, x.Remarks = s.Levers[from:to], nil, slices.Clone(s.Lines), slices.Clone(s.Remarks)
	for i := range x.Lines {
		x.Lines[i].Speeds = s.Lines[i].Speeds[from:to]
	}
	here := func(r NodeRef) bool { return from <= r.Lever && r.Lever < to }
	for _, l := range s.Links {
		switch {
		case here(l.From) && here(l.To):
			l.From.Lever, l.To.Lever = l.From.Lever-from, l.To.Lever-from
			x.Links = append(x.Links, l)
		case (here(l.From) || here(l.To)) && len(l.Via) > 0:
			near, far := l.From, l.To
			if !here(near) {
				near, far = far, near
			}
			x.Remarks = append(x.Remarks, fmt.Sprintf("%s joins %s and %s, which is on another sheet.",
				via(t, l.Via), s.node(near).Label, s.node(far).Label))
		}
	}
	return x
}

func explainedPart(x *analysis.Explained, from, to int) *analysis.Explained {
	part := *x
	part.Question.Ranges = x.Question.Ranges[from:to]
	return &part
}

// A rowed table shows only some of its rows, all where to is 0, below those that head
// every sheet.
type rowed struct{ head, from, to int }

// of leaves only those rows in a table; the section of the first is named anew.
func (x rowed) of(g *grid) *grid {
	if x.to == 0 {
		return g
	}
	rows := slices.Clone(g.rows[x.head+x.from : x.head+x.to])
	for i := x.head + x.from; i >= 0 && rows[0].section == ""; i-- {
		rows[0].section = g.rows[i].section
	}
	g.rows = append(slices.Clone(g.rows[:x.head]), rows...)
	return g
}

func (a *Application) parts() int { return len(a.grid().rows) - a.rows.head }

func (a *Application) part(from, to int) Drawing {
	x := *a
	x.rows = rowed{0, from, to}
	return &x
}

func (w *WallChart) parts() int { return len(w.grid().rows) - 1 } // healthy is no part

func (w *WallChart) part(from, to int) Drawing {
	x := *w
	x.rows = rowed{1, from, to} // what is healthy heads every sheet
	return &x
}

// The parts of a speed plan on slides are its panels, those of a shift in time its scales.
func (s *Speeds) parts() int { return len(s.Panels) }

func (s *Speeds) part(from, to int) Drawing {
	x := *s
	span := s.extent()
	x.Panels, x.Lines, x.span = s.Panels[from:to], slices.Clone(s.Lines), &span
	for i := range x.Lines {
		x.Lines[i].Points = s.Lines[i].Points[from:to]
	}
	return &x
}

func (d *InTime) parts() int { return len(d.Panels) }

func (d *InTime) part(from, to int) Drawing {
	x := *d
	x.Panels = d.Panels[from:to]
	return &x
}

// The ladder and the slips below it are its parts.
func (l *Ladder) parts() int {
	if len(l.Slips) > 0 && !l.slipsAlone {
		return 2
	}
	return 1
}

func (l *Ladder) part(from, to int) Drawing {
	x := *l
	switch {
	case l.parts() < 2 || to-from == 2:
	case from == 0:
		upper := *l.Ladder
		upper.Slips, x.Ladder = nil, &upper
	default:
		x.slipsAlone = true
	}
	return &x
}

func (b *Breakaway) parts() int { return len(b.Chains) }

func (b *Breakaway) part(from, to int) Drawing {
	x := *b
	x.top, x.Chains = b.high(), b.Chains[from:to]
	return &x
}
