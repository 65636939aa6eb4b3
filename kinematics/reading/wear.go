package reading

import (
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/wear"
)

// WearMotion says in which motion a part wears: "R, throttle open, wheels free".
func WearMotion(r *kinematics.Range, k wear.Kind) string {
	return r.Name + map[wear.Kind]string{
		wear.Pulling: ", throttle open, wheels free", wear.Loading: ", pulling hard",
		wear.Stalling:        ", throttle open, wheels held",
		wear.RollingForward:  ", rolling forward, throttle closed",
		wear.RollingBackward: ", rolling backward, throttle closed",
	}[k]
}

// WearShift says in which shift: "the shift D3-D2".
func WearShift(from, to *kinematics.Range) string { return "the shift " + from.Name + "-" + to.Name }

// WearShifts is all shifts.
const WearShifts = "the shifts"

// WearPart names what wears: an element, or a member in its joint.
func WearPart(t *kinematics.Train, coupling int) string {
	c := &t.Couplings[coupling]
	if c.Kind == kinematics.Spline {
		return t.Members[c.A].Name + " in " + t.Joints[c.Joint].Name
	}
	return c.Name
}

// MistimedAssumption says how a shift is played of which nothing but its timing is wrong.
func MistimedAssumption(ramp kinematics.Ramp) string {
	return fmt.Sprintf("a mistimed shift: what lets go, or takes hold, does so from %g to %g s after the command",
		ramp.Start, ramp.End)
}

// WearAssumptions says for what heat is ranked, and what is taken to be so.
func WearAssumptions(t *kinematics.Train, rpm, seconds float64, torque exact.Frac, shifts bool) []string {
	assumed := map[bool]string{true: "", false: ", as the train file gives no rated torque"}[t.RatedTorque > 0]
	list := []string{
		fmt.Sprintf("each motion: the end that is moved turns with %g rpm for %g s; with more or less of it the order "+
			"can be "+
			"another one", rpm, seconds),
		fmt.Sprintf("%.0f N m at the input%s", torque.Float(), assumed),
	}
	if shifts {
		list = append(list, "each shift once, from the speed and with the torque that transient assumes")
	}
	return append(list, "order only: what gets how hot depends on oil, mass and lining, of which nothing is known")
}

// ByHeatAlone says that no road test speaks beside what was found.
const ByHeatAlone = "nothing was seen on the road: this rests on heat alone, and a road test can turn it round"

// FoundCause tells of a part that was found in some state whether that is the cause, by
// the suspect that accounts for most, or its effect, or neither: itself says that the
// suspect is the fault of the part, heated in which motion it heats the part, road that
// a fault of the part alone accounts for something seen on the road.
func FoundCause(part, found, suspect string, itself bool, heated string, road bool) string {
	text := part + " " + found + ": "
	switch {
	case itself:
		return text + "the fault itself"
	case heated != "":
		return text + "an effect of " + suspect + ", which gives it heat in " + heated + ": mend that, or it burns again"
	case road:
		return text + suspect + " does not account for it, but a fault of its own accounts for something seen on the " +
			"road: a second fault"
	}
	return text + "accounts for nothing seen on the road, and " + suspect +
		" does not give it heat: an effect of something else, or a " +
		"second fault; inspect"
}
