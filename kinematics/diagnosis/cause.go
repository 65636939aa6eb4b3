package diagnosis

import (
	"slices"
	"strings"

	"tieup/kinematics"
)

// A Cause is what to look for under the state of an element: the train cannot
// tell one from another.
type Cause struct {
	Mechanical string `json:"mechanical"` // "" if there is none
	Hydraulic  string `json:"hydraulic"`
	Electrical string `json:"electrical"`
	Sign       string `json:"sign"` // what speaks for it, "" if nothing does
}

// The causes are those that workshops look for: common practice, no source,
// except where a line says more.
var (
	causeStuck = Cause{
		Mechanical: "plates welded or warped, clearance too tight",
		Hydraulic:  "bleed or check ball blocked, so that trapped oil keeps it on with speed",
		Sign:       "with trapped oil it binds after a hard reverse, and drives when raced in neutral",
	}
	causeStuckBrake = Cause{Mechanical: "plates welded or warped, clearance too tight, return spring broken",
		Hydraulic: "piston not exhausted"}
	causeStuckBand = Cause{Mechanical: "band not backed off, servo or linkage jammed", Hydraulic: "servo not exhausted"}
	causeStuckDog  = Cause{Mechanical: "key, sleeve or fork jammed"}
	causeOpen      = Cause{Mechanical: "piston or drum cracked, snap ring out, plates burnt away, " +
		"splines of hub or drum stripped", Hydraulic: "seal cut, check ball leaking"}
	causeOpenBand = Cause{Mechanical: "band, anchor, strut or servo broken, adjustment lost",
		Hydraulic: "servo seal cut"}
	causeOpenDog = Cause{Mechanical: "key, spring, sleeve or fork broken or out of adjustment"}
	causeWeak    = Cause{Mechanical: "worn lining", Hydraulic: "low pressure, or a leak that opens hot",
		Sign: "light throttle holds, the range with the highest torque goes first"}
	causeWeakBand = Cause{Mechanical: "worn lining, band out of adjustment", Hydraulic: "low pressure, " +
		"or a servo leak that opens hot", Sign: "light throttle holds, the range with the highest torque goes first"}
	causeDrags = Cause{Mechanical: "plates warped, clearance too tight",
		Hydraulic: "oil not let out, bleed or check ball blocked", Sign: "creeps when cold, overheats"}
	causeLocalOn = Cause{Mechanical: "lever or linkage off a detent", Hydraulic: "cross leak, stuck valve",
		Electrical: "solenoid or wrong command", Sign: "goes when pressure drops"}
	causeLocalOff = Cause{Mechanical: "lever or linkage off a detent",
		Hydraulic: "valve stuck, feed of that range leaking", Electrical: "solenoid or wrong command"}
	causeAlwaysFed = Cause{Hydraulic: "valve stuck, cross leak, not exhausted",
		Electrical: "solenoid, its wiring or command", Sign: "goes when pressure drops"}
	causeNeverFed = Cause{Hydraulic: "feed plugged, valve stuck, sealing rings or feed leaking",
		Electrical: "solenoid, its wiring or command"}
	causeSlips    = Cause{Mechanical: "race spun, rollers or sprags worn, springs or cage broken"}
	causeSeized   = Cause{Mechanical: "jammed: rollers wedged, race broken"}
	causeBackward = Cause{Mechanical: "fitted the wrong way round", Sign: "since a rebuild"}
	causeSheared  = Cause{Mechanical: "splines, shell, drum or shaft broken or not seated",
		Sign: "sudden, clean pan, the elements test good"}
	causePawl     = Cause{Mechanical: "pawl, spring or rod broken, linkage out of adjustment"}
	causePressure = Cause{Mechanical: "fluid low, filter blocked, pump worn",
		Hydraulic: "regulator valve stuck, large leak", Electrical: "pressure control, its wiring or command"}
	causeNoPressure = Cause{Mechanical: "fluid far too low, pump or its drive broken, filter or pickup blocked",
		Hydraulic: "regulator valve stuck open, main feed open", Electrical: "pressure control, its wiring or command",
		Sign: "the fluid's level and state and the line pressure at idle tell first"}
	causeHighPressure = Cause{Mechanical: "throttle-valve cable or vacuum line out of adjustment or off",
		Hydraulic: "regulator or throttle valve stuck", Electrical: "pressure control, its wiring or command",
		Sign: "every engagement and every shift is harsh"}
	causeRaced = Cause{Mechanical: "clearance too tight", Hydraulic: "bleed or check ball blocked, " +
		"so that trapped oil keeps it on with the square of speed", Sign: "goes as the engine slows down"}
	causeLever   = Cause{Mechanical: "lever, cable or linkage out of adjustment or broken"}
	causeCommand = Cause{Hydraulic: "shift valve or governor stuck",
		Electrical: "solenoid, speed sensor, selector switch, or the control in its emergency mode"}
	causeTimingLate = Cause{Mechanical: "clearance too large, lining worn",
		Hydraulic: "slow feed, accumulator or orifice, release too quick", Electrical: "pressure control"}
	causeTimingOver = Cause{Mechanical: "clearance too tight", Hydraulic: "release too slow, accumulator or orifice",
		Electrical: "pressure control"}
)

