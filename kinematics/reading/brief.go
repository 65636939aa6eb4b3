package reading

import (
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// mostBrief is how many ways to share a load a brief reason names.
const mostBrief = 2

// Brief gives the reason for what the text of the cell says in a sentence or a
// few: what holds a range that drives, what contradicts itself in one that is
// held, what would make one drive that does not, and what stops the vehicle from
// rolling where that is told.
func (w *Why) Brief() []string {
	if w.Motion.Drives() {
		return w.briefDrive()
	}
	var lines []string
	if w.Cell.Lurch != "" {
		lines = append(lines, "Without the pawl it "+w.Unpawled.would()+".")
	}
	switch verdict := w.Motion.Verdict; {
	case w.Motion.Pull.Empty:
		lines = append(lines, w.briefConflict(solve.InputForward))
	case verdict == solve.OutputHeld && !w.meant: // held, as it should be
	case verdict == solve.Neutral && w.held:
		lines = append(lines,
			"The healthy range holds the vehicle, which now "+w.rolls()+": "+
				FaultsIn(w.Train, kinematics.Acting(w.Faults, w.Range))+".")
	default:
		lines = append(lines, w.briefChange())
	}
	if w.Cell.RollingTold() {
		lines = append(lines, w.briefRolling()...)
	}
	return lines
}

func (w *Why) briefDrive() []string {
	p := &w.Paths[0]
	lines := []string{w.reaction(p)}
	for n := 1; n < len(w.Paths) && n <= mostBrief; n++ {
		lines = kinematics.Union(lines, w.sharing(p, &w.Paths[n]))
	}
	if fault := w.broughtBy(p); fault != "" {
		lines = append(lines, fault)
	}
	if w.Cell.overruled() {
		lines = append(lines, "By its speeds it would drive so; by torque "+w.Cell.Friction.Text()+".")
	}
	return lines
}

// briefRolling tells why the vehicle cannot roll, once if the same conflict stops
// it both ways.
func (w *Why) briefRolling() []string {
	forward, _ := w.telling(solve.OutputForward)
	backward, _ := w.telling(solve.OutputBackward)
	switch {
	case forward == nil && backward == nil:
		return nil
	case forward == nil:
		return []string{w.briefConflict(solve.OutputBackward)}
	case backward == nil:
		return []string{w.briefConflict(solve.OutputForward)}
	case slices.Equal(forward.Elements, backward.Elements):
		return []string{w.briefConflict(solve.OutputForward, solve.OutputBackward)}
	}
	return []string{w.briefConflict(solve.OutputForward), w.briefConflict(solve.OutputBackward)}
}

// telling returns the conflict of a motive that tells most, and how many there
// are: one in which no fault has a part if there is one, as the range is then held
// without the fault, too; of those the first with the fewest elements.
func (w *Why) telling(motive solve.Demand) (most *Conflict, count int) {
	for i := range w.Conflicts {
		c := &w.Conflicts[i]
		if c.Demand != motive {
			continue
		}
		if count++; most == nil || w.tellsMore(c, most) {
			most = c
		}
	}
	return most, count
}

func (w *Why) tellsMore(c, than *Conflict) bool {
	faulty := func(c *Conflict) bool { return slices.ContainsFunc(c.Elements, w.byFault) }
	if faulty(c) != faulty(than) {
		return faulty(than)
	}
	return len(c.Elements) < len(than.Elements)
}

// briefConflict tells what forbids the motives, of which the same conflict tells
// most.
func (w *Why) briefConflict(motives ...solve.Demand) string {
	c, count := w.telling(motives[0])
	text := capital(cannot(motives)) + ": " + w.conflictSentence(c)
	switch more := count - 1; {
	case slices.Contains(w.MoreConflicts, motives[0]):
		text += " There are more such conflicts than can be listed."
	case more > 0 && len(motives) == 1:
		text += fmt.Sprintf(" There %s %d more such %s.", kinematics.Plural(more, "is", "are"), more,
			kinematics.Plural(more, "conflict", "conflicts"))
	}
	return text
}

// briefChange tells the first change that makes the state drive.
func (w *Why) briefChange() string {
	if len(w.Changes) == 0 {
		return w.noChange()
	}
	c := &w.Changes[0]
	return "It would drive with this change: " + w.change(*c) + "; it then " + w.changed(c) + "."
}

// rolls says how the vehicle rolls, at the end of a sentence.
func (w *Why) rolls() string {
	if w.Reading.rolls[0].coasting() {
		return "rolls, and " + w.Reading.Coast
	}
	return w.Reading.Coast
}

// acting returns the faults that act in the range.
func (w *Why) acting() []kinematics.Fault { return kinematics.Acting(w.Faults, w.Range) }
