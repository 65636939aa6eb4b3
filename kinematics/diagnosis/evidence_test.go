package diagnosis_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
)

// evidenceTrains are those on which random evidence is tried.
var evidenceTrains = []string{"depot-shuttle-three-speed", "simpson-three-speed", "lepelletier-six-speed", "ravigneaux-four-speed", "interlinked-four-speed"}

// randomFault is a single fault of the kinds that a claim can have: in all ranges or some,
// and weak or dragging to any degree.
func randomFault(train *kinematics.Train, rng *rand.Rand) kinematics.Fault {
	i := rng.IntN(train.ElementCount)
	kinds := train.FaultKinds(i)
	f := kinematics.Fault{Coupling: i, Kind: kinds[rng.IntN(len(kinds))]}
	switch f.Kind {
	case kinematics.Weak:
		f.Share = kinematics.Share{Num: 1 + rng.Int64N(12), Den: 20}
	case kinematics.Dragging:
		f.Share = kinematics.Share{Num: 1 + rng.Int64N(3), Den: 20}
	case kinematics.Backward, kinematics.Missing:
		return f
	}
	applied := func(r int) bool {
		return slices.Contains(train.Ranges[r].Apply, i) == (f.Kind == kinematics.OpenF || f.Kind == kinematics.Weak)
	}
	if rng.IntN(2) == 0 {
		for r := range train.Ranges {
			if (applied(r) || train.Couplings[i].Kind == kinematics.OneWay) && rng.IntN(2) == 0 {
				f.Ranges = append(f.Ranges, train.Ranges[r].Name)
			}
		}
	}
	return f
}

// Some of what a full road test shows of a random fault, in some ranges or all and to any
// degree: the truth agrees with everything, so does the first group, and a suspect there
// stands for the truth. So the list and a claim have one space of hypotheses.
func TestClosedLoopOfClaims(t *testing.T) {
	const each = 60
	for _, name := range evidenceTrains {
		train := library(t, name)
		b := newBench(train, exactly())
		rng := rand.New(rand.NewPCG(14, 3))
		partial := 0
		for range each {
			truth := suspect(randomFault(train, rng))
			var seen []diagnosis.Observation
			for _, o := range b.all.RoadTest(truth) {
				if rng.IntN(3) > 0 {
					seen = append(seen, o)
				}
			}
			a := b.diagnose(seen...)
			c := a.Claim(truth.Faults)
			text := func() string {
				var words []string
				for i := range seen {
					words = append(words, seen[i].Place(train)+"="+seen[i].Value(train))
				}
				return train.FaultText(truth.Faults[0]) + ", seen " + strings.Join(words, " ")
			}
			switch {
			case c.Halves != 0:
				t.Errorf("%s: %s does not agree with what it shows: %v", name, text(), c.Fits)
			case a.Groups[0].Halves() != 0:
				t.Errorf("%s: %s: the first group is %s", name, text(), a.Groups[0].Suspects[0].Text(train))
			case a.Listed(c.Suspect) == nil || a.Listed(c.Suspect).Halves != 0:
				t.Errorf("%s: %s: no suspect stands for it", name, text())
			}
			if len(truth.Faults[0].Ranges) > 1 {
				partial++
			}
		}
		if partial < each/10 {
			t.Errorf("%s: only %d faults in some ranges", name, partial)
		}
	}
}

