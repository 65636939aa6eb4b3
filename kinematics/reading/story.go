package reading

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Story plays the reason for what a state does in frames, each a motion with a
// sentence. A range with nothing to explain has no frames.
type Story struct {
	Kind   StoryKind
	Lines  []StoryLine
	Frames []Frame
	// Rest is the frame that shows the state as it is, an index into Frames; -1
	// if there are none.
	Rest int
	// Ringed is the member that is asked for several speeds, -1 for none.
	Ringed kinematics.MemberID
}

// A StoryKind is what a story explains.
type StoryKind uint8

// The kinds of story.
const (
	NoStory       StoryKind = iota
	StoryConflict           // elements contradict each other: each is set aside in turn
	StoryDrive              // it drives where it must not
	StoryMissing            // it does not drive for want of a hold
	StoryRatio              // it drives at another ratio than when healthy
	StoryRolling            // elements contradict each other only when the vehicle is rolled
)

// A StoryLine is a way to move that the rest of a conflict allows.
type StoryLine struct {
	Element int    // that is set aside
	Says    string // "backward 2.09"
	Members []solve.Speed
}

// A Frame is one picture of a story.
type Frame struct {
	Head    string // in place of what the state does, "" for that
	Text    string
	Calm    bool          // what it shows does no harm
	Members []solve.Speed // parallel to Train.Members
	States  []solve.CouplingState
	Line    int                   // the line that it shows, -1 for all of them
	Aside   []int                 // elements that are set aside
	Gone    bool                  // they are so by their faults
	Stands  bool                  // the output is held: the assumption of the frame
	Rolled  bool                  // the output is turned: speeds are per turn of it
	Lacks   []kinematics.MemberID // members that nothing holds or drives
	ByHand  bool                  // what is missing is put there
	Ring    bool                  // the ringed member is shown
	Missed  []int                 // ranges that need what is missing
	Healthy bool                  // it shows the healthy range
	// Catches are members at which something begins to take the load; Beside is the
	// motion before that, nil for none, and Besides its name.
	Catches []kinematics.MemberID
	Beside  []solve.Speed
	Besides string
	// Same is another range with the same line, "" for none.
	Same string
}

// numbers are those that are counted at a glance.
var numbers = map[int]string{2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}

// AskedFor says how many speeds a body is asked for at once, "one output, three speeds"; ""
// where it is asked for one, or for more than can be counted at a glance.
func AskedFor(body string, speeds []float64) string {
	n := len(kinematics.Union(nil, speeds...))
	if numbers[n] == "" {
		return ""
	}
	return "one " + body + ", " + numbers[n] + " speeds"
}

// Tell makes the story of a range that Explain explained.
func Tell(c *Reader, w *Why) *Story {
	s := &Story{Rest: -1, Ringed: -1}
	b := storyteller{c: c, w: w, s: s}
	healthy := c.Read(w.Range)
	switch o := w.Motion.Outcome; {
	case o.Pull.Empty:
		b.conflict(healthy)
	case o.Drives() && (!healthy.Outcome.Drives() || healthy.Outcome.Verdict != o.Verdict) && len(w.acting()) > 0:
		b.drive()
	case o.Drives() && healthy.Outcome.Drives() && !sameRatio(o, healthy.Outcome):
		b.ratio()
	case len(w.Missing) > 0:
		b.lack()
	}
	if c := w.rollingConflict(healthy); s.Kind == NoStory && c != nil {
		b.roll(c)
	}
	return s
}

// rollingConflict is the first reason why the vehicle cannot roll where the faults alone
// keep it from that, nil for none.
func (w *Why) rollingConflict(healthy RangeReading) *Conflict {
	if len(w.acting()) == 0 {
		return nil
	}
	for i := range w.Conflicts {
		c := &w.Conflicts[i]
		rolls := map[solve.Demand]bool{
			solve.OutputForward:  !healthy.Outcome.CoastForward.Empty,
			solve.OutputBackward: !healthy.Outcome.CoastBackward.Empty,
		}
		if rolls[c.Demand] && len(c.Lettings) > 0 {
			return c
		}
	}
	return nil
}

