package analysis

import (
	"cmp"
	"context"
	"fmt"
	"runtime"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/document"
	"tieup/kinematics/reading"
)

// A DiagnoseQuestion asks who is suspected by what was seen.
type DiagnoseQuestion struct {
	Case   *Case          // nil: nothing was seen
	Faults int            // most at once: 1, 2 or 3; 0 is 2
	Claims []ClaimedFault // to be tried beside the suspects
	Tests  int            // how many next tests are proposed
	// Brief leaves out what takes long and only JSON shows: what each range would do
	// under each suspect, and which groups but the first no road test tells apart.
	Brief bool
}

// A ClaimedFault is what somebody suspects: faults of couplings, and of the controls; or a
// whole suspect that is neither.
type ClaimedFault struct {
	controls.Faults
	Whole *diagnosis.Hypothesis
}

// ParseClaim reads a claim: faults with + between them, or a suspect that is no such
// fault: a gear torn off ("front.sun=torn"), line pressure ("pressure=none", "pressure=low
// 0.4", "pressure=high"), the lever one place off ("lever=back", "lever=further").
func ParseClaim(t *kinematics.Train, text string) (claim ClaimedFault, err error) {
	if whole, err := diagnosis.ParseWhole(t, text); whole != nil || err != nil {
		return ClaimedFault{Whole: whole}, err
	}
	for part := range strings.SplitSeq(text, "+") {
		if err := claim.Add(t, strings.TrimSpace(part)); err != nil {
			return claim, err
		}
	}
	return claim, nil
}

// Diagnosed is who is suspected, why, and which test is worth making next. Its
// document is tieup.diagnose/1.
type Diagnosed struct {
	Schema        string              `json:"schema"`
	Units         Named[string]       `json:"units"`
	Train         *kinematics.Train   `json:"train"`
	Vehicle       string              `json:"vehicle"`
	Complaint     string              `json:"complaint"`
	Circumstances List[string]        `json:"circumstances"`
	Seen          List[Named[string]] `json:"seen"` // by place
	NotTested     List[string]        `json:"not_tested"`
	Searched      int                 `json:"searched_faults_at_once"`
	Summary       string              `json:"summary"`
	Groups        List[*SuspectGroup] `json:"groups"` // the best first; never none
	Claims        List[*Claimed]      `json:"claims"`
	Lead          string              `json:"lead,omitempty"` // stands before the next tests
	Next          List[*NextTest]     `json:"next"`
	Refused       List[RefusedTest]   `json:"refused"`
	Opened        *Opened             `json:"opened"` // nil where nothing was found on opening
	Assumed       string              `json:"assumed"`
	Cautions      List[string]        `json:"cautions"`

	// Told repeats what is known, by what it is of: "complaint", "seen".
	Told Named[string] `json:"-"`
	// Remark is the summary where it tells more than the first group does, Plainly the same
	// to somebody who does not know the trade.
	Remark  string `json:"-"`
	Plainly string `json:"-"`
	// Places are those of [Suspect.Marks]: the ranges, and where else something was seen.
	Places []string `json:"-"`
	// Mistakable lists for every range those in whose gear it can seem to be.
	Mistakable [][]string `json:"-"`
}

// A SuspectGroup is suspects that nothing seen so far can tell apart.
type SuspectGroup struct {
	Rank              int                `json:"rank"`
	Contradictions    float64            `json:"contradictions"`
	Agreement         string             `json:"agreement"`
	Indistinguishable bool               `json:"same_in_every_range"`
	Parts             List[*SuspectPart] `json:"parts"`
	Suspects          List[*Suspect]     `json:"suspects"`
	Named             string             `json:"-"` // the suspects in a line
}

// A SuspectPart is a part with what can be wrong with it, and the causes folded.
type SuspectPart struct {
	Part     string                `json:"part"`
	Findings []string              `json:"findings"`
	Causes   List[diagnosis.Cause] `json:"causes"`

	Says     string     `json:"-"` // "direct: never fed; never holds"
	Plainly  string     `json:"-"` // to somebody who does not know the trade
	Look     []string   `json:"-"` // the causes, a line for each kind
	Suspects []*Suspect `json:"-"`
}

