package diagnosis

import (
	"slices"
	"strings"
	"sync"

	"tieup/kinematics"
)

// A Cause is what to look for under the state of an element: the train cannot
// tell one from another.
type Cause struct {
	Mechanical Items `json:"mechanical"` // "" if there is none
	Hydraulic  Items `json:"hydraulic"`
	Electrical Items `json:"electrical"`
	Sign       Items `json:"sign"` // what speaks for it, "" if nothing does
}

// Items are single things to look for.
type Items []string

// String lists the items: "plates welded; plates warped".
func (x Items) String() string { return strings.Join(x, "; ") }

// MarshalText writes the items as their text.
func (x Items) MarshalText() ([]byte, error) { return []byte(x.String()), nil }

// The causes are those that workshops look for: common practice, no source,
// except where a line says more. What is one thing is worded in one way, so that it
// is named once where causes are merged.
var (
	wornSigns  = Items{"light throttle holds", "the range with the highest torque goes first"}
	causeStuck = Cause{
		Mechanical: Items{"plates welded", "plates warped", "clearance too tight"},
		Hydraulic:  Items{"bleed or check ball blocked"},
		Sign:       Items{"with trapped oil it binds after a hard reverse, and drives when raced in neutral"},
	}
	causeStuckBrake = Cause{
		Mechanical: Items{"plates welded", "plates warped", "clearance too tight", "return spring broken"},
		Hydraulic:  Items{"not exhausted"},
	}
	causeStuckBand = Cause{Mechanical: Items{"band not backed off", "servo or linkage jammed"},
		Hydraulic: Items{"not exhausted"}}
	causeStuckDog = Cause{Mechanical: Items{"key, sleeve or fork jammed"}}
	causeOpen     = Cause{
		Mechanical: Items{"piston or drum cracked", "snap ring out", "plates burnt away",
			"splines of hub or drum stripped"},
		Hydraulic: Items{"seal cut", "check ball leaking"},
	}
	causeOpenBand = Cause{
		Mechanical: Items{"band, anchor, strut or servo broken", "band out of adjustment"},
		Hydraulic:  Items{"servo seal cut"},
	}
	causeOpenDog = Cause{Mechanical: Items{"key, spring, sleeve or fork broken or out of adjustment"}}
	causeWeak    = Cause{Mechanical: Items{"lining worn"}, Hydraulic: Items{"low pressure", "a leak that opens hot"},
		Sign: wornSigns}
	causeWeakBand = Cause{Mechanical: Items{"lining worn", "band out of adjustment"},
		Hydraulic: Items{"low pressure", "a servo leak that opens hot"}, Sign: wornSigns}
	causeDrags = Cause{Mechanical: Items{"plates warped", "clearance too tight"},
		Hydraulic: Items{"not exhausted", "bleed or check ball blocked"}, Sign: Items{"creeps when cold", "overheats"}}
	causeLocalOn = Cause{Mechanical: Items{"lever or linkage off a detent"},
		Hydraulic: Items{"valve stuck", "cross leak"}, Electrical: Items{"solenoid, its wiring or command"},
		Sign: Items{"goes when pressure drops"}}
	causeLocalOff = Cause{Mechanical: Items{"lever or linkage off a detent"},
		Hydraulic: Items{"valve stuck", "feed of that range leaking"}, Electrical: Items{"solenoid, its wiring or command"}}
	causeAlwaysFed = Cause{Hydraulic: Items{"valve stuck", "cross leak", "not exhausted"},
		Electrical: Items{"solenoid, its wiring or command"}, Sign: Items{"goes when pressure drops"}}
	causeNeverFed = Cause{Hydraulic: Items{"feed plugged", "valve stuck", "sealing rings or feed leaking"},
		Electrical: Items{"solenoid, its wiring or command"}}
	causeSlips    = Cause{Mechanical: Items{"race spun", "rollers or sprags worn", "springs or cage broken"}}
	causeSeized   = Cause{Mechanical: Items{"rollers or sprags wedged", "race broken"}}
	causeBackward = Cause{Mechanical: Items{"fitted the wrong way round"}, Sign: Items{"since a rebuild"}}
	causeSheared  = Cause{Mechanical: Items{"splines, shell, drum or shaft broken or not seated"},
		Sign: Items{"sudden", "clean pan", "the elements test good"}}
	causePawl     = Cause{Mechanical: Items{"pawl, spring or rod broken", "linkage out of adjustment"}}
	causePressure = Cause{Mechanical: Items{"fluid low", "filter or pickup blocked", "pump worn"},
		Hydraulic: Items{"regulator valve stuck", "large leak"}, Electrical: pressureControl}
	causeNoPressure = Cause{Mechanical: Items{"fluid low", "filter or pickup blocked", "pump or its drive broken"},
		Hydraulic: Items{"regulator valve stuck", "main feed open"}, Electrical: pressureControl,
		Sign: Items{"the fluid's level and state and the line pressure at idle tell first"}}
	causeHighPressure = Cause{Mechanical: Items{"throttle-valve cable or vacuum line out of adjustment or off"},
		Hydraulic: Items{"regulator or throttle valve stuck"}, Electrical: pressureControl,
		Sign: Items{"every engagement and every shift is harsh"}}
	causeRaced = Cause{Mechanical: Items{"clearance too tight"}, Hydraulic: Items{"bleed or check ball blocked"},
		Sign: Items{"trapped oil holds it on with the square of speed, and lets go as the engine slows down"}}
	causeLever   = Cause{Mechanical: Items{"lever, cable or linkage out of adjustment or broken"}}
	causeCommand = Cause{Hydraulic: Items{"shift valve or governor stuck"},
		Electrical: Items{"solenoid, its wiring or command", "speed sensor", "selector switch",
			"the control in its emergency mode"}}
	causeTimingLate = Cause{Mechanical: Items{"clearance too large", "lining worn"},
		Hydraulic: Items{"slow feed", "accumulator or orifice", "release too quick"}, Electrical: pressureControl}
	causeTimingOver = Cause{Mechanical: Items{"clearance too tight"},
		Hydraulic: Items{"release too slow", "accumulator or orifice"}, Electrical: pressureControl}
	pressureControl = Items{"pressure control, its wiring or command"}
)

