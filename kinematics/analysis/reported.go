package analysis

import (
	"context"
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
)

// A ReportKind is whom a report of a case is for.
type ReportKind string

// The kinds of report.
const (
	ForCustomer ReportKind = "customer" // what was felt, tried, found and done, in plain words
	AsProof     ReportKind = "proof"    // what was seen, excluded, tested, found and proved
	ForBench    ReportKind = "bench"    // the turns by hand, with boxes to tick
)

var reportTitles = []struct {
	kind  ReportKind
	title string
}{
	{ForCustomer, "What was wrong, and what was done"},
	{AsProof, "From what was seen to what was proved"},
	{ForBench, "Turns by hand that prove the assembly"},
}

// Headings of a case that is not proved: of the page for the customer where nothing was found
// to be at fault, and of what turns by hand showed.
const (
	suspectedTitle = "What was felt, and what is suspected"
	howFarProved   = "How far it is proved"
)

// ReportKinds lists the kinds by name.
func ReportKinds() []string {
	names := make([]string, len(reportTitles))
	for i, x := range reportTitles {
		names[i] = string(x.kind)
	}
	return names
}

// title is what a report of the kind is headed with, "" for no kind.
func (k ReportKind) title() string {
	for _, x := range reportTitles {
		if x.kind == k {
			return x.title
		}
	}
	return ""
}

// A Report is one page of a case. Its document is tieup.report/1.
type Report struct {
	Schema   string              `json:"schema"`
	Kind     ReportKind          `json:"kind"`
	Train    *kinematics.Train   `json:"train"`
	Title    string              `json:"title"`
	Vehicle  string              `json:"vehicle"`
	Sections List[ReportSection] `json:"sections"`
	Marked   List[string]        `json:"marked"` // elements that the drawing marks
	Framed   string              `json:"framed"` // what they are, "" for none
	Cautions List[string]        `json:"cautions"`

	// Drawing is the train with nothing applied, Mark whether each element is marked.
	Drawing *Explained   `json:"-"`
	Mark    map[int]bool `json:"-"`
	Plan    *Planned     `json:"-"`
}

// A ReportSection is a heading and the lines below it; Boxes says which lines stand
// behind a box, and whether that is ticked.
type ReportSection struct {
	Heading string           `json:"heading"`
	Lines   List[ReportLine] `json:"lines"`
}

// A ReportLine is a line of a report.
type ReportLine struct {
	Text string `json:"text"`
	// Box is "" for none, " " for one to be ticked, "x" for a ticked one and "!" for one
	// that showed something else.
	Box string `json:"box"`
	// Further are lines that belong to it.
	Further List[string] `json:"further"`
}

// A ReportQuestion asks for a report of a case.
type ReportQuestion struct {
	Kind ReportKind
	Case *Case
	Plan PlanQuestion
}

// Report makes a page of a case.
func (a *Analysis) Report(ctx context.Context, q ReportQuestion) (*Report, error) {
	t := a.Train
	if err := a.of(q.Case); err != nil {
		return nil, err
	}
	if q.Kind.title() == "" {
		return nil, refusal("report", "a report is for %s, not %q", kinematics.Or(ReportKinds()), q.Kind)
	}
	x := &Report{Schema: "tieup.report/1", Kind: q.Kind, Train: t, Title: q.Kind.title(),
		Vehicle: q.Case.Vehicle,
		Mark:    map[int]bool{}}
	d, err := a.Diagnose(ctx, DiagnoseQuestion{Case: q.Case, Faults: 2, Brief: true})
	if err != nil {
		return nil, err
	}
	if x.Plan, err = a.Plan(ctx, q.Plan); err != nil {
		return nil, err
	}
	x.Plan.Tick(q.Case)
	switch q.Kind {
	case ForCustomer:
		x.customer(d, q.Case)
	case AsProof:
		x.proof(d, q.Case)
	default:
		x.bench()
	}
	x.cautions(d, q.Case)
	return x, x.draw(ctx, a, d, q.Case)
}

