package plots

import (
	"slices"

	"tieup/kinematics"
)

// bodies tells which members of a train turn as one because joints hold them
// together: for each member the lowest one of its body. Members that a fault
// has sheared off are bodies of their own.
type bodies struct {
	train *kinematics.Train
	of    []kinematics.MemberID
}

func newBodies(t *kinematics.Train, faults []kinematics.Fault) *bodies {
	b := &bodies{train: t, of: make([]kinematics.MemberID, len(t.Members))}
	for i := range b.of {
		b.of[i] = kinematics.MemberID(i)
	}
	for i, c := range t.Couplings[t.ElementCount:] {
		sheared := slices.ContainsFunc(faults, func(f kinematics.Fault) bool {
			return f.Coupling == t.ElementCount+i && f.Kind == kinematics.Sheared
		})
		if !sheared {
			b.unite(c.A, c.B)
		}
	}
	return b
}

func (b *bodies) unite(x, y kinematics.MemberID) {
	low, high := min(b.of[x], b.of[y]), max(b.of[x], b.of[y])
	for i, root := range b.of {
		if root == high {
			b.of[i] = low
		}
	}
}

// members returns the members of a body that a user can name, in file order.
func (b *bodies) members(body kinematics.MemberID) []kinematics.MemberID {
	var list []kinematics.MemberID
	for i, root := range b.of {
		if root == body && b.train.Members[i].Kind != kinematics.JointHub {
			list = append(list, kinematics.MemberID(i))
		}
	}
	return list
}

// name returns what a body is called: the housing, the input or output of the
// train, its first shaft, or its first member.
func (b *bodies) name(body kinematics.MemberID) string {
	t := b.train
	members := b.members(body)
	for _, id := range []kinematics.MemberID{kinematics.Housing, t.Input, t.Output} {
		if slices.Contains(members, id) {
			return t.Members[id].Name
		}
	}
	for _, id := range members {
		if t.Members[id].Kind == kinematics.ShaftMember {
			return t.Members[id].Name
		}
	}
	return t.Members[members[0]].Name
}
