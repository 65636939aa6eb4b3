package solve

import (
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// Rolled returns the largest speed, in size, that a member must have while the vehicle
// rolls forward with the output at speed 1 and the input standing; 0 if it cannot roll so.
func (s *System) Rolled(st kinematics.State) exact.Frac {
	b := s.basisOf(st.Modes)
	var c polyhedra.BigCone
	b.constrain(&c, st.Modes)
	c.Zero(b.member[st.Input])
	most := exact.Int(0)
	for m, row := range b.member {
		if row.IsZero() || s.Train.Members[m].Kind == kinematics.PinionMember {
			continue
		}
		c.Project(b.member[st.Output], row)
		i := c.Slice(s.Train.Forward)
		if i.Empty || i.HasZero() {
			continue
		}
		if w := i.NearestZero().Abs(); w.Cmp(most) > 0 {
			most = w
		}
	}
	return most
}
