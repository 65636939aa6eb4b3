package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// perRange is what each further range of a fault weighs that acts in some ranges only, in
// contradictions, unless they follow a position.
const perRange = 0.3

// A family is all that one kind of fault of one coupling can be, in whichever ranges it
// acts and to whatever degree. Only the member that the observations demand is a suspect:
// the least set of ranges, in the degree that fits best. So a claim that agrees with
// everything is in the list, as the member of its family.
type family struct {
	fault kinematics.Fault // in all ranges of where; weak or dragging ones with the assumed share
	where []int            // ranges in which it can act
	class Class
}

// families lists those whose faults act in some of the ranges in which they could:
// elements that are off where they are applied, on where they are not, weak or dragging,
// and one-way clutches that slip or jam in some ranges only.
func (f *Finder) families() []family {
	t := f.t
	var list []family
	for i := range t.ElementCount {
		c := &t.Couplings[i]
		on, off := t.AppliedIn(i)
		add := func(kind kinematics.FaultKind, where []int, class Class, share kinematics.Share) {
			if len(where) > 1 { // in one range it is the whole fault
				x := kinematics.Fault{Coupling: i, Kind: kind, Share: share, Ranges: t.NamesOfRanges(where)}
				list = append(list, family{fault: x, where: where, class: class})
			}
		}
		var whole kinematics.Share
		switch {
		case c.Kind == kinematics.Pawl:
		case c.Kind == kinematics.OneWay:
			where := identity(t)
			if c.Switched {
				where = on
			}
			add(kinematics.Slips, where, Freewheel, whole)
			add(kinematics.Seized, where, Freewheel, whole)
		default:
			add(kinematics.OpenF, on, Control, whole)
			add(kinematics.Stuck, off, Control, whole)
		}
		if c.Kind.Friction() && f.engine.ratings[i].Known() {
			add(kinematics.Weak, on, Control, f.a.Weak)
			add(kinematics.Dragging, off, Control, f.a.Dragging)
		}
	}
	return list
}

// shares are the shares of their rating at which the weak or dragging elements of a
// hypothesis are tried beside the assumed one: those that do something else in a range of
// which something was seen. Where a shift came late or with shudder, also one that holds
// everywhere and only comes slowly.
func (j *judge) shares(h *Hypothesis) []kinematics.Share {
	f := j.f
	switch h.Faults[0].Kind {
	case kinematics.Weak:
		list := f.degrees(h, j.ranges())
		if slices.ContainsFunc(j.seen, func(o Observation) bool { return o.Word == Late || o.Word == Shudder }) {
			list = append([]kinematics.Share{{Num: 9, Den: 10}}, list...)
		}
		return list
	case kinematics.Dragging:
		return kinematics.Map([]kinematics.Share{{Num: 1, Den: 2}, {Num: 1, Den: 4}, {Num: 3, Den: 1}}, f.a.Dragging.Times)
	}
	return nil
}

// partial returns the members of the families that the observations demand: those that
// act in some of their ranges and explain more than none. singles are the suspects of one
// fault in all ranges: one of the same coupling, gone wrong the same way, that explains as
// much stands for the family: see [Suspect.coveredBy].
func (j *judge) partial(families []family, healthy []Fit, singles []*Suspect) []*Suspect {
	var list []*Suspect
	for i := range families {
		x := &families[i]
		var best *Suspect
		shares := []kinematics.Share{x.fault.Share}
		if x.fault.Share.IsSet() {
			shares = append(shares, j.shares(&Hypothesis{Kind: Faulty, Faults: []kinematics.Fault{x.fault}})...)
		}
		for _, share := range shares {
			fault := x.fault
			fault.Share = share
			s := j.least(x, fault, nil, healthy)
			if s != nil && (best == nil || cost(s.Fits) < cost(best.Fits)) {
				best = s
			}
		}
		if best == nil || slices.ContainsFunc(slices.Concat(singles, list), best.coveredBy) {
			continue
		}
		list = append(list, best)
	}
	return list
}

// coveredBy says whether another suspect of the same coupling stands for one that acts in
// some ranges: it is gone wrong the same way, all the way if not, and explains as much.
func (s *Suspect) coveredBy(o *Suspect) bool {
	if !o.sameElement(s) || cost(o.Fits) > cost(s.Fits) {
		return false
	}
	f, g := o.Faults[0], s.Faults[0]
	return effectOf(f) == effectOf(g) || g.Share.IsSet() && tooLittle(f) == tooLittle(g)
}

