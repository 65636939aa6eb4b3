package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// A SetUp is how a vehicle stands or runs while a test is made. A test is an act
// and a set-up: what can happen decides in which set-up the act may be made.
type SetUp uint8

// The set-ups. In a cycle, a hoist or a machine the same places are taken by what
// corresponds to them: [Test.Before] says it in words.
const (
	EngineOff SetUp = iota // nothing is driven, and pressure is gone
	Braked                 // idling, brakes on, wheels chocked, path clear
	OnStands               // all driven wheels off the ground
	Creep                  // on the ground, idling, at walking pace
	Road                   // at speed
	setUps    = int(Road) + 1
)

// String names the set-up.
func (s SetUp) String() string {
	return [setUps]string{"engine off", "brakes on", "on stands", "creep", "road"}[s]
}

// SetUps lists all set-ups.
func SetUps() []SetUp { return []SetUp{EngineOff, Braked, OnStands, Creep, Road} }

// carried are the hazards that a set-up carries: they can happen in it, and hurt
// nobody who keeps to what stands before the test. Common practice, no source.
var carried = [setUps][]reading.Hazard{
	EngineOff: reading.AllHazards(),
	Braked:    {reading.Moves, reading.WrongWay, reading.Locks, reading.Rolls, reading.HotFluid},
	OnStands:  {reading.Moves, reading.WrongWay, reading.Locks, reading.Rolls, reading.LoadFalls, reading.HotFluid},
	Creep:     {reading.Locks, reading.Rolls},
	Road:      {},
}

// Carries says whether a set-up carries a hazard.
func (s SetUp) Carries(h reading.Hazard) bool { return slices.Contains(carried[s], h) }

// setUpEffort is what the set-up adds to the effort of a test. That of a gauge
// counts the stands already.
const standsEffort = 3

// setUpsOf lists the set-ups in which an act can be made, the least trouble first.
func (f *Finder) setUpsOf(x *Test) []SetUp {
	if x.stalls() {
		return []SetUp{Braked}
	}
	switch x.Kind {
	case Position:
		switch {
		case x.drive:
			return []SetUp{Road, OnStands}
		case f.t.Drive == kinematics.Converter:
			return []SetUp{Creep, Braked, OnStands}
		}
		return []SetUp{Creep, OnStands}
	case Gear, Coasting, Shifting:
		return []SetUp{Road, OnStands}
	case Throttle:
		return []SetUp{Road}
	case PressureAt, CircuitTap, Line:
		return []SetUp{OnStands}
	}
	return []SetUp{EngineOff}
}

// own are the hazards of an act itself.
func (k TestKind) own() []reading.Hazard {
	switch k {
	case PressureAt, CircuitTap, Line, Fluid:
		return []reading.Hazard{reading.HotFluid}
	case Air:
		return []reading.Hazard{reading.Air, reading.HotFluid}
	case Bench, Element:
		return []reading.Hazard{reading.Jumps}
	}
	return nil
}

// pulls says whether an act gives full throttle, so that what is bound can let go.
func (x *Test) pulls() bool { return x.Kind == Throttle || x.stalls() }
