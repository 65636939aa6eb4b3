package reading

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// Pulling returns the first conflict that keeps the input from turning forward,
// or nil.
func (w *Why) Pulling() *Conflict {
	i := slices.IndexFunc(w.Conflicts, func(c Conflict) bool { return c.Motive == solve.InputForward })
	if i < 0 {
		return nil
	}
	return &w.Conflicts[i]
}

// Pulls sums, for every member of the train, the torques that the couplings of
// a conflict exert on it, and the unit torque with which it is asked to turn. A
// gearset is pulled so by everything around it: its meshes pass the torques on
// from member to member, so that in a gearset with members of its own they sum
// to zero and stand in the proportion of its teeth.
func (w *Why) Pulls(c *Conflict) []solve.Frac {
	pulls := make([]solve.Frac, len(w.Train.Members))
	for i := range pulls {
		pulls[i] = solve.FracOf(0, 1)
	}
	add := func(m kinematics.MemberID, torque solve.Frac) { pulls[m] = pulls[m].Add(torque) }
	for i, torque := range c.Torque {
		add(w.Train.Couplings[i].A, torque)
		add(w.Train.Couplings[i].B, torque.Neg())
	}
	switch unit := int64(w.Train.Forward); c.Motive {
	case solve.InputForward:
		add(w.Motion.State.Input, solve.FracOf(1, 1))
	case solve.InputBackward:
		add(w.Motion.State.Input, solve.FracOf(-1, 1))
	case solve.OutputForward:
		add(w.Motion.State.Output, solve.FracOf(unit, 1))
	case solve.OutputBackward:
		add(w.Motion.State.Output, solve.FracOf(-unit, 1))
	}
	return pulls
}
