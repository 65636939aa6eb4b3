package table

import (
	"io"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
)

type seenJSON struct {
	Place string `json:"place"`
	Value string `json:"value"`
}

type causeJSON struct {
	Mechanical string `json:"mechanical"`
	Hydraulic  string `json:"hydraulic"`
	Electrical string `json:"electrical"`
	Sign       string `json:"sign"`
}

type predictionJSON struct {
	Range    string `json:"range"`
	Reads    string `json:"reads"`
	Coasting string `json:"coasting"`
	Fit      string `json:"fit"`
}

type suspectJSON struct {
	Kind        string           `json:"kind"`
	Faults      []string         `json:"faults"`
	Command     ordered          `json:"command"`
	Text        string           `json:"text"`
	Class       string           `json:"class"`
	Fits        []string         `json:"fits"`
	Causes      []causeJSON      `json:"causes"`
	Predictions []predictionJSON `json:"predictions"`
}

type groupJSON struct {
	Rank              int           `json:"rank"`
	Contradictions    float64       `json:"contradictions"`
	Agreement         string        `json:"agreement"`
	Indistinguishable bool          `json:"same_in_every_range"`
	Parts             []partJSON    `json:"parts"`
	Suspects          []suspectJSON `json:"suspects"`
}

// A partJSON is a part with what can be wrong with it, and the causes folded.
type partJSON struct {
	Part     string      `json:"part"`
	Findings []string    `json:"findings"`
	Causes   []causeJSON `json:"causes"`
}

func partsJSON(t *kinematics.Train, g *diagnosis.Group) []partJSON {
	list := []partJSON{}
	for _, part := range diagnosis.Parts(t, g.Suspects) {
		j := partJSON{part.Name, part.Findings(t), []causeJSON{}}
		for _, c := range part.Causes(t) {
			j.Causes = append(j.Causes, causeJSON(c))
		}
		list = append(list, j)
	}
	return list
}

type expectationJSON struct {
	Shows    string   `json:"shows"`
	Suspects []string `json:"suspects"`
}

type proposalJSON struct {
	Kind   string            `json:"kind"`
	Text   string            `json:"text"`
	Effort int               `json:"effort"`
	SetUp  string            `json:"set_up"`
	Before string            `json:"before"`
	Hazard []string          `json:"hazards"`
	Bits   float64           `json:"information_bits"`
	Expect []expectationJSON `json:"expect"`
	Unsure []string          `json:"predict_nothing"`
}

type refusalJSON struct {
	Kind   string `json:"kind"`
	Text   string `json:"text"`
	Reason string `json:"reason"`
}

// hazardNames names hazards for machines.
func hazardNames(list []reading.Hazard) []string {
	names := []string{}
	for _, h := range list {
		names = append(names, h.String())
	}
	return names
}

type claimJSON struct {
	suspectJSON
	Verdict      string `json:"verdict"`
	BetterGroups int    `json:"better_groups"`
}

var kindWords = [...]string{diagnosis.Healthy: "healthy", diagnosis.Faulty: "faults", diagnosis.WrongWay: "wrong-command",
	diagnosis.Pressure: "low-pressure", diagnosis.Timing: "shift-timing", diagnosis.Controlled: "controls", diagnosis.Torn: "torn-gear"}

