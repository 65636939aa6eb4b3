package diagnosis_test

import (
	"context"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
)

// What workshops do to tell two suspects apart: common practice, no source. After
// the complaint the test is among those proposed, and tells them apart as it should.
func TestSeparatingTests(t *testing.T) {
	const depot, simpson = "depot-shuttle-three-speed", "simpson-three-speed"
	for _, c := range []struct {
		name, train    string
		seen           []string
		a, b           string // the two suspects
		kind           diagnosis.TestKind
		where          string
		showsA, showsB string
	}{
		{"no drive in D: one-way or forward clutch, by manual 1", simpson, []string{"D1", "none"},
			"low-roller=slips", "forward=open", diagnosis.Position, "M1", "drives forward", "no drive, the engine revs freely"},
		{"no reverse: direct or low-reverse, by third", depot, []string{"R", "none"},
			"direct=open", "low-reverse=open", diagnosis.Gear, "D3", "2.45 (as D1)", "1.00"},
		{"no reverse: direct or low-reverse, by braking in manual 1", depot, []string{"R", "none"},
			"direct=open", "low-reverse=open", diagnosis.Coasting, "L1", "engine braking at 2.45", "no engine braking"},
		{"one-way slips or backwards: where it must overrun", simpson, []string{"D1", "none", "M1", "ok"},
			"low-roller=slips", "low-roller=reversed", diagnosis.Position, "D3", "drives forward", "binds"},
		{"one-way slips or backwards: coasting where it must hold", simpson, []string{"D1", "none", "M1", "ok"},
			"low-roller=slips", "low-roller=reversed", diagnosis.Coasting, "D1", "no engine braking", "engine braking at 2.48"},
		{"an element or its command: pressure at its tap", depot, []string{"D2", "as D1", "D3", "ok"},
			"intermediate=stuck@D1", "intermediate=stuck", diagnosis.PressureAt, "D1", "full pressure", "no pressure"},
	} {
		t.Run(c.name, func(t *testing.T) {
			train := library(t, c.train)
			b := newBench(train, diagnosis.Default())
			answer := b.diagnose(see(t, train, c.seen...)...)
			x, y := suspect(fault(t, train, c.a)), suspect(fault(t, train, c.b))
			r, err := train.FindRange(c.where)
			if err != nil {
				t.Fatal(err)
			}
			test := diagnosis.Test{Kind: c.kind, Range: r, Coupling: -1}
			if c.kind == diagnosis.PressureAt {
				test.Coupling = x.Faults[0].Coupling
			} else if !proposed(answer, test) {
				t.Errorf("not proposed: %s", test.Text(train))
			}
			if got := answer.Reply(&test, x).Text; got != c.showsA {
				t.Errorf("%s shows %q, want %q", c.a, got, c.showsA)
			}
			if got := answer.Reply(&test, y).Text; got != c.showsB {
				t.Errorf("%s shows %q, want %q", c.b, got, c.showsB)
			}
		})
	}
}

// proposed says whether a test is among all that would tell something.
func proposed(a *diagnosis.Answer, x diagnosis.Test) bool {
	for _, p := range must(a.Split(context.Background(), 1000, nil)) {
		if p.Test.Same(x) {
			return true
		}
	}
	return false
}

// A low brake that is stuck, or fed where it should not be, and a one-way clutch
// beside it that is seized do the same in every range: no test on the road tells
// them apart, and only tests in the workshop are proposed, the tap before the
// element in hand. Common practice, no source.
func TestOnlyTheElementTells(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, exactly())
	truth := suspect(fault(t, train, "low-reverse=stuck"))
	a := b.diagnose(b.all.RoadTest(truth)...)
	top := &a.Groups[0]
	var names []string
	for _, s := range top.Suspects {
		names = append(names, s.Name(train))
	}
	if got := strings.Join(names, " "); got != "low-reverse=stuck@P,N,D1,D2,D3 roller=seized low-reverse=stuck" {
		t.Fatalf("top group %s", got)
	}
	if !a.Indistinguishable(top) {
		t.Error("not said to be the same in every range")
	}
	list := a.Next(3, nil)
	if len(list) == 0 {
		t.Fatal("no test is proposed")
	}
	for _, p := range list {
		if !p.Kind.InShop() {
			t.Errorf("proposed: %s", p.Test.Text(train))
		}
	}
	if list[0].Kind != diagnosis.PressureAt {
		t.Errorf("first is proposed: %s", list[0].Test.Text(train))
	}
	if n := len(must(a.Split(t.Context(), 100, func(x *diagnosis.Test) bool { return !x.Kind.InShop() }))); n != 0 {
		t.Errorf("%d other tests would tell", n)
	}
}

