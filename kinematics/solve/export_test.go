package solve

import (
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// StandingProgram is the linear program of [System.Standing].
func (s *System) StandingProgram(g *Capacities, resistance exact.Frac) *polyhedra.Program {
	x := s.gripped(g)
	return x.program(x.standing(resistance))
}

// RollingProgram is the linear program of [System.Rolling].
func (s *System) RollingProgram(g *Capacities, forward bool, torque exact.Frac) *polyhedra.Program {
	x := s.gripped(g)
	return x.program(x.rolling(forward, torque))
}

// StretchesSought is [System.Stretches] with all corners sought by programs; listed says
// whether Stretches lists them.
func (s *System) StretchesSought(g *Capacities) (list []Stretch, listed bool) {
	x := s.gripped(g)
	return x.stretches(), x.few() != nil
}

// Mobility is the number of free motions with all joints sound and no element
// holding.
func (s *System) Mobility() int { return s.tight.k }
