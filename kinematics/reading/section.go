package reading

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Section is a titled part of an explanation: sentences, then perhaps a table.
type Section struct {
	Title string
	Text  []string
	Heads []string // of the table; empty if there is none
	Rows  [][]string
	After []string // sentences behind the table
}

// mostListed is how many changes, agreements or members a section names before
// it only counts the rest.
const mostListed = 8

// Sections puts the reasons in words, the most important first.
func (w *Why) Sections() []Section {
	var list []Section
	if len(w.Paths) > 0 {
		list = append(list, w.pathSection())
	}
	for _, motives := range w.alike() {
		list = append(list, w.conflictSections(motives)...)
	}
	if len(w.Agreements) > 0 {
		list = append(list, w.agreementSection())
	}
	if !w.Motion.Drives() {
		list = append(list, w.changeSection())
	}
	if free := w.freeSection(); len(free.Text) > 0 {
		list = append(list, free)
	}
	return list
}

// Headline says what the state does in one sentence.
func (w *Why) Headline() string {
	name := w.Range.Name
	if name == "" {
		name = "This combination"
	}
	if w.Cell.Lurch != "" {
		return fmt.Sprintf("%s %s: without the pawl it would drive.", name, w.Cell.Lurch)
	}
	return fmt.Sprintf("%s %s.", name, clause(w.Reading))
}

// clause is a reading as the end of a sentence that begins with a range.
func clause(r Reading) string {
	switch r.Words[0] {
	case NoDrive, OutputHeld:
		return "has " + r.Pull + ": " + r.Coast
	case InputHeld:
		return "has the " + r.Pull + "; the vehicle " + verb(r.Coast)
	case TiesUp:
		return r.Pull + ": the vehicle " + verb(r.Coast)
	}
	return r.Pull + "; on the overrun: " + r.Coast
}

// verb makes "coasting turns ..." fit behind "the vehicle".
func verb(coast string) string {
	return strings.Replace(coast, string(CoastTurnsEngine), "turns the engine when coasting", 1)
}

// role says what a coupling is in this state: "forward (stuck on)".
func (w *Why) role(i int) string { return w.Train.Couplings[i].Name + " (" + w.Origin(i) + ")" }

// Origin says why a coupling holds in this state: applied by the range, by a
// fault, or by its nature.
func (w *Why) Origin(i int) string {
	c := &w.Train.Couplings[i]
	for _, f := range w.Faults {
		if f.Coupling == i && f.ActsIn(w.Range.Name) {
			switch f.Kind {
			case kinematics.Stuck:
				return "stuck on"
			case kinematics.Seized:
				return "seized"
			case kinematics.Backward:
				return "fitted backwards"
			}
		}
	}
	switch {
	case c.Kind == kinematics.OneWay:
		return "one-way clutch"
	case c.Kind == kinematics.Spline:
		return "joint"
	case w.Range.Name != "" && slices.Contains(w.Range.Apply, i):
		return "applied in " + w.Range.Name
	}
	return "applied"
}

func (w *Why) roles(couplings []int) []string {
	names := make([]string, len(couplings))
	for k, i := range couplings {
		names[k] = w.role(i)
	}
	return names
}

func (w *Why) names(couplings []int) []string {
	names := make([]string, len(couplings))
	for k, i := range couplings {
		names[k] = w.Train.Couplings[i].Name
	}
	return names
}

func (w *Why) memberNames(members []kinematics.MemberID) []string {
	names := make([]string, len(members))
	for k, m := range members {
		names[k] = w.Train.Members[m].Name
	}
	return names
}

var motiveWords = map[solve.Motive]string{
	solve.InputForward:   "the input cannot turn forward",
	solve.OutputForward:  "the vehicle cannot roll forward",
	solve.OutputBackward: "the vehicle cannot roll backward",
}

// alike gathers the motives that the same conflicts forbid.
func (w *Why) alike() [][]solve.Motive {
	var list [][]solve.Motive
	var keys []string
	for _, motive := range w.motives() {
		var sets []string
		for _, c := range w.Conflicts {
			if c.Motive == motive {
				sets = append(sets, fmt.Sprint(c.Elements))
			}
		}
		slices.Sort(sets)
		key := strings.Join(sets, ";")
		if k := slices.Index(keys, key); k >= 0 {
			list[k] = append(list[k], motive)
			continue
		}
		keys, list = append(keys, key), append(list, []solve.Motive{motive})
	}
	return list
}

// conflictSections makes a section for every conflict of motives that are
// forbidden alike; it is told for the first of them.
func (w *Why) conflictSections(motives []solve.Motive) []Section {
	var words []string
	for _, m := range motives {
		words = append(words, motiveWords[m])
	}
	var list []Section
	var of []int
	for n, c := range w.Conflicts {
		if c.Motive == motives[0] {
			of = append(of, n)
		}
	}
	for k, n := range of {
		c := &w.Conflicts[n]
		s := Section{Title: "Why " + and(words)}
		if len(of) > 1 {
			s.Title += fmt.Sprintf(" (%d of %d)", k+1, len(of))
		}
		s.Text = append(s.Text, w.conflictSentence(c))
		if len(c.Elements) > 1 {
			w.lettings(&s, c, of)
		} else if len(c.Elements) == 1 {
			l := c.Lettings[0]
			s.Text = append(s.Text, fmt.Sprintf("Without it: %s.", l.Then.Pull+", "+l.Then.Coast))
		}
		list = append(list, s)
	}
	return list
}

