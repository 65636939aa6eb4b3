package solve_test

import (
	"context"
	"fmt"
	"math"
	"math/big"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/mat"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// basicLosses gives every gearset of t the basic efficiency num/den.
func basicLosses(t *kinematics.Train, num, den int64) solve.Losses {
	l := solve.NoLosses()
	for range t.Gearsets {
		l.Basic = append(l.Basic, exact.NewFrac(num, den))
	}
	return l
}

// TestLoadOfSimpsonByHand works the statics of the depot shuttle bus (front and rear:
// sun 30, ring 66) step by step. Both suns sit on the shell, the front carrier
// and the rear ring on the output. Torques from outside on a set with tooth load
// t are 30 t on the sun, 66 t on the ring, -96 t on the carrier.
//
// D1: the forward clutch drives the front ring, the roller holds the rear
// carrier; the vehicle pulls.
//
//	front ring        forward clutch gives 1:              66 t = 1, t = 1/66
//	front sun         30/66 = 5/11 from the shell
//	front carrier     -96/66 = -16/11: the output gets 16/11
//	shell             nothing else holds it: rear sun      -5/11, so t' = -1/66
//	rear ring         66 t' = -1: the output gets 1
//	rear carrier      -96 t' = 16/11 from the roller
//	output            16/11 + 1 = 27/11 is taken off:      -27/11
//	check             1 + 16/11 - 27/11 = 0
//
// Speeds per turn of the input, i = 27/11: the output turns 11/27, the rear
// carrier rests. Rear: 30 ws + 66 (11/27) = 0, the shell turns -121/135.
// Front carrier 11/27: ring 1 - 11/27 = 16/27 seen from it.
//
//	front  rolling power    torque 1 x 16/27 = 16/27, the ring drives
//	       coupling power   the carrier takes 16/11 x 11/27 = 16/27
//	rear   rolling power    sun -5/11 x -121/135 = 11/27, the sun drives; carrier at rest: no coupling power
//	out    27/11 x 11/27 = 1
//
// With a basic efficiency of 0.98 for each set the driven gear gets 0.98 of it:
//
//	front sun    0.98 x 5/11, carrier -(1 + 0.98 x 5/11)
//	rear ring    0.98 x 0.98 x 5/11 x 66/30 = 0.98^2
//	output       1 + 0.98 x 5/11 + 0.98^2 = 2.405855 instead of 2.454545: efficiency 0.980163
//
// The roller takes what is left: 2.405855 - 1 = 1.405855.
//
// Coasting in D1 the roller overruns: the vehicle does not turn the engine. In L1
// low-reverse holds the rear carrier both ways, and coasting everything has the
// other sign; the driven gears are the front ring and the rear sun. Engine 1:
//
//	front sun    1 x 5/11 / 0.98, rear ring  1 / 0.98^2
//	output       1 + (5/11)/0.98 + 1/0.98^2 = 2.505055: efficiency (27/11) / 2.505055 = 0.979837
func TestLoadOfSimpsonByHand(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	sys := solve.Compile(train)
	losses := basicLosses(train, 98, 100)
	state := func(name string) kinematics.State {
		r, _ := train.Range(name)
		return train.In(&train.Ranges[r])
	}
	member := func(name string) kinematics.MemberID {
		m, ok := train.Member(name)
		if !ok {
			t.Fatalf("no member %s", name)
		}
		return m
	}
	coupling := func(name string) int {
		i, ok := train.Coupling(name)
		if !ok {
			t.Fatalf("no coupling %s", name)
		}
		return i
	}

	d1 := sys.Pulling(t.Context(), state("D1"), losses, solve.Limit{})
	if len(d1.Ways) != 1 || len(d1.Lossy) != 1 || d1.Trouble != solve.NoLossTrouble {
		t.Fatalf("D1: %d ways, %d with losses, trouble %d", len(d1.Ways), len(d1.Lossy), d1.Trouble)
	}
	w := &d1.Ways[0]
	for name, want := range map[string]string{
		"forward": "1", "direct": "0", "intermediate": "0", "low-reverse": "0", "pawl": "0", "roller": "16/11",
	} {
		got := w.Torque[coupling(name)]
		if name == "forward" { // exerted on the turbine, which it holds back
			got = got.Neg()
		}
		if got.String() != want {
			t.Errorf("D1: %s carries %v, by hand %s", name, got, want)
		}
	}
	for name, want := range map[string]string{
		"shell:front.sun": "5/11", "shell:rear.sun": "-5/11", "shell:sun-shell": "0",
		"output:front.carrier": "-16/11", "output:rear.ring": "-1", "output:output-shaft": "27/11",
	} {
		if got := w.Torque[coupling(name)]; got.String() != want {
			t.Errorf("D1: %s carries %v, by hand %s", name, got, want)
		}
	}
	if w.Output.String() != "-27/11" {
		t.Errorf("D1: output torque %v", w.Output)
	}
	wantSets := []struct {
		rolling, coupling string
		torque            map[string]string
		power             map[string]string
	}{
		{"16/27", "16/27", map[string]string{"front.ring": "1", "front.sun": "5/11", "front.carrier": "-16/11"},
			map[string]string{"front.ring": "1", "front.sun": "-11/27", "front.carrier": "-16/27"}},
		{"11/27", "0", map[string]string{"rear.ring": "-1", "rear.sun": "-5/11", "rear.carrier": "16/11"},
			map[string]string{"rear.ring": "-11/27", "rear.sun": "11/27", "rear.carrier": "0"}},
	}
	for g, want := range wantSets {
		set := w.Power.Sets[g]
		if set.Rolling.String() != want.rolling || set.Coupling.String() != want.coupling || set.Loss.Sign() != 0 {
			t.Errorf("D1: set %d rolls %v and couples %v, by hand %s and %s", g, set.Rolling, set.Coupling,
				want.rolling, want.coupling)
		}
		if len(set.Members) != 3 {
			t.Errorf("D1: set %d has loads on %d members", g, len(set.Members))
		}
		for _, m := range set.Members {
			name := train.Members[m.Member].Name
			if m.Torque.String() != want.torque[name] || m.Power.String() != want.power[name] {
				t.Errorf("D1: %s gets torque %v and power %v, by hand %s and %s", name, m.Torque, m.Power,
					want.torque[name], want.power[name])
			}
		}
	}
	if w.Power.Recirculates() {
		t.Error("D1: power recirculates")
	}

	near := func(what string, got exact.Frac, want float64) {
		t.Helper()
		if math.Abs(got.Float()-want) > 1e-12 {
			t.Errorf("%s is %.9f, by hand %.9f", what, got.Float(), want)
		}
	}
	x := &d1.Lossy[0]
	const eta, part = 0.98, 5. / 11
	near("D1 with losses: output torque", x.Output, -(1 + eta*part + eta*eta))
	near("D1 with losses: roller", x.Torque[coupling("roller")], eta*part+eta*eta)
	near("D1 with losses: front sun", x.Gears[member("front.sun")], -eta*part)
	near("D1 with losses: efficiency", x.Power.Efficiency, (1+eta*part+eta*eta)*11/27)
	near("D1 with losses: front", x.Power.Sets[0].Loss, 16./27*(1-eta))
	near("D1 with losses: rear", x.Power.Sets[1].Loss, 11./27*eta*(1-eta))

	if sys.Coasting(t.Context(), state("D1"), losses, solve.Limit{}) != nil {
		t.Error("D1: coasting turns the engine through a roller that overruns")
	}
	l1 := sys.Coasting(t.Context(), state("L1"), losses, solve.Limit{})
	if len(l1.Ways) != 1 {
		t.Fatalf("L1 coasting: %d ways", len(l1.Ways))
	}
	if got := l1.Ways[0].Torque[coupling("low-reverse")]; got.String() != "-16/11" {
		t.Errorf("L1 coasting: low-reverse carries %v", got)
	}
	near("L1 coasting: output torque", l1.Lossy[0].Output, 1+part/eta+1/(eta*eta))
	near("L1 coasting: efficiency", l1.Lossy[0].Power.Efficiency, 27./11/(1+part/eta+1/(eta*eta)))

	// Pulling in L1 the roller and low-reverse lie side by side: how they share
	// 16/11 is not a matter of statics.
	both := sys.Pulling(t.Context(), state("L1"), losses, solve.Limit{})
	if len(both.Ways) != 2 || both.OneWay(coupling("roller")) != solve.MayHold || d1.OneWay(coupling("roller")) != solve.Holds ||
		l1.OneWay(coupling("roller")) != solve.Idles {
		t.Errorf("L1: %d ways, roller %v; D1: roller %v; L1 coasting: roller %v", len(both.Ways),
			both.OneWay(coupling("roller")), d1.OneWay(coupling("roller")), l1.OneWay(coupling("roller")))
	}
	for _, w := range both.Ways {
		if sum := w.Torque[coupling("roller")].Add(w.Torque[coupling("low-reverse")]); sum.String() != "16/11" {
			t.Errorf("L1: roller and low-reverse carry %v together", sum)
		}
	}
	if got := sys.Pulling(t.Context(), state("D3"), losses,
		solve.Limit{}).OneWay(coupling("roller")); got != solve.Overrun {
		t.Errorf("D3: the roller should overrun, not %v", got)
	}
}

// loadsOf returns the loads of a state both ways, as far as there are.
func loadsOf(sys *solve.System, st kinematics.State, l solve.Losses) []*solve.Load {
	var list []*solve.Load
	ctx := context.Background()
	for _, x := range []*solve.Load{sys.Pulling(ctx, st, l, solve.Limit{}), sys.Coasting(ctx, st, l, solve.Limit{})} {
		if x != nil {
			list = append(list, x)
		}
	}
	return list
}

// throwLosses throws efficiencies from 0.5 to 1, often the same.
func throwLosses(d dice, t *kinematics.Train) solve.Losses {
	eta := func() exact.Frac { return exact.NewFrac(int64(50+d(51)), 100) }
	l := solve.DefaultLosses()
	if d.odds(2) {
		l.External, l.Internal, l.Chain = eta(), eta(), eta()
	}
	if d.odds(2) {
		for range t.Gearsets {
			l.Basic = append(l.Basic, eta())
		}
	}
	return l
}

// TestLoads holds the laws of statics on random trains, driving and coasting,
// with and without losses.
func TestLoads(t *testing.T) {
	wanted := sampled(600)
	found, coasting, own, shared, locking, several, loose, circles := 0, 0, 0, 0, 0, 0, 0, 0
	for seed := uint64(0); found < wanted; seed++ {
		d := seeded(seed)
		train := throwRecipe(d, usual).must(t)
		st := throwState(d, train)
		if st.Input == st.Output || st.Input == kinematics.Housing || st.Output == kinematics.Housing {
			continue
		}
		losses := throwLosses(d, train)
		sys := solve.Compile(train)
		for _, l := range loadsOf(sys, st, losses) {
			found++
			if l.Coasting {
				coasting++
				if !l.Motion.Drives() || l.Motion.At.Output.Cmp(l.Motion.OutputSpeed()) != 0 {
					own++
				}
			}
			if len(l.Ways) == 0 {
				t.Errorf("coasting %v: nothing carries", l.Coasting)
			}
			if len(l.Ways) > 1 {
				shared++
			}
			for i := range l.Ways {
				checkWay(t, train, l, &l.Ways[i])
				checkLossless(t, l, &l.Ways[i])
			}
			if !l.Coasting {
				compareCarrying(t, sys, l)
			}
			if found%4 == 0 {
				checkLimit(t, sys, l)
			}
			for i := range l.Lossy {
				checkWay(t, train, l, &l.Lossy[i])
				checkLossy(t, train, &l.Lossy[i], losses)
				checkVirtualSpeeds(t, train, l, &l.Lossy[i], losses)
				checkFloats(t, train, l, &l.Lossy[i], losses)
				if len(l.Lossy[i].Power.Loops) > 0 {
					circles++
				}
			}
			switch l.Trouble {
			case solve.SelfLocking:
				locking++
			case solve.Ambiguous:
				several++
			case solve.LooseSpeeds:
				loose++
			case solve.TooMany:
				t.Error("too many directions")
			}
			if t.Failed() {
				t.Fatalf("seed %d, coasting %v, losses %v: %s", seed, l.Coasting, losses, describe(train, st))
			}
		}
	}
	t.Logf("%d loads, %d coasting, %d of them at a point of its own; %d shared, %d with loose members, %d self-locking, %d ambiguous, %d ways with circles",
		found, coasting, own, shared, loose, locking, several, circles)
	for what, n := range map[string]int{
		"coasting": coasting, "coasting at a point of its own": own, "shared": shared, "self-locking": locking, "circles": circles,
	} {
		if n < wanted/300 {
			t.Errorf("only %d of %s: the generator is too narrow", n, what)
		}
	}
}

// checkWay checks the equilibrium of every member, that power in is power out
// and losses, and that one-way clutches only push.
func checkWay(t *testing.T, train *kinematics.Train, l *solve.Load, w *solve.LoadSplit) {
	t.Helper()
	carrier := func(ml *solve.MeshLoad) kinematics.MemberID { return train.Gearsets[ml.Gearset].Carrier }
	sum := make([]*big.Rat, len(train.Members))
	for i := range sum {
		sum[i] = new(big.Rat)
	}
	add := func(m kinematics.MemberID, f exact.Frac) { sum[m].Add(sum[m], f.Rat()) }
	for i := range w.Meshes {
		ml := &w.Meshes[i]
		add(ml.A, ml.TorqueA)
		add(ml.B, ml.TorqueB)
		add(carrier(ml), ml.TorqueA.Add(ml.TorqueB).Neg())
	}
	for m, f := range w.Gears {
		if sum[m].Cmp(f.Rat()) != 0 {
			t.Errorf("the meshes of %s exert %v, not %v", train.Members[m].Name, sum[m], f)
		}
	}
	var carry []int
	for i, c := range train.Couplings {
		torque := w.Torque[i]
		add(c.A, torque)
		add(c.B, torque.Neg())
		if torque.Sign() == 0 {
			continue
		}
		carry = append(carry, i)
		switch mode := l.Motion.State.Modes[i]; {
		case mode == kinematics.Locked, mode == kinematics.Overruns && torque.Sign() > 0,
			mode == kinematics.Reversed && torque.Sign() < 0:
		default:
			t.Errorf("%s carries %v in mode %d", c.Name, torque, mode)
		}
		if !l.Motion.Slips[i].IsZero() {
			t.Errorf("%s slips by %v and carries %v", c.Name, l.Motion.Slips[i], torque)
		}
	}
	if !slices.Equal(carry, w.Carry) {
		t.Errorf("%v carry, the list says %v", carry, w.Carry)
	}
	add(l.Motion.State.Input, w.Input)
	add(l.Motion.State.Output, w.Output)
	for m := 1; m < len(sum); m++ {
		if sum[m].Sign() != 0 {
			t.Errorf("%s is not in equilibrium: %v is left over", train.Members[m].Name, sum[m])
		}
	}
	if w.Residual > 1e-12 {
		t.Errorf("residual %g", w.Residual)
	}
	p := w.Power
	if p == nil {
		if l.Trouble != solve.LooseSpeeds || len(l.Loose) == 0 {
			t.Error("no power")
		}
		return
	}
	if p.In.Cmp(p.Out.Add(p.Loss)) != 0 || p.Imbalance > 1e-9 {
		t.Errorf("power in %v, out %v, lost %v; imbalance %g", p.In, p.Out, p.Loss, p.Imbalance)
	}
	if p.Efficiency.Sign() <= 0 || p.Efficiency.Cmp(exact.NewFrac(1, 1)) > 0 {
		t.Errorf("efficiency %v", p.Efficiency)
	}
	zero := exact.NewFrac(0, 1)
	for g, set := range p.Sets {
		torque, power, loss := zero, zero, zero
		for _, x := range set.Members {
			torque, power = torque.Add(x.Torque), power.Add(x.Power)
			if x.Rolling.Add(x.Coupling).Cmp(x.Power) != 0 {
				t.Errorf("%s: %v rolls and %v couples of %v", train.Members[x.Member].Name, x.Rolling,
					x.Coupling, x.Power)
			}
		}
		for _, ml := range w.Meshes {
			if ml.Gearset == g {
				loss = loss.Add(ml.Loss)
				if ml.Loss.Sign() < 0 {
					t.Errorf("the mesh of %s and %s gains power", train.Members[ml.A].Name, train.Members[ml.B].Name)
				}
			}
		}
		if torque.Sign() != 0 || power.Cmp(set.Loss) != 0 || loss.Cmp(set.Loss) != 0 {
			t.Errorf("%s: torques add up to %v, powers to %v, losses to %v (%v)", train.Gearsets[g].Name,
				torque, power, loss, set.Loss)
		}
		if set.Rolling.Sign() == 0 && set.Loss.Sign() != 0 {
			t.Errorf("%s loses %v without rolling", train.Gearsets[g].Name, set.Loss)
		}
	}
	// Power that nowhere runs in a circle is nowhere more than what drives.
	if len(p.Loops) == 0 && p.Recirculates() {
		t.Errorf("%v of the power passes %s, but nothing runs in a circle", p.Largest.Share,
			train.Members[p.Largest.Member].Name)
	}
	for _, loop := range p.Loops {
		if loop.Share.Sign() <= 0 || loop.Share.Cmp(p.Largest.Share) > 0 || len(loop.Steps) < 2 {
			t.Errorf("a circle of %v with %d steps", loop.Share, len(loop.Steps))
		}
	}
}

// checkLossless: by virtual power on the real motion, the torques at input and
// output are as their speeds the other way round.
func checkLossless(t *testing.T, l *solve.Load, w *solve.LoadSplit) {
	t.Helper()
	if rest := w.Input.Add(w.Output.Mul(l.Motion.At.Output)); rest.Sign() != 0 {
		t.Errorf("torques %v and %v at speeds 1 and %v", w.Input, w.Output, l.Motion.At.Output)
	}
	if w.Power != nil && w.Power.Efficiency.Cmp(exact.NewFrac(1, 1)) != 0 {
		t.Errorf("efficiency %v without losses", w.Power.Efficiency)
	}
}

// checkLimit: without losses the answer with losses is the exact one, and with
// hardly any it is hardly another.
func checkLimit(t *testing.T, sys *solve.System, l *solve.Load) {
	t.Helper()
	if l.Trouble == solve.LooseSpeeds {
		return
	}
	again := func(losses solve.Losses) *solve.Load {
		if l.Coasting {
			return sys.Coasting(t.Context(), l.Motion.State, losses, solve.Limit{})
		}
		return sys.Pulling(t.Context(), l.Motion.State, losses, solve.Limit{})
	}
	none := again(solve.NoLosses())
	if diff := cmp.Diff(none.Ways, none.Lossy, cmp.Comparer(func(f, g exact.Frac) bool {
		return f == g ||
			f.Cmp(g) == 0
	})); diff != "" {
		t.Errorf("no losses (-exact +lossy):\n%s", diff)
	}
	const small = 1e-9
	hardly := exact.NewFrac(1e9-1, 1e9)
	for _, w := range again(solve.Losses{External: hardly, Internal: hardly, Chain: hardly}).Lossy {
		rolling := 0.0
		for _, set := range w.Power.Sets {
			rolling += set.Rolling.Float()
		}
		lost := 1 - w.Power.Efficiency.Float()
		// Four meshes in a row at most.
		if most := 4 * small * rolling / w.Power.In.Float(); lost < 0 || lost > most+1e-12 {
			t.Errorf("meshes that lose 1e-9 of a rolling power of %g lose %g", rolling, lost)
		}
	}
}

// compareCarrying compares with the statics of couplings alone. Those tell
// splines apart: ways that only go round a spline by way of elements are left out.
func compareCarrying(t *testing.T, sys *solve.System, l *solve.Load) {
	t.Helper()
	elements := func(e *solve.Equilibrium) (list []int) {
		for _, i := range e.Carry {
			if i < sys.Train.ElementCount {
				list = append(list, i)
			}
		}
		return list
	}
	text := func(e *solve.Equilibrium) (s string) {
		for _, i := range elements(e) {
			s += fmt.Sprintf("%d:%v ", i, e.Torque[i])
		}
		return s
	}
	list := whole(sys.Carrying(t.Context(), l.Motion, solve.Limit{}))
	want, got := map[string]bool{}, map[string]bool{}
	for i := range list {
		own := elements(&list[i])
		if !slices.ContainsFunc(list, func(e solve.Equilibrium) bool {
			other := elements(&e)
			return len(other) < len(own) && subset(other, own)
		}) {
			want[text(&list[i])] = true
		}
	}
	for i := range l.Ways {
		got[text(&l.Ways[i].Equilibrium)] = true
	}
	if fmt.Sprint(want) != fmt.Sprint(got) {
		t.Errorf("elements carry %v, by the statics of couplings %v", got, want)
	}
	if len(list) == 1 && len(l.Ways) == 1 {
		for i, torque := range l.Ways[0].Torque {
			if torque.Cmp(list[0].Torque[i]) != 0 {
				t.Errorf("%s carries %v, by the statics of couplings %v", sys.Train.Couplings[i].Name, torque,
					list[0].Torque[i])
			}
		}
	}
}

// driven returns the efficiency of a mesh and, from its torque and speed,
// whether gear a drives gear b.
func driven(train *kinematics.Train, w *solve.LoadSplit, i int, losses solve.Losses) (eta *big.Rat, aDrives bool) {
	ml := &w.Meshes[i]
	kind := kinematics.External
	switch {
	case train.Members[ml.A].Kind == kinematics.RingMember:
		kind = kinematics.Internal
	case train.Gearsets[ml.Gearset].Kind == kinematics.Pair:
		kind = train.Meshes[train.Gearsets[ml.Gearset].Meshes[0]].Kind
	}
	f := map[kinematics.MeshKind]exact.Frac{
		kinematics.External: losses.External, kinematics.Internal: losses.Internal, kinematics.Chain: losses.Chain,
	}[kind]
	if losses.Basic != nil {
		f = losses.Basic[ml.Gearset]
	}
	return f.Rat(), ml.TorqueA.Sign()*ml.Rolls.Sign() < 0
}

// lossFactors returns the factors of the teeth of gears a and b of every mesh
// that rolls under load.
func lossFactors(train *kinematics.Train, w *solve.LoadSplit, losses solve.Losses) (a, b []*big.Rat) {
	for i, ml := range w.Meshes {
		a, b = append(a, rat(1)), append(b, rat(1))
		if ml.TorqueA.Sign() == 0 || ml.Rolls.Sign() == 0 {
			continue
		}
		pinions := train.Members[ml.A].Kind == kinematics.PinionMember
		central := !pinions && train.Gearsets[ml.Gearset].Kind != kinematics.Pair
		eta, aDrives := driven(train, w, i, losses)
		switch {
		case losses.Basic != nil && pinions:
		case !aDrives:
			a[i] = eta
		case losses.Basic == nil || !central:
			b[i] = eta
		}
	}
	return a, b
}

// checkLossy: the driven side gets its share of what the driving side gives.
func checkLossy(t *testing.T, train *kinematics.Train, w *solve.LoadSplit, losses solve.Losses) {
	t.Helper()
	share := func(what string, gives, gets exact.Frac, eta *big.Rat) {
		if want := eta.Mul(eta, gives.Rat()); want.Cmp(gets.Neg().Rat()) != 0 {
			t.Errorf("%s: of %v the driven side gets %v", what, gives, gets.Neg())
		}
	}
	if losses.Basic != nil {
		for g, set := range w.Power.Sets {
			gives, gets, pinion := exact.NewFrac(0, 1), exact.NewFrac(0, 1), false
			for _, x := range set.Members {
				pinion = pinion || train.Members[x.Member].Kind == kinematics.PinionMember && x.Member != train.Gearsets[g].Carrier
				if x.Rolling.Sign() > 0 {
					gives = gives.Add(x.Rolling)
				} else {
					gets = gets.Add(x.Rolling)
				}
			}
			if !pinion {
				share(train.Gearsets[g].Name, gives, gets, losses.Basic[g].Rat())
			}
		}
		return
	}
	for i, ml := range w.Meshes {
		if ml.TorqueA.Sign() == 0 || ml.Rolls.Sign() == 0 {
			continue
		}
		eta, aDrives := driven(train, w, i, losses)
		intoA := ml.TorqueA.Mul(ml.Rolls) // power
		intoB := intoA.Add(ml.Loss).Neg()
		if aDrives {
			intoA, intoB = intoB, intoA
		}
		share(train.Members[ml.A].Name+" x "+train.Members[ml.B].Name, intoB.Neg(), intoA.Neg(), eta)
	}
}

// checkVirtualSpeeds is an independent way to the output torque: give every
// gear that loses torque as many teeth less as it loses, and let the engine of
// motion find the ratio of the train with these teeth. By virtual power on that
// motion the torques are as its speeds. No statics are used.
func checkVirtualSpeeds(t *testing.T, train *kinematics.Train, l *solve.Load, w *solve.LoadSplit,
	losses solve.Losses) {
	t.Helper()
	fa, fb := lossFactors(train, w, losses)
	other := *train
	other.Meshes = nil
	first := 0
	for g := range train.Gearsets {
		set := &train.Gearsets[g]
		n := 0
		for first+n < len(w.Meshes) && w.Meshes[first+n].Gearset == g {
			n++
		}
		other.Meshes = append(other.Meshes, alteredMeshes(train, set, w.Meshes[first:first+n],
			fa[first:first+n], fb[first:first+n])...)
		first += n
	}
	st := l.Motion.State.Clone()
	for i := range train.ElementCount {
		st.Modes[i] = kinematics.Open
		if w.Carries(i) {
			st.Modes[i] = kinematics.Locked
		}
	}
	o := solve.Compile(&other).Kernel().Outcome(st)
	ratio, drives := o.Ratio()
	if want := w.Output.Mul(w.Input.Inv()).Neg(); !drives || ratio.Cmp(want) != 0 {
		t.Errorf("output torque %v per input torque, by virtual speeds %v %v", want, o.Verdict, ratio)
	}
}

// alteredMeshes returns the meshes of a set with teeth times factors, without
// those that carry nothing.
func alteredMeshes(train *kinematics.Train, set *kinematics.Gearset, loads []solve.MeshLoad, fa,
	fb []*big.Rat) []kinematics.Mesh {
	var list []kinematics.Mesh
	put := func(m kinematics.Mesh, a, b *big.Rat) {
		a = new(big.Rat).Mul(a, rat(m.ZA))
		b = new(big.Rat).Mul(b, rat(m.ZB))
		scale := new(big.Int).Mul(a.Denom(), b.Denom())
		whole := func(r *big.Rat) int64 {
			return new(big.Int).Div(new(big.Int).Mul(r.Num(), scale),
				r.Denom()).Int64()
		}
		m.ZA, m.ZB = whole(a), whole(b)
		list = append(list, m)
	}
	quo := func(x, y *big.Rat) *big.Rat { return new(big.Rat).Quo(x, y) }
	loaded := false
	for _, ml := range loads {
		loaded = loaded || ml.TorqueA.Sign() != 0
	}
	for k, i := range set.Meshes {
		m := train.Meshes[i]
		switch {
		case !m.Path && loads[k].TorqueA.Sign() == 0 || !loaded:
		case !m.Path:
			put(m, fa[k], fb[k])
		default:
			// From the first central gear over one or two pinions to the k+1st.
			a, b := quo(fa[0], fb[0]), quo(fa[k+1], fb[k+1])
			if p, q := set.Gears[0].Pinion, set.Gears[k+1].Pinion; p != q {
				n := len(set.Gears)
				between := quo(fa[n], fb[n])
				if p == 1 {
					between.Inv(between)
				}
				a.Mul(a, between)
			}
			put(m, a, b)
		}
	}
	return list
}

// checkFloats solves the equations of all members for what is loaded with
// gonum, by least squares.
func checkFloats(t *testing.T, train *kinematics.Train, l *solve.Load, w *solve.LoadSplit, losses solve.Losses) {
	t.Helper()
	fa, fb := lossFactors(train, w, losses)
	var columns []map[kinematics.MemberID]float64
	var want []float64
	unknown := func(value exact.Frac, terms map[kinematics.MemberID]float64) {
		if value.Sign() == 0 {
			return
		}
		columns, want = append(columns, terms), append(want, value.Float())
	}
	for i, ml := range w.Meshes {
		// The torque on gear b follows from that on gear a by teeth and factors.
		if ml.TorqueA.Sign() == 0 {
			continue
		}
		b := ml.TorqueB.Float() / ml.TorqueA.Float()
		if losses.Basic == nil && ml.GivenB {
			for _, k := range train.Gearsets[ml.Gearset].Meshes {
				if m := train.Meshes[k]; m.A == ml.A && m.B == ml.B {
					fx, _ := fa[i].Float64()
					fy, _ := fb[i].Float64()
					b = float64(m.Kind.Sign()*m.ZB) * fy / (float64(m.ZA) * fx)
				}
			}
		}
		unknown(ml.TorqueA, map[kinematics.MemberID]float64{ml.A: 1, ml.B: b,
			train.Gearsets[ml.Gearset].Carrier: -1 - b})
	}
	for i, c := range train.Couplings {
		unknown(w.Torque[i], map[kinematics.MemberID]float64{c.A: 1, c.B: -1})
	}
	unknown(w.Output, map[kinematics.MemberID]float64{l.Motion.State.Output: 1})
	rows := len(train.Members) - 1 // without the housing
	a, rest := mat.NewDense(max(rows, len(columns)), len(columns), nil), mat.NewVecDense(max(rows, len(columns)), nil)
	for j, column := range columns {
		for m, x := range column {
			if m != kinematics.Housing {
				a.Set(int(m)-1, j, a.At(int(m)-1, j)+x)
			}
		}
	}
	rest.SetVec(int(l.Motion.State.Input)-1, -w.Input.Float())
	var got mat.VecDense
	if err := got.SolveVec(a, rest); err != nil {
		if _, ill := err.(mat.Condition); !ill {
			t.Errorf("gonum: %v", err)
		}
		return
	}
	scale := mat.Norm(&got, math.Inf(1))
	for j, x := range want {
		if math.Abs(got.AtVec(j)-x) > 1e-9*scale {
			t.Errorf("unknown %d is %.12g, gonum finds %.12g", j, x, got.AtVec(j))
		}
	}
}

// TestSelfLockingByHand: a carrier with stepped pinions on two suns of 99 and 100
// teeth, both meshing 20; the sun of 100 is held. With the carrier at 1 and rho =
// 100/99, the free sun a turns 1 - rho = -1/99. The teeth give, as seen from the
// carrier, Ta rho = -Tb without losses, and the carrier gets Tc = -Ta - Tb =
// (rho - 1) Ta. With a basic efficiency e either gear may be the driven one:
//
//	b drives a    Ta rho = -e Tb     Tc = (rho/e - 1) Ta
//	a drives b    Tb = -e rho Ta     Tc = (e rho - 1) Ta
//
// The carrier driving at e = 0.98 leaves (rho - 1)/(rho/e - 1) = 0.328859 of the
// power; with a drives b it would gain power. The sun driving leaves (e rho -
// 1)/(rho - 1): that is below 0 at 0.98, and 0.5 at 0.995. So at 0.98 the carrier
// drives the sun a hundred times slower, and the sun can never drive the carrier.
func TestSelfLockingByHand(t *testing.T) {
	b := kinematics.NewBuilder("hundred-to-one")
	b.StepPinions("set", kinematics.Step{Part: "a", Teeth: 99, PinionTeeth: 20},
		kinematics.Step{Part: "b", Teeth: 100, PinionTeeth: 20})
	b.Element("hold", kinematics.Brake, "set.b", kinematics.HousingName)
	b.Ports("set.carrier", "set.a")
	b.Train().Forward = -1
	train := build(t, b)
	sys, st := solve.Compile(train), train.Applying(0)
	for _, c := range []struct {
		num, den          int64
		pulling, coasting float64 // efficiency; 0 for self-locking
	}{
		{1, 1, 1, 1},
		{98, 100, (100./99 - 1) / (100./99/0.98 - 1), 0},
		{995, 1000, (100./99 - 1) / (100./99/0.995 - 1), 0.5},
	} {
		for _, l := range loadsOf(sys, st, basicLosses(train, c.num, c.den)) {
			want := c.pulling
			if l.Coasting {
				want = c.coasting
			}
			switch {
			case want == 0:
				if len(l.Lossy) != 0 || l.Trouble != solve.SelfLocking {
					t.Errorf("at %d/%d, coasting %v: trouble %d, want self-locking", c.num, c.den, l.Coasting,
						l.Trouble)
				}
			case len(l.Lossy) != 1:
				t.Errorf("at %d/%d, coasting %v: %d ways, trouble %d", c.num, c.den, l.Coasting, len(l.Lossy),
					l.Trouble)
			default:
				if got := l.Lossy[0].Power.Efficiency.Float(); math.Abs(got-want) > 1e-12 {
					t.Errorf("at %d/%d, coasting %v: efficiency %.9f, by hand %.9f", c.num, c.den, l.Coasting,
						got, want)
				}
			}
		}
	}
}

// One circle is enough to say that power recirculates, as is a set that handles more
// than the train is given.
func TestRecirculates(t *testing.T) {
	var none, circle, set solve.Power
	none.Largest.Share, none.Largest.Gearset = exact.Int(1), 0
	circle.Largest.Share, circle.Largest.Gearset = exact.Int(1), 0
	circle.Loops = make([]solve.Loop, 1)
	set.Largest.Share = exact.NewFrac(1001, 1000)
	if none.Recirculates() || !circle.Recirculates() || !set.Recirculates() {
		t.Errorf("recirculates: nothing %v, a circle %v, a set %v", none.Recirculates(), circle.Recirculates(),
			set.Recirculates())
	}
}
