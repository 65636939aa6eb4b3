package analysis

import (
	"context"
	"runtime"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
)

// A DiagnoseQuestion asks who is suspected by what was seen.
type DiagnoseQuestion struct {
	Case   *diagnosis.Case
	Faults int // most at once: 1, 2 or 3; 0 is 2
	// Claims are to be tried beside the suspects, each by [diagnosis.Answer.Claim] or
	// [diagnosis.Answer.ClaimControls].
	Claims []func(*diagnosis.Answer) diagnosis.Claim
	Tests  int // how many next tests are proposed
	// Progress is told how many steps a long search takes, before it begins, and
	// returns what is called at each; it may be nil.
	Progress func(steps int) (step func())
}

// Diagnosed is who is suspected, why, and which test is worth making next. It is
// its own JSON, of the document tieup.diagnose/1.
type Diagnosed struct {
	Answer    *diagnosis.Answer
	Proposals []diagnosis.Proposal
	Refused   []diagnosis.Refusal
	Claims    []diagnosis.Claim
	Cautions  List[string]
}

// Diagnose answers who is suspected by what was seen.
func Diagnose(ctx context.Context, q DiagnoseQuestion) (*Diagnosed, error) {
	a := Open(q.Case.Train)
	finder := diagnosis.New(a.system, q.Case.Assume)
	search := diagnosis.Options{Faults: q.Faults, Workers: runtime.GOMAXPROCS(0)}
	if q.Progress != nil && q.Faults > 2 {
		steps := 0
		for n := 2; n <= q.Faults; n++ {
			steps += finder.Steps(n)
		}
		search.Step = q.Progress(steps)
	}
	d := DiagnosedOf(finder.Diagnose(q.Case, search), q.Tests)
	for _, claim := range q.Claims {
		d.Claims = append(d.Claims, claim(d.Answer))
	}
	return d, ctx.Err()
}

// DiagnosedOf returns the answer of a search with so many next tests.
func DiagnosedOf(a *diagnosis.Answer, tests int) *Diagnosed {
	plan := a.Plan(tests, nil)
	return &Diagnosed{Answer: a, Proposals: plan.Proposals, Refused: plan.Refused, Cautions: a.Cautions(plan.Proposals)}
}

// diagnosedDocument is the JSON of a [Diagnosed].
type diagnosedDocument struct {
	Schema        string                 `json:"schema"`
	Units         Named[string]          `json:"units"`
	Train         *kinematics.Train      `json:"train"`
	Vehicle       string                 `json:"vehicle"`
	Complaint     string                 `json:"complaint"`
	Circumstances List[string]           `json:"circumstances"`
	Seen          List[diagnosedPlace]   `json:"seen"`
	NotTested     List[string]           `json:"not_tested"`
	Searched      int                    `json:"searched_faults_at_once"`
	Summary       string                 `json:"summary"`
	Groups        List[diagnosedGroup]   `json:"groups"`
	Claims        List[diagnosedClaim]   `json:"claims"`
	Next          List[diagnosedTest]    `json:"next"`
	Refused       List[diagnosedRefusal] `json:"refused"`
	Assumed       string                 `json:"assumed"`
	Cautions      List[string]           `json:"cautions"`
}

type diagnosedPlace struct {
	Place string `json:"place"`
	Value string `json:"value"`
}

type diagnosedPrediction struct {
	Range    string `json:"range"`
	Reads    string `json:"reads"`
	Coasting string `json:"coasting"`
	Fit      string `json:"fit"`
}

type diagnosedSuspect struct {
	Kind        diagnosis.Kind            `json:"kind"`
	Faults      List[string]              `json:"faults"`
	Command     Named[string]             `json:"command"`
	Text        string                    `json:"text"`
	Class       string                    `json:"class"`
	Fits        List[diagnosis.Fit]       `json:"fits"`
	Causes      List[diagnosis.Cause]     `json:"causes"`
	Predictions List[diagnosedPrediction] `json:"predictions"`
}

type diagnosedGroup struct {
	Rank              int                    `json:"rank"`
	Contradictions    float64                `json:"contradictions"`
	Agreement         string                 `json:"agreement"`
	Indistinguishable bool                   `json:"same_in_every_range"`
	Parts             List[diagnosedPart]    `json:"parts"`
	Suspects          List[diagnosedSuspect] `json:"suspects"`
}

// A diagnosedPart is a part with what can be wrong with it, and the causes folded.
type diagnosedPart struct {
	Part     string                `json:"part"`
	Findings []string              `json:"findings"`
	Causes   List[diagnosis.Cause] `json:"causes"`
}

type diagnosedClaim struct {
	diagnosedSuspect
	Verdict      string `json:"verdict"`
	BetterGroups int    `json:"better_groups"`
}

type diagnosedTest struct {
	Kind   string                     `json:"kind"`
	Text   string                     `json:"text"`
	Effort int                        `json:"effort"`
	SetUp  string                     `json:"set_up"`
	Before string                     `json:"before"`
	Hazard List[reading.Hazard]       `json:"hazards"`
	Bits   float64                    `json:"information_bits"`
	Expect List[diagnosedExpectation] `json:"expect"`
	Unsure List[string]               `json:"predict_nothing"`
}