func (w *Why) conflictSentence(c *Conflict) string {
	over := ""
	if n := len(c.Joints); n > 0 {
		j := make([]string, n)
		for k, i := range c.Joints {
			j[k] = w.Train.Joints[i].Name
		}
		over = ", over joint " + and(j)
		if n > 1 {
			over = ", over joints " + and(j)
		}
	}
	switch len(c.Elements) {
	case 0:
		return "The meshes and " + strings.TrimPrefix(over, ", over ") + " hold it by themselves."
	case 1:
		return w.role(c.Elements[0]) + " holds it by itself" + over + "."
	}
	return and(w.roles(c.Elements)) + " contradict each other" + over + "."
}

// lettings says what the rest of a conflict asks when one element lets go.
func (w *Why) lettings(s *Section, c *Conflict, of []int) {
	// What the others ask of the output means something only while the input turns.
	pulling := c.Motive == solve.InputForward
	s.Heads = []string{"if this lets go", "the range"}
	if pulling {
		s.Heads = []string{"if this lets go", "the others ask", "output per input turn>", "the range"}
	}
	for _, l := range c.Lettings {
		then := l.Then.Pull
		if !pulling {
			then += ", " + l.Then.Coast
		}
		if len(l.Remain) > 0 {
			var left []string
			for _, n := range l.Remain {
				left = append(left, fmt.Sprint(slices.Index(of, n)+1))
			}
			then += ": conflict " + and(left) + " remains"
		}
		row := []string{w.Train.Couplings[l.Element].Name, then}
		if pulling {
			row = slices.Insert(row, 1, l.Reading.Pull, asked(l.Within))
		}
		s.Rows = append(s.Rows, row)
	}
	if pulling {
		s.After = append(s.After, "Only standing still satisfies all of them.")
	}
}

// asked is the output speed that a state asks for per turn of the input.
func asked(o solve.Outcome) string {
	switch {
	case o.Pull.Empty:
		return "input held"
	case o.Pull.IsZero():
		return "0"
	}
	if _, one := o.Pull.Point(); one || o.Drives() {
		return fmt.Sprintf("%+.2f", o.OutputSpeed().Float())
	}
	return "any"
}

// pathSection tells the way of the power.
func (w *Why) pathSection() Section {
	s := Section{Title: "How it drives"}
	p := &w.Paths[0]
	for n, step := range p.Steps {
		s.Text = append(s.Text, fmt.Sprintf("%d. %s", n+1, w.step(step)))
	}
	if len(p.Reaction) > 0 {
		s.Text = append(s.Text, "Reaction: "+w.reaction(p)+".")
	} else {
		s.Text = append(s.Text, "Nothing is held against the housing: the power goes straight through.")
	}
	for _, q := range w.Paths[1:] {
		s.Text = append(s.Text, w.sharing(p, &q))
	}
	if len(p.Idle) > 0 {
		names := make([]string, len(p.Idle))
		for k, g := range p.Idle {
			names[k] = w.Train.Gearsets[g].Name
		}
		word := "gearset "
		if len(names) > 1 {
			word = "gearsets "
		}
		s.Text = append(s.Text, "Along for the ride, without load: "+word+and(names)+".")
	}
	var range_, fault []string
	for _, i := range p.Loaded {
		if i >= w.Train.Elements || w.Train.Couplings[i].Kind == kinematics.OneWay && w.Origin(i) == "one-way clutch" {
			continue
		}
		switch o := w.Origin(i); {
		case strings.HasPrefix(o, "applied"):
			range_ = append(range_, w.Train.Couplings[i].Name)
		default:
			fault = append(fault, w.role(i))
		}
	}
	if len(fault) > 0 {
		line := "Brought by the fault: " + and(fault)
		if len(range_) > 0 {
			line += "; by the range: " + and(range_)
		}
		s.Text = append(s.Text, line+".")
	}
	return s
}

func (w *Why) step(s Step) string {
	from, to := and(w.memberNames(s.From)), and(w.memberNames(s.To))
	switch {
	case s.Coupling >= 0:
		return fmt.Sprintf("%s drives %s through %s", from, to, w.role(s.Coupling))
	case s.Joint >= 0:
		return fmt.Sprintf("%s %s %s through joint %s", from, drives(s.From), to, w.Train.Joints[s.Joint].Name)
	}
	g := w.Train.Gearsets[s.Gearset].Name
	text := fmt.Sprintf("in gearset %s, %s %s %s", g, from, drives(s.From), to)
	if w.turnsSolid(s) {
		return text + "; the set turns as one"
	}
	if len(s.Held) > 0 {
		verb := " is held"
		if len(s.Held) > 1 {
			verb = " are held"
		}
		text += "; " + and(w.memberNames(s.Held)) + verb
	}
	return text
}

