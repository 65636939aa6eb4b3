package reading

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Why gives the reasons for what a state does.
type Why struct {
	Train   *kinematics.Train
	Range   *kinematics.Range // its name is "" for a combination that is no range
	Faults  []kinematics.Fault
	Motion  *solve.Motion
	Cell    Cell
	Reading Reading

	// Conflicts are the reasons why something cannot turn, for every motive that
	// the state does not allow and that is worth a reason: pulling always,
	// rolling when the vehicle does not roll that way.
	Conflicts []Conflict
	// Paths are the ways in which a driving state carries its load; more than
	// one if couplings share it.
	Paths []Path
	// Agreements are sets of couplings that ask for nothing but what the others
	// in the set ask for already.
	Agreements [][]int
	// Changes are the fewest changes of elements that make a state drive that
	// does not: all of the smallest number.
	Changes []Change
}

// A Conflict is a smallest set of elements and joints that makes a motion
// impossible: without any one of them the others allow it.
type Conflict struct {
	Motive   solve.Motive
	Elements []int // of Train.Couplings
	Joints   []int // of Train.Joints: they pass the contradiction on
	Splines  []int // the splines of those joints that do
	Torque   []solve.Frac
	Lettings []Letting // one per element
}

// within says whether every element and joint of c is one of d.
func (c *Conflict) within(d *Conflict) bool {
	for _, i := range c.Elements {
		if !slices.Contains(d.Elements, i) {
			return false
		}
	}
	for _, j := range c.Joints {
		if !slices.Contains(d.Joints, j) {
			return false
		}
	}
	return true
}

// A Letting is what becomes of a conflict when one of its elements lets go.
type Letting struct {
	Element int
	// Within is what the rest of the conflict, with all joints and nothing
	// else, would do.
	Within  solve.Outcome
	Reading Reading
	// Remain are the conflicts of the same motive that stay, as indices into
	// Why.Conflicts.
	Remain []int
	// Then is what the whole state would do.
	Then Reading
}

// A Change is a set of elements to apply and to release.
type Change struct {
	Apply, Release []int
	Outcome        solve.Outcome
	Reading        Reading
}

// Explain finds the reasons for what a range of a train does under faults. The
// range may be one made up for a combination of elements, without a name.
func Explain(c *Charter, r *kinematics.Range, faults ...kinematics.Fault) *Why {
	sys := c.sys
	m := sys.Motion(sys.Train.In(r, faults...))
	w := &Why{Train: sys.Train, Range: r, Faults: faults, Motion: m, Cell: c.Read(r, faults...)}
	w.Reading = w.Cell.Reading
	e := explainer{sys: sys, kernel: sys.Kernel(), w: w}
	for _, motive := range w.motives() {
		e.conflicts(motive)
	}
	if m.Drives() {
		for _, eq := range sys.Carrying(m) {
			w.Paths = append(w.Paths, newPath(sys, m, &eq))
		}
	} else {
		e.changes()
	}
	for _, a := range sys.Agreements(e.standing()) {
		if elements, _ := w.split(a.Carry); len(elements) > 0 {
			w.Agreements = append(w.Agreements, a.Carry)
		}
	}
	return w
}

// motives are the motions that the state does not allow and a user would ask about.
func (w *Why) motives() []solve.Motive {
	var list []solve.Motive
	if w.Motion.Pull.Empty {
		list = append(list, solve.InputForward)
	}
	if w.Motion.CoastForward.Empty {
		list = append(list, solve.OutputForward)
	}
	if w.Motion.CoastBackward.Empty {
		list = append(list, solve.OutputBackward)
	}
	return list
}

// split parts couplings into elements and splines.
func (w *Why) split(couplings []int) (elements, splines []int) {
	for _, i := range couplings {
		if i < w.Train.Elements {
			elements = append(elements, i)
		} else {
			splines = append(splines, i)
		}
	}
	return elements, splines
}

type explainer struct {
	sys    *solve.System
	kernel *solve.Kernel
	w      *Why
}

