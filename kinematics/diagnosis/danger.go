package diagnosis

import (
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Suspects count in what can happen as long as nothing contradicts them, and
// beyond that while they weigh more than this part of all suspects; where wheels
// can lock at speed, or a bind let go, more than the second.
const (
	liveWeight = 0.01
	lockWeight = 0.001
)

// A Danger is a hazard with the suspect that makes it, or what was seen.
type Danger struct {
	Hazard  reading.Hazard
	Suspect *Suspect     // nil if it was seen, or is of the test itself
	Seen    *Observation // nil if it was not seen
	Range   int          // where it would be; -1 of the test itself
	To      int          // of a shift, else -1
}

// dangers are what can happen in the ranges and shifts of a case.
type dangers struct {
	ranges [][]Danger
	shifts map[[2]int]*Danger // those that bind
	// proved says of a range that something seen in it shows that it does not bind.
	proved []bool
	locks  []*Suspect // live where wheels can lock
}

// dangers returns what can happen, by the live suspects and by what was seen.
func (a *Answer) dangers() *dangers {
	if a.danger != nil {
		return a.danger
	}
	n := len(a.Train.Ranges)
	d := &dangers{ranges: make([][]Danger, n), shifts: map[[2]int]*Danger{}, proved: make([]bool, n)}
	for i := range a.Seen {
		d.see(a.finder, &a.Seen[i])
	}
	sum, best := 0.0, a.Groups[0].Suspects[0].score
	for s := range a.suspects {
		sum += math.Exp(s.score - best)
	}
	for s := range a.suspects {
		live := func(part float64) bool { return s.score > best+math.Log(part*sum) || !slices.Contains(s.Fits, Not) }
		moves, locks := live(liveWeight), live(lockWeight)
		if !locks {
			continue
		}
		d.locks = append(d.locks, s)
		for r := range n {
			for _, h := range a.finder.hazards(r, a.Behaviour(s, r)) {
				if moves || h == reading.Locks || h == reading.LetsGo {
					d.add(Danger{Hazard: h, Suspect: s, Range: r, To: -1})
				}
			}
		}
	}
	a.danger = d
	return d
}

// add keeps the first danger of a hazard in a range.
func (d *dangers) add(x Danger) {
	if !slices.ContainsFunc(d.ranges[x.Range], func(y Danger) bool { return y.Hazard == x.Hazard }) {
		d.ranges[x.Range] = append(d.ranges[x.Range], x)
	}
}

// hazards lists what can happen in a range that behaves so, and not when healthy;
// that a load falls counts even where the range is meant to let it go.
func (f *Finder) hazards(r int, b *Behaviour) []reading.Hazard {
	h := &f.road.healthy[r]
	var list []reading.Hazard
	add := func(x reading.Hazard, there bool) {
		if there {
			list = append(list, x)
		}
	}
	way := h.Light.Drives()
	drives := func(d Sense) bool { return b.Light.Drives() == d || b.Full.Drives() == d }
	add(reading.Moves, way == 0 && (drives(1) || drives(-1)) || b.Lurch != h.Lurch && b.Lurch != 0 ||
		b.Creeps != h.Creeps && b.Creeps != 0)
	add(reading.WrongWay, way != 0 && drives(-way))
	tied := (b.Light.Verdict == solve.TieUp || b.Full.Verdict == solve.TieUp) && h.Light.Verdict != solve.TieUp
	rolls, back := b.Rolls()
	couldRoll, couldBack := h.Rolls()
	add(reading.Locks, tied || way >= 0 && couldRoll && !rolls || way <= 0 && couldBack && !back)
	add(reading.LetsGo, tied)
	held := !couldRoll && !couldBack
	add(reading.Rolls, held && (rolls || back))
	loose := b.Light.Verdict == solve.Neutral || b.Full.Verdict == solve.Neutral ||
		b.Light.Drives() == 0 && (rolls || back)
	add(reading.LoadFalls, f.t.Use == kinematics.InHoist && loose) // whether it is meant to be loose or not
	return list
}

// see adds what was seen.
func (d *dangers) see(f *Finder, o *Observation) {
	add := func(r int, hazards ...reading.Hazard) {
		for _, h := range hazards {
			d.add(Danger{Hazard: h, Seen: o, Range: r, To: -1})
		}
	}
	switch {
	case o.IsShift():
		if o.Word == ShiftBinds {
			d.shifts[[2]int{o.Range, o.To}] = &Danger{Hazard: reading.Locks, Seen: o, Range: o.Range, To: o.To}
		}
	case o.Shop != nil:
		if o.Shop.Kind == Rolling && f.road.healthy[o.Shop.Range].holds() && o.Word != Held {
			add(o.Shop.Range, reading.Rolls)
		}
	case o.Position != nil: // nobody knows in which of its ranges: it counts for all
		for _, r := range o.Position.Ranges {
			d.proved[r] = d.proved[r] || o.ofAll()
			add(r, f.seenHazards(o.at(r))...)
		}
	default:
		d.proved[o.Range] = d.proved[o.Range] || slices.Contains(unbound, o.Word)
		add(o.Range, f.seenHazards(o)...)
	}
}

// holds says whether the vehicle is held both ways.
func (b *Behaviour) holds() bool {
	rolls, back := b.Rolls()
	return !rolls && !back
}

// unbound are the words that can be seen only of a range that does not bind.
var unbound = []Word{
	OK, Forward, Reverse, As, Ratio, Revs, Slips, SlipsLight, SlipsFull, HoldsFull, StallRuns, EngineBraking,
	NoEngineBraking, Coasts,
}

// seenHazards are the hazards that an observation of a range shows.
func (f *Finder) seenHazards(o *Observation) []reading.Hazard {
	way := f.road.healthy[o.Range].Light.Drives()
	drives := func(d Sense) []reading.Hazard {
		switch {
		case way == 0:
			return []reading.Hazard{reading.Moves}
		case d != 0 && d != way:
			return []reading.Hazard{reading.WrongWay}
		}
		return nil
	}
	switch o.Word {
	case Forward:
		return drives(1)
	case Reverse:
		return drives(-1)
	case As:
		return drives(f.road.healthy[o.Other].Light.Drives())
	case Ratio, Slips, SlipsLight, SlipsFull, HoldsFull:
		return drives(0)
	case Lurch, LurchForward, LurchBackward, Creeps, CreepsForward, CreepsBackward:
		return []reading.Hazard{reading.Moves}
	case Bind:
		return []reading.Hazard{reading.Locks, reading.LetsGo}
	case Locks:
		return []reading.Hazard{reading.Locks}
	case Held, RollsForwardOnly, RollsBackOnly:
		if !f.road.healthy[o.Range].holds() {
			return []reading.Hazard{reading.Locks}
		}
	}
	if f.road.healthy[o.Range].holds() && slices.Contains([]Word{Rolls, RollsForwardOnly, RollsBackOnly}, o.Word) {
		return []reading.Hazard{reading.Rolls}
	}
	return nil
}

// shift is the danger that a shift binds, nil if none.
func (a *Answer) shift(from, to int) *Danger {
	d := a.dangers()
	key := [2]int{from, to}
	if x, known := d.shifts[key]; known {
		return x
	}
	d.shifts[key] = nil
	o := Observation{Range: from, To: to, Word: ShiftBinds}
	for _, s := range d.locks {
		if a.finder.shifts.fit(&o, &s.Hypothesis) == Fully {
			d.shifts[key] = &Danger{Hazard: reading.Locks, Suspect: s, Range: from, To: to}
			break
		}
	}
	return d.shifts[key]
}

// route is the position in which a range is had at speed: the first of those that reach it soonest,
// or one of them that ends there. It returns the ranges of that position and how many are driven
// through to have this one, itself too; p is nil where no position stands before it in the file.
func route(t *kinematics.Train, r int) (ranges []int, driven int, p *kinematics.Position) {
	ranges, driven = []int{r}, 1
	first := true
	for i := range t.Positions {
		at := &t.Positions[i]
		k := slices.Index(at.Ranges, r) + 1
		if k == 0 {
			continue
		}
		if first || k < driven || k == driven && len(at.Ranges) == k && len(ranges) > k {
			ranges, driven, p = at.Ranges, k, at
			if first {
				p = nil
			}
		}
		first = false
	}
	return ranges, driven, p
}

// driven lists the ranges that are driven to make a test at speed, asked of them to make it; behind
// them the one that the control shifts up to by itself as soon as the throttle closes.
func (f *Finder) driven(x *Test) (ranges []int, asked int) {
	all, n, _ := route(f.t, x.Range)
	ranges = slices.Clone(all[:n])
	if x.Kind == Shifting {
		ranges = append(ranges, x.To)
		all, n, _ = route(f.t, x.To)
	}
	asked = len(ranges)
	if n < len(all) {
		ranges = append(ranges, all[n])
	}
	return ranges, asked
}

// dangersOf lists what can happen in a test in a set-up.
func (a *Answer) dangersOf(x *Test, s SetUp) []Danger {
	list := kinematics.Map(x.Kind.own(), func(h reading.Hazard) Danger { return Danger{Hazard: h, Range: -1, To: -1} })
	if s == EngineOff {
		return list
	}
	ranges := []int{x.Range}
	switch {
	case s == Road:
		ranges, _ = a.finder.driven(x)
	case x.Kind == Shifting:
		ranges = append(ranges, x.To)
	}
	for i, r := range ranges {
		for _, y := range a.dangers().ranges[r] {
			if y.Hazard != reading.LetsGo || x.pulls() {
				list = append(list, y)
			}
		}
		if i > 0 {
			if y := a.shift(ranges[i-1], r); y != nil {
				list = append(list, *y)
			}
		}
	}
	return list
}

// A Refusal is a test that would tell something and that no set-up carries.
type Refusal struct {
	Test   Test
	Danger *Danger // what the least set-up does not carry; nil if Unproved is why
	// Unproved is a range that has not shown yet that it does not bind, -1 for none.
	Unproved int
}

// judge returns the set-ups in which a test may be made: the first that carries
// everything, and where that is not all that the test can show, one that is. If
// there is none, it returns why.
func (a *Answer) judge(x *Test) ([]SetUp, *Refusal) {
	var allowed []SetUp
	refusal := &Refusal{Test: *x, Unproved: -1}
	for _, s := range a.finder.setUpsOf(x) {
		danger, unproved := a.uncarried(x, s)
		if danger != nil || unproved >= 0 {
			refusal.Test.SetUp, refusal.Danger, refusal.Unproved = s, danger, unproved
			continue
		}
		allowed = append(allowed, s)
		if s != Braked {
			break
		}
	}
	if allowed != nil {
		return allowed, nil
	}
	return nil, refusal
}

// uncarried is what a set-up does not carry: a danger, or speed in a range that has
// not shown that it does not bind.
func (a *Answer) uncarried(x *Test, s SetUp) (*Danger, int) {
	for _, y := range a.dangersOf(x, s) {
		if !s.Carries(y.Hazard) {
			return &y, -1
		}
	}
	if s != Road {
		return nil, -1
	}
	ranges, asked := a.finder.driven(x)
	for _, r := range ranges[:asked] {
		if !a.dangers().proved[r] {
			return nil, r
		}
	}
	return nil, -1
}
