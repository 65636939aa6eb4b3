package solve

import "tieup/kinematics/internal/exact"

// StandingProgram is the linear program of [System.Standing].
func (s *System) StandingProgram(g *Capacities, resistance Frac) *exact.Program {
	x := s.gripped(g)
	return x.program(x.standing(resistance))
}

// RollingProgram is the linear program of [System.Rolling].
func (s *System) RollingProgram(g *Capacities, forward bool, torque Frac) *exact.Program {
	x := s.gripped(g)
	return x.program(x.rolling(forward, torque))
}
