package table

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/diagnosis"
)

// Diagnosed writes who is suspected, why, and which test is worth making next.
type Diagnosed struct {
	*analysis.Diagnosed
	All   bool   // show every group and every suspect
	AllBy string // how to ask for all, "--all" if it is not set
	Brief bool   // only who is suspected first, and the next test
}

// What is shown unless everything is asked for: so many groups, parts of one and
// suspects in the matrix, and no group with more than one contradiction more than
// the first.
const (
	fewGroups   = 4
	fewParts    = 4
	fewSuspects = 6
)

// Text writes first who is suspected, by parts, and the next tests with what each
// suspect would show; then the causes to look for, who is less likely, and what
// speaks for and against each.
func (d Diagnosed) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	a := d.Answer
	p.line(fitted(a.Train, p.width))
	for _, line := range d.Told() {
		p.line(line)
	}
	for _, c := range d.Claims {
		d.claim(p, c)
	}
	d.suspects(p)
	d.next(p)
	if !d.Brief {
		d.look(p)
		d.matrix(p)
		p.line("")
		p.line(a.Case.Assume.Words())
	}
	p.cautions(d.Cautions)
	return p.err
}

// Told repeats what is known of the vehicle, a line for each thing.
func (d Diagnosed) Told() []string {
	a := d.Answer
	var lines []string
	add := func(label, text string) {
		if text != "" {
			lines = append(lines, label+": "+text)
		}
	}
	add("vehicle", a.Vehicle)
	add("complaint", a.Complaint)
	var words []string
	for _, c := range a.Circumstances {
		words = append(words, c.String())
	}
	add("circumstances", strings.Join(words, "; "))
	if len(a.Seen) == 0 {
		return append(lines, "seen: nothing yet")
	}
	add("seen", strings.Join(a.Places(), "; "))
	for _, remark := range a.CodeRemarks() {
		add("code", remark)
	}
	add("not weighed", strings.Join(a.Unweighed(), "; "))
	add("not tested", list(a.Untested()))
	return lines
}

// shown are the groups that are written.
func (d Diagnosed) shown() []diagnosis.Group {
	groups := d.Answer.Groups
	if d.All {
		return groups
	}
	n := 0
	for n < min(len(groups), fewGroups) && (n == 0 || groups[n].Halves() <= groups[0].Halves()+2) {
		n++
	}
	return groups[:n]
}

// suspects writes the first group.
func (d Diagnosed) suspects(p *page) {
	p.heading("Suspects")
	if s := d.Remark(); s != "" {
		p.line(s)
	}
	g := d.First()
	p.hanging(0, 3, g.Lead)
	p.hanging(3, 3, g.Reason)
	for _, x := range g.Parts {
		p.hanging(3, 5, x.Text)
	}
	if g.More != "" {
		p.hanging(3, 5, g.More)
	}
	if g.Alike != "" {
		p.hanging(3, 3, g.Alike)
	}
}

// look writes the causes to look for, and who is less likely.
func (d Diagnosed) look(p *page) {
	if causes := d.Look(); len(causes) > 0 {
		p.heading(LookFor)
		for _, x := range causes {
			p.hanging(0, 3, x.Text)
			for _, line := range x.Lines {
				p.hanging(3, 5, line)
			}
		}
	}
	for i, line := range d.LessLines() {
		if i == 0 {
			p.heading(LessLikely)
		}
		p.hanging(0, 3, line)
	}
	if rest := d.RestLine(); rest != "" {
		p.line(rest)
	}
}

// A SuspectGroup is a group of suspects in words, by the parts that they are of.
type SuspectGroup struct {
	Lead   string // the parts, behind the rank
	Reason string // what agrees and what contradicts
	Parts  []PartText
	More   string // that there are more
	Alike  string // that only a test of the elements tells them apart
}

// A PartText is a part with what can be wrong with it, or with the causes of that.
type PartText struct {
	Text  string
	Lines []string
}

// First is the first group in words.
func (d Diagnosed) First() SuspectGroup { return d.group(&d.Answer.Groups[0]) }

// LookFor is the heading of the causes.
const LookFor = "What to look for"

// Look returns the causes to look for, by the parts of the first group: of each
// suspect if all is asked for.
func (d Diagnosed) Look() []PartText {
	if len(d.Answer.Seen) == 0 && !d.All {
		return nil
	}
	t := d.Answer.Train
	var list []PartText
	for _, part := range d.parts(&d.Answer.Groups[0]) {
		x := PartText{Text: part.Name + ":"}
		if !d.All {
			x.Lines = merged(part.Causes(t))
			list = append(list, x)
			continue
		}
		for _, s := range part.Suspects {
			text := s.Text(t)
			if c := d.Answer.Class(s); c != "" {
				text += " (" + c + ")"
			}
			list = append(list, PartText{Text: text, Lines: d.causes(s)})
		}
	}
	return list
}

