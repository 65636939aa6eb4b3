package controls_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// library opens a train of the library.
func library(t testing.TB, name string) *kinematics.Train {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	return train
}

func area(from string) []controls.Area { return []controls.Area{{From: from}} }

func on(names ...string) []controls.Pattern { return []controls.Pattern{{On: names}} }

// overdrive is the classic layout of two solenoids and three valves on the
// overdrive-simpson-four-speed.
func overdrive() *controls.Spec {
	return &controls.Spec{
		Solenoids: []controls.Solenoid{{Name: "S1"}, {Name: "S2"}},
		Circuits: []controls.Circuit{
			{Name: "drive", From: "lever(D 2 L)"},
			{Name: "reverse", From: "lever(R)"},
			{Name: "second", From: "drive and valve-12"},
			{Name: "third", From: "drive and valve-23"},
			{Name: "coast", From: "second and lever(2) and not valve-23"},
			{Name: "low", From: "drive and lever(L) and not valve-23"},
		},
		Valves: []controls.Valve{
			{Name: "valve-12", Up: "S2 or valve-23"},
			{Name: "valve-23", Up: "not S1 and not lever(L)"},
			{Name: "valve-34", Up: "not S2 and valve-23", Down: "not lever(D)"},
		},
		Balls: []controls.Ball{{Name: "low-ball", From: []string{"reverse", "low"}}, {Name: "direct-ball", From: []string{"reverse", "third"}}},
		Feeds: []controls.Feed{
			{Element: "overdrive-direct", Apply: area("line"), Release: "valve-34"},
			{Element: "overdrive-brake", Apply: area("valve-34")},
			{Element: "forward", Apply: area("drive")},
			{Element: "direct", Apply: area("direct-ball")},
			{Element: "second", Apply: area("second")},
			{Element: "second-coast", Apply: area("coast")},
			{Element: "low-reverse", Apply: area("low-ball")},
		},
		Neighbours: [][2]string{{"drive", "second"}},
		Commands: []controls.Command{
			{Range: "P", Patterns: on("S1")}, {Range: "R", Patterns: on("S1")}, {Range: "N", Patterns: on("S1")},
			{Range: "D1", Patterns: on("S1")}, {Range: "D2", Patterns: on("S1", "S2")}, {Range: "D3", Patterns: on("S2")},
			{Range: "D4", Patterns: on()}, {Range: "M1", Patterns: on("S1")}, {Range: "M2", Patterns: on("S1", "S2")},
		},
	}
}

func compile(t testing.TB, train *kinematics.Train, s *controls.Spec) *controls.Network {
	t.Helper()
	n, problems := controls.Compile(train, s)
	for _, p := range problems {
		t.Log(p)
	}
	if n == nil {
		t.Fatal("refused")
	}
	return n
}

// parse reads faults.
func faults(t testing.TB, n *controls.Network, texts ...string) []controls.Fault {
	t.Helper()
	var list []controls.Fault
	for _, text := range texts {
		f, err := n.ParseFault(text)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, f)
	}
	return list
}

// fed lists what a range gets under faults, the ways it can come to parted by "; ", a
// low one with "low" behind it, an unknown one with a question mark.
func fed(t testing.TB, a *controls.Answer, position, rng string) string {
	t.Helper()
	train := a.Network.Train
	r, err := train.FindRange(rng)
	if err != nil {
		t.Fatal(err)
	}
	p := slices.IndexFunc(train.Positions, func(p kinematics.Position) bool { return p.Name == position })
	var ways []string
	for _, o := range a.Of(p, r).List {
		for _, set := range o.Sets {
			var words []string
			for _, e := range a.Network.Fed() {
				switch name := train.Couplings[e].Name; set.Level(e) {
				case controls.Full:
					words = append(words, name)
				case controls.Low:
					words = append(words, name+" low")
				case controls.Unknown:
					words = append(words, name+"?")
				}
			}
			ways = append(ways, strings.Join(words, " "))
		}
	}
	return strings.Join(ways, "; ")
}