// A Suspect is one way in which the train could be what was seen.
type Suspect struct {
	Kind        diagnosis.Kind        `json:"kind"`
	Faults      List[string]          `json:"faults"`
	Command     Named[string]         `json:"command"`
	Text        string                `json:"text"`
	Class       string                `json:"class"`
	Fits        List[diagnosis.Fit]   `json:"fits"`
	Causes      List[diagnosis.Cause] `json:"causes"`
	Predictions List[Named[string]]   `json:"predictions"` // of each range, and how what was seen fits

	Short string   `json:"-"`
	Marks []string `json:"-"` // the worst fit in each of [Diagnosed.Places]
	Look  []string `json:"-"` // the causes, a line for each

	couplings []int // that have its faults, where it is of couplings alone
}

// Claimed is a suspect that somebody named.
type Claimed struct {
	*Suspect
	Verdict      string `json:"verdict"`
	BetterGroups int    `json:"better_groups"`

	Rows []ClaimedPlace `json:"-"`
}

// A ClaimedPlace is what a claim would have to show in a place.
type ClaimedPlace struct {
	Place          string
	Healthy, Shows []string // of a place in the workshop, of each test that was made
	Coasting       string
	Seen, Fit      string
}

// A NextTest is a test worth making.
type NextTest struct {
	Kind   string                `json:"kind"`
	Text   string                `json:"text"`
	Effort int                   `json:"effort"`
	SetUp  string                `json:"set_up"`
	Before string                `json:"before"`
	Hazard List[reading.Hazard]  `json:"hazards"`
	Bits   float64               `json:"information_bits"`
	Expect List[TestExpectation] `json:"expect"`
	Unsure List[string]          `json:"predict_nothing"`

	// Lead is the test behind its number, Stands what must stand before it and was not said
	// of an earlier one, SaysNothing whom it says nothing about, "" for nobody.
	Lead, Stands, SaysNothing string `json:"-"`
}

// A TestExpectation is what a test can show, and who would show it.
type TestExpectation struct {
	Shows    string       `json:"shows"`
	Suspects List[string] `json:"suspects"`

	Named string        `json:"-"` // the suspects in a line
	Seen  []Observation `json:"-"` // as which it can be noted; nil if it cannot
}

// A RefusedTest would tell something, and no set-up carries what can happen in it.
type RefusedTest struct {
	Kind   string `json:"kind"`
	Text   string `json:"text"`
	Reason string `json:"reason"`
}

// Says is that it is not proposed, and why.
func (r RefusedTest) Says() string {
	return "Not proposed: " + strings.TrimRight(r.Text, ".") + " (" + r.Reason + ")."
}

// Diagnose answers who is suspected by what was seen of a vehicle with the train.
func (a *Analysis) Diagnose(ctx context.Context, q DiagnoseQuestion) (*Diagnosed, error) {
	if q.Case == nil {
		q.Case = NewCase(a.Train)
	}
	if err := a.answerable(&q); err != nil {
		return nil, err
	}
	finder, give, err := a.finder(ctx, q.Case.Assume)
	if err != nil {
		return nil, err
	}
	defer give()
	found, err := finder.Diagnose(ctx, q.Case, diagnosis.Options{Faults: q.Faults, Workers: runtime.GOMAXPROCS(0)})
	if err != nil {
		return nil, err
	}
	x := &diagnosed{Answer: found, brief: q.Brief}
	plan, err := x.Plan(ctx, q.Tests, nil)
	if err != nil {
		return nil, err
	}
	d := x.answer(plan.Proposals)
	d.Refused = kinematics.Map(plan.Refused, func(r diagnosis.Refusal) RefusedTest {
		return RefusedTest{r.Test.Kind.Name(), r.Test.Text(x.Train), x.Reason(&r)}
	})
	d.Claims = kinematics.Map(q.Claims, func(c ClaimedFault) *Claimed { return x.claimed(x.claim(c)) })
	if len(q.Case.Found) > 0 {
		var err error
		if d.Opened, err = a.opened(ctx, x); err != nil {
			return nil, err
		}
	}
	return d, ctx.Err()
}

// answerable refuses a question about no case of the train, and claims that it cannot have; it
// makes the faults of claims as the controls do.
func (a *Analysis) answerable(q *DiagnoseQuestion) error {
	if err := a.of(q.Case); err != nil {
		return err
	}
	if q.Faults < 0 || q.Faults > 3 {
		return refusal("faults", "1, 2 or 3 faults at once can be searched for, not %d", q.Faults)
	}
	if err := number("tests", float64(q.Tests), 0); err != nil {
		return err
	}
	q.Claims = slices.Clone(q.Claims)
	for i := range q.Claims {
		c := &q.Claims[i]
		err := Under(c.Own...).in(a.Train)
		if err == nil && c.Above != nil {
			c.Above, err = controlFaults(a.Train, c.Above)
		}
		if err != nil {
			return &QuestionError{[]string{"suspect"}, err}
		}
	}
	return nil
}