// Effort 0 rules a kind of test out, and a cheaper test comes first.
func TestEffort(t *testing.T) {
	train := library(t, "simpson-three-speed")
	seen := see(t, train, "D1", "none")
	a := diagnosis.Default()
	a.Effort[diagnosis.Position] = 0
	for _, p := range must(newBench(train, a).diagnose(seen...).Split(t.Context(), 1000, nil)) {
		if p.Kind == diagnosis.Position {
			t.Fatalf("proposed though ruled out: %s", p.Test.Text(train))
		}
	}
	a = diagnosis.Default()
	a.Effort[diagnosis.Bench] = 1
	a.Effort[diagnosis.Position] = 50
	if first := must(newBench(train, a).diagnose(seen...).Split(t.Context(), 1, nil)); first[0].Kind == diagnosis.Position {
		t.Errorf("proposed first, at fifty times the effort: %s", first[0].Test.Text(train))
	}
}

// The circumstances put classes of causes first: a judgement of the trade, no data.
func TestCircumstances(t *testing.T) {
	for _, c := range []struct {
		name, train, place, word string
		when                     string
		first, second            string
	}{
		{"by themselves friction before joints", "simpson-three-speed", "D1", "none", "", "forward=open", "front.sun"},
		{"sudden and clean: joints first", "simpson-three-speed", "D1", "none", "sudden clean", "shell:front.sun=sheared", "forward=open"},
		{"sudden alone changes nothing", "simpson-three-speed", "D1", "none", "sudden", "forward=open", "shell:front.sun=sheared"},
		{"after a rebuild a clutch fitted backwards first", "simpson-three-speed", "D1", "none", "rebuilt", "low-roller=reversed", "low-roller=slips"},
		{"cold: what drags first", "depot-shuttle-three-speed", "N", "creeps", "cold", "forward=dragging 0.1", "forward=stuck"},
		{"hot: leaks first", "depot-shuttle-three-speed", "R", "none", "hot", "direct=open", "output:rear.ring=sheared"},
		{"burnt: worn friction first", "depot-shuttle-three-speed", "R", "none", "burnt", "direct=open", "output:rear.ring=sheared"},
	} {
		t.Run(c.name, func(t *testing.T) {
			train := library(t, c.train)
			b := newBench(train, diagnosis.Default())
			k := &diagnosis.Case{Train: train, Assume: b.a, Seen: see(t, train, c.place, c.word)}
			for _, w := range strings.Fields(c.when) {
				x, err := diagnosis.ParseCircumstance(k.Circumstances, w)
				if err != nil {
					t.Fatal(err)
				}
				k.Circumstances = append(k.Circumstances, x)
			}
			a := must(b.finder.Diagnose(t.Context(), k, diagnosis.Options{}))
			place := map[string]int{}
			n := 0
			for _, g := range a.Groups {
				for _, s := range g.Suspects {
					place[s.Name(train)] = n
					n++
				}
			}
			second := c.second
			if second == "front.sun" {
				second = "shell:front.sun=sheared"
			}
			i, ok := place[c.first]
			j, also := place[second]
			if !ok || !also || i > j {
				t.Errorf("%s stands at %d, %s at %d", c.first, i, second, j)
			}
			if c.when != "" && c.when != "sudden" && !strings.Contains(a.Class(a.Groups[0].Suspects[0]), "put first") {
				t.Errorf("the first suspect's class %q does not say why", a.Class(a.Groups[0].Suspects[0]))
			}
		})
	}
}

