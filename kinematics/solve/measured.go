package solve

import (
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// A MeasuredSpeed is the speed of a member, with its sign.
type MeasuredSpeed struct {
	Member kinematics.MemberID
	Speed  exact.Frac
}

// MeasuredSlips bounds the slip of every coupling of a state, parallel to Train.Couplings,
// while members turn at the speeds that were measured. The bounds are one value where the
// measured speeds settle the slip: where its row is a combination of theirs, and of those of
// what is locked, and where one-way clutches leave no other. The first speed is taken as it
// is, and must not be 0; each further one that the others settle already must agree with
// them within the tolerance, a part of the larger. ok is false if one does not, or if the
// state cannot turn so.
func (s *System) MeasuredSlips(st kinematics.State, speeds []MeasuredSpeed,
	tolerance exact.Frac) (slips []exact.Interval, ok bool) {
	b := s.basisOf(st.Modes)
	var c polyhedra.BigCone
	b.constrain(&c, st.Modes)
	first := speeds[0]
	unit := b.member[first.Member]
	for _, m := range speeds[1:] {
		per := m.Speed.Mul(first.Speed.Inv()) // per unit of the first
		c.Project(unit, b.member[m.Member])
		i := c.Slice(1)
		if settled, one := i.Point(); one {
			if !near(settled, per, tolerance) {
				return nil, false
			}
			continue
		}
		if i.Empty || i.Min.Cmp(exact.Finite(per)) > 0 || i.Max.Cmp(exact.Finite(per)) < 0 {
			return nil, false
		}
		c.Zero(difference(b.member[m.Member], unit, per))
	}
	for _, row := range b.slip {
		c.Project(unit, row)
		i := c.Slice(1)
		if i.Empty {
			return nil, false
		}
		slips = append(slips, scaledBy(i, first.Speed))
	}
	return slips, true
}

// near says whether two speeds differ by no more than a part of the larger, or of 1.
func near(x, y, tolerance exact.Frac) bool {
	largest := exact.Int(1)
	for _, v := range []exact.Frac{x.Abs(), y.Abs()} {
		if v.Cmp(largest) > 0 {
			largest = v
		}
	}
	return x.Sub(y).Abs().Cmp(largest.Mul(tolerance)) <= 0
}

// scaledBy multiplies an interval.
func scaledBy(i exact.Interval, by exact.Frac) exact.Interval {
	times := func(b exact.Bound) exact.Bound {
		if b.Inf != 0 {
			b.Inf *= int8(by.Sign())
			return b
		}
		return exact.Finite(b.Frac.Mul(by))
	}
	lo, hi := times(i.Min), times(i.Max)
	if by.Sign() < 0 {
		lo, hi = hi, lo
	}
	return exact.Interval{Min: lo, Max: hi}
}