// causeElsewhere is what to look for where nothing is wrong in the train.
func causeElsewhere(t *kinematics.Train) Cause {
	where := usedIn(t).elsewhere
	if t.Drive == kinematics.Converter && where == uses[kinematics.InVehicle].elsewhere {
		where = "engine, converter, driveline or brakes"
	}
	return Cause{Mechanical: Items{where}, Sign: Items{"or what was seen is not so"}}
}

// Causes returns what to look for under a hypothesis: one cause for each of its
// faults, or one.
func (h *Hypothesis) Causes(t *kinematics.Train) []Cause {
	switch {
	case h.Kind == Healthy:
		return []Cause{causeElsewhere(t)}
	case h.noPressure():
		return []Cause{causeNoPressure}
	case h.Kind == Pressure:
		return []Cause{causePressure}
	case h.Kind == HighPressure:
		return []Cause{causeHighPressure}
	case h.Kind == Controlled:
		return h.controlCauses(t)
	case h.Lever != 0:
		return []Cause{causeLever}
	case h.Kind == WrongWay:
		return []Cause{causeCommand}
	case h.Kind == Torn:
		return []Cause{causeSheared}
	case h.Kind == Timing && h.Late:
		return []Cause{causeTimingLate}
	case h.Kind == Timing:
		return []Cause{causeTimingOver}
	case h.Raced:
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
	band, dog := k == kinematics.Band, k == kinematics.Dog
	switch {
	case f.Kind == kinematics.Stuck && local(f):
		return causeLocalOn
	case f.Kind == kinematics.Stuck && band:
		return causeStuckBand
	case f.Kind == kinematics.Stuck && dog:
		return causeStuckDog
	case f.Kind == kinematics.Stuck && k == kinematics.Brake:
		return causeStuckBrake
	case (f.Kind == kinematics.OpenF || f.Kind == kinematics.Slips) && local(f):
		return causeLocalOff
	case f.Kind == kinematics.OpenF && band:
		return causeOpenBand
	case f.Kind == kinematics.OpenF && dog:
		return causeOpenDog
	case f.Kind == kinematics.Weak && band:
		return causeWeakBand
	}
	if c, ok := causesOf()[f.Kind]; ok {
		return c
	}
	panic("no cause for " + string(f.Kind))
}

// causesOf are the causes of kinds of fault, whatever has them.
var causesOf = sync.OnceValue(func() map[kinematics.FaultKind]Cause {
	return map[kinematics.FaultKind]Cause{
		kinematics.Stuck: causeStuck, kinematics.OpenF: causeOpen, kinematics.Weak: causeWeak,
		kinematics.Dragging: causeDrags, kinematics.Slips: causeSlips, kinematics.Seized: causeSeized,
		kinematics.Backward: causeBackward, kinematics.Sheared: causeSheared, kinematics.Missing: causePawl,
	}
})

// Merged folds causes into one, each item once: what is mechanical together, what is hydraulic,
// and so on.
func Merged(causes []Cause) Cause {
	var all Cause
	for _, c := range causes {
		all.Mechanical = kinematics.Union(all.Mechanical, c.Mechanical...)
		all.Hydraulic = kinematics.Union(all.Hydraulic, c.Hydraulic...)
		all.Electrical = kinematics.Union(all.Electrical, c.Electrical...)
		all.Sign = kinematics.Union(all.Sign, c.Sign...)
	}
	return all
}

// same says whether two causes are looked for by the same items.
func (c Cause) same(d Cause) bool {
	return slices.Equal(c.Mechanical, d.Mechanical) && slices.Equal(c.Hydraulic, d.Hydraulic) &&
		slices.Equal(c.Electrical, d.Electrical) && slices.Equal(c.Sign, d.Sign)
}

// Lines says what to look for: "mechanical: plates welded; plates warped".
func (c Cause) Lines() []string {
	names := []string{"mechanical: ", "hydraulic: ", "electrical: ", "sign: "}
	var lines []string
	for i, x := range []Items{c.Mechanical, c.Hydraulic, c.Electrical, c.Sign} {
		if x != nil {
			lines = append(lines, names[i]+x.String())
		}
	}
	return lines
}
