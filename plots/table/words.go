package table

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Element says in words what an element does: what it grounds or joins, and
// which way a one-way clutch holds.
func Element(t *kinematics.Train, c *kinematics.Coupling) string {
	a, b := t.Members[c.A].Name, t.Members[c.B].Name
	if c.Kind == kinematics.OneWay {
		words := "one-way clutch: "
		switch {
		case c.B == kinematics.Housing:
			words += a + " may turn forward, is held against turning backward"
		case c.A == kinematics.Housing:
			words += b + " may turn backward, is held against turning forward"
		default:
			words += a + " may turn forward faster than " + b + ", never slower"
		}
		if c.Switched {
			words += "; acts only in the ranges that apply it"
		}
		return words
	}
	kind := c.Kind.String()
	if c.Kind == kinematics.Pawl {
		kind = "parking pawl"
	}
	switch {
	case c.B == kinematics.Housing:
		return kind + ", holds " + a
	case c.A == kinematics.Housing:
		return kind + ", holds " + b
	}
	return kind + ", joins " + a + " and " + b
}

// names returns the names of elements, "nothing" for none.
func names(t *kinematics.Train, elements []int) string {
	if len(elements) == 0 {
		return "nothing"
	}
	return list(elementNames(t, elements))
}

func elementNames(t *kinematics.Train, elements []int) []string {
	ns := make([]string, len(elements))
	for i, e := range elements {
		ns[i] = t.Couplings[e].Name
	}
	return ns
}

func memberNames(t *kinematics.Train, members []kinematics.MemberID) []string {
	ns := make([]string, len(members))
	for i, m := range members {
		ns[i] = t.Members[m].Name
	}
	return ns
}

func list(words []string) string { return strings.Join(words, ", ") }

// turnAsOne returns the sets of two and more members that turn as one.
func turnAsOne(t *kinematics.Train, groups []int) [][]string {
	var sets [][]string
	at := map[int]int{}
	for i, g := range groups {
		if g < 0 {
			continue
		}
		k, ok := at[g]
		if !ok {
			k = len(sets)
			at[g] = k
			sets = append(sets, nil)
		}
		sets[k] = append(sets[k], t.Members[i].Name)
	}
	var several [][]string
	for _, s := range sets {
		if len(s) > 1 {
			several = append(several, s)
		}
	}
	return several
}

// leader returns the first member of the group of member i.
func leader(groups []int, i int) int {
	for j, g := range groups {
		if g == groups[i] {
			return j
		}
	}
	return i
}

// free names what a state leaves free, one member for those that turn as one;
// pinions follow from their gears and are left out.
func free(t *kinematics.Train, m *solve.Motion) []string {
	var ns []string
	for i, w := range m.Members {
		if m.Groups[i] < 0 || w.Empty || !w.Free() || leader(m.Groups, i) != i || t.Members[i].Kind == kinematics.PinionMember {
			continue
		}
		ns = append(ns, t.Members[i].Name)
	}
	return ns
}

// A spin is how fast a pinion turns on its carrier.
type spin struct {
	known bool
	free  bool
	speed exact.Frac
	// across says that the pinion's axis lies across the others, so that its
	// spin has no sense.
	across bool
}

// spinOf returns the spin of pinion p of gearset g. groups may be nil.
func spinOf(t *kinematics.Train, g *kinematics.Gearset, p *kinematics.Pinion, members []solve.Speed, groups []int) spin {
	if g.Kind == kinematics.Bevel {
		left := g.Gear("left")
		if p.Teeth == 0 {
			return spin{across: true}
		}
		s := against(members, groups, left.Member, g.Carrier)
		s.across = true
		if s.known && !s.free {
			s.speed = s.speed.Mul(exact.NewFrac(left.Teeth, p.Teeth))
			if s.speed.Sign() < 0 {
				s.speed = s.speed.Neg()
			}
		}
		return s
	}
	if members[p.Member].Empty {
		return spin{}
	}
	return against(members, groups, p.Member, g.Carrier)
}

// against returns the speed of member a seen from member b.
func against(members []solve.Speed, groups []int, a, b kinematics.MemberID) spin {
	if groups != nil && groups[a] >= 0 && groups[a] == groups[b] {
		return spin{known: true, speed: exact.NewFrac(0, 1)}
	}
	wa, fixedA := members[a].Point()
	wb, fixedB := members[b].Point()
	if !fixedA || !fixedB {
		return spin{known: true, free: true}
	}
	return spin{known: true, speed: wa.Sub(wb)}
}

// torqueRemark says how far speeds tell what a fault does that acts through torque.
const torqueRemark = "Torque decides here: speeds are those with weak elements holding and dragging ones free; see tieup breakaway."

// byTorque says whether one of the faults acts through torque where elements are
// applied, in a range or ("") in none.
func byTorque(name string, apply []int, faults []kinematics.Fault) bool {
	r := kinematics.Range{Name: name, Apply: apply}
	return slices.ContainsFunc(faults, func(f kinematics.Fault) bool { return reading.ActsByTorque(&r, f) })
}
