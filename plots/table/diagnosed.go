package table

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
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

// text writes first who is suspected, by parts, and the next tests with what each
// suspect would show; then the causes to look for, who is less likely, and what
// speaks for and against each.
func (d Diagnosed) text(p *page) {
	p.line(fitted(d.Train, p.width))
	p.line(d.ToldLines()...)
	for _, c := range d.Claims {
		claim(p, c)
	}
	d.suspects(p)
	d.opened(p)
	d.next(p)
	if !d.Brief {
		d.look(p)
		d.matrix(p)
		p.apart(d.Assumed)
	}
	p.apart(d.Cautions...)
}

// ToldLines repeats what is known of the vehicle, a line for each thing.
func (d Diagnosed) ToldLines() []string {
	var lines []string
	for label, text := range d.Told.All() {
		lines = append(lines, label+": "+text)
	}
	return lines
}

// shown are the groups that are written.
func (d Diagnosed) shown() []*analysis.SuspectGroup {
	groups := d.Groups
	if d.All {
		return groups
	}
	n := 0
	for n < min(len(groups), fewGroups) && (n == 0 || groups[n].Contradictions <= groups[0].Contradictions+1) {
		n++
	}
	return groups[:n]
}

// suspects writes the first group.
func (d Diagnosed) suspects(p *page) {
	p.heading("Suspects")
	if d.Remark != "" {
		p.line(d.Remark)
	}
	g := d.First()
	p.hanging(0, 3, g.Lead)
	p.hanging(3, 3, g.Reason)
	p.list(3, 5, g.Parts)
	if g.More != "" {
		p.hanging(3, 5, g.More+g.MoreBy)
	}
	if g.Alike != "" {
		p.hanging(3, 3, g.Alike)
	}
}

// fewOpened is how many suspects are compared with what was found, unless all are asked for.
const fewOpened = 4

// opened writes what was found on opening, and which suspect accounts for it.
func (d Diagnosed) opened(p *page) {
	o := d.Opened
	if o == nil {
		return
	}
	p.heading(o.Heading())
	p.list(0, 3, o.Words)
	suspects := o.Suspects
	if !d.All {
		suspects = suspects[:min(len(suspects), fewOpened)]
	}
	for i := range suspects {
		p.hanging(0, 3, fmt.Sprintf("%d. %s", i+1, suspects[i].Says()))
	}
	if !d.Brief {
		p.hanging(0, 3, o.TakenAs())
	}
}

// look writes the causes to look for, and who is less likely.
func (d Diagnosed) look(p *page) {
	if causes := d.Look(); len(causes) > 0 {
		p.heading(LookFor)
		for _, x := range causes {
			p.hanging(0, 3, x.Text)
			p.list(3, 5, x.Lines)
		}
	}
	p.section(LessLikely, 0, 3, d.LessLines())
	if rest := d.Rest(); rest.More != "" {
		p.line(rest.More + rest.MoreBy)
	}
}

// A SuspectGroup is how a group of suspects is written, by the parts that they are of.
type SuspectGroup struct {
	Lead   string   // the parts, behind the rank
	Reason string   // what agrees and what contradicts
	Parts  []string // what can be wrong with each
	Alike  string   // that only a test of the elements tells them apart
	LeftOut
}

// LeftOut says that there are more, "" if there are none, and how they are shown, which
// paper cannot.
type LeftOut struct{ More, MoreBy string }

// A CauseText is a part, or a suspect, with what to look for.
type CauseText struct {
	Text  string
	Lines []string
}

// LookFor is the heading of the causes.
const LookFor = "What to look for"

// Look returns the causes to look for, by the parts of the first group, those with the same
// together: of each suspect if all is asked for.
func (d Diagnosed) Look() []CauseText {
	if len(d.Seen) == 0 && !d.All {
		return nil
	}
	var list []CauseText
	var parts [][]string // that have the lines of each of the list
	for _, part := range d.parts(d.Groups[0]) {
		if !d.All {
			i := slices.IndexFunc(list, func(x CauseText) bool { return slices.Equal(x.Lines, part.Look) })
			if i < 0 {
				i, list, parts = len(list), append(list, CauseText{"", part.Look}), append(parts, nil)
			}
			parts[i] = append(parts[i], part.Part)
			list[i].Text = strings.Join(parts[i], ", ") + ":"
			continue
		}
		for _, s := range part.Suspects {
			text := s.Text
			if s.Class != "" {
				text += " (" + s.Class + ")"
			}
			list = append(list, CauseText{text, s.Look})
		}
	}
	return list
}

// parts are those of a group that are written.
func (d Diagnosed) parts(g *analysis.SuspectGroup) []*analysis.SuspectPart {
	if !d.All && len(g.Parts) > fewParts+1 {
		return g.Parts[:fewParts]
	}
	return g.Parts
}

// LessLikely is the heading of the groups that are written in a line.
const LessLikely = "Less likely"

