package diagnosis_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"sync/atomic"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// What a range can do to people, straight from the engine. It shares no code with
// the planner of package diagnosis.
type doing struct {
	forward, backward bool // drives that way at light or full throttle, pushes against the pawl, or creeps
	rests             bool // at light or full throttle it does not drive
	tied              bool // at light or full throttle
	rolls, rollsBack  bool
}

// A watch says what ranges of a train do under hypotheses, once for each.
type watch struct {
	b      *bench
	reader *reading.Reader
	memo   map[string]doing
	live   []liveSuspect     // of the case at hand
	judged map[string]string // of the case at hand: by range and set-up
}

func (w *watch) does(h *diagnosis.Hypothesis, r int) doing {
	key := fmt.Sprint(id(h), r)
	d, known := w.memo[key]
	if !known {
		d = w.find(h, r)
		w.memo[key] = d
	}
	return d
}

func (w *watch) find(h *diagnosis.Hypothesis, r int) doing {
	t := w.b.t
	own := t.Ranges[r]
	if h.Command != nil {
		own = t.Ranges[h.Command[r]]
		own.Name = t.Ranges[r].Name
	}
	st := t.In(&own, h.Faults...)
	m := w.b.sys.Motion(st)
	d := doing{rolls: !m.CoastForward.Empty, rollsBack: !m.CoastBackward.Empty}
	drive := func(v solve.Verdict) {
		d.forward = d.forward || v == solve.Forward
		d.backward = d.backward || v == solve.Reverse
		d.tied = d.tied || v == solve.TieUp
		d.rests = d.rests || v != solve.Forward && v != solve.Reverse
	}
	f := w.reader.Read(&own, h.Faults...).Friction
	if f == nil || f.Missing != nil {
		drive(m.Verdict)
	} else {
		for _, share := range []kinematics.Share{w.b.a.Light, w.b.a.Full} {
			torque := f.Scale.Rated.Mul(exact.NewFrac(share.Num, share.Den))
			turned := func(out exact.Frac) solve.Verdict {
				return map[int]solve.Verdict{1: solve.Forward, -1: solve.Reverse, 0: solve.Neutral}[out.Sign()*t.Forward]
			}
			switch {
			case f.Gives && torque.Cmp(f.Give) >= 0:
				drive(turned(f.Given))
			case f.Gives, f.Drag.Sign() > 0 && torque.Cmp(f.Drag) < 0 && m.Drives():
				drive(solve.TieUp)
			case f.Limits && torque.Cmp(f.Limit) > 0:
				drive(turned(f.Flare))
			default:
				drive(m.Verdict)
			}
		}
		if f.Creeps {
			d.forward, d.backward = d.forward || f.Way > 0, d.backward || f.Way < 0
		}
	}
	free, pawl := st.Clone(), false
	for i := range t.ElementCount {
		if t.Couplings[i].Kind == kinematics.Pawl && st.Modes[i] == kinematics.Locked {
			free.Modes[i], pawl = kinematics.Open, true
		}
	}
	if pawl {
		v := w.b.sys.Motion(free).Verdict
		d.forward, d.backward = d.forward || v == solve.Forward, d.backward || v == solve.Reverse
	}
	return d
}

// unsafe says why a proposed test must not be made, "" if it may: the rule of the
// set-ups, written apart from the planner.
func (w *watch) unsafe(a *diagnosis.Answer, p *diagnosis.Proposal) string {
	t := w.b.t
	stalled := p.Kind == diagnosis.Line && p.When == diagnosis.WhenLoad
	atWork := p.Kind == diagnosis.Throttle || p.Kind == diagnosis.Stall || stalled
	switch p.SetUp {
	case diagnosis.EngineOff:
		if !slices.Contains([]diagnosis.TestKind{diagnosis.Rolling, diagnosis.Fluid, diagnosis.Air, diagnosis.Bench, diagnosis.Element, diagnosis.Connector, diagnosis.Switching}, p.Kind) {
			return "nothing runs with the engine off"
		}
		return ""
	case diagnosis.OnStands:
		if atWork {
			return "no full throttle on stands"
		}
		return ""
	}
	if slices.Contains([]diagnosis.TestKind{diagnosis.Rolling, diagnosis.PressureAt, diagnosis.CircuitTap, diagnosis.Line}, p.Kind) &&
		!(stalled && p.SetUp == diagnosis.Braked) {
		return "pushed with the engine on, or somebody under the vehicle on the ground"
	}
	way := []int{p.Range}
	if p.SetUp == diagnosis.Road {
		way = inSelector(t, p.Range)
		if p.Kind == diagnosis.Shifting {
			way = append(way, p.To)
		}
		for _, r := range way {
			if !seenUnbound(a, r) {
				return "speed in " + t.Ranges[r].Name + ", which has not shown that it does not bind"
			}
		}
		if r := upshift(t, way[len(way)-1]); r >= 0 {
			way = append(way, r)
		}
	}
	for i, r := range way {
		key := fmt.Sprint(r, p.SetUp, atWork)
		why, known := w.judged[key]
		if !known {
			why = w.inRange(a, r, p.SetUp, atWork)
			w.judged[key] = why
		}
		if why == "" && i > 0 && p.SetUp == diagnosis.Road {
			why = w.shift(a, way[i-1], r)
		}
		if why != "" {
			return why
		}
	}
	return ""
}

