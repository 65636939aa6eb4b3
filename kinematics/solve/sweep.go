package solve

import (
	"math/bits"

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
// more row. A choice that forbids no motion which is left changes nothing, with
// whatever else is applied, and makes no branch; a cone that holds nothing but rest
// stays so. What follows in these ways is visited without work.
func (k *Kernel) Sweep(none kinematics.State, choices []Choice, visit func(combination uint32, o Outcome)) {
	if len(choices) > MostChoices {
		panic("solve: too many choices")
	}
	s := sweep{k: k, none: none, choices: choices, visit: visit, b: k.s.basisOf(none.Modes), modes: none}
	k.modes = append(k.modes[:0], none.Modes...)
	s.modes.Modes = k.modes
	for len(k.tree) < len(choices)+1 {
		k.tree = append(k.tree, polyhedra.Cone{})
	}
	if s.b.constrain(&k.tree[0], none.Modes) {
		s.below(0, 0, uint32(1)<<len(choices)-1, 0)
		return
	}
	s.singly(0, uint32(1)<<len(choices)-1)
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

// below visits a combination, whose cone stands at the given depth, with all that
// apply idle choices, which change nothing, and all that apply more of the choices
// that are left.
func (s *sweep) below(combination, idle, left uint32, depth int) {
	c := &s.k.tree[depth]
	if !c.Project(s.b.member[s.none.Input], s.b.member[s.none.Output]) {
		s.singly(combination, idle|left)
		return
	}
	o := fastOutcome(c, s.k.s.Train.Forward)
	if lines, rays := c.Size(); lines == 0 && rays == 0 {
		s.alike(combination, idle|left, o)
		return
	}
	var rests uint32
	for rest := left; rest != 0; rest &= rest - 1 {
		i := bits.TrailingZeros32(rest)
		switch s.b.effect(c, s.choices[i]) {
		case polyhedra.Idle:
			idle |= 1 << i
		case polyhedra.Rests:
			rests |= 1 << i
		}
	}
	s.alike(combination, idle, o)
	for left &^= idle; left != 0; {
		i := bits.TrailingZeros32(left)
		left &= left - 1
		if rests>>i&1 != 0 {
			s.alike(combination|1<<i, idle|left, still(s.k.s.Train.Forward))
			continue
		}
		child := &s.k.tree[depth+1]
		child.CopyFrom(c)
		if s.b.apply(child, s.choices[i]) {
			s.below(combination|1<<i, idle, left, depth+1)
		} else {
			s.singly(combination|1<<i, idle|left)
		}
	}
}

// effect is what a choice makes of a cone.
func (b *basis) effect(c *polyhedra.Cone, x Choice) polyhedra.Effect {
	switch x.On {
	case kinematics.Locked:
		return c.Effect(b.lock[x.Coupling], true)
	case kinematics.Overruns:
		return c.Effect(b.lock[x.Coupling], false)
	case kinematics.Reversed:
		return c.Effect(b.back[x.Coupling], false)
	}
	return polyhedra.Idle
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

// alike visits a combination and all that apply any of the choices of more: all do
// the same.
func (s *sweep) alike(combination, more uint32, o Outcome) {
	for some := more; ; some = (some - 1) & more {
		s.visit(combination|some, o)
		if some == 0 {
			return
		}
	}
}

// singly visits a combination and all that apply any of the choices of more, each
// for itself: where int64 is too short.
func (s *sweep) singly(combination, more uint32) {
	for some := more; ; some = (some - 1) & more {
		copy(s.modes.Modes, s.none.Modes)
		for i, x := range s.choices {
			if (combination|some)>>i&1 != 0 {
				s.modes.Modes[x.Coupling] = x.On
			}
		}
		s.visit(combination|some, s.k.Outcome(s.modes))
		if some == 0 {
			return
		}
	}
}
