package solve

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A Power is the power through a train in one way to carry its load, per unit
// of torque and speed at the input.
type Power struct {
	In, Out, Loss exact.Frac // In = Out + Loss
	Efficiency    exact.Frac
	Sets          []SetPower // parallel to Train.Gearsets
	// Largest is the largest power between a gearset and one of its members, over
	// the power that drives.
	Largest struct {
		Share   exact.Frac
		Gearset int // -1 if no gearset is loaded
		Member  kinematics.MemberID
	}
	// Loops are the circles in which power runs.
	Loops []Loop
	// Imbalance is |In - Out - Loss| / In with all powers as floats.
	Imbalance float64
}

// Recirculates says whether a gearset handles more power than the train is
// given, or power runs in a circle.
func (p *Power) Recirculates() bool {
	return len(p.Loops) > 0 || p.Largest.Gearset >= 0 && p.Largest.Share.Cmp(exact.NewFrac(1, 1)) > 0
}

// A SetPower is the power through a gearset. The power of each member is torque
// times speed, w = (w - wc) + wc: the first part is rolling power, which the
// teeth pass on as seen from the carrier and which alone causes losses; the
// second is coupling power, which passes as if the set turned as one.
type SetPower struct {
	Members []MemberPower // none if the set is not loaded
	// Rolling is what the driving gears give to the teeth; Coupling what enters
	// the set as coupling power. Loss is what the set loses.
	Rolling, Coupling, Loss exact.Frac
}

// A MemberPower is what the rest of the train exerts on a member of a gearset,
// and the power that enters the set there: negative where it leaves.
type MemberPower struct {
	Member                   kinematics.MemberID
	Torque                   exact.Frac
	Power, Rolling, Coupling exact.Frac
}

// A Loop is power that runs in a circle.
type Loop struct {
	Share exact.Frac // of the power that drives
	// Steps name what the power passes, from where it may be said to begin.
	Steps []LoopStep
	// Rolls says that a gearset on the way rolls, so that the power causes losses.
	// Otherwise it circles among members that turn as one.
	Rolls bool
}

// A LoopStep is a gearset, an element, or a member (or the joint it sits on)
// that connects them. The others are -1.
type LoopStep struct {
	Gearset, Coupling int
	Member            kinematics.MemberID
}

// power finds the powers of a way at the operating point of m.
func (b *freeBodies) power(w *LoadSplit, m *Motion) *Power {
	p := &Power{Sets: make([]SetPower, len(b.t.Gearsets)), Loss: exact.NewFrac(0, 1)}
	speed := func(id kinematics.MemberID) exact.Frac { return m.Members[id].Min.Frac }
	p.In, p.Out = w.Input.Mul(speed(b.st.Input)), w.Output.Mul(speed(b.st.Output)).Neg()
	if b.input < 0 {
		p.In, p.Out = p.Out.Neg(), p.In.Neg()
	}
	p.Efficiency = p.Out.Mul(p.In.Inv())
	p.Largest.Gearset = -1
	p.Largest.Share = exact.NewFrac(0, 1)
	for g := range p.Sets {
		set := &p.Sets[g]
		b.setPower(set, g, w, speed)
		p.Loss = p.Loss.Add(set.Loss)
		for _, x := range set.Members {
			if share := x.Power.Abs().Mul(p.In.Inv()); share.Cmp(p.Largest.Share) > 0 {
				p.Largest.Share, p.Largest.Gearset, p.Largest.Member = share, g, x.Member
			}
		}
	}
	p.Loops = b.loops(w, p, speed)
	p.Imbalance = imbalance(w, p, m)
	return p
}

// setPower finds the powers of gearset g.
func (b *freeBodies) setPower(set *SetPower, g int, w *LoadSplit, speed func(kinematics.MemberID) exact.Frac) {
	zero := exact.NewFrac(0, 1)
	set.Rolling, set.Coupling, set.Loss = zero, zero, zero
	gs := &b.t.Gearsets[g]
	torque := map[kinematics.MemberID]exact.Frac{}
	var order []kinematics.MemberID
	add := func(id kinematics.MemberID, t exact.Frac) {
		if _, seen := torque[id]; !seen {
			torque[id] = zero
			order = append(order, id)
		}
		torque[id] = torque[id].Sub(t)
	}
	for i := range w.Meshes {
		ml := &w.Meshes[i]
		if ml.Gearset != g {
			continue
		}
		add(ml.A, ml.TorqueA)
		add(ml.B, ml.TorqueB)
		add(gs.Carrier, ml.TorqueA.Add(ml.TorqueB).Neg())
		set.Loss = set.Loss.Add(ml.Loss)
	}
	slices.SortStableFunc(order, func(x, y kinematics.MemberID) int { return rank(b.t, gs, x) - rank(b.t, gs, y) })
	wc := speed(gs.Carrier)
	for _, id := range order {
		t := torque[id]
		if t.Sign() == 0 {
			continue
		}
		x := MemberPower{Member: id, Torque: t, Power: t.Mul(speed(id)), Coupling: t.Mul(wc)}
		x.Rolling = x.Power.Sub(x.Coupling)
		set.Members = append(set.Members, x)
		if x.Rolling.Sign() > 0 {
			set.Rolling = set.Rolling.Add(x.Rolling)
		}
		if x.Coupling.Sign() > 0 {
			set.Coupling = set.Coupling.Add(x.Coupling)
		}
	}
}

// rank orders the members of a gearset: central gears, carrier, pinions.
func rank(t *kinematics.Train, gs *kinematics.Gearset, id kinematics.MemberID) int {
	switch {
	case id == gs.Carrier:
		return 1
	case t.Members[id].Kind == kinematics.PinionMember:
		return 2
	}
	return 0
}

