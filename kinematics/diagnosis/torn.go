package diagnosis

import (
	"slices"

	"tieup/kinematics"
)

// torn lists the gears that two or more elements name directly, and that can be torn off the
// shell or hub on which those sit: the gear then turns free of them all. Where no range
// holds two of them at once, that is as if none of them held. A gear that one element names
// alone needs no suspect of its own: it does what that element does that never holds, whose
// causes name its splines.
func torn(t *kinematics.Train) []Hypothesis {
	var list []Hypothesis
	for _, set := range t.Gearsets {
		for _, gear := range set.Gears {
			if on, ok := attached(t, gear.Member); ok {
				h := Hypothesis{Kind: Torn, Gear: gear.Member, Class: Joint}
				for _, e := range on {
					h.Faults = append(h.Faults, kinematics.Fault{Coupling: e, Kind: kinematics.OpenF})
				}
				list = append(list, h)
			}
		}
	}
	return list
}

// attached lists the elements that name a gear directly; ok says that there are two or
// more, that nothing else sits on the gear, and that no range holds two of them.
func attached(t *kinematics.Train, gear kinematics.MemberID) (on []int, ok bool) {
	for i, c := range t.Couplings {
		switch {
		case c.A != gear && c.B != gear:
		case c.Kind == kinematics.Spline, c.Kind == kinematics.OneWay, c.Kind == kinematics.Pawl:
			return nil, false
		default:
			on = append(on, i)
		}
	}
	if len(on) < 2 || gear == t.Input || gear == t.Output {
		return nil, false
	}
	for r := range t.Ranges {
		n := 0
		for _, e := range on {
			if slices.Contains(t.Ranges[r].Apply, e) {
				n++
			}
		}
		if n > 1 {
			return nil, false
		}
	}
	return on, true
}

// holders names the elements that a torn gear turns free of.
func (h *Hypothesis) holders(t *kinematics.Train) []string {
	var list []int
	for _, f := range h.Faults {
		list = append(list, f.Coupling)
	}
	return t.CouplingNames(list)
}

// holding counts the elements of a torn gear among those that are applied.
func (h *Hypothesis) holding(apply []int) int {
	n := 0
	for _, f := range h.Faults {
		if slices.Contains(apply, f.Coupling) {
			n++
		}
	}
	return n
}
