package reading

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Headline is what a cell does in large type: "ties up", "drives forward at 2.48, as D1".
func (c RangeReading) Headline() string {
	switch {
	case c.overruled():
		return c.Friction.Short()
	case c.Lurch != "":
		return string(c.Lurch)
	case c.Outcome.Verdict == solve.InputHeld:
		return string(InputHeld)
	}
	text := c.Reading.Pull
	if c.As != "" {
		text += ", " + string(As) + " " + c.As
	}
	return text
}

// Reason is the reason for the headline in one or two lines. healthy is what the
// range does without faults.
func (w *Why) Reason(healthy RangeReading) string {
	text := w.reason(healthy)
	if f := w.Cell.Friction; f != nil && f.Text() != "" {
		if w.Cell.overruled() {
			return "By its speeds it " + w.Cell.Reading.would() + "; by torque " + f.Text() + "."
		}
		text += " By torque: " + f.Text() + "."
	}
	return text
}

func (w *Why) reason(healthy RangeReading) string {
	acting := w.acting()
	switch o := w.Motion.Outcome; {
	case w.Cell.Lurch != "":
		return "Without the pawl it " + w.Unpawled.would() + "; the pawl alone keeps the output from turning."
	case o.Pull.Empty:
		return w.tieReason()
	case len(acting) > 0 && healthy.same(w.Cell):
		return w.unseen(acting)
	case o.Drives():
		return w.driveReason() + "." + w.rollReason()
	case len(w.Missing) > 0:
		return w.Lacks()[0] + " " + w.Lacks()[1]
	case o.Verdict == solve.OutputHeld:
		return w.heldReason()
	case w.held:
		return FaultsIn(w.Train, acting) + ": nothing holds the output any more."
	case len(w.Range.Apply) == 0:
		return "Nothing is applied: the input turns and drives nothing." + w.rollReason()
	}
	return "What holds does not tie the output to the input." + w.rollReason()
}

// tieReason tells the first conflict, and how many more there are.
func (w *Why) tieReason() string {
	c := w.FirstConflict()
	if c == nil {
		return ""
	}
	n := 0
	for _, x := range w.Conflicts {
		if pulls(x) {
			n++
		}
	}
	text := w.conflictReason(c)
	if n > 1 {
		text += fmt.Sprintf(" The first of %d conflicts.", n)
	}
	return text
}

// heldReason says what holds the output.
func (w *Why) heldReason() string {
	for _, d := range []solve.Demand{solve.OutputForward, solve.OutputBackward} {
		if c, _ := w.telling(d); c != nil {
			return w.conflictSentence(c)
		}
	}
	return ""
}

// rollReason says what keeps the vehicle from rolling where that is odd.
func (w *Why) rollReason() string {
	if w.Motion.Drives() && !w.Reading.Has(HoldsAgainstRoll) && !w.Motion.CoastForward.Empty &&
		!w.Motion.CoastBackward.Empty {
		return ""
	}
	if w.Motion.Drives() {
		if back := w.Motion.Coast(); back.Empty {
			return " It cannot coast: rolling that way it locks."
		}
		return ""
	}
	if w.Reading.rollsOddly() {
		return " Pushed: " + w.Reading.Coast + "."
	}
	return ""
}

// unseen says that the faults do not show in the range.
func (w *Why) unseen(acting []kinematics.Fault) string {
	for _, f := range acting {
		if f.Kind == kinematics.Stuck && slices.Contains(w.Range.Apply, f.Coupling) {
			return fmt.Sprintf("As when healthy: in %s %s is meant to be on. The fault does not show here.", w.Range.Name,
				w.Train.Couplings[f.Coupling].Name)
		}
	}
	return "As when healthy: " + kinematics.Plural(len(acting), "the fault does", "the faults do") + " not show in " +
		w.Range.Name + "."
}

// brought says of each coupling that carries the load because of a fault how it holds,
// with something between.
func (w *Why) brought(between string) []string {
	var list []string
	for _, i := range w.Paths[0].Loaded {
		if w.byFault(i) {
			list = append(list, w.Train.Couplings[i].Name+between+w.Origin(i))
		}
	}
	return list
}