// causeElsewhere is what to look for where nothing is wrong in the train.
func causeElsewhere(t *kinematics.Train) Cause {
	where := usedIn(t).elsewhere
	if t.Drive == kinematics.Converter && where == uses[kinematics.InVehicle].elsewhere {
		where = "engine, converter, driveline or brakes"
	}
	return Cause{Mechanical: where, Sign: "or what was seen is not so"}
}

// Causes returns what to look for under a hypothesis: one cause for each of its
// faults, or one.
func (h *Hypothesis) Causes(t *kinematics.Train) []Cause {
	switch h.Kind {
	case Healthy:
		return []Cause{causeElsewhere(t)}
	case Pressure:
		if h.noPressure() {
			return []Cause{causeNoPressure}
		}
		return []Cause{causePressure}
	case HighPressure:
		return []Cause{causeHighPressure}
	case Controlled:
		return h.controlCauses(t)
	case WrongWay:
		if h.Lever != 0 {
			return []Cause{causeLever}
		}
		return []Cause{causeCommand}
	case Torn:
		return []Cause{causeSheared}
	case Timing:
		if h.Late {
			return []Cause{causeTimingLate}
		}
		return []Cause{causeTimingOver}
	}
	if h.Raced {
		return []Cause{causeRaced}
	}
	list := make([]Cause, len(h.Faults))
	for i, f := range h.Faults {
		switch {
		case everywhere(t, f) && f.Kind == kinematics.Stuck:
			list[i] = causeAlwaysFed
		case everywhere(t, f):
			list[i] = causeNeverFed
		default:
			list[i] = causeOf(t.Couplings[f.Coupling].Kind, f)
		}
	}
	return list
}

func causeOf(k kinematics.CouplingKind, f kinematics.Fault) Cause {
	band := k == kinematics.Band
	switch f.Kind {
	case kinematics.Stuck:
		switch {
		case local(f):
			return causeLocalOn
		case band:
			return causeStuckBand
		case k == kinematics.Dog:
			return causeStuckDog
		}
		if k == kinematics.Brake {
			return causeStuckBrake
		}
		return causeStuck
	case kinematics.OpenF:
		switch {
		case local(f):
			return causeLocalOff
		case band:
			return causeOpenBand
		case k == kinematics.Dog:
			return causeOpenDog
		}
		return causeOpen
	case kinematics.Weak:
		if band {
			return causeWeakBand
		}
		return causeWeak
	case kinematics.Dragging:
		return causeDrags
	case kinematics.Slips:
		if local(f) {
			return causeLocalOff
		}
		return causeSlips
	case kinematics.Seized:
		return causeSeized
	case kinematics.Backward:
		return causeBackward
	case kinematics.Sheared:
		return causeSheared
	}
	return causePawl
}

// Merged folds causes into one: what is mechanical together, what is hydraulic, and so on.
func Merged(causes []Cause) Cause {
	fold := func(of func(Cause) string) string {
		var texts []string
		for _, c := range causes {
			if text := of(c); text != "" && !slices.Contains(texts, text) {
				texts = append(texts, text)
			}
		}
		return strings.Join(texts, "; ")
	}
	return Cause{
		Mechanical: fold(func(c Cause) string { return c.Mechanical }),
		Hydraulic:  fold(func(c Cause) string { return c.Hydraulic }),
		Electrical: fold(func(c Cause) string { return c.Electrical }), Sign: fold(func(c Cause) string { return c.Sign }),
	}
}

// Lines says what to look for: "mechanical: plates welded or warped".
func (c Cause) Lines() []string {
	var lines []string
	for _, x := range [][2]string{
		{"mechanical", c.Mechanical}, {"hydraulic", c.Hydraulic}, {"electrical", c.Electrical}, {"sign", c.Sign},
	} {
		if x[1] != "" {
			lines = append(lines, x[0]+": "+x[1])
		}
	}
	return lines
}
