package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Slipping is what measured speeds say of the elements that a range applies: how fast
// each slips, in the unit of the speeds, without a sign.
type Slipping struct {
	// Settled are elements whose slip the speeds settle by themselves, those that hold with
	// 0; Bounded are those that they only bound, the least and the greatest.
	Settled []ElementSlip
	Bounded []ElementSlip
	// Either is how fast each would slip, at least, if all the others of the range held; nil
	// where the speeds settle one that slips.
	Either []ElementSlip
	// OneWay says that a one-way clutch must slip, or a joint turn, for these speeds.
	OneWay bool
}

// An ElementSlip is how fast an element slips: one value, or bounds.
type ElementSlip struct {
	Element     int
	Least, Most exact.Bound
}

// Speed is the slip, if it is one value.
func (x *ElementSlip) Speed() (exact.Frac, bool) { return x.Least.Frac, x.Least.Cmp(x.Most) == 0 }

// SlippingOf finds how fast the elements of a commanded range slip at measured speeds; nil
// if the speeds cannot tell, or are those of an engine. Where speeds have no sign, the
// output turns as the range drives it, and of the other directions those that the train
// allows are tried; what differs between them is bounded.
func SlippingOf(sys *solve.System, m Readings, commanded int) *Slipping {
	if m.Engine {
		return nil
	}
	r := &sys.Train.Ranges[commanded]
	var found *Slipping
	for _, speeds := range signed(sys, m, r) {
		found = merge(found, slippingAt(sys, m, r, speeds))
	}
	return found
}

// signed lists what measured speeds can be with their signs, the input's first.
func signed(sys *solve.System, m Readings, r *kinematics.Range) [][]solve.MeasuredSpeed {
	t := sys.Train
	way := 1
	if o := sys.Kernel().Outcome(t.In(r)); o.Drives() {
		way = o.OutputSpeed().Sign()
	}
	list := [][]solve.MeasuredSpeed{nil}
	for _, s := range m.Speeds {
		switch {
		case s.Member == r.Input:
			for i := range list {
				list[i] = slices.Insert(list[i], 0, solve.MeasuredSpeed(s))
			}
			continue
		case !m.Signed && s.Member == r.Output && way < 0:
			s.Speed = s.Speed.Neg()
		}
		n := len(list)
		for i := range n {
			both := !m.Signed && s.Member != r.Output && s.Speed.Sign() != 0
			if both {
				list = append(list, append(slices.Clone(list[i]), solve.MeasuredSpeed{Member: s.Member, Speed: s.Speed.Neg()}))
			}
			list[i] = append(list[i], solve.MeasuredSpeed(s))
		}
	}
	return list
}

// slippingAt is the slipping at speeds with their signs, nil if the train cannot turn so.
func slippingAt(sys *solve.System, m Readings, r *kinematics.Range, speeds []solve.MeasuredSpeed) *Slipping {
	t := sys.Train
	x := &Slipping{}
	open := t.Applying()
	slips, ok := sys.MeasuredSlips(open, speeds, m.Tolerance)
	if !ok { // something one-way lets go, too
		for i := range open.Modes[:t.ElementCount] {
			open.Modes[i] = kinematics.Open
		}
		if slips, ok = sys.MeasuredSlips(open, speeds, m.Tolerance); !ok {
			return nil
		}
		x.OneWay = true
	}
	slow := speeds[0].Speed.Abs().Mul(m.Tolerance) // less is no slip that can be told
	apart := false
	var rest []int
	for _, e := range r.Apply {
		switch s := sized(e, slips[e]); {
		case t.Couplings[e].Kind == kinematics.Pawl:
		case s.Least.Cmp(s.Most) == 0:
			if s.Least.Frac.Cmp(slow) <= 0 {
				s.Least, s.Most = exact.Finite(exact.Int(0)), exact.Finite(exact.Int(0))
			} else {
				apart = true
			}
			x.Settled = append(x.Settled, s)
		default:
			x.Bounded = append(x.Bounded, s)
			rest = append(rest, e)
		}
	}
	if apart {
		return x
	}
	for _, e := range rest {
		st := open.Clone()
		for _, other := range r.Apply {
			if other != e && t.Couplings[other].Kind != kinematics.OneWay {
				st.Modes[other] = kinematics.Locked
			}
		}
		if slips, ok := sys.MeasuredSlips(st, speeds, m.Tolerance); ok {
			if s := sized(e, slips[e]); s.Least.Cmp(exact.Finite(slow)) > 0 {
				x.Either = append(x.Either, s)
			}
		}
	}
	return x
}

// sized is a slip without its sign.
func sized(e int, i exact.Interval) ElementSlip {
	i = i.Abs()
	return ElementSlip{Element: e, Least: i.Min, Most: i.Max}
}

// merge joins what two sets of directions say: what differs is bounded by both.
func merge(a, b *Slipping) *Slipping {
	switch {
	case a == nil || b != nil && a.OneWay && !b.OneWay:
		return b
	case b == nil || b.OneWay && !a.OneWay:
		return a
	}
	x := &Slipping{OneWay: a.OneWay}
	find := func(list []ElementSlip, e int) *ElementSlip {
		if i := slices.IndexFunc(list, func(s ElementSlip) bool { return s.Element == e }); i >= 0 {
			return &list[i]
		}
		return nil
	}
	for _, s := range slices.Concat(a.Settled, a.Bounded) {
		o := find(slices.Concat(b.Settled, b.Bounded), s.Element)
		if o.Least.Cmp(s.Least) < 0 {
			s.Least = o.Least
		}
		if o.Most.Cmp(s.Most) > 0 {
			s.Most = o.Most
		}
		if s.Least.Cmp(s.Most) == 0 {
			x.Settled = append(x.Settled, s)
		} else {
			x.Bounded = append(x.Bounded, s)
		}
	}
	for _, s := range a.Either {
		if o := find(b.Either, s.Element); o != nil && o.Least.Cmp(s.Least) == 0 && o.Most.Cmp(s.Most) == 0 {
			x.Either = append(x.Either, s)
		}
	}
	return x
}
