package diagnosis

import (
	"strings"
	"sync"

	"tieup/kinematics"
)

// Used are the words for what a train is built into: what tests show of it.
type used struct {
	runs, held                               string // no drive: the input is free, or held
	loaded                                   string // ... with the brakes on: bound, or held
	both, forwardOnly, backwardOnly, neither string // pushed, or turned at the output
	locks, free, brakes                      string // coasting; brakes has a ratio behind it
	holds, slips                             string // at full throttle
	elsewhere                                string // what else can be wrong where the train is not
}

var uses = map[kinematics.Use]used{
	kinematics.InVehicle: {
		runs: "no drive, the engine revs freely", held: "no drive, the engine is loaded",
		loaded: "no pull, the engine is loaded",
		both:   "rolls both ways", forwardOnly: "rolls forward only", backwardOnly: "rolls backward only",
		neither: "rolls neither way",
		locks:   "the wheels lock", free: "no engine braking", brakes: "engine braking at ", holds: "holds",
		slips: "slips: the engine runs up", elsewhere: "engine, driveline or brakes",
	},
	kinematics.InCycle: {
		runs: "no drive, the cranks turn freely", held: "no drive, the cranks are held",
		loaded: "no drive, the cranks are held",
		both:   "the wheel turns both ways", forwardOnly: "the wheel turns forward only",
		backwardOnly: "the wheel turns backward only", neither: "the wheel turns neither way",
		locks: "the wheel locks", free: "the wheel runs on", brakes: "the wheel drives the cranks at ", holds: "holds",
		slips: "slips: the cranks run ahead", elsewhere: "chain, shifter, its cable, or brakes",
	},
	kinematics.InHoist:   fixedUse("the drum", "drive, its controls, brake or rope"),
	kinematics.InMachine: fixedUse("the output", "drive, couplings or what is driven"),
}

// fixedUse are the words where a drive turns what stands fixed.
func fixedUse(output, elsewhere string) used {
	return used{
		runs: "no drive, the input turns freely", held: "no drive, the input is held", loaded: "no drive, the input is held",
		both: output + " turns both ways", forwardOnly: output + " turns forward only",
		backwardOnly: output + " turns backward only", neither: output + " turns neither way",
		locks: output + " locks", free: output + " runs on", brakes: output + " drives the input at ", holds: "holds",
		slips: "slips: the input runs ahead", elsewhere: elsewhere,
	}
}

// usedIn returns the words for what a train is built into.
func usedIn(t *kinematics.Train) used { return inUse(t, uses) }

// inUse is what a table has for what a train is built into, else for a vehicle.
func inUse[T any](t *kinematics.Train, table map[kinematics.Use]T) T {
	if x, ok := table[t.Use]; ok {
		return x
	}
	return table[kinematics.InVehicle]
}

// An act is a kind of test in a set-up.
type act struct {
	kind  TestKind
	setUp SetUp
}

// asked are the questions of the tests of ranges: {range} is the range, {to} the one
// that a shift leads to.
var asked = sync.OnceValue(func() map[kinematics.Use]map[act]string {
	return map[kinematics.Use]map[act]string{
		kinematics.InVehicle: {
			{Position, Braked}: "Brakes on, the engine idling, select {range}: does it pull, which way, " +
				"or only load the engine?",
			{Position, OnStands}: "On stands, select {range} at light throttle: do the wheels turn, and which way?",
			{Position, Creep}:    "Select {range}, the engine idling, and ease the brake: does it drive, and which way?",
			{Position, Road}:     "Drive up to {range} and give light throttle: does it drive, and which way?",
			{Rolling, EngineOff}: "Engine off, pressure gone, select {range}: which ways can the vehicle be pushed, " +
				"or one lifted driven wheel be turned by hand?",
			{Gear, OnStands}: "On stands, run {range} at light throttle and measure the ratio.",
			{Gear, Road}:     "Drive in {range} at light throttle and measure the ratio, or judge the gear.",
			{Throttle, Road}: "Drive in {range} at light throttle, then at full: does it hold?",
			{Coasting, OnStands}: "On stands, run {range} and close the throttle: do the wheels run on, " +
				"or does the engine slow them?",
			{Coasting, Road}:     "Roll in {range} and close the throttle: does the engine brake?",
			{Shifting, OnStands}: "On stands, light throttle, watch the shift from {range} to {to}: does it bind or flare?",
			{Shifting, Road}:     "Watch the shift from {range} to {to}: does it bind or flare?",
			{Stall, Braked}:      "Stall test in {range}: does the engine stay at its stall speed?",
		},
		kinematics.InCycle: {
			{Position, OnStands}: "Wheel off the ground, select {range} and turn the cranks by hand: does the wheel turn, " +
				"and which way?",
			{Position, Creep}: "Select {range} and pedal at walking pace: does it drive, and which way?",
			{Position, Road}:  "Ride up to {range}: does it drive, and which way?",
			{Rolling, EngineOff}: "Wheel off the ground, select {range} and turn the wheel by hand, the cranks let go: " +
				"which ways does it turn?",
			{Gear, OnStands}: "Wheel off the ground, in {range}, " +
				"turn the cranks by hand and count the turns of cranks and wheel: what is the ratio?",
			{Gear, Road}:     "Ride in {range} and measure the ratio, or judge the gear.",
			{Throttle, Road}: "Ride in {range}, first lightly, then with full weight on the pedals: does it hold?",
			{Coasting, OnStands}: "Wheel off the ground, in {range}, spin the wheel and let the cranks go: does it run on, " +
				"or drive the cranks?",
			{Coasting, Road}: "Ride in {range} and stop pedalling: does the wheel run on, or drive the cranks?",
			{Shifting, OnStands}: "Wheel off the ground, turn the cranks by hand and shift from {range} to {to}: " +
				"does it bind or run free between?",
			{Shifting, Road}: "Ride and shift from {range} to {to}: does it bind or run free between?",
		},
		kinematics.InHoist:   fixed("Hook empty, ", "a light load", "the drum"),
		kinematics.InMachine: fixed("Nothing coupled to the output, ", "a light load", "the output"),
	}
})