// 10,000 single hypotheses against observations of random ranges: what the list says of a
// suspect is what a claim of it says, and a claim that agrees with everything is listed.
func TestListAndClaimAgree(t *testing.T) {
	asked := 0
	words := []string{"ok", "forward", "none", "revs", "bind", "slips", "slips-full", "holds-full", "engine-braking", "no-engine-braking", "2.0", "loaded", "slips hot", "ok cold"}
	for _, name := range evidenceTrains {
		train := library(t, name)
		b := newBench(train, diagnosis.Default())
		rng := rand.New(rand.NewPCG(14, 4))
		for here := 0; here < 2000; {
			var seen []diagnosis.Observation
			for range 1 + rng.IntN(3) {
				o := see(t, train, train.Ranges[rng.IntN(len(train.Ranges))].Name, words[rng.IntN(len(words))])
				if diagnosis.Compatible(train, seen, o[0]) == nil {
					seen = append(seen, o...)
				}
			}
			a := b.diagnose(seen...)
			for _, g := range a.Groups {
				for _, s := range g.Suspects {
					if s.Kind != diagnosis.Faulty || s.Raced || rng.IntN(3) > 0 {
						continue
					}
					here++
					c := a.Claim(s.Faults)
					listed := a.Listed(c.Suspect)
					if c.Halves != s.Halves || c.Group == nil || c.Group.Rank != g.Rank || c.Better != g.Rank-1 || listed == nil || listed.Text(train) != s.Text(train) {
						t.Errorf("%s: %s is listed in rank %d, the claim says %d better, %d halves, not %d", name, s.Text(train), g.Rank, c.Better, c.Halves, s.Halves)
					}
				}
			}
			for range 20 {
				here++
				f := randomFault(train, rng)
				c := a.Claim([]kinematics.Fault{f})
				if listed := a.Listed(c.Suspect); c.Halves == 0 && (listed == nil || listed.Halves != 0) {
					t.Errorf("%s: %s agrees with everything and is not listed", name, train.FaultText(f))
				}
			}
		}
		asked += 2000
	}
	if asked < 10000 {
		t.Errorf("only %d hypotheses asked", asked)
	}
}

// A ratio between the gear and what it flares to, of an element that is weak: the element
// agrees by slip, and nothing agrees better. Ratios beyond are refuted. The bounds are those
// of the states with the element locked and open, by the slow and thorough way.
func TestSlipRatios(t *testing.T) {
	checked := 0
	for _, name := range evidenceTrains {
		train := library(t, name)
		b := newBench(train, exactly())
		for r := range train.Ranges {
			rng := &train.Ranges[r]
			locked := b.sys.Motion(train.In(rng))
			own, drives := locked.Ratio()
			if !drives {
				continue
			}
			for _, e := range rng.Apply {
				if !train.Couplings[e].Kind.Friction() {
					continue
				}
				open := b.sys.Motion(train.In(rng, kinematics.Fault{Coupling: e, Kind: kinematics.OpenF}))
				limit, runsTo := open.Ratio()
				if runsTo && limit.Cmp(own) == 0 || open.Drives() && open.Verdict != locked.Verdict {
					continue
				}
				weak := []kinematics.Fault{{Coupling: e, Kind: kinematics.Weak, Share: kinematics.Share{Num: 1, Den: 100}}}
				if runsTo {
					own, limit := own.Abs(), limit.Abs()
					checked++
					between := own.Add(limit).Mul(exact.NewFrac(1, 2))
					fit(t, b, rng.Name, between, "", weak, diagnosis.BySlip)
					fit(t, b, rng.Name, limit.Mul(exact.NewFrac(11, 10)), "", weak, diagnosis.Not)
					fit(t, b, rng.Name, own.Mul(exact.NewFrac(9, 10)), " pulling", weak, diagnosis.Not)
				} else {
					checked++
					fit(t, b, rng.Name, own.Abs().Mul(exact.Int(3)), "", weak, diagnosis.BySlip)
				}
			}
		}
	}
	if checked < 30 {
		t.Errorf("only %d elements", checked)
	}
}