// claim tries a claim.
func (x *diagnosed) claim(c ClaimedFault) diagnosis.Claim {
	switch {
	case c.Whole != nil:
		return x.ClaimWhole(c.Whole)
	case c.Above != nil:
		return x.ClaimControls(c.Own, c.Above)
	}
	return x.Claim(c.Own)
}

// diagnosed puts the answer of a search into words.
type diagnosed struct {
	*diagnosis.Answer
	brief  bool
	places []Observation // that suspects are marked at
}

// answer is what was found, with the tests that are proposed.
func (x *diagnosed) answer(proposals []diagnosis.Proposal) *Diagnosed {
	t := x.Train
	d := &Diagnosed{
		Schema: "tieup.diagnose/1", Train: t, Vehicle: x.Vehicle, Complaint: x.Complaint, NotTested: x.Untested(),
		Units: document.Texts(
			"contradictions", "observations that do not fit; one that fits partly counts half",
			"information_bits", "expected, in bits",
		),
		Searched: x.Searched, Summary: x.Summary(), Assumed: x.Assume.Words(), Cautions: x.Cautions(proposals),
		Told: x.told(),
	}
	d.Circumstances = kinematics.Map(x.Circumstances, diagnosis.Circumstance.Name)
	d.Seen = kinematics.Map(x.Seen, func(o Observation) Named[string] {
		return document.Texts("place", o.Place(t), "value", o.Value(t))
	})
	for r := range t.Ranges {
		x.places = append(x.places, Observation{Range: r, To: -1})
		d.Mistakable = append(d.Mistakable, x.mistakable(r))
	}
	x.places = append(x.places, x.Elsewhere()...)
	d.Places = kinematics.Map(x.places, func(o Observation) string { return o.Place(t) })
	for i := range x.Groups {
		d.Groups = append(d.Groups, x.group(i))
	}
	if best := &x.Groups[0]; best.Halves() > 0 || best.Suspects[0].Count() > 1 {
		d.Remark = d.Summary
	}
	d.Plainly = x.Plainly()
	for i := range proposals {
		d.Next = append(d.Next, x.test(&proposals[i], d.Next))
	}
	d.Lead = x.lead(proposals)
	return d
}

// told repeats what is known of the vehicle.
func (x *diagnosed) told() (told Named[string]) {
	add := func(label, text string) {
		if text != "" {
			told.Add(label, text)
		}
	}
	add("vehicle", x.Vehicle)
	add("complaint", x.Complaint)
	words := kinematics.Map(x.Circumstances, diagnosis.Circumstance.String)
	add("circumstances", strings.Join(words, "; "))
	if len(x.Seen) == 0 {
		add("seen", "nothing yet")
		return told
	}
	add("seen", strings.Join(x.Case.Places(), "; "))
	for _, remark := range x.CodeRemarks() {
		add("code", remark)
	}
	add("not weighed", strings.Join(x.Unweighed(), "; "))
	add("not tested", strings.Join(x.Untested(), ", "))
	return told
}

// mistakable lists the ranges in whose gear a range can seem to be.
func (x *diagnosed) mistakable(r int) (names []string) {
	t := x.Train
	for k := range t.Ranges {
		same := t.Ranges[k].Input == t.Ranges[r].Input && t.Ranges[k].Output == t.Ranges[r].Output
		if k != r && same && x.Healthy(k).Light.Drives() != 0 {
			names = append(names, t.Ranges[k].Name)
		}
	}
	return names
}

func (x *diagnosed) group(n int) *SuspectGroup {
	g, t := &x.Groups[n], x.Train
	y := &SuspectGroup{
		Rank: g.Rank, Contradictions: float64(g.Halves()) / 2, Agreement: x.Agreement(g),
		Indistinguishable: (n == 0 || !x.brief) && x.Indistinguishable(g), Named: suspected(t, g.Suspects, nil, 4),
	}
	worded := map[*diagnosis.Suspect]*Suspect{}
	for _, s := range g.Suspects {
		worded[s] = x.suspect(s)
		y.Suspects = append(y.Suspects, worded[s])
	}
	for _, part := range diagnosis.Parts(t, g.Suspects) {
		p := &SuspectPart{Part: part.Name, Findings: part.Findings(t), Causes: part.Causes(t), Says: part.Says(t),
			Plainly: part.Plainly(t)}
		p.Look = diagnosis.Merged(p.Causes).Lines()
		p.Suspects = kinematics.Map(part.Suspects, func(s *diagnosis.Suspect) *Suspect { return worded[s] })
		y.Parts = append(y.Parts, p)
	}
	return y
}