// standing is the state without the one-way clutches that overrun.
func (e *explainer) standing() kinematics.State {
	st := e.w.Motion.State.Clone()
	for i, s := range e.w.Motion.States {
		if s == solve.StateOverrunning || s == solve.StateFree {
			st.Modes[i] = kinematics.Open
		}
	}
	return st
}

// conflicts adds the conflicts of one motive. The engine's are smallest sets of
// elements and single splines; as joints are sound or not as a whole here, those
// that contain another when each joint counts as one are left out.
func (e *explainer) conflicts(motive solve.Motive) {
	st := e.w.Motion.State
	first := len(e.w.Conflicts)
	var found []Conflict
	for _, eq := range e.sys.Conflicts(st, motive) {
		c := Conflict{Motive: motive, Torque: eq.Torque}
		c.Elements, c.Splines = e.w.split(eq.Carry)
		for _, i := range c.Splines {
			if j := e.w.Train.Couplings[i].Joint; !slices.Contains(c.Joints, j) {
				c.Joints = append(c.Joints, j)
			}
		}
		found = append(found, c)
	}
	for n := range found {
		larger := false
		for k := range found {
			larger = larger || k != n && found[k].within(&found[n]) && (k < n || !found[n].within(&found[k]))
		}
		if !larger {
			e.w.Conflicts = append(e.w.Conflicts, found[n])
		}
	}
	for n := first; n < len(e.w.Conflicts); n++ {
		c := &e.w.Conflicts[n]
		for _, i := range c.Elements {
			l := Letting{Element: i}
			l.Within = e.kernel.Outcome(e.only(c, i))
			l.Reading = Of(e.w.Train, l.Within)
			for k := first; k < len(e.w.Conflicts); k++ {
				if !slices.Contains(e.w.Conflicts[k].Elements, i) {
					l.Remain = append(l.Remain, k)
				}
			}
			without := st.Clone()
			without.Modes[i] = kinematics.Open
			l.Then = Of(e.w.Train, e.kernel.Outcome(without))
			c.Lettings = append(c.Lettings, l)
		}
	}
}

// only is the state in which nothing holds but the joints and the elements of
// a conflict without one.
func (e *explainer) only(c *Conflict, without int) kinematics.State {
	st := e.w.Motion.State.Clone()
	for i := range e.w.Train.Elements {
		if i == without || !slices.Contains(c.Elements, i) {
			st.Modes[i] = kinematics.Open
		}
	}
	return st
}

// mostChanges bounds the search for changes that make a state drive.
const mostChanges = 4

// changes finds the fewest elements to apply or release so that the state drives.
func (e *explainer) changes() {
	var can []int
	for i, c := range e.w.Train.Couplings[:e.w.Train.Elements] {
		held := e.w.Motion.State.Modes[i] == kinematics.Locked
		if c.Kind != kinematics.OneWay && (c.Kind != kinematics.Pawl || held) || c.Kind == kinematics.OneWay && held {
			can = append(can, i)
		}
	}
	st := e.w.Motion.State.Clone()
	var chosen []int
	var choose func(from, left int)
	choose = func(from, left int) {
		if left == 0 {
			if o := e.kernel.Outcome(st); o.Drives() {
				e.w.Changes = append(e.w.Changes, e.change(chosen, o))
			}
			return
		}
		for k := from; k < len(can); k++ {
			i := can[k]
			old := st.Modes[i]
			st.Modes[i] = kinematics.Locked
			if old == kinematics.Locked {
				st.Modes[i] = kinematics.Open
			}
			chosen = append(chosen, i)
			choose(k+1, left-1)
			chosen = chosen[:len(chosen)-1]
			st.Modes[i] = old
		}
	}
	for n := 1; n <= min(mostChanges, len(can)) && len(e.w.Changes) == 0; n++ {
		choose(0, n)
	}
}

func (e *explainer) change(elements []int, o solve.Outcome) Change {
	c := Change{Outcome: o, Reading: Of(e.w.Train, o)}
	for _, i := range elements {
		if e.w.Motion.State.Modes[i] == kinematics.Locked {
			c.Release = append(c.Release, i)
		} else {
			c.Apply = append(c.Apply, i)
		}
	}
	return c
}
