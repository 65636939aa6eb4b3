package reading

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Path is one statically determinate way in which a driving state carries
// power from its input to its output.
type Path struct {
	train *kinematics.Train
	// Steps lead from the input to the output, each after those that feed it;
	// gearsets that stand still under load come last.
	Steps []Step
	// Reaction are the loaded elements between members at rest: what holds the
	// train against the housing.
	Reaction []int
	// Supports say which members are held so, and by what.
	Supports []Support
	// Bears are the gearsets that push against the housing themselves: gear
	// pairs whose bearings are in it.
	Bears []int
	// Loaded are all couplings that carry torque, elements first.
	Loaded []int
	// Idle are the gearsets that carry no load: they are along for the ride.
	Idle []int
	// Torques are what gears and carriers feel from outside their gearset, per unit of
	// input torque; members without are left out.
	Torques []MemberTorque
}

// A MemberTorque is the torque on a member per unit of input torque, positive in the
// sense in which the input turns.
type MemberTorque struct {
	Member kinematics.MemberID
	Torque exact.Frac
}

// A Step passes power on: through a coupling or joint, or through a gearset.
type Step struct {
	train    *kinematics.Train
	Gearset  int // index into Train.Gearsets, or -1
	Joint    int // index into Train.Joints, or -1
	Coupling int // index of an element, or -1
	// From feeds power into the step, To takes it out. Held are members of a
	// gearset that are loaded and at rest.
	From, To, Held []kinematics.MemberID
	// Back is the index of an earlier step to which this one returns power, so
	// that it circulates; -1 if it does not.
	Back int
}

// Stands says whether the step is a gearset that only passes on a reaction.
func (s *Step) Stands() bool { return len(s.From)+len(s.To) == 0 }

// A Support is how members at rest are held.
type Support struct {
	train   *kinematics.Train
	Members []kinematics.MemberID
	By      []int // elements
	Fixed   bool  // joined to the housing for good
	Through []int // gearsets at rest that the hold passes through
}

// same says whether two supports hold by the same.
func (s *Support) same(o *Support) bool {
	return s.Fixed == o.Fixed && slices.Equal(s.By, o.By) && slices.Equal(s.Through, o.Through)
}

// newPath orders what carries the load of an equilibrium. Power enters a body
// where torque and speed agree in sign.
func newPath(sys *solve.System, m *solve.Motion, eq *solve.Equilibrium) Path {
	p := Path{train: sys.Train, Loaded: eq.Carry}
	b := pathBuilder{t: sys.Train, m: m, eq: eq, p: &p}
	b.couplings()
	b.gearsets()
	p.Steps = orderSteps(m.State.Input, m.State.Output, b.steps)
	b.supports()
	return p
}

type pathBuilder struct {
	t     *kinematics.Train
	m     *solve.Motion
	eq    *solve.Equilibrium
	p     *Path
	steps []Step
}

// speed is the sense in which a member turns.
func (b *pathBuilder) speed(id kinematics.MemberID) int { return b.m.Members[id].Min.Sign() }

func (b *pathBuilder) add(s Step) { b.steps = append(b.steps, s) }

// couplings makes a step of every loaded element and joint that turns, and
// notes the elements that hold what is at rest.
func (b *pathBuilder) couplings() {
	joints := make([]Step, len(b.t.Joints))
	for i := range joints {
		joints[i] = Step{train: b.t, Gearset: -1, Joint: i, Coupling: -1, Back: -1}
	}
	for _, i := range b.eq.Carry {
		c := &b.t.Couplings[i]
		if b.speed(c.A) == 0 && b.speed(c.B) == 0 {
			if c.Kind != kinematics.Spline {
				b.p.Reaction = append(b.p.Reaction, i)
			}
			continue
		}
		// The coupling pushes A with its torque: it feeds A when that is along
		// A's speed.
		feedsA := b.eq.Torque[i].Sign()*b.speed(c.A) > 0
		if c.Kind == kinematics.Spline {
			if s := &joints[c.Joint]; feedsA {
				s.To = append(s.To, c.A)
			} else {
				s.From = append(s.From, c.A)
			}
			continue
		}
		s := Step{train: b.t, Gearset: -1, Joint: -1, Coupling: i, Back: -1, From: []kinematics.MemberID{c.A},
			To: []kinematics.MemberID{c.B}}
		if feedsA {
			s.From, s.To = s.To, s.From
		}
		b.add(s)
	}
	for _, s := range joints {
		if !s.Stands() {
			b.add(s)
		}
	}
}