func (x *diagnosed) suspect(s *diagnosis.Suspect) *Suspect {
	t := x.Train
	y := &Suspect{
		Kind: s.Kind, Faults: suspectFaults(t, s), Text: s.Text(t), Class: x.Class(s), Fits: s.Fits, Causes: s.Causes(t),
		Short: s.Short(t),
	}
	for r, q := range s.Command {
		if r != q {
			y.Command.Add(t.Ranges[r].Name, t.Ranges[q].Name)
		}
	}
	y.Marks = kinematics.Map(x.places, func(at Observation) string { return x.Mark(s, at) })
	if s.Kind == diagnosis.Faulty {
		y.couplings = kinematics.Map(s.Faults, func(f kinematics.Fault) int { return f.Coupling })
	}
	for i, c := range y.Causes {
		if len(y.couplings) > 1 {
			y.Look = append(y.Look, "under "+t.Couplings[y.couplings[i]].Name+":")
		}
		y.Look = append(y.Look, c.Lines()...)
	}
	if x.brief {
		return y
	}
	for r := range t.Ranges {
		reads, coast := x.Prediction(s, r)
		_, so := x.SeenAt(s, Observation{Range: r, To: -1})
		y.Predictions = append(y.Predictions, document.Texts("range", t.Ranges[r].Name, "reads", reads, "coasting", coast,
			"fit", cmp.Or(so, NotTested)))
	}
	return y
}

func (x *diagnosed) claimed(c diagnosis.Claim) *Claimed {
	healthy := &diagnosis.Suspect{}
	y := &Claimed{Suspect: x.suspect(c.Suspect), Verdict: x.Refutation(c), BetterGroups: c.Better}
	for _, at := range x.places {
		row := ClaimedPlace{Place: at.Place(x.Train)}
		row.Seen, row.Fit = x.SeenAt(c.Suspect, at)
		if at.Range >= 0 && !at.IsShift() && at.Shop == nil {
			was, _ := x.Prediction(healthy, at.Range)
			reads, coast := x.Prediction(c.Suspect, at.Range)
			row.Healthy, row.Shows, row.Coasting = []string{was}, []string{reads}, coast
		}
		for _, test := range x.testsAt(at) {
			row.Healthy = append(row.Healthy, x.shows(test, healthy))
			row.Shows = append(row.Shows, x.shows(test, c.Suspect))
		}
		y.Rows = append(y.Rows, row)
	}
	return y
}

// testsAt are the tests that were made in a place other than a range or a position: one,
// or on the bench one for each way in which the train was turned.
func (x *diagnosed) testsAt(place Observation) []diagnosis.Test {
	switch {
	case place.IsShift():
		return []diagnosis.Test{{Kind: diagnosis.Shifting, Range: place.Range, To: place.To}}
	case place.Shop == nil:
		return nil
	}
	var tests []diagnosis.Test
	for _, o := range x.Seen {
		if o.SamePlace(&place) {
			tests = append(tests, *o.Shop)
		}
	}
	return tests
}

// shows is what a test shows of a suspect.
func (x *diagnosed) shows(test diagnosis.Test, s *diagnosis.Suspect) string {
	return cmp.Or(x.Reply(&test, s).Text, "either")
}

// test is a test worth making, behind others.
func (x *diagnosed) test(p *diagnosis.Proposal, others []*NextTest) *NextTest {
	t := x.Train
	all := slices.Clone(p.Unsure)
	for _, e := range p.Expect {
		all = append(all, e.Suspects...)
	}
	y := &NextTest{
		Kind: p.Kind.Name(), Text: p.Test.Text(t), Effort: p.Effort, SetUp: p.SetUp.String(), Before: p.Before(t),
		Hazard: x.TestHazards([]diagnosis.Proposal{*p}), Bits: p.Bits, Unsure: suspectNames(t, p.Unsure),
	}
	if none := suspected(t, p.Unsure, all, 4); none != "" {
		y.SaysNothing = "says nothing about: " + none
	}
	stands := y.Before
	if k := slices.IndexFunc(others, func(o *NextTest) bool { return o.Before == y.Before }); k >= 0 {
		stands = fmt.Sprintf("as before test %d", k+1)
	}
	y.Lead = fmt.Sprintf("%d. %s (effort %d)", len(others)+1, y.Text, y.Effort)
	y.Stands = fmt.Sprintf("Before test %d: %s.", len(others)+1, stands)
	few := 4
	if len(p.Expect) > 4 { // the test stands on the first screen
		few = 3
	}
	y.Expect = kinematics.Map(p.Expect, func(e diagnosis.Expectation) TestExpectation {
		return TestExpectation{e.Text, suspectNames(t, e.Suspects), suspected(t, e.Suspects, all, few), e.Seen}
	})
	return y
}