// inSelector lists the ranges up to one in the position of the selector that a driver takes for it:
// where it comes soonest, and if it does so in several, where it is the last.
func inSelector(t *kinematics.Train, r int) []int {
	way := []int{r}
	for last := 1; last <= len(t.Ranges); last++ {
		for _, ends := range []bool{true, false} {
			for _, pos := range t.Positions {
				if len(pos.Ranges) >= last && pos.Ranges[last-1] == r && (len(pos.Ranges) == last) == ends {
					return slices.Clone(pos.Ranges[:last])
				}
			}
		}
	}
	return way
}

// upshift is the range that the control may shift up to from one, -1 if the selector holds it.
func upshift(t *kinematics.Train, r int) int {
	way := inSelector(t, r)
	next := -1
	for _, pos := range t.Positions {
		if len(pos.Ranges) == len(way) && slices.Equal(pos.Ranges, way) {
			return -1
		}
		if next < 0 && len(pos.Ranges) > len(way) && slices.Equal(pos.Ranges[:len(way)], way) {
			next = pos.Ranges[len(way)]
		}
	}
	return next
}

// inRange says what forbids a set-up in a range: what was seen, or a live suspect.
func (w *watch) inRange(a *diagnosis.Answer, r int, s diagnosis.SetUp, atWork bool) string {
	healthy := w.does(&diagnosis.Hypothesis{}, r)
	for k := range a.Seen {
		if why := seenUnsafe(&a.Seen[k], r, healthy, s, atWork); why != "" {
			return why
		}
	}
	for _, x := range w.live {
		d := w.does(&x.s.Hypothesis, r)
		if why := dangerous(d, healthy, s, atWork, x.moves, true, w.b.t.Use); why != "" {
			return fmt.Sprintf("%s in %s with %s", why, w.b.t.Ranges[r].Name, x.s.Text(w.b.t))
		}
	}
	return ""
}

// shift says that a live suspect binds a shift.
func (w *watch) shift(a *diagnosis.Answer, from, to int) string {
	for _, x := range w.live {
		if a.Reply(&diagnosis.Test{Kind: diagnosis.Shifting, Range: from, To: to}, x.s).Key == "bind" {
			return fmt.Sprintf("the shift to %s binds with %s", w.b.t.Ranges[to].Name, x.s.Text(w.b.t))
		}
	}
	return ""
}

// A liveSuspect is one that counts where wheels can lock; moves says that it counts
// in everything.
type liveSuspect struct {
	s     *diagnosis.Suspect
	moves bool
}

// liveIn lists the suspects that nothing contradicts, and those above 0.1 % of the
// weight; above 1 % they count in everything.
func liveIn(a *diagnosis.Answer) []liveSuspect {
	total := 0.0
	for _, g := range a.Groups {
		for _, s := range g.Suspects {
			total += math.Exp(s.Score())
		}
	}
	var list []liveSuspect
	for _, g := range a.Groups {
		for _, s := range g.Suspects {
			weight, refuted := math.Exp(s.Score())/total, slices.Contains(s.Fits, diagnosis.Not)
			if !refuted || weight > 0.001 {
				list = append(list, liveSuspect{s, !refuted || weight > 0.01})
			}
		}
	}
	return list
}