func TestHealthyControlsGiveWhatRangesApply(t *testing.T) {
	n := compile(t, library(t, "overdrive-simpson-four-speed"), overdrive())
	for _, d := range n.Prove() {
		t.Errorf("%s in %s: %s is %s", n.Train.Ranges[d.Node.Range].Name, n.PositionName(d.Node.Position), n.Train.Couplings[d.Element].Name, d.Got)
	}
}

func TestProofFindsASlip(t *testing.T) {
	s := overdrive()
	s.Valves[1].Up = "S1 and not lever(L)"
	n := compile(t, library(t, "overdrive-simpson-four-speed"), s)
	if len(n.Prove()) == 0 {
		t.Error("a solenoid the wrong way round passes the proof")
	}
}

// TestFailures compares with the sets that follow by hand from the expressions; the
// ranges named are those of the failure table read for this layout (controls.json,
// od-ahead-of-simpson4-two-onoff): both solenoids off give 4 in D, 3 in position 2, 1 in L.
func TestFailures(t *testing.T) {
	n := compile(t, library(t, "overdrive-simpson-four-speed"), overdrive())
	for _, c := range []struct{ fault, position, rng, want string }{
		{"supply=lost", "D", "D1", "overdrive-brake forward direct second"},
		{"supply=lost", "2", "M2", "overdrive-direct forward direct second"},
		{"supply=lost", "L", "M1", "overdrive-direct forward low-reverse"},
		{"supply=lost", "R", "R", "overdrive-direct direct low-reverse"},
		{"S2=stuck-on", "D", "D1", "overdrive-direct forward second"},
		{"S2=stuck-on", "D", "D4", "overdrive-direct forward direct second"},
		{"S1=no-current", "D", "D1", "overdrive-brake forward direct second"},
		{"S1=no-current", "D", "D2", "overdrive-direct forward direct second"},
		{"S1=crossed S2", "D", "D1", "overdrive-direct forward direct second"},
		{"S1=crossed S2", "D", "D3", "overdrive-direct forward"},
		{"S1=no-current@D2", "D", "D1", "overdrive-direct forward"},
		{"valve-12=stuck-down", "D", "D2", "overdrive-direct forward"},
		{"valve-34=stuck-up", "D", "D1", "overdrive-brake forward"},
		{"second=blocked", "D", "D3", "overdrive-direct forward direct"},
		{"second=leaks", "D", "D2", "overdrive-direct forward second low"},
		{"drive=leaks-into second", "D", "D1", "overdrive-direct forward second low"},
		{"low-ball=missing", "L", "M1", "overdrive-direct forward direct low-reverse"},
		{"line=none", "D", "D2", ""},
		{"line=low 0.6", "D", "D1", "overdrive-direct forward"},
	} {
		before, _ := n.Evaluate(faults(t, n, c.fault)...)
		if got := fed(t, before, c.position, c.rng); got != c.want {
			t.Errorf("%s, %s: fed are %q, want %q", c.fault, c.rng, got, c.want)
		}
	}
}

// TestBrokenSpring: valve-34 has pressure above it and below; without its spring it goes
// as one of them says, stays where neither does, and with both nobody knows.
func TestBrokenSpring(t *testing.T) {
	n := compile(t, library(t, "overdrive-simpson-four-speed"), overdrive())
	a, _ := n.Evaluate(faults(t, n, "valve-34=spring-broken")...)
	if got := fed(t, a, "D", "D4"); got != "overdrive-brake forward direct second" {
		t.Errorf("D4: its upper signal alone lifts it, but fed are %s", got)
	}
	if got := fed(t, a, "P", "P"); got != "overdrive-direct" {
		t.Errorf("P: its lower signal alone holds it down, but fed are %s", got)
	}
	d1 := a.Of(-1, index(t, n.Train, "D1"))
	// On the way from D3 the signal comes for as long as valve-23 has not fallen.
	if len(d1.List) != 2 || d1.Depends != controls.OnOrder {
		t.Errorf("D1: no signal, so it stays as it was before; outcomes %d, dependence %d", len(d1.List), d1.Depends)
	}
	for _, o := range d1.List {
		if up := o.Valves[2] == controls.Full; up == o.Restart {
			t.Errorf("after a restart it comes from P, where it is down: up %v, so after a restart %v", up, o.Restart)
		}
	}
}

