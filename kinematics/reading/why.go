package reading

import (
	"cmp"
	"context"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Why gives the reasons for what a state does. JSON writes them with the names of the
// train.
type Why struct {
	Train   *kinematics.Train  `json:"-"`
	Range   *kinematics.Range  `json:"-"` // its name is "" for a combination that is no range
	Faults  []kinematics.Fault `json:"-"`
	Motion  *solve.Motion      `json:"-"`
	Cell    RangeReading       `json:"-"`
	Reading Reading            `json:"-"`
	// Unpawled is what a range that lurches would do without the pawl.
	Unpawled Reading `json:"-"`

	// Conflicts are the reasons why something cannot turn, for every motive that
	// the state does not allow and that is worth a reason: pulling always,
	// rolling when the vehicle does not roll that way.
	Conflicts document.List[Conflict] `json:"conflicts"`
	// MoreConflicts are the motives that more conflicts forbid than are listed;
	// MorePaths and MoreAgreements say the same of paths and agreements. Couplings can
	// fight, and share, in more ways than anyone could read.
	MoreConflicts  document.List[solve.Demand] `json:"more_conflicts"`
	MorePaths      bool                        `json:"more_paths"`
	MoreAgreements bool                        `json:"more_agreements"`
	// Paths are the ways in which a driving state carries its load; more than
	// one if couplings share it.
	Paths document.List[Path] `json:"paths"`
	// Redundancies are sets of couplings that ask for the same motion.
	Redundancies document.List[Redundancy] `json:"agreements"`
	// Changes are the fewest changes that make a state drive that does not: all of
	// the smallest number. Tried is the largest number of changes that was tried, of
	// the Changeable couplings that can be applied, released or put right.
	Changes    document.List[Change] `json:"changes"`
	Tried      int                   `json:"-"`
	Changeable int                   `json:"-"`
	// Missing are the holds for want of which a range that is meant to drive does
	// not, or a combination.
	Missing document.List[Missing] `json:"missing"`

	meant, held bool // the range drives, or holds the vehicle, when healthy
}

// A Redundancy is a smallest set of couplings whose slips are linked, of which at
// least one element can be spared.
type Redundancy struct {
	train     *kinematics.Train
	Couplings []int
	Elements  []int // those of the couplings that are elements
	// Redundant are the elements each of which could let go, the others staying, and
	// nothing would move that did not before.
	Redundant []int
}

// A Conflict is a smallest set of elements and joints that makes a motion
// impossible: without any one of them the others allow it.
type Conflict struct {
	train    *kinematics.Train
	Demand   solve.Demand
	Elements []int // of Train.Couplings
	Joints   []int // of Train.Joints: they pass the contradiction on
	Splines  []int // the splines of those joints that do
	Torque   []exact.Frac
	Lettings []Relaxation // one per element
	// Witness is a member that shows the contradiction: the lettings ask of it
	// speeds that have nothing in common. It is -1 if no single member does.
	Witness kinematics.MemberID
}

// within says whether every element and joint of c is one of d.
func (c *Conflict) within(d *Conflict) bool {
	return len(kinematics.Without(c.Elements, d.Elements)) == 0 && len(kinematics.Without(c.Joints, d.Joints)) == 0
}

// without are its elements but one.
func (c *Conflict) without(element int) []int { return kinematics.Without(c.Elements, []int{element}) }

// A Relaxation is what becomes of a conflict when one of its elements lets go.
type Relaxation struct {
	train   *kinematics.Train
	Element int
	// Within is what the rest of the conflict would do, with all joints and
	// nothing else; with its own joints only if others make another conflict.
	Within  solve.Outcome
	Reading Reading
	// Asks is the speed that the rest of the conflict asks of its witness, per
	// turn of the input forward, or of the output the way it is to roll.
	Asks exact.Interval
	// Remain are the conflicts of the same motive that stay, as indices into
	// Why.Conflicts.
	Remain []int
	// Then is what the whole state would do.
	Then Reading
}

// A Change is a set of elements to apply and to release. Mend are couplings to put
// right for which that is neither: one-way clutches that are fitted backwards and
// members that are sheared off a joint.
type Change struct {
	train          *kinematics.Train
	Apply, Release []int
	Mend           []int
	Outcome        solve.Outcome
	Reading        Reading
	// Healthy says that the ratio is then that of the healthy range; As names
	// another range that has it when healthy, "" for none.
	Healthy bool
	As      string
}

// Explain finds the reasons for what a range of a train does under faults. The
// range may be one made up for a combination of elements, without a name. Where ctx ends
// before, nobody may ask further of what was found.
func Explain(ctx context.Context, c *Reader, r *kinematics.Range, faults ...kinematics.Fault) *Why {
	sys := c.sys
	m := sys.Motion(sys.Train.In(r, faults...))
	w := &Why{Train: sys.Train, Range: r, Faults: faults, Motion: m, Cell: c.Read(r, faults...)}
	w.Reading = w.Cell.Reading
	e := explainer{ctx: ctx, sys: sys, reader: c, kernel: sys.Kernel(), w: w}
	e.healthy = e.kernel.Outcome(sys.Train.In(r))
	w.meant, w.held = e.healthy.Drives(), e.healthy.CoastForward.Empty && e.healthy.CoastBackward.Empty
	motives := w.motives()
	steps := len(motives) + 2
	for n, motive := range motives {
		solve.Report(ctx, "reasons", n, steps)
		e.conflicts(motive)
	}
	solve.Report(ctx, "reasons", steps-2, steps)
	if m.Drives() {
		ways, all := sys.Carrying(ctx, m, solve.Usual)
		w.MorePaths = !all
		w.Paths = kinematics.Map(ways, func(eq solve.Equilibrium) Path { return newPath(sys, m, &eq) })
		kinematics.Sort(w.Paths, func(a, b Path) int {
			return cmp.Or(cmp.Compare(w.faulty(&a), w.faulty(&b)), cmp.Compare(w.oneWays(&a), w.oneWays(&b)))
		})
	} else {
		e.changes()
		w.Missing = e.missing()
	}
	solve.Report(ctx, "reasons", steps-1, steps)
	e.agreements()
	solve.Report(ctx, "reasons", steps, steps)
	if w.Cell.Lurch != "" {
		st := m.State.Clone()
		for i, c := range w.Train.Couplings[:w.Train.ElementCount] {
			if c.Kind == kinematics.Pawl {
				st.Modes[i] = kinematics.Open
			}
		}
		w.Unpawled = speedsAlone(w.Train, e.kernel.Outcome(st))
	}
	return w
}

// faulty counts the couplings of a path that hold only because of a fault.
func (w *Why) faulty(p *Path) int {
	n := 0
	for _, i := range p.Loaded {
		if w.byFault(i) {
			n++
		}
	}
	return n
}

// oneWays counts the one-way clutches that carry the load of a path: beside an element that is
// applied one is idle.
func (w *Why) oneWays(p *Path) int {
	n := 0
	for _, i := range p.Loaded {
		if w.Train.Couplings[i].Kind == kinematics.OneWay {
			n++
		}
	}
	return n
}

// byFault says whether a coupling holds in this state, or the way it does, only
// because of a fault.
func (w *Why) byFault(i int) bool {
	return w.Motion.State.Modes[i] != w.Train.In(w.Range).Modes[i]
}

// fault returns the kind of fault of coupling i in this state, "" for none.
func (w *Why) fault(i int) kinematics.FaultKind {
	for _, f := range w.Faults {
		if f.Coupling == i && f.ActsIn(w.Range.Name) {
			return f.Kind
		}
	}
	return ""
}

// motives are the motions that the state does not allow and a user would ask about.
func (w *Why) motives() []solve.Demand {
	var list []solve.Demand
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
		if i < w.Train.ElementCount {
			elements = append(elements, i)
		} else {
			splines = append(splines, i)
		}
	}
	return elements, splines
}

