package plots

import (
	"cmp"
	"image/color"
	"slices"

	"tieup/kinematics"
)

// linedBodies are the bodies of a train that have lines in its pictures, each by its lowest
// member: those with a member that is no pinion, without the housing.
func linedBodies(b *kinematics.Bodies) []kinematics.MemberID {
	var list []kinematics.MemberID
	for i, m := range b.Train.Members {
		body := b.Of[i]
		if m.Kind != kinematics.PinionMember && m.Kind != kinematics.JointHub && body != b.Of[kinematics.Housing] &&
			!slices.Contains(list, body) {
			list = append(list, body)
		}
	}
	return list
}

// hues give out the colours of bodies, one a body in every picture, counted from 0: to the
// input, the output, then by number of members, and last to those on no gearset.
func hues(b *kinematics.Bodies, input, output kinematics.MemberID) map[kinematics.MemberID]int {
	rank := func(body kinematics.MemberID) int {
		members := b.Members(body)
		geared := func(m kinematics.MemberID) bool { return b.Train.Members[m].Gearset >= 0 }
		switch {
		case body == b.Of[input]:
			return -2000
		case body == b.Of[output]:
			return -1000
		case !slices.ContainsFunc(members, geared):
			return 1
		}
		return -len(members)
	}
	list := linedBodies(b)
	slices.SortStableFunc(list, func(x, y kinematics.MemberID) int { return cmp.Compare(rank(x), rank(y)) })
	hue := map[kinematics.MemberID]int{}
	for n, body := range list {
		hue[body] = n
	}
	return hue
}

// hue is the colour of a body, ink for the housing and for pinions.
func (t *theme) hue(hues map[kinematics.MemberID]int, body kinematics.MemberID) color.Color {
	if n, ok := hues[body]; ok {
		return t.bodies[n%len(t.bodies)]
	}
	return t.ink
}
