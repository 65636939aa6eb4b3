package solve

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// Losses say what the gears lose while they roll under load. Gears that turn
// with their carrier as one lose nothing; bearings, churning and the drag of
// released clutches are not counted.
type Losses struct {
	// External, Internal and Chain are efficiencies of one mesh: what the driven
	// gear gets, of what the driving one gives, as seen from the carrier.
	External, Internal, Chain exact.Frac
	// Basic are efficiencies of whole gearsets with the carrier held, parallel to
	// Train.Gearsets: what the driven central gears get of what the driving ones
	// give, as seen from the carrier. Where it is not nil it is used in place of
	// those of the meshes.
	Basic []exact.Frac
}

// NoLosses are efficiencies of 1.
func NoLosses() Losses {
	one := exact.NewFrac(1, 1)
	return Losses{External: one, Internal: one, Chain: one}
}

// DefaultLosses are 0.985 for an external mesh or a chain and 0.99 for an
// internal mesh: assumptions, of the size that is usual for ground and well
// lubricated gears (common practice, no source).
func DefaultLosses() Losses {
	return Losses{External: exact.NewFrac(197, 200), Internal: exact.NewFrac(99, 100), Chain: exact.NewFrac(197, 200)}
}

// of returns the efficiency that counts for contact c.
func (l *Losses) of(c *contact) exact.Frac {
	switch {
	case l.Basic != nil:
		return l.Basic[c.gearset]
	case c.kind == kinematics.Internal:
		return l.Internal
	case c.kind == kinematics.Chain:
		return l.Chain
	}
	return l.External
}

// mostDirections is how many combinations of directions of power flow are tried.
const mostDirections = 4096

// A flow is a choice of the direction of power through every contact, as seen
// from its carrier: 1 if gear a drives, -1 if gear b does, 0 where it does not
// matter.
type flow []int8

// directions calls yield with every flow that the pinions allow: the loaded
// contacts of a pinion that is loaded by nothing else cannot all drive it nor
// all be driven by it, and so the central gears of a set with such pinions. It
// returns false if there are more than can be tried.
func (b *freeBodies) directions(l *Losses, loaded []bool, r []roll, yield func(flow)) bool {
	one := exact.NewFrac(1, 1)
	var open []int // contacts whose direction matters
	for i := range b.contacts {
		c := &b.contacts[i]
		if loaded[i] && r[i].a.Sign() != 0 && l.of(c).Cmp(one) != 0 && (l.Basic == nil || c.central || !c.onPinion(b.t)) {
			open = append(open, i)
		}
	}
	groups := b.tied(l, loaded, open)
	f, count := make(flow, len(b.contacts)), 0
	var choose func(k int) bool
	choose = func(k int) bool {
		if k == len(open) {
			if count++; count > mostDirections {
				return false
			}
			yield(slices.Clone(f))
			return true
		}
		for _, d := range []int8{1, -1} {
			f[open[k]] = d
			if b.possible(f, groups, open[k]) && !choose(k+1) {
				return false
			}
		}
		return true
	}
	return choose(0)
}

// onPinion says whether either gear is a pinion.
func (c *contact) onPinion(t *kinematics.Train) bool {
	return t.Members[c.a].Kind == kinematics.PinionMember || t.Members[c.b].Kind == kinematics.PinionMember
}

// A tie is a set of contacts through which power can only pass: what some of
// them give the others take. into says which way round each is.
type tie struct {
	contacts []int
	into     []int8 // the direction that gives power to the middle
}

// tied finds the ties among the contacts whose direction is open.
func (b *freeBodies) tied(l *Losses, loaded []bool, open []int) []tie {
	var ties []tie
	free := map[kinematics.MemberID]bool{}
	for m := range b.t.Members {
		free[kinematics.MemberID(m)] = b.isFreePinion(kinematics.MemberID(m))
	}
	if l.Basic != nil {
		for g := range b.t.Gearsets {
			set := &b.t.Gearsets[g]
			if len(set.Pinions) == 0 || slices.ContainsFunc(set.Pinions, func(p kinematics.Pinion) bool { return !free[p.Member] }) {
				continue
			}
			var t tie
			for _, i := range open {
				if b.contacts[i].gearset == g {
					t.contacts, t.into = append(t.contacts, i), append(t.into, 1)
				}
			}
			ties = append(ties, t)
		}
		return ties
	}
	for m := range b.t.Members {
		id := kinematics.MemberID(m)
		if !free[id] {
			continue
		}
		var t tie
		for i := range b.contacts {
			c := &b.contacts[i]
			if !loaded[i] || c.a != id && c.b != id {
				continue
			}
			if !slices.Contains(open, i) {
				t.contacts = nil // a contact without loss may go either way
				break
			}
			into := int8(1)
			if c.a == id {
				into = -1
			}
			t.contacts, t.into = append(t.contacts, i), append(t.into, into)
		}
		ties = append(ties, t)
	}
	return ties
}

// isFreePinion says whether a pinion is loaded by nothing but the contacts of
// its own gearset.
func (b *freeBodies) isFreePinion(m kinematics.MemberID) bool {
	if b.t.Members[m].Kind != kinematics.PinionMember || b.body[m] != m || m == b.st.Input || m == b.st.Output {
		return false
	}
	for i := range b.contacts {
		if c := &b.contacts[i]; c.carrier == m || (c.a == m || c.b == m) && c.gearset != b.t.Members[m].Gearset {
			return false
		}
	}
	for _, i := range b.couplings {
		if c := &b.t.Couplings[i]; c.A == m || c.B == m {
			return false
		}
	}
	return true
}

