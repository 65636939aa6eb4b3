package analysis

import (
	"tieup/kinematics"
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
func (a *Analysis) Verdicts(faults ...kinematics.Fault) ([]*Verdict, error) {
	list := make([]*Verdict, len(a.Train.Ranges))
	for r := range list {
		var err error
		if list[r], err = a.Verdict(r, Under(faults...)); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// Verdict answers what one range of the train, by its index, does under faults.
func (a *Analysis) Verdict(r int, c Condition) (*Verdict, error) {
	t := a.Train
	rng, err := a.rangeAt(r)
	if err == nil {
		err = c.in(t, rng)
	}
	if err != nil {
		return nil, err
	}
	v := &Verdict{Schema: "tieup.verdict/1", Train: t.Name, Range: rng.Name}
	v.Faulted = c.at(rng).faulted(t)
	w := a.workers.take()
	defer a.workers.put(w)
	is := w.reader.Read(rng, c.Faults...)
	v.Drive = driveOf(&is.Outcome, is.Text(), is.Reading.Coast)
	v.Outcomes, v.Cautions = w.cautions(c, rng)
	return v, nil
}
