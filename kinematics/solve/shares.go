package solve

import (
	"slices"

	"tieup/kinematics/exact"
)

// Extremes returns the bounds of a quantity over ways to carry a load, empty if
// there are none.
func Extremes(ways []LoadSplit, of func(*LoadSplit) exact.Frac) exact.Interval {
	bounds := exact.None
	for i := range ways {
		bounds = bounds.Include(of(&ways[i]))
	}
	return bounds
}

// Sharers returns the groups of the first n couplings that share the load among
// themselves, without losses. Two ways differ in at least one group; those that
// differ in no more than one show the groups.
func (l *Load) Sharers(n int) [][]int {
	var differences [][]int
	for i := range l.Ways {
		for j := range i {
			if d := differing(l.Ways[i].Torque[:n], l.Ways[j].Torque); len(d) > 0 {
				differences = append(differences, d)
			}
		}
	}
	var groups [][]int
	for _, d := range differences {
		contained := func(o []int) bool { return len(o) < len(d) && subset(o, d) }
		if !slices.ContainsFunc(differences, contained) {
			groups = merged(groups, d)
		}
	}
	slices.SortFunc(groups, func(x, y []int) int { return x[0] - y[0] })
	return groups
}

// differing lists where two lists of torques differ.
func differing(v, w []exact.Frac) []int {
	var at []int
	for i := range v {
		if v[i].Cmp(w[i]) != 0 {
			at = append(at, i)
		}
	}
	return at
}

func subset(a, b []int) bool {
	return !slices.ContainsFunc(a, func(x int) bool { return !slices.Contains(b, x) })
}

// merged adds d to groups, as one with those that it meets.
func merged(groups [][]int, d []int) [][]int {
	sum := slices.Clone(d)
	var rest [][]int
	for _, g := range groups {
		if slices.ContainsFunc(g, func(x int) bool { return slices.Contains(d, x) }) {
			sum = append(sum, g...)
		} else {
			rest = append(rest, g)
		}
	}
	slices.Sort(sum)
	return append(rest, slices.Compact(sum))
}

// Lossless says whether nothing is lost in the gears.
func (l *Losses) Lossless() bool {
	lossy := func(f exact.Frac) bool { return f.Cmp(exact.Int(1)) != 0 }
	if l.Basic != nil {
		return !slices.ContainsFunc(l.Basic, lossy)
	}
	return !lossy(l.External) && !lossy(l.Internal) && !lossy(l.Chain)
}