// A node of the network of power: a gearset, or a body between gearsets and elements.
type node struct {
	gearset int // -1 for a body
	body    kinematics.MemberID
}

// An edge carries power between two nodes.
type edge struct {
	from, to node
	power    exact.Frac
	coupling int // the element that passes it, or -1
}

// loops takes circles out of the network of power, one after the other, each
// with as much power as runs all the way round.
func (b *freeBodies) loops(w *LoadSplit, p *Power, speed func(kinematics.MemberID) exact.Frac) []Loop {
	edges := b.network(w, p, speed)
	var list []Loop
	for {
		circle := findCircle(edges)
		if circle == nil {
			return list
		}
		least := edges[circle[0]].power
		for _, k := range circle {
			if edges[k].power.Cmp(least) < 0 {
				least = edges[k].power
			}
		}
		l := Loop{Share: least.Mul(p.In.Inv())}
		// Begin with the first gearset of the train, so that the same circle is
		// always told the same way.
		first := 0
		for k, e := range circle {
			if g, f := edges[e].from.gearset, edges[circle[first]].from.gearset; g >= 0 && (f < 0 || g < f) {
				first = k
			}
		}
		for k := range circle {
			e := &edges[circle[(first+k)%len(circle)]]
			l.Steps = append(l.Steps, LoopStep{e.from.gearset, -1, e.from.body})
			if e.from.gearset >= 0 && p.Sets[e.from.gearset].Rolling.Sign() != 0 {
				l.Rolls = true
			}
			if e.coupling >= 0 {
				l.Steps = append(l.Steps, LoopStep{-1, e.coupling, -1})
			}
		}
		list = append(list, l)
		for _, k := range circle {
			edges[k].power = edges[k].power.Sub(least)
		}
		edges = slices.DeleteFunc(edges, func(e edge) bool { return e.power.Sign() == 0 })
	}
}

// network returns how power passes between gearsets and bodies.
func (b *freeBodies) network(w *LoadSplit, p *Power, speed func(kinematics.MemberID) exact.Frac) []edge {
	var edges []edge
	add := func(from, to node, power exact.Frac, coupling int) {
		switch power.Sign() {
		case 1:
			edges = append(edges, edge{from, to, power, coupling})
		case -1:
			edges = append(edges, edge{to, from, power.Neg(), coupling})
		}
	}
	for g := range p.Sets {
		for _, x := range p.Sets[g].Members {
			add(node{-1, b.body[x.Member]}, node{g, -1}, x.Power, -1)
		}
	}
	for _, i := range b.couplings {
		if c := &b.t.Couplings[i]; w.Carries(i) {
			add(node{-1, b.body[c.B]}, node{-1, b.body[c.A]}, w.Torque[i].Mul(speed(c.A)), i)
		}
	}
	return edges
}

// findCircle returns the edges of a directed circle, or nil.
func findCircle(edges []edge) []int {
	const open, done = 1, 2
	state := map[node]int{}
	var path []int
	var visit func(n node) []int
	visit = func(n node) []int {
		state[n] = open
		for k := range edges {
			if edges[k].from != n {
				continue
			}
			to := edges[k].to
			path = append(path, k)
			switch state[to] {
			case open:
				begin := slices.IndexFunc(path, func(e int) bool { return edges[e].from == to })
				return path[begin:]
			case 0:
				if c := visit(to); c != nil {
					return c
				}
			}
			path = path[:len(path)-1]
		}
		state[n] = done
		return nil
	}
	for k := range edges {
		if state[edges[k].from] == 0 {
			if c := visit(edges[k].from); c != nil {
				return c
			}
		}
	}
	return nil
}

// residual returns the largest error of equilibrium of any member in floats,
// over the largest torque: one row for each member, one column for each torque.
func (b *freeBodies) residual(w *LoadSplit) float64 {
	n := len(b.t.Members)
	columns := len(w.Meshes)*2 + len(w.Torque) + 2
	a, x := mat.NewDense(n, columns, nil), mat.NewVecDense(columns, nil)
	k := 0
	put := func(f exact.Frac, plus, minus kinematics.MemberID) {
		x.SetVec(k, f.Float())
		a.Set(int(plus), k, a.At(int(plus), k)+1)
		if minus >= 0 {
			a.Set(int(minus), k, a.At(int(minus), k)-1)
		}
		k++
	}
	for i := range w.Meshes {
		put(w.Meshes[i].TorqueA, w.Meshes[i].A, b.contacts[i].carrier)
		put(w.Meshes[i].TorqueB, w.Meshes[i].B, b.contacts[i].carrier)
	}
	for i, t := range w.Torque {
		put(t, b.t.Couplings[i].A, b.t.Couplings[i].B)
	}
	put(w.Input, b.st.Input, -1)
	put(w.Output, b.st.Output, -1)
	var rest mat.VecDense
	rest.MulVec(a, x)
	worst := 0.0
	for i := 1; i < n; i++ { // the housing takes what is left
		worst = max(worst, math.Abs(rest.AtVec(i)))
	}
	return worst / mat.Norm(x, math.Inf(1))
}

// imbalance compares the powers as floats.
func imbalance(w *LoadSplit, p *Power, m *Motion) float64 {
	in := w.Input.Float() * m.Members[m.State.Input].Float
	out := w.Output.Float() * m.Members[m.State.Output].Float
	loss := 0.0
	for i := range w.Meshes {
		loss += w.Meshes[i].Loss.Float()
	}
	return math.Abs(in+out-loss) / math.Abs(p.In.Float())
}