// merged folds causes: what is mechanical in one line, what is hydraulic in another.
func merged(causes []diagnosis.Cause) []string {
	var all [4][]string
	for _, c := range causes {
		for i, text := range []string{c.Mechanical, c.Hydraulic, c.Electrical, c.Sign} {
			if text != "" && !slices.Contains(all[i], text) {
				all[i] = append(all[i], text)
			}
		}
	}
	return Causes(diagnosis.Cause{Mechanical: strings.Join(all[0], "; "), Hydraulic: strings.Join(all[1], "; "),
		Electrical: strings.Join(all[2], "; "), Sign: strings.Join(all[3], "; ")})
}

// parts are those of a group that are written.
func (d Diagnosed) parts(g *diagnosis.Group) []diagnosis.Part {
	parts := diagnosis.Parts(d.Answer.Train, g.Suspects)
	if !d.All && len(parts) > fewParts+1 {
		parts = parts[:fewParts]
	}
	return parts
}

// LessLikely is the heading of the groups that are written in a line.
const LessLikely = "Less likely"

// LessLines returns the groups that are written in a line.
func (d Diagnosed) LessLines() []string {
	a := d.Answer
	var lines []string
	for i, g := range d.shown() {
		if i > 0 {
			lines = append(lines, fmt.Sprintf("%d. %s: %s", g.Rank, suspected(a.Train, g.Suspects, nil), a.Agreement(&g)))
		}
	}
	return lines
}

