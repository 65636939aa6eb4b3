package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Slip says between what speeds a range can be seen whose element slips. What an
// element that slips turns into heat is T (wIn - i wOut) >= 0 for the torque T at the input
// and the ratio i of the range, with its sign. So with the engine pulling the output lies,
// per turn of the input, between what it does with the element open and 1/i; coasting the
// input lies, per turn of the output, between what it does then and i. Slower than 1/i is
// slip; faster takes a higher gear, or something that holds besides.
type Slip struct {
	Pulling exact.Interval // output speed, in the vehicle's sense, per turn of the input
	// Coasting is the input speed, in its own sense, per turn of the output the way the
	// range drives; empty if it cannot coast.
	Coasting exact.Interval
}

// noSlip is that of a range in which nothing slips.
var noSlip = Slip{Pulling: exact.None, Coasting: exact.None}

// slipOf returns the speeds between a state and the same state with what slips open. Both
// pull at the end of their interval that is nearest to zero, since the load resists, and
// drag the engine at the end nearest to zero when coasting.
func slipOf(locked, open solve.Outcome) Slip {
	if !locked.Drives() || open.Pull.Empty {
		return noSlip
	}
	s := Slip{Pulling: hull(locked.Pull, open.Pull), Coasting: exact.None}
	a, b := locked.Coast(), open.CoastForward
	if locked.Verdict == solve.Reverse {
		b = open.CoastBackward
	}
	if !a.Empty && !b.Empty {
		s.Coasting = hull(a, b)
	}
	return s
}

// hull is the interval between the ends of two others that are nearest to zero.
func hull(a, b exact.Interval) exact.Interval {
	x, y := nearest(a), nearest(b)
	if x.Cmp(y) > 0 {
		x, y = y, x
	}
	return exact.Interval{Min: exact.Bound{Frac: x}, Max: exact.Bound{Frac: y}}
}

// nearest is the value of an interval that is nearest to zero.
func nearest(i exact.Interval) exact.Frac {
	if i.HasZero() {
		return exact.Int(0)
	}
	return i.NearestZero()
}

// slipping is the slip of a range in which elements slip at full throttle.
func (e *engine) slipping(r *kinematics.Range, st kinematics.State, faults []kinematics.Fault,
	locked solve.Outcome) Slip {
	open := st.Clone()
	for _, f := range faults {
		if f.Kind != kinematics.Dragging && reading.ActsByTorque(r, f) {
			open.Modes[f.Coupling] = kinematics.Open
		}
	}
	return slipOf(locked, e.kernel.Outcome(open))
}

// a direction says whether the engine pulled or was dragged while a ratio was measured.
type direction uint8

const (
	notTold direction = iota
	pulling
	coasting
)

// ratio fits a measured ratio: fully what the range drives at, else by slip.
func (g *road) ratio(o *Observation, b *Behaviour) Fit {
	p := b.Light
	switch {
	case p.Drives() != 0 && g.near(o.Ratio, p.Ratio, 1) && o.Word != Slips:
		return Fully
	case g.slipsBy(o, b):
		return BySlip
	}
	return grade(false, p.Drives() != 0 && g.near(o.Ratio, p.Ratio, 2) && o.Word != Slips)
}

// slipsBy says whether a measured ratio lies where an element that slips lets it be. Where
// it was not told whether the engine pulled, both are tried.
func (g *road) slipsBy(o *Observation, b *Behaviour) bool {
	how := notTold
	switch {
	case o.When.Has(Pulling), o.Word == Slips:
		how = pulling
	case o.Word == Coasts:
		how = coasting
	}
	return how != coasting && g.within(o.Ratio.Inv(), b.Slip.Pulling) ||
		how != pulling && g.within(o.Ratio, b.Slip.Coasting)
}

// within says whether the size of a speed lies in an interval, within the tolerance.
func (g *road) within(speed exact.Frac, i exact.Interval) bool {
	if i.Empty {
		return false
	}
	a, b := i.Min.Frac, i.Max.Frac
	if b.Sign() <= 0 {
		a, b = b.Neg(), a.Neg()
	}
	one := exact.NewFrac(1, 1)
	if speed.Cmp(b.Mul(one.Add(g.tolerance))) > 0 {
		return false
	}
	return a.Sign() <= 0 || speed.Cmp(a.Mul(one.Sub(g.tolerance))) >= 0
}

