package diagnosis

import (
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// What must be said to whoever makes a test, by what can happen in it.
const (
	cautionLive = "Caution: treat every position as live: wheels chocked while you get ready, parking and service brake on, " +
		"clear path both ways, nobody in front or behind."
	cautionRoad  = "Caution: the wheels can lock without warning: dry, straight, clear road, slowly, nobody behind; stop at the first bind."
	cautionRoll  = "Caution: the vehicle can roll away: level ground, chocks at hand, somebody at the brake; neither selector nor pawl holds it for certain."
	cautionStall = "Caution: a stall test only where the maker allows it; fluid warm and line pressure proven; brakes on, wheels chocked, nobody in " +
		"front or behind; seconds only, stop at the limit; cool in N between; two people."
	cautionTap = "Caution: on a lift with the engine running the wheels turn: keep clear, do not select park with wheels turning, extract the exhaust; " +
		"hot fluid under pressure: gloves, eyes."
	cautionAir   = "Caution: air checks throw hot fluid: gloves, eyes; air regulated to the unit's own figure."
	cautionBench = "Caution: springs and servo covers are under load; no fingers between gears; a held member can jump."
)

// TestCautions says what can happen in the proposed tests, each thing once.
func (a *Answer) TestCautions(list []Proposal) []string {
	var live, road, roll, stall, tap, air, bench bool
	for _, p := range list {
		switch p.Kind {
		case PressureAt:
			tap = true
		case Air:
			air = true
		case Bench, Element:
			bench = true
		case Stall:
			stall = true
		case Rolling:
			live, roll = true, true
		default:
			live = true
			road = road || a.canLock(&p)
		}
	}
	var lines []string
	for _, c := range []struct {
		said bool
		text string
	}{{live, cautionLive}, {road, cautionRoad}, {roll, cautionRoll}, {stall, cautionStall}, {tap, cautionTap}, {air, cautionAir}, {bench, cautionBench}} {
		if c.said {
			lines = append(lines, c.text)
		}
	}
	if lines != nil {
		lines = append(lines, reading.StandingLine)
	}
	return lines
}

// canLock says whether a live suspect lets the wheels lock in the range of a
// test, or in the range that it shifts to.
func (a *Answer) canLock(p *Proposal) bool {
	suspects, _ := a.live(6)
	ranges := []int{p.Range}
	if p.Kind == Shifting {
		ranges = append(ranges, p.To)
	}
	for _, s := range suspects {
		for _, r := range ranges {
			b := a.Behaviour(s, r)
			_, _, rolls := b.Coast(a.finder.road.way(r))
			if b.Light.Verdict == solve.TieUp || !rolls && !a.finder.parks(r) {
				return true
			}
		}
	}
	return false
}

// Cautions says what can happen in the proposed tests, and if none is proposed,
// what the suspects can do to a vehicle that is driven on.
func (a *Answer) Cautions(list []Proposal) []string {
	if len(list) > 0 {
		return a.TestCautions(list)
	}
	var hazards []reading.Hazard
	for _, s := range a.Groups[0].Suspects {
		for r := range a.Train.Ranges {
			hazards = append(hazards, reading.Hazards(a.finder.cellOf(&a.finder.singles[0], r), a.finder.cellOf(&s.Hypothesis, r))...)
		}
	}
	return reading.Cautions(a.Train.Use, hazards)
}

// RoadCautions is what must be said to whoever makes a whole road test.
func RoadCautions(t *kinematics.Train) []string {
	list := []string{cautionLive, cautionRoad, cautionRoll}
	if t.Drive == kinematics.Converter {
		list = append(list, cautionStall)
	}
	return append(list, reading.StandingLine)
}