// dangerous says what a range that does something can do in a set-up on the ground.
func dangerous(d, healthy doing, s diagnosis.SetUp, atWork, live, lives bool, use kinematics.Use) string {
	rests := !healthy.forward && !healthy.backward
	switch {
	case live && s != diagnosis.Braked && rests && (d.forward || d.backward):
		return "it moves"
	case live && s != diagnosis.Braked && (healthy.forward && !healthy.backward && d.backward || healthy.backward && !healthy.forward && d.forward):
		return "it moves the wrong way"
	case lives && atWork && d.tied && !healthy.tied:
		return "a bind is raced against"
	case lives && s == diagnosis.Road && (d.tied && !healthy.tied || healthy.rolls && !healthy.backward && !d.rolls || healthy.rollsBack && !healthy.forward && !d.rollsBack):
		return "wheels lock"
	case live && use == kinematics.InHoist && d.rests && (d.rolls || d.rollsBack):
		return "the load falls"
	}
	return ""
}

// seenUnbound says whether something seen in a range tells that it does not bind.
func seenUnbound(a *diagnosis.Answer, r int) bool {
	return slices.ContainsFunc(a.Seen, func(o diagnosis.Observation) bool {
		if o.Range != r || o.IsShift() || o.Shop != nil {
			return false
		}
		switch o.Word {
		case "forward", "reverse", "ok", "revs", "as", "ratio", "slips", "slips-light", "slips-full", "holds-full", "stall-runs",
			"engine-braking", "no-engine-braking", "coasts":
			return true
		}
		return false
	})
}

// seenUnsafe says what was seen in a range that forbids a set-up.
func seenUnsafe(o *diagnosis.Observation, r int, healthy doing, s diagnosis.SetUp, atWork bool) string {
	if o.Range != r || o.IsShift() || o.Shop != nil {
		return ""
	}
	moves := slices.Contains([]diagnosis.Word{"lurch", "lurch-forward", "lurch-backward", "creeps", "creeps-forward", "creeps-backward"}, o.Word) ||
		o.Word == "forward" && !healthy.forward || o.Word == "reverse" && !healthy.backward ||
		(o.Word == "ratio" || o.Word == "as") && !healthy.forward && !healthy.backward
	switch {
	case moves && s != diagnosis.Braked:
		return "it was seen to move"
	case (o.Word == "bind" || o.Word == "locks") && s == diagnosis.Road, o.Word == "bind" && atWork:
		return "it was seen to bind"
	}
	return ""
}

// No proposed test carries a hazard under a live suspect, or one that was seen, in
// its set-up: for every single fault of every train, and pairs of what it shows. A
// sample by default, of one train in five; of all with TIEUP_EXHAUSTIVE; all pairs with TIEUP_EXHAUSTIVE=1. The share of cases that are
// left without a proposal is committed; run the test with -update to write it anew.
func TestNoProposedTestHurts(t *testing.T) {
	all := os.Getenv("TIEUP_EXHAUSTIVE") == "1"
	var table bytes.Buffer
	fmt.Fprint(&table, `Cases left without a test. A case is two things that a single fault shows on a road test, of a sample; left are
those whose first suspects could still be told apart, or confirmed, by a test that no set-up carries.

  proposed      tests of the vehicle that would tell something and are proposed in a set-up that carries what can happen
  refused       those that no set-up carries, such as full throttle where a bind is possible
  on the road   no test on the road is proposed, one would tell something, and is refused
  at all        no test of the vehicle is proposed, neither a gauge at a tap, and one would tell something

`)
	fmt.Fprintf(&table, "%-36s %6s %8s %8s %12s %7s\n", "train", "cases", "proposed", "refused", "on the road", "at all")
	names := gearsets.Names()
	if !whole() {
		names = nil
		for _, train := range sampled(t) {
			names = append(names, train.Name)
		}
	}
	counted := make([][5]int, len(names))
	var ran atomic.Int32
	t.Run("trains", func(t *testing.T) {
		for i, name := range names {
			t.Run(name, func(t *testing.T) {
				if all {
					t.Parallel()
				}
				counted[i] = casesOf(t, name, all, rand.New(rand.NewPCG(3, uint64(slices.Index(gearsets.Names(), name)))))
				ran.Add(1)
			})
		}
	})
	var sum [5]int
	for i, name := range names {
		here := counted[i]
		fmt.Fprintf(&table, "%-36s %6d %8d %8d %12d %7d\n", name, here[0], here[1], here[2], here[3], here[4])
		for k := range sum {
			sum[k] += here[k]
		}
	}
	fmt.Fprintf(&table, "%-36s %6d %8d %8d %12d %7d\n", "all", sum[0], sum[1], sum[2], sum[3], sum[4])
	fmt.Fprintf(&table, "share of all cases left: on the road %.1f %%, at all %.1f %%\n", 100*float64(sum[3])/float64(sum[0]), 100*float64(sum[4])/float64(sum[0]))
	if all || int(ran.Load()) < len(names) {
		t.Log(table.String())
		return
	}
	upToDate(t, "testdata/without-a-test.txt", table.String(), names)
}

