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

// Words says what the range can come to, each thing once, and how to ask for what is not shown.
func (o RangeOutcomes) Words() string {
	others := kinematics.Map(o.reads(), func(reads string) string {
		var sets [][]string
		for _, x := range o.Others {
			if x.Reads == reads {
				sets = append(sets, faultTexts(x.Faults))
			}
		}
		return reading.InsteadOf(reads, sets)
	})
	return reading.CanCome(o.Range, o.Cause, o.Depends, o.Shown, others)
}

// outcomes says which of some ranges can come to more than the one thing that an answer is
// of, and what that can do to people.
func (w *worker) outcomes(c Condition, ranges ...*kinematics.Range) (list []RangeOutcomes, hazards []reading.Hazard) {
	if c.brought == nil || len(c.brought.Open) == 0 {
		return nil, nil
	}
	for _, r := range ranges {
		others := c.brought.Instead(r, c.Faults)
		if others == nil {
			continue
		}
		o := RangeOutcomes{Range: r.Name, Cause: controls.Text(c.brought.Faults), Depends: w.depends(c.brought, r),
			Shown: w.reader.Read(r, c.Faults...).Whole()}
		healthy := w.reader.Read(r)
		for _, faults := range others {
			cell := w.reader.Read(r, faults...)
			o.Hazards = append(o.Hazards, reading.Hazards(healthy, cell)...)
			o.Others = append(o.Others, OtherOutcome{cell.Whole(),
				faultsOf(w.system.Train, kinematics.Acting(faults, r))})
		}
		list, hazards = append(list, o), append(hazards, o.Hazards...)
	}
	return list, hazards
}

// hazards are what ranges can do to people under the condition, whatever they come to, with
// those that can come to more than one thing.
func (w *worker) hazards(c Condition, ranges ...*kinematics.Range) ([]RangeOutcomes, []reading.Hazard) {
	outcomes, hazards := w.outcomes(c, ranges...)
	for _, r := range ranges {
		hazards = append(hazards, reading.Hazards(w.reader.Read(r), w.reader.Read(r, c.Faults...))...)
	}
	return outcomes, hazards
}

// cautions is [worker.hazards] in words.
func (w *worker) cautions(c Condition, ranges ...*kinematics.Range) ([]RangeOutcomes, []string) {
	outcomes, hazards := w.hazards(c, ranges...)
	return outcomes, reading.Cautions(w.system.Train.Use, hazards)
}

// ways are the condition and, for each other thing that some ranges can come to, what it is then.
func (c Condition) ways(ranges ...*kinematics.Range) []Condition {
	ways := []Condition{c}
	if c.brought == nil || len(c.brought.Open) == 0 {
		return ways
	}
	for _, r := range ranges {
		for _, way := range ways {
			for _, faults := range c.brought.Instead(r, way.Faults) {
				ways = append(ways, Condition{faults, c.brought, nil})
			}
		}
	}
	return ways
}

// pointers are those to the ranges of a list.
func pointers(ranges []kinematics.Range) []*kinematics.Range {
	list := make([]*kinematics.Range, len(ranges))
	for i := range list {
		list[i] = &ranges[i]
	}
	return list
}

// reads is what else the range does, each once.
func (o RangeOutcomes) reads() []string {
	return kinematics.Union(nil, kinematics.Map(o.Others, func(x OtherOutcome) string { return x.Reads })...)
}

// Several says that the range can come to more than one thing, where all are shown.
func (o RangeOutcomes) Several() string { return reading.Several(o.Range, o.Cause, o.Depends) }

// OrNote says what the rows are that say "or", "" where there is none.
func (c *WallChart) OrNote() string {
	if slices.ContainsFunc(c.Charts, func(row *WallRow) bool { return row.Or }) {
		return reading.OrNote
	}
	return ""
}

// Says is what the range can come to, where nothing can be asked.
func (o RangeOutcomes) Says() string {
	return reading.CanCome(o.Range, o.Cause, o.Depends, o.Shown, o.reads())
}

// Brief says in few words what else the range can come to.
func (o RangeOutcomes) Brief() string { return reading.OrElse(o.Depends, o.reads()) }

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
