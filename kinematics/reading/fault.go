package reading

import (
	"strings"

	"tieup/kinematics"
)

// faultWords are the words of one kind of fault.
type faultWords struct {
	clause string // behind the name, and before the share of the rating where one belongs to it
	is     string // "is ", or "" before a word that is a verb
	brief  string // where it is one of several things on a line: forward is "stuck on"
	state  string // in brackets behind the name, or as the state of an element
	inHand string // what an element with it does when it is taken in hand
	plain  string // behind the name, to somebody who does not know the trade
}

// faultTable has a row for every kind of fault.
var faultTable = map[kinematics.FaultKind]faultWords{
	kinematics.Stuck:    {"is stuck on", "is ", "stuck on", "stuck on", "does not let go", "holds where it should not"},
	kinematics.OpenF:    {"never holds", "", "never holds", "does not hold", "does not hold", "does not hold"},
	kinematics.Weak:     {"is weak: it holds with ", "is ", "weak", "weak", "is worn", "holds too weakly"},
	kinematics.Dragging: {"drags when released, with ", "", "drags", "dragging", "drags", "does not let go fully"},
	kinematics.Slips:    {"slips: it holds neither way", "", "slips", "slips", "turns both ways", "does not hold"},
	kinematics.Seized: {"is seized: it holds both ways", "is ", "seized", "seized", "turns neither way",
		"holds where it should not"},
	kinematics.Backward: {"is fitted backwards", "is ", "backwards", "fitted backwards", "turns the wrong way",
		"is fitted the wrong way round"},
	kinematics.Sheared: {"is sheared off ", "is ", "sheared", "sheared off", "turns in its joint",
		"is torn off"},
	kinematics.Missing: {"is missing: it holds nothing", "is ", "missing", "missing", "does not engage", "does not hold"},
}

// FaultWord is a kind of fault where it is one of several things on a line: "stuck on".
func FaultWord(k kinematics.FaultKind) string { return faultTable[k].brief }

// FaultState is a kind of fault in brackets behind the name of an element, or as its
// state: "does not hold".
func FaultState(k kinematics.FaultKind) string { return faultTable[k].state }

// FaultInHand is what an element with a fault does when it is taken in hand: "turns both ways".
func FaultInHand(k kinematics.FaultKind) string { return faultTable[k].inHand }

// FaultPlainly is what a part with a fault does, to somebody who does not know the trade:
// "does not hold".
func FaultPlainly(k kinematics.FaultKind) string { return faultTable[k].plain }

// AllHealthy is said where there is no fault.
const AllHealthy = "The train is healthy."

// FaultWhere says a fault in words, and that it acts in all ranges where it does.
func FaultWhere(t *kinematics.Train, f kinematics.Fault) string {
	if len(f.Ranges) == 0 {
		return Fault(t, f) + ", in all ranges"
	}
	return Fault(t, f)
}

// Fault says a fault in words: "forward is stuck", "roller is fitted backwards,
// in R and N only".
func Fault(t *kinematics.Train, f kinematics.Fault) string {
	c := &t.Couplings[f.Coupling]
	if brought := caused(f); brought != "" {
		return c.Name + brought
	}
	clause := faultTable[f.Kind].clause
	words := c.Name + " " + clause
	switch {
	case f.Kind == kinematics.Stuck && f.Share.IsSet():
		words += ", held with " + f.Share.String() + " of its rating"
	case f.Kind == kinematics.Weak, f.Kind == kinematics.Dragging:
		words += f.Share.String() + " of its rating"
	case f.Kind == kinematics.Sheared:
		joint := t.Joints[c.Joint].Name
		words = t.Members[c.A].Name + " " + clause + joint + ": it turns free of the others"
		if shaft, ok := Stripped(t, f.Coupling); ok {
			words = shaft + ": it turns free of the others in joint " + joint
		}
	}
	if n := len(f.Ranges); n > 0 {
		words += ", in " + kinematics.And(f.Ranges) + " only"
	}
	return words
}

// Stripped says of a spline that is sheared, if it is that of a shaft, what a workshop finds:
// "turbine shaft splines stripped".
func Stripped(t *kinematics.Train, spline int) (string, bool) {
	m := &t.Members[t.Couplings[spline].A]
	if m.Kind != kinematics.ShaftMember {
		return "", false
	}
	name := m.Name
	if !strings.Contains(name, "shaft") && !strings.Contains(name, "shell") && !strings.Contains(name, "drum") {
		name += " shaft"
	}
	for i := range t.Couplings {
		if c := &t.Couplings[i]; i != spline && c.Kind == kinematics.Spline && c.A == t.Couplings[spline].A {
			return name + " splines in joint " + t.Joints[t.Couplings[spline].Joint].Name + " stripped", true
		}
	}
	return name + " splines stripped", true
}

// caused says behind the name of an element what the controls bring about there: " is not fed
// in D2: S2=stuck-off"; "" of what they do not.
func caused(f kinematics.Fault) string {
	words := map[kinematics.FaultKind]string{
		kinematics.Stuck:    " is fed",
		kinematics.OpenF:    " is not fed",
		kinematics.Weak:     " has low pressure, or part of its area (" + f.Share.String() + ")",
		kinematics.Dragging: " gets low pressure (" + f.Share.String() + ")",
	}[f.Kind]
	if f.Cause == "" || words == "" {
		return ""
	}
	return words + " in " + kinematics.And(f.Ranges) + ": " + f.Cause
}

// Element says in words what an element does: what it grounds or joins, and
// which way a one-way clutch holds.
func Element(t *kinematics.Train, c *kinematics.Coupling) string {
	a, b := t.Members[c.A].Name, t.Members[c.B].Name
	if c.Kind == kinematics.OneWay {
		words := "one-way clutch: "
		switch {
		case c.B == kinematics.Housing:
			words += a + " may turn forward, is held against turning backward"
		case c.A == kinematics.Housing:
			words += b + " may turn backward, is held against turning forward"
		default:
			words += a + " may turn forward faster than " + b + ", never slower"
		}
		if c.Switched {
			words += "; acts only in the ranges that apply it"
		}
		return words
	}
	kind := c.Kind.String()
	if c.Kind == kinematics.Pawl {
		kind = "parking pawl"
	}
	switch {
	case c.B == kinematics.Housing:
		return kind + ", holds " + a
	case c.A == kinematics.Housing:
		return kind + ", holds " + b
	}
	return kind + ", joins " + a + " and " + b
}