// fixed are the questions where a drive turns what stands fixed.
func fixed(free, light, output string) map[act]string {
	return map[act]string{
		{Position, OnStands}: free + "engage {range} and run the input slowly: does " + output + " turn, and which way?",
		{Position, Creep}: "With " + light + ", engage {range} and run the input as slowly as it goes: does " + output +
			" turn, and which way?",
		{Position, Road}:     "With " + light + ", run up to {range}: does " + output + " turn, and which way?",
		{Rolling, EngineOff}: "Drive off, engage {range} and turn " + output + " by hand: which ways does it turn?",
		{Gear, OnStands}:     free + "run {range} slowly and measure the ratio.",
		{Gear, Road}:         "With " + light + ", run {range} and measure the ratio.",
		{Throttle, Road}:     "Run {range} with " + light + ", then with the full one: does it hold?",
		{Coasting, OnStands}: free + "run {range} and stop the drive: does " + output + " run on, or drive the input?",
		{Coasting, Road}: "With " + light + ", run {range} and stop the drive: does " + output +
			" run on, or drive the input?",
		{Shifting, OnStands}: free + "run slowly and shift from {range} to {to}: does it bind or run free between?",
		{Shifting, Road}:     "With " + light + ", shift from {range} to {to}: does it bind or run free between?",
	}
}

// Text says what to do in a test, and what to watch.
func (x *Test) Text(t *kinematics.Train) string {
	switch x.Kind {
	case Fluid:
		return "Fluid: its level as the service information says, its colour and smell: is it as it should be, low, " +
			"burnt, foamy or milky?"
	case Line:
		text := "Line pressure in " + t.Ranges[x.Range].Name
		if x.stalls() {
			return text + " at stall: does it rise to what the service information says?"
		}
		return text + ", the engine idling, with the highest pressure commanded if the control lets you: " +
			"is it as the service information says?"
	case Connector, CircuitTap, Switching, CodeRead:
		return x.partText(t)
	case PressureAt:
		return "Pressure at the tap of " + t.Couplings[x.Coupling].Name + " in " + t.Ranges[x.Range].Name + ": is it fed?"
	case Air:
		return "Air to " + t.Couplings[x.Coupling].Name + ", valve body off: does it apply and let go?"
	case Bench:
		return x.bench(t)
	case Element:
		return x.element(t)
	}
	name, end := t.Ranges[x.Range].Name, ""
	if _, _, p := route(t, x.Range); p != nil && x.SetUp == Road && x.Kind != Shifting {
		name, end = name+", selector at "+p.Name, ","
	}
	return strings.NewReplacer("{range},", name+",", "{range}", name+end, "{to}", t.Ranges[x.To].Name).
		Replace(inUse(t, asked())[act{x.Kind, x.SetUp}])
}

