package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// TestCautions says what can happen in the proposed tests, each thing once.
func (a *Answer) TestCautions(list []Proposal) []string {
	if len(list) == 0 {
		return nil
	}
	lines := reading.Cautions(a.Train.Use, a.TestHazards(list))
	if lines == nil {
		lines = append(lines, reading.StandingLine)
	}
	return lines
}

// TestHazards lists what can happen in the proposed tests, carried by their set-ups.
func (a *Answer) TestHazards(list []Proposal) []reading.Hazard {
	var found []reading.Hazard
	for _, p := range list {
		for _, d := range a.dangersOf(&p.Test, p.SetUp) {
			found = append(found, d.Hazard)
		}
		if p.Kind == Rolling {
			found = append(found, reading.Rolls)
		}
	}
	slices.Sort(found)
	return slices.Compact(found)
}

// Cautions says what can happen in the proposed tests, and if none is proposed,
// what the suspects can do to a vehicle that is driven on.
func (a *Answer) Cautions(list []Proposal) []string {
	if len(list) > 0 {
		return a.TestCautions(list)
	}
	var hazards []reading.Hazard
	for _, ds := range a.dangers().ranges {
		for _, d := range ds {
			hazards = append(hazards, d.Hazard)
		}
	}
	return reading.Cautions(a.Train.Use, hazards)
}

// RoadCautions is what must be said to whoever makes a whole road test: what can
// happen, and what stands before the tests in each set-up.
func RoadCautions(t *kinematics.Train) []string {
	lines, standing := reading.Apart(reading.Cautions(t.Use, reading.Practice()))
	add := func(what string, x Test) { lines = append(lines, "Before a test "+what+": "+x.Before(t)+".") }
	if t.Use == kinematics.InVehicle {
		add("with the engine off", Test{Kind: Rolling, SetUp: EngineOff})
		if t.Drive == kinematics.Converter {
			add("with the engine idling, brakes on", Test{Kind: Position, SetUp: Braked})
			add("at full throttle against the brakes", Test{Kind: Stall, SetUp: Braked})
		}
		add("on stands", Test{Kind: Position, SetUp: OnStands})
		add("on the road", Test{Kind: Gear, SetUp: Road})
	} else {
		add("by hand", Test{Kind: Rolling, SetUp: EngineOff})
		add("without a load", Test{Kind: Position, SetUp: OnStands})
		add("at work", Test{Kind: Gear, SetUp: Road})
	}
	return append(lines, standing)
}

// Hazards says what the elements that hold can do to people in a commanded range.
func (x *Identity) Hazards(reader *reading.Reader, commanded int) []reading.Hazard {
	r := &x.Train.Ranges[commanded]
	healthy := reader.Healthy(commanded)
	ratio, drives := healthy.Outcome.Ratio()
	d := x.Against(commanded)
	switch {
	case !drives:
		return []reading.Hazard{reading.Moves} // it was measured while it drives
	case d == nil && x.Signed && ratio.Sign() != x.Ratio.Sign():
		return []reading.Hazard{reading.WrongWay}
	case d == nil || x.Engine:
		return nil
	}
	var faults []kinematics.Fault
	for _, e := range d.Holds {
		if slices.Contains(x.Train.FaultKinds(e), kinematics.Stuck) {
			faults = append(faults, kinematics.Fault{Coupling: e, Kind: kinematics.Stuck})
		}
	}
	for _, e := range d.Missing {
		if slices.Contains(x.Train.FaultKinds(e), kinematics.OpenF) {
			faults = append(faults, kinematics.Fault{Coupling: e, Kind: kinematics.OpenF})
		}
	}
	return reading.Hazards(healthy, reader.Read(r, faults...))
}