// roll sets each element of a conflict of rolling aside in turn, while the vehicle is
// rolled; the input is asked for what has nothing in common.
func (b *storyteller) roll(c *Conflict) {
	w, s := b.w, b.s
	way, turn := "forward", exact.Int(int64(w.Train.Forward))
	if c.Demand == solve.OutputBackward {
		way, turn = "backward", turn.Neg()
	}
	var lines []StoryLine
	var frames []Frame
	for k, l := range c.Lettings {
		st := w.Motion.State.Clone()
		for i := range w.Train.ElementCount { // this conflict by itself
			if i == l.Element || !slices.Contains(c.Elements, i) {
				st.Modes[i] = kinematics.Open
			} else if w.Train.Couplings[i].Kind == kinematics.OneWay {
				st.Modes[i] = kinematics.Locked // at the bound of what it asks
			}
		}
		m := b.c.sys.Turn(st.Modes, []solve.Given{{Member: st.Output, Speed: turn}})
		if m.Locks {
			return
		}
		rest := c.without(l.Element)
		text := fmt.Sprintf("%s, without %s: the vehicle rolls %s", letter(k), w.Train.Couplings[l.Element].Name, way)
		if len(rest) > 0 && c.Witness >= 0 {
			text += fmt.Sprintf("; %s %s %s for %s", kinematics.And(w.Train.CouplingNames(rest)),
				kinematics.Plural(len(rest), "asks", "ask"), w.witness(c, "the "), asked(l.Asks, " turns per output turn"))
		}
		lines = append(lines, StoryLine{Element: l.Element, Says: "rolls " + way, Members: m.Members})
		frames = append(frames, Frame{Head: "rolled " + way, Text: text + ".", Members: m.Members, Line: k,
			States: b.c.sys.Motion(st).States, Aside: []int{l.Element}, Rolled: true})
	}
	stood := b.parked(w.Motion.State)
	if stood.Locks {
		return
	}
	s.Kind, s.Lines = StoryRolling, lines
	if c.Witness >= 0 && len(c.Lettings) > 1 {
		s.Ringed = c.Witness
	}
	b.rest(Frame{Text: "Driven, nothing binds; pushed, " + w.Reading.Coast + ".", Line: -1})
	s.Frames = append(s.Frames, frames...)
	s.Frames = append(s.Frames, Frame{Head: "cannot roll " + way, Text: "Rolled " + way + ": " + w.conflictSentence(c),
		Members: stood.Members, States: w.Motion.States, Line: -1, Ring: true, Rolled: true})
}

// parked is a state in which nothing drives and the output is held.
func (b *storyteller) parked(st kinematics.State) *solve.Turned {
	return b.c.sys.Turn(st.Modes, []solve.Given{{Member: st.Output, Speed: exact.Int(0)}})
}

func sameRatio(a, b solve.Outcome) bool {
	x, _ := a.Ratio()
	y, _ := b.Ratio()
	return x.Cmp(y) == 0
}

// alike says whether two outcomes are the same, rolling apart.
func alike(a, b solve.Outcome) bool {
	return a.Verdict == b.Verdict && (!a.Drives() || sameRatio(a, b))
}

type storyteller struct {
	c *Reader
	w *Why
	s *Story
}

// add adds a frame that shows a motion.
func (b *storyteller) add(m *solve.Motion, f Frame) {
	f.Members, f.States = m.Members, m.States
	b.s.Frames = append(b.s.Frames, f)
}

// rest adds the frame that shows the state as it is.
func (b *storyteller) rest(f Frame) {
	b.s.Rest = len(b.s.Frames)
	b.add(b.w.Motion, f)
}

// without is the motion of the state with some elements set aside.
func (b *storyteller) without(elements ...int) *solve.Motion {
	st := b.w.Motion.State.Clone()
	for _, i := range elements {
		st.Modes[i] = kinematics.Open
	}
	return b.c.sys.Motion(st)
}

