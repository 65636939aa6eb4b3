package analysis

import (
	"context"

	"tieup/kinematics"
	"tieup/kinematics/certify/verify"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Reasons are what a state does, a range or combination, and why.
type Reasons struct {
	Schema string            `json:"schema"`
	Units  Named[string]     `json:"units"`
	Train  *kinematics.Train `json:"train"`
	Range  Name              `json:"range"`
	Apply  List[string]      `json:"apply"`
	Faulted
	Drive
	Conflicts List[Conflict] `json:"conflicts"`
	// What there is more of than is listed: conflicts of these motives, paths and
	// agreements.
	MoreConflicts  List[solve.Demand] `json:"more_conflicts"`
	MorePaths      bool               `json:"more_paths"`
	MoreAgreements bool               `json:"more_agreements"`

	Paths       List[Path]            `json:"paths"`
	Agreements  List[Redundancy]      `json:"agreements"`
	Changes     List[Remedy]          `json:"changes"`
	Missing     List[Missing]         `json:"missing"` // why there is no drive
	Certificate Proof                 `json:"certificate"`
	Text        List[reading.Section] `json:"text"`
	// Chains say how faults of the controls reach elements: [Question.Chains].
	Chains   List[string] `json:"chains"`
	Remark   string       `json:"remark,omitempty"` // as in [Solved]
	Cautions List[string] `json:"cautions"`

	Headline string          `json:"-"`
	Why      *reading.Why    `json:"-"`
	Doings   []reading.Doing `json:"-"` // by coupling
}

// A Missing is a hold for want of which a range that is meant to drive does not.
type Missing struct {
	Coupling string       `json:"coupling"` // that is meant to hold
	Instead  List[string] `json:"instead"`  // that would do as well
	Reaction bool         `json:"reaction"` // it would hold the member, else join it to another
	Member   string       `json:"member"`
	To       Name         `json:"to"` // none for the housing
	// Turns is the speed of the member while the output is held, per turn of the
	// input; nil where the input cannot turn so.
	Turns *ExactAmount `json:"turns"`
}

// A Conflict is a smallest set of elements and joints that makes a motion
// impossible.
type Conflict struct {
	Motive   solve.Demand      `json:"motive"`
	Elements List[string]      `json:"elements"`
	Joints   List[string]      `json:"joints"`
	Splines  List[string]      `json:"splines"`
	Torques  Named[exact.Frac] `json:"torques"`
	Witness  Name              `json:"witness"`
	Lettings List[Relaxation]  `json:"lettings"`
}

// A Relaxation is what becomes of a conflict when one of its elements lets go.
type Relaxation struct {
	Element string         `json:"element"`
	Verdict solve.Verdict  `json:"others_verdict"`
	Reads   string         `json:"others_read"`
	Pull    exact.Interval `json:"others_pull"`
	Asks    exact.Interval `json:"others_ask_witness"`
	Then    string         `json:"then_reads"`
	Remain  List[int]      `json:"remaining_conflicts"`
}

// A Redundancy is a set of couplings that ask for the same motion, and those of
// them that could be spared.
type Redundancy struct {
	Couplings List[string] `json:"couplings"`
	Spare     List[string] `json:"spare"`
}

// A Path is one way in which a driving state carries its load.
type Path struct {
	Steps    List[Step]    `json:"steps"`
	Reaction List[string]  `json:"reaction"`
	Loaded   List[string]  `json:"loaded"`
	Supports List[Support] `json:"supports"`
	Idle     List[string]  `json:"idle_gearsets"`
}

// A Step passes power on through an element, a joint or a gearset.
type Step struct {
	Through string       `json:"through"`
	Name    string       `json:"name"`
	From    List[string] `json:"from"`
	To      List[string] `json:"to"`
	Held    List[string] `json:"held"`
	Back    *int         `json:"circulates_to_step"` // counted from 1
}

// A Support is how members at rest are held.
type Support struct {
	Members List[string] `json:"members"`
	By      List[string] `json:"by"`
	Fixed   bool         `json:"fixed_to_housing"`
	Through List[string] `json:"through_gearsets"`
}

// A Remedy makes a state drive that does not.
type Remedy struct {
	Apply   List[string]  `json:"apply"`
	Release List[string]  `json:"release"`
	Mend    List[string]  `json:"mend"`
	Verdict solve.Verdict `json:"verdict"`
	Ratio   Ratio         `json:"ratio"`
	Reads   string        `json:"reads"`
	Healthy bool          `json:"as_when_healthy"`
	As      Name          `json:"as"`
}

// Why gives the reasons for what a range, or a combination without a name, does
// under faults.
func (a *Analysis) Why(ctx context.Context, r *kinematics.Range, faults []kinematics.Fault) (*Reasons, error) {
	if r == nil {
		return nil, errNoRange
	}
	w := a.workers.take()
	defer a.workers.put(w)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	why := reading.Explain(ctx, w.reader, r, kinematics.Acting(faults, r)...)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	reasons := reasonsOf(why)
	reasons.Certificate = Proof{func() *verify.Certificate { return explained(w.system, why) }}
	reasons.Cautions = reading.Cautions(a.Train.Use, reading.Hazards(w.reader.Read(r), why.Cell))
	return reasons, nil
}

func reasonsOf(why *reading.Why) *Reasons {
	t := why.Train
	r := &Reasons{
		Schema: "tieup.why/1",
		Units: document.Texts(
			"others_pull", "turns of the output per turn of the input, + moves the vehicle forward",
			"others_ask_witness",
			"turns of the member per turn of the input, or of the output that is to roll, + as the input turns",
			"torques", "on the first member of a coupling, per unit torque at the member that is asked to turn",
		),
		Train: t, Range: Name(why.Range.Name), Apply: t.CouplingNames(why.Range.Apply),
		Faulted: faulted(t, why.Faults), Drive: driveOf(&why.Motion.Outcome, why.Reading.Pull, why.Reading.Coast),
		MoreConflicts: why.MoreConflicts, MorePaths: why.MorePaths, MoreAgreements: why.MoreAgreements,
		Text: why.Sections(), Headline: why.Headline(), Why: why,
		Doings:    reading.Doings(t, why.Range, why.Motion, why.Faults),
		Conflicts: named(t, why.Conflicts, conflictOf), Paths: named(t, why.Paths, pathOf),
		Missing: named(t, why.Missing, missingOf),
	}
	r.Agreements = kinematics.Map(why.Redundancies, func(x reading.Redundancy) Redundancy {
		return Redundancy{t.CouplingNames(x.Couplings), t.CouplingNames(x.Redundant)}
	})
	r.Changes = kinematics.Map(why.Changes, func(c reading.Change) Remedy {
		return Remedy{t.CouplingNames(c.Apply), t.CouplingNames(c.Release), t.CouplingNames(c.Mend), c.Outcome.Verdict,
			document.RatioOf(c.Outcome.Ratio()), c.Reading.Pull, c.Healthy, Name(c.As)}
	})
	if reading.ByTorque(why.Range, why.Faults) {
		r.Remark = reading.TorqueRemark
	}
	return r
}

func missingOf(t *kinematics.Train, m *reading.Missing) Missing {
	x := Missing{
		Coupling: t.Couplings[m.Coupling].Name, Instead: t.CouplingNames(m.Instead), Reaction: m.Reaction,
		Member: t.Members[m.Member].Name,
		Turns:  document.If(ExactAmount(m.Turns), !m.Turns.Empty),
	}
	if !m.Reaction {
		x.To = Name(t.Members[m.From].Name)
	}
	return x
}

func conflictOf(t *kinematics.Train, c *reading.Conflict) Conflict {
	x := Conflict{
		Motive: c.Demand, Elements: t.CouplingNames(c.Elements), Splines: t.CouplingNames(c.Splines),
	}
	x.Joints = kinematics.Map(c.Joints, func(joint int) string { return t.Joints[joint].Name })
	if c.Witness >= 0 {
		x.Witness = Name(t.Members[c.Witness].Name)
	}
	for i, torque := range c.Torque {
		if torque.Sign() != 0 {
			x.Torques.Add(t.Couplings[i].Name, torque)
		}
	}
	x.Lettings = kinematics.Map(c.Lettings, func(l reading.Relaxation) Relaxation {
		return Relaxation{t.Couplings[l.Element].Name, l.Within.Verdict, l.Reading.Pull, l.Within.Pull, l.Asks, l.Then.Pull,
			l.Remain}
	})
	return x
}

func pathOf(t *kinematics.Train, p *reading.Path) Path {
	x := Path{
		Reaction: t.CouplingNames(p.Reaction), Loaded: t.CouplingNames(p.Loaded), Idle: t.GearsetNames(p.Idle),
		Steps: named(t, p.Steps, stepOf),
	}
	x.Supports = kinematics.Map(p.Supports, func(s reading.Support) Support {
		return Support{t.NamesOf(s.Members), t.CouplingNames(s.By), s.Fixed, t.GearsetNames(s.Through)}
	})
	return x
}

func stepOf(t *kinematics.Train, s *reading.Step) Step {
	step := Step{From: t.NamesOf(s.From), To: t.NamesOf(s.To), Held: t.NamesOf(s.Held),
		Back: document.If(s.Back+1, s.Back >= 0)}
	switch {
	case s.Coupling >= 0:
		step.Through, step.Name = "element", t.Couplings[s.Coupling].Name
	case s.Joint >= 0:
		step.Through, step.Name = "joint", t.Joints[s.Joint].Name
	default:
		step.Through, step.Name = "gearset", t.Gearsets[s.Gearset].Name
	}
	return step
}