// driveReason says what makes it drive: the fault that has a part in it, and what
// takes the reaction.
func (w *Why) driveReason() string {
	p := &w.Paths[0]
	fault := w.brought(" is ")
	if len(fault) == 0 {
		for _, f := range w.acting() {
			if i := f.Coupling; w.Motion.State.Modes[i] == kinematics.Open && i < w.Train.ElementCount {
				fault = append(fault, w.Train.Couplings[i].Name+" does not hold")
			} else if i >= w.Train.ElementCount {
				fault = append(fault, Fault(w.Train, f))
			}
		}
	}
	var by, stuck []int // that hold by the range, and by a fault alone
	for _, s := range p.Supports {
		for _, i := range s.By {
			if w.byFault(i) {
				stuck = kinematics.Union(stuck, i)
			} else {
				by = kinematics.Union(by, i)
			}
		}
	}
	takes := "the power goes straight through"
	switch {
	case len(by) > 0:
		takes = w.takes(p, by)
	case len(stuck) == 1 && len(fault) == 1:
		takes = w.takesAt(p, stuck)
	case len(stuck) > 0:
		takes = w.takes(p, stuck)
	case len(p.Supports) > 0 || len(p.Bears) > 0:
		takes = "the housing takes the reaction"
	}
	if len(fault) == 0 && len(by) == 0 { // no name begins it
		return strings.ToUpper(takes[:1]) + takes[1:]
	}
	if len(fault) == 0 {
		return takes
	}
	text := kinematics.And(fault) + " and " + takes
	if len(w.Range.Apply) == 0 {
		text += ", with nothing applied"
	}
	return text
}

// takes says that elements take the reaction, and at which members.
func (w *Why) takes(p *Path, by []int) string {
	return kinematics.And(w.Train.CouplingNames(by)) + " " + w.takesAt(p, by)
}

// takesAt is what is said behind the names of elements that take it.
func (w *Why) takesAt(p *Path, by []int) string {
	text := kinematics.Plural(len(by), "takes", "take") + " the reaction"
	if at := w.supported(p, by); at != "" {
		text += " at " + at
	}
	return text
}

// supported names the members that elements hold, a few of them.
func (w *Why) supported(p *Path, by []int) string {
	var names []string
	for _, s := range p.Supports {
		if !slices.ContainsFunc(s.By, func(i int) bool { return slices.Contains(by, i) }) {
			continue
		}
		for _, m := range s.Members {
			names = kinematics.Union(names, w.Train.Members[m].Name)
		}
	}
	if len(names) > 3 {
		return ""
	}
	return kinematics.And(names)
}

// A Note is a cell of the row below the pictures: a word and a line or two.
type Note struct {
	Head, Text string
	Lead       string // before the text, where there is room: "without"
	More       string // a line below, where there is room; the head has its number
	Letter     bool   // the head begins with the letter of a line of the story
	Now        bool   // it is what is shown
	Healthy    bool   // it tells of the healthy range
}

// Notes are what is told beside the pictures: of a conflict its ways to move, else
// what is healthy, what is now, what brings it about and how it coasts.
func (w *Why) Notes(s *Story, healthy RangeReading) []Note {
	if s.Kind == StoryConflict {
		return w.conflictNotes(s)
	}
	notes := []Note{
		{Head: "healthy", Text: healthy.Headline(), Healthy: true}, {Head: "now", Text: w.Cell.Headline(), Now: true},
	}
	if !healthy.Outcome.Drives() {
		notes[0].Text += "; " + healthy.Reading.Coast
	}
	if healthy.same(w.Cell) {
		notes[0].Text = "the same"
	}
	o := w.Motion.Outcome
	if o.Drives() {
		f := o.OutputSpeed()
		notes[1].Text = signedDecimal(f) + " at the output"
		notes = append(notes, w.broughtNote())
	} else {
		notes = append(notes, w.wantNote())
	}
	coast := Note{Head: "rolling", Text: w.Reading.Coast}
	if o.Drives() {
		coast = Note{Head: "overrun", Text: w.Reading.Coast}
	}
	return append(notes, coast)
}

// signedDecimal writes a speed with three places and its sign.
func signedDecimal(f exact.Frac) string {
	if f.Sign() == 0 {
		return "0"
	}
	return strings.Replace(fmt.Sprintf("%+.3f", f.Float()), "-", "−", 1)
}

