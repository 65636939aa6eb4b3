package solve

import (
	"context"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// A Load is what a state carries while one end drives the other, per unit of
// torque at the input.
type Load struct {
	// Coasting says that the output drives: the vehicle pushes and the engine
	// holds back. Otherwise the input drives.
	Coasting bool
	// Motion is the motion at the operating point, per turn of the input. Coasting
	// may have an operating point of its own, at which other one-way clutches hold.
	Motion *Motion
	// Ways are the statically determinate ways to carry the load without losses:
	// several where couplings or meshes share it. The real sharing then depends
	// on clearances and stiffness, and every torque lies between those of the ways.
	// More says that there are more ways than are listed.
	Ways []LoadSplit
	More bool
	// Sharing counts the ways and bounds the torque of every coupling over them,
	// those that are not listed, too.
	Sharing Sharing
	// Lossy are the ways with losses. There are none if Trouble says so.
	Lossy   []LoadSplit
	Trouble LossStatus
	// Loose are members that the load passes though their speed is not fixed: the
	// power through them, and so any loss, is then open.
	Loose []kinematics.MemberID
}

// LossStatus is why there is no answer with losses, or no single one.
type LossStatus uint8

// The troubles.
const (
	NoLossTrouble LossStatus = iota
	// SelfLocking: no direction of power flow agrees with its own losses. What
	// should drive cannot turn the other end, however hard it is driven.
	SelfLocking
	// Ambiguous: more than one direction of power flow agrees, for the same
	// couplings and meshes.
	Ambiguous
	// LooseSpeeds: loaded members have no fixed speed; see Loose.
	LooseSpeeds
	// TooMany: more combinations of directions than can be tried.
	TooMany
)

// A LoadSplit is one statically determinate way to carry a load.
type LoadSplit struct {
	// Equilibrium holds the torque of every coupling. Input is 1 when the input
	// drives, -1 when it holds back.
	Equilibrium
	// Meshes are the gears in engagement, gearset by gearset, loaded or not.
	Meshes []MeshLoad
	// Gears is the torque that all meshes together exert on each member, parallel
	// to Train.Members. Couplings, and what is outside at the input and output,
	// exert the opposite on it.
	Gears []exact.Frac
	// Power is nil if a loaded member has no fixed speed.
	Power *Power
	// Residual is the largest error in the equilibrium of a member with all
	// torques as floats, over the largest torque.
	Residual float64
}

// A MeshLoad is the load of two gears in engagement.
type MeshLoad struct {
	Gearset          int // index into Train.Gearsets
	A, B             kinematics.MemberID
	TorqueA, TorqueB exact.Frac // that the mesh exerts on the gears
	// GivenA and GivenB say whether these torques mean anything: not on a pinion
	// whose teeth are not given, or that only spins, which then stands as if it had
	// one tooth. Rolls means nothing without GivenA.
	GivenA, GivenB bool
	// Rolls is the speed of A as seen from the carrier, Known whether it is fixed.
	Rolls exact.Frac
	Known bool
	Loss  exact.Frac // power lost here, see Power; in a basic train at its driven central gears
}

// Pulling returns what a state carries when the input drives; nil if it does
// not drive.
func (s *System) Pulling(ctx context.Context, st kinematics.State, losses Losses, limit Limit) *Load {
	m := s.Motion(st)
	if !m.Drives() {
		return nil
	}
	return s.load(ctx, m, losses, false, limit)
}

// Coasting returns what a state carries when the vehicle rolls the way the state
// drives it (forward if it does not drive) and turns the input forward against
// its drag; nil if it does not.
func (s *System) Coasting(ctx context.Context, st kinematics.State, losses Losses, limit Limit) *Load {
	m := s.CoastMotion(st)
	if m == nil {
		return nil
	}
	return s.load(ctx, m, losses, true, limit)
}

// CoastMotion is [System.Motion] at the operating point at which the vehicle,
// rolling the way the state drives it (forward if it does not drive), turns the
// input as slowly as it can, per turn of the input; nil if it does not turn it
// forward.
func (s *System) CoastMotion(st kinematics.State) *Motion {
	b := s.basisOf(st.Modes)
	var c polyhedra.BigCone
	b.shadow(&c, st)
	m := &Motion{Outcome: outcome(&c, s.Train.Forward), State: st.Clone()}
	ratio, brakes, _ := m.EngineBraking()
	if !brakes {
		return nil
	}
	m.Groups = b.groups(s.Train, &c)
	in, out := b.member[st.Input], b.member[st.Output]
	m.At.Input, m.At.Output = 1, ratio.Inv()
	c.Zero(difference(out, in, m.At.Output))
	q := b.sample(&c, in, 1)
	m.Members, m.Slips = b.describe(s.Train, &c, in, 1, q)
	m.Residual = b.residual(s.Train, st.Modes, q)
	m.States = s.states(st, m, m.coastsAs)
	return m
}

// coastsAs says whether an outcome coasts as m does.
func (m *Motion) coastsAs(o Outcome) bool {
	ratio, still, _ := o.EngineBraking()
	return still && o.Verdict == m.Verdict && ratio.Cmp(m.At.Output.Inv()) == 0
}

// drivesAs says whether an outcome drives as m does.
func (m *Motion) drivesAs(o Outcome) bool {
	return o.Verdict == m.Verdict && (!o.Drives() || o.OutputSpeed().Cmp(m.OutputSpeed()) == 0)
}

// runsAs says of a state whether it runs as m does.
func (s *System) runsAs(m *Motion, coasting bool) func(kinematics.State) bool {
	k := s.Kernel()
	return func(st kinematics.State) bool {
		if coasting {
			return m.coastsAs(k.Outcome(st))
		}
		return m.drivesAs(k.Outcome(st))
	}
}

// load finds the ways to carry a unit of torque at the operating point of m.
func (s *System) load(ctx context.Context, m *Motion, losses Losses, coasting bool, limit Limit) *Load {
	st := m.State.Clone()
	for i, state := range m.States {
		if state == StateOverrunning || state == StateFree {
			st.Modes[i] = kinematics.Open
		}
	}
	input := int64(1)
	if coasting {
		input = -1
	}
	b := newFreeBodies(s.Train, st, input)
	r := rolls(b.contacts, m)
	l := &Load{Coasting: coasting, Motion: m}

	none := make([]factors, len(b.contacts))
	for i := range none {
		none[i] = factors{exact.NewFrac(1, 1), exact.NewFrac(1, 1)}
	}
	use := slices.Repeat([]bool{true}, len(b.contacts))
	loose := make([]bool, len(s.Train.Members))
	bound := func() search {
		return search{budget: &polyhedra.Budget{Work: limit.Work, Done: ctx.Done()}, count: limit.Count}
	}
	q := query{st: st, input: int(input), outputFree: true}
	ways, all := b.solve(none, use, bound())
	if len(ways) == 0 && !all && ctx.Err() == nil {
		b = newFreeBodies(s.Train, s.bare(q, s.runsAs(m, coasting)).st, input)
		ways, _ = b.solve(none, use, search{count: 1})
	}
	for i := range ways {
		w := b.way(&ways[i], none, r)
		b.loose(&w, m, loose)
		l.Ways = append(l.Ways, w)
	}
	l.More = !all
	l.Sharing = s.sharing(ctx, q, limit)
	for id, is := range loose {
		if is {
			l.Loose = append(l.Loose, kinematics.MemberID(id))
		}
	}
	if l.Loose != nil {
		l.Trouble = LooseSpeeds
		return l
	}
	for i := range l.Ways {
		l.Ways[i].Power = b.power(&l.Ways[i], m)
	}

	list, all, ok := b.withLosses(&losses, ways, r, m.At.Output, bound())
	if !ok {
		l.Trouble = TooMany
		return l
	}
	l.More = l.More || !all
	for _, x := range list {
		w := b.way(&x.loading, x.loss, r)
		w.Power = b.power(&w, m)
		l.Lossy = append(l.Lossy, w)
	}
	switch {
	case len(list) == 0:
		l.Trouble = SelfLocking
	case ambiguous(l.Lossy):
		l.Trouble = Ambiguous
	}
	return l
}

// way describes a loading. Its power is not found yet.
func (b *freeBodies) way(x *loading, loss []factors, r []roll) LoadSplit {
	w := LoadSplit{Gears: b.memberTorques(x, loss)}
	w.Input, w.Output = exact.NewFrac(b.input, 1), x.output
	w.Torque = b.splines(x, w.Gears)
	for i, t := range w.Torque {
		if t.Sign() != 0 {
			w.Carry = append(w.Carry, i)
		}
	}
	for i := range b.contacts {
		c := &b.contacts[i]
		ml := MeshLoad{Gearset: c.gearset, A: c.a, B: c.b, GivenA: c.given || c.central, GivenB: c.given,
			Known: r[i].known, Loss: exact.NewFrac(0, 1)}
		ml.TorqueA, ml.TorqueB = c.torques(x.contact[i], loss[i])
		if r[i].known {
			ml.Rolls = r[i].a
			ml.Loss = ml.TorqueA.Mul(r[i].a).Add(ml.TorqueB.Mul(r[i].b)).Neg()
		}
		w.Meshes = append(w.Meshes, ml)
	}
	w.Residual = b.residual(&w)
	return w
}

// loose marks the members that a way loads though m leaves their speed open.
func (b *freeBodies) loose(w *LoadSplit, m *Motion, mark []bool) {
	open := func(id kinematics.MemberID) {
		if _, one := m.Members[id].Point(); !one && !b.t.Members[id].Unknown {
			mark[id] = true
		}
	}
	for id, t := range w.Gears {
		if t.Sign() != 0 {
			open(kinematics.MemberID(id))
		}
	}
	for i := range w.Meshes {
		if ml := &w.Meshes[i]; ml.TorqueA.Sign() != 0 && !ml.Known {
			open(b.contacts[i].a)
			open(b.contacts[i].carrier)
		}
	}
	for _, i := range w.Carry {
		open(b.t.Couplings[i].A)
		open(b.t.Couplings[i].B)
	}
}

// ambiguous says whether two ways load the same couplings and meshes.
func ambiguous(ways []LoadSplit) bool {
	for i := range ways {
		for j := range i {
			if within(ways[i].Torque, ways[j].Torque) && within(ways[j].Torque, ways[i].Torque) &&
				sameMeshes(&ways[i], &ways[j]) {
				return true
			}
		}
	}
	return false
}

func sameMeshes(v, w *LoadSplit) bool {
	for i := range v.Meshes {
		if (v.Meshes[i].TorqueA.Sign() == 0) != (w.Meshes[i].TorqueA.Sign() == 0) {
			return false
		}
	}
	return true
}

// Hold is what a one-way clutch does under a load.
type Hold uint8

// What a one-way clutch does.
const (
	Overrun Hold = iota // slips the free way, or is free to
	Idles               // does not slip and carries nothing
	MayHold             // shares the load with others, or leaves it to them
	Holds               // carries in every way to share the load
)

// OneWay says what the one-way clutch with index i does.
func (l *Load) OneWay(i int) Hold {
	if s := l.Motion.States[i]; s == StateOverrunning || s == StateFree || s == StateOpen {
		return Overrun
	}
	switch torque := l.Sharing.Torque[i]; {
	case torque.IsZero():
		return Idles
	case !torque.HasZero():
		return Holds
	}
	return MayHold
}
