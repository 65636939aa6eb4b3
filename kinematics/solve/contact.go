package solve

import (
	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A contact is two gears in engagement: a mesh, or one of the meshes that a
// [kinematics.Mesh] with Path stands for. Pinions whose teeth are not known are
// given one tooth, unless they have steps: no torque on a central gear or carrier depends on their
// number, and none of their own is reported.
type contact struct {
	gearset       int
	a, b, carrier kinematics.MemberID
	za, zb        int64 // zb has the sign of the mesh: + external
	kind          kinematics.MeshKind
	// central says that a is a central gear and b a pinion; false between two
	// pinions and for a pair.
	central bool
	given   bool // the teeth of b are known, and its torque is about the common axis
}

// contacts returns the contacts of a train, gearset by gearset.
func contacts(t *kinematics.Train) []contact {
	var list []contact
	for g := range t.Gearsets {
		set := &t.Gearsets[g]
		if set.Planetary() && t.Members[set.Pinions[0].Member].Unknown {
			list = append(list, pretended(g, set)...)
			continue
		}
		for _, i := range set.Meshes {
			m := &t.Meshes[i]
			list = append(list, contact{
				gearset: g, a: m.A, b: m.B, carrier: m.Carrier, za: m.ZA, zb: m.Kind.Sign() * m.ZB, kind: m.Kind,
				central: t.Members[m.A].Kind != kinematics.PinionMember && t.Members[m.B].Kind == kinematics.PinionMember,
				given:   true,
			})
		}
	}
	return list
}

// pretended returns the contacts of a set whose pinions have no known teeth, or
// whose pinion only spins: each central gear on its pinion of one tooth, and
// between the pinions where there are two.
func pretended(g int, set *kinematics.Gearset) []contact {
	var list []contact
	for _, gear := range set.Gears {
		c := contact{
			gearset: g, a: gear.Member, b: set.Pinions[gear.Pinion].Member, carrier: set.Carrier,
			za: gear.Teeth, zb: 1, kind: kinematics.External, central: true,
		}
		if gear.Internal {
			c.zb, c.kind = -1, kinematics.Internal
		}
		if set.Steps() {
			c.zb *= gear.PinionTeeth
		}
		if gear.Far {
			c.zb = -c.zb
		}
		list = append(list, c)
	}
	if len(set.Pinions) == 2 {
		list = append(list, contact{
			gearset: g, a: set.Pinions[0].Member, b: set.Pinions[1].Member, carrier: set.Carrier,
			za: 1, zb: 1, kind: kinematics.External,
		})
	}
	return list
}

// A roll is how a contact rolls: the speeds of its gears seen from the carrier.
type roll struct {
	known bool // false where the motion leaves it open
	a, b  exact.Frac
}

// rolls returns the rolling of every contact at the operating point of m.
func rolls(list []contact, m *Motion) []roll {
	zero := exact.NewFrac(0, 1)
	pinion := map[kinematics.MemberID]roll{} // in a
	r := make([]roll, len(list))
	for i, c := range list {
		var wa exact.Frac
		ok := true
		if w, seen := pinion[c.a]; seen {
			wa, ok = w.a, w.known
		} else {
			wa, ok = m.seen(c.a, c.carrier)
		}
		if !ok {
			continue
		}
		r[i] = roll{true, wa, zero}
		if wa.Sign() != 0 {
			r[i].b = wa.Mul(exact.NewFrac(-c.za, c.zb))
		}
		if c.central {
			pinion[c.b] = roll{known: true, a: r[i].b}
		}
	}
	return r
}

// seen returns the speed of a as seen from b, and whether the motion fixes it.
func (m *Motion) seen(a, b kinematics.MemberID) (exact.Frac, bool) {
	if m.Groups[a] >= 0 && m.Groups[a] == m.Groups[b] {
		return exact.NewFrac(0, 1), true
	}
	wa, oneA := m.Members[a].Point()
	wb, oneB := m.Members[b].Point()
	if !oneA || !oneB {
		return exact.Frac{}, false
	}
	return wa.Sub(wb), true
}
