// Package wear says what a fault does to every part of a train: how fast it slips,
// what torque it carries and what heat it takes in motions that are stated. It tells
// what burns because of a fault from what is at fault itself.
//
// The motions are those of [solve.System.Standing] and [solve.System.Rolling]: what
// slips is of least dissipation, torques balance it, and heat is torque times slip. A
// one-way clutch, a dog, the pawl and a joint do not slip while they hold: their torque
// is compared with the largest one that the healthy ranges put on them.
package wear

import (
	"math/big"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Kind is a way in which a train is forced to move.
type Kind uint8

// The kinds.
const (
	Pulling         Kind = iota // the input turned, the wheels free
	Loading                     // the input turned against a load that is just large enough to make it slip
	Stalling                    // the input turned, the wheels held
	RollingForward              // the vehicle rolled, with closed throttle
	RollingBackward             // the same backward
)

var kindWords = [...]string{"pulling", "loading", "stalling", "rolling-forward", "rolling-backward"}

// String names the kind.
func (k Kind) String() string { return kindWords[k] }

// MarshalText writes the name.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// Standing says whether the input is turned, else the output.
func (k Kind) Standing() bool { return k <= Stalling }

// A Motion is a forced motion of a range in which something takes heat. Torques are on
// the scale of the ratings, speeds are turns per turn of the end that is moved, and heat
// is the product of the two.
type Motion struct {
	Range *kinematics.Range
	Kind  Kind
	Needs exact.Frac // torque at the end that is moved
	// Happens says that the torque available does it; rolling, the road does.
	Happens bool
	Loads   []Load // parallel to Train.Couplings
	// AtLeast says that what would slip, in it or in the same motion of the sound train, can
	// hold more than its rating: the heat of no part is known, and Loads is nil.
	AtLeast bool
}

// A Load is what one coupling does in a motion. Where several motions cost as little,
// it is what they can be.
type Load struct {
	Slip, Heat exact.Interval // sizes
	Torque     exact.Frac     // size; one way to share the load where there are several
}

// A Query is what is asked of a range.
type Query struct {
	Ratings   []solve.Rating
	Available exact.Frac // input torque
}

// Motions returns the motions of a range under faults in which a part takes more heat
// than it does when all is sound. Heat that a sound train would only take with more than
// the torque available does not count against one that takes it with that.
func Motions(sys *solve.System, r *kinematics.Range, faults []kinematics.Fault, q Query) ([]Motion, error) {
	if len(kinematics.Acting(faults, r)) == 0 {
		return nil, nil
	}
	healthy, err := forced(sys, r, nil, q)
	if err != nil {
		return nil, err
	}
	faulty, err := forced(sys, r, faults, q)
	if err != nil {
		return nil, err
	}
	for k := range faulty {
		m := &faulty[k]
		if m.AtLeast || m.Whole().Sign() > 0 && slices.ContainsFunc(healthy, func(h Motion) bool {
			return h.Kind == m.Kind && h.AtLeast
		}) {
			m.AtLeast, m.Loads = true, nil
		}
	}
	return slices.DeleteFunc(faulty, func(m Motion) bool {
		if m.AtLeast {
			return false
		}
		i := slices.IndexFunc(healthy, func(h Motion) bool { return h.Kind == m.Kind && (h.Happens || !m.Happens) })
		for c, l := range m.Loads {
			sound := exact.Finite(exact.Int(0))
			if i >= 0 {
				sound = healthy[i].Loads[c].Heat.Max
			}
			if l.Heat.Max.Cmp(sound) > 0 {
				return false
			}
		}
		return true
	}), nil
}

// forced returns all motions of a range.
func forced(sys *solve.System, r *kinematics.Range, faults []kinematics.Fault, q Query) ([]Motion, error) {
	g, err := sys.Capacities(r, faults, q.Ratings)
	if err != nil {
		return nil, err
	}
	var list []Motion
	add := func(kind Kind, m *solve.Mechanism) {
		if m.End != solve.Moves {
			return
		}
		list = append(list, Motion{
			Range: r, Kind: kind, Needs: m.Torque, Happens: !kind.Standing() || m.Torque.Cmp(q.Available) <= 0,
			Loads: loads(g, m), AtLeast: m.AtLeast,
		})
	}
	add(Pulling, sys.Standing(g, exact.Int(0)))
	if kind, m := loaded(sys, g, q.Available); m != nil {
		add(kind, m)
	}
	add(RollingForward, sys.Rolling(g, true, exact.Int(0)))
	add(RollingBackward, sys.Rolling(g, false, exact.Int(0)))
	return list, nil
}

// loaded turns the input against a load that the torque available just moves, or does not
// move any more: the output then turns slowly, or is held. It is nil where no load that
// it reaches makes a difference.
func loaded(sys *solve.System, g *solve.Capacities, available exact.Frac) (Kind, *solve.Mechanism) {
	chain := sys.Stretches(g)
	last := 0
	for i, s := range chain {
		if s.Torque.Cmp(available) <= 0 {
			last = i
		}
	}
	if last == 0 {
		return 0, nil
	}
	little := available.Mul(exact.NewFrac(1, 1000))
	m := sys.Standing(g, chain[last].From.Frac.Add(little))
	if slices.ContainsFunc(m.Optima, func(x solve.MechanismMotion) bool { return x.Output.Sign() != 0 }) {
		return Loading, m
	}
	return Stalling, m
}

func loads(g *solve.Capacities, m *solve.Mechanism) []Load {
	list := make([]Load, len(g.Capacity))
	for i := range list {
		list[i].Torque = exact.Int(0)
		if i < len(m.Dual) {
			list[i].Torque = m.Dual[i].Abs()
		}
		list[i].Slip, list[i].Heat = exact.None, exact.None
		for _, x := range m.Optima {
			slip, heat := x.Slip[i].Abs(), exact.Int(0)
			if g.Capacity[i] != nil {
				heat = exact.FromRat(new(big.Rat).Set(g.Capacity[i])).Mul(slip)
			}
			list[i].Slip, list[i].Heat = list[i].Slip.Include(slip), list[i].Heat.Include(heat)
		}
	}
	return list
}

// Whole is the most heat that all parts together take.
func (m *Motion) Whole() exact.Frac {
	sum := exact.Int(0)
	for _, l := range m.Loads {
		sum = sum.Add(l.Heat.Max.Frac)
	}
	return sum
}