type diagnosedExpectation struct {
	Shows    string       `json:"shows"`
	Suspects List[string] `json:"suspects"`
}

type diagnosedRefusal struct {
	Kind   string `json:"kind"`
	Text   string `json:"text"`
	Reason string `json:"reason"`
}

// MarshalJSON writes the document.
func (d *Diagnosed) MarshalJSON() ([]byte, error) {
	a := d.Answer
	t := a.Train
	x := diagnosedDocument{
		Schema: "tieup.diagnose/1", Train: t, Vehicle: a.Vehicle, Complaint: a.Complaint, NotTested: a.Untested(),
		Units: Named[string]{
			{"contradictions", "observations that do not fit; one that fits partly counts half"},
			{"information_bits", "expected, in bits"},
		},
		Searched: a.Searched, Summary: a.Summary(), Assumed: a.Assume.Words(), Cautions: d.Cautions,
	}
	for _, c := range a.Circumstances {
		x.Circumstances = append(x.Circumstances, c.Name())
	}
	for i := range a.Seen {
		x.Seen = append(x.Seen, diagnosedPlace{a.Seen[i].Place(t), a.Seen[i].Value(t)})
	}
	for i := range a.Groups {
		x.Groups = append(x.Groups, d.group(&a.Groups[i]))
	}
	for _, c := range d.Claims {
		x.Claims = append(x.Claims, diagnosedClaim{d.suspect(c.Suspect), a.Refutation(c), c.Better})
	}
	for i := range d.Proposals {
		x.Next = append(x.Next, d.test(&d.Proposals[i]))
	}
	for i := range d.Refused {
		r := &d.Refused[i]
		x.Refused = append(x.Refused, diagnosedRefusal{r.Test.Kind.Name(), r.Test.Text(t), a.Reason(r)})
	}
	return marshal(x)
}

func (d *Diagnosed) group(g *diagnosis.Group) diagnosedGroup {
	a, t := d.Answer, d.Answer.Train
	x := diagnosedGroup{
		Rank: g.Rank, Contradictions: float64(g.Halves()) / 2, Agreement: a.Agreement(g), Indistinguishable: a.Indistinguishable(g),
	}
	for _, part := range diagnosis.Parts(t, g.Suspects) {
		x.Parts = append(x.Parts, diagnosedPart{part.Name, part.Findings(t), part.Causes(t)})
	}
	for _, s := range g.Suspects {
		x.Suspects = append(x.Suspects, d.suspect(s))
	}
	return x
}

func (d *Diagnosed) test(p *diagnosis.Proposal) diagnosedTest {
	a, t := d.Answer, d.Answer.Train
	x := diagnosedTest{
		Kind: p.Kind.Name(), Text: p.Test.Text(t), Effort: p.Effort, SetUp: p.SetUp.String(), Before: p.Before(t),
		Hazard: a.TestHazards([]diagnosis.Proposal{*p}), Bits: p.Bits, Unsure: suspectNames(t, p.Unsure),
	}
	for _, e := range p.Expect {
		x.Expect = append(x.Expect, diagnosedExpectation{e.Text, suspectNames(t, e.Suspects)})
	}
	return x
}

func (d *Diagnosed) suspect(s *diagnosis.Suspect) diagnosedSuspect {
	a, t := d.Answer, d.Answer.Train
	x := diagnosedSuspect{
		Kind: s.Kind, Faults: suspectFaults(t, s), Text: s.Text(t), Class: a.Class(s), Fits: s.Fits, Causes: s.Causes(t),
	}
	for r, q := range s.Command {
		if r != q {
			x.Command.Add(t.Ranges[r].Name, t.Ranges[q].Name)
		}
	}
	for r := range t.Ranges {
		reads, coast := a.Prediction(s, r)
		_, so := a.SeenAt(s, diagnosis.Observation{Range: r, To: -1})
		if so == "" {
			so = diagnosis.NotTested
		}
		x.Predictions = append(x.Predictions, diagnosedPrediction{t.Ranges[r].Name, reads, coast, so})
	}
	return x
}

// suspectFaults are the faults of a suspect as the command line takes them, those of
// the controls first.
func suspectFaults(t *kinematics.Train, s *diagnosis.Suspect) List[string] {
	var list List[string]
	for _, f := range s.Controls {
		list = append(list, f.String())
	}
	own := s.Faults
	if s.Kind == diagnosis.Controlled {
		own = s.Own
	}
	for _, f := range own {
		list = append(list, t.FaultText(f))
	}
	return list
}

// suspectNames names suspects for machines: their faults where they have any.
func suspectNames(t *kinematics.Train, suspects []*diagnosis.Suspect) List[string] {
	var list List[string]
	for _, s := range suspects {
		list = append(list, s.Short(t))
	}
	return list
}
