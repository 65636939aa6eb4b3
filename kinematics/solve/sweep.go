package solve

import (
	"tieup/kinematics"
	"tieup/kinematics/internal/polyhedra"
)

// A Choice is a coupling that the combinations of a sweep apply or leave out, and
// what it does when it is applied.
type Choice struct {
	Coupling int
	On       kinematics.Mode
}

// MostChoices is the largest number of choices of a sweep.
const MostChoices = 30

// Sweep decides what the train does in every combination of up to [MostChoices]
// choices applied to the state none: bit i of a combination stands for
// choices[i]. Combinations come in no order that means anything.
//
// The combinations are the leaves of a tree, in which a branch applies one more
// choice, so that those that share elements share their elimination: each costs one
// more row. A cone that holds nothing but rest stays so whatever else is applied,
// and all that contain such a combination follow without work.
func (k *Kernel) Sweep(none kinematics.State, choices []Choice, visit func(combination uint32, o Outcome)) {
	if len(choices) > MostChoices {
		panic("solve: too many choices")
	}
	s := sweep{k: k, none: none, choices: choices, visit: visit, b: k.s.basisOf(none.Modes), modes: none.Clone()}
	for len(k.tree) < len(choices)+1 {
		k.tree = append(k.tree, polyhedra.Cone{})
	}
	if s.b.constrain(&k.tree[0], none.Modes) {
		s.below(0, 0, 0)
		return
	}
	s.singly(0, 0)
}

// A sweep visits combinations of choices.
type sweep struct {
	k       *Kernel
	b       *basis
	none    kinematics.State
	modes   kinematics.State // scratch of single outcomes
	choices []Choice
	visit   func(uint32, Outcome)
}

// below visits a combination, whose cone stands at the given depth, and all that
// apply more of the choices from next on.
func (s *sweep) below(combination uint32, next, depth int) {
	c := &s.k.tree[depth]
	if !c.Project(s.b.member[s.none.Input], s.b.member[s.none.Output]) {
		s.singly(combination, next)
		return
	}
	o := fastOutcome(c, s.k.s.Train.Forward)
	if lines, rays := c.Size(); lines == 0 && rays == 0 {
		s.alike(combination, next, o)
		return
	}
	s.visit(combination, o)
	for i := next; i < len(s.choices); i++ {
		more := combination | 1<<i
		child := &s.k.tree[depth+1]
		child.CopyFrom(c)
		if s.b.apply(child, s.choices[i]) {
			s.below(more, i+1, depth+1)
		} else {
			s.singly(more, i+1)
		}
	}
}

// apply adds what a choice demands to a cone.
func (b *basis) apply(c *polyhedra.Cone, x Choice) bool {
	switch x.On {
	case kinematics.Locked:
		return c.Zero(b.lock[x.Coupling])
	case kinematics.Overruns:
		return c.NonNegative(b.lock[x.Coupling])
	case kinematics.Reversed:
		return c.NonNegative(b.back[x.Coupling])
	}
	return true
}

// alike visits a combination and all that apply more: all do the same.
func (s *sweep) alike(combination uint32, next int, o Outcome) {
	s.visit(combination, o)
	rest := uint32(1)<<len(s.choices) - uint32(1)<<next
	for more := rest; more != 0; more = (more - 1) & rest {
		s.visit(combination|more, o)
	}
}

// singly visits a combination and all that apply more, each for itself: where
// int64 is too short.
func (s *sweep) singly(combination uint32, next int) {
	rest := uint32(1)<<len(s.choices) - uint32(1)<<next
	for more := rest; ; more = (more - 1) & rest {
		copy(s.modes.Modes, s.none.Modes)
		for i, x := range s.choices {
			if (combination|more)>>i&1 != 0 {
				s.modes.Modes[x.Coupling] = x.On
			}
		}
		s.visit(combination|more, s.k.Outcome(s.modes))
		if more == 0 {
			return
		}
	}
}
