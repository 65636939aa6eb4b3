package analysis

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
)

// A LadderQuestion is about ranges that a vehicle climbs, those of [Analysis.Climbing]
// if there are none. ShiftAt is the input speed in turns per minute at which each range
// is left: one for all, or one for each range or for each but the last; none stands for
// shares of an equal speed.
type LadderQuestion struct {
	Question
	ShiftAt []float64
}

// A Ladder is what turns how fast while a vehicle accelerates through its forward
// ranges: input, members and the slips of released elements against output speed.
type Ladder struct {
	Schema string            `json:"schema"`
	Units  Named[string]     `json:"units"`
	Train  *kinematics.Train `json:"train"`
	Faulted
	Rungs    List[Rung]   `json:"rungs"`
	Input    Series       `json:"input"`
	Members  List[Series] `json:"members"`
	Slips    List[Series] `json:"slips"`   // without sign
	Skipped  List[string] `json:"skipped"` // ranges that do not drive forward with the faults
	Cautions List[string] `json:"cautions"`

	// RPM says that speeds are turns per minute; else they are shares of the input speed
	// at which every range is left.
	RPM      bool     `json:"-"`
	Question Question `json:"-"` // of the ranges that are driven
}

// A Rung is one range of a ladder: it is driven from output speed From, where the input
// turns at InputFrom, to To, where it turns at InputTo and the next range comes.
type Rung struct {
	Range     string  `json:"range"`
	Ratio     float64 `json:"ratio"` // its size
	From      float64 `json:"from"`
	To        float64 `json:"to"`
	InputFrom float64 `json:"input_from"`
	InputTo   float64 `json:"input_to"`
	Step      float64 `json:"step"` // this ratio by that of the next range, 0 for the last
}

// A Series is a line of a ladder with a piece for each rung. Body is what turns, the housing
// for a slip.
type Series struct {
	Label  string              `json:"label"`
	Pieces List[Piece]         `json:"pieces"`
	Body   kinematics.MemberID `json:"-"`
}

// A Piece is a straight line over one rung, from output speed From to To, at which the
// speed is Start and Value. It is absent where the speed is not fixed, or where an
// element does not slip.
type Piece struct {
	Absent bool    `json:"absent"`
	From   float64 `json:"from"`
	To     float64 `json:"to"`
	Start  float64 `json:"start"`
	Value  float64 `json:"value"`
}

// Ladder shows what turns how fast while a vehicle climbs ranges under faults. Ranges
// that cannot be climbed in their order are refused.
func (a *Analysis) Ladder(ctx context.Context, q LadderQuestion) (*Ladder, error) {
	if len(q.Ranges) == 0 {
		if q.Ranges = a.Climbing(); len(q.Ranges) == 0 {
			return nil, fmt.Errorf("no range of %s drives forward when healthy", a.Train.Name)
		}
	}
	c, err := a.Chart(ctx, q.Question)
	if err != nil {
		return nil, err
	}
	c.Rows = c.First()
	unit := "shares of the input speed at the shifts"
	if len(q.ShiftAt) > 0 {
		unit = "turns per minute"
	}
	l := &Ladder{
		Schema: "tieup.ladder/1", Units: document.Texts("speeds", unit), Train: a.Train, Faulted: c.Faulted,
		Cautions: c.Cautions, RPM: len(q.ShiftAt) > 0, Question: q.Question,
	}
	l.Outcomes, l.Question.Ranges = c.Outcomes, nil
	var driving []*ChartRow
	for _, row := range c.Rows {
		if !row.Climbs() {
			l.Skipped = append(l.Skipped, row.Range.Name)
			continue
		}
		driving = append(driving, row)
		l.Question.Ranges = append(l.Question.Ranges, *row.Range)
	}
	if len(driving) == 0 {
		return nil, fmt.Errorf("none of the ranges drives forward, so there is no speed to climb to")
	}
	limits, err := limits(len(c.Rows), q.ShiftAt, func(i int) bool { return !c.Rows[i].Climbs() })
	if err != nil {
		return nil, err
	}
	if err := l.climb(driving, limits); err != nil {
		return nil, err
	}
	l.series(driving)
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
		if err := number("shift-at", v, above0); err != nil {
			return nil, err
		}
		if !skipped(i) {
			list = append(list, v)
		}
	}
	return list, nil
}

// climb finds where each range begins and ends.
func (l *Ladder) climb(rows []*ChartRow, limits []float64) error {
	from := 0.0
	for i, row := range rows {
		ratio, _ := row.Motion.Ratio()
		g := Rung{Range: row.Range.Name, Ratio: math.Abs(ratio.Float()), From: from, InputTo: limits[i]}
		g.To, g.InputFrom = g.InputTo/g.Ratio, from*g.Ratio
		if g.To <= g.From {
			return fmt.Errorf("%s would be left at an output speed of %.4g, but is entered at %.4g: "+
				"order the ranges from low to high, or shift later", g.Range, g.To, g.From)
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
func (l *Ladder) series(rows []*ChartRow) {
	t := l.Train
	b := t.Bodies(l.Question.Faults)
	one := exact.Int(1)
	line := func(value func(m *Motion) (exact.Frac, bool)) []Piece {
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
	input := rows[0].Range.Input
	l.Input = Series{t.Members[input].Name, line(func(*Motion) (exact.Frac, bool) { return one, true }), b.Of[input]}
	add := func(list *List[Series], label string, body kinematics.MemberID, pieces []Piece) {
		if !slices.ContainsFunc(pieces, func(p Piece) bool { return !p.Absent }) {
			return
		}
		for i := range *list {
			if slices.Equal((*list)[i].Pieces, pieces) {
				(*list)[i].Label += ", " + label
				return
			}
		}
		*list = append(*list, Series{label, pieces, body})
	}
	seen := map[kinematics.MemberID]bool{b.Of[kinematics.Housing]: true, b.Of[input]: true}
	for i, m := range t.Members {
		body := b.Of[i]
		if seen[body] || m.Kind == kinematics.PinionMember || m.Kind == kinematics.JointHub {
			continue
		}
		seen[body] = true
		add(&l.Members, b.Name(body), body,
			line(func(m *Motion) (exact.Frac, bool) { return m.Together(b.Members(body)).Point() }))
	}
	for i, c := range t.Couplings[:t.ElementCount] {
		add(&l.Slips, c.Name, kinematics.Housing, line(func(m *Motion) (exact.Frac, bool) {
			f, fixed := m.Slips[i].Point()
			return f.Abs(), fixed && f.Sign() != 0
		}))
	}
}

// Undriven names the ranges that are left out because they do not drive forward, "" for none.
func (l *Ladder) Undriven() string {
	if len(l.Skipped) == 0 {
		return ""
	}
	return "Not driven forward with these faults: " + strings.Join(l.Skipped, ", ") + "."
}
