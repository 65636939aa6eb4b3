package reading

import (
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Missing is a hold that a state without drive lacks: a coupling that would have
// to hold for it to drive. It is why there is no drive.
type Missing struct {
	train *kinematics.Train
	// Coupling is the one that is meant to hold; Instead are others that would do
	// as well.
	Coupling int
	Instead  []int
	// Reaction says that it would hold Member against the housing. Else it would
	// join Member, which is not driven, to From.
	Reaction     bool
	Member, From kinematics.MemberID
	// Turns is the speed at which Member turns for want of it, in turns per turn of
	// the input while the vehicle stands: with the output held, which is the one
	// assumption. Members are the speeds of all members then; nil where the input
	// cannot turn so.
	Turns   exact.Interval
	Members []solve.Speed
}

// missing finds what a state without drive lacks: the couplings of the first change
// that makes it drive, if that only makes couplings hold.
func (e *explainer) missing() []Missing {
	w := e.w
	if w.Motion.Verdict != solve.Neutral || len(w.Changes) == 0 || !w.meant && w.Range.Name != "" {
		return nil
	}
	first := w.mostMending()
	if len(first.Release) > 0 || w.meant && !first.Healthy {
		return nil
	}
	var list []Missing
	for _, i := range slices.Concat(first.Apply, first.Mend) {
		m := e.lacks(i)
		for k := range w.Changes {
			c := &w.Changes[k]
			if w.Tried == 1 && c != first && c.Healthy == first.Healthy && len(c.Release)+len(c.Mend) == 0 {
				m.Instead = append(m.Instead, c.Apply[0])
			}
		}
		list = append(list, m)
	}
	return list
}

// mostMending is the first of the changes that put most faults right.
func (w *Why) mostMending() *Change {
	best, most := &w.Changes[0], -1
	for k := range w.Changes {
		c, n := &w.Changes[k], 0
		for _, i := range slices.Concat(c.Apply, c.Release, c.Mend) {
			if w.fault(i) != "" {
				n++
			}
		}
		if c.Healthy == best.Healthy && n > most {
			best, most = c, n
		}
	}
	return best
}

// lacks says what the hold of coupling i would do, were it there.
func (e *explainer) lacks(i int) Missing {
	t, c := e.w.Train, &e.w.Train.Couplings[i]
	m := Missing{train: t, Coupling: i, Member: c.A, From: c.B, Turns: exact.None}
	if c.Kind == kinematics.Spline {
		m.From = t.Joints[c.Joint].Hub
	}
	st := e.w.Motion.State
	standing := e.sys.Turn(st.Modes, []solve.Given{{Member: st.Input, Speed: exact.Int(1)},
		{Member: st.Output, Speed: exact.Int(0)}})
	speed := func(id kinematics.MemberID) exact.Interval { return standing.Members[id].Interval }
	switch {
	case c.A == kinematics.Housing || c.B == kinematics.Housing:
		m.Reaction = true
		if c.A == kinematics.Housing {
			m.Member, m.From = c.B, c.A
		}
	default:
		// What the input turns by itself drives what it does not, and what turns the output
		// by itself is driven by what does not.
		if e.turnedBy(st.Input, c.A, m.From) || !e.turnedBy(st.Input, m.From, c.A) && e.turnedBy(st.Output, m.From, c.A) {
			m.Member, m.From = m.From, c.A
			if c.Kind == kinematics.Spline { // another member of the joint stands for it
				members := t.Joints[c.Joint].Members
				m.Member = members[slices.IndexFunc(members, func(id kinematics.MemberID) bool { return id != c.A })]
			}
		}
	}
	if !standing.Locks {
		m.Members, m.Turns = standing.Members, speed(m.Member)
	}
	return m
}

// turnedBy says whether a driver, by itself, turns a member and not another.
func (e *explainer) turnedBy(driver, member, other kinematics.MemberID) bool {
	alone := e.sys.Turn(e.w.Motion.State.Modes, []solve.Given{{Member: driver, Speed: exact.Int(1)}})
	turns := func(id kinematics.MemberID) bool {
		f, one := alone.Members[id].Point()
		return one && f.Sign() != 0
	}
	return !alone.Locks && turns(member) && !turns(other)
}

// Lacks tells what is missing, a sentence or two each: "Nothing takes the reaction
// at rear.carrier: ...".
func (w *Why) Lacks() []string {
	var lines []string
	for _, m := range w.Missing {
		lines = append(lines, w.lack(&m), w.meantBy(&m))
	}
	return lines
}

func (w *Why) lack(m *Missing) string {
	name := w.Train.Members[m.Member].Name
	if !m.Reaction {
		return fmt.Sprintf("Nothing passes the drive from %s to %s%s.", body(w.Train, m.From), name, w.turning(m))
	}
	return fmt.Sprintf("Nothing takes the reaction at %s%s.", name, w.turning(m))
}

// turning says how the member of a missing hold turns while the vehicle stands.
func (w *Why) turning(m *Missing) string {
	f, one := m.Turns.Point()
	switch {
	case m.Turns.Empty || one && f.Sign() == 0:
		return ""
	case !one && m.Reaction:
		return ", which turns as it likes"
	case !one:
		return ""
	}
	way, exact := "forward", ""
	if f.Sign() < 0 {
		way = "backward"
	}
	if !f.IsInt() {
		exact = " (" + f.String() + ")"
	}
	return fmt.Sprintf(": while %s, it would run %s at %s%s of the input speed", w.stands(), way, decimal(f.Rat()), exact)
}

// meantBy says which element is meant to hold, and what would do instead.
func (w *Why) meantBy(m *Missing) string {
	c := &w.Train.Couplings[m.Coupling]
	if c.Kind == kinematics.Spline {
		return "Joint " + w.Train.Joints[c.Joint].Name + " is meant to, and " + body(w.Train, c.A) + " is sheared off it."
	}
	verb := "join them"
	if m.Reaction {
		verb = "hold it"
	}
	text := c.Name
	if fault := w.fault(m.Coupling); fault != "" {
		text += " (" + FaultState(fault) + ")"
	}
	text += " is meant to " + verb
	if len(m.Instead) > 0 {
		text += "; " + kinematics.Or(w.Train.CouplingNames(m.Instead)) + " would do as well"
	}
	return text + "."
}
