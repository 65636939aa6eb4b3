package shift

import (
	"context"
	"math/big"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Hole says how the output torque changes while the on-coming elements take up
// torque and the off-going ones still hold, so that the speeds are those of the
// first range. Torques are per unit input torque, the output's positive along the
// way of the vehicle.
//
// By virtual power on the motion of the first range, with ratio i and slips s of
// the on-coming elements, whose torques x grow from 0,
//
//	output torque = i (1 - sum x |s|)
//
// whatever else holds. Where the slip turns each on-coming torque the way the second
// range asks for, there is a handover: at the torques of that range nothing is left
// on the off-going elements, and the output has the torque of the second range while
// the speeds are still those of the first. From there on the off-going ones are in
// the way. Where the slip turns them the other way there is none: the on-coming
// elements only brake until the off-going ones let go, as in a shift down under power.
type Hole struct {
	// OnComing are the elements that take up torque and Torque what each of them
	// carries in the second range; the torques grow in this proportion.
	OnComing []int
	Torque   []exact.Frac
	// From is the output torque at first. Handover is that at the handover, if
	// HandsOver.
	From, Handover exact.Frac
	HandsOver      bool
	// LetsGo says that the torque is handed over by one-way clutches, which let go
	// by themselves at the handover.
	LetsGo bool
	// Full is the output torque when one of the on-coming elements carries its
	// rating at the rated input torque; FullTorque is what they then carry. Rated
	// says that the ratings are known.
	Full       exact.Frac
	FullTorque []exact.Frac
	Rated      bool
	// Least is the least of all these that can be reached.
	Least exact.Frac
}

// hole finds the torque hole of a shift, nil where none is defined: at a
// standstill, where no on-coming element carries torque, or none slips.
func (f *Predictor) hole(ctx context.Context, s *Shift, first kinematics.State) *Hole {
	if s.Standing || !s.First.Outcome.Drives() || !s.Second.Outcome.Drives() {
		return nil
	}
	all := uint64(1)<<len(s.Changes) - 1
	a, b := f.sys.Motion(first), f.sys.Motion(s.at(first, all))
	h := &Hole{Rated: true}
	ways, _ := f.sys.Carrying(ctx, b, solve.Usual)
	if len(ways) == 0 {
		return nil // the search was cut before the first
	}
	carried := mostLoaded(ways, s)
	grip := &solve.Capacities{State: first.Clone(), Capacity: make([]*big.Rat, len(first.Modes))}
	for _, c := range s.Changes {
		if !c.OnComing() || !s.Train.Couplings[c.Coupling].Kind.Friction() || !carried.Carries(c.Coupling) {
			continue
		}
		t := carried.Torque[c.Coupling].Abs()
		h.OnComing, h.Torque = append(h.OnComing, c.Coupling), append(h.Torque, t)
		grip.State.Modes[c.Coupling] = kinematics.Locked
		grip.Capacity[c.Coupling] = t.Rat()
	}
	if h.OnComing == nil {
		return nil
	}
	// The off-going ones hold: one-way clutches, too.
	for i, state := range a.States {
		if state == solve.StateHolding {
			grip.State.Modes[i] = kinematics.Locked
		}
	}
	k := f.sys.Standing(grip, exact.NewFrac(0, 1))
	if k.End != solve.Moves || k.Torque.Sign() == 0 {
		return nil
	}
	from, _ := s.First.Outcome.Ratio()
	to, _ := s.Second.Outcome.Ratio()
	h.From, h.Handover = from.Abs(), to.Abs()
	at := func(share exact.Frac) exact.Frac {
		return h.From.Mul(exact.NewFrac(1, 1).Sub(share.Mul(k.Torque)))
	}
	h.HandsOver = at(exact.NewFrac(1, 1)).Cmp(h.Handover) == 0
	h.LetsGo = h.HandsOver && f.letsGo(ctx, s, a, b)
	h.full(f, at)

	h.Least = h.From
	least := func(x exact.Frac) {
		if x.Cmp(h.Least) < 0 {
			h.Least = x
		}
	}
	if h.HandsOver {
		least(h.Handover)
	}
	if h.Rated && !h.LetsGo {
		least(h.Full)
	}
	return h
}

// full finds what is left when an on-coming element carries its rating.
func (h *Hole) full(f *Predictor, at func(exact.Frac) exact.Frac) {
	scale := solve.ScaleOf(f.sys.Train)
	if scale.Rated.Sign() == 0 {
		h.Rated = false
		return
	}
	ratings := solve.Certain(f.sys.Ratings(scale, solve.DefaultReserve(), nil))
	var share exact.Frac
	for k, i := range h.OnComing {
		if !ratings[i].Known() {
			h.Rated = false
			return
		}
		x := ratings[i].Torque.Mul(scale.Rated.Inv()).Mul(h.Torque[k].Inv())
		if k == 0 || x.Cmp(share) < 0 {
			share = x
		}
	}
	h.Full = at(share)
	h.FullTorque = kinematics.Map(h.Torque, func(t exact.Frac) exact.Frac { return t.Mul(share) })
}

// mostLoaded returns the way to carry the load of the second range that loads the
// most on-coming elements.
func mostLoaded(ways []solve.Equilibrium, s *Shift) *solve.Equilibrium {
	best, most := &ways[0], -1
	for i := range ways {
		n := 0
		for _, c := range s.Changes {
			if c.OnComing() && ways[i].Carries(c.Coupling) {
				n++
			}
		}
		if n > most {
			best, most = &ways[i], n
		}
	}
	return best
}

// letsGo says whether all that carries torque in the first range and none in the
// second is one-way clutches.
func (f *Predictor) letsGo(ctx context.Context, s *Shift, a, b *solve.Motion) bool {
	carry := func(m *solve.Motion) (list []int) {
		for i, torque := range f.sys.Sharing(ctx, m, solve.Usual).Torque {
			if !torque.IsZero() {
				list = append(list, i)
			}
		}
		return list
	}
	after := carry(b)
	unloaded := false
	for _, i := range carry(a) {
		if slices.Contains(after, i) || i >= s.Train.ElementCount {
			continue
		}
		if s.Train.Couplings[i].Kind != kinematics.OneWay {
			return false
		}
		unloaded = true
	}
	return unloaded
}

// Note says in words what the hole comes to.
func (h *Hole) Note() string {
	switch {
	case h.LetsGo:
		return "a one-way clutch hands over by itself"
	case !h.HandsOver && h.Rated:
		return "no handover: the on-coming only brakes until the off-going lets go"
	case !h.HandsOver:
		return "no handover: the on-coming only brakes"
	case h.Rated && h.Least.Sign() < 0:
		return "held on too long, the wheels are braked"
	}
	return ""
}
