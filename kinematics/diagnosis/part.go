package diagnosis

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// A Part is what is to be looked at: an element, a joint, several of them at once,
// or what commands and feeds them; with the suspects of a group that say so.
type Part struct {
	Place    PlaceKey
	Name     string
	Suspects []*Suspect
}

// A PlaceKey is equal for hypotheses that say that the same is at fault.
type PlaceKey string

// Parts sorts suspects by the part that they say is at fault, the part of the
// likeliest suspect first.
func Parts(t *kinematics.Train, suspects []*Suspect) []Part {
	key := func(s *Suspect) PlaceKey { return s.Place(t) }
	return kinematics.Map(kinematics.GroupBy(suspects, key), func(of []*Suspect) Part {
		names := kinematics.Map(of[0].sites(t), func(x site) string { return x.name(t) })
		return Part{key(of[0]), strings.Join(names, " and "), of}
	})
}

// A site is one thing that can be at fault.
type site struct {
	kind       siteKind
	index      int    // of a member, joint or coupling
	part, with string // of the controls
}

type siteKind byte

const (
	nothingSite siteKind = iota
	fluidSite
	leverSite
	commandSite
	timingSite
	supplySite
	gearSite
	carrierSite
	jointSite
	elementSite
	valveSite // or what else of the controls is called by its name alone
	circuitSite
	solenoidSite
	plugsSite
)

// siteWords are what a site is called, with its name behind it from gears on.
var siteWords = [...]string{"nothing in the train", "fluid and pressure", "lever and linkage", "control",
	"timing of the shift", "supply of the solenoids", "gear ", "carrier ", "joint ", "", "", "circuit ", "solenoid ",
	"plugs of "}

func (x site) name(t *kinematics.Train) string {
	name := x.part
	switch x.kind {
	case gearSite, carrierSite:
		name = t.Members[x.index].Name
	case jointSite:
		name = t.Joints[x.index].Name
	case elementSite:
		name = t.Couplings[x.index].Name
	case plugsSite:
		name += " and " + x.with
	}
	return siteWords[x.kind] + name
}

// Place is the key of what a hypothesis says is at fault.
func (h *Hypothesis) Place(t *kinematics.Train) PlaceKey {
	var key []byte
	for _, x := range h.sites(t) {
		key = append(key, byte(x.kind), byte(x.index), byte(x.index>>8))
		key = append(append(append(append(key, x.part...), 0), x.with...), 0)
	}
	return PlaceKey(key)
}

// sites are what a hypothesis says is at fault.
func (h *Hypothesis) sites(t *kinematics.Train) []site {
	switch {
	case h.Kind == Healthy:
		return []site{{kind: nothingSite}}
	case h.Kind == Pressure || h.Kind == HighPressure:
		return []site{{kind: fluidSite}}
	case h.Kind == Torn && t.Members[h.Gear].Kind == kinematics.CarrierMember:
		return []site{{kind: carrierSite, index: int(h.Gear)}}
	case h.Kind == Torn:
		return []site{{kind: gearSite, index: int(h.Gear)}}
	case h.Kind == Timing:
		return []site{{kind: timingSite}}
	case h.Kind == WrongWay && h.Lever != 0:
		return []site{{kind: leverSite}}
	case h.Kind == WrongWay:
		return []site{{kind: commandSite}}
	}
	own := h.Faults
	if h.Kind == Controlled {
		own = h.Own
	}
	var list []site
	for _, f := range h.Controls {
		list = kinematics.Union(list, controlSite(t, f))
	}
	for _, f := range own {
		x := site{kind: elementSite, index: f.Coupling}
		if c := &t.Couplings[f.Coupling]; c.Kind == kinematics.Spline {
			x = site{kind: jointSite, index: c.Joint}
		}
		list = kinematics.Union(list, x)
	}
	return list
}

// controlSite is what has a fault of the controls.
func controlSite(t *kinematics.Train, f controls.Fault) site {
	switch f.Kind {
	case controls.Between:
		return site{kind: leverSite}
	case controls.NoLine, controls.LowLine:
		return site{kind: fluidSite}
	case controls.Lost:
		return site{kind: supplySite}
	case controls.Crossed:
		return site{kind: plugsSite, part: f.Part, with: f.With}
	case controls.Blocked, controls.Leaks, controls.Into:
		return site{kind: circuitSite, part: f.Part}
	case controls.StuckUp, controls.StuckDown, controls.Spring, controls.Gone:
		return site{kind: valveSite, part: f.Part}
	}
	if !slices.Contains(controls.Of(t).Wired(), f.Part) {
		return site{kind: valveSite, part: f.Part}
	}
	return site{kind: solenoidSite, part: f.Part}
}

