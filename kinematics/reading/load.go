package reading

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Losses says what the gears of a train pass on, "" if everything is.
func Losses(t *kinematics.Train, l *solve.Losses) string {
	switch {
	case l.Lossless():
		return ""
	case l.Basic == nil:
		text := "an external mesh passes on " + efficiency(l.External) + " of its rolling power, an internal one " +
			efficiency(l.Internal)
		if slices.ContainsFunc(t.Meshes, func(m kinematics.Mesh) bool { return m.Kind == kinematics.Chain }) {
			text += ", a chain " + efficiency(l.Chain)
		}
		return text
	case !slices.ContainsFunc(l.Basic, func(f exact.Frac) bool { return f.Cmp(l.Basic[0]) != 0 }):
		return "a gearset passes on " + efficiency(l.Basic[0]) + " of its rolling power (basic efficiency, carrier held)"
	}
	var each []string
	for g, f := range l.Basic {
		each = append(each, t.Gearsets[g].Name+" "+efficiency(f))
	}
	return "of their rolling power gearsets pass on (basic efficiency, carrier held): " + strings.Join(each, ", ")
}

// efficiency writes an efficiency as it was given, with no more than six places.
func efficiency(f exact.Frac) string {
	return strconv.FormatFloat(math.Round(f.Float()*1e6)/1e6, 'f', -1, 64)
}

// LossStatus says why a load has no efficiency, or none that is single; "" if it
// has one.
func LossStatus(t *kinematics.Train, l *solve.Load) string {
	driving, driven := "input", "output"
	if l.Coasting {
		driving, driven = driven, driving
	}
	switch l.Trouble {
	case solve.SelfLocking:
		return "self-locking: with these losses the " + driving + " cannot turn the " + driven +
			", however hard it is driven"
	case solve.Ambiguous:
		return "power can flow in more than one way, each of which agrees with its own losses"
	case solve.LooseSpeeds:
		return "open: the speed of " + strings.Join(Bodies(t, l.Loose), ", ") + ", which carries load, is not fixed"
	case solve.TooMany:
		return "not found: too many gears roll for every direction of power flow to be tried"
	}
	return ""
}

// Bodies names members; the common body of a joint has the joint's name.
func Bodies(t *kinematics.Train, ids []kinematics.MemberID) []string {
	return kinematics.Map(ids, func(id kinematics.MemberID) string { return body(t, id) })
}

func body(t *kinematics.Train, id kinematics.MemberID) string {
	for i := range t.Joints {
		if t.Joints[i].Hub == id && id != kinematics.Housing {
			return t.Joints[i].Name
		}
	}
	return t.Members[id].Name
}

// Sharing says between what a load is shared, one line for each group of
// elements that share among themselves.
func Sharing(t *kinematics.Train, l *solve.Load) []string {
	const how = ": clearances and stiffness decide how, their torques are bounds"
	if len(l.Ways) < 2 {
		return nil
	}
	var lines []string
	for _, g := range l.Sharers(t.ElementCount) {
		lines = append(lines, "between "+kinematics.And(t.CouplingNames(g))+how)
	}
	if lines == nil {
		lines = []string{"between meshes in parallel" + how}
	}
	switch {
	case !l.Sharing.All:
		lines = append(lines, fmt.Sprintf("in %d ways and more than are looked at: torques can lie beyond the bounds",
			l.Sharing.Ways))
	case l.More:
		lines = append(lines, fmt.Sprintf("in %d ways, of which %d are listed", l.Sharing.Ways, len(l.Ways)))
	}
	return lines
}

// Recirculation says what power of a load runs in a circle, or passes a set though
// it is more than the train is given.
func Recirculation(t *kinematics.Train, l *solve.Load) []string {
	var lines []string
	add := func(text string) {
		lines = kinematics.Union(lines, text)
	}
	for i := range l.Ways {
		if l.Ways[i].Power == nil {
			return nil
		}
		for _, loop := range l.Ways[i].Power.Loops {
			text := share(loop.Share) + " of the power goes round " + strings.Join(LoopSteps(t, loop), ", ")
			if !loop.Rolls {
				text += ": within what turns as one, so it costs nothing"
			}
			add(text)
		}
	}
	for i := range l.Ways {
		if m := l.Ways[i].Power.Largest; m.Share.Cmp(exact.Int(1)) > 0 {
			add(share(m.Share) + " of the power passes between " + t.Members[m.Member].Name + " and its set, the most of all")
		}
	}
	return lines
}

func share(f exact.Frac) string { return strconv.FormatFloat(f.Float(), 'f', 4, 64) }

// LoopSteps names what power passes on its way round.
func LoopSteps(t *kinematics.Train, loop solve.Loop) []string {
	var names []string
	for _, s := range loop.Steps {
		switch {
		case s.Gearset >= 0:
			names = append(names, t.Gearsets[s.Gearset].Name)
		case s.Coupling >= 0:
			names = append(names, t.Couplings[s.Coupling].Name)
		default:
			names = append(names, body(t, s.Member))
		}
	}
	return names
}

// Undriven says that a range carries nothing from the input to the output.
func Undriven(c RangeReading) string {
	text := c.Text() + ". The input does not drive the output, so nothing is carried from one to the other."
	if v := c.Outcome.Verdict; v == solve.TieUp || v == solve.InputHeld {
		text += " What gives first when it is forced: tieup breakaway."
	}
	return text
}

// Uncarried says that a range that drives carries nothing while it coasts.
func Uncarried(c RangeReading) string {
	return c.Reading.Coast + ". The output does not turn the engine, so nothing is carried."
}

// CoastingLoad says how a range coasts that turns the engine.
func CoastingLoad(c RangeReading) string {
	r := &c.Reading
	if c.Outcome.Drives() || r.Has(CoastTurnsEngine) || r.Has(CoastTurnsBackward) {
		return r.Coast
	}
	return r.Coast + ", turns the engine"
}

// SharedTorque is said of a torque that statics does not decide.
const SharedTorque = "shared in more ways than one"

// SharedLoad says that statics does not decide what carries how much.
const SharedLoad = "The load can be " + SharedTorque