func (x *Report) add(heading string, lines ...string) {
	x.addBoxed(heading, "", lines)
}

// addBoxed adds a section, if it has lines, each behind a box.
func (x *Report) addBoxed(heading, box string, lines []string) {
	s := ReportSection{Heading: heading}
	s.Lines = kinematics.Map(lines, func(l string) ReportLine { return ReportLine{Text: l, Box: box} })
	if len(lines) > 0 {
		x.Sections = append(x.Sections, s)
	}
}

// customer says what was felt, what was tried, and what it is.
func (x *Report) customer(d *Diagnosed, c *Case) {
	var felt []string
	if c.Complaint != "" {
		felt = append(felt, reading.Quoted(c.Complaint))
	}
	x.add("What was felt", append(felt, seenLines(c, false)...)...)
	x.add("What was tried", seenLines(c, true)...)
	known := x.whatItIs(d, c)
	switch {
	case known:
		x.add("What it harmed", d.Opened.harmed()...)
		x.add("What else was found", foundElse(d.Opened, c)...)
	case d.Opened != nil:
		x.add("What was found", foundElse(&Opened{}, c)...)
	}
	x.add("What was replaced", c.Replaced...)
	switch says, all := x.Plan.Proved(); {
	case says == "":
	case known && all:
		x.add("How it was proved", says)
	default:
		x.add(howFarProved, says)
	}
}

// proof leads from what was seen to what was proved.
func (x *Report) proof(d *Diagnosed, c *Case) {
	x.add("Seen", seenLines(c, false)...)
	x.add("Excluded by it", excluded(d, c, false)...)
	x.add("Tested", append(seenLines(c, true), excluded(d, c, true)...)...)
	var remark []string
	if d.Remark != "" {
		remark = append(remark, d.Remark)
	}
	x.add("Left as suspects", append(remark, left(d, func(p *SuspectPart) string { return p.Says })...)...)
	if d.Opened != nil {
		x.add("Found on opening", d.Opened.Words...)
	}
	x.add("Replaced", c.Replaced...)
	switch says, all := x.Plan.Proved(); {
	case says == "":
		x.add(howFarProved, reading.NoTurnMade)
	case all && settled(d, c):
		x.Sections = append(x.Sections, ReportSection{Heading: "Proved: " + says, Lines: x.turnLines(false)})
	default:
		x.Sections = append(x.Sections, ReportSection{Heading: howFarProved + ": " + says, Lines: x.turnLines(false)})
	}
}

// bench is the plan with its boxes.
func (x *Report) bench() {
	x.add("Taken to be so", append(x.Plan.Assumptions, reading.Viewed)...)
	x.Sections = append(x.Sections, ReportSection{Heading: "Turns by hand, in this order", Lines: x.turnLines(true)})
	beyond := kinematics.Map(x.Plan.Hidden, func(h HiddenFault) string { return h.Words + ": " + h.Test })
	x.addBoxed("What turning cannot show", " ", append(beyond, x.Plan.Beyond...))
}

// turnLines are the turns of the plan with their boxes.
func (x *Report) turnLines(suspects bool) List[ReportLine] {
	var lines List[ReportLine]
	for i := range x.Plan.Turns {
		y := &x.Plan.Turns[i]
		line := ReportLine{Text: fmt.Sprintf("%d. %s", i+1, y.Says), Box: " ",
			Further: List[string]{"expect: " + y.Expect.Says}}
		switch {
		case y.Agrees:
			line.Box = "x"
		case y.Saw != "":
			line.Box = "!"
			line.Further = append(line.Further, "seen: "+string(y.Saw))
		}
		for _, o := range y.Otherwise {
			if suspects {
				line.Further = append(line.Further, "if "+o.Seen.Says+": "+kinematics.Or(o.Words))
			}
		}
		lines = append(lines, line)
	}
	for i := range x.Plan.Others {
		y := &x.Plan.Others[i]
		line := ReportLine{Text: "also: " + y.Says, Box: "x", Further: List[string]{"seen: " + string(y.Saw)}}
		if !y.Agrees {
			line.Box, line.Further = "!", List[string]{"seen: " + string(y.Saw) + ", which is not as it should be"}
		}
		lines = append(lines, line)
	}
	return lines
}

