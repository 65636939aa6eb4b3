package analysis

import (
	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// A Verdict is the least that can be said of a range: what it does, at what ratio,
// and what that can do to people. It is what a sweep over many states asks for.
type Verdict struct {
	Schema  string `json:"schema"`
	Train   string `json:"train"`
	Range   string `json:"range"`
	Faulted        // those that act here
	Drive
	Cautions List[string] `json:"cautions"`
}

// Verdicts answers what every range of the train does under faults.
func (a *Analysis) Verdicts(faults ...kinematics.Fault) []*Verdict {
	list := make([]*Verdict, len(a.Train.Ranges))
	for r := range list {
		list[r] = a.Verdict(r, faults)
	}
	return list
}

// Verdict answers what one range of the train, by its index, does under faults.
func (a *Analysis) Verdict(r int, faults []kinematics.Fault) *Verdict {
	t := a.Train
	v := &Verdict{Schema: "tieup.verdict/1", Train: t.Name, Range: t.Ranges[r].Name}
	v.Faulted = faulted(t, kinematics.Acting(faults, &t.Ranges[r]))
	w := a.workers.take()
	defer a.workers.put(w)
	is := w.reader.Read(&t.Ranges[r], faults...)
	v.Drive = driveOf(&is.Outcome, is.Text(), is.Reading.Coast)
	v.Cautions = reading.Cautions(t.Use, reading.Hazards(w.reader.Read(&t.Ranges[r]), is))
	return v
}
