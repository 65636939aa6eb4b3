package reading

import (
	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
)

// names are written as [] where there is none.
type names = document.List[string]

// MarshalJSON writes the conflict by names. A torque is that on the first member of a
// coupling, per unit torque at the member that is asked to turn.
func (c Conflict) MarshalJSON() ([]byte, error) {
	var torques document.Named[exact.Frac]
	for i, torque := range c.Torque {
		if torque.Sign() != 0 {
			torques.Add(c.train.Couplings[i].Name, torque)
		}
	}
	var witness document.Name
	if c.Witness >= 0 {
		witness = document.Name(c.train.Members[c.Witness].Name)
	}
	return document.Object(
		"motive", c.Demand, "elements", c.train.CouplingNames(c.Elements),
		"joints", names(kinematics.Map(c.Joints, func(joint int) string { return c.train.Joints[joint].Name })),
		"splines", c.train.CouplingNames(c.Splines), "torques", torques, "witness", witness,
		"lettings", document.List[Relaxation](c.Lettings),
	).MarshalJSON()
}

// MarshalJSON writes what the others do when the element lets go, and the whole state.
func (l Relaxation) MarshalJSON() ([]byte, error) {
	return document.Object(
		"element", l.train.Couplings[l.Element].Name, "others_verdict", l.Within.Verdict, "others_read", l.Reading.Pull,
		"others_pull", l.Within.Pull, "others_ask_witness", l.Asks, "then_reads", l.Then.Pull,
		"remaining_conflicts", document.List[int](l.Remain),
	).MarshalJSON()
}

// MarshalJSON writes the couplings that agree and those that could be spared.
func (r Redundancy) MarshalJSON() ([]byte, error) {
	return document.Object(
		"couplings", r.train.CouplingNames(r.Couplings), "spare", r.train.CouplingNames(r.Redundant),
	).MarshalJSON()
}

// MarshalJSON writes the change by names, and what the state does then.
func (c Change) MarshalJSON() ([]byte, error) {
	return document.Object(
		"apply", c.train.CouplingNames(c.Apply), "release", c.train.CouplingNames(c.Release),
		"mend", c.train.CouplingNames(c.Mend), "verdict", c.Outcome.Verdict,
		"ratio", document.RatioOf(c.Outcome.Ratio()),
		"reads", c.Reading.Pull, "as_when_healthy", c.Healthy, "as", document.Name(c.As),
	).MarshalJSON()
}

// MarshalJSON writes the hold by names: "to" is what it would join the member to, null for
// the housing.
func (m Missing) MarshalJSON() ([]byte, error) {
	var to document.Name
	if !m.Reaction {
		to = document.Name(m.train.Members[m.From].Name)
	}
	return document.Object(
		"coupling", m.train.Couplings[m.Coupling].Name, "instead", m.train.CouplingNames(m.Instead),
		"reaction", m.Reaction, "member", m.train.Members[m.Member].Name, "to", to,
		"turns", document.If(document.ExactAmount(m.Turns), !m.Turns.Empty),
	).MarshalJSON()
}

// MarshalJSON writes the path by names.
func (p Path) MarshalJSON() ([]byte, error) {
	return document.Object(
		"steps", document.List[Step](p.Steps), "reaction", p.train.CouplingNames(p.Reaction),
		"loaded", p.train.CouplingNames(p.Loaded), "supports", document.List[Support](p.Supports),
		"idle_gearsets", p.train.GearsetNames(p.Idle),
	).MarshalJSON()
}

// MarshalJSON writes the step by names: through an "element", a "joint" or a "gearset". The
// step to which power circulates is counted from 1.
func (s Step) MarshalJSON() ([]byte, error) {
	through, name := "gearset", ""
	switch {
	case s.Coupling >= 0:
		through, name = "element", s.train.Couplings[s.Coupling].Name
	case s.Joint >= 0:
		through, name = "joint", s.train.Joints[s.Joint].Name
	default:
		name = s.train.Gearsets[s.Gearset].Name
	}
	return document.Object(
		"through", through, "name", name, "from", s.train.NamesOf(s.From), "to", s.train.NamesOf(s.To),
		"held", s.train.NamesOf(s.Held), "circulates_to_step", document.If(s.Back+1, s.Back >= 0),
	).MarshalJSON()
}

// MarshalJSON writes the support by names.
func (s Support) MarshalJSON() ([]byte, error) {
	return document.Object(
		"members", s.train.NamesOf(s.Members), "by", s.train.CouplingNames(s.By), "fixed_to_housing", s.Fixed,
		"through_gearsets", s.train.GearsetNames(s.Through),
	).MarshalJSON()
}
