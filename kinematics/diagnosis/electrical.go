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

// ofPart is bad where a fault of the controls shows in the part that is tested.
func (x *Test) ofPart(s *Suspect, shows func(f controls.Fault, part string) bool, good, bad string) Reply {
	if s.Kind == Controlled && slices.ContainsFunc(s.Controls, func(f controls.Fault) bool { return shows(f, x.Part) }) {
		return x.shows(Bad, bad)
	}
	return x.shows(Good, good)
}

// silent says whether a fault keeps a solenoid from clicking when a scan tool switches it on
// and off: one that sticks, has no current or has it always does not click, and with the
// plugs crossed another one does (common practice, no source).
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

// wired says whether a fault is one of the wires or the coil of a solenoid, or of the supply,
// which command and resistance at the connector show; not one that sticks.
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
	name, in, err := cutRange(t, x.Kind, what)
	if err == nil && !slices.Contains(n.Circuits(), name) {
		err = t.NoSuch("circuit", name, n.Circuits())
	}
	if err == nil {
		x.Part = name
		x.Range, err = t.FindRange(in)
	}
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