func (b *storyteller) healthy() *solve.Motion { return b.c.sys.Motion(b.w.Train.In(b.w.Range)) }

// conflict sets each element of the first conflict aside in turn.
func (b *storyteller) conflict(healthy RangeReading) {
	w, s := b.w, b.s
	c := w.FirstConflict()
	if c == nil || len(c.Lettings) == 0 {
		return
	}
	s.Kind = StoryConflict
	if s.Ringed = c.Witness; s.Ringed < 0 || len(c.Lettings) < 2 {
		s.Ringed = -1
	}
	for k, l := range c.Lettings {
		m := b.without(l.Element)
		alone := m
		if len(l.Remain) > 0 { // the rest of this conflict by itself
			var others []int
			for i := range w.Train.ElementCount {
				if i == l.Element || !slices.Contains(c.Elements, i) {
					others = append(others, i)
				}
			}
			alone = b.without(others...)
		}
		s.Lines = append(s.Lines, StoryLine{Element: l.Element, Says: brief(alone.Outcome), Members: alone.Members})
		without := "without " + w.Train.Couplings[l.Element].Name + ": "
		text := letter(k) + ", " + without + w.doing(b.parts(alone, c.without(l.Element)), alone.Outcome) + "."
		if len(l.Remain) > 0 {
			text += fmt.Sprintf(" It still ties up: conflict %d.", l.Remain[0]-slices.IndexFunc(w.Conflicts, pulls)+1)
		}
		b.add(m, Frame{Head: without + given(m.Outcome), Text: text, Line: k, Aside: []int{l.Element}})
	}
	b.rest(Frame{Text: w.conflictReason(c), Line: -1, Ring: true})
	b.letsGo(c, healthy)
}

// parts are elements that by themselves make a motion what it is, none of which can be
// left out: some of rest where these are enough, else of all that act; rest where nothing is
// needed.
func (b *storyteller) parts(m *solve.Motion, rest []int) []int {
	same := func(list []int) bool {
		st := m.State.Clone()
		for i := range b.w.Train.ElementCount {
			if !slices.Contains(list, i) {
				st.Modes[i] = kinematics.Open
			}
		}
		return alike(b.c.sys.Motion(st).Outcome, m.Outcome)
	}
	list := slices.Clone(rest)
	if !same(list) {
		for i := range b.w.Train.ElementCount {
			if m.State.Modes[i] != kinematics.Open {
				list = kinematics.Union(list, i)
			}
		}
	}
	for k := len(list) - 1; k >= 0; k-- { // those of the rest last
		if fewer := slices.Delete(slices.Clone(list), k, k+1); same(fewer) {
			list = fewer
		}
	}
	if len(list) == 0 {
		return rest
	}
	return list
}

// letter names a way to move.
func letter(k int) string { return string(rune('A' + k%26)) }

// letsGo adds the frame that says what happens when an element lets go: the one
// that puts the range right, else the first that makes it drive.
func (b *storyteller) letsGo(c *Conflict, healthy RangeReading) {
	w := b.w
	motions := kinematics.Map(c.Lettings, func(l Relaxation) *solve.Motion { return b.without(l.Element) })
	best := slices.IndexFunc(motions, func(m *solve.Motion) bool { return alike(m.Outcome, healthy.Outcome) })
	right := best >= 0
	for k, l := range c.Lettings {
		o := motions[k].Outcome
		if best < 0 && (o.Drives() || o.Verdict == healthy.Outcome.Verdict && len(l.Remain) == 0) {
			best = k
		}
	}
	if best < 0 {
		return
	}
	name := w.Train.Couplings[c.Lettings[best].Element].Name
	var text []string
	if right {
		text = append(text, "As when healthy.")
	}
	var others []string
	for k, l := range c.Lettings {
		if k != best {
			others = append(others, fmt.Sprintf("releasing %s would give %s", w.Train.Couplings[l.Element].Name,
				given(motions[k].Outcome)))
		}
	}
	if len(others) > 0 {
		line := strings.Join(others, ", ")
		text = append(text, strings.ToUpper(line[:1])+line[1:]+".")
	}
	b.add(motions[best], Frame{Head: "without " + name + ": " + given(motions[best].Outcome),
		Text: strings.Join(text, " "), Calm: right, Line: best, Aside: []int{c.Lettings[best].Element}})
}