// lead is what stands before the tests worth making.
func (x *diagnosed) lead(proposals []diagnosis.Proposal) string {
	switch first := &x.Groups[0]; {
	case len(proposals) == 0:
		return "No test that is allowed can tell the suspects apart further."
	case !proposals[0].Kind.OnTheRoad() && len(first.Suspects) > 1 && x.Indistinguishable(first):
		return "No test on the road can tell the first suspects apart; these can:"
	case len(first.Suspects) == 1 && first.Halves() == 0:
		return "One suspect agrees with everything; these tests confirm or refute it:"
	}
	return ""
}

// suspectFaults are the faults of a suspect as the command line takes them, those of
// the controls first.
func suspectFaults(t *kinematics.Train, s *diagnosis.Suspect) List[string] {
	own := s.Faults
	if s.Kind == diagnosis.Controlled {
		own = s.Own
	}
	return append(kinematics.Map(s.Controls, controls.Fault.String), kinematics.Map(own, t.FaultText)...)
}

// suspectNames names suspects for machines: their faults where they have any.
func suspectNames(t *kinematics.Train, suspects []*diagnosis.Suspect) List[string] {
	return kinematics.Map(suspects, func(s *diagnosis.Suspect) string { return s.Short(t) })
}

// suspected names some suspects in a line; of a part with which all is there that can be
// found with it among others, the part alone. Of more names than most the last are counted.
func suspected(t *kinematics.Train, suspects, among []*diagnosis.Suspect, most int) string {
	of := map[diagnosis.PlaceKey]int{}
	for _, part := range diagnosis.Parts(t, among) {
		of[part.Place] = len(part.Findings(t))
	}
	var names []string
	for _, part := range diagnosis.Parts(t, suspects) {
		switch findings := part.Findings(t); {
		case len(part.Suspects) > 1 && of[part.Place] == len(findings):
			names = append(names, part.Name)
		case !part.Bare():
			names = append(names, findings...)
		case len(findings) > 2:
			names = append(names, fmt.Sprintf("%s %s, or %d more", part.Name, findings[0], len(findings)-1))
		default:
			names = append(names, part.Name+" "+strings.Join(findings, ", "))
		}
	}
	if len(names) > most {
		names = append(names[:most-1:most-1], fmt.Sprintf("%d more", len(names)-most+1))
	}
	return strings.Join(names, "; ")
}

// Says is who of the group is suspected, by those of its parts that are told, and how that
// agrees with what was seen.
func (g *SuspectGroup) Says(told []*SuspectPart) (who, reason string) {
	if len(g.Suspects) == 1 {
		s := g.Suspects[0]
		if s.Class == "" {
			return s.Text, g.Agreement
		}
		return s.Text, g.Agreement + "; " + s.Class
	}
	names := kinematics.Map(told, func(p *SuspectPart) string { return p.Part })
	if len(told) < len(g.Parts) {
		names = append(names[:3:3], kinematics.Count(len(g.Parts)-3, "other part"))
	}
	return kinematics.Or(names), fmt.Sprintf("%d suspects: %s", len(g.Suspects), g.Agreement)
}

// LessLikely says how many suspects are behind those that are told.
func LessLikely(n int) string { return "Less likely still: " + kinematics.Count(n, "other suspect") }

// NotTestedMark says what the sign of a place means in which nothing was seen.
const NotTestedMark = "- = not tested: counts neither way"

// Alike says that no road test tells the suspects of the group apart, "" where one does.
func (g *SuspectGroup) Alike() string {
	if !g.Indistinguishable {
		return ""
	}
	return "They do the same in every range: no test on the road can tell them apart; a gauge at a tap, " +
		"the bench, air or the element in hand can."
}