// gearsets makes a step of every loaded gearset and notes the idle ones.
func (b *pathBuilder) gearsets() {
	for g, torques := range setTorques(b.t, b.m.State, b.eq) {
		s := Step{train: b.t, Gearset: g, Joint: -1, Coupling: -1, Back: -1}
		bears := false
		for m, torque := range torques {
			id := kinematics.MemberID(m)
			if torque.Sign() != 0 && id != kinematics.Housing {
				b.p.Torques = append(b.p.Torques, MemberTorque{id, torque.Neg()})
			}
			switch sense := torque.Sign(); {
			case sense == 0:
			case id == kinematics.Housing:
				bears = true
			case b.speed(id) == 0:
				s.Held = append(s.Held, id)
			case sense == b.speed(id): // the gearset pushes the member along: power leaves the set
				s.To = append(s.To, id)
			default:
				s.From = append(s.From, id)
			}
		}
		switch {
		case len(s.From)+len(s.To)+len(s.Held) > 0:
			b.add(s)
			if bears {
				b.p.Bears = append(b.p.Bears, g)
			}
		case b.t.Gearsets[g].Planetary():
			b.p.Idle = append(b.p.Idle, g)
		}
	}
}

// setTorques returns the torques that each gearset exerts on every member, per
// unit input torque. A gear or carrier is pushed by its own set with what its
// couplings leave; the carrier of a gear pair, which may be any member or the
// housing, with what balances the two gears.
func setTorques(t *kinematics.Train, st kinematics.State, eq *solve.Equilibrium) [][]exact.Frac {
	rest := make([]exact.Frac, len(t.Members))
	for m := range rest {
		rest[m] = exact.NewFrac(0, 1)
	}
	rest[st.Input] = rest[st.Input].Sub(eq.Input)
	rest[st.Output] = rest[st.Output].Sub(eq.Output)
	for _, i := range eq.Carry {
		c := &t.Couplings[i]
		rest[c.A] = rest[c.A].Sub(eq.Torque[i])
		rest[c.B] = rest[c.B].Add(eq.Torque[i])
	}
	sets := make([][]exact.Frac, len(t.Gearsets))
	for g := range sets {
		sets[g] = make([]exact.Frac, len(t.Members))
		for m := range sets[g] {
			sets[g][m] = exact.NewFrac(0, 1)
		}
	}
	// A pair comes behind those that it carries; two cannot carry each other.
	done := make([]bool, len(t.Gearsets))
	var pair func(g int)
	pair = func(g int) {
		set := &t.Gearsets[g]
		if done[g] || set.Planetary() {
			return
		}
		done[g] = true
		for h := range t.Gearsets {
			if t.Members[t.Gearsets[h].Carrier].Gearset == g {
				pair(h)
			}
		}
		for _, gear := range set.Gears {
			torque := rest[gear.Member]
			sets[g][gear.Member] = torque
			sets[g][set.Carrier] = sets[g][set.Carrier].Sub(torque)
			rest[set.Carrier] = rest[set.Carrier].Add(torque)
		}
	}
	for g := range t.Gearsets {
		pair(g)
	}
	for m := range t.Members {
		if g := t.Members[m].Gearset; g >= 0 && t.Gearsets[g].Planetary() {
			sets[g][m] = rest[m]
		}
	}
	return sets
}

// GearsetTorques sums the tooth loads of a gearset into the torques that it
// exerts on its central gears and carrier, and on any pinion left with one
// (because it is coupled to something else). Torques are per unit input torque.
func GearsetTorques(t *kinematics.Train, g int, loads []exact.Frac) (
	torques []exact.Frac, members []kinematics.MemberID,
) {
	sum := map[kinematics.MemberID]exact.Frac{}
	add := func(id kinematics.MemberID, z int64, load exact.Frac) {
		if _, seen := sum[id]; !seen {
			members = append(members, id)
			sum[id] = exact.NewFrac(0, 1)
		}
		sum[id] = sum[id].Add(load.Mul(exact.NewFrac(z, 1)))
	}
	for _, i := range t.Gearsets[g].Meshes {
		mesh := &t.Meshes[i]
		za, zb := mesh.ZA, mesh.Kind.Sign()*mesh.ZB
		add(mesh.A, za, loads[i])
		add(mesh.B, zb, loads[i])
		add(mesh.Carrier, -za-zb, loads[i])
	}
	for _, id := range members {
		torques = append(torques, sum[id])
	}
	return torques, members
}