// fit checks how a ratio in a range fits faults.
func fit(t *testing.T, b *bench, where string, ratio exact.Frac, condition string, faults []kinematics.Fault, want diagnosis.Fit) {
	t.Helper()
	n, d, _ := ratio.Small()
	seen := see(t, b.t, where, fmt.Sprintf("%d/%d%s", n, d, condition))
	c := b.diagnose(seen...).Claim(faults)
	if c.Fits[0] != want && !(want == diagnosis.BySlip && c.Fits[0] == diagnosis.Fully) {
		t.Errorf("%s: %s=%s%s fits %s %v, want %v", b.t.Name, where, ratio, condition, b.t.FaultText(faults[0]), c.Fits[0], want)
	}
	if want == diagnosis.BySlip && c.Better > 0 {
		for _, g := range b.diagnose(seen...).Groups[:1] {
			if g.Fits()[0] != diagnosis.Fully {
				t.Errorf("%s: %s=%s: %d groups before %s", b.t.Name, where, ratio, c.Better, b.t.FaultText(faults[0]))
			}
		}
	}
}

// Low pressure of any degree, and none, is found back from what it shows in every range.
func TestClosedLoopOfPressure(t *testing.T) {
	for _, train := range sampled(t) {
		b := newBench(train, exactly())
		for _, degree := range []int64{0, 5, 15, 25, 35, 45, 55, 60} {
			truth := &diagnosis.Suspect{}
			for _, s := range b.singles() {
				if s.Kind != diagnosis.Pressure || (s.Faults[0].Kind == kinematics.OpenF) != (degree == 0) {
					continue
				}
				truth.Hypothesis = s.Hypothesis
				truth.Faults = slices.Clone(s.Faults)
				for i := range truth.Faults {
					if degree > 0 {
						truth.Faults[i].Share = kinematics.Share{Num: degree, Den: 100}
					}
				}
			}
			if truth.Faults == nil {
				continue
			}
			a := b.diagnose(b.all.RoadTest(truth)...)
			top := a.Groups[0]
			if top.Halves() != 0 || !slices.ContainsFunc(top.Suspects, func(s *diagnosis.Suspect) bool { return s.Kind == diagnosis.Pressure || s.Kind == diagnosis.Healthy }) {
				t.Errorf("%s: pressure of %d %%: %s, %d halves", train.Name, degree, top.Suspects[0].Text(train), top.Halves())
			}
		}
	}
}

// A gear torn off the shell on which two elements sit is a suspect, where no joint is
// named: reverse and second are lost at once, and the elements test good.
func TestTornGear(t *testing.T) {
	train := library(t, "interlinked-four-speed")
	b := newBench(train, diagnosis.Default())
	a := b.diagnose(see(t, train, "R", "none", "D2", "none", "D1", "ok", "D3", "ok", "air:reverse", "good", "air:front-sun", "good", "pressure:reverse@R", "fed", "pressure:front-sun@D2", "fed")...)
	named := slices.ContainsFunc(a.Groups[0].Suspects, func(s *diagnosis.Suspect) bool { return s.Short(train) == "front.sun torn off" })
	if a.Groups[0].Halves() != 0 || !named {
		t.Errorf("front.sun is not in the first group, %d halves", a.Groups[0].Halves())
	}
	// It does in every range what the gear does that turns free of both elements.
	for r := range train.Ranges {
		both := []kinematics.Fault{fault(t, train, "reverse=open"), fault(t, train, "front-sun=open")}
		want := b.sys.Motion(train.In(&train.Ranges[r], both...))
		for _, s := range a.Groups[0].Suspects {
			if got := a.Behaviour(s, r); s.Kind == diagnosis.Torn && got.Light.Verdict != want.Verdict {
				t.Errorf("%s: %s, want %s", train.Ranges[r].Name, got.Light.Verdict, want.Verdict)
			}
		}
	}
}

