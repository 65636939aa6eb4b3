package plots

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A WallChart is what every single fault of a train does in each range.
type WallChart struct {
	Train   *kinematics.Train
	Ranges  []kinematics.Range
	Given   []kinematics.Fault     // added to every row
	Healthy []reading.RangeReading // by range
	Rows    []FaultRow
}

// A FaultRow is one fault.
type FaultRow struct {
	Fault kinematics.Fault
	Cells []FaultCell // by range
}

// A FaultCell is what a range does with the fault.
type FaultCell struct {
	Row    reading.Row
	Change Change
	Text   string // in few words; "" if the fault changes nothing
}

// A Change is how a faulty range differs from the healthy one.
type Change int

// The changes, the worst last.
const (
	NoChange    Change = iota
	OtherChange        // coasting, holding against rolling
	DriveLost
	WrongRatio
	TiesUp      // or what stood free is held
	MustNot     // drives where it must not, or the other way
	changeCount // their number
)

// FaultChart computes the wall chart of all single faults, each together with
// the given faults.
func FaultChart(sys *solve.System, ranges []kinematics.Range, given []kinematics.Fault) *WallChart {
	t := sys.Train
	w := &WallChart{Train: t, Ranges: ranges, Given: given}
	reader := reading.NewReader(sys)
	for i := range ranges {
		w.Healthy = append(w.Healthy, reader.Read(&ranges[i]))
	}
	for _, f := range t.SingleFaults() {
		if slices.ContainsFunc(given, func(g kinematics.Fault) bool { return g.Coupling == f.Coupling }) {
			continue
		}
		chart := reader.Chart(append(slices.Clone(given), f)...)
		row := FaultRow{Fault: f}
		for _, r := range ranges {
			at := slices.IndexFunc(chart.Rows, func(row reading.Row) bool { return row.Range.Name == r.Name })
			row.Cells = append(row.Cells, faultCell(chart.Rows[at]))
		}
		w.Rows = append(w.Rows, row)
	}
	return w
}

func faultCell(row reading.Row) FaultCell {
	c := FaultCell{Row: row}
	if len(row.Changes) == 0 {
		return c
	}
	c.Text = row.Short()
	h, f := row.Healthy.Outcome, row.Faulty.Outcome
	hRatio, _ := h.Ratio()
	fRatio, _ := f.Ratio()
	switch {
	case row.Faulty.Lurch != row.Healthy.Lurch && row.Faulty.Lurch != "", f.Drives() && h.Verdict != f.Verdict:
		c.Change = MustNot
	case !f.Drives() && h.Verdict != f.Verdict && f.Verdict != solve.Neutral:
		c.Change = TiesUp
	case h.Drives() && !f.Drives():
		c.Change = DriveLost
	case h.Drives() && hRatio.Cmp(fRatio) != 0:
		c.Change = WrongRatio
	default:
		c.Change = OtherChange
	}
	return c
}

// sign is the shape for a change.
func (c Change) sign() sign {
	return [...]sign{NoChange: smallDisc, OtherChange: openTriangle, DriveLost: openDisc, WrongRatio: fullDiamond,
		TiesUp: fullSquare, MustNot: fullTriangle}[c]
}

// words says what the sign of a change means.
func (c Change) words() string {
	return [...]string{NoChange: "as when healthy", OtherChange: "coasting or rolling differs", DriveLost: "drive lost",
		WrongRatio: "wrong ratio", TiesUp: "ties up or is held", MustNot: "drives where it must not, or the wrong way"}[c]
}

func (w *WallChart) heading() heading {
	kind := "Every single fault"
	if len(w.Given) > 0 {
		kind = "Every further fault"
	}
	h := heading{train: w.Train, title: titleOf(w.Train), subtitle: subtitle(kind+" in each range", w.Train, nil, w.Given)}
	h.notes = []string{
		"fwd, rev: drives forward or backward, at the ratio input speed / output speed and as the range named behind it. " +
			"Framed: the range can do harm, because the vehicle moves, locks or rolls when it should not.",
		"A fault acts in all ranges. A joint is named with the member that turns free of it.",
	}
	return h
}

// grid puts the chart into a table.
func (w *WallChart) grid() *grid {
	t := w.Train
	g := &grid{corner: "fault", column: 66}
	for _, r := range w.Ranges {
		g.heads = append(g.heads, gridHead{name: r.Name})
	}
	healthy := gridRow{name: "healthy"}
	for _, c := range w.Healthy {
		healthy.cells = append(healthy.cells, gridCell{text: c.Short(), bold: true})
	}
	g.rows = append(g.rows, healthy)
	last := -1
	for _, f := range w.Rows {
		c := t.Couplings[f.Fault.Coupling]
		row := gridRow{name: c.Name + " " + string(f.Fault.Kind)}
		switch {
		case last < 0 || c.Kind == kinematics.Spline && t.Couplings[last].Kind != kinematics.Spline:
			row.section = "elements"
			if c.Kind == kinematics.Spline {
				row.section = "joints"
			}
		case last != f.Fault.Coupling && c.Kind != kinematics.Spline:
			row.gap = true
		}
		last = f.Fault.Coupling
		for _, cell := range f.Cells {
			harm := len(reading.Hazards(cell.Row.Healthy, cell.Row.Faulty)) > 0
			row.cells = append(row.cells, gridCell{sign: cell.Change.sign(), text: cell.Text, alarm: harm, soft: cell.Change == NoChange})
		}
		g.rows = append(g.rows, row)
	}
	return g
}

const signLegend = 16 // height of the line that explains the signs

func (w *WallChart) size(r *ruler) (width, height float64) {
	legend := w.legend(r, func(Change, float64) {})
	width, height = w.grid().size(r, legend)
	return max(width, legend), height + signLegend + 8
}

// legend calls put with each change and where its sign stands, and returns the
// width of them all.
func (w *WallChart) legend(r *ruler, put func(c Change, x float64)) float64 {
	x := 0.0
	for c := range changeCount {
		put(c, x)
		x += signRoom + r.width(gridScript, c.words()) + 14
	}
	return x
}

func (w *WallChart) draw(p *pen, b box) {
	w.legend(p.ruler, func(c Change, x float64) {
		p.sign(c.sign(), line{color: p.ink, width: 1.4}, point{b.x + x + 5, b.y + 5})
		p.middle(gridScript, point{b.x + x + signRoom, b.y + 5}, c.words())
	})
	w.grid().draw(p, box{b.x, b.y + signLegend + 8, b.w, b.h - signLegend - 8})
}
