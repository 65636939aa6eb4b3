package analysis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
)

// RangeOutcomes are what a range can come to under faults of the controls, where that is
// more than one thing.
type RangeOutcomes struct {
	Range   string             `json:"range"`
	Cause   string             `json:"cause"`   // the faults of the controls
	Depends string             `json:"depends"` // on what, in words
	Shown   string             `json:"shown"`   // what the answer is of
	Others  List[OtherOutcome] `json:"others"`

	Hazards []reading.Hazard `json:"-"` // of the others
}

// An OtherOutcome is one that the answer is not of.
type OtherOutcome struct {
	Reads  string      `json:"reads"`
	Faults List[Fault] `json:"faults"` // of elements and joints, with which a command answers it; none as healthy
}

// Words says what the range can come to, and how to ask for what is not shown.
func (o RangeOutcomes) Words() string {
	others := kinematics.Map(o.Others, func(x OtherOutcome) string {
		return reading.InsteadOf(x.Reads, faultTexts(x.Faults))
	})
	return reading.CanCome(o.Range, o.Cause, o.Depends, o.Shown, others)
}

// Outcomes says which ranges of a question can come to more than the one thing that an
// answer is of.
func (a *Analysis) Outcomes(q Question) (list []RangeOutcomes) {
	if q.brought == nil || len(q.brought.Open) == 0 {
		return nil
	}
	w := a.workers.take()
	defer a.workers.put(w)
	for i := range q.Ranges {
		r := &q.Ranges[i]
		others := q.brought.Instead(r, q.Faults)
		if others == nil {
			continue
		}
		o := RangeOutcomes{Range: r.Name, Cause: controls.Text(q.brought.Faults), Depends: w.depends(q.brought, r),
			Shown: w.reader.Read(r, q.Faults...).Whole()}
		healthy := w.reader.Read(r)
		for _, faults := range others {
			cell := w.reader.Read(r, faults...)
			o.Hazards = append(o.Hazards, reading.Hazards(healthy, cell)...)
			o.Others = append(o.Others, OtherOutcome{cell.Whole(), faultsOf(a.Train, kinematics.Acting(faults, r))})
		}
		list = append(list, o)
	}
	return list
}

// CautionsOf are the cautions of an answer, with those for what outcomes that it does
// not show can do.
func (a *Analysis) CautionsOf(outcomes []RangeOutcomes, cautions []string) []string {
	var hazards []reading.Hazard
	for _, o := range outcomes {
		hazards = append(hazards, o.Hazards...)
	}
	return reading.Merge(cautions, reading.Cautions(a.Train.Use, hazards))
}

// Brief says in few words what else the range can come to.
func (o RangeOutcomes) Brief() string {
	others := kinematics.Map(o.Others, func(x OtherOutcome) string { return x.Reads })
	return reading.OrElse(o.Depends, others)
}

// depends says on what it depends to which of several things a range comes.
func (w *worker) depends(b *controls.Brought, r *kinematics.Range) string {
	rng, _ := w.system.Train.Range(r.Name)
	c := b.Answer.Of(-1, rng)
	switch {
	case c.Depends != controls.Settled:
		return reading.Depends(c.Depends)
	case slices.ContainsFunc(c.List, controls.Outcome.Hunts):
		return reading.Hunting
	}
	return reading.Depends(controls.OnUnknown)
}
