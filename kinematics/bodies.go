package kinematics

import "slices"

// Bodies tells which members of a train turn as one because joints hold them
// together: for each member the lowest one of its body. Members that a fault
// has sheared off are bodies of their own.
type Bodies struct {
	Train *Train
	Of    []MemberID // parallel to Train.Members
}

// Bodies returns which members turn as one under faults.
func (t *Train) Bodies(faults []Fault) *Bodies {
	b := &Bodies{Train: t, Of: make([]MemberID, len(t.Members))}
	for i := range b.Of {
		b.Of[i] = MemberID(i)
	}
	for i, c := range t.Couplings[t.ElementCount:] {
		sheared := slices.ContainsFunc(faults, func(f Fault) bool {
			return f.Coupling == t.ElementCount+i && f.Kind == Sheared
		})
		if !sheared {
			b.unite(c.A, c.B)
		}
	}
	return b
}

func (b *Bodies) unite(x, y MemberID) {
	low, high := min(b.Of[x], b.Of[y]), max(b.Of[x], b.Of[y])
	for i, root := range b.Of {
		if root == high {
			b.Of[i] = low
		}
	}
}

// Members returns the members of a body that a user can name, in file order.
func (b *Bodies) Members(body MemberID) []MemberID {
	var list []MemberID
	for i, root := range b.Of {
		if root == body && b.Train.Members[i].Kind != JointHub {
			list = append(list, MemberID(i))
		}
	}
	return list
}

// Name returns what a body is called: by the member that leads it.
func (b *Bodies) Name(body MemberID) string { return b.Train.Members[b.Lead(body)].Name }

// Lead returns the member that stands for a body: the housing, the input or output of the
// train, its first shaft, or its first member.
func (b *Bodies) Lead(body MemberID) MemberID {
	t := b.Train
	members := b.Members(body)
	for _, id := range []MemberID{Housing, t.Input, t.Output} {
		if slices.Contains(members, id) {
			return id
		}
	}
	for _, id := range members {
		if t.Members[id].Kind == ShaftMember {
			return id
		}
	}
	return members[0]
}