// seenLines are what was seen on the road, or what tests showed.
func seenLines(c *Case, shop bool) []string {
	var lines []string
	for i := range c.Seen {
		if o := &c.Seen[i]; (o.Shop != nil) == shop {
			what := o.Place(c.Train) + ":"
			if shop {
				what = o.Shop.Text(c.Train)
			}
			lines = append(lines, what+" "+o.Value(c.Train)+meaning(c.Train, o))
		}
	}
	return lines
}

// meaning is what the word of an observation means, "" for one that says it itself.
func meaning(t *kinematics.Train, o *Observation) string {
	if text := diagnosis.Plainly(t, o.Word); text != "" && o.Shop == nil {
		return " (" + text + ")"
	}
	return ""
}

// foundFaults are the parts that were found at fault and explain what was seen, the whole of it
// or not.
func foundFaults(d *Diagnosed, c *Case) (lines []string, whole bool) {
	if d.Opened == nil || len(d.Opened.Suspects) == 0 {
		return nil, false
	}
	best := &d.Opened.Suspects[0]
	for _, f := range c.Found {
		if slices.Contains(best.Itself, f.Part) {
			lines = append(lines, f.Plainly())
		}
	}
	return lines, lines != nil && best.Contradictions == 0
}

// settled says whether turns by hand prove a case: nothing was seen, or all of it is explained
// by what was found.
func settled(d *Diagnosed, c *Case) bool {
	_, whole := foundFaults(d, c)
	return whole || len(c.Seen) == 0
}

// whatItIs says what the fault is: what was found to be one, else who is suspected, and
// how far that is proved and explains what was seen. It is known if it was found.
func (x *Report) whatItIs(d *Diagnosed, c *Case) (known bool) {
	found, whole := foundFaults(d, c)
	if found != nil && !whole {
		found = append(found, reading.FoundInPart)
	}
	_, all := x.Plan.Proved()
	switch {
	case found != nil && all:
		x.add("What it is", found...)
		return true
	case found != nil:
		x.add("What was found", append(found, reading.FoundUnproved)...)
		return true
	}
	x.Title = suspectedTitle
	if len(c.Seen) == 0 {
		x.add("What is suspected", reading.NothingSuspected)
		return false
	}
	var lines []string
	if d.Plainly != "" {
		lines = append(lines, d.Plainly)
	}
	lines = append(lines, reading.Suspected(len(d.Groups[0].Parts)))
	x.add("What is suspected", append(lines, left(d, func(p *SuspectPart) string { return p.Plainly })...)...)
	return false
}

// left are the suspects of the first group, a line for each part.
func left(d *Diagnosed, says func(*SuspectPart) string) []string {
	const most = 6
	lines := kinematics.Map(d.Groups[0].Parts, says)
	if len(lines) > most {
		lines = append(lines[:most], fmt.Sprintf("%d others that nothing seen so far tells apart", len(lines)-most))
	}
	return lines
}

// harmed are the parts that took heat from what is at fault.
func (o *Opened) harmed() []string {
	if len(o.Suspects) == 0 {
		return nil
	}
	return kinematics.Map(o.Suspects[0].Heats, reading.TookHeat)
}

// foundElse are the parts that were found at fault, and that the likeliest suspect neither
// is nor heats.
func foundElse(o *Opened, c *Case) []string {
	var lines []string
	for _, f := range c.Found {
		told := len(o.Suspects) > 0 && (slices.Contains(o.Suspects[0].Itself, f.Part) || o.Suspects[0].where[f.Part] != "")
		if f.Word != diagnosis.FoundGood && !told {
			lines = append(lines, f.Plainly())
		}
	}
	return lines
}

