package reading

import (
	"fmt"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/bench"
	"tieup/kinematics/exact"
)

// Rotation names a way of turning as it is seen from the input end.
func Rotation(backward bool) string {
	if backward {
		return "counterclockwise"
	}
	return "clockwise"
}

// Viewed says from where directions are seen.
const Viewed = "directions seen from the input end: clockwise is +, the way the engine turns the input"

// BenchApply says what is done to apply elements on the bench: "air to forward and
// direct", "dog low in"; "nothing applied" for none.
func BenchApply(t *kinematics.Train, elements []int) string {
	if len(elements) == 0 {
		return "nothing applied"
	}
	var parts, air []string
	for _, i := range elements {
		switch c := &t.Couplings[i]; {
		case c.Kind == kinematics.Dog:
			parts = append(parts, "dog "+c.Name+" in")
		case c.Kind == kinematics.OneWay:
			parts = append(parts, "one-way clutch "+c.Name+" in action")
		default:
			air = append(air, c.Name)
		}
	}
	if air != nil {
		how := "air to "
		if !ByAir(t, elements) {
			how = "apply "
		}
		parts = append([]string{how + kinematics.And(air)}, parts...)
	}
	return strings.Join(parts, ", ")
}

// ByAir says whether one of the elements is applied by pressure: by what is known of
// the use, those of a road vehicle are.
func ByAir(t *kinematics.Train, elements []int) bool {
	for _, i := range elements {
		if t.Couplings[i].Kind.Friction() && (t.Use == kinematics.InVehicle || t.Use == "") {
			return true
		}
	}
	return false
}

// BenchOutput says what is done with the output, "" where it is left free.
func BenchOutput(t *kinematics.Train, o bench.Output) string {
	switch o {
	case bench.Held:
		return "hold " + t.Members[t.Output].Name
	case bench.Pawled:
		return "pawl in"
	}
	return "leave " + t.Members[t.Output].Name + " free"
}

// BenchTurn says a whole turn: "air to forward; hold output-shaft; turn turbine
// clockwise".
func BenchTurn(t *kinematics.Train, x bench.Turn) string {
	return BenchApply(t, x.Air) + "; " + BenchOutput(t, x.Output) + "; turn " + t.Members[t.Input].Name + " " +
		Rotation(x.Backward)
}

// BenchSeen says what a turn shows.
func BenchSeen(t *kinematics.Train, s bench.Seen) string {
	in, out := t.Members[t.Input].Name, t.Members[t.Output].Name
	if s.Locks() {
		return in + " locks"
	}
	if s.Output != bench.Free {
		return in + " turns"
	}
	if one, ok := s.Out.Point(); ok {
		return benchTurns(in, out, "", one)
	}
	if s.Any() {
		return in + " turns, " + out + " is free"
	}
	return benchTurns(in, out, "at least ", s.Out.NearestZero())
}

// benchTurns says how far the mark on the output goes for turns of the input that can
// be counted.
func benchTurns(in, out, least string, one exact.Frac) string {
	if one.Sign() == 0 {
		return in + " turns, " + out + " stands still"
	}
	way := "the same way"
	if one.Sign() < 0 {
		way, one = "the other way", one.Neg()
	}
	n, whole := countable(one)
	made := exact.Int(n).Mul(one)
	text := made.String()
	if !whole {
		text = fmt.Sprintf("%.2f", made.Float())
	}
	return fmt.Sprintf("%s of %s: the mark on %s makes %s%s, %s", kinematics.Count(int(n), "turn"), in, out, least,
		text, way)
}

// countable returns a number of turns to make, up to 20: the least that gives whole
// turns of the output, else 10.
func countable(per exact.Frac) (n int64, whole bool) {
	for n := int64(1); n <= 20; n++ {
		if exact.Int(n).Mul(per).IsInt() {
			return n, true
		}
	}
	return 10, false
}

