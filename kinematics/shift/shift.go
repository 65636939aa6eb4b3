package shift

import (
	"context"
	"math/bits"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// MostChanges is the number of changing couplings up to which every partial
// state is evaluated; beyond it only overlap and underlap are.
const MostChanges = 6

// A Change is a coupling that does something else in the second range.
type Change struct {
	Coupling int
	From, To kinematics.Mode
}

// OnComing says whether the coupling holds more in the second range than in the
// first; otherwise it is off-going.
func (c Change) OnComing() bool { return hold(c.To) >= hold(c.From) }

// hold orders modes by how much they hold.
func hold(m kinematics.Mode) int {
	return [...]int{kinematics.Open: 0, kinematics.Overruns: 1, kinematics.Reversed: 1, kinematics.Locked: 2}[m]
}

// A State is one of the ranges, or a state on the way between them.
type State struct {
	// Changed has bit n set where Shift.Changes[n] does already what it does in
	// the second range.
	Changed uint64
	// Holding are the changing couplings that hold here.
	Holding []int
	// Cell is what the train does; its As names any healthy range that drives
	// so, except for the two ranges at their own ratio.
	reading.RangeReading
	// Pulling and Coasting are the effects in a rolling vehicle. At a
	// standstill Pulling says what counts there, and Coasting means nothing.
	Pulling, Coasting Effect
}

// A Shift is the way from one range to another.
type Shift struct {
	Pair
	Train  *kinematics.Train
	Faults []kinematics.Fault

	// OffGoing, OnComing and Shared are elements as the ranges apply them,
	// whatever the faults make of it.
	OffGoing, OnComing, Shared []int
	// Changes are the couplings that really change, off-going ones first.
	Changes []Change
	// Way is the way the vehicle moves in the shift, [solve.Forward] or
	// [solve.Reverse]. Standing says that the shift engages a range, lets go of
	// one, or turns the sense round, which is done at a standstill.
	Way      solve.Verdict
	Standing bool

	// First and Second are the two ranges as a chart reads them. Partial are the states on the way,
	// by how many couplings have changed. Every says that all are there; if too
	// many couplings change, only overlap and underlap are.
	First, Second State
	Partial       []State
	Every         bool
	// Overlap and Underlap are partial states. They are nil where they are one
	// of the ranges, because nothing is off-going or nothing on-coming.
	Overlap, Underlap *State

	Pulling, Coasting View

	// Hole is what pulling loses while the on-coming elements take over, nil where
	// that is not defined.
	Hole *Hole
}

// States lists the first range, the states on the way, overlap and underlap in
// front, and the second range.
func (s *Shift) States() []*State {
	states := []*State{&s.First}
	for _, named := range []*State{s.Overlap, s.Underlap} {
		if named != nil {
			states = append(states, named)
		}
	}
	for i := range s.Partial {
		if x := &s.Partial[i]; x != s.Overlap && x != s.Underlap {
			states = append(states, x)
		}
	}
	return append(states, &s.Second)
}

// StateName names a state: "from" and "to" the two ranges, "overlap", "underlap",
// and "partly" the others on the way.
func (s *Shift) StateName(x *State) string {
	switch x {
	case &s.First:
		return "from"
	case &s.Second:
		return "to"
	case s.Overlap:
		return "overlap"
	case s.Underlap:
		return "underlap"
	}
	return "partly"
}

// Shift finds what the way from one range to another risks under faults. The work on
// its torque hole ends with the context; what was not found by then is left out.
func (f *Predictor) Shift(ctx context.Context, p Pair, faults ...kinematics.Fault) *Shift {
	s := f.read(f.Outline(p, faults...))
	s.Hole = f.hole(ctx, s, s.Train.In(&s.Train.Ranges[p.From], faults...))
	return s
}

// read reads the two ranges as a chart does.
func (f *Predictor) read(s *Shift) *Shift {
	from, to := &s.Train.Ranges[s.Pair.From], &s.Train.Ranges[s.To]
	s.First.RangeReading, s.Second.RangeReading = f.reader.Read(from, s.Faults...), f.reader.Read(to, s.Faults...)
	return s
}

// Outline is as Shift, without the torque hole, and with the two ranges read as the states
// on the way are: enough for what a driver feels.
func (f *Predictor) Outline(p Pair, faults ...kinematics.Fault) *Shift {
	t := f.sys.Train
	from, to := &t.Ranges[p.From], &t.Ranges[p.To]
	s := &Shift{Pair: p, Train: t, Faults: faults}
	s.commands(from, to)
	first, second := t.In(from, faults...), t.In(to, faults...)
	s.changes(first.Modes, second.Modes)
	s.way(f.healthy[p.From], f.healthy[p.To])

	underlap, overlap := s.sides()
	all := underlap | overlap
	at := func(changed uint64) State { return f.state(s, first, changed) }
	s.First, s.Second = at(0), at(all)
	twoSided := underlap != 0 && overlap != 0
	s.Every = len(s.Changes) <= MostChanges
	switch {
	case s.Every:
		for changed := uint64(1); changed < all; changed++ {
			s.Partial = append(s.Partial, at(changed))
		}
		kinematics.Sort(s.Partial, func(a, b State) int {
			return bits.OnesCount64(a.Changed) - bits.OnesCount64(b.Changed)
		})
	case twoSided:
		s.Partial = []State{at(overlap), at(underlap)}
	}
	s.effects(f)
	for i := range s.Partial {
		switch x := &s.Partial[i]; {
		case twoSided && x.Changed == overlap:
			s.Overlap = x
		case twoSided && x.Changed == underlap:
			s.Underlap = x
		}
	}
	s.judge(f.healthy[p.From], f.healthy[p.To])
	if !s.Standing {
		s.Pulling.freewheels(f, s, first, &pullSide)
		s.Coasting.freewheels(f, s, first, &coastSide)
	}
	return s
}

// commands sorts the elements that the two ranges apply.
func (s *Shift) commands(from, to *kinematics.Range) {
	s.OffGoing, s.OnComing = kinematics.Without(from.Apply, to.Apply), kinematics.Without(to.Apply, from.Apply)
	s.Shared = kinematics.Without(from.Apply, s.OffGoing)
}

// changes lists the couplings whose modes differ, off-going ones first.
func (s *Shift) changes(from, to []kinematics.Mode) {
	var on []Change
	for i := range from {
		c := Change{i, from[i], to[i]}
		switch {
		case c.From == c.To:
		case c.OnComing():
			on = append(on, c)
		default:
			s.Changes = append(s.Changes, c)
		}
	}
	s.Changes = append(s.Changes, on...)
}

// Faulty returns the elements that the ranges exchange but that do not change,
// because of a fault, and the couplings that change though the ranges do not
// exchange them.
func (s *Shift) Faulty() (unchanged, uncalled []int) {
	called := append(slices.Clone(s.OffGoing), s.OnComing...)
	changed := kinematics.Map(s.Changes, func(c Change) int { return c.Coupling })
	return kinematics.Without(called, changed), kinematics.Without(changed, called)
}

// sides returns the bits of the off-going changes and of the on-coming ones.
func (s *Shift) sides() (off, on uint64) {
	for n, c := range s.Changes {
		if c.OnComing() {
			on |= 1 << n
		} else {
			off |= 1 << n
		}
	}
	return off, on
}

// way finds which way the vehicle moves, from what the ranges do when healthy.
func (s *Shift) way(from, to solve.Outcome) {
	s.Standing = !from.Drives() || !to.Drives() || from.Verdict != to.Verdict
	s.Way = solve.Forward
	for _, o := range []solve.Outcome{to, from} {
		if o.Drives() {
			s.Way = o.Verdict
			return
		}
	}
}

// state finds what the train does with the given couplings changed.
func (f *Predictor) state(s *Shift, first kinematics.State, changed uint64) State {
	st := s.at(first, changed)
	o := f.outcome(st)
	x := State{Changed: changed, RangeReading: reading.Passing(s.Train, o)}
	if ratio, drives := o.Ratio(); drives {
		x.As = f.as(s, o.Verdict, ratio)
	}
	for _, c := range s.Changes {
		if st.Modes[c.Coupling] != kinematics.Open {
			x.Holding = append(x.Holding, c.Coupling)
		}
	}
	return x
}

// at is the state of the train with the given couplings changed.
func (s *Shift) at(first kinematics.State, changed uint64) kinematics.State {
	st := first.Clone()
	for n, c := range s.Changes {
		if changed>>n&1 != 0 {
			st.Modes[c.Coupling] = c.To
		}
	}
	return st
}

// effects measures every state by the two ranges.
func (s *Shift) effects(f *Predictor) {
	states := []*State{&s.First, &s.Second}
	for i := range s.Partial {
		states = append(states, &s.Partial[i])
	}
	for _, x := range states {
		if s.Standing {
			x.Pulling = Effect{Kind: s.standing(x.Outcome), Speed: zero, verdict: x.Outcome.Verdict}
			continue
		}
		x.Pulling, x.Coasting = s.effect(f, x.Outcome, &pullSide), s.effect(f, x.Outcome, &coastSide)
		x.Coasting.coasting = true
	}
}

// effect measures a state by the two ranges, rolling.
func (s *Shift) effect(f *Predictor, o solve.Outcome, seen *side) Effect {
	x := seen.settle(o, s.Way)
	from, to := seen.ends(s)
	e := Effect{Kind: x.against(from, to, seen), Speed: x.speed, verdict: o.Verdict, back: x.back}
	if e.Kind == Flares || e.Kind == Dips || e.Kind == PullsUp || e.Kind == Slackens {
		e.As = f.as(s, s.Way, e.Speed.Frac)
	}
	return e
}

// as names the first healthy range that drives a way at a ratio of that size.
func (f *Predictor) as(s *Shift, way solve.Verdict, size exact.Frac) string {
	for i, o := range f.healthy {
		ratio, drives := o.Ratio()
		if !drives || o.Verdict != way || i != s.From && !f.Comparable(s.From, i) {
			continue
		}
		if ratio.Cmp(size) == 0 || ratio.Neg().Cmp(size) == 0 {
			return s.Train.Ranges[i].Name
		}
	}
	return ""
}

// standing is the effect of a state at a standstill: what counts is only which
// way it drives. A state that drives neither way is harmless, even if it holds
// the input for a moment.
func (s *Shift) standing(o solve.Outcome) Kind {
	first, second := s.First.Outcome, s.Second.Outcome
	same := func(x solve.Outcome) bool {
		a, drives := o.Ratio()
		b, _ := x.Ratio()
		return o.Verdict == x.Verdict && (!drives || a.Cmp(b) == 0)
	}
	switch {
	case same(second):
		return AsTo
	case same(first):
		return AsFrom
	case o.Drives() && o.Verdict != s.Way && !(first.Drives() && first.Verdict == o.Verdict):
		return Reverses
	}
	return Between
}