func index(t testing.TB, train *kinematics.Train, rng string) int {
	t.Helper()
	i, err := train.FindRange(rng)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

func TestLeverBetween(t *testing.T) {
	n := compile(t, library(t, "overdrive-simpson-four-speed"), overdrive())
	a, _ := n.Evaluate(faults(t, n, "lever=between N D")...)
	if got := a.Of(-1, index(t, n.Train, "D1")); len(got.List) != 2 || got.Depends != controls.OnUnknown {
		t.Errorf("between N and D drive may be open or not: %d outcomes, dependence %d", len(got.List), got.Depends)
	}
	if got := fed(t, a, "L", "M1"); got != "overdrive-direct forward low-reverse" {
		t.Errorf("L is not concerned, but %s", got)
	}
}

// oscillator is a valve that its own position moves away, and a pair that race.
func oscillator(up1, up2 string) *controls.Spec {
	s := overdrive()
	s.Valves = append(s.Valves, controls.Valve{Name: "a", Up: up1}, controls.Valve{Name: "b", Up: up2})
	s.Circuits = append(s.Circuits, controls.Circuit{Name: "extra", From: "drive and a and not b and S2"})
	s.Feeds[5].Apply = area("coast or extra")
	return s
}

func TestHuntingAndRaces(t *testing.T) {
	train := library(t, "overdrive-simpson-four-speed")
	n := compile(t, train, oscillator("lever(D) and not a", "not line"))
	a, _ := n.Evaluate()
	d2 := a.Of(-1, index(t, train, "D2"))
	if len(d2.List) != 1 || !d2.List[0].Hunts() {
		t.Errorf("a valve that moves itself away hunts: %+v", d2.List)
	}
	n = compile(t, train, oscillator("lever(D) and not b", "lever(D) and not a"))
	a, _ = n.Evaluate()
	d2 = a.Of(-1, index(t, train, "D2"))
	if len(d2.List) != 2 || d2.Depends != controls.OnOrder {
		t.Errorf("two valves that hold each other down race: %d outcomes, dependence %d", len(d2.List), d2.Depends)
	}
	if len(n.Prove()) == 0 {
		t.Error("the race feeds what D2 does not apply, and passes the proof")
	}
}

func TestFailSafe(t *testing.T) {
	s := overdrive()
	s.FailSafe = []controls.FailSafe{{Of: []string{"S1"}, When: []string{"no-current", "supply"},
		Instead: []controls.Command{{Range: "D1", Patterns: on("S2")}}}}
	n := compile(t, library(t, "overdrive-simpson-four-speed"), s)
	before, after := n.Evaluate(faults(t, n, "S1=no-current")...)
	if got := fed(t, before, "D", "D1"); got != "overdrive-brake forward direct second" {
		t.Errorf("before the fail-safe D1 is fourth, not %s", got)
	}
	if after == nil {
		t.Fatal("the control does not know of a solenoid without current")
	}
	if got := fed(t, after, "D", "D1"); got != "overdrive-direct forward direct second" {
		t.Errorf("after it D1 is third, not %s", got)
	}
	if _, after := n.Evaluate(faults(t, n, "S1=stuck-off")...); after != nil {
		t.Error("the control cannot know of a solenoid that is stuck")
	}
}

func TestChain(t *testing.T) {
	n := compile(t, library(t, "overdrive-simpson-four-speed"), overdrive())
	f := faults(t, n, "S2=stuck-off")
	a, _ := n.Evaluate(f...)
	c := a.Of(-1, index(t, n.Train, "D2"))
	second, _ := n.Train.Element("second")
	var words []string
	for _, l := range n.Chain(c.Node, c.List[0], second, f) {
		words = append(words, l.Name+" "+l.Level.String())
	}
	if got, want := strings.Join(words, ", "), "S2 none, valve-12 none, second none, second none"; got != want {
		t.Errorf("the chain is %s, want %s", got, want)
	}
}

func TestTimings(t *testing.T) {
	s := overdrive()
	s.Feeds[4].Fill = []controls.Route{{Take: 0.35}}
	s.Feeds[4].Exhaust = []controls.Route{{When: "valve-23", Take: 0.15}, {Take: 0.6}}
	n := compile(t, library(t, "overdrive-simpson-four-speed"), s)
	a, _ := n.Evaluate()
	for rng, want := range map[string]float64{"D1": 0.6, "D3": 0.15} {
		c := a.Of(-1, index(t, n.Train, rng))
		if got := n.Timings(c.Node, c.List[0], nil); len(got) != 1 || got[0].Exhaust != want || got[0].Fill != 0.35 {
			t.Errorf("%s: %+v, want it to exhaust in %v s", rng, got, want)
		}
	}
}

// TestUnexercised: a slip that only a failure shows is listed until an Expect tests it.
func TestUnexercised(t *testing.T) {
	train := library(t, "overdrive-simpson-four-speed")
	has := func(s *controls.Spec, path, text string) bool {
		return slices.ContainsFunc(compile(t, train, s).Unexercised(), func(g controls.Gate) bool {
			return strings.Join(g.Path, ".") == path && g.Text == text
		})
	}
	s := overdrive()
	if !has(s, "valves.valve-23.up", "lever(L)") {
		t.Error("nothing tests that valve-23 stays down in L, and it is not listed")
	}
	s.Expect = []controls.Expect{{Lever: "L", Faults: []string{"supply"}, Gives: "M1"}}
	if has(s, "valves.valve-23.up", "lever(L)") {
		t.Error("the printed failure in L tests valve-23, and it is listed")
	}
}

func TestCompileErrors(t *testing.T) {
	train := library(t, "overdrive-simpson-four-speed")
	for _, c := range []struct {
		change func(s *controls.Spec)
		want   string
	}{
		{func(s *controls.Spec) { s.Circuits[2].From = "drive and valve-21" }, "circuits.second: there is no solenoid, valve, circuit or ball \"valve-21\""},
		{func(s *controls.Spec) { s.Circuits[0].From = "lever(D 3)" }, "has no position"},
		{func(s *controls.Spec) { s.Circuits[0].From = "second" }, "comes from itself"},
		{func(s *controls.Spec) { s.Circuits[2].From = "drive and reverse and valve-12" }, "second never has pressure"},
		{func(s *controls.Spec) { s.Feeds[4].Element = "second-roller" }, "one-way clutch, which nothing feeds"},
		{func(s *controls.Spec) { s.Feeds = s.Feeds[1:] }, "no circuit feeds overdrive-direct"},
		{func(s *controls.Spec) { s.Commands = s.Commands[1:] }, "no command for range P"},
		{func(s *controls.Spec) { s.Commands[0].Patterns[0].On[0] = "S3" }, "is no solenoid"},
		{func(s *controls.Spec) { s.Valves = append(s.Valves, controls.Valve{Name: "x", Up: "S1"}) }, "x switches nothing"},
		{func(s *controls.Spec) { s.Solenoids[0].Name = "second" }, "already"},
		{func(s *controls.Spec) { s.Balls[0].From = s.Balls[0].From[:1] }, "between two circuits"},
		{func(s *controls.Spec) {
			s.FailSafe = []controls.FailSafe{{Of: []string{"S1"}, When: []string{"stuck-off"}}}
		}, "does not know of a mechanical fault"},
		{func(s *controls.Spec) { s.Expect = []controls.Expect{{Lever: "D", Gives: "D9"}} }, "has no range"},
	} {
		s := overdrive()
		c.change(s)
		n, problems := controls.Compile(train, s)
		if n != nil || !slices.ContainsFunc(problems, func(p controls.Problem) bool { return strings.Contains(p.Error(), c.want) }) {
			t.Errorf("want %q, got %v", c.want, problems)
		}
	}
}

// TestFaultTexts: what is written reads as the same, and what is wrong says what to
// write.
func TestFaultTexts(t *testing.T) {
	n := compile(t, library(t, "overdrive-simpson-four-speed"), overdrive())
	for _, f := range n.SingleFaults() {
		again, err := n.ParseFault(f.String())
		if err != nil || again.String() != f.String() {
			t.Errorf("%s reads as %s, %v", f, again, err)
		}
	}
	for text, want := range map[string]string{
		"S3=stuck-on":              "did you mean S",
		"S1=stuck":                 "write stuck-on",
		"S1=crossed":               "crossed what?",
		"S1=crossed S1":            "another solenoid",
		"drive=leaks-into reverse": "no neighbour",
		"drive=leaks 1.2":          "below 1",
		"lever=between D L":        "not beside each other",
		"S1=stuck-on@D9":           "no range",
		"valve-12=blocked":         "cannot be",
	} {
		if _, err := n.ParseFault(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
	if n.Knows("second=stuck") || !n.Knows("second=leaks") || !n.Knows("S1=nonsense") {
		t.Error("second is an element and a circuit: the kind of fault says which is meant")
	}
}

// An element rises in the second half of the time in which it fills, falls evenly over that
// in which it exhausts, and what both ranges apply has no ramp.
func TestRamps(t *testing.T) {
	s := overdrive()
	s.Feeds[4].Fill = []controls.Route{{Take: 0.4}}
	s.Feeds[4].Exhaust = []controls.Route{{Take: 0.6}}
	n := compile(t, library(t, "overdrive-simpson-four-speed"), s)
	second, _ := n.Train.Element("second")
	for _, c := range []struct {
		from, to string
		want     []controls.Ramp
	}{
		{"D1", "D2", []controls.Ramp{{Element: second, Applies: true, Start: 0.2, End: 0.4}}},
		{"D2", "D1", []controls.Ramp{{Element: second, End: 0.6}}},
		{"D2", "D3", nil},
	} {
		if got := n.Ramps(index(t, n.Train, c.from), index(t, n.Train, c.to), nil); !slices.Equal(got, c.want) {
			t.Errorf("%s to %s: %+v, want %+v", c.from, c.to, got, c.want)
		}
	}
}

// Of what is low already a leak leaves a low pressure.
func TestLeakBehindALeak(t *testing.T) {
	n := compile(t, library(t, "overdrive-simpson-four-speed"), overdrive())
	a, _ := n.Evaluate(faults(t, n, "drive=leaks", "second=leaks")...)
	if got := fed(t, a, "D", "D2"); got != "overdrive-direct forward low second low" {
		t.Errorf("two leaks in a row leave %s", got)
	}
}

// A control that watches what comes of its commands knows of a solenoid that sticks, too; of
// several fail-safes the one acts that names most of what has failed, wherever it stands.
func TestWhichFailSafe(t *testing.T) {
	one := controls.FailSafe{Of: []string{"S1"}, Monitored: true, Instead: []controls.Command{{Range: "D1", Patterns: on("S2")}}}
	both := controls.FailSafe{Of: []string{"S1", "S2"}, Monitored: true, Instead: []controls.Command{{Range: "D1", Patterns: on()}}}
	for _, list := range [][]controls.FailSafe{{one, both}, {both, one}} {
		s := overdrive()
		s.FailSafe = list
		n := compile(t, library(t, "overdrive-simpson-four-speed"), s)
		for want, texts := range map[uint64][]string{2: {"S1=stuck-off"}, 0: {"S1=stuck-off", "S2=stuck-off"}} {
			_, after := n.Evaluate(faults(t, n, texts...)...)
			if after == nil {
				t.Fatalf("the control does not know of %v", texts)
			}
			if got := after.Of(-1, index(t, n.Train, "D1")).Node.On; got != want {
				t.Errorf("%v: the set %b is on, want %b", texts, got, want)
			}
		}
	}
}

// Of two ranges that can come to several things, the one with fewer stays at its first.
func TestWays(t *testing.T) {
	n := compile(t, library(t, "overdrive-simpson-four-speed"), overdrive())
	f := func(rng string, kind kinematics.FaultKind) kinematics.Fault {
		return kinematics.Fault{Kind: kind, Ranges: []string{rng}}
	}
	d1, d2 := index(t, n.Train, "D1"), index(t, n.Train, "D2")
	b := controls.Brought{
		Answer:   &controls.Answer{Network: n},
		Elements: []kinematics.Fault{f("D1", kinematics.Stuck), f("D2", kinematics.Stuck)},
		Open:     []int{d1, d2},
		Others: map[int][][]kinematics.Fault{
			d1: {{f("D1", kinematics.OpenF)}},
			d2: {{f("D2", kinematics.OpenF)}, {f("D2", kinematics.Weak)}},
		},
	}
	want := [][]kinematics.Fault{
		b.Elements,
		{f("D1", kinematics.OpenF), f("D2", kinematics.OpenF)},
		{f("D1", kinematics.Stuck), f("D2", kinematics.Weak)},
	}
	if got := b.Ways(); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// Without its spring valve-34 stays in D1 as it was, up or down: second fills through a route that
// it opens after one history and in no stated time after the other, whichever comes first. With the
// spring it is down. A route that needs nothing has its time after every history.
func TestRampsOfTwoHistories(t *testing.T) {
	for _, c := range []struct {
		routes        []controls.Route
		sound, broken float64 // how long second fills, s; 0 for no ramp
		depends       bool
	}{
		{[]controls.Route{{When: "valve-34", Take: 0.4}}, 0, 0.4, true},
		{[]controls.Route{{When: "not valve-34", Take: 0.4}}, 0.4, 0.4, true},
		{[]controls.Route{{When: "valve-34", Take: 0.4}, {Take: 0.7}}, 0.7, 0.7, true},
		{[]controls.Route{{Take: 0.4}}, 0.4, 0.4, false},
		{[]controls.Route{{When: "valve-34", Take: 0.4}, {Take: 0.4}}, 0.4, 0.4, false},
	} {
		s := overdrive()
		s.Feeds[4].Fill = c.routes
		n := compile(t, library(t, "overdrive-simpson-four-speed"), s)
		second, _ := n.Train.Element("second")
		for _, broken := range []bool{false, true} {
			fill, depends, list := c.sound, false, []controls.Fault(nil)
			if broken {
				fill, depends, list = c.broken, c.depends, faults(t, n, "valve-34=spring-broken")
			}
			got := n.Ramps(index(t, n.Train, "D1"), index(t, n.Train, "D2"), list)
			if fill == 0 {
				if len(got) != 0 {
					t.Errorf("%+v, broken %v: %+v, want no ramp", c.routes, broken, got)
				}
				continue
			}
			if len(got) != 1 || got[0].Element != second || !got[0].Applies || got[0].Start != fill/2 || got[0].End != fill ||
				got[0].DependsOnPast != depends {
				t.Errorf("%+v, broken %v: %+v, want it to fill in %g s, dependence %v", c.routes, broken, got, fill, depends)
			}
		}
	}
}
