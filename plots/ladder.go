package plots

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Ladder is what turns how fast while a vehicle accelerates through its
// forward ranges: input, members and the slips of released elements against
// output speed.
type Ladder struct {
	Train  *kinematics.Train
	Faults []kinematics.Fault
	// RPM says that speeds are turns per minute; else they are shares of the
	// input speed at which the train shifts up.
	RPM     bool
	Rungs   []Rung
	Input   Series
	Members []Series
	Slips   []Series
	Skipped []string // ranges that do not drive forward with the faults
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

// ClimbingRanges returns the ranges in which a train accelerates: those of the
// position that drives forward at the most ratios, one for each, the largest
// ratio first; of all ranges where the train has no positions.
func ClimbingRanges(sys *solve.System) []kinematics.Range {
	t := sys.Train
	k := sys.Kernel()
	choose := func(indices []int) []kinematics.Range {
		var list []kinematics.Range
		var ratios []exact.Frac
		for _, i := range indices {
			r := t.Ranges[i]
			o := k.Outcome(t.In(&r))
			ratio, _ := o.Ratio()
			known := slices.ContainsFunc(ratios, func(f exact.Frac) bool { return f.Cmp(ratio) == 0 })
			if o.Verdict == solve.Forward && !known && r.Input == t.Input && r.Output == t.Output {
				at := 0
				for at < len(list) && math.Abs(ratios[at].Float()) > math.Abs(ratio.Float()) {
					at++
				}
				list, ratios = slices.Insert(list, at, r), slices.Insert(ratios, at, ratio)
			}
		}
		return list
	}
	if len(t.Positions) == 0 {
		all := make([]int, len(t.Ranges))
		for i := range all {
			all[i] = i
		}
		return choose(all)
	}
	var best []kinematics.Range
	for _, p := range t.Positions {
		if list := choose(p.Ranges); len(list) > len(best) {
			best = list
		}
	}
	return best
}

// ShiftLadder computes the ladder of ranges under faults. shiftAt gives the
// input speed in turns per minute at which each range is left: one for all, or
// one for each range or for each but the last; none stands for shares of an
// equal speed.
func ShiftLadder(sys *solve.System, ranges []kinematics.Range, faults []kinematics.Fault, shiftAt []float64) (*Ladder, error) {
	t := sys.Train
	l := &Ladder{Train: t, Faults: faults, RPM: len(shiftAt) > 0}
	var driving []kinematics.Range
	var motions []*solve.Motion
	for _, r := range ranges {
		m := sys.Motion(t.In(&r, faults...))
		if m.Verdict != solve.Forward {
			l.Skipped = append(l.Skipped, r.Name)
			continue
		}
		driving, motions = append(driving, r), append(motions, m)
	}
	if len(driving) == 0 {
		return nil, fmt.Errorf("none of the ranges drives forward, so there is no speed to climb to")
	}
	limits, err := limits(len(ranges), shiftAt, func(i int) bool { return slices.Contains(l.Skipped, ranges[i].Name) })
	if err != nil {
		return nil, err
	}
	if err := l.climb(driving, motions, limits); err != nil {
		return nil, err
	}
	l.series(newBodies(t, faults), motions)
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
func (l *Ladder) climb(ranges []kinematics.Range, motions []*solve.Motion, limits []float64) error {
	from := 0.0
	for i := range ranges {
		ratio, _ := motions[i].Ratio()
		g := Rung{Range: &ranges[i], Ratio: math.Abs(ratio.Float()), From: from, InputTo: limits[i]}
		g.To, g.InputFrom = g.InputTo/g.Ratio, from*g.Ratio
		if g.To <= g.From {
			return fmt.Errorf("%s would be left at an output speed of %.4g, but is entered at %.4g: order the ranges from low to high, or shift later",
				g.Range.Name, g.To, g.From)
		}
		if i+1 < len(ranges) {
			next, _ := motions[i+1].Ratio()
			g.Step = g.Ratio / math.Abs(next.Float())
		}
		l.Rungs = append(l.Rungs, g)
		from = g.To
	}
	return nil
}

// series makes the lines of the input, the members and the slips.
func (l *Ladder) series(b *bodies, motions []*solve.Motion) {
	t := l.Train
	one := exact.NewFrac(1, 1)
	line := func(value func(m *solve.Motion) (exact.Frac, bool)) []Piece {
		var pieces []Piece
		for i, m := range motions {
			g := l.Rungs[i]
			v, known := value(m)
			p := Piece{From: g.From, To: g.To, Absent: !known}
			if known {
				p.Start, p.Value = v.Float()*g.InputFrom, v.Float()*g.InputTo
			}
			pieces = append(pieces, p)
		}
		return pieces
	}
	l.Input = Series{t.Members[motions[0].State.Input].Name, line(func(*solve.Motion) (exact.Frac, bool) { return one, true })}
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
	seen := map[kinematics.MemberID]bool{b.of[kinematics.Housing]: true, b.of[motions[0].State.Input]: true}
	for i, m := range t.Members {
		body := b.of[i]
		if seen[body] || m.Kind == kinematics.PinionMember || m.Kind == kinematics.JointHub {
			continue
		}
		seen[body] = true
		add(&l.Members, b.name(body), line(func(m *solve.Motion) (exact.Frac, bool) { return speedAt(b, m, body).Point() }))
	}
	for i, c := range t.Couplings[:t.ElementCount] {
		add(&l.Slips, c.Name, line(func(m *solve.Motion) (exact.Frac, bool) {
			f, fixed := m.Slips[i].Point()
			if f.Sign() < 0 {
				f = f.Neg()
			}
			return f, fixed && f.Sign() != 0
		}))
	}
}

func (l *Ladder) heading() heading {
	var ranges []kinematics.Range
	for _, g := range l.Rungs {
		ranges = append(ranges, *g.Range)
	}
	h := heading{train: l.Train, title: titleOf(l.Train), subtitle: subtitle("Shift ladder", l.Train, ranges, l.Faults)}
	note := SignNote + ". The output speed counts as the vehicle moves forward. Numbers at the steps: the ratio left by the ratio entered."
	if !l.RPM {
		note += " Speeds are shares of the input speed at which every range is left."
	}
	h.notes = []string{note, "Below: how fast released elements and overrunning one-way clutches slip, without sign."}
	if len(l.Skipped) > 0 {
		h.notes = append(h.notes, "Not driven forward with these faults: "+strings.Join(l.Skipped, ", ")+".")
	}
	return h
}
