package reading

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Section is a titled part of an explanation: sentences, then perhaps a table.
type Section struct {
	Title string                  `json:"title"`
	Text  document.List[string]   `json:"text"`
	Heads Heads                   `json:"heads"` // of the table; empty if there is none
	Rows  document.List[[]string] `json:"rows"`
	After document.List[string]   `json:"after"` // sentences behind the table
	// Aside says that the section may be folded: conflicts beyond the first.
	Aside bool `json:"-"`
}

// Heads are those of a table; one that ends in '>' stands over numbers.
type Heads []string

// MarshalJSON writes the words.
func (h Heads) MarshalJSON() ([]byte, error) {
	var words document.List[string] = kinematics.Map(h, func(head string) string { return strings.TrimSuffix(head, ">") })
	return document.Marshal(words)
}

// mostListed is how many changes, agreements or members a section names before
// it only counts the rest.
const mostListed = 12

// Sections puts the reasons in words, the most important first.
func (w *Why) Sections() []Section {
	var list []Section
	if len(w.Paths) > 0 {
		list = append(list, w.pathSection())
	}
	for _, motives := range w.alike() {
		list = append(list, w.conflictSections(motives)...)
	}
	if len(w.Redundancies) > 0 {
		list = append(list, w.agreementSection())
	}
	if len(w.Missing) > 0 {
		list = append(list, Section{Title: "Why there is no drive", Text: w.Lacks()})
	}
	if !w.Motion.Drives() {
		list = append(list, w.changeSection())
	}
	if free := w.freeSection(); len(free.Text) > 0 {
		list = append(list, free)
	}
	return list
}

// Headline says what the state does in a sentence.
func (w *Why) Headline() string {
	name := "Range " + w.Range.Name
	if w.Range.Name == "" {
		name = "This combination"
	}
	pull := w.Reading.Pull
	if w.Cell.overruled() {
		pull = w.Reading.would()
	}
	text := name + " " + w.Reading.clause(pull) + "."
	if w.Cell.Lurch != "" {
		text = fmt.Sprintf("%s %s: without the pawl it %s.", name, w.Cell.Lurch, w.Unpawled.would())
	}
	if f := w.Cell.Friction; f != nil {
		switch more := f.Text(); {
		case f.Missing != nil:
			text += " " + capital(more) + "."
		case more != "":
			text += " By torque: " + more + "."
		}
	}
	return text
}

// role says what a coupling is in this state: "forward (stuck on)".
func (w *Why) role(i int) string { return w.Train.Couplings[i].Name + " (" + w.Origin(i) + ")" }

