package solve_test

import (
	"errors"
	"math/big"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

func library(t testing.TB, name string) *kinematics.Train {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// faultsOf reads faults as users write them.
func faultsOf(t testing.TB, train *kinematics.Train, texts ...string) []kinematics.Fault {
	t.Helper()
	var faults []kinematics.Fault
	for _, text := range texts {
		f, err := kinematics.ParseFault(train, text)
		if err != nil {
			t.Fatal(err)
		}
		faults = append(faults, f)
	}
	return faults
}

// gripOf is the grip of a range of a train with its usual ratings.
func gripOf(t testing.TB, sys *solve.System, name string, faults ...string) *solve.Capacities {
	t.Helper()
	r, ok := sys.Train.Range(name)
	if !ok {
		t.Fatalf("no range %s", name)
	}
	ratings := sys.Ratings(solve.ScaleOf(sys.Train), solve.DefaultReserve(), nil)
	g, err := sys.Capacities(&sys.Train.Ranges[r], faultsOf(t, sys.Train, faults...), ratings)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// slips names what slips in a motion.
func slips(t *kinematics.Train, m solve.MechanismMotion) []string {
	var names []string
	for _, i := range m.Slips {
		names = append(names, t.Couplings[i].Name)
	}
	return names
}

// TestSimpsonByHand works out on paper what gives first when the forward clutch
// of a Simpson train (both sets sun 30, ring 66, so ring/sun = 2.2) is welded and
// R applies direct and low-reverse: three holders where two may hold.
//
// Ratings, each 1.5 times the largest torque of the healthy ranges per unit
// input torque:
//
//	direct       carries all of the input in R                      1   -> 1.5
//	             (in D3 only the share of the sun, 1/3.2)
//	low-reverse  in R the input is on the rear sun: the ring takes
//	             2.2, so the carrier is held with 1 + 2.2 = 3.2     3.2 -> 4.8
//
// Speeds: s of the shell with both suns, f of the front ring (the turbine, by
// the welded clutch), o of the output (front carrier, rear ring), c of the rear
// carrier, which the roller keeps at c >= 0:
//
//	front  s + 2.2 f = 3.2 o        rear  s + 2.2 o = 3.2 c
//
// Torques put into a set stand as sun 1 : ring 2.2 : carrier -3.2. With b on the
// front sun, a on the rear sun and d from direct on the shell:
//
//	shell    d = a + b
//	output   (from outside) = 2.2 a - 3.2 b
//	turbine  (from outside) = 2.2 b + d
//	carrier  (from low-reverse and roller) = -3.2 a
//
// Standing, f = 1, free wheels. If low-reverse slips and direct holds, s = 1 and
// all turns as one, c = 1: that costs 4.8. If direct slips and low-reverse holds,
// c = 0, s = -2.2 o, so o = 2.2/(3.2 + 2.2) = 11/27 and s = -121/135: direct
// slips at 1 + 121/135 = 256/135, which costs 1.5 x 256/135 = 128/45 = 2.84.
// Between the two the cost is linear: direct gives first, and the vehicle goes
// forward at 27/11 = 2.45, first gear, with the selector in R. By torques: d = 1.5
// and no torque at the output, so 2.2 a = 3.2 b and a + b = 1.5: a = 8/9,
// b = 11/18, the turbine takes 2.2 x 11/18 + 1.5 = 128/45, and low-reverse holds
// with 3.2 x 8/9 = 128/45, less than its 4.8.
//
// Rolling forward, o = 1, the engine free: f = (3.2 - s)/2.2, c = (s + 2.2)/3.2.
// If direct holds, s = f = 1, c = 1: low-reverse slips at 1, dragging with 4.8. If
// low-reverse holds, s = -2.2: direct slips at f - s = 5.4/2.2 + 2.2 = 256/55,
// dragging with 1.5 x 256/55 = 384/55 = 6.98. So low-reverse gives first on the
// road where direct does standing. By torques: a = 4.8/3.2 = 1.5; no torque at the
// turbine, so d = -2.2 b = 1.5 + b, b = -1.5/3.2; the output is dragged with
// 2.2 x 1.5 + 1.5 = 4.8 and direct holds with 33/32, less than its 1.5.
//
// Rolling backward, o = -1: c >= 0 asks for s >= 2.2, and direct, at
// f - s = -(3.2 + 3.2 s)/2.2, slips at 256/55 at least: 384/55, the roller holding.
func TestSimpsonByHand(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	sys := solve.Compile(train)
	g := gripOf(t, sys, "R", "forward=stuck")
	zero := exact.NewFrac(0, 1)
	element := func(name string) int {
		i, ok := train.Element(name)
		if !ok {
			t.Fatalf("no element %s", name)
		}
		return i
	}
	direct, low, roller := element("direct"), element("low-reverse"), element("roller")
	for _, c := range []struct {
		name                string
		b                   *solve.Mechanism
		torque              string
		slips, slip         string
		input, output       string
		direct, low, roller string // torques on member A: the turbine, the carrier
	}{
		{"standing", sys.Standing(g, zero), "128/45", "direct", "256/135", "1", "11/27", "-3/2", "-128/45", "0"},
		{"rolling forward", sys.Rolling(g, true, zero), "24/5", "low-reverse", "1", "1", "1", "-33/32", "-24/5", "0"},
		{"rolling backward", sys.Rolling(g, false, zero), "384/55", "direct", "-256/55", "-27/11", "-1", "3/2",
			"", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.b.End != solve.Moves || !c.b.Proved || len(c.b.Optima) != 1 {
				t.Fatalf("end %d, proved %t, %d optima", c.b.End, c.b.Proved, len(c.b.Optima))
			}
			m := c.b.Optima[0]
			if c.b.Torque.String() != c.torque || m.Input.String() != c.input || m.Output.String() != c.output {
				t.Errorf("torque %v at input %v, output %v", c.b.Torque, m.Input, m.Output)
			}
			if names := slips(train, m); !slices.Equal(names,
				[]string{c.slips}) || m.Slip[element(c.slips)].String() != c.slip {
				t.Errorf("slips %v, %v", names, m.Slip)
			}
			if c.b.Dual[direct].String() != c.direct {
				t.Errorf("direct carries %v", c.b.Dual[direct])
			}
			if c.low != "" && (c.b.Dual[low].String() != c.low || c.b.Dual[roller].String() != c.roller) {
				t.Errorf("low-reverse carries %v, roller %v", c.b.Dual[low], c.b.Dual[roller])
			}
		})
	}
	// Backward the two share 384/55 in one of many ways: low-reverse with 4.8 at most.
	b := sys.Rolling(g, false, zero)
	if sum := b.Dual[low].Add(b.Dual[roller]); sum.String() != "384/55" {
		t.Errorf("low-reverse and roller carry %v", sum)
	}
}

// throwClutches throws a train with more clutches and brakes than others have.
func throwClutches(t fataler, d dice) *kinematics.Train {
	r := throwRecipe(d, limits{sets: 3, teeth: 80, oneWay: 3, grounded: true})
	for range 4 {
		e := elementRecipe{kind: kinematics.Clutch, a: d.pick(r.members[1:]), b: d.pick(r.members[1:])}
		if e.a == e.b || d.odds(2) {
			e.kind, e.b = kinematics.Brake, kinematics.HousingName
		}
		r.elements = append(r.elements, e)
	}
	return r.must(t)
}

// throwGrip throws a range of a random train with ratings and up to three faults
// of any kind, and what is gripped.
func throwGrip(d dice, sys *solve.System) *solve.Capacities {
	train := sys.Train
	r := kinematics.Range{Input: train.Input, Output: train.Output}
	ratings := make([]solve.Rating, len(train.Couplings))
	for i, c := range train.Couplings[:train.ElementCount] {
		if (c.Kind != kinematics.OneWay || c.Switched) && d.odds(2) {
			r.Apply = append(r.Apply, i)
		}
		ratings[i] = solve.Rating{Origin: solve.Stated, Torque: exact.NewFrac(int64(d.between(1, 12)),
			int64(d.between(1, 3)))}
	}
	var faults []kinematics.Fault
	for range d(4) {
		if len(train.Couplings) == 0 {
			break
		}
		i := d(len(train.Couplings))
		kinds := train.FaultKinds(i)
		f := kinematics.Fault{Coupling: i, Kind: kinds[d(len(kinds))]}
		if f.Kind == kinematics.Weak || f.Kind == kinematics.Dragging || f.Kind == kinematics.Stuck && train.Couplings[i].Kind.Friction() && d.odds(2) {
			f.Share = kinematics.Share{Num: int64(d.between(1, 9)), Den: 10}
		}
		if train.Contradicts(faults, f) == nil {
			faults = append(faults, f)
		}
	}
	g, err := sys.Capacities(&r, faults, ratings)
	if err != nil {
		panic(err)
	}
	return g
}

// A push is one forced motion of a grip, as the tests see it.
type push struct {
	b          *solve.Mechanism
	standing   bool
	resistance exact.Frac // of a standing vehicle
	engine     exact.Frac // torque while rolling
	sense      int64      // of the output while rolling, in the input's sense
}

// pushes forces a grip every way.
func pushes(sys *solve.System, g *solve.Capacities, r, engine exact.Frac) []push {
	zero, way := exact.NewFrac(0, 1), int64(sys.Train.Forward)
	return []push{
		{b: sys.Standing(g, zero), standing: true, resistance: zero},
		{b: sys.Standing(g, r), standing: true, resistance: r},
		{b: sys.Rolling(g, true, zero), engine: zero, sense: way},
		{b: sys.Rolling(g, false, zero), engine: zero, sense: -way},
		{b: sys.Rolling(g, true, engine), engine: engine, sense: way},
	}
}

// rigidOracle is the oracle of a grip in which all that can slip is released.
func rigidOracle(train *kinematics.Train, g *solve.Capacities) *oracle {
	st := g.State.Clone()
	for i, c := range g.Capacity {
		if c != nil {
			st.Modes[i] = kinematics.Open
		}
	}
	return newOracle(train, st)
}

// checkPush checks an answer with nothing but the oracle's equations: the motions
// are possible and cost what is said, the torques are an equilibrium of every
// member within the capacities, and the two agree. That proves both.
func checkPush(t *testing.T, train *kinematics.Train, g *solve.Capacities, p push) {
	t.Helper()
	b, o := p.b, rigidOracle(train, g)
	unit, of := g.State.Input, int64(1)
	if !p.standing {
		unit, of = g.State.Output, p.sense
	}
	forced := o.where(o.speed[unit], rat(of))
	if b.End == solve.Jams {
		if !forced.of(o.speed[kinematics.Housing]).empty {
			t.Error("it is said to jam, but a motion is possible")
		}
		return
	}
	if forced.of(o.speed[kinematics.Housing]).empty {
		t.Fatal("no motion is possible, but it is not said to jam")
	}
	if b.End == solve.RunsAway {
		return
	}
	if !b.Proved || len(b.Optima) == 0 {
		t.Fatalf("proved: %t, %d optima", b.Proved, len(b.Optima))
	}
	for _, m := range b.Optima {
		checkMotion(t, train, g, p, o, m)
	}
	checkDual(t, train, g, p)
}

// checkMotion checks that a motion is possible and that energy is kept: what the
// forced end puts in is slip heat, plus what goes out at the other end.
func checkMotion(t *testing.T, train *kinematics.Train, g *solve.Capacities, p push, o *oracle,
	m solve.MechanismMotion) {
	t.Helper()
	at := o.where(o.speed[g.State.Input], m.Input.Rat()).where(o.speed[g.State.Output], m.Output.Rat())
	heat, listed := exact.NewFrac(0, 1), exact.NewFrac(0, 1)
	for i, c := range g.Capacity {
		if mode := g.State.Modes[i]; mode == kinematics.Overruns || mode == kinematics.Reversed {
			at = at.where(minus(at.speed[train.Couplings[i].A], at.speed[train.Couplings[i].B]), m.Slip[i].Rat())
		}
		if c == nil {
			continue
		}
		at = at.where(minus(at.speed[train.Couplings[i].A], at.speed[train.Couplings[i].B]), m.Slip[i].Rat())
		heat = heat.Add(size(m.Slip[i]).Mul(exact.FromRat(c)))
	}
	if at.of(at.speed[kinematics.Housing]).empty {
		t.Errorf("no motion has input %v, output %v, slips %v", m.Input, m.Output, m.Slip)
	}
	for k, i := range m.Slips {
		if m.Slip[i].Sign() == 0 {
			t.Errorf("%s is said to slip", train.Couplings[i].Name)
		}
		listed = listed.Add(m.Heat[k])
	}
	if heat.Cmp(listed) != 0 {
		t.Errorf("heat %v, listed %v", heat, listed)
	}
	cost := heat
	if p.standing {
		cost = heat.Add(p.resistance.Mul(size(m.Output)))
	} else {
		cost = heat.Sub(p.engine.Mul(m.Input))
	}
	if cost.Cmp(p.b.Torque) != 0 {
		t.Errorf("a motion costs %v, not %v", cost, p.b.Torque)
	}
	if power := p.b.InputTorque.Mul(m.Input).Add(p.b.OutputTorque.Mul(m.Output)); power.Cmp(heat) != 0 {
		t.Errorf("power %v, heat %v", power, heat)
	}
	inside := func(x exact.Frac, i exact.Interval) bool {
		return i.Min.Cmp(exact.Bound{Frac: x}) <= 0 && i.Max.Cmp(exact.Bound{Frac: x}) >= 0
	}
	if !inside(m.Input, p.b.Input) || !inside(m.Output, p.b.Output) {
		t.Errorf("input %v, output %v are outside %v, %v", m.Input, m.Output, p.b.Input, p.b.Output)
	}
}

func size(f exact.Frac) exact.Frac {
	if f.Sign() < 0 {
		return f.Neg()
	}
	return f
}

// checkDual checks that the torques are within the capacities and that there are
// tooth loads and spline torques that put every member into equilibrium.
func checkDual(t *testing.T, train *kinematics.Train, g *solve.Capacities, p push) {
	t.Helper()
	unknowns := len(train.Meshes)
	column := map[int]int{} // of sound splines
	for i, c := range train.Couplings {
		if c.Kind == kinematics.Spline && g.State.Modes[i] == kinematics.Locked {
			column[i] = unknowns
			unknowns++
		}
	}
	rows := make([]affine, len(train.Members))
	for m := range rows {
		rows[m] = make(affine, unknowns+1)
	}
	put := func(m kinematics.MemberID, j int, x *big.Rat) { rows[m][j].Add(&rows[m][j], x) }
	for j, mesh := range train.Meshes {
		zb := mesh.ZB
		if mesh.Kind != kinematics.External {
			zb = -zb
		}
		put(mesh.A, j, rat(mesh.ZA))
		put(mesh.B, j, rat(zb))
		put(mesh.Carrier, j, rat(-mesh.ZA-zb))
	}
	put(g.State.Input, unknowns, p.b.InputTorque.Rat())
	put(g.State.Output, unknowns, p.b.OutputTorque.Rat())
	for i, c := range train.Couplings {
		d := p.b.Dual[i].Rat()
		if j, sound := column[i]; sound {
			put(c.A, j, rat(1))
			put(c.B, j, rat(-1))
		}
		put(c.A, unknowns, d)
		put(c.B, unknowns, new(big.Rat).Neg(d))
		mode := g.State.Modes[i]
		switch {
		case d.Sign() == 0:
		case g.Capacity[i] != nil:
			if new(big.Rat).Abs(d).Cmp(g.Capacity[i]) > 0 {
				t.Errorf("%s carries %v of %v", c.Name, d, g.Capacity[i])
			}
		case mode == kinematics.Locked, mode == kinematics.Overruns && d.Sign() > 0,
			mode == kinematics.Reversed && d.Sign() < 0:
		default:
			t.Errorf("%s carries %v in mode %d", c.Name, d, mode)
		}
	}
	rows[kinematics.Housing] = make(affine, unknowns+1)
	for m := range train.Members {
		if train.Members[m].Unknown {
			rows[m] = make(affine, unknowns+1)
		}
	}
	gaussJordan(rows, unknowns)
	for _, r := range rows {
		if r.constant() && r[unknowns].Sign() != 0 {
			t.Fatalf("members are out of balance: torques %v, input %v, output %v", p.b.Dual, p.b.InputTorque,
				p.b.OutputTorque)
		}
	}
	if p.standing && size(p.b.OutputTorque).Cmp(p.resistance) > 0 || !p.standing && p.b.InputTorque.Cmp(p.engine) != 0 {
		t.Errorf("torque from outside: input %v, output %v", p.b.InputTorque, p.b.OutputTorque)
	}
}

// TestBreakawayOfRandomTrains checks answers on random trains, ranges, ratings
// and faults.
func TestBreakawayOfRandomTrains(t *testing.T) {
	const trains = 800
	ends := map[solve.MechanismEnd]int{}
	slipping, ties := 0, 0
	for seed := range uint64(trains) {
		d := seeded(seed)
		train := throwClutches(t, d)
		sys := solve.Compile(train)
		g := throwGrip(d, sys)
		r, engine := exact.NewFrac(int64(d(30)), int64(d.between(1, 7))), exact.NewFrac(int64(d.between(1, 30)),
			int64(d.between(1, 7)))
		for k, p := range pushes(sys, g, r, engine) {
			checkPush(t, train, g, p)
			if t.Failed() {
				t.Fatalf("seed %d, push %d: %s", seed, k, describe(train, g.State))
			}
			ends[p.b.End]++
			if len(p.b.Optima) > 1 {
				ties++
			}
			if p.b.Torque.Sign() > 0 {
				slipping++
			}
		}
	}
	t.Logf("ends %v, %d with a torque above 0, %d ties", ends, slipping, ties)
	if ends[solve.Jams] < 100 || ends[solve.RunsAway] < 20 || slipping < 500 || ties < 50 {
		t.Error("the generator is too narrow")
	}
}

// TestBreakawayLaws checks how the answers change with what is given.
func TestBreakawayLaws(t *testing.T) {
	const trains = 250
	for seed := range uint64(trains) {
		d := seeded(seed)
		train := throwClutches(t, d)
		sys := solve.Compile(train)
		g := throwGrip(d, sys)
		r, engine := exact.NewFrac(int64(d(30)), int64(d.between(1, 7))), exact.NewFrac(int64(d.between(1, 30)),
			int64(d.between(1, 7)))
		before := pushes(sys, g, r, engine)

		// All torques scale together.
		scaled := *g
		scaled.Capacity = slices.Clone(g.Capacity)
		factor := exact.NewFrac(7, 3)
		for i, c := range scaled.Capacity {
			if c != nil {
				scaled.Capacity[i] = new(big.Rat).Mul(c, factor.Rat())
			}
		}
		for k, p := range pushes(sys, &scaled, r.Mul(factor), engine.Mul(factor)) {
			if p.b.End != before[k].b.End || p.b.End == solve.Moves && p.b.Torque.Cmp(before[k].b.Torque.Mul(factor)) != 0 {
				t.Errorf("seed %d, push %d: %v does not scale with %v", seed, k, p.b.Torque, before[k].b.Torque)
			}
		}
		// Nothing moves more easily when an element is welded, or gets stronger.
		for i, c := range g.Capacity {
			if c == nil {
				continue
			}
			for _, stronger := range []*big.Rat{nil, new(big.Rat).Mul(c, big.NewRat(3, 2))} {
				more := *g
				more.Capacity = slices.Clone(g.Capacity)
				more.Capacity[i] = stronger
				for k, p := range pushes(sys, &more, r, engine) {
					if easier(p.b, before[k].b) {
						t.Errorf("seed %d, push %d: %v with %s at %v, before %v", seed, k, p.b.Torque,
							train.Couplings[i].Name, stronger, before[k].b.Torque)
					}
				}
			}
		}
		if easier(before[1].b, before[0].b) {
			t.Errorf("seed %d: %v against a resistance, %v without", seed, before[1].b.Torque, before[0].b.Torque)
		}
		if t.Failed() {
			t.Fatal(describe(train, g.State))
		}
	}
}

// easier says whether a moves at less than b.
func easier(a, b *solve.Mechanism) bool {
	rank := func(x *solve.Mechanism) int {
		return map[solve.MechanismEnd]int{solve.RunsAway: 0, solve.Moves: 1, solve.Jams: 2}[x.End]
	}
	if rank(a) != rank(b) {
		return rank(a) < rank(b)
	}
	return a.End == solve.Moves && a.Torque.Cmp(b.Torque) < 0
}

// TestStretches compares the chain of answers with single ones: at its ends and
// between them, for torque and for all that could give first.
func TestStretches(t *testing.T) {
	const trains = 400
	several := 0
	for seed := range uint64(trains) {
		d := seeded(seed)
		train := throwClutches(t, d)
		sys := solve.Compile(train)
		g := throwGrip(d, sys)
		chain := sys.Stretches(g)
		if len(chain) == 0 {
			if b := sys.Standing(g, exact.NewFrac(1, 1)); b.End != solve.Jams {
				t.Fatalf("seed %d: no stretches, but it ends as %d: %s", seed, b.End, describe(train, g.State))
			}
			continue
		}
		if len(chain) > 1 {
			several++
		}
		for k, s := range chain {
			if k == 0 && s.From.Sign() != 0 || k > 0 && (s.From.Cmp(chain[k-1].To) != 0 ||
				s.Slope.Cmp(chain[k-1].Slope) >= 0) {
				t.Errorf("seed %d: stretch %d from %v with slope %v", seed, k, s.From, s.Slope)
			}
			if last := k == len(chain)-1; last != (s.To.Inf > 0) || !last && s.To.Cmp(s.From) <= 0 {
				t.Errorf("seed %d: stretch %d from %v to %v", seed, k, s.From, s.To)
			}
			length := exact.NewFrac(5, 1)
			if s.To.Inf == 0 {
				length = s.To.Frac.Sub(s.From.Frac)
			}
			for n := range int64(4) {
				r := s.From.Frac.Add(length.Mul(exact.NewFrac(n, 4)))
				b := sys.Standing(g, r)
				if want := s.Torque.Add(s.Slope.Mul(r.Sub(s.From.Frac))); b.Torque.Cmp(want) != 0 {
					t.Errorf("seed %d: at %v it takes %v, by the chain %v", seed, r, b.Torque, want)
				}
				if n > 0 && !sameMotions(b.Optima, s.Optima) {
					t.Errorf("seed %d: at %v the optima are %v, by the chain %v", seed, r, b.Optima, s.Optima)
				}
			}
		}
		if t.Failed() {
			t.Fatal(describe(train, g.State))
		}
	}
	if several < 50 {
		t.Errorf("only %d chains have more than one stretch", several)
	}
}

func sameMotions(a, b []solve.MechanismMotion) bool {
	key := func(m solve.MechanismMotion) string {
		s := m.Input.String() + " " + m.Output.String()
		for _, x := range m.Slip {
			s += " " + x.String()
		}
		return s
	}
	keys := func(list []solve.MechanismMotion) (ks []string) {
		for _, m := range list {
			ks = append(ks, key(m))
		}
		slices.Sort(ks)
		return ks
	}
	return slices.Equal(keys(a), keys(b))
}

// TestRatings checks where ratings come from, on a train with N m and without.
func TestRatings(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	sys := solve.Compile(train)
	at := func(rs []solve.Rating, name string) solve.Rating {
		i, ok := train.Element(name)
		if !ok {
			t.Fatalf("no element %s", name)
		}
		return rs[i]
	}
	rs := sys.Ratings(solve.ScaleOf(train), exact.NewFrac(2, 1), nil)
	// By hand: see TestSimpsonByHand; intermediate holds the sun of the front set,
	// 1/2.2 of the input torque on its ring.
	for name, want := range map[string]string{"forward": "2", "direct": "2", "low-reverse": "32/5",
		"intermediate": "10/11"} {
		if r := at(rs,
			name); r.Origin != solve.Assumed || r.Torque.String() != want || r.Carried.Mul(r.Reserve).Cmp(r.Torque) != 0 {
			t.Errorf("%s: %+v", name, r)
		}
	}
	if r := at(rs, "low-reverse"); r.Range != "R" {
		t.Errorf("low-reverse is loaded most in %s", r.Range)
	}
	if r := at(rs, "roller"); r.Origin != solve.NoFriction || r.Known() {
		t.Errorf("the roller has a rating: %+v", r)
	}
	i, _ := train.Element("direct")
	if r := at(sys.Ratings(solve.ScaleOf(train), exact.NewFrac(2, 1),
		map[int]exact.Frac{i: exact.NewFrac(9, 1)}), "direct"); r.Origin != solve.Stated || r.Torque.String() != "9" {
		t.Errorf("direct: %+v", r)
	}

	metric := *train
	metric.Couplings = slices.Clone(train.Couplings)
	metric.Couplings[i].Capacity = 400.5
	ms := solve.Compile(&metric)
	rs = ms.Ratings(solve.ScaleOf(&metric), exact.NewFrac(2, 1), nil)
	if r := at(rs, "direct"); r.Origin != solve.InFile || r.Torque.String() != "801/2" {
		t.Errorf("direct: %+v", r)
	}
	if r := at(rs, "forward"); r.Origin != solve.Unscaled {
		t.Errorf("forward has a rating without a rated torque: %+v", r)
	}
	_, err := ms.Capacities(&metric.Ranges[3], nil, rs)
	var missing *solve.MissingRatingError
	if !errors.As(err, &missing) || !slices.Equal(missing.Unscaled, []string{"forward"}) {
		t.Errorf("D1: %v", err)
	}
	metric.RatedTorque = 250
	rs = solve.Compile(&metric).Ratings(solve.ScaleOf(&metric), exact.NewFrac(2, 1), nil)
	if r := at(rs, "low-reverse"); r.Origin != solve.Assumed || r.Torque.String() != "1600" {
		t.Errorf("low-reverse: %+v", r)
	}
}

// TestEngineAgainstBrake has an engine exactly as strong as the brake on its shaft:
// rolling in neutral it may stand, or run forward at any speed, never backward.
func TestEngineAgainstBrake(t *testing.T) {
	b := kinematics.NewBuilder("neutral")
	b.Simple("set", 30, 66, 0, false)
	b.Element("brake", kinematics.Brake, "set.sun", kinematics.HousingName)
	b.Ports("set.sun", "set.carrier")
	b.Range("N", "brake")
	sys := solve.Compile(build(t, b))
	one := exact.NewFrac(1, 1)
	g, err := sys.Capacities(&sys.Train.Ranges[0], nil, sys.Ratings(solve.ScaleOf(sys.Train), one,
		map[int]exact.Frac{0: one}))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		engine exact.Frac
		end    solve.MechanismEnd
		input  string
	}{
		{exact.NewFrac(1, 2), solve.Moves, "0 to 0"},
		{one, solve.Moves, "0 to inf"},
		{exact.NewFrac(2, 1), solve.RunsAway, ""},
	} {
		k := sys.Rolling(g, true, c.engine)
		if input := k.Input.Min.String() + " to " + k.Input.Max.String(); k.End != c.end || c.end == solve.Moves && (input != c.input || k.Torque.Sign() != 0) {
			t.Errorf("engine torque %v: end %d, torque %v, input %s", c.engine, k.End, k.Torque, input)
		}
	}
}