// Findings lists what can be wrong with a part, in as few words as there are: "never
// fed", "off in R". Members that can be sheared off a joint are one finding.
func (p *Part) Findings(t *kinematics.Train) []string {
	var list, sheared []string
	for i, s := range p.Suspects {
		switch {
		case s.Kind == Faulty && len(s.Faults) == 1 && s.Faults[0].Kind == kinematics.Sheared:
			_, member := t.Spline(s.Faults[0].Coupling)
			sheared = append(sheared, member)
		case slices.ContainsFunc(p.Suspects[:i], s.foundAs):
		default:
			list = append(list, s.finding(t)+p.failSafe(s))
		}
	}
	if sheared != nil {
		list = append(list, kinematics.Or(sheared)+" sheared off")
	}
	return list
}

// foundAs says whether two suspects of a part are the same finding, to whatever degree: of a
// fault of the controls alone, whatever comes of it.
func (s *Suspect) foundAs(o *Suspect) bool {
	if !s.sameControls(&o.Hypothesis) {
		return false
	}
	return s.Kind == Controlled && s.bare() || s.Lever == o.Lever && s.Shift == o.Shift && s.Late == o.Late &&
		s.Gear == o.Gear && s.failSafe == o.failSafe && s.Way == o.Way && s.Ways == o.Ways &&
		slices.Equal(s.Command, o.Command) && slices.EqualFunc(s.Faults, o.Faults, func(f, g kinematics.Fault) bool {
		return f.Coupling == g.Coupling && f.Kind == g.Kind && slices.Equal(f.Ranges, g.Ranges)
	})
}

// sameControls says whether two hypotheses are of one kind, with the same faults of the
// controls and of couplings beside them.
func (h *Hypothesis) sameControls(o *Hypothesis) bool {
	return h.Kind == o.Kind && slices.EqualFunc(h.Own, o.Own, sameFault) &&
		slices.EqualFunc(h.Controls, o.Controls, func(f, g controls.Fault) bool { return f.Part == g.Part && f.Alike(g) })
}

// failSafe says that a fault of the controls is suspected of one time alone: before the fail-safe
// acts, or after.
func (p *Part) failSafe(s *Suspect) string {
	other := func(o *Suspect) bool { return s.foundAs(o) && o.failSafe != s.failSafe }
	if s.Kind != Controlled || !s.bare() || slices.ContainsFunc(p.Suspects, other) {
		return ""
	}
	return [...]string{"", " (before)", " (after)"}[s.failSafe]
}

// finding is what is found with a part: of a fault of the controls whatever comes of it.
func (s *Suspect) finding(t *kinematics.Train) string {
	switch {
	case !s.bare():
		return s.Short(t)
	case s.Kind == Controlled:
		return s.Controls[0].What()
	}
	return findingText(t, s.Faults[0])
}

// bare says whether what is found does not name the part: of one fault of an element,
// a joint, or the controls.
func (s *Suspect) bare() bool {
	return s.Kind == Faulty && len(s.Faults) == 1 || s.Kind == Controlled && len(s.Controls) == 1 && len(s.Own) == 0
}

// Bare says whether what is found with a part does not name it.
func (p *Part) Bare() bool { return p.Suspects[0].bare() }

// Says tells what can be wrong with a part, behind its name: "direct: never fed; never
// holds". Of several parts at once each finding names them.
func (p *Part) Says(t *kinematics.Train) string {
	text := strings.Join(p.Findings(t), "; ")
	if s := p.Suspects[0]; (s.Kind == Faulty || s.Kind == Controlled) && !s.bare() {
		return text
	}
	return p.Name + ": " + text
}

// Plainly says what can be wrong with a part to somebody who does not know the trade, each
// thing once: "solenoid S2 is stuck on or has current always".
func (p *Part) Plainly(t *kinematics.Train) string {
	said := kinematics.Map(p.Suspects, func(s *Suspect) [2]string {
		who, what := s.plainly(t)
		return [2]string{who, what}
	})
	who := func(x [2]string) string { return x[0] }
	lines := kinematics.Map(kinematics.GroupBy(kinematics.Union(nil, said...), who), func(of [][2]string) string {
		what := kinematics.Or(kinematics.Map(of, func(x [2]string) string { return x[1] }))
		return strings.TrimSpace(of[0][0] + " " + what)
	})
	return strings.Join(lines, ", or ")
}

// Causes are what to look for in a part: those of all its suspects.
func (p *Part) Causes(t *kinematics.Train) []Cause {
	var list []Cause
	for _, s := range p.Suspects {
		for _, c := range s.Causes(t) {
			if !slices.ContainsFunc(list, func(x Cause) bool { return x.same(c) }) {
				list = append(list, c)
			}
		}
	}
	return list
}
