package analysis

import (
	"context"

	"tieup/kinematics"
	"tieup/kinematics/certify/verify"
	"tieup/kinematics/document"
	"tieup/kinematics/reading"
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
	*reading.Why
	Certificate Proof                 `json:"certificate"`
	Text        List[reading.Section] `json:"text"`
	// Chains say how faults of the controls reach elements: [Condition.Chains].
	Chains   List[string] `json:"chains"`
	Remark   string       `json:"remark,omitempty"` // as in [Solved]
	Cautions List[string] `json:"cautions"`

	Doings []reading.Doing `json:"-"` // by coupling
}

// Why gives the reasons for what a range, or a combination without a name, does
// under faults.
func (a *Analysis) Why(ctx context.Context, r *kinematics.Range, c Condition) (*Reasons, error) {
	if err := c.in(a.Train, r); err != nil {
		return nil, err
	}
	w := a.workers.take()
	defer a.workers.put(w)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	why := reading.Explain(ctx, w.reader, r, kinematics.Acting(c.Faults, r)...)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	reasons := reasonsOf(why, c.at(r))
	reasons.Certificate = Proof{func() *verify.Certificate { return explained(w.system, why) }}
	reasons.Chains = c.Chains(r)
	reasons.Outcomes, reasons.Cautions = w.cautions(c, r)
	return reasons, nil
}

func reasonsOf(why *reading.Why, c Condition) *Reasons {
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
		Faulted: c.faulted(t), Drive: driveOf(&why.Motion.Outcome, why.Reading.Pull, why.Reading.Coast),
		Why: why, Text: why.Sections(), Doings: reading.Doings(t, why.Range, why.Motion, why.Faults),
	}
	if reading.ByTorque(why.Range, why.Faults) {
		r.Remark = reading.TorqueRemark
	}
	return r
}