// RestLine says how many suspects are left out, "" if none.
func (d Diagnosed) RestLine() string {
	n := 0
	for _, g := range d.Answer.Groups[len(d.shown()):] {
		n += len(g.Suspects)
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("Less likely still: %s; %s shows all.", kinematics.Count(n, "other suspect"), d.allBy())
}

func (d Diagnosed) allBy() string { return cmp.Or(d.AllBy, "--all") }

// full says whether a group is written in full.
func (d Diagnosed) full(g *diagnosis.Group) bool {
	return d.All || g.Halves() <= d.Answer.Groups[0].Halves()+1
}

// Remark is the summary where it tells more than the first group does.
func (d Diagnosed) Remark() string {
	best := &d.Answer.Groups[0]
	if s := best.Suspects[0]; best.Halves() == 0 && s.Count() < 2 {
		return ""
	}
	return d.Answer.Summary()
}

// group puts one group in words.
func (d Diagnosed) group(g *diagnosis.Group) SuspectGroup {
	a, t := d.Answer, d.Answer.Train
	lead := fmt.Sprintf("%d. ", g.Rank)
	if len(g.Suspects) == 1 {
		s := g.Suspects[0]
		return SuspectGroup{Lead: lead + s.Text(t), Reason: d.reason(g, s)}
	}
	all := diagnosis.Parts(t, g.Suspects)
	parts := d.parts(g)
	var names []string
	for _, part := range parts {
		names = append(names, part.Name)
	}
	if n := len(all) - len(parts); n > 0 {
		names = append(names[:3:3], kinematics.Count(len(all)-3, "other part"))
	}
	x := SuspectGroup{Lead: lead + kinematics.Or(names),
		Reason: fmt.Sprintf("%d suspects: %s", len(g.Suspects), a.Agreement(g))}
	for _, part := range parts {
		x.Parts = append(x.Parts, PartText{Text: part.Says(t)})
	}
	if n := len(all) - len(parts); n > 0 {
		x.More = fmt.Sprintf("and %d more parts; %s shows them", n, d.allBy())
	}
	if a.Indistinguishable(g) {
		x.Alike = "They do the same in every range: no test on the road can tell them apart; a gauge at a tap, " +
			"the bench, air or the element in hand can."
	}
	return x
}

// few are the suspects of a group that are written in the matrix.
func (d Diagnosed) few(g *diagnosis.Group) []*diagnosis.Suspect {
	if d.All || len(g.Suspects) <= fewSuspects {
		return g.Suspects
	}
	return g.Suspects[:fewSuspects]
}

func (d Diagnosed) reason(g *diagnosis.Group, s *diagnosis.Suspect) string {
	text := d.Answer.Agreement(g)
	if c := d.Answer.Class(s); c != "" {
		text += "; " + c
	}
	return text
}

// hanging writes a line behind some blanks, wrapped; its further lines stand
// behind others.
func (p *page) hanging(blanks, further int, text string) {
	width := 0
	if p.width > 0 {
		width = max(p.width-max(blanks, further), 20)
	}
	p.print(strings.Repeat(" ", blanks) + strings.ReplaceAll(Wrap(text, width), "\n", "\n"+strings.Repeat(" ", further)))
}

// causes says what to look for under a suspect.
func (d Diagnosed) causes(s *diagnosis.Suspect) []string {
	var lines []string
	for i, c := range s.Causes(d.Answer.Train) {
		if len(s.Faults) > 1 && s.Kind == diagnosis.Faulty {
			lines = append(lines, "under "+d.Answer.Train.Couplings[s.Faults[i].Coupling].Name+":")
		}
		lines = append(lines, Causes(c)...)
	}
	return lines
}

// Causes says what to look for: "mechanical: plates welded or warped".
func Causes(c diagnosis.Cause) []string {
	var parts []string
	for _, x := range [][2]string{{"mechanical", c.Mechanical}, {"hydraulic", c.Hydraulic}, {"electrical", c.Electrical},
		{"sign", c.Sign}} {
		if x[1] != "" {
			parts = append(parts, x[0]+": "+x[1])
		}
	}
	return parts
}

// matrix sets the suspects against the places that were seen.
func (d Diagnosed) matrix(p *page) {
	a := d.Answer
	if len(a.Seen) == 0 {
		return
	}
	p.heading("Each suspect against what was seen")
	p.grid(d.Matrix())
	p.line(MatrixNote)
}

// MatrixNote says how the matrix is read.
const MatrixNote = "- = not tested: counts neither way"

// Matrix is a row for each suspect shown, a column for each range, and for each
// shift and each test in the workshop that was seen.
func (d Diagnosed) Matrix() *Grid {
	a, t := d.Answer, d.Answer.Train
	g := &Grid{}
	heads := []string{"rank", "suspect"}
	for r := range t.Ranges {
		heads = append(heads, t.Ranges[r].Name)
	}
	more := a.Elsewhere()
	for _, s := range more {
		heads = append(heads, s.Place(t))
	}
	g.Columns = columns(heads...)
	for _, group := range d.shown() {
		suspects := d.few(&group)
		if !d.full(&group) {
			suspects = suspects[:1]
		}
		for _, s := range suspects {
			cells := []string{strconv.Itoa(group.Rank), s.Short(t)}
			for r := range t.Ranges {
				cells = append(cells, a.Mark(s, diagnosis.Observation{Range: r, To: -1}))
			}
			for _, x := range more {
				cells = append(cells, a.Mark(s, x))
			}
			g.Add(cells...)
		}
	}
	return g
}

// next writes the tests worth making.
func (d Diagnosed) next(p *page) {
	p.heading("The next test")
	if lead := d.NextLead(); lead != "" {
		p.line(lead)
	}
	for i, x := range d.NextTests() {
		if i > 0 {
			p.line("")
		}
		p.hanging(0, 3, x.Before)
		p.hanging(0, 3, x.Lead)
		for _, s := range x.Shows {
			p.hanging(3, 5, s.Text+": "+s.Suspects)
		}
		if x.Rest != "" {
			p.hanging(3, 5, x.Rest)
		}
	}
	for i, line := range d.RefusedLines() {
		if i == 0 {
			p.line("")
		}
		p.hanging(0, 3, line)
	}
}

// fewRefused is how many tests that are refused are written unless all are asked for.
const fewRefused = 2

// RefusedLines says which tests would tell something and may not be made, and why.
func (d Diagnosed) RefusedLines() []string {
	var lines []string
	for i := range d.Refused {
		r := &d.Refused[i]
		if !d.All && i == fewRefused && len(d.Refused) > fewRefused+1 {
			return append(lines, fmt.Sprintf("Nor %d other tests; %s says why.", len(d.Refused)-i, d.allBy()))
		}
		lines = append(lines,
			"Not proposed: "+strings.TrimRight(r.Test.Text(d.Answer.Train), ".")+" ("+d.Answer.Reason(r)+").")
	}
	return lines
}

// A NextTest is a test worth making, in words.
type NextTest struct {
	Lead   string // what to do
	Before string // what must stand before it: "Before test 1: wheels chocked"
	Shows  []Shown
	Rest   string // whom it says nothing about, "" for nobody
}

// A Shown is what a test can show.
type Shown struct {
	Text     string
	Suspects string
	Seen     []diagnosis.Observation // as which it can be noted; nil if it cannot
}

// NextLead is what stands before the tests worth making, "" for nothing.
func (d Diagnosed) NextLead() string {
	a := d.Answer
	switch first := &a.Groups[0]; {
	case len(d.Proposals) == 0:
		return "No test that is allowed can tell the suspects apart further."
	case !d.Proposals[0].Kind.OnTheRoad() && a.Indistinguishable(first) && len(first.Suspects) > 1:
		return "No test on the road can tell the first suspects apart; these can:"
	case len(first.Suspects) == 1 && first.Halves() == 0:
		return "One suspect agrees with everything; these tests confirm or refute it:"
	}
	return ""
}

// NextTests returns the tests worth making.
func (d Diagnosed) NextTests() []NextTest {
	t := d.Answer.Train
	var tests []NextTest
	for i, x := range d.Proposals {
		test := NextTest{Lead: fmt.Sprintf("%d. %s (effort %d)", i+1, x.Test.Text(t), x.Effort), Before: d.before(i)}
		all := slices.Clone(x.Unsure)
		for _, e := range x.Expect {
			all = append(all, e.Suspects...)
		}
		for _, e := range x.Expect {
			test.Shows = append(test.Shows, Shown{e.Text, suspected(t, e.Suspects, all), e.Seen})
		}
		if len(x.Unsure) > 0 {
			test.Rest = "says nothing about: " + suspected(t, x.Unsure, all)
		}
		tests = append(tests, test)
	}
	return tests
}

// before is what must stand before the i-th proposal; what stands before an earlier
// one is not said again.
func (d Diagnosed) before(i int) string {
	text := d.Proposals[i].Before(d.Answer.Train)
	for k := range i {
		if d.Proposals[k].Before(d.Answer.Train) == text {
			text = "as before test " + strconv.Itoa(k+1)
			break
		}
	}
	return "Before test " + strconv.Itoa(i+1) + ": " + text + "."
}

// suspected names some suspects in a line; of a part of which all among others are
// there, the part alone.
func suspected(t *kinematics.Train, suspects, among []*diagnosis.Suspect) string {
	of := map[string]int{}
	for _, s := range among {
		of[s.Part(t)]++
	}
	var names []string
	for _, part := range diagnosis.Parts(t, suspects) {
		switch findings := part.Findings(t); {
		case len(part.Suspects) > 1 && of[part.Name] == len(part.Suspects):
			names = append(names, part.Name)
		case !part.Bare():
			names = append(names, findings...)
		case len(findings) > 2:
			names = append(names, fmt.Sprintf("%s %s, or %d more", part.Name, findings[0], len(findings)-1))
		default:
			names = append(names, part.Name+" "+strings.Join(findings, ", "))
		}
	}
	if len(names) > 4 {
		names = append(names[:3:3], fmt.Sprintf("%d more", len(names)-3))
	}
	return strings.Join(names, "; ")
}

// claim writes what a claimed suspect would have to do, and what refutes it.
func (d Diagnosed) claim(p *page, c diagnosis.Claim) {
	a, t := d.Answer, d.Answer.Train
	p.heading("Claim: " + c.Text(t))
	p.line(a.Refutation(c))
	p.line("")
	g := &Grid{Columns: columns("range", "healthy", "it would have to", "coasting then", "seen", "so")}
	for r := range t.Ranges {
		healthy, _ := a.Prediction(&diagnosis.Suspect{}, r)
		reads, coast := a.Prediction(c.Suspect, r)
		seen, so := a.SeenAt(c.Suspect, diagnosis.Observation{Range: r, To: -1})
		g.Add(t.Ranges[r].Name, healthy, reads, coast, seen, so)
	}
	for _, x := range a.Elsewhere() {
		seen, so := a.SeenAt(c.Suspect, x)
		var healthy, reads []string
		for _, test := range testsOf(a, x) {
			healthy, reads = append(healthy, shows(a, test, &diagnosis.Suspect{})), append(reads, shows(a, test, c.Suspect))
		}
		g.Add(x.Place(t), list(healthy), list(reads), "", seen, so)
	}
	p.grid(g)
}

// testsOf are the tests that were made in a place other than a range: one, or
// on the bench one for each way in which the train was turned.
func testsOf(a *diagnosis.Answer, place diagnosis.Observation) []diagnosis.Test {
	if place.Position != nil {
		return nil // of its ranges, which have rows of their own
	}
	if place.Shop == nil {
		return []diagnosis.Test{{Kind: diagnosis.Shifting, Range: place.Range, To: place.To}}
	}
	var tests []diagnosis.Test
	for _, o := range a.Seen {
		if o.SamePlace(&place) {
			tests = append(tests, *o.Shop)
		}
	}
	return tests
}

// shows is what a test shows of a suspect.
func shows(a *diagnosis.Answer, x diagnosis.Test, s *diagnosis.Suspect) string {
	text := a.Reply(&x, s).Text
	if text == "" {
		return "either"
	}
	return text
}

// fitted is the name of a train with its title, or without it where both do not fit
// into one line.
func fitted(t *kinematics.Train, width int) string {
	if text := titled(t); width <= 0 || columnsOf(text) <= width {
		return text
	}
	return t.Name
}
