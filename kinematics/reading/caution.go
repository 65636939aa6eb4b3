package reading

import (
	"cmp"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Hazard is what a train can do to people, or what work on it can.
type Hazard uint8

// The hazards.
const (
	// Moves: the output is driven where it should rest.
	Moves Hazard = iota
	// WrongWay: the output is driven against the sense in which it should be.
	WrongWay
	// Locks: the output, or one end of the train, is held where it should turn.
	Locks
	// Rolls: the output is not held where it should be.
	Rolls
	// LoadFalls: what should hold a load, or drive it, lets it go.
	LoadFalls
	// LetsGo: the train is bound, and torque makes it give way at once.
	LetsGo
	// Jumps: a part that is turned or taken apart by hand jumps.
	Jumps
	// HotFluid: fluid under pressure comes out.
	HotFluid
	// Air: compressed air throws fluid and parts.
	Air
	// Piston: a piston to which air is put jumps.
	Piston
	hazards = int(Piston) + 1
)

// Hazards lists all hazards.
func AllHazards() []Hazard {
	list := make([]Hazard, hazards)
	for i := range list {
		list[i] = Hazard(i)
	}
	return list
}

// String names the hazard as the table of set-ups does.
func (h Hazard) String() string {
	return [hazards]string{"moves", "moves the wrong way", "locks at speed", "rolls away", "load falls",
		"a bind lets go", "a part jumps", "hot fluid", "air", "a piston jumps"}[h]
}

// MarshalText writes the name.
func (h Hazard) MarshalText() ([]byte, error) { return []byte(h.String()), nil }

// A warning says what can happen, and what to do about it.
type warning struct{ can, so string }

func (w warning) String() string {
	switch {
	case w.can == "":
		return ""
	case w.so == "":
		return w.can + "."
	}
	return w.can + ": " + w.so
}

// cautions are what is said of each hazard, by what the train is built into; nothing is
// said of what cannot be there. Common practice, no source.
var cautions = map[kinematics.Use][hazards]warning{
	kinematics.InVehicle: {
		Moves: {"The vehicle can move when it should not, or the wrong way",
			"wheels chocked, parking and service brake on, nobody in front or behind; treat every position as live."},
		Locks: {"The wheels can lock without warning",
			"drive only on a dry, straight, clear road, slowly, with nobody behind, and stop at the first bind."},
		Rolls: {"The vehicle can roll away",
			"chock the wheels; neither the selector nor the pawl holds it."},
		LetsGo: {"Do not race the engine against a bind",
			"when it lets go the vehicle jumps."},
	},
	kinematics.InCycle: {
		Moves: {"The wheel can be driven when it should not, or let go under load",
			"wheel off the ground, hands clear of spokes and chain; then ride off the road at walking pace, seated, " +
				"before any weight goes on the pedals."},
		Locks: {"The wheel or the cranks can lock, or the wheel can drive the cranks",
			"try it with the wheel off the ground, hands and clothes clear of spokes and chain; " +
				"ride only at walking pace, off the road, the other brake at hand."},
		Rolls: {"A brake in the hub may not hold",
			"prove the other brake first."},
		LetsGo: {"Do not stand on the pedals against a bind",
			"when it lets go the rider falls."},
	},
	kinematics.InHoist: {
		Moves: {"The drum can turn when it should not, or the wrong way",
			"hook empty, nobody under the hook or in line with the rope."},
		Locks: {"The drum can stop without warning, so that the load swings or the rope goes slack",
			"hook empty, nobody under it or in line with the rope."},
		Rolls: {"The load can fall",
			"set it down and take the weight off the rope before anything is tried; nobody under the hook; " +
				"prove the brake with the hook empty."},
		LoadFalls: {"The load can fall",
			"set it down and take the weight off the rope before anything is tried; nobody under the hook; " +
				"prove the brake with the hook empty."},
		LetsGo: {"Do not drive against a bind",
			"when it lets go the drum jumps and the rope with it."},
	},
	kinematics.InMachine: {
		Moves: {"The output can turn when it should not, or the wrong way",
			"guards on, nobody within reach, what it drives uncoupled."},
		Locks: {"The train can lock without warning",
			"guards on, nobody within reach, what it drives uncoupled; stop at the first bind."},
		Rolls: {"What is driven may not be held",
			"secure it by itself before anybody comes within reach."},
		LetsGo: {"Do not drive against a bind",
			"when it lets go the output jumps."},
	},
}

// handCautions are the same for every use.
var handCautions = map[Hazard]warning{
	Jumps: {"Springs and servo covers are under load; no fingers between gears; a held member can jump", ""},
	HotFluid: {"Hot fluid under pressure",
		"gloves, eyes; keep clear of what turns; extract the exhaust."},
	Air: {"Air checks throw hot fluid",
		"gloves, eyes; air regulated to the unit's own figure."},
	Piston: {"A piston jumps when air goes in or comes off",
		"fingers away from plates, bands and servo covers first, and nobody turns the train meanwhile."},
}

// Caution returns what is said of a hazard, "" if it cannot be there.
func Caution(use kinematics.Use, h Hazard) string { return cautionOf(use, h).String() }

func cautionOf(use kinematics.Use, h Hazard) warning {
	if w, ok := handCautions[h]; ok {
		return w
	}
	list, ok := cautions[use]
	if !ok {
		list = cautions[kinematics.InVehicle]
	}
	if h == WrongWay {
		h = Moves
	}
	return list[h]
}

// StandingLine says what tieup is not, wherever a caution is printed.
const StandingLine = "tieup reasons about the ideal gear train only. The service information for the exact unit, " +
	"local rules and licensed, qualified people decide; " +
	"pressures, clearances, temperatures and test limits are not given here."

// Hazards compares a range under faults with itself when healthy.
func Hazards(healthy, faulty RangeReading) []Hazard {
	var found []Hazard
	add := func(h Hazard, there bool) {
		if there {
			found = append(found, h)
		}
	}
	h, f := healthy.Outcome, faulty.Outcome
	add(Moves, f.Drives() && !h.Drives() || faulty.Lurch != healthy.Lurch && faulty.Lurch != "")
	add(WrongWay, f.Drives() && h.Drives() && f.Verdict != h.Verdict)
	if fr := faulty.Friction; fr != nil {
		add(Moves, fr.Creeps || fr.Gives && fr.wrongWay(h.Verdict))
	}
	// Rolling the way it was driven, or either way out of a range that does
	// not drive: could it before, and can it no more?
	lostForward := h.Verdict != solve.Reverse && !h.CoastForward.Empty && f.CoastForward.Empty
	lostBackward := h.Verdict != solve.Forward && !h.CoastBackward.Empty && f.CoastBackward.Empty
	dragged := faulty.Friction != nil && faulty.Friction.Held && !healthy.Held()
	add(Locks, lostForward || lostBackward || dragged)
	// Somebody stands at the input: on pedals, or at a machine.
	cycle := healthy.Use == kinematics.InCycle
	add(Locks, (cycle || healthy.Use == kinematics.InMachine) && h.Drives() && f.Verdict == solve.InputHeld ||
		cycle && drivesInput(f) && !drivesInput(h))
	rolls := !f.Drives() && !(f.CoastForward.Empty && f.CoastBackward.Empty)
	add(Rolls, healthy.Held() && rolls)
	slips := faulty.Friction != nil && faulty.Friction.Limits && faulty.Friction.weak
	add(LoadFalls, healthy.Use == kinematics.InHoist && (h.Drives() || healthy.Held()) && (rolls || slips))
	return found
}

// drivesInput says whether an output that runs on turns the input with it.
func drivesInput(o solve.Outcome) bool {
	_, brakes, rolls := o.EngineBraking()
	return brakes && rolls
}

// Cautions returns a sentence for each of the hazards of a train that is built into
// something, once, and the standing line after them; nothing for no hazards.
func Cautions(use kinematics.Use, hazards []Hazard) []string {
	lines := Warnings(use, hazards)
	for i := range lines {
		lines[i] = "Caution: " + lines[i]
	}
	if lines != nil {
		lines = append(lines, StandingLine)
	}
	return lines
}

// Apart parts cautions into those of what can happen and the standing line, "" if they
// have none.
func Apart(cautions []string) (own []string, standing string) {
	if n := len(cautions) - 1; n >= 0 && cautions[n] == StandingLine {
		return cautions[:n:n], StandingLine
	}
	return cautions, ""
}

// Merge adds cautions to others, each once, and ends them with the standing line if any
// of them have it.
func Merge(list, more []string) []string {
	own, standing := Apart(list)
	further, line := Apart(more)
	own = slices.Clone(own)
	for _, c := range further {
		if !slices.Contains(own, c) {
			own = append(own, c)
		}
	}
	if standing = cmp.Or(standing, line); standing != "" {
		own = append(own, standing)
	}
	return own
}

// Warnings are Cautions where the place says what they are, without the standing line.
func Warnings(use kinematics.Use, hazards []Hazard) []string {
	var lines []string
	for _, h := range AllHazards() {
		if text := Caution(use, h); text != "" && slices.Contains(hazards, h) && !slices.Contains(lines, text) {
			lines = append(lines, text)
		}
	}
	return lines
}

// Brief returns of the first two of the hazards of which something is said what can happen,
// as sentences; "" if there is none.
func Brief(use kinematics.Use, hazards []Hazard) string {
	var list []string
	for _, h := range AllHazards() {
		if w := cautionOf(use, h); w.can != "" && slices.Contains(hazards, h) && len(list) < 2 {
			list = kinematics.Union(list, w.can+".")
		}
	}
	return strings.Join(list, " ")
}

// Practice is what can happen to whoever tries a train, whatever is wrong with it.
func Practice() []Hazard { return []Hazard{Moves, Locks, Rolls, LoadFalls} }