type explainer struct {
	sys     *solve.System
	ctx     context.Context
	reader  *Reader
	kernel  *solve.Kernel
	w       *Why
	healthy solve.Outcome // of the range
}

// agreements finds what asks for the same, and what of it could be spared.
func (e *explainer) agreements() {
	w := e.w
	linked, all := e.sys.Agreements(e.ctx, e.standing(), solve.Usual)
	w.MoreAgreements = !all
	for _, a := range linked {
		elements, _ := w.split(a.Carry)
		var spare []int
		for _, i := range elements {
			if e.sys.Spare(w.Motion.State, i) {
				spare = append(spare, i)
			}
		}
		if len(spare) > 0 {
			w.Redundancies = append(w.Redundancies, Redundancy{w.Train, a.Carry, elements, spare})
		}
	}
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
func (e *explainer) conflicts(motive solve.Demand) {
	st := e.w.Motion.State
	first := len(e.w.Conflicts)
	var found []Conflict
	some, all := e.sys.Conflicts(e.ctx, st, motive, solve.Usual)
	if !all {
		e.w.MoreConflicts = append(e.w.MoreConflicts, motive)
	}
	for _, eq := range some {
		c := Conflict{train: e.w.Train, Demand: motive, Torque: eq.Torque}
		c.Elements, c.Splines = e.w.split(eq.Carry)
		for _, i := range c.Splines {
			c.Joints = kinematics.Union(c.Joints, e.w.Train.Couplings[i].Joint)
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
			l := Relaxation{train: e.w.Train, Element: i, Asks: exact.None}
			l.Within = e.kernel.Outcome(e.only(c, i))
			l.Reading = speedsAlone(e.w.Train, l.Within)
			for k := first; k < len(e.w.Conflicts); k++ {
				if !slices.Contains(e.w.Conflicts[k].Elements, i) {
					l.Remain = append(l.Remain, k)
				}
			}
			without := st.Clone()
			without.Modes[i] = kinematics.Open
			l.Then = speedsAlone(e.w.Train, e.kernel.Outcome(without))
			c.Lettings = append(c.Lettings, l)
		}
		e.witness(c)
	}
}

// only is the state in which nothing holds but the joints and the elements of
// a conflict without one; if that is in conflict still, over joints that this
// one does not need, it is without those joints.
func (e *explainer) only(c *Conflict, without int) kinematics.State {
	st := e.w.Motion.State.Clone()
	for i := range e.w.Train.ElementCount {
		if i == without || !slices.Contains(c.Elements, i) {
			st.Modes[i] = kinematics.Open
		}
	}
	if e.allows(st, c.Demand) {
		return st
	}
	for i := e.w.Train.ElementCount; i < len(st.Modes); i++ {
		if !slices.Contains(c.Joints, e.w.Train.Couplings[i].Joint) {
			st.Modes[i] = kinematics.Open
		}
	}
	return st
}

// allows says whether a state allows a motion.
func (e *explainer) allows(st kinematics.State, motive solve.Demand) bool {
	return !e.asked(st, st.Output, motive).Empty
}

// asked is the speed that a state asks of a member while the input turns once
// forward, or the output once the way it is to roll; empty if that cannot be.
func (e *explainer) asked(st kinematics.State, m kinematics.MemberID, motive solve.Demand) exact.Interval {
	if motive == solve.InputForward {
		st.Output = m
		pull := e.kernel.Outcome(st).Pull // in the vehicle's sense
		if e.w.Train.Forward < 0 && !pull.Empty {
			pull = pull.Neg()
		}
		return pull
	}
	st.Input = m
	o := e.kernel.Outcome(st)
	if motive == solve.OutputForward {
		return o.CoastForward
	}
	return o.CoastBackward
}

// mostAsked is how many speeds are asked for in looking for a witness.
const mostAsked = 600

// witness looks for a member of which the lettings of a conflict ask speeds that
// have nothing in common: best a member of which each asks one speed, the other
// end of the train first, then what the elements act on.
func (e *explainer) witness(c *Conflict) {
	c.Witness = -1
	if len(c.Lettings) < 2 {
		return
	}
	t := e.w.Train
	var members []kinematics.MemberID
	add := func(m kinematics.MemberID) {
		if x := &t.Members[m]; !x.Unknown && x.Kind != kinematics.JointHub && x.Kind != kinematics.PinionMember &&
			!slices.Contains(members, m) {
			members = append(members, m)
		}
	}
	if c.Demand == solve.InputForward {
		add(e.w.Motion.State.Output)
	} else {
		add(e.w.Motion.State.Input)
	}
	for _, i := range c.Elements {
		add(t.Couplings[i].A)
		add(t.Couplings[i].B)
	}
	for m := range t.Members {
		add(kinematics.MemberID(m))
	}
	members = members[:min(len(members), mostAsked/len(c.Lettings)+1)]
	var asks []exact.Interval
	for _, m := range members {
		speeds := make([]exact.Interval, len(c.Lettings))
		exact := true
		for k := range c.Lettings {
			speeds[k] = e.asked(e.only(c, c.Lettings[k].Element), m, c.Demand)
			_, one := speeds[k].Point()
			exact = exact && one
		}
		if !disjoint(speeds) {
			continue
		}
		if asks == nil || exact {
			c.Witness, asks = m, speeds
		}
		if exact {
			break
		}
	}
	for k := range asks {
		c.Lettings[k].Asks = asks[k]
	}
	e.lead(c)
}

// lead puts the member that leads the body of a witness in its place, as drawings name
// bodies, where the conflict has the joint between them.
func (e *explainer) lead(c *Conflict) {
	st := e.w.Motion.State
	if c.Witness < 0 || c.Witness == st.Input || c.Witness == st.Output {
		return
	}
	bodies := e.w.Train.Bodies(e.w.Faults)
	lead := bodies.Lead(bodies.Of[c.Witness])
	for _, l := range c.Lettings {
		x := e.asked(e.only(c, l.Element), lead, c.Demand)
		if x.Empty || x.Min.Cmp(l.Asks.Min) != 0 || x.Max.Cmp(l.Asks.Max) != 0 {
			return
		}
	}
	c.Witness = lead
}

// disjoint says whether intervals, none of them empty, have no point in common.
func disjoint(list []exact.Interval) bool {
	all := list[0]
	for _, i := range list {
		if i.Empty {
			return false
		}
		if i.Min.Cmp(all.Min) > 0 {
			all.Min = i.Min
		}
		if i.Max.Cmp(all.Max) < 0 {
			all.Max = i.Max
		}
	}
	return all.Min.Cmp(all.Max) > 0
}

// Of up to allChanges elements every change is tried, of more only changes of
// up to mostChanges elements at a time, and no more than mostTried changes.
const (
	allChanges  = 12
	mostChanges = 4
	mostTried   = 10_000
)

// sets is how many sets of n there are of k.
func sets(k, n int) int {
	count := 1
	for i := range n {
		count = count * (k - i) / (i + 1)
	}
	return count
}

// changeable finds the couplings that can be changed, and how each is then.
func (e *explainer) changeable() (can []int, changed []kinematics.Mode) {
	t, now := e.w.Train, e.w.Motion.State.Modes
	healthy := t.In(e.w.Range).Modes
	changed = make([]kinematics.Mode, len(now))
	for i, c := range t.Couplings {
		held := now[i] != kinematics.Open
		switch {
		case c.Kind == kinematics.Spline && !e.w.byFault(i), c.Kind == kinematics.Pawl && !held:
			continue // is sound, or would hold the output: no help
		case c.Kind == kinematics.Spline, c.Kind == kinematics.OneWay && e.w.byFault(i):
			changed[i] = healthy[i]
		case c.Kind == kinematics.OneWay && !c.Switched:
			continue // acts by itself
		case held:
			changed[i] = kinematics.Open
		case c.Kind == kinematics.OneWay:
			changed[i] = kinematics.Overruns
		default:
			changed[i] = kinematics.Locked
		}
		can = append(can, i)
	}
	return can, changed
}

// changes finds the fewest elements to apply, release or put right so that the
// state drives. It ends with the context.
func (e *explainer) changes() {
	st := e.w.Motion.State.Clone()
	can, changed := e.changeable()
	var chosen []int
	var choose func(from, left int)
	choose = func(from, left int) {
		switch {
		case e.ctx.Err() != nil:
			return
		case left == 0:
			if o := e.kernel.Outcome(st); o.Drives() {
				e.w.Changes = append(e.w.Changes, e.change(chosen, o))
			}
			return
		}
		for k := from; k < len(can); k++ {
			i := can[k]
			old := st.Modes[i]
			st.Modes[i] = changed[i]
			chosen = append(chosen, i)
			choose(k+1, left-1)
			chosen = chosen[:len(chosen)-1]
			st.Modes[i] = old
		}
	}
	most := len(can)
	if most > allChanges {
		most = mostChanges
	}
	e.w.Changeable = len(can)
	left := mostTried
	for n := 1; n <= most && len(e.w.Changes) == 0; n++ {
		if left -= sets(len(can), n); left < 0 {
			break
		}
		choose(0, n)
		e.w.Tried = n
	}
	// What is as it should be comes first, and what puts a fault right before what
	// makes up for it.
	kinematics.Sort(e.w.Changes, func(a, b Change) int { return cmp.Compare(e.remove(&a), e.remove(&b)) })
}

// remove is how far a change is from putting the range right.
func (e *explainer) remove(c *Change) int {
	switch {
	case !c.Healthy:
		return 2
	case slices.ContainsFunc(slices.Concat(c.Apply, c.Release, c.Mend), func(i int) bool { return e.w.fault(i) != "" }):
		return 0
	}
	return 1
}

func (e *explainer) change(elements []int, o solve.Outcome) Change {
	c := Change{train: e.w.Train, Outcome: o, Reading: speedsAlone(e.w.Train, o)}
	ratio, _ := o.Ratio()
	healthy, drives := e.healthy.Ratio()
	if c.Healthy = drives && healthy.Cmp(ratio) == 0; !c.Healthy {
		c.As = e.reader.rangeAt(e.w.Range, ratio)
	}
	for _, i := range elements {
		switch {
		case i >= e.w.Train.ElementCount || e.w.fault(i) == kinematics.Backward:
			c.Mend = append(c.Mend, i)
		case e.w.Motion.State.Modes[i] != kinematics.Open:
			c.Release = append(c.Release, i)
		default:
			c.Apply = append(c.Apply, i)
		}
	}
	return c
}
