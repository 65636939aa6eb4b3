package reading

import (
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// Link says what has become of one part on the way from a fault of the controls to an
// element: "S2 off", "valve-12 down", "second not fed".
func Link(l controls.Link) string {
	words := map[controls.Part][3]string{
		controls.SolenoidPart: {" off", "", " on"},
		controls.ValvePart:    {" down", "", " up"},
		controls.ElementPart:  {" not fed", " fed with low pressure", " fed"},
		controls.LeverPart:    {"", "", ""},
	}
	w, ok := words[l.Part]
	if !ok {
		w = [3]string{" without pressure", " with low pressure", " with pressure"}
	}
	switch l.Level {
	case controls.None:
		return l.Name + w[0]
	case controls.Low:
		return l.Name + w[1]
	case controls.Full:
		return l.Name + w[2]
	}
	return l.Name + " not known"
}

// Pressure says what pressure a circuit has.
func Pressure(l controls.Level) string {
	if l == controls.None {
		return "no pressure"
	}
	return l.String()
}

// Feeding says how an element is fed.
func Feeding(l controls.Level) string {
	switch l {
	case controls.None:
		return "not fed"
	case controls.Full:
		return "fed"
	case controls.Low:
		return "fed low"
	}
	return "unknown"
}

// Chain says how a fault reaches an element: "S2 off -> valve-12 down -> second not fed".
func Chain(links []controls.Link) string {
	return strings.Join(kinematics.Map(links, Link), " -> ")
}

// Depends says what decides between several outcomes, "" for one outcome.
func Depends(d controls.Dependence) string {
	return map[controls.Dependence]string{
		controls.OnOrder:   "depends on which valve moves first",
		controls.OnHistory: "depends on what was driven before",
		controls.OnUnknown: "depends on what is not known",
	}[d]
}

// OrNote says what "or" is where all that a range can come to is shown.
const OrNote = "or = it can come to each of these"

// Several says that a range can come to more than one thing, and on what that depends.
func Several(rng, cause, depends string) string {
	return "With " + cause + ", " + rng + " can come to more than one thing (" + depends + ")."
}

// CanCome says that a range can come to more than what is shown of it.
func CanCome(rng, cause, depends, shown string, others []string) string {
	return Several(rng, cause, depends) + " Shown here: " + shown +
		". It can also come to: " + strings.Join(others, "; or ") + "."
}

// OrElse says in few words what a range can come to besides what is shown.
func OrElse(depends string, others []string) string {
	return "It can also come to: " + strings.Join(others, "; or ") + " (" + depends + ")."
}

// Unsettled says of ranges that faults of the controls can bring them to more than one thing.
func Unsettled(faults []controls.Fault, ranges []string, depends string) string {
	return strings.Join(kinematics.Map(faults, ControlFault), "; ") + ": " + kinematics.And(ranges) +
		" can come to more than one thing (" + depends + ")"
}

// InsteadOf says what a range can come to instead, and by which faults of elements a
// command shows it: by any of some sets, of which an empty one is that of the healthy train.
func InsteadOf(reads string, sets [][]string) string {
	var how, with []string
	for _, faults := range sets {
		if len(faults) == 0 {
			how = kinematics.Union(how, "as when healthy")
		} else {
			with = append(with, "with --fault '"+strings.Join(faults, "' --fault '")+"'")
		}
	}
	if len(with) > 0 {
		how = append(how, "ask "+strings.Join(with, ", or "))
	}
	return reads + " (" + strings.Join(how, ", or ") + ")"
}

// Hunting is said of valves that come to no rest.
const Hunting = "the valves hunt"

// ControlFault says a fault of the controls in words: "S2 is stuck off".
func ControlFault(f controls.Fault) string { return f.Part + " " + ControlDoes(f) }

// ControlDoes is a fault of the controls behind the name of its part: "is stuck off".
func ControlDoes(f controls.Fault) string {
	words := map[controls.Kind]string{
		controls.StuckOn:   "is stuck on",
		controls.StuckOff:  "is stuck off",
		controls.NoCurrent: "has no current",
		controls.ShortOn:   "has current always",
		controls.Crossed:   "and " + f.With + " have their plugs crossed",
		controls.Lost:      "of the solenoids is lost",
		controls.StuckUp:   "is stuck up",
		controls.StuckDown: "is stuck down",
		controls.Spring:    "has a broken spring",
		controls.Blocked:   "is blocked",
		controls.Leaks:     "leaks",
		controls.Into:      "leaks into " + f.With,
		controls.Gone:      "is missing",
		controls.Between:   "stands between " + strings.ReplaceAll(f.With, " ", " and "),
		controls.NoLine:    "has no pressure",
		controls.LowLine:   "has low pressure",
	}[f.Kind]
	if f.Share.IsSet() {
		words += ": " + f.Share.String() + " of its pressure is left"
	}
	if len(f.Ranges) > 0 {
		words += ", in " + kinematics.And(f.Ranges) + " only"
	}
	return words
}

// Brought are remarks on what faults of the controls bring about, for commands that
// show one answer: that the fail-safe acts, that a range can come to more than is
// shown, that nothing changes.
func Brought(b *controls.Brought) []string {
	var words, list []string
	for _, f := range b.Faults {
		words = append(words, ControlFault(f))
	}
	list = append(list, "Controls: "+strings.Join(words, "; ")+".")
	if b.Answer.Known {
		list = append(list, "The control knows of the failure, and this is what it commands instead; "+
			"tieup controls shows both.")
	}
	if len(b.Open) > 0 {
		names := b.Answer.Network.Train.NamesOfRanges(b.Open)
		list = append(list, kinematics.And(names)+" can come to more than one thing: controls, solve, chart and the key "+
			"of a worksheet show each, other commands one of them in full.")
	}
	if len(b.Elements) == 0 && len(b.Open) == 0 {
		list = append(list, "Every range is fed as when healthy.")
	}
	return list
}