// excluded names for each observation the parts that it excludes.
func excluded(d *Diagnosed, c *Case, shop bool) []string {
	const most = 8
	var lines []string
	for i := range c.Seen {
		o := &c.Seen[i]
		if (o.Shop != nil) != shop {
			continue
		}
		var names []string
		for _, g := range d.Groups {
			for _, s := range g.Suspects {
				single := len(s.Faults) == 1 && s.Kind == diagnosis.Faulty
				if single && i < len(s.Fits) && s.Fits[i] == diagnosis.Not && !slices.Contains(names, s.Short) {
					names = append(names, s.Short)
				}
			}
		}
		if n := len(names); n > most {
			names = append(names[:most], fmt.Sprintf("%d more", n-most))
		}
		if len(names) > 0 {
			lines = append(lines, o.Place(c.Train)+" = "+o.Value(c.Train)+" excludes "+kinematics.And(names))
		}
	}
	return lines
}

// cautions are those of the work that the page is for; a customer is told to let it be
// done by those who may.
func (x *Report) cautions(d *Diagnosed, c *Case) {
	if x.Kind == ForBench {
		x.Cautions = x.Plan.Cautions
		return
	}
	x.Cautions = d.Cautions
	// Who is suspected and was not found may still be as it was.
	if _, all := x.Plan.Proved(); x.Kind == ForCustomer && all && settled(d, c) {
		x.Cautions = List[string]{reading.StandingLine}
	}
}

// draw finds the half-section and what of it is marked: parts that were found at fault,
// else the suspects of the first group, or on the bench what is aired first.
func (x *Report) draw(ctx context.Context, a *Analysis, d *Diagnosed, c *Case) error {
	turn := 0
	for _, f := range c.Found {
		if f.Word != diagnosis.FoundGood {
			x.mark(f.Couplings...)
		}
	}
	switch {
	case x.Kind == ForBench:
		x.Mark = map[int]bool{}
		turn = 1 + slices.IndexFunc(x.Plan.Turns, func(y PlannedTurn) bool { return y.Saw == "" })
		if turn > 0 {
			x.mark(x.Plan.Turns[turn-1].turn.Air...)
		}
	case len(x.Mark) == 0 && len(c.Seen) > 0:
		for _, s := range d.Groups[0].Suspects {
			x.mark(s.couplings...)
		}
	}
	return x.idle(ctx, a, turn)
}

// TurnDrawn is a page of nothing but a drawing: what turn n of a plan, from 0, applies.
func (a *Analysis) TurnDrawn(ctx context.Context, p *Planned, n int) (*Report, error) {
	if p == nil || p.Train != a.Train || n < 0 || n >= len(p.Turns) {
		return nil, refusal("turn", "no plan of %s has a turn number %d", a.Train.Name, n)
	}
	x := &Report{Schema: "tieup.report/1", Kind: ForBench, Train: a.Train, Title: p.Turns[n].Says, Plan: p,
		Cautions: p.Cautions, Mark: map[int]bool{}}
	x.mark(p.Turns[n].turn.Air...)
	return x, x.idle(ctx, a, n+1)
}

// idle draws the train with nothing applied; turn, from 1, is the one whose elements are
// marked, 0 for none.
func (x *Report) idle(ctx context.Context, a *Analysis, turn int) error {
	t := a.Train
	for i := range t.ElementCount {
		if x.Mark[i] {
			x.Marked = append(x.Marked, t.Couplings[i].Name)
		}
	}
	if len(x.Marked) > 0 {
		x.Framed = reading.Framed(x.Marked, turn)
	}
	var err error
	x.Drawing, err = a.unloaded(ctx)
	return err
}

func (x *Report) mark(couplings ...int) {
	for _, i := range couplings {
		x.Mark[i] = true
	}
}