// before is what must stand before a test is made in a set-up, by what the train is
// built into. Common practice, no source.
var before = map[kinematics.Use][setUps]string{
	kinematics.InVehicle: {
		EngineOff: "engine off, and the pressure gone; level ground, chocks at hand, somebody at the brake: " +
			"neither selector nor pawl holds the " +
			"vehicle for certain. While one wheel is lifted the engine never runs, and the other axle is chocked",
		Braked: "wheels chocked, parking and service brake on, path clear both ways, nobody in front, " +
			"behind or under the vehicle; idle only",
		OnStands: "all driven wheels off the ground on stands, the other wheels chocked, " +
			"nobody within reach of what turns; light throttle only; no park while the wheels turn; exhaust led out",
		Creep: "path clear both ways, nobody in front or behind; foot on the brake, idle only, walking pace; " +
			"stop at the first bind",
		Road: "dry, straight, clear road, nobody behind; slowly first; stop at the first bind",
	},
	kinematics.InCycle: {
		EngineOff: cycleStand,
		Braked:    cycleStand,
		OnStands:  cycleStand + "; slowly, without force",
		Creep:     "off the road, seated, at walking pace, the other brake at hand",
		Road:      "a clear way without traffic, the other brake at hand; stop at the first bind",
	},
	kinematics.InHoist: {
		EngineOff: "drive off and secured against starting; the load down and the rope slack",
		Braked:    "the load down, the hook empty, nobody in line with the rope",
		OnStands:  "the load down, the hook empty, nobody under it or in line with the rope; slowly, the stop at hand",
		Creep: "a light load just off the ground, nobody near it or in line with the rope; as slowly as it goes, " +
			"the stop at hand",
		Road: "nobody under the load or in line with the rope; the stop at hand",
	},
	kinematics.InMachine: {
		EngineOff: "drive off and secured against starting; what it drives secured by itself",
		Braked:    "guards on, nobody within reach; what it drives uncoupled",
		OnStands:  "guards on, nobody within reach; what it drives uncoupled; slowly, the stop at hand",
		Creep:     "guards on, nobody within reach; as slowly as it goes, the stop at hand",
		Road:      "guards on, nobody within reach; the stop at hand",
	},
}

// beforeKind is what must stand before tests of some kinds besides.
var beforeKind = map[TestKind]string{
	Stall: "a stall test only where the maker allows it; fluid warm and line pressure proven; two people; " +
		"seconds only, stop at the limit; cool in N between; " +
		"wheels chocked, both brakes on, path clear both ways, nobody in front or behind",
	Fluid: "hot fluid: gloves, eyes; engine off, " +
		"or idling with the brakes on and wheels chocked if the service information asks for it",
	Connector: "engine off; level ground, wheels chocked; key and meter as the service information says: " +
		"a wrong probe can destroy the control",
	Switching: "engine off, key on; level ground, wheels chocked; only where the service information names such a " +
		"test: not every control lets its solenoids be switched",
	Air:     "hot fluid is thrown out: gloves, eyes; air regulated to the unit's own figure",
	Bench:   opened,
	Element: opened,
}

const (
	opened     = "springs and servo covers are under load; no fingers between gears; a held member can jump"
	hotFluid   = "hot fluid under pressure: gloves, eyes"
	cycleStand = "wheel off the ground, hands and clothes clear of spokes and chain"
)

// Before says what must stand before the test is made.
func (x *Test) Before(t *kinematics.Train) string {
	switch text := beforeKind[x.Kind]; {
	case text != "":
		return text
	case x.stalls():
		return beforeKind[Stall] + "; the gauge fitted with the engine off, its hose led out to the driver: " +
			"hot fluid under pressure, gloves, eyes"
	}
	text := inUse(t, before)[x.SetUp]
	switch {
	case x.Kind == CircuitTap:
		return text + "; " + hotFluid + "; taps as the service information shows them"
	case x.Kind == PressureAt && !t.TapsKnown:
		return "there is a tap of its own, which not every unit has; " + text + "; " + hotFluid
	case x.Kind == PressureAt, x.Kind == Line:
		return text + "; " + hotFluid
	}
	return text
}

// BeforeShort names what must stand before the test for whoever has read it in full.
func (x *Test) BeforeShort() string {
	switch {
	case beforeKind[x.Kind] != "":
		return "as before for " + x.Kind.String()
	case x.stalls():
		return "as before for " + x.Kind.String() + " at stall"
	}
	return "as before " + [setUps]string{"with the engine off", "with the brakes on", "on stands", "at creep",
		"on the road"}[x.SetUp]
}

// Reason says why a test is refused.
func (a *Answer) Reason(r *Refusal) string {
	t := a.Train
	if r.Unproved >= 0 {
		return t.Ranges[r.Unproved].Name + " has not shown yet, at creep or on stands, that it does not bind"
	}
	d := r.Danger
	text := d.Hazard.String()
	switch {
	case d.To >= 0:
		text = t.Ranges[d.Range].Name + "-" + t.Ranges[d.To].Name + ": " + text
	case d.Range >= 0:
		text = t.Ranges[d.Range].Name + ": " + text
	}
	switch {
	case d.Seen != nil:
		return text + ", as was seen: " + d.Seen.Place(t) + " = " + d.Seen.Value(t)
	case d.Suspect != nil:
		return text + ", with " + d.Suspect.Short(t)
	}
	return text
}