// A holding says how a range does whose weak elements hold, or whose dragging ones resist
// with, a share s of their rating: what torque decides begins at the input torque s·Slope,
// if it is Linear. Then three things can be seen of it, as that torque is more than full
// throttle, more than light throttle, or less.
type holding struct {
	known, linear bool
	slope         exact.Frac // input torque per share
	read          reading.RangeReading
	share         kinematics.Share     // at which it was read
	base          kinematics.Share     // up to which it is linear
	low           reading.RangeReading // at that
	own           cellID               // at the assumed share, one more than the number; 0 is not known
	// cells are by the number of throttles beyond the torque, one more than the number; 0 is
	// not known.
	cells [3]cellID
}

// readHolding reads how a range does whose weak or dragging elements have the assumed share.
func (e *engine) readHolding(r *kinematics.Range, key string, faults []kinematics.Fault,
	kind kinematics.FaultKind) *holding {
	if h, known := e.holdings[key]; known {
		return h
	}
	h := &holding{share: e.a.Weak}
	if kind == kinematics.Dragging {
		h.share = e.a.Dragging
	}
	h.read = e.reader.Read(r, sharing(faults, kind, h.share)...)
	e.holdings[key] = h
	return h
}

// sharing returns faults with another share for those of a kind.
func sharing(faults []kinematics.Fault, kind kinematics.FaultKind, s kinematics.Share) []kinematics.Fault {
	list := slices.Clone(faults)
	for i := range list {
		if list[i].Kind == kind {
			list[i].Share = s
		}
	}
	return list
}

// measure finds up to which share what torque decides is in proportion to it: the share is
// halved, a few times, until half of it halves the torque. Together with the least torque
// being a concave function of the capacities that says that it is so for every smaller one.
// Above, other elements give way first.
func (h *holding) measure(e *engine, r *kinematics.Range, faults []kinematics.Fault, kind kinematics.FaultKind) {
	if h.known {
		return
	}
	h.known = true
	half := kinematics.Share{Num: 1, Den: 2}
	h.base, h.low = h.share, h.read
	if x := begins(h.read.Friction, kind); x != nil && h.read.Friction.Proportional && !e.limits(h.read.Friction, kind) {
		h.linear, h.slope = true, x.Mul(exact.NewFrac(h.base.Den, h.base.Num))
		return
	}
	for range 5 {
		next := h.base.Times(half)
		c := e.reader.Read(r, sharing(faults, kind, next)...)
		if h.linear = e.halves(h.low.Friction, c.Friction, kind); h.linear {
			h.slope = begins(h.low.Friction, kind).Mul(exact.NewFrac(h.base.Den, h.base.Num))
			return
		}
		h.base, h.low = next, c
	}
}

// halves says whether a range does the same at half a share as at the whole, from half the
// input torque on.
func (e *engine) halves(a, b *reading.Friction, kind kinematics.FaultKind) bool {
	whole, half := begins(a, kind), begins(b, kind)
	if whole == nil || half == nil || whole.Sign() == 0 || half.Add(*half).Cmp(*whole) != 0 {
		return false
	}
	limited := e.limits(a, kind) || e.limits(b, kind)
	return a.Gives == b.Gives && a.Flare.Cmp(b.Flare) == 0 && a.Given.Cmp(b.Given) == 0 && a.Creeps == b.Creeps &&
		a.Way == b.Way && !limited
}

// limits says whether a range with a drag slips below full throttle. The torque at which it
// does is a concave function of the drag.
func (e *engine) limits(x *reading.Friction, kind kinematics.FaultKind) bool {
	full := e.scale.Rated.Mul(exact.NewFrac(e.a.Full.Num, e.a.Full.Den))
	return kind == kinematics.Dragging && x.Limits && x.Limit.Cmp(full) < 0
}

// begins is the input torque from which on a range does something else: slips, gives way,
// or overcomes a drag; nil if it does not.
func begins(x *reading.Friction, kind kinematics.FaultKind) *exact.Frac {
	switch {
	case x == nil || x.Missing != nil:
	case x.Gives:
		return &x.Give
	case kind == kinematics.Dragging:
		return &x.Drag
	case x.Limits:
		return &x.Limit
	}
	return nil
}

// covers says whether what was read tells of a share, too.
func (h *holding) covers(s kinematics.Share) bool {
	return h.linear && s.Num*h.base.Den <= h.base.Num*s.Den
}

