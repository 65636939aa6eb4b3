package analysis

import (
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Spin is how fast a pinion turns on its carrier.
type Spin struct {
	Known bool // its teeth are given, or nothing turns on its carrier
	Free  bool // the state leaves it open
	Speed exact.Frac
	// Across says that the pinion's axis lies across the others, so that its
	// spin has no sense.
	Across bool
}

// settled is the spin for JSON.
func (s Spin) settled(per exact.Frac) Settled {
	if s.Free {
		return Settled{Free: true}
	}
	return Settled{Frac: s.Speed.Mul(per)}
}

// pinionOf returns the pinion that a member is, and its gearset, or nil.
func pinionOf(t *kinematics.Train, id kinematics.MemberID) (*kinematics.Gearset, *kinematics.Pinion) {
	if t.Members[id].Kind != kinematics.PinionMember {
		return nil, nil
	}
	g := &t.Gearsets[t.Members[id].Gearset]
	for i := range g.Pinions {
		if g.Pinions[i].Member == id {
			return g, &g.Pinions[i]
		}
	}
	return nil, nil
}

// spinOf returns the spin of pinion p of gearset g. groups, the members that turn
// as one, may be nil.
func spinOf(g *kinematics.Gearset, p *kinematics.Pinion, members []solve.Speed,
	groups []int) Spin {
	if !g.Across() {
		if members[p.Member].Empty {
			return Spin{}
		}
		return against(members, groups, p.Member, g.Carrier)
	}
	gear := g.Gears[0]
	if gear.PinionTeeth == 0 {
		return Spin{Across: true}
	}
	s := against(members, groups, gear.Member, g.Carrier)
	s.Across = true
	if !s.Free {
		s.Speed = s.Speed.Mul(exact.NewFrac(gear.Teeth, gear.PinionTeeth)).Abs()
	}
	return s
}

// against returns the speed of member a seen from member b.
func against(members []solve.Speed, groups []int, a, b kinematics.MemberID) Spin {
	if groups != nil && groups[a] >= 0 && groups[a] == groups[b] {
		return Spin{Known: true, Speed: exact.Int(0)}
	}
	wa, fixedA := members[a].Point()
	wb, fixedB := members[b].Point()
	if !fixedA || !fixedB {
		return Spin{Known: true, Free: true}
	}
	return Spin{Known: true, Speed: wa.Sub(wb)}
}