// BenchFault says a fault of an assembled train in a few words: "forward never holds",
// "rear.sun is loose in shell".
func BenchFault(t *kinematics.Train, f kinematics.Fault) string {
	if c := &t.Couplings[f.Coupling]; f.Kind == kinematics.Sheared {
		return t.Members[c.A].Name + " is loose in " + t.Joints[c.Joint].Name
	}
	return FaultBrief(t, f)
}

// BenchFaults says several at once: "forward is stuck on with direct is stuck on".
func BenchFaults(t *kinematics.Train, faults []kinematics.Fault) string {
	words := kinematics.Map(faults, func(f kinematics.Fault) string { return BenchFault(t, f) })
	return strings.Join(words, " with ")
}

// InHand says what shows a fault of a part by itself, where no turning of the train
// does. Common practice, no source.
func InHand(t *kinematics.Train, f kinematics.Fault) string {
	c := &t.Couplings[f.Coupling]
	a, b := t.Members[c.A].Name, t.Members[c.B].Name
	if c.B == kinematics.Housing {
		b = "the case"
	}
	if c.A == kinematics.Housing {
		a, b = b, "the case"
	}
	switch f.Kind {
	case kinematics.Sheared:
		return "hold " + t.Joints[c.Joint].Name + " and turn " + a + " by hand: no play"
	case kinematics.Missing:
		return "put the pawl in and turn " + a + " by hand: it holds both ways"
	case kinematics.Slips, kinematics.Seized, kinematics.Backward:
		return OneWayInHand(t, f.Coupling)
	}
	if c.Kind == kinematics.Dog {
		return "move " + c.Name + " in and out by hand, turning " + a + " against " + b
	}
	if f.Kind == kinematics.Stuck {
		return "with " + c.Name + " released turn " + a + " against " + b + " by hand: it turns; measure its clearance"
	}
	return "air to " + c.Name + " alone: it applies and lets go, and its air does not drop"
}

// OneWayInHand says which part of a one-way clutch turns which way, with the other one
// held: "hold the case and turn rear.carrier by hand: it turns clockwise and is held
// counterclockwise".
func OneWayInHand(t *kinematics.Train, coupling int) string {
	c := &t.Couplings[coupling]
	turned, held, free, stop := t.Members[c.A].Name, t.Members[c.B].Name, Rotation(false), Rotation(true)
	if c.A == kinematics.Housing {
		turned, held, free, stop = held, turned, stop, free
	}
	if held == t.Members[kinematics.Housing].Name {
		held = "the case"
	}
	return "hold " + held + " and turn " + turned + " by hand: it turns " + free + " and is held " + stop
}

// BeyondTurning says what no turning by hand shows of any train with friction elements,
// and the test in hand that does. Common practice, no source.
func BeyondTurning() []string {
	return []string{
		"a weak element holds a hand all the same: watch its air for a drop, and measure its clearance",
		"one that drags turns stiffly, as new seals do: spin it by hand with its air off",
	}
}

// PlanAssumptions says what a plan takes to be so.
func PlanAssumptions(t *kinematics.Train, without bench.Missing, air []int, held, near bool) []string {
	in, out := t.Members[t.Input].Name, t.Members[t.Output].Name
	list := []string{
		"the turns are made in this order: each names the suspects that the turns before it leave",
		"turning stiffly is turning: new seals drag, and only what does not move at all is a lock",
	}
	if t.Drive == kinematics.Converter {
		list = append(list, "the converter is not fitted: "+in+" is turned by hand")
	}
	if held {
		list = append(list, out+" can be held by hand or with a lever")
	}
	switch {
	case without == bench.Case:
		list = append(list, "without the case nothing holds against it: what does is proved once it is fitted")
	case without == bench.Nothing && !t.TapsKnown && ByAir(t, air):
		list = append(list, "air reaches every element: the train file gives no taps")
	}
	if near {
		list = append(list, "air can be put on in too many ways to try all: tried are the elements of each range, "+
			"each element alone, and ranges without one element; what no turn shows here another one may show")
	}
	return list
}