// scaled is the behaviour of a range whose weak or dragging elements have a share that the
// holding covers.
func (e *engine) scaled(h *holding, r *kinematics.Range, st kinematics.State, faults []kinematics.Fault,
	kind kinematics.FaultKind, s kinematics.Share) cellID {
	torque := h.slope.Mul(exact.NewFrac(s.Num, s.Den))
	beyond := 0
	for _, throttle := range []kinematics.Share{e.a.Light, e.a.Full} {
		over := e.scale.Rated.Mul(exact.NewFrac(throttle.Num, throttle.Den)).Cmp(torque)
		if over > 0 || over == 0 && (h.low.Friction.Gives || kind == kinematics.Dragging) {
			beyond++
		}
	}
	if h.cells[beyond] == 0 {
		x, c := *h.low.Friction, h.low
		*begins(&x, kind) = torque
		c.Friction = &x
		h.cells[beyond] = 1 + e.intern(e.byTorque(r, st, faults, c))
	}
	return h.cells[beyond] - 1
}

// uniform returns the faults that act in a range through torque, and their kind and share,
// if all are weak elements, or all dragging ones, with one share.
func uniform(r *kinematics.Range, faults []kinematics.Fault) ([]kinematics.Fault, kinematics.FaultKind,
	kinematics.Share) {
	var list []kinematics.Fault
	for _, f := range faults {
		if !reading.ActsByTorque(r, f) {
			continue
		}
		if f.Kind == kinematics.Stuck || len(list) > 0 && (f.Share != list[0].Share || f.Kind != list[0].Kind) {
			return nil, "", kinematics.Share{}
		}
		list = append(list, f)
	}
	if list == nil {
		return nil, "", kinematics.Share{}
	}
	return list, list[0].Kind, list[0].Share
}

// degrees lists the shares of their rating at which the weak elements of a hypothesis do
// different things in some of the ranges: one below every share at which a range begins to
// slip at light or at full throttle, the largest first. Where a range does not hold in
// proportion, the assumed share and parts of it stand for all.
func (f *Finder) degrees(h *Hypothesis, ranges []int) []kinematics.Share {
	e := f.engine
	var limits []exact.Frac
	for _, i := range ranges {
		r := h.commanded(f.t, i)
		st := f.t.In(r, h.Faults...)
		weak, kind, _ := uniform(r, h.Faults)
		if weak == nil || !e.torqueDecides(r, st, h.Faults) {
			continue
		}
		x := e.readHolding(r, e.weakKey(r, st, weak), h.Faults, kind)
		if x.measure(e, r, h.Faults, kind); !x.linear {
			limits = append(limits, exact.NewFrac(f.a.Weak.Num*2, f.a.Weak.Den*3), exact.NewFrac(f.a.Weak.Num, f.a.Weak.Den*3))
			continue
		}
		for _, throttle := range []kinematics.Share{f.a.Light, f.a.Full} {
			limits = append(limits, e.scale.Rated.Mul(exact.NewFrac(throttle.Num, throttle.Den)).Mul(x.slope.Inv()))
		}
	}
	slices.SortFunc(limits, exact.Frac.Cmp)
	limits = slices.CompactFunc(limits, func(a, b exact.Frac) bool { return a.Cmp(b) == 0 })
	most := exact.NewFrac(f.a.Weak.Num, f.a.Weak.Den)
	var list []kinematics.Share
	below := exact.NewFrac(0, 1)
	for _, limit := range limits {
		top := limit
		if most.Cmp(top) < 0 {
			top = most
		}
		if s, ok := between(below, top); ok {
			list = append(list, s)
		}
		below = limit
	}
	slices.Reverse(list)
	return list
}

// between returns a share between two others, written as shortly as can be.
func between(low, high exact.Frac) (kinematics.Share, bool) {
	if low.Cmp(high) >= 0 {
		return kinematics.Share{}, false
	}
	for den := int64(10); den <= 1000; den *= 10 {
		n := int64((low.Float() + high.Float()) / 2 * float64(den))
		for _, n := range []int64{n, n + 1} {
			if s := exact.NewFrac(n, den); s.Cmp(low) > 0 && s.Cmp(high) < 0 {
				return kinematics.Share{Num: n, Den: den}, true
			}
		}
	}
	return kinematics.Share{}, false
}
