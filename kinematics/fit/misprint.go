package fit

import (
	"cmp"
	"context"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A Suspect is a row without whose figure all others agree. Least and Most bound what the others
// give for it, as the chart prints figures; infinite where they leave it open.
type Suspect struct {
	Row         int
	Least, Most float64
	slips       int // by how many digits the figure differs from what the others give
}

// misprinted looks for figures without each of which all others agree: Suspects, and Misprint the
// first of them. One is named alone only where no other will do. Enough figures must say the same:
// rows less rank are at least 2, direct drive, which every train has, not counted. A printed 1 is
// no misprint: what comes out so by mistake is rarer than a train that has a direct drive.
func (f *Fitted) misprinted(ctx context.Context) bool {
	f.setBands()
	if len(f.Unknowns) == 0 {
		return false
	}
	bands, _ := f.open(-1)
	rows := kinematics.Union(nil, kinematics.Map(bands, func(b band) int { return b.row })...)
	if len(rows)-rankOf(f.bands, len(f.Unknowns)) < spareToBlame {
		return false
	}
	f.Suspects = nil
	for _, r := range rows {
		if !f.possible(ctx, r) {
			continue
		}
		switch {
		case f.chart.Rows[r].Ratio.Value.Abs().Cmp(exact.Int(1)) == 0:
			return false
		case f.search(ctx, r):
			f.Suspects = append(f.Suspects, f.suspectRow(r))
		case !f.Disproved:
			return false // it cannot be told whether it is one
		}
	}
	if len(f.Suspects) == 0 {
		return false
	}
	kinematics.Sort(f.Suspects, func(a, b Suspect) int { return cmp.Compare(a.slips, b.slips) })
	f.Misprint = f.Suspects[0].Row
	return len(f.Suspects) == 1 || f.search(ctx, f.Misprint)
}

// suspectRow is what the other figures give for that of a row, over the boxes without it.
func (f *Fitted) suspectRow(row int) Suspect {
	s := Suspect{Row: row, Least: math.Inf(1), Most: 0}
	b := f.bands[slices.IndexFunc(f.bands, func(b band) bool { return b.row == row })]
	k := len(f.Unknowns)
	x := make([]float64, k)
	for _, box := range f.Boxes {
		sign := 0.0
		for m := range 1 << k {
			for v := range x {
				x[v] = box[v].Min.Frac.Float()
				if m>>v&1 == 1 {
					x[v] = box[v].Max.Frac.Float()
				}
			}
			n, d := b.num.float(x, nil), b.den.float(x, nil)
			if f.chart.OutIn {
				n, d = d, n
			}
			if d == 0 || sign*d < 0 {
				s.Most = math.Inf(1)
				s.Least = 0
				break
			}
			sign = d
			s.Least, s.Most = min(s.Least, math.Abs(n/d)), max(s.Most, math.Abs(n/d))
		}
	}
	at := b.at(kinematics.Map(f.At, exact.Frac.Float), nil)
	if f.chart.OutIn {
		at = 1 / at
	}
	s.slips = slips(f.chart.Digits(row, f.chart.Rows[row].Ratio.Value.Float()), f.chart.Digits(row, at))
	return s
}

// slips counts the digits in which a figure differs from another; two that changed places count
// as one.
func slips(printed, meant string) (n int) {
	if len(printed) != len(meant) {
		return max(len(printed), len(meant))
	}
	for i := 0; i < len(printed); i++ {
		if printed[i] == meant[i] {
			continue
		}
		n++
		if i+1 < len(printed) && printed[i] == meant[i+1] && printed[i+1] == meant[i] {
			i++
		}
	}
	return n
}