func (w *Why) conflictNotes(s *Story) []Note {
	var notes []Note
	for k, l := range s.Lines {
		head := letter(k)
		if m := s.Ringed; m >= 0 {
			if f, one := l.Members[m].Point(); one {
				head += " " + signedDecimal(f)
			}
		}
		notes = append(notes, Note{Head: head, Letter: true, Lead: "without",
			Text: w.Train.Couplings[l.Element].Name, More: l.Says})
	}
	all := Note{Head: "all", Text: "only rest\nsatisfies them", Now: true}
	if n := len(s.Lines); n == 2 {
		all.Head = "both"
	} else if n == 3 {
		all.Head = "all three"
	} else if n == 1 {
		all = Note{Head: "with it", Text: "the input cannot turn", Now: true}
	}
	if w.Motion.InputBackward && len(s.Lines) > 1 {
		all.Text = "no forward\nspeed fits"
	}
	return append(notes, all)
}

// longNote is the length, in letters, from which a note is said in fewer words: two
// lines of a note beside three others.
const longNote = 40

func (w *Why) broughtNote() Note {
	p := &w.Paths[0]
	if fault := w.brought(", "); len(fault) > 0 {
		return Note{Head: "brought by", Text: strings.Join(fault, "; ")}
	}
	if len(p.Supports) == 0 && len(p.Bears) == 0 {
		return Note{Head: "reaction", Text: "none: straight through"}
	}
	text := w.holds(p)
	if len(text) > longNote { // only what holds, not what it holds
		var by []string
		if len(p.Supports) == 0 {
			by = []string{"the housing"}
		}
		for _, s := range p.Supports {
			by = kinematics.Union(by, w.Train.CouplingNames(s.By)...)
			if len(s.By) == 0 && !slices.Contains(by, "the housing") {
				by = append(by, "the housing")
			}
		}
		text = kinematics.And(by)
	}
	return Note{Head: "reaction", Text: text}
}

func (w *Why) wantNote() Note {
	switch {
	case len(w.Missing) > 0 && w.Missing[0].Reaction:
		return Note{Head: "missing", Text: "the reaction at " + w.Train.Members[w.Missing[0].Member].Name}
	case len(w.Missing) > 0:
		return Note{Head: "missing", Text: "the drive to " + w.Train.Members[w.Missing[0].Member].Name}
	case len(w.Changes) > 0 && w.meant:
		return Note{Head: "it would drive", Text: w.change(w.Changes[0])}
	}
	return Note{Head: "applied", Text: w.appliedNames()}
}

func (w *Why) appliedNames() string {
	if len(w.Range.Apply) == 0 {
		return "nothing"
	}
	return kinematics.And(w.Train.CouplingNames(w.Range.Apply))
}

// FaultBrief says a fault in a few words, for where it is one of several things on
// a line: "forward is stuck on".
func FaultBrief(t *kinematics.Train, f kinematics.Fault) string {
	name := t.Couplings[f.Coupling].Name
	words := faultTable[f.Kind].is + faultTable[f.Kind].brief
	if f.Kind == kinematics.Sheared {
		_, name = t.Spline(f.Coupling)
	}
	if f.Share.IsSet() {
		words += " " + f.Share.String()
	}
	if len(f.Ranges) > 0 {
		words += " in " + kinematics.And(f.Ranges)
	}
	return name + " " + words
}

// Setting says what is applied in a range and what that joins, for whoever is asked
// what it does: "forward joins input-shaft and front.ring".
func Setting(t *kinematics.Train, r *kinematics.Range, faults []kinematics.Fault) string {
	var parts []string
	add := func(i int, note string) {
		c := &t.Couplings[i]
		a, b := t.Members[c.A].Name, t.Members[c.B].Name
		switch {
		case c.B == kinematics.Housing:
			parts = append(parts, c.Name+note+" holds "+a)
		case c.A == kinematics.Housing:
			parts = append(parts, c.Name+note+" holds "+b)
		default:
			parts = append(parts, c.Name+note+" joins "+a+" and "+b)
		}
	}
	for _, i := range r.Apply {
		add(i, "")
	}
	for _, f := range kinematics.Acting(faults, r) {
		if f.Kind == kinematics.Stuck && !slices.Contains(r.Apply, f.Coupling) || f.Kind == kinematics.Seized {
			add(f.Coupling, " ("+string(f.Kind)+")")
		}
	}
	if len(parts) == 0 {
		return "Nothing is applied."
	}
	return strings.Join(parts, "; ") + "."
}