// sameElement says whether two suspects are of one fault each, of the same coupling.
func (s *Suspect) sameElement(o *Suspect) bool {
	return s.Kind == Faulty && o.Kind == Faulty && len(s.Faults) == 1 && len(o.Faults) == 1 &&
		s.Faults[0].Coupling == o.Faults[0].Coupling
}

// least returns the suspect with the fewest ranges of a family that the observations
// demand beside other faults, whose fits are given; nil if they demand none or all. What
// was seen of a range depends on that range alone; only shifts, and what was seen of a
// whole position, join ranges.
func (j *judge) least(x *family, fault kinematics.Fault, beside []kinematics.Fault, fits []Fit) *Suspect {
	t := j.f.t
	acting := &Hypothesis{Kind: Faulty, Faults: append(slices.Clip(beside), fault)}
	var set, either []int
	joined := map[int]bool{}
	for _, r := range x.where {
		with, without := 0, 0
		for i := range j.seen {
			o := &j.seen[i]
			switch {
			case o.placeRange() == r:
				with += j.fit(i, acting, nil).cost()
				without += fits[i].cost()
			case o.IsShift() && (o.Range == r || o.To == r), o.Position != nil && slices.Contains(o.Position.Ranges, r):
				joined[r] = true
			}
		}
		switch {
		case with < without:
			set = append(set, r)
		case with == without:
			either = append(either, r)
		}
	}
	set = j.joined(fault, beside, set, either, joined)
	if len(set) == 0 || len(set) == len(x.where) {
		return nil
	}
	slices.Sort(set)
	fault.Ranges = t.NamesOfRanges(set)
	s := &Suspect{Hypothesis: Hypothesis{Kind: Faulty, Faults: append(slices.Clip(beside), fault), Class: x.class}}
	s.partial, s.further = true, j.further(x.where, set, either)
	s.Fits = j.fits(&s.Hypothesis, nil)
	return s
}

// joined adds ranges to a set, as few as explain more of the shifts and positions that
// join them: one, or the two of a shift.
func (j *judge) joined(fault kinematics.Fault, beside []kinematics.Fault, set, either []int,
	joined map[int]bool) []int {
	if len(joined) == 0 {
		return set
	}
	total := func(set []int) int {
		fault.Ranges = j.f.t.NamesOfRanges(set)
		h := &Hypothesis{Kind: Faulty, Faults: beside}
		if len(set) > 0 {
			h.Faults = append(slices.Clip(beside), fault)
		}
		sum := 0
		for i := range j.seen {
			if o := &j.seen[i]; o.IsShift() || o.Position != nil || slices.Contains(set, o.placeRange()) {
				sum += j.fit(i, h, nil).cost()
			}
		}
		return sum
	}
	var more [][]int
	for i, r := range either {
		if !joined[r] {
			continue
		}
		more = append(more, []int{r})
		for _, q := range either[i+1:] {
			if joined[q] {
				more = append(more, []int{r, q})
			}
		}
	}
	slices.SortStableFunc(more, func(a, b []int) int { return len(a) - len(b) })
	now := total(set)
	for again := true; again; {
		again = false
		for _, m := range more {
			if slices.ContainsFunc(m, func(r int) bool { return slices.Contains(set, r) }) {
				continue
			}
			with := append(slices.Clip(set), m...)
			slices.Sort(with)
			if sum := total(with); sum < now {
				set, now, again = with, sum, true
				break
			}
		}
	}
	return set
}

// together lists the sets of ranges in which one thing can be wrong: those of a position,
// and where the file gives the controls, those in which a circuit has full pressure.
func (f *Finder) together() [][]int {
	list := kinematics.Map(f.t.Positions, func(p kinematics.Position) []int { return p.Ranges })
	n := controls.Of(f.t)
	if n == nil {
		return list
	}
	for _, c := range n.Circuits() {
		list = append(list, slices.DeleteFunc(identity(f.t), func(r int) bool {
			return f.pressureAt(c, r, &Suspect{}) != controls.Full
		}))
	}
	return list
}

// further counts the ranges of a set beside the first, 0 if the set can be that of one
// position or circuit: every range of it in which the fault can act is in the set, or may
// be.
func (j *judge) further(where, set, either []int) int {
	for _, ranges := range j.f.joint {
		outside := func(r int) bool { return !slices.Contains(ranges, r) }
		missing := func(r int) bool {
			return slices.Contains(ranges, r) && !slices.Contains(set, r) && !slices.Contains(either, r)
		}
		if !slices.ContainsFunc(set, outside) && !slices.ContainsFunc(where, missing) {
			return 0
		}
	}
	return len(set) - 1
}