// orderSteps puts steps behind what feeds them, starting at the input and
// following each branch as far as it goes. Where power runs in a circle, a step
// that is fed in part comes first, and the one that closes the circle is told so.
func orderSteps(input, output kinematics.MemberID, steps []Step) []Step {
	fed := map[kinematics.MemberID]bool{input: true}
	waits := map[kinematics.MemberID]int{} // members that a placed step takes power from before it is fed, and which step
	isFed := func(m kinematics.MemberID) bool { return fed[m] }
	isNot := func(m kinematics.MemberID) bool { return !fed[m] }
	var order []Step
	var latest []kinematics.MemberID
	for len(steps) > 0 {
		ready := func(s Step) bool { return !s.Stands() && !slices.ContainsFunc(s.From, isNot) }
		next := slices.IndexFunc(steps, func(s Step) bool {
			return ready(s) && slices.ContainsFunc(s.From,
				func(m kinematics.MemberID) bool { return slices.Contains(latest, m) })
		})
		for _, choose := range []func(Step) bool{
			ready,
			func(s Step) bool { return slices.ContainsFunc(s.From, isFed) },
			func(s Step) bool { return !s.Stands() },
		} {
			if next < 0 {
				next = slices.IndexFunc(steps, choose)
			}
		}
		next = max(next, 0)
		s := steps[next]
		for _, m := range s.From {
			if _, known := waits[m]; !fed[m] && !known {
				waits[m] = len(order)
			}
		}
		for _, m := range s.To {
			if k, waiting := waits[m]; waiting && !fed[m] {
				s.Back = k
			}
			fed[m] = true
		}
		latest = s.To
		order = append(order, s)
		steps = slices.Delete(steps, next, next+1)
	}
	// What only earlier steps take, though they are fed already, circulates too.
	for k := range order {
		s := &order[k]
		for _, m := range s.To {
			takes := func(s Step) bool { return slices.Contains(s.From, m) }
			if j := slices.IndexFunc(order[:k], takes); j >= 0 && s.Back < 0 && m != output &&
				!slices.ContainsFunc(order[k:], takes) {
				s.Back = j
			}
		}
	}
	return order
}

// supports finds what holds the members that a step needs at rest: it follows
// the loaded couplings and gearsets at rest from each of them to the housing.
func (b *pathBuilder) supports() {
	for _, s := range b.p.Steps {
		if s.Stands() {
			continue
		}
		for _, m := range s.Held {
			b.support(m, b.holding(m))
		}
	}
	for _, i := range b.p.Reaction {
		if slices.ContainsFunc(b.p.Supports, func(s Support) bool { return slices.Contains(s.By, i) }) {
			continue
		}
		c := &b.t.Couplings[i]
		member := c.A
		if member == kinematics.Housing {
			member = c.B
		}
		b.support(member, Support{train: b.t, By: []int{i}})
	}
}

func (b *pathBuilder) support(m kinematics.MemberID, s Support) {
	for k := range b.p.Supports {
		if known := &b.p.Supports[k]; known.same(&s) {
			known.Members = kinematics.Union(known.Members, m)
			return
		}
	}
	s.Members = []kinematics.MemberID{m}
	b.p.Supports = append(b.p.Supports, s)
}

// holding follows what is at rest and loaded from a member to the housing.
func (b *pathBuilder) holding(from kinematics.MemberID) Support {
	s := Support{train: b.t}
	seen := map[kinematics.MemberID]bool{}
	var visit func(m kinematics.MemberID)
	visit = func(m kinematics.MemberID) {
		if seen[m] || m == kinematics.Housing {
			return
		}
		seen[m] = true
		for _, i := range b.eq.Carry {
			c := &b.t.Couplings[i]
			if c.A != m && c.B != m || b.speed(c.A) != 0 || b.speed(c.B) != 0 {
				continue
			}
			other := c.A
			if other == m {
				other = c.B
			}
			switch {
			case c.Kind != kinematics.Spline:
				s.By = kinematics.Union(s.By, i)
			case other == kinematics.Housing:
				s.Fixed = true
			}
			visit(other)
		}
		for _, step := range b.p.Steps {
			if step.Stands() && slices.Contains(step.Held, m) {
				s.Through = kinematics.Union(s.Through, step.Gearset)
				s.Fixed = s.Fixed || slices.Contains(b.p.Bears, step.Gearset)
				for _, other := range step.Held {
					visit(other)
				}
			}
		}
	}
	visit(from)
	slices.Sort(s.By)
	slices.Sort(s.Through)
	return s
}
