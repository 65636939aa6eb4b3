package plots

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// A Ladder is what turns how fast while a vehicle accelerates through its
// forward ranges: input, members and the slips of released elements against
// output speed.
type Ladder struct {
	Chart *analysis.Chart
	// RPM says that speeds are turns per minute; else they are shares of the
	// input speed at which the train shifts up.
	RPM     bool
	Rungs   []Rung
	Input   Series
	Members []Series
	Slips   []Series
	Skipped []string // ranges that do not drive forward with the faults

	slipsAlone bool // only the lower scale is drawn
}

// A Rung is one range of the ladder.
type Rung struct {
	Range *kinematics.Range
	Ratio float64 // its size
	// The range is driven from output speed From, where the input turns at
	// InputFrom, to To, where it turns at InputTo and the next range comes.
	From, To, InputFrom, InputTo float64
	// Step is this ratio by that of the next range, 0 for the last.
	Step float64
}

// A Series is a line of the ladder with a piece for each rung.
type Series struct {
	Label  string
	Pieces []Piece
}

// A Piece is a straight line over one rung. It is absent where the speed is not
// fixed, or where an element does not slip.
type Piece struct {
	Absent       bool
	From, To     float64 // output speeds
	Start, Value float64 // the speed at From and at To
}

// ShiftLadder makes the ladder of the ranges of a chart. shiftAt gives the input
// speed in turns per minute at which each range is left: one for all, or one for
// each range or for each but the last; none stands for shares of an equal speed.
func ShiftLadder(c *analysis.Chart, shiftAt []float64) (*Ladder, error) {
	l := &Ladder{Chart: c, RPM: len(shiftAt) > 0}
	var driving []*analysis.ChartRow
	for _, row := range c.Rows {
		if !row.Climbs() {
			l.Skipped = append(l.Skipped, row.Range)
			continue
		}
		driving = append(driving, row)
	}
	if len(driving) == 0 {
		return nil, fmt.Errorf("none of the ranges drives forward, so there is no speed to climb to")
	}
	limits, err := limits(len(c.Rows), shiftAt, func(i int) bool { return slices.Contains(l.Skipped, c.Rows[i].Range) })
	if err != nil {
		return nil, err
	}
	if err := l.climb(driving, limits); err != nil {
		return nil, err
	}
	l.series(newBodies(c.Train, c.Question.Faults), driving)
	return l, nil
}

// limits returns the input speed at the end of each range that is not skipped.
func limits(n int, shiftAt []float64, skipped func(int) bool) ([]float64, error) {
	switch k := len(shiftAt); {
	case k == 0:
		shiftAt = slices.Repeat([]float64{1}, n)
	case k == 1:
		shiftAt = slices.Repeat(shiftAt, n)
	case k == n-1:
		shiftAt = append(slices.Clone(shiftAt), shiftAt[k-1])
	case k != n:
		return nil, fmt.Errorf("%d shift speeds for %d ranges: give one for all, or %d, one for each shift", k, n, n-1)
	}
	var list []float64
	for i, v := range shiftAt {
		if !(v > 0) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("a shift speed must be above 0, not %g", v)
		}
		if !skipped(i) {
			list = append(list, v)
		}
	}
	return list, nil
}

// climb finds where each range begins and ends.
func (l *Ladder) climb(rows []*analysis.ChartRow, limits []float64) error {
	from := 0.0
	for i, row := range rows {
		ratio, _ := row.Motion.Ratio()
		g := Rung{Range: row.Row.Range, Ratio: math.Abs(ratio.Float()), From: from, InputTo: limits[i]}
		g.To, g.InputFrom = g.InputTo/g.Ratio, from*g.Ratio
		if g.To <= g.From {
			return fmt.Errorf("%s would be left at an output speed of %.4g, but is entered at %.4g: "+
				"order the ranges from low to high, or shift later", g.Range.Name, g.To, g.From)
		}
		if i+1 < len(rows) {
			next, _ := rows[i+1].Motion.Ratio()
			g.Step = g.Ratio / math.Abs(next.Float())
		}
		l.Rungs = append(l.Rungs, g)
		from = g.To
	}
	return nil
}

// series makes the lines of the input, the members and the slips.
func (l *Ladder) series(b *bodies, rows []*analysis.ChartRow) {
	t := l.Chart.Train
	one := exact.Int(1)
	line := func(value func(m *analysis.Motion) (exact.Frac, bool)) []Piece {
		var pieces []Piece
		for i, row := range rows {
			g := l.Rungs[i]
			v, known := value(row.Motion)
			p := Piece{From: g.From, To: g.To, Absent: !known}
			if known {
				p.Start, p.Value = v.Float()*g.InputFrom, v.Float()*g.InputTo
			}
			pieces = append(pieces, p)
		}
		return pieces
	}
	input := rows[0].Row.Range.Input
	l.Input = Series{t.Members[input].Name, line(func(*analysis.Motion) (exact.Frac, bool) { return one, true })}
	add := func(list *[]Series, label string, pieces []Piece) {
		if !slices.ContainsFunc(pieces, func(p Piece) bool { return !p.Absent }) {
			return
		}
		for i := range *list {
			if slices.Equal((*list)[i].Pieces, pieces) {
				(*list)[i].Label += ", " + label
				return
			}
		}
		*list = append(*list, Series{label, pieces})
	}
	seen := map[kinematics.MemberID]bool{b.of[kinematics.Housing]: true, b.of[input]: true}
	for i, m := range t.Members {
		body := b.of[i]
		if seen[body] || m.Kind == kinematics.PinionMember || m.Kind == kinematics.JointHub {
			continue
		}
		seen[body] = true
		add(&l.Members, b.name(body),
			line(func(m *analysis.Motion) (exact.Frac, bool) { return speedAt(b, m, body).Point() }))
	}
	for i, c := range t.Couplings[:t.ElementCount] {
		add(&l.Slips, c.Name, line(func(m *analysis.Motion) (exact.Frac, bool) {
			f, fixed := m.Slips[i].Point()
			return f.Abs(), fixed && f.Sign() != 0
		}))
	}
}

func (l *Ladder) heading() heading {
	q := l.Chart.Question
	q.Ranges = kinematics.Map(l.Rungs, func(g Rung) kinematics.Range { return *g.Range })
	h := headed("Shift ladder", l.Chart.Train, q, l.Chart.Cautions)
	note := SignNote + ". The output speed counts as the vehicle moves forward. " +
		"Numbers at the steps: the ratio left by the ratio entered."
	if !l.RPM {
		note += " Speeds are shares of the input speed at which every range is left."
	}
	h.notes = []string{note, "Slips: how fast released elements and overrunning one-way clutches slip, without sign."}
	if len(l.Skipped) > 0 {
		h.notes = append(h.notes, "Not driven forward with these faults: "+strings.Join(l.Skipped, ", ")+".")
	}
	return h
}