// Origin says why a coupling holds in this state: applied by the range, by a
// fault, or by its nature.
func (w *Why) Origin(i int) string {
	c := &w.Train.Couplings[i]
	if w.byFault(i) {
		switch w.fault(i) {
		case kinematics.Stuck:
			return "stuck on"
		case kinematics.Seized:
			return "seized"
		case kinematics.Backward:
			return "fitted backwards"
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

func (w *Why) roles(couplings []int) []string { return kinematics.Map(couplings, w.role) }

// cannot says of motives that they cannot be: "the input cannot turn forward and
// the vehicle rolls neither way".
func cannot(motives []solve.Demand) string {
	var words []string
	if slices.Contains(motives, solve.InputForward) {
		words = append(words, "the input cannot turn forward")
	}
	forward, backward := slices.Contains(motives, solve.OutputForward), slices.Contains(motives, solve.OutputBackward)
	switch {
	case forward && backward:
		words = append(words, "the vehicle rolls neither way")
	case forward:
		words = append(words, "the vehicle cannot roll forward")
	case backward:
		words = append(words, "the vehicle cannot roll backward")
	}
	return kinematics.And(words)
}

// alike gathers the motives that the same conflicts forbid.
func (w *Why) alike() [][]solve.Demand {
	var list [][]solve.Demand
	var keys []string
	for _, motive := range w.motives() {
		var sets []string
		for _, c := range w.Conflicts {
			if c.Demand == motive {
				sets = append(sets, fmt.Sprint(c.Elements))
			}
		}
		slices.Sort(sets)
		key := strings.Join(sets, ";")
		if k := slices.Index(keys, key); k >= 0 {
			list[k] = append(list[k], motive)
			continue
		}
		keys, list = append(keys, key), append(list, []solve.Demand{motive})
	}
	return list
}

// conflictSections makes a section for every conflict of motives that are
// forbidden alike; it is told for the first of them.
func (w *Why) conflictSections(motives []solve.Demand) []Section {
	var list []Section
	var of []int
	for n, c := range w.Conflicts {
		if c.Demand == motives[0] {
			of = append(of, n)
		}
	}
	more := slices.Contains(w.MoreConflicts, motives[0])
	for k, n := range of {
		c := &w.Conflicts[n]
		s := Section{Title: "Why " + cannot(motives), Aside: n > 0}
		if len(of) > 1 {
			s.Title += fmt.Sprintf(" (%d of %d", k+1, len(of))
			if more {
				s.Title += " that are listed"
			}
			s.Title += ")"
		}
		s.Text = append(s.Text, w.conflictSentence(c))
		if len(c.Elements) > 1 {
			w.lettings(&s, c, of)
		} else if len(c.Elements) == 1 {
			l := c.Lettings[0]
			s.Text = append(s.Text, "Without it: "+l.Then.Pull+", "+l.Then.Coast+remaining(&l, of)+".")
		}
		if more && k == len(of)-1 { // said where a folded conflict says it, too
			s.Text = append(s.Text, "There are more such conflicts than are listed.")
		}
		list = append(list, s)
	}
	return list
}

func (w *Why) conflictSentence(c *Conflict) string {
	end := "the output"
	if c.Demand == solve.InputForward {
		end = "the input"
	}
	joints := kinematics.Map(c.Joints, func(j int) string { return w.Train.Joints[j].Name })
	over := kinematics.Plural(len(joints), "joint ", "joints ") + kinematics.And(joints)
	switch {
	case len(c.Elements) == 0 && len(joints) == 0:
		return "The meshes hold " + end + " by themselves."
	case len(c.Elements) == 0:
		return "The meshes and " + over + " hold " + end + " by themselves."
	}
	text := kinematics.And(w.roles(c.Elements)) + " contradict each other"
	if len(c.Elements) == 1 {
		text = w.role(c.Elements[0]) + " holds " + end + " by itself"
	}
	if len(joints) > 0 {
		text += ", through " + over
	}
	return text + "."
}

// remaining says which of the listed conflicts stay when an element lets go.
func remaining(l *Relaxation, of []int) string {
	if len(l.Remain) == 0 {
		return ""
	}
	left := kinematics.Map(l.Remain, func(n int) string { return fmt.Sprint(slices.Index(of, n) + 1) })
	return kinematics.Plural(len(left), ": conflict ", ": conflicts ") + kinematics.And(left) +
		kinematics.Plural(len(left), " remains", " remain")
}

// lettings says what the rest of a conflict asks when one element lets go.
func (w *Why) lettings(s *Section, c *Conflict, of []int) {
	pulling := c.Demand == solve.InputForward
	asks := pulling && c.Witness >= 0
	s.Heads = []string{"if this lets go"}
	if pulling {
		s.Heads = append(s.Heads, "the others")
	}
	if asks {
		s.Heads = append(s.Heads, w.witness(c, "")+" per input turn>")
	}
	s.Heads = append(s.Heads, "the range")
	for _, l := range c.Lettings {
		row := []string{w.Train.Couplings[l.Element].Name}
		then := l.Then.Pull
		if pulling {
			row = append(row, l.Reading.Pull)
		} else {
			then += ", " + l.Then.Coast
		}
		if asks {
			row = append(row, asked(l.Asks, ""))
		}
		s.Rows = append(s.Rows, append(row, then+remaining(&l, of)))
	}
	if line := w.contradiction(c); line != "" {
		s.After = append(s.After, line)
	}
}

// contradiction says in one sentence what the parts of a conflict ask for.
func (w *Why) contradiction(c *Conflict) string {
	n := len(c.Lettings)
	only := "only standing still satisfies "
	if c.Demand != solve.InputForward || w.Motion.InputBackward {
		only = "no speed satisfies "
	}
	all := map[int]string{2: "both", 3: "all three"}[n]
	if all == "" {
		all = "them all"
	}
	if c.Witness < 0 {
		if c.Demand != solve.InputForward || w.Motion.InputBackward {
			return ""
		}
		return "Only standing still satisfies " + all + "."
	}
	unit := " turns per input turn"
	start := ""
	if c.Demand != solve.InputForward {
		unit = " turns per output turn"
		start = "As the vehicle rolls forward, "
		if c.Demand == solve.OutputBackward {
			start = "As the vehicle rolls backward, "
		}
	}
	if n > 3 {
		switch {
		case c.Demand != solve.InputForward:
			return ""
		case w.Motion.InputBackward:
			return "What they ask for has no speed in common."
		}
		return "What they ask for has no speed in common: " + only + all + "."
	}
	var parts []string
	for k, l := range c.Lettings {
		others := c.without(l.Element)
		text := kinematics.And(w.Train.CouplingNames(others))
		if k == 0 {
			text += kinematics.Plural(len(others), " asks ", " ask ") + w.witness(c, "the ") + " for " + asked(l.Asks, unit)
		} else {
			text += " for " + asked(l.Asks, "")
		}
		parts = append(parts, text)
	}
	return start + strings.Join(parts, ", ") + ": " + only + all + "."
}

// witness names the member that shows a contradiction; an end of the train with an
// article.
func (w *Why) witness(c *Conflict, article string) string {
	switch c.Witness {
	case w.Motion.State.Output:
		return article + "output"
	case w.Motion.State.Input:
		return article + "input"
	}
	return w.Train.Members[c.Witness].Name
}

// asked puts a speed that is asked for in words, with its unit behind the number:
// "+0.41", "0 or less", "any".
func asked(i exact.Interval, unit string) string {
	lo, hi := i.Min, i.Max
	switch {
	case i.Empty:
		return "none"
	case lo.Inf != 0 && hi.Inf != 0:
		return "any"
	case lo.Inf != 0:
		return signed(hi.Frac) + unit + " or less"
	case hi.Inf != 0:
		return signed(lo.Frac) + unit + " or more"
	case lo.Cmp(hi) != 0:
		return signed(lo.Frac) + " to " + signed(hi.Frac) + unit
	}
	return signed(lo.Frac) + unit
}

// signed prints a speed with its sign, as [Ratio] prints a ratio.
func signed(f exact.Frac) string {
	switch f.Sign() {
	case 0:
		return "0"
	case 1:
		return "+" + Ratio(f)
	}
	return "-" + Ratio(f)
}

// pathSection tells the way of the power.
func (w *Why) pathSection() Section {
	s := Section{Title: "How it drives"}
	p := &w.Paths[0]
	for n, step := range p.Steps {
		if !step.Stands() {
			s.Text = append(s.Text, fmt.Sprintf("%d. %s", n+1, w.step(step)))
		}
	}
	s.Text = append(s.Text, w.reaction(p))
	for _, q := range w.Paths[1:] {
		s.Text = append(s.Text, w.sharing(p, &q))
	}
	if w.MorePaths {
		s.Text = append(s.Text, "There are more ways to share the load than are listed.")
	}
	if len(p.Idle) > 0 {
		s.Text = append(s.Text, "Along for the ride, without load: "+w.sets(p.Idle)+".")
	}
	if line := w.broughtBy(p); line != "" {
		s.Text = append(s.Text, line)
	}
	return s
}

// broughtBy says which of the loaded elements hold because of a fault, "" if
// none does.
func (w *Why) broughtBy(p *Path) string {
	var range_, fault []string
	for _, i := range p.Loaded {
		switch {
		case i >= w.Train.ElementCount:
		case w.byFault(i):
			fault = append(fault, w.role(i))
		case w.Train.Couplings[i].Kind != kinematics.OneWay:
			range_ = append(range_, w.Train.Couplings[i].Name)
		}
	}
	if len(fault) == 0 {
		return ""
	}
	line := "Brought by the fault: " + kinematics.And(fault)
	if len(range_) > 0 {
		line += "; by the range: " + kinematics.And(range_)
	}
	return line + "."
}

// sets names gearsets: "gearset front", "gearsets front and rear".
func (w *Why) sets(list []int) string {
	return kinematics.Plural(len(list), "gearset ", "gearsets ") + kinematics.And(w.Train.GearsetNames(list))
}

func (w *Why) step(s Step) string {
	from, to := kinematics.And(w.Train.NamesOf(s.From)), kinematics.And(w.Train.NamesOf(s.To))
	text := from + kinematics.Plural(len(s.From), " drives ", " drive ") + to
	switch {
	case s.Coupling >= 0:
		text += " through " + w.role(s.Coupling)
	case s.Joint >= 0:
		text += " through joint " + w.Train.Joints[s.Joint].Name
	default:
		text = "in " + w.set(s.Gearset) + ", " + text
		if w.turnsSolid(s) {
			text += "; the set turns as one"
		} else if len(s.Held) > 0 {
			text += "; " + kinematics.And(w.Train.NamesOf(s.Held)) + kinematics.Plural(len(s.Held), " is held", " are held")
		}
	}
	if s.Back >= 0 {
		text += fmt.Sprintf("; this power circulates, back to %d", s.Back+1)
	}
	return text
}

// set names a gearset by what it is.
func (w *Why) set(g int) string {
	set := &w.Train.Gearsets[g]
	switch {
	case set.Planetary():
		return "gearset " + set.Name
	case w.Train.Meshes[set.Meshes[0]].Kind == kinematics.Chain:
		return "chain drive " + set.Name
	case set.Bevels:
		return "bevel pair " + set.Name
	}
	return "gear pair " + set.Name
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

// reaction says what is held against the housing, and by what.
func (w *Why) reaction(p *Path) string {
	var parts []string
	for _, s := range p.Supports {
		text := kinematics.And(w.Train.NamesOf(s.Members)) + kinematics.Plural(len(s.Members), " is ", " are ")
		switch {
		case s.Fixed && len(s.By) == 0:
			text += "fixed to the housing"
		case s.Fixed:
			text += "fixed to the housing, beside " + kinematics.And(w.roles(s.By))
		default:
			text += "held by " + kinematics.And(w.roles(s.By))
		}
		if len(s.Through) > 0 {
			text += " through " + w.sets(s.Through) +
				kinematics.Plural(len(s.Through), ", which stands still", ", which stand still")
		}
		parts = append(parts, text)
	}
	if len(p.Bears) > 0 {
		parts = append(parts, w.bears(p))
	}
	if len(parts) == 0 {
		return "Nothing is held against the housing: the power goes straight through."
	}
	return "Reaction: " + strings.Join(parts, "; ") + "."
}

// bears says which pairs with fixed axles bear against the housing.
func (w *Why) bears(p *Path) string {
	return kinematics.And(kinematics.Map(p.Bears, w.set)) + kinematics.Plural(len(p.Bears), " bears", " bear") +
		" against the housing"
}

// sharing says how another way to carry the load differs from the first.
func (w *Why) sharing(p, q *Path) string {
	only := func(a, b *Path) []int {
		elements, _ := w.split(kinematics.Without(a.Loaded, b.Loaded))
		return elements
	}
	a, b := only(p, q), only(q, p)
	switch {
	case len(a) > 0 && len(b) > 0:
		return "Shared: " + kinematics.And(w.roles(b)) + " can carry what " + kinematics.And(w.Train.CouplingNames(a)) +
			kinematics.Plural(len(a), " carries", " carry") + "; either would do alone."
	case len(b) > 0:
		return "Shared: " + kinematics.And(w.roles(b)) + " can carry part of it."
	}
	return "Shared: the same couplings can carry it in another proportion."
}

// agreementSection explains locks that ask for the same.
func (w *Why) agreementSection() Section {
	s := Section{Title: "Locks that agree"}
	for n, a := range w.Redundancies {
		if n == mostListed {
			if more := len(w.Redundancies) - n; !w.MoreAgreements {
				s.Text = append(s.Text, fmt.Sprintf("And %d more such %s.", more, kinematics.Plural(more, "set", "sets")))
			}
			break
		}
		s.Text = append(s.Text, w.agreement(&a))
	}
	if w.MoreAgreements {
		s.Text = append(s.Text, "There are more such sets than are listed.")
	}
	return s
}

func (w *Why) agreement(a *Redundancy) string {
	rest := kinematics.Without(a.Elements, a.Redundant)
	switch {
	case len(a.Elements) == 1:
		return w.role(a.Elements[0]) + " joins what turns alike already: nothing changes without it."
	case len(rest) == 0:
		return kinematics.And(w.roles(a.Elements)) +
			" ask for the same motion: any one of them could let go and nothing would change."
	case len(a.Redundant) == 1:
		return w.role(a.Redundant[0]) + " asks for nothing that " + kinematics.And(w.roles(rest)) +
			kinematics.Plural(len(rest), " does", " do") + " not ask for already: nothing would change without it."
	}
	return kinematics.And(w.roles(a.Elements)) + " ask for the same motion: any one of " +
		kinematics.And(w.Train.CouplingNames(a.Redundant)) + " could let go and nothing would change."
}

// changeSection lists the fewest changes that make the state drive.
func (w *Why) changeSection() Section {
	s := Section{Title: "What would make it drive"}
	if len(w.Changes) == 0 {
		s.Text = []string{w.noChange()}
		return s
	}
	s.Heads = []string{"change", "then it"}
	for n, c := range w.Changes {
		if n == mostListed {
			more := len(w.Changes) - n
			s.After = append(s.After,
				fmt.Sprintf("And %d more %s of as few elements.", more, kinematics.Plural(more, "change", "changes")))
			break
		}
		s.Rows = append(s.Rows, []string{w.change(c), w.changed(&c)})
	}
	return s
}

// noChange says that nothing makes the state drive.
func (w *Why) noChange() string {
	if w.Tried == w.Changeable {
		return "Whatever is applied or released, it does not drive."
	}
	return fmt.Sprintf("No change of up to %d elements makes it drive.", w.Tried)
}

// changed says what the state does after a change.
func (w *Why) changed(c *Change) string {
	switch {
	case c.Healthy:
		return c.Reading.Pull + ", as when healthy"
	case c.As != "":
		return c.Reading.Pull + " (" + string(As) + " " + c.As + ")"
	}
	return c.Reading.Pull
}

// change says what to do: "apply forward, release direct"; what a fault keeps on
// is to be freed, what it keeps off to be made to hold, what is fitted backwards to
// be turned round and what is sheared to be joined again.
func (w *Why) change(c Change) string {
	var apply, mend, both, release, free []int
	for _, i := range c.Apply {
		acts := w.Train.Couplings[i].Kind == kinematics.OneWay && !w.Train.Couplings[i].Switched
		switch kind := w.fault(i); {
		case kind != kinematics.OpenF && kind != kinematics.Slips:
			apply = append(apply, i)
		case acts || slices.Contains(w.Range.Apply, i):
			mend = append(mend, i)
		default:
			both = append(both, i)
		}
	}
	for _, i := range c.Release {
		switch w.fault(i) {
		case kinematics.Stuck, kinematics.Seized:
			free = append(free, i)
		default:
			release = append(release, i)
		}
	}
	var parts []string
	add := func(before string, list []int, after string) {
		if len(list) > 0 {
			parts = append(parts, before+kinematics.And(w.Train.CouplingNames(list))+after)
		}
	}
	add("apply ", apply, "")
	add("make ", mend, " hold")
	add("mend and apply ", both, "")
	add("release ", release, "")
	add("free ", free, "")
	for _, i := range c.Mend {
		if w.fault(i) == kinematics.Backward {
			add("turn ", []int{i}, " round")
			continue
		}
		c := &w.Train.Couplings[i]
		parts = append(parts, "join "+w.Train.Members[c.A].Name+" to "+w.Train.Joints[c.Joint].Name+" again")
	}
	return strings.Join(parts, ", ")
}

// freeSection names what spins freely.
func (w *Why) freeSection() Section {
	s := Section{Title: "What spins freely"}
	bounded := false
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
		s.Text = append(s.Text, kinematics.And(w.Train.NamesOf(group))+": "+Bounds(speed.Interval))
		bounded = bounded || speed.Min.Inf == 0 || speed.Max.Inf == 0
	}
	switch {
	case bounded && w.Motion.At.Input == 0:
		s.Title += " while the input stands"
	case bounded:
		s.Title += ", in turns per input turn"
	}
	return s
}

// Bounds puts the bounds of a free speed in words: "free", "free, 0 or more".
func Bounds(i exact.Interval) string {
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
