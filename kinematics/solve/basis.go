package solve

import (
	"math/big"

	"gonum.org/v1/gonum/mat"

	"tieup/kinematics"
	"tieup/kinematics/internal/polyhedra"
)

// Basis returns a basis of the motions in which every coupling that modes locks
// has slip 0, whatever the others do: for coordinates q (k×1) of those motions
//
//	w = members q    members is (members of the train)×k
//	s = slips q      slips is (couplings of the train)×k
//
// Rows of the housing, of Unknown members and of locked couplings are exactly
// zero: the basis is found in integers, each of its vectors then scaled to a
// largest speed of 1. Both matrices are nil if nothing can move.
func (s *System) Basis(modes []kinematics.Mode) (members, slips *mat.Dense) {
	b := s.basisOf(modes)
	var locks []polyhedra.Row
	for i, m := range modes {
		if m == kinematics.Locked {
			locks = append(locks, b.lock[i])
		}
	}
	motions := polyhedra.NullSpace(locks, b.k)
	if len(motions) == 0 {
		return nil, nil
	}
	members = mat.NewDense(len(b.member), len(motions), nil)
	slips = mat.NewDense(len(b.slip), len(motions), nil)
	for j, v := range motions {
		speed := make([]*big.Int, len(b.member))
		largest := big.NewInt(1)
		for i, r := range b.member {
			speed[i] = r.Of(v)
			if speed[i].CmpAbs(largest) > 0 {
				largest = new(big.Int).Abs(speed[i])
			}
		}
		set := func(m *mat.Dense, i int, x *big.Int) {
			f, _ := new(big.Rat).SetFrac(x, largest).Float64()
			m.Set(i, j, f)
		}
		for i, x := range speed {
			set(members, i, x)
		}
		for i, r := range b.slip {
			set(slips, i, r.Of(v))
		}
	}
	return members, slips
}