// A gear on which a one-way clutch sits, too, and a carrier, can be torn off: in every range
// and with the engine off that is what a train does whose file joins the gear to a hub, under
// the fault of that joint. In D3 both overdrive-direct and its roller hold the hub.
func TestTornOffIsASheared(t *testing.T) {
	for _, x := range []struct{ name, gear string }{
		{"overdrive-simpson-four-speed", "od.sun"}, {"overdrive-simpson-four-speed", "rear.carrier"},
		{"ravigneaux-four-speed", "rv.sun-long"}, {"ravigneaux-four-speed", "rv.carrier"},
		{"hub-three-speed", "hub.ring"}, {"hub-five-speed", "hub.carrier"}, {"three-carrier-five-speed", "centre.sun"},
		{"depot-shuttle-three-speed", "rear.carrier"},
	} {
		src, err := os.ReadFile("../../gearsets/library/" + x.name + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		head, elements, _ := strings.Cut(string(src), "\nelements:")
		elements, tail, _ := strings.Cut(elements, "\nranges:")
		head = strings.Replace(head, "shafts: [", "shafts: [hub0, ", 1)
		if strings.Contains(head, "\njoined:\n") {
			head = strings.Replace(head, "\njoined:\n", "\njoined:\n  torn0: [hub0, "+x.gear+"]\n", 1)
		} else {
			head += "\njoined:\n  torn0: [hub0, " + x.gear + "]"
		}
		elements = regexp.MustCompile(regexp.QuoteMeta(x.gear)+`\b`).ReplaceAllString(elements, "hub0")
		file, err := gearsets.Read("joined.yaml", []byte(head+"\nelements:"+elements+"\nranges:"+tail))
		if err != nil {
			t.Fatal(x.name, err)
		}
		want := file.Train
		if want == nil {
			t.Fatal(x.name, file.Problems)
		}
		train := library(t, x.name)
		b, joined := newBench(train, diagnosis.Default()), newBench(want, diagnosis.Default())
		find := func(b *bench, is func(*diagnosis.Suspect) bool) *diagnosis.Suspect {
			i := slices.IndexFunc(b.singles(), is)
			if i < 0 {
				t.Fatalf("%s: %s is no suspect", x.name, x.gear)
			}
			return b.singles()[i]
		}
		torn := find(b, func(s *diagnosis.Suspect) bool { return s.Short(train) == x.gear+" torn off" })
		off := find(joined, func(s *diagnosis.Suspect) bool {
			return s.Kind == diagnosis.Faulty && strings.HasPrefix(want.Couplings[s.Faults[0].Coupling].Name, "torn0:")
		})
		for r := range train.Ranges {
			wantReads, wantCoast := joined.all.Prediction(off, r)
			if reads, coast := b.all.Prediction(torn, r); reads != wantReads || coast != wantCoast {
				t.Errorf("%s: %s in %s: %s, %s; want %s, %s", x.name, x.gear, train.Ranges[r].Name, reads, coast, wantReads, wantCoast)
			}
		}
		if diff := cmp.Diff(signs(joined, off), signs(b, torn)); diff != "" {
			t.Errorf("%s: %s\n%s", x.name, x.gear, diff)
		}
	}
}

// signs are what a suspect shows on the road and in the workshop, but for tests of one part.
func signs(b *bench, s *diagnosis.Suspect) []string {
	var list []string
	for _, o := range b.all.RoadTest(s) {
		list = append(list, o.Place(b.t)+"="+o.Value(b.t))
	}
	for r := range b.t.Ranges {
		x := diagnosis.Test{Kind: diagnosis.Rolling, SetUp: diagnosis.EngineOff, Range: r, To: -1}
		list = append(list, b.t.Ranges[r].Name+" off: "+b.all.Reply(&x, s).Text)
		for _, turning := range []diagnosis.Turning{diagnosis.HeldOutput, diagnosis.FreeOutput, diagnosis.BackInput} {
			x := diagnosis.Test{Kind: diagnosis.Bench, Range: -1, To: -1, Apply: b.t.Ranges[r].Apply, Turning: turning}
			list = append(list, b.t.Ranges[r].Name+" by hand: "+b.all.Reply(&x, s).Text)
		}
	}
	return list
}

// Two faults that both act in some ranges only are found where nothing less explains what was
// seen, and each in the fewest ranges.
func TestTwoFaultsInSomeRanges(t *testing.T) {
	train := library(t, "lepelletier-six-speed")
	b := newBench(train, diagnosis.Default())
	a := b.diagnose(see(t, train, "D1", "ok", "D2", "revs", "D3", "ok", "D4", "ok", "D5", "revs", "D6", "ok", "R", "ok")...)
	var got []string
	for _, s := range a.Groups[0].Suspects {
		got = append(got, s.Short(train))
	}
	slices.Sort(got)
	want := []string{"forward off in D2 + four-five-six off in D5", "forward off in D2 + three-five-reverse off in D5",
		"three-five-reverse off in D5 + two-six off in D2", "two-six off in D2 + four-five-six off in D5"}
	if diff := cmp.Diff(want, got); diff != "" || a.Groups[0].Halves() != 0 {
		t.Errorf("%d halves\n%s", a.Groups[0].Halves(), diff)
	}
}

// Where no pressure applies the elements there is no fluid to suspect and no air to apply them
// with, and a one-way clutch is never said to be off.
func TestWordsWithoutPressure(t *testing.T) {
	for _, name := range gearsets.Names() {
		train := library(t, name)
		b := newBench(train, diagnosis.Default())
		pressure := slices.ContainsFunc(b.singles(), func(s *diagnosis.Suspect) bool { return s.Kind == diagnosis.Pressure })
		if pressure && train.Drive != kinematics.Converter {
			t.Errorf("%s: low pressure is suspected", name)
		}
		x := diagnosis.Test{Kind: diagnosis.Bench, Range: -1, To: -1, Apply: train.Ranges[0].Apply}
		if text := x.Text(train); strings.Contains(text, "by air") && train.Drive != kinematics.Converter {
			t.Errorf("%s: %s", name, text)
		}
		for i := range train.ElementCount {
			h := diagnosis.Hypothesis{Kind: diagnosis.Faulty, Faults: []kinematics.Fault{
				{Coupling: i, Kind: kinematics.Slips, Ranges: []string{train.Ranges[0].Name}}}}
			c := &train.Couplings[i]
			if c.Kind != kinematics.OneWay || c.Switched {
				continue
			}
			if short, text := h.Short(train), h.Text(train); short != c.Name+" slips in "+train.Ranges[0].Name ||
				!strings.Contains(text, " slips in ") {
				t.Errorf("%s: %s; %s", name, short, text)
			}
		}
	}
}

// A one-way clutch does not hold cold what it does not hold hot, in one range as in all.
func TestColdDoesNotMendAOneWayClutch(t *testing.T) {
	train := library(t, "simpson-three-speed")
	a := newBench(train, diagnosis.Default()).diagnose(see(t, train, "D1", "slips hot,ok cold", "R", "ok hot")...)
	for _, s := range a.Groups[0].Suspects {
		if strings.Contains(s.Short(train), "low-roller") {
			t.Errorf("first: %s", s.Short(train))
		}
	}
}

// Line pressure is measured at idle first and at stall last, and not at stall where the fluid
// is burnt, where something slips or binds, or where a worn element is as likely to slip.
func TestLinePressureAtStallComesLast(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	stall := []string{"R", "reverse,stall-runs", "D1", "forward,stall-runs"}
	for _, c := range []struct {
		seen []string
		want bool
	}{
		{stall, true},
		{append(stall[:4:4], "fluid", "burnt"), false},
		{append(stall[:4:4], "D2", "slips"), false},
		{append(stall[:4:4], "N", "bind"), false},
		{[]string{"R", "reverse,stall-runs", "D1", "ok", "D3", "ok", "L1", "ok"}, false},
	} {
		var idle, stalled []int
		for i, p := range b.diagnose(see(t, train, c.seen...)...).Next(1000, nil) {
			switch {
			case p.Kind == diagnosis.Line && p.When == diagnosis.WhenLoad:
				stalled = append(stalled, i)
				if p.SetUp != diagnosis.Braked {
					t.Errorf("%v: %s %s", c.seen, p.Test.Text(train), p.SetUp)
				}
			case p.Kind == diagnosis.Line:
				idle = append(idle, i)
			}
		}
		if (stalled != nil) != c.want {
			t.Errorf("%v: at stall %v", c.seen, stalled)
		}
		if stalled != nil && (idle == nil || slices.Max(idle) > stalled[0]) {
			t.Errorf("%v: idling %v, at stall %v", c.seen, idle, stalled)
		}
	}
}

// Pressure too high is a suspect where engagements are harsh: it explains them all, and
// nothing that does not drive.
func TestHighPressure(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	first := b.diagnose(see(t, train, "N-R", "harsh", "N-D", "harsh", "D1-D2", "harsh")...).Groups[0].Suspects[0]
	if first.Kind != diagnosis.HighPressure || first.Halves != 0 {
		t.Errorf("first: %s", first.Text(train))
	}
	first = b.diagnose(see(t, train, "N-R", "harsh", "R", "none")...).Groups[0].Suspects[0]
	if first.Kind == diagnosis.HighPressure {
		t.Errorf("first: %s", first.Text(train))
	}
}

// A fault in all ranges and one in some at once are found back from a full road test, as
// far as they do not hide each other: the truth agrees with everything, so does a group,
// and a suspect stands for the truth, unless one fault or two in all ranges explain as much.
func TestClosedLoopOfPairsInSomeRanges(t *testing.T) {
	const each = 40
	pairs := 0
	for _, name := range evidenceTrains {
		train := library(t, name)
		b := newBench(train, exactly())
		rng := rand.New(rand.NewPCG(14, 5))
		faults := train.SingleFaults()
		for n := 0; n < each; {
			f, g := faults[rng.IntN(len(faults))], randomFault(train, rng)
			if g.Ranges == nil || g.Share.IsSet() || f.Coupling == g.Coupling {
				continue
			}
			n++
			a := b.diagnose(b.all.RoadTest(suspect(f, g))...)
			c := a.Claim([]kinematics.Fault{f, g})
			whole := func(g diagnosis.Group) bool { return g.Halves() == 0 }
			if c.Halves != 0 || !slices.ContainsFunc(a.Groups, whole) {
				t.Errorf("%s: %s and %s: %d halves, and nothing agrees with everything", name, train.FaultText(f),
					train.FaultText(g), c.Halves)
			}
			if first := a.Groups[0].Suspects[0]; first.Count() == 1 || first.Kind != diagnosis.Faulty || first.Faults[1].Ranges == nil {
				continue
			}
			pairs++
			if listed := a.Listed(c.Suspect); listed == nil || listed.Halves != 0 {
				t.Errorf("%s: %s and %s: no suspect stands for it", name, train.FaultText(f), train.FaultText(g))
			}
		}
	}
	if pairs < each {
		t.Errorf("only %d pairs were needed", pairs)
	}
}

// A set of ranges that can follow a circuit of the controls counts as one thing that is
// wrong, as one that can follow a position does; any other counts each further range.
func TestSetsThatFollowACircuit(t *testing.T) {
	train := library(t, "lepelletier-six-speed")
	b := newBench(train, diagnosis.Default())
	for _, c := range []struct {
		seen, claim string
		want        int
	}{
		{"D3 slips D5 slips R ok D2 ok", "three-five-reverse=open@D3,D5", 0}, // circuit three-five
		{"D4 slips D6 slips D5 ok D1 ok", "four-five-six=open@D4,D6", 1},
	} {
		f := fault(t, train, c.claim)
		found := false
		for _, g := range b.diagnose(see(t, train, strings.Fields(c.seen)...)...).Groups {
			for _, s := range g.Suspects {
				if s.Kind == diagnosis.Faulty && train.FaultText(s.Faults[0]) == c.claim {
					found = true
					if s.Further() != c.want {
						t.Errorf("%s: %d further ranges, want %d", train.FaultText(f), s.Further(), c.want)
					}
				}
			}
		}
		if !found {
			t.Errorf("%s is not listed", c.claim)
		}
	}
}