// possible says whether the ties whose last contact is last leave f possible.
func (b *freeBodies) possible(f flow, ties []tie, last int) bool {
	for _, t := range ties {
		if len(t.contacts) == 0 || t.contacts[len(t.contacts)-1] != last {
			continue
		}
		in, out := false, false
		for k, i := range t.contacts {
			if f[i] == t.into[k] {
				in = true
			} else {
				out = true
			}
		}
		if !in || !out {
			return false
		}
	}
	return true
}

// factors returns the loss factors of a flow: the driven gear gets the
// efficiency. In a basic train that is a driven central gear only.
func (b *freeBodies) factors(l *Losses, f flow) []factors {
	one := exact.NewFrac(1, 1)
	list := make([]factors, len(b.contacts))
	for i := range b.contacts {
		c := &b.contacts[i]
		list[i] = factors{one, one}
		switch {
		case f[i] < 0:
			list[i].a = l.of(c)
		case f[i] > 0 && (l.Basic == nil || !c.central):
			list[i].b = l.of(c)
		}
	}
	return list
}

// agrees says whether a loading sends power the way the flow says through every
// contact that rolls, and loads only contacts that it has a direction for.
func (b *freeBodies) agrees(x *loading, f flow, loss []factors, known []bool, r []roll) bool {
	for i := range b.contacts {
		c := &b.contacts[i]
		if x.contact[i].Sign() == 0 || r[i].known && r[i].a.Sign() == 0 {
			continue
		}
		if !known[i] {
			return false
		}
		ta, _ := c.torques(x.contact[i], loss[i])
		// The mesh takes power from gear a where it pushes against its motion.
		if drives := -ta.Sign() * r[i].a.Sign(); f[i] != 0 && drives != int(f[i]) {
			return false
		}
	}
	return true
}

// A lossy loading is one with the factors that belong to it.
type lossy struct {
	loading
	loss []factors
}

// withLosses finds every loading whose own directions of power flow agree with
// its losses and whose efficiency is above 0 and at most 1. Where they agree no
// mesh gains power, so that it is at most 1; but it can be below 0, with power
// drawn in at both ends. speed is the output speed per turn of the input.
func (b *freeBodies) withLosses(l *Losses, loaded []bool, r []roll, speed exact.Frac) (list []lossy, ok bool) {
	seen := map[string]bool{}
	ok = b.directions(l, loaded, r, func(f flow) {
		loss := b.factors(l, f)
		for _, x := range b.solve(loss) {
			if !b.agrees(&x, f, loss, loaded, r) || !b.efficient(&x, speed) || seen[x.key()] {
				continue
			}
			seen[x.key()] = true
			list = append(list, lossy{x, loss})
		}
	})
	return list, ok
}

// efficient says whether a loading has an efficiency above 0 and at most 1.
func (b *freeBodies) efficient(x *loading, speed exact.Frac) bool {
	e := b.efficiency(x, speed)
	return e.Sign() > 0 && e.Cmp(exact.NewFrac(1, 1)) <= 0
}

// efficiency returns power out / power in; 0 if the output takes no power, or
// the end that should drive does not.
func (b *freeBodies) efficiency(x *loading, speed exact.Frac) exact.Frac {
	input, output := exact.NewFrac(b.input, 1), x.output.Mul(speed) // powers into the train
	if b.input < 0 {
		input, output = output, input
	}
	if input.Sign() <= 0 || output.Sign() >= 0 {
		return exact.NewFrac(0, 1)
	}
	return output.Neg().Mul(input.Inv())
}

// key tells loadings apart.
func (x *loading) key() string {
	var s []byte
	for _, list := range [][]exact.Frac{x.contact, x.torque} {
		for _, f := range list {
			s = append(append(s, f.String()...), ' ')
		}
	}
	return string(s)
}

// OverallLosses returns the basic efficiency, the same for every gearset, with
// which a state that drives has the given overall efficiency: many textbooks
// state only that. ok is false if there is none: nothing rolls, or the train locks itself
// before it gets so bad.
func (s *System) OverallLosses(st kinematics.State, overall exact.Frac) (losses Losses, ok bool) {
	const parts = 1_000_000_000_000
	basic := func(n int64) Losses {
		l := NoLosses()
		for range s.Train.Gearsets {
			l.Basic = append(l.Basic, exact.NewFrac(n, parts))
		}
		return l
	}
	efficiency := func(n int64) exact.Frac {
		best := exact.NewFrac(0, 1)
		if load := s.Pulling(st, basic(n)); load != nil {
			for i := range load.Lossy {
				if e := load.Lossy[i].Power.Efficiency; e.Cmp(best) > 0 {
					best = e
				}
			}
		}
		return best
	}
	// It grows with the basic efficiency: halve the interval.
	low, high := int64(1), int64(parts)
	for high-low > 1 {
		if middle := low + (high-low)/2; efficiency(middle).Cmp(overall) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
	if efficiency(high).Sub(overall).Abs().Cmp(exact.NewFrac(1, 1_000_000_000)) > 0 {
		return Losses{}, false
	}
	return basic(high), true
}