// LessLines returns the groups that are written in a line.
func (d Diagnosed) LessLines() []string {
	return kinematics.Map(d.shown()[1:], func(g *analysis.SuspectGroup) string {
		return fmt.Sprintf("%d. %s: %s", g.Rank, g.Named, g.Agreement)
	})
}

// Rest says how many suspects are left out.
func (d Diagnosed) Rest() LeftOut {
	n := 0
	for _, g := range d.Groups[len(d.shown()):] {
		n += len(g.Suspects)
	}
	if n == 0 {
		return LeftOut{}
	}
	return LeftOut{analysis.LessLikely(n), "; " + d.allBy() + " shows all."}
}

func (d Diagnosed) allBy() string { return cmp.Or(d.AllBy, "--all") }

// full says whether a group is written in full.
func (d Diagnosed) full(g *analysis.SuspectGroup) bool {
	return d.All || g.Contradictions <= d.Groups[0].Contradictions+0.5
}

// First is how the first group is written.
func (d Diagnosed) First() SuspectGroup {
	g := d.Groups[0]
	parts := d.parts(g)
	who, reason := g.Says(parts)
	x := SuspectGroup{Lead: fmt.Sprintf("%d. %s", g.Rank, who), Reason: reason}
	if len(g.Suspects) == 1 {
		return x
	}
	x.Parts, x.Alike = kinematics.Map(parts, func(p *analysis.SuspectPart) string { return p.Says }), g.Alike()
	if left := len(g.Parts) - len(parts); left > 0 {
		x.LeftOut = LeftOut{fmt.Sprintf("and %d more parts", left), "; " + d.allBy() + " shows them"}
	}
	return x
}

// few are the suspects of a group that are written in the matrix.
func (d Diagnosed) few(g *analysis.SuspectGroup) []*analysis.Suspect {
	switch {
	case !d.full(g):
		return g.Suspects[:1]
	case d.All || len(g.Suspects) <= fewSuspects:
		return g.Suspects
	}
	return g.Suspects[:fewSuspects]
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

// matrix sets the suspects against the places that were seen.
func (d Diagnosed) matrix(p *page) {
	if len(d.Seen) == 0 {
		return
	}
	p.heading("Each suspect against what was seen")
	p.grid(d.Matrix())
	p.line(analysis.NotTestedMark)
}

// Matrix is a row for each suspect shown, a column for each range, and for each
// shift and each test in the workshop that was seen.
func (d Diagnosed) Matrix() *Grid {
	g := &Grid{Columns: columns(append([]string{"rank", "suspect"}, d.Places...)...)}
	for _, group := range d.shown() {
		for _, s := range d.few(group) {
			g.Add(append([]string{strconv.Itoa(group.Rank), s.Short}, s.Marks...)...)
		}
	}
	return g
}

// fewOutcomes is how many outcomes of a test are written unless all are asked for.
const fewOutcomes = 8

// next writes the tests worth making.
func (d Diagnosed) next(p *page) {
	p.heading("The next test")
	if d.Lead != "" {
		p.line(d.Lead)
	}
	for i, x := range d.Next {
		if i > 0 {
			p.line("")
		}
		p.hanging(0, 3, x.Stands)
		p.hanging(0, 3, x.Lead)
		shown := x.Expect
		if !d.All && len(shown) > fewOutcomes {
			shown = shown[:fewOutcomes-1]
		}
		for _, s := range shown {
			p.hanging(3, 5, s.Shows+": "+s.Named)
		}
		if n := len(x.Expect) - len(shown); n > 0 {
			p.hanging(3, 5, fmt.Sprintf("or one of %d others; %s shows them", n, d.allBy()))
		}
		if x.SaysNothing != "" {
			p.hanging(3, 5, x.SaysNothing)
		}
	}
	if refused := d.RefusedLines(); refused != nil {
		p.line("")
		p.list(0, 3, refused)
	}
}

// fewRefused is how many tests that are refused are written unless all are asked for.
const fewRefused = 2

// RefusedLines says which tests would tell something and may not be made, and why.
func (d Diagnosed) RefusedLines() []string {
	var lines []string
	for i, r := range d.Refused {
		if !d.All && i == fewRefused && len(d.Refused) > fewRefused+1 {
			return append(lines, fmt.Sprintf("Nor %d other tests; %s says why.", len(d.Refused)-i, d.allBy()))
		}
		lines = append(lines, r.Says())
	}
	return lines
}

// claim writes what a claimed suspect would have to do, and what refutes it.
func claim(p *page, c *analysis.Claimed) {
	p.heading("Claim: " + c.Text)
	p.line(c.Verdict)
	p.line("")
	g := &Grid{Columns: columns("range", "healthy", "it would have to", "coasting then", "seen", "so")}
	for _, r := range c.Rows {
		g.Add(r.Place, list(r.Healthy), list(r.Shows), r.Coasting, r.Seen, r.Fit)
	}
	p.grid(g)
}

// fitted is the name of a train with its title, or without it where both do not fit
// into one line.
func fitted(t *kinematics.Train, width int) string {
	if text := titled(t); width <= 0 || columnsOf(text) <= width {
		return text
	}
	return t.Name
}