// noDrive is what does not drive, as what a release gives and in two words.
var noDrive = map[solve.Verdict]struct{ given, brief string }{
	solve.TieUp:      {"another tie-up", "still tied up"},
	solve.OutputHeld: {"a held output", "output held"},
	solve.InputHeld:  {"a held input", "input held"},
	solve.Neutral:    {"no drive", "no drive"},
}

// given is an outcome as what a release gives: "forward at 2.48", "no drive".
func given(o solve.Outcome) string {
	if ratio, drives := o.Ratio(); drives {
		return way(o) + " at " + Ratio(ratio)
	}
	return noDrive[o.Verdict].given
}

// brief is an outcome in two words: "backward 2.09".
func brief(o solve.Outcome) string {
	if ratio, drives := o.Ratio(); drives {
		return way(o) + " " + Ratio(ratio)
	}
	return noDrive[o.Verdict].brief
}

func way(o solve.Outcome) string {
	if o.Verdict == solve.Reverse {
		return "backward"
	}
	return "forward"
}

// doing says what elements do: "direct and low-reverse drive it backward at 2.09".
func (w *Why) doing(rest []int, o solve.Outcome) string {
	if len(rest) == 0 {
		return given(o)
	}
	names := kinematics.And(w.Train.CouplingNames(rest))
	s := kinematics.Plural(len(rest), "s", "")
	switch o.Verdict {
	case solve.Forward, solve.Reverse:
		return names + " drive" + s + " it " + given(o)
	case solve.OutputHeld:
		return names + " hold" + s + " the output"
	case solve.TieUp, solve.InputHeld:
		return names + " still hold" + s + " the input"
	}
	return names + kinematics.Plural(len(rest), " lets", " let") + " it turn without drive"
}

func pulls(c Conflict) bool { return c.Demand == solve.InputForward }

// FirstConflict is the first reason why the input cannot turn, nil for none.
func (w *Why) FirstConflict() *Conflict {
	if i := slices.IndexFunc(w.Conflicts, pulls); i >= 0 {
		return &w.Conflicts[i]
	}
	return nil
}

// conflictReason says what contradicts in one sentence: "forward (stuck on), direct
// and low-reverse cannot all hold: they ask the output for three different speeds."
func (w *Why) conflictReason(c *Conflict) string {
	n := len(c.Elements)
	if n < 2 {
		return w.conflictSentence(c)
	}
	names := kinematics.Map(c.Elements, func(i int) string {
		if w.byFault(i) {
			return w.role(i)
		}
		return w.Train.Couplings[i].Name
	})
	text := kinematics.And(names) + " cannot " + map[bool]string{true: "both", false: "all"}[n == 2] + " hold"
	if c.Witness < 0 {
		return text + ": only standing still satisfies them."
	}
	var speeds []string
	for _, l := range c.Lettings {
		if _, one := l.Asks.Point(); !one {
			return fmt.Sprintf("%s: what they ask of %s has no speed in common.", text, w.witness(c, "the "))
		}
		speeds = kinematics.Union(speeds, asked(l.Asks, ""))
	}
	return fmt.Sprintf("%s: they ask %s for %s different speeds.", text, w.witness(c, "the "), numbers[len(speeds)])
}