// casesOf looks at the cases of a train, and counts them.
func casesOf(t *testing.T, name string, all bool, rng *rand.Rand) [5]int {
	train := library(t, name)
	w := &watch{b: newBench(train, diagnosis.Default()), memo: map[string]doing{}}
	w.reader = reading.NewReader(w.b.sys)
	var here [5]int
	done := map[string]bool{}
	for _, s := range w.b.singles() {
		if s.Kind != diagnosis.Faulty {
			continue
		}
		seen := w.b.all.RoadTest(s)
		for _, p := range pairsOf(len(seen), all, rng) {
			key := seen[p[0]].Place(train) + "=" + seen[p[0]].Value(train) + " " + seen[p[1]].Place(train) + "=" + seen[p[1]].Value(train)
			if done[key] { // another fault shows the same
				continue
			}
			done[key] = true
			here[0]++
			w.check(t, []diagnosis.Observation{seen[p[0]], seen[p[1]]}, &here)
		}
	}
	return here
}

// pairsOf lists all pairs of n things, or one of them.
func pairsOf(n int, all bool, rng *rand.Rand) [][2]int {
	var pairs [][2]int
	for i := range n {
		for k := i + 1; k < n; k++ {
			pairs = append(pairs, [2]int{i, k})
		}
	}
	if !all && len(pairs) > 1 {
		rng.Shuffle(len(pairs), func(i, k int) { pairs[i], pairs[k] = pairs[k], pairs[i] })
		pairs = pairs[:1]
	}
	return pairs
}

// check looks at every test that is proposed in a case.
func (w *watch) check(t *testing.T, seen []diagnosis.Observation, counts *[5]int) {
	for k := range seen[1:] {
		if diagnosis.Compatible(w.b.t, seen[:k+1], seen[k+1]) != nil {
			return
		}
	}
	a := w.b.diagnose(seen...)
	w.live, w.judged = liveIn(a), map[string]string{}
	// Air, bench and element are made with the engine off, whatever is suspected.
	plan := must(a.Plan(t.Context(), 1000, func(x *diagnosis.Test) bool {
		return x.Kind != diagnosis.Air && x.Kind != diagnosis.Bench && x.Kind != diagnosis.Element
	}))
	counts[2] += len(plan.Refused)
	road := 0
	for i := range plan.Proposals {
		p := &plan.Proposals[i]
		counts[1]++
		if p.Kind.OnTheRoad() {
			road++
		}
		if why := w.unsafe(a, p); why != "" {
			t.Errorf("%s, seen %s and %s: %q (%s): %s", w.b.t.Name, seen[0].Place(w.b.t)+"="+seen[0].Value(w.b.t),
				seen[1].Place(w.b.t)+"="+seen[1].Value(w.b.t), p.Text(w.b.t), p.SetUp, why)
		}
	}
	refused := slices.ContainsFunc(plan.Refused, func(r diagnosis.Refusal) bool { return r.Test.Kind.OnTheRoad() })
	if road == 0 && refused {
		counts[3]++
	}
	if len(plan.Proposals) == 0 && len(plan.Refused) > 0 {
		counts[4]++
	}
}

// What it takes to judge and rank every test of the largest automatics, after a
// complaint that leaves most suspects live.
func BenchmarkPlan(b *testing.B) {
	for _, name := range []string{"overdrive-simpson-four-speed", "four-carrier-eight-speed"} {
		w := newBench(library(b, name), diagnosis.Default())
		seen := see(b, w.t, "R", "none")
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if len(w.diagnose(seen...).Next(3, nil)) == 0 {
					b.Fatal("no test is proposed")
				}
			}
		})
	}
}