// JSON writes the schema tieup.diagnose/1.
func (d Diagnosed) JSON(w io.Writer) error {
	a, t := d.Answer, d.Answer.Train
	answer := struct {
		Schema        string         `json:"schema"`
		Units         ordered        `json:"units"`
		Train         string         `json:"train"`
		Vehicle       string         `json:"vehicle"`
		Complaint     string         `json:"complaint"`
		Circumstances []string       `json:"circumstances"`
		Seen          []seenJSON     `json:"seen"`
		NotTested     []string       `json:"not_tested"`
		Searched      int            `json:"searched_faults_at_once"`
		Summary       string         `json:"summary"`
		Groups        []groupJSON    `json:"groups"`
		Claims        []claimJSON    `json:"claims"`
		Next          []proposalJSON `json:"next"`
		Refused       []refusalJSON  `json:"refused"`
		Assumed       string         `json:"assumed"`
		Cautions      []string       `json:"cautions"`
	}{
		Schema: "tieup.diagnose/1", Units: ordered{{"contradictions", "observations that do not fit; one that fits partly counts half"}, {"information_bits", "expected, in bits"}},
		Train: t.Name, Vehicle: a.Vehicle, Complaint: a.Complaint,
		Circumstances: []string{}, Seen: []seenJSON{}, NotTested: append([]string{}, untested(a.Case)...), Searched: a.Searched,
		Groups: []groupJSON{}, Claims: []claimJSON{}, Next: []proposalJSON{}, Refused: []refusalJSON{}, Assumed: Assumed(&a.Assume), Cautions: append([]string{}, d.Cautions...),
	}
	for _, c := range a.Circumstances {
		answer.Circumstances = append(answer.Circumstances, c.Name())
	}
	for i := range a.Seen {
		answer.Seen = append(answer.Seen, seenJSON{a.Seen[i].Place(t), a.Seen[i].Value(t)})
	}
	answer.Summary = d.Summary()
	for i := range a.Groups {
		g := &a.Groups[i]
		j := groupJSON{g.Rank, float64(g.Halves()) / 2, a.Agreement(g), a.Indistinguishable(g), partsJSON(t, g), []suspectJSON{}}
		for _, s := range g.Suspects {
			j.Suspects = append(j.Suspects, d.suspect(s))
		}
		answer.Groups = append(answer.Groups, j)
	}
	for _, c := range d.Claims {
		answer.Claims = append(answer.Claims, claimJSON{d.suspect(c.Suspect), Refutation(a, c), c.Better})
	}
	for _, x := range d.Proposals {
		j := proposalJSON{x.Kind.Name(), x.Test.Text(t), x.Effort, x.SetUp.String(), x.Before(t), hazardNames(a.TestHazards([]diagnosis.Proposal{x})), x.Bits, []expectationJSON{}, suspectNames(t, x.Unsure)}
		for _, e := range x.Expect {
			j.Expect = append(j.Expect, expectationJSON{e.Text, suspectNames(t, e.Suspects)})
		}
		answer.Next = append(answer.Next, j)
	}
	for i := range d.Refused {
		r := &d.Refused[i]
		answer.Refused = append(answer.Refused, refusalJSON{r.Test.Kind.Name(), r.Test.Text(t), a.Reason(r)})
	}
	return WriteJSON(w, answer)
}

func (d Diagnosed) suspect(s *diagnosis.Suspect) suspectJSON {
	a, t := d.Answer, d.Answer.Train
	j := suspectJSON{Kind: kindWords[s.Kind], Faults: []string{}, Command: ordered{}, Text: s.Text(t), Class: a.Class(s), Fits: []string{},
		Causes: []causeJSON{}, Predictions: []predictionJSON{}}
	own := s.Faults
	if s.Kind == diagnosis.Controlled {
		own = s.Own
	}
	for _, f := range s.Controls {
		j.Faults = append(j.Faults, f.String())
	}
	for _, f := range own {
		j.Faults = append(j.Faults, t.FaultText(f))
	}
	for r, q := range s.Command {
		if r != q {
			j.Command = append(j.Command, named{t.Ranges[r].Name, t.Ranges[q].Name})
		}
	}
	for _, x := range s.Fits {
		j.Fits = append(j.Fits, x.String())
	}
	for _, c := range s.Causes(t) {
		j.Causes = append(j.Causes, causeJSON(c))
	}
	for r := range t.Ranges {
		reads, coast := a.Prediction(s, r)
		_, so := verdictOf(a, s, diagnosis.Observation{Range: r, To: -1})
		if so == "" {
			so = diagnosis.NotTested
		}
		j.Predictions = append(j.Predictions, predictionJSON{t.Ranges[r].Name, reads, coast, so})
	}
	return j
}

// suspectNames names suspects for machines: their faults where they have any.
func suspectNames(t *kinematics.Train, suspects []*diagnosis.Suspect) []string {
	list := []string{}
	for _, s := range suspects {
		list = append(list, s.Short(t))
	}
	return list
}