// drive tells how a fault makes a range drive: what it joins, which way the load
// turns the reaction, and what catches that.
func (b *storyteller) drive() {
	w, s := b.w, b.s
	s.Kind = StoryDrive
	p := &w.Paths[0]
	healthy := b.healthy()
	whole := speedsAlone(w.Train, healthy.Outcome)
	b.add(healthy, Frame{Head: "healthy: " + given(healthy.Outcome),
		Text: fmt.Sprintf("When healthy, %s %s.", w.Range.Name, whole.clause(whole.Pull)), Calm: true, Line: -1,
		Healthy: true})
	fault := FaultsIn(w.Train, w.acting())
	var reactions []int
	for _, sup := range p.Supports {
		reactions = append(reactions, sup.By...)
	}
	reactions = slices.DeleteFunc(reactions, w.byFault)
	if len(reactions) > 0 {
		m := b.without(reactions...)
		b.add(m, Frame{Head: "without " + kinematics.And(w.Train.CouplingNames(reactions)) + ": " + given(m.Outcome),
			Text: fault + ": " + b.turnsNow(healthy, m) + ".", Line: -1, Aside: reactions})
	}
	caught := Frame{Text: w.holds(p) + ".", Line: -1}
	if len(reactions) > 0 && b.load(reactions, p) {
		caught.Beside, caught.Besides = s.Frames[len(s.Frames)-1].Members, "not held"
	}
	for _, sup := range p.Supports {
		caught.Catches = append(caught.Catches, sup.Members...)
	}
	b.add(w.Motion, caught)
	b.rest(Frame{Text: "The output turns: " + w.driveReason() + ".", Line: -1, Same: w.Cell.As})
}

// load adds the frame in which the output stands and the reaction is not taken yet, if
// there is one.
func (b *storyteller) load(reactions []int, p *Path) bool {
	w := b.w
	st := w.Motion.State.Clone()
	for _, i := range reactions {
		st.Modes[i] = kinematics.Open
	}
	turned := b.standing(st)
	if turned.Locks {
		return false
	}
	var parts []string
	var lacks []kinematics.MemberID
	for _, sup := range p.Supports {
		for _, m := range sup.Members {
			f, one := turned.Members[m].Point()
			if one && f.Sign() != 0 {
				parts = append(parts, fmt.Sprintf("%s %s at %s", w.Train.Members[m].Name, wayOf(f), decimal(f.Rat())))
				lacks = append(lacks, m)
			}
		}
	}
	if len(parts) == 0 {
		return false
	}
	b.s.Frames = append(b.s.Frames, Frame{
		Head:    "while " + w.stands(),
		Text:    "While " + w.stands() + ", the input pushes " + kinematics.And(parts) + ".",
		Members: turned.Members, States: b.without(reactions...).States, Line: -1, Aside: reactions,
		Stands: true, Lacks: lacks,
	})
	return true
}

// standing is the motion of a state with the output held.
func (b *storyteller) standing(st kinematics.State) *solve.Turned {
	return b.c.sys.Turn(st.Modes, []solve.Given{{Member: st.Input, Speed: exact.Int(1)},
		{Member: st.Output, Speed: exact.Int(0)}})
}

func wayOf(f exact.Frac) string {
	if f.Sign() < 0 {
		return "backward"
	}
	return "forward"
}

// stands says that the output is held, as the train is built in.
func (w *Why) stands() string {
	if w.Train.Use == kinematics.InVehicle {
		return "the vehicle stands"
	}
	return "the output is held"
}

// turnsNow names what turns at a settled speed in m and did not in before.
func (b *storyteller) turnsNow(before, m *solve.Motion) string {
	var names []string
	seen := map[int]bool{}
	for i, speed := range m.Members {
		x := &b.w.Train.Members[i]
		f, one := speed.Point()
		g := m.Groups[i]
		if !one || f.Sign() == 0 || x.Kind == kinematics.PinionMember || g < 0 || seen[g] {
			continue
		}
		if was, fixed := before.Members[i].Point(); fixed && was.Cmp(f) == 0 {
			continue
		}
		names = append(names, x.Name)
		seen[g] = true
	}
	if len(names) == 0 {
		return "nothing turns with the input yet"
	}
	return kinematics.And(names) + kinematics.Plural(len(names), " now turns", " now turn")
}