// "No drive in manual 1" is the forward clutch, or the low brake and its one-way
// clutch together: common practice, no source. The pair is no suspect while one
// fault explains as much; and where all that it does was seen, a broken joint
// still does: the elements test good then, also common practice.
func TestTwoFaultsAtOnce(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	lost := suspect(fault(t, train, "low-reverse=open"), fault(t, train, "roller=slips")).Hypothesis
	alone := suspect(fault(t, train, "forward=open")).Hypothesis
	a := b.diagnose(see(t, train, "L1", "none")...)
	if r := rank(a, &alone); r != 1 {
		t.Errorf("forward clutch: rank %d", r)
	}
	if r := rank(a, &lost); r != 0 || a.Searched != 1 {
		t.Errorf("a pair is listed where one fault explains as much: rank %d", r)
	}
	joint := suspect(fault(t, train, "shell:rear.sun=sheared")).Hypothesis
	a = b.diagnose(see(t, train, "L1", "none", "D1", "none", "R", "none", "D2", "ok", "D3", "ok")...)
	if r := rank(a, &joint); r != 1 || rank(a, &lost) != 0 {
		t.Errorf("rear sun off the shell: rank %d; the pair: rank %d", r, rank(a, &lost))
	}
	// No single fault loses third and the braking of low.
	both := suspect(fault(t, train, "direct=open"), fault(t, train, "low-reverse=open")).Hypothesis
	a = b.diagnose(see(t, train, "R", "none", "D2", "ok", "D3", "as D1", "L1", "ok, no-engine-braking")...)
	if r := rank(a, &both); r != 1 || a.Searched != 2 {
		t.Errorf("direct and low-reverse: rank %d", r)
	}
}

// A claim is refuted by what contradicts it, and by nothing else.
func TestClaim(t *testing.T) {
	train := library(t, "simpson-three-speed")
	b := newBench(train, diagnosis.Default())
	a := b.diagnose(see(t, train, "D1", "none", "M1", "ok", "D3", "ok")...)
	c := a.Claim([]kinematics.Fault{fault(t, train, "low-roller=reversed")})
	if got := c.Fits; got[0] != diagnosis.Fully || got[1] != diagnosis.Fully || got[2] != diagnosis.Not {
		t.Errorf("fits %v", got)
	}
	if c.Better == 0 {
		t.Error("nothing is said to be better")
	}
	if c := a.Claim([]kinematics.Fault{fault(t, train, "low-roller=slips")}); c.Better != 0 || c.Halves != 0 || c.Group == nil {
		t.Errorf("the right claim: %d better, %d halves", c.Better, c.Halves)
	}
}

// A lever off a detent looks like a stuck clutch: it is among the suspects, in
// front for its class.
func TestLever(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	a := b.diagnose(see(t, train, "N", "forward", "R", "none", "D1", "ok")...)
	first := a.Groups[0].Suspects[0]
	if first.Lever != 1 || first.Kind != diagnosis.WrongWay {
		t.Errorf("first: %s", first.Text(train))
	}
}

// A shift that flares while every range is as it should be is badly timed.
func TestTiming(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	b := newBench(train, diagnosis.Default())
	a := b.diagnose(see(t, train, "D2-D3", "flare", "D2", "ok", "D3", "ok")...)
	first := a.Groups[0].Suspects[0]
	if first.Kind != diagnosis.Timing || !first.Late || !strings.Contains(first.Text(train), "direct holds too late") {
		t.Errorf("first: %s", first.Text(train))
	}
	// Without the direct clutch the third range falls back to first: it flares,
	// whatever the timing, but third is not as it should be.
	open := suspect(fault(t, train, "direct=open"))
	if got := a.Claim(open.Faults).Fits; got[0] != diagnosis.Fully || got[2] != diagnosis.Not {
		t.Errorf("direct never holds: fits %v", got)
	}
	// Stuck on, the intermediate band binds the shift.
	bind := b.diagnose(see(t, train, "D2-D3", "bind")...)
	if got := bind.Claim([]kinematics.Fault{fault(t, train, "intermediate=stuck")}).Fits[0]; got != diagnosis.Fully {
		t.Errorf("intermediate stuck on: %v", got)
	}
	if got := bind.Claim(nil).Fits[0]; got != diagnosis.Partly {
		t.Errorf("healthy: %v", got)
	}
}
