package diagnosis

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// supplyPart is the supply of all solenoids, as a test names it.
const supplyPart = "supply"

// Stored is the word of a trouble code that was read.
const Stored Word = "stored"

// controlTests lists the tests of the controls: command and resistance at the connector
// of every solenoid, each switched by a scan tool, the supply, and a gauge at the tap of every circuit in every range.
func controlTests(t *kinematics.Train) []Test {
	n := controls.Of(t)
	if n == nil {
		return nil
	}
	var list []Test
	for _, s := range n.Wired() {
		list = append(list, Test{Kind: Connector, Coupling: -1, Part: s}, Test{Kind: Switching, Coupling: -1, Part: s})
	}
	if len(n.Wired()) > 0 {
		list = append(list, Test{Kind: Connector, Coupling: -1, Part: supplyPart})
	}
	for _, c := range n.Circuits() {
		for r := range t.Ranges {
			list = append(list, Test{Kind: CircuitTap, Coupling: -1, Part: c, Range: r})
		}
	}
	return list
}

// connector is what command and resistance at a connector show: a fault of the wires or
// of the coil, not one that sticks.
func connector(x *Test, s *Suspect) Reply {
	if s.Kind == Controlled && slices.ContainsFunc(s.Controls, func(f controls.Fault) bool { return wired(f, x.Part) }) {
		return x.shows(Bad, "no command, or a resistance that is off")
	}
	return x.shows(Good, "command and resistance right")
}

// switching is what is heard when a scan tool switches a solenoid on and off: one that
// sticks, has no current or has it always does not click, and with the plugs crossed
// another one does (common practice, no source).
func switching(x *Test, s *Suspect) Reply {
	if s.Kind == Controlled && slices.ContainsFunc(s.Controls, func(f controls.Fault) bool { return silent(f, x.Part) }) {
		return x.shows(Bad, "no click, or another one clicks")
	}
	return x.shows(Good, "it clicks, and no other does")
}

// silent says whether a fault keeps a solenoid from clicking when it is switched.
func silent(f controls.Fault, part string) bool {
	switch f.Kind {
	case controls.Lost:
		return true
	case controls.Crossed:
		return f.Part == part || f.With == part
	case controls.StuckOn, controls.StuckOff, controls.NoCurrent, controls.ShortOn:
		return f.Part == part
	}
	return false
}

// wired says whether a fault is one of the wires of a solenoid, or of the supply.
func wired(f controls.Fault, part string) bool {
	switch {
	case f.Kind == controls.Crossed:
		return f.Part == part || f.With == part
	case f.Kind == controls.Lost:
		return part == supplyPart
	}
	return f.Kind.Electrical() && f.Part == part
}

// circuitTap is what a gauge at the tap of a circuit shows.
func (f *Finder) circuitTap(x *Test, s *Suspect) Reply {
	if controls.Of(f.t) == nil {
		return Reply{}
	}
	switch l := f.pressureAt(x.Part, x.Range, s); {
	case !l.Known():
		return Reply{}
	case l == controls.Low, l == controls.Full && s.lowLine():
		return x.shows(Low, "low pressure")
	case l == controls.Full:
		return x.shows(Fed, "full pressure")
	}
	return x.shows(NotFed, "no pressure")
}

// lowLine says whether line pressure is low under a suspect.
func (s *Suspect) lowLine() bool {
	return s.Kind == Pressure || s.Kind == Controlled &&
		slices.ContainsFunc(s.Controls, func(f controls.Fault) bool { return f.Kind == controls.LowLine })
}

// partPlace writes the place of a test of the controls.
func (x *Test) partPlace(t *kinematics.Train) string {
	if x.Kind == CircuitTap {
		return x.Kind.Name() + ":" + x.Part + "@" + t.Ranges[x.Range].Name
	}
	return x.Kind.Name() + ":" + x.Part
}

// parsePart reads what stands behind the colon of a test of the controls.
func parsePart(t *kinematics.Train, x *Test, what string) (err error) {
	if x.Kind == CodeRead {
		x.Part = strings.ToUpper(what)
		_, err = ParseCode(x.Part)
		return err
	}
	n := controls.Of(t)
	if n == nil {
		return fmt.Errorf("the file of %s says nothing of its controls", t.Name)
	}
	if x.Kind == Connector || x.Kind == Switching {
		x.Part = what
		if x.Kind == Switching && what == supplyPart {
			return t.NoSuch("solenoid", what, n.Wired())
		}
		if what != supplyPart && !slices.Contains(n.Wired(), what) {
			return t.NoSuch("solenoid", what, append(slices.Clone(n.Wired()), supplyPart))
		}
		return nil
	}
	name, in, ok := strings.Cut(what, "@")
	if !ok {
		return fmt.Errorf("pressure is measured in a range: write it behind @, such as %s:%s@%s", x.Kind.Name(), what,
			t.Ranges[0].Name)
	}
	x.Part = strings.TrimSpace(name)
	if !slices.Contains(n.Circuits(), x.Part) {
		return t.NoSuch("circuit", x.Part, n.Circuits())
	}
	x.Range, err = t.FindRange(strings.TrimSpace(in))
	return err
}

// partText says what to do in a test of the controls.
func (x *Test) partText(t *kinematics.Train) string {
	switch {
	case x.Kind == CircuitTap:
		return "Pressure at the tap of circuit " + x.Part + " in " + t.Ranges[x.Range].Name + ": is it there?"
	case x.Kind == CodeRead:
		return "Read the stored codes: is " + x.Part + " among them?"
	case x.Kind == Switching:
		return "Switch " + x.Part + " on and off by the scan tool: does it click, and no other one?"
	case x.Part == supplyPart:
		return "Supply and ground of the solenoids at the connector: are they there?"
	}
	return "Command and resistance of " + x.Part + " at the connector: are they right?"
}