// holds says what catches the reaction: "low-roller holds rear.carrier".
func (w *Why) holds(p *Path) string {
	var parts []string
	for _, s := range p.Supports {
		if len(s.By) == 0 {
			parts = append(parts, kinematics.And(w.Train.NamesOf(s.Members))+kinematics.Plural(len(s.Members), " is", " are")+
				" fixed to the housing")
			continue
		}
		parts = append(parts, kinematics.And(w.Train.CouplingNames(s.By))+kinematics.Plural(len(s.By), " holds ", " hold ")+
			kinematics.And(w.Train.NamesOf(s.Members)))
	}
	if len(parts) == 0 && len(p.Bears) > 0 {
		return w.bears(p)
	}
	if len(parts) == 0 {
		return "Nothing is held: the power goes straight through"
	}
	return strings.Join(parts, "; ")
}

// ratio tells why a range drives at another ratio than its own.
func (b *storyteller) ratio() {
	w, s := b.w, b.s
	s.Kind = StoryRatio
	healthy := b.healthy()
	b.add(healthy, Frame{Head: "healthy: " + given(healthy.Outcome),
		Text: "This is the line of the healthy range.", Calm: true, Line: -1, Healthy: true})
	b.rest(Frame{Text: w.driveReason() + ".", Line: -1, Same: w.Cell.As})
	var dead, missed []int
	for _, f := range w.acting() {
		if f.Coupling < w.Train.ElementCount && w.Motion.State.Modes[f.Coupling] == kinematics.Open {
			dead = append(dead, f.Coupling)
		}
	}
	b.add(w.Motion, Frame{Text: FaultsIn(w.Train, w.acting()) + ".", Line: -1, Aside: dead, Gone: true})
	for i, row := range b.c.Chart(w.Faults...).Rows {
		if len(row.Changes) > 0 {
			missed = append(missed, i)
		}
	}
	b.add(w.Motion, Frame{
		Text: "The fault shows in " + kinematics.And(w.Train.NamesOfRanges(missed)) + ".", Line: -1, Aside: dead,
		Gone: true, Missed: missed})
}

// lack tells what is missing in a range without drive.
func (b *storyteller) lack() {
	w, s := b.w, b.s
	s.Kind = StoryMissing
	b.rest(Frame{Text: strings.Join(w.Lacks(), " ") + " With nothing to push against the input carries no torque, and " +
		"the output gets none.", Line: -1, Lacks: w.lacking()})
	for k := range w.Missing {
		m := &w.Missing[k]
		if m.Members == nil {
			continue
		}
		if _, one := m.Turns.Point(); one && m.Reaction {
			stood := "Assumed: " + w.stands() + ". "
			b.s.Frames = append(b.s.Frames, Frame{Text: stood + w.pivot(m), Members: m.Members, States: w.Motion.States,
				Line: -1, Stands: true, Lacks: w.lacking()})
		}
	}
	st := w.Motion.State.Clone()
	for _, m := range w.Missing {
		st.Modes[m.Coupling] = kinematics.Locked
	}
	m := b.c.sys.Motion(st)
	if !m.Drives() {
		return
	}
	how := "With " + kinematics.And(w.Train.NamesOf(w.lacking())) + " held by hand"
	if !w.Missing[0].Reaction {
		how = "With " + body(w.Train, w.Missing[0].From) + " and " + w.Train.Members[w.Missing[0].Member].Name + " joined"
	}
	b.add(m, Frame{Head: "then it drives " + given(m.Outcome),
		Text: how + ", it drives.", Calm: true, Line: -1, ByHand: true, Lacks: w.lacking()})
}

// pivot says how the member of a missing hold turns while the output is held.
func (w *Why) pivot(m *Missing) string {
	f, _ := m.Turns.Point()
	text := fmt.Sprintf("%s then runs %s at %s", w.Train.Members[m.Member].Name, wayOf(f), decimal(f.Rat()))
	if !f.IsInt() {
		text += " (" + f.String() + ")"
	}
	return text + ": the missing reaction would stop it."
}

func (w *Why) lacking() []kinematics.MemberID {
	return kinematics.Map(w.Missing, func(m Missing) kinematics.MemberID { return m.Member })
}