func drives(from []kinematics.MemberID) string {
	if len(from) > 1 {
		return "drive"
	}
	return "drives"
}

// turnsSolid says whether all loaded members of a gearset turn alike.
func (w *Why) turnsSolid(s Step) bool {
	members := slices.Concat(s.From, s.To, s.Held)
	for _, m := range members {
		if w.Motion.Groups[m] != w.Motion.Groups[members[0]] {
			return false
		}
	}
	return true
}

// reaction names what is held and by what.
func (w *Why) reaction(p *Path) string {
	var held []kinematics.MemberID
	for _, s := range p.Steps {
		for _, m := range s.Held {
			if m != kinematics.Housing && !slices.Contains(held, m) {
				held = append(held, m)
			}
		}
	}
	by := and(w.roles(p.Reaction))
	if len(held) == 0 {
		return "held by " + by
	}
	verb := " is held by "
	if len(held) > 1 {
		verb = " are held by "
	}
	return and(w.memberNames(held)) + verb + by
}

// sharing says how another way to carry the load differs from the first.
func (w *Why) sharing(p, q *Path) string {
	only := func(a, b *Path) []int {
		var list []int
		for _, i := range a.Loaded {
			if i < w.Train.Elements && !slices.Contains(b.Loaded, i) {
				list = append(list, i)
			}
		}
		return list
	}
	a, b := only(p, q), only(q, p)
	switch {
	case len(a) > 0 && len(b) > 0:
		return "Shared: " + and(w.roles(b)) + " can carry what " + and(w.names(a)) + " carries; either alone would do."
	case len(b) > 0:
		return "Shared: " + and(w.roles(b)) + " can carry part of it."
	}
	return "Shared: the same couplings can carry it in another proportion."
}

// agreementSection explains locks that ask for the same.
func (w *Why) agreementSection() Section {
	s := Section{Title: "Locks that agree"}
	for n, a := range w.Agreements {
		if n == mostListed {
			s.Text = append(s.Text, fmt.Sprintf("And %d more such sets.", len(w.Agreements)-n))
			break
		}
		elements, _ := w.split(a)
		if len(elements) == 1 {
			s.Text = append(s.Text, w.role(elements[0])+" joins what turns alike already: nothing changes without it.")
			continue
		}
		s.Text = append(s.Text, and(w.roles(elements))+" ask for the same motion: any one of them could let go and nothing would change.")
	}
	return s
}

// changeSection lists the fewest changes that make the state drive.
func (w *Why) changeSection() Section {
	s := Section{Title: "What would make it drive"}
	if len(w.Changes) == 0 {
		s.Text = []string{fmt.Sprintf("No change of up to %d elements makes it drive.", mostChanges)}
		return s
	}
	s.Heads = []string{"change", "then it"}
	for n, c := range w.Changes {
		if n == mostListed {
			s.After = append(s.After, fmt.Sprintf("And %d more changes of as few elements.", len(w.Changes)-n))
			break
		}
		s.Rows = append(s.Rows, []string{w.change(c), c.Reading.Pull})
	}
	return s
}

func (w *Why) change(c Change) string {
	var parts []string
	if len(c.Apply) > 0 {
		parts = append(parts, "apply "+and(w.names(c.Apply)))
	}
	for _, i := range c.Release {
		word := "release "
		switch w.Origin(i) {
		case "stuck on", "seized":
			word = "free "
		}
		parts = append(parts, word+w.Train.Couplings[i].Name)
	}
	return strings.Join(parts, ", ")
}

// freeSection names what spins freely.
func (w *Why) freeSection() Section {
	s := Section{Title: "What spins freely"}
	named := map[int]bool{}
	for m, speed := range w.Motion.Members {
		g := w.Motion.Groups[m]
		if g < 0 || named[g] || !speed.Free() {
			continue
		}
		named[g] = true
		var group []kinematics.MemberID
		for k := range w.Motion.Members {
			if w.Motion.Groups[k] == g && w.Train.Members[k].Kind != kinematics.PinionMember {
				group = append(group, kinematics.MemberID(k))
			}
		}
		if len(group) == 0 {
			continue
		}
		s.Text = append(s.Text, and(w.memberNames(group))+": "+Bounds(speed.Interval))
	}
	return s
}

// Bounds puts the bounds of a free speed in words: "free", "free, 0 or more".
func Bounds(i solve.Interval) string {
	lo, hi := i.Min, i.Max
	switch {
	case lo.Inf != 0 && hi.Inf != 0:
		return "free"
	case lo.Inf != 0:
		return "free, " + decimal(hi.Rat()) + " or less"
	case hi.Inf != 0:
		return "free, " + decimal(lo.Rat()) + " or more"
	}
	return "free, " + decimal(lo.Rat()) + " to " + decimal(hi.Rat())
}

func decimal(r *big.Rat) string {
	f, _ := r.Float64()
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.3f", f), "0"), ".")
}