// placeRange is the range that an observation is of: also that of a gauge at a tap, or of a
// vehicle that is pushed; -1 for shifts, positions and the rest of the workshop.
func (o *Observation) placeRange() int {
	switch {
	case o.Shop != nil && (o.Shop.Kind == PressureAt || o.Shop.Kind == Rolling):
		return o.Shop.Range
	case o.Shop != nil, o.IsShift():
		return -1
	}
	return o.Range
}

// raced lists the clutches that trapped oil can hold on when the engine is raced, where
// something was seen so.
func (f *Finder) raced(seen []Observation) []Hypothesis {
	if !slices.ContainsFunc(seen, func(o Observation) bool { return o.When.Has(Raced) }) {
		return nil
	}
	var list []Hypothesis
	for i := range f.t.ElementCount {
		c := &f.t.Couplings[i]
		if c.Kind == kinematics.Clutch && c.A != kinematics.Housing && c.B != kinematics.Housing {
			x := kinematics.Fault{Coupling: i, Kind: kinematics.Stuck}
			list = append(list, Hypothesis{Kind: Faulty, Faults: []kinematics.Fault{x}, Raced: true, Class: StuckOn})
		}
	}
	return list
}

// capped keeps suspects that act in some ranges only behind those of one fault in all
// ranges that fit as well.
func capped(list []*Suspect) {
	for _, s := range list {
		if !s.partial {
			continue
		}
		for _, o := range list {
			if !o.partial && o.Kind == Faulty && len(o.Faults) == 1 && cost(o.Fits) <= cost(s.Fits) {
				s.score = min(s.score, o.score-4*same)
			}
		}
	}
}

// lost says whether nothing at all drives: two ranges or more that are meant to drive were
// tried, and none did, three of them if some slip, or no pressure was found at two taps where it
// should be.
func (f *Finder) lost(seen []Observation) bool {
	tried, slipping, taps := map[int]bool{}, map[int]bool{}, map[int]bool{}
	for i := range seen {
		o := &seen[i]
		r := o.placeRange()
		switch {
		case r < 0:
		case o.Shop != nil && slices.Contains(f.t.Ranges[r].Apply, o.Shop.Coupling):
			if o.Word != NotFed {
				return false
			}
			taps[o.Shop.Coupling] = true
		case o.Shop == nil && f.road.healthy[r].Light.Drives() != 0:
			switch o.Word {
			case None, Revs:
				tried[r] = true
			case Slips, SlipsLight, SlipsFull, StallRuns:
				slipping[r] = true
			case EngineBraking, NoEngineBraking, Locks, Coasts, Held, Rolls, RollsDrag, RollsForwardOnly, RollsBackOnly:
			default:
				return false
			}
		}
	}
	for r := range tried {
		slipping[r] = true
	}
	return len(tried) > 1 || len(slipping) > 2 || len(taps) > 1
}

// pressures lists low pressure: every friction element holds the assumed share of its
// rating, or nothing at all. Other shares are tried where they explain more.
func (f *Finder) pressures() []Hypothesis {
	if !hydraulic(f.t) {
		return nil
	}
	var list []Hypothesis
	var none, low []kinematics.Fault
	for i := range f.t.ElementCount {
		if !f.t.Couplings[i].Kind.Friction() {
			continue
		}
		none = append(none, kinematics.Fault{Coupling: i, Kind: kinematics.OpenF})
		if f.engine.ratings[i].Known() {
			low = append(low, kinematics.Fault{Coupling: i, Kind: kinematics.Weak, Share: f.a.Weak})
		}
	}
	if len(low) > 1 {
		list = append(list, Hypothesis{Kind: Pressure, Faults: low, Class: Linkage})
	}
	if len(none) > 1 {
		list = append(list, Hypothesis{Kind: Pressure, Faults: none, Class: Linkage})
	}
	return list
}

// high is the one hypothesis of line pressure that is too high, where something speaks for it.
func (f *Finder) high(seen []Observation) []Hypothesis {
	speaks := func(o Observation) bool { return o.Word == Harsh || o.Word == High }
	if !hydraulic(f.t) || !slices.ContainsFunc(seen, speaks) {
		return nil
	}
	return []Hypothesis{{Kind: HighPressure, Class: Control}}
}

// noPressure says whether a hypothesis is that nothing has pressure.
func (h *Hypothesis) noPressure() bool {
	return h.Kind == Pressure && h.Faults[0].Kind == kinematics.OpenF
}
