package analysis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Climbs says whether the range drives forward with the faults of the chart.
func (r *ChartRow) Climbs() bool { return r.Motion.Verdict == solve.Forward }

// Climbing returns the ranges in which a healthy train accelerates: those of the
// position that drives forward at the most ratios, one for each, the largest
// ratio first; of all ranges where the train has no positions.
func (a *Analysis) Climbing() []kinematics.Range {
	t := a.Train
	if len(t.Positions) == 0 {
		all := make([]int, len(t.Ranges))
		for i := range all {
			all[i] = i
		}
		return a.climbing(all)
	}
	var best []kinematics.Range
	for _, p := range t.Positions {
		if list := a.climbing(p.Ranges); len(list) > len(best) {
			best = list
		}
	}
	return best
}

// climbing returns those of some ranges that drive forward from the input of the train
// to its output, one for each ratio, the largest first.
func (a *Analysis) climbing(indices []int) []kinematics.Range {
	type step struct {
		r    kinematics.Range
		size exact.Frac
	}
	var steps []step
	k := a.system.Kernel()
	for _, i := range indices {
		r := a.Train.Ranges[i]
		o := k.Outcome(a.Train.In(&r))
		if o.Verdict != solve.Forward || r.Input != a.Train.Input || r.Output != a.Train.Output {
			continue
		}
		ratio, _ := o.Ratio()
		ratio = ratio.Abs()
		at, known := slices.BinarySearchFunc(steps, ratio, func(s step, f exact.Frac) int { return f.Cmp(s.size) })
		if !known {
			steps = slices.Insert(steps, at, step{r, ratio})
		}
	}
	return kinematics.Map(steps, func(s step) kinematics.Range { return s.r })
}
