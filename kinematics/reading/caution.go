package reading

import "tieup/kinematics/solve"

// A Hazard is what a faulty train can do to people that the healthy one does not.
type Hazard uint8

// The hazards.
const (
	// Moves: the vehicle drives where it should not, or the other way.
	Moves Hazard = iota
	// Locks: the wheels lock, or one end of the train, where it should turn.
	Locks
	// Rolls: the vehicle is not held where it should be.
	Rolls
)

var cautions = [...]string{
	Moves: "The vehicle can move when it should not, or the wrong way: wheels chocked, parking and service brake on, " +
		"nobody in front or behind; treat every position as live.",
	Locks: "The wheels can lock without warning: drive only on a dry, straight, clear road, slowly, with nobody behind, " +
		"and stop at the first bind.",
	Rolls: "The vehicle can roll away: chock the wheels; neither the selector nor the pawl holds it.",
}

// StandingLine says what tieup is not, wherever a caution is printed.
const StandingLine = "tieup reasons about the ideal gear train only. The service information for the exact unit, local rules and " +
	"licensed, qualified people decide; pressures, clearances, temperatures and test limits are not given here."

// Hazards compares a range under faults with itself when healthy.
func Hazards(healthy, faulty RangeReading) []Hazard {
	var found []Hazard
	h, f := healthy.Outcome, faulty.Outcome
	if f.Drives() && f.Verdict != h.Verdict || faulty.Lurch != healthy.Lurch && faulty.Lurch != "" {
		found = append(found, Moves)
	}
	if fr := faulty.Friction; fr != nil && (fr.Creeps || fr.Gives && fr.wrongWay(h.Verdict)) {
		found = append(found, Moves)
	}
	// Rolling the way it was driven, or either way out of a range that does
	// not drive: could it before, and can it no more?
	lostForward := h.Verdict != solve.Reverse && !h.CoastForward.Empty && f.CoastForward.Empty
	lostBackward := h.Verdict != solve.Forward && !h.CoastBackward.Empty && f.CoastBackward.Empty
	dragged := faulty.Friction != nil && faulty.Friction.Held && !healthy.Held()
	if lostForward || lostBackward || dragged {
		found = append(found, Locks)
	}
	if healthy.Held() && !f.Drives() && !(f.CoastForward.Empty && f.CoastBackward.Empty) {
		found = append(found, Rolls)
	}
	return found
}

// Cautions returns a sentence for each of the hazards, once, and the standing
// line after them; nothing for no hazards.
func Cautions(hazards []Hazard) []string {
	var seen [len(cautions)]bool
	for _, h := range hazards {
		seen[h] = true
	}
	var lines []string
	for h, there := range seen {
		if there {
			lines = append(lines, "Caution: "+cautions[h])
		}
	}
	if lines != nil {
		lines = append(lines, StandingLine)
	}
	return lines
}
