package reading

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Pulling returns the first conflict that keeps the input from turning forward and
// pulls members of a gearset, or nil: couplings can also contradict each other on
// one shaft, where the gears feel nothing.
func (w *Why) Pulling() *Conflict {
	i := slices.IndexFunc(w.Conflicts, func(c Conflict) bool {
		return c.Demand == solve.InputForward && w.pullsGears(&c)
	})
	if i < 0 {
		return nil
	}
	return &w.Conflicts[i]
}

// Contradicting returns the elements of the first conflict that keeps the input from
// turning forward.
func (w *Why) Contradicting() []int {
	for i := range w.Conflicts {
		if w.Conflicts[i].Demand == solve.InputForward {
			return w.Conflicts[i].Elements
		}
	}
	return nil
}

// pullsGears says whether a conflict pulls members of a gearset.
func (w *Why) pullsGears(c *Conflict) bool {
	for m, pull := range w.Pulls(c) {
		if pull.Sign() != 0 && w.Train.Members[m].Gearset >= 0 {
			return true
		}
	}
	return false
}

// Pulls sums, for every member of the train, the torques that the couplings of
// a conflict exert on it, and the unit torque with which it is asked to turn. A
// gearset is pulled so by everything around it: its meshes pass the torques on
// from member to member, so that in a gearset with members of its own they sum
// to zero and stand in the proportion of its teeth.
func (w *Why) Pulls(c *Conflict) []exact.Frac {
	pulls := make([]exact.Frac, len(w.Train.Members))
	for i := range pulls {
		pulls[i] = exact.NewFrac(0, 1)
	}
	add := func(m kinematics.MemberID, torque exact.Frac) { pulls[m] = pulls[m].Add(torque) }
	for i, torque := range c.Torque {
		add(w.Train.Couplings[i].A, torque)
		add(w.Train.Couplings[i].B, torque.Neg())
	}
	switch unit := int64(w.Train.Forward); c.Demand {
	case solve.InputForward:
		add(w.Motion.State.Input, exact.NewFrac(1, 1))
	case solve.InputBackward:
		add(w.Motion.State.Input, exact.NewFrac(-1, 1))
	case solve.OutputForward:
		add(w.Motion.State.Output, exact.NewFrac(unit, 1))
	case solve.OutputBackward:
		add(w.Motion.State.Output, exact.NewFrac(-unit, 1))
	}
	return pulls
}
