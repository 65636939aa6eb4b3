package diagnosis

import (
	"cmp"
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A TestKind is a kind of test.
type TestKind uint8

// The kinds of test, by where they are made: in the yard, on the road, at the
// vehicle, on the bench, with the element in hand.
const (
	Position   TestKind = iota // select a range, light throttle
	Rolling                    // push the standing vehicle, the engine off
	Gear                       // measure the ratio
	Throttle                   // full throttle
	Coasting                   // close the throttle and coast
	Shifting                   // watch a shift
	Stall                      // full throttle against the brakes
	Fluid                      // level and state of the fluid
	Line                       // gauge in the line, idling
	PressureAt                 // gauge at the tap of an element
	Air                        // air to an element, valve body off
	Bench                      // turn the train by hand
	Element                    // take the element itself in hand
	Connector                  // command and resistance at the connector of a solenoid
	CircuitTap                 // gauge at the tap of a circuit
	Switching                  // switch a solenoid by a scan tool and listen
	CodeRead                   // a trouble code that was read; no test that is proposed
	kinds      = int(CodeRead) + 1
)

var kindNames = [kinds]string{"position", "rolling", "gear", "throttle", "coasting", "shift", "stall", "fluid",
	"line", "pressure", "air", "bench", "element", "connector", "circuit", "switching", "code"}

var kindWords = [kinds]string{
	"select it at light throttle", "push it with the engine off", "measure the ratio", "full throttle",
	"coast with the throttle closed", "watch a shift",
	"stall test", "level and state of the fluid", "line pressure", "pressure at a tap",
	"air check with the valve body off", "turn it by hand on the bench", "the element itself in hand",
	"at the connector", "pressure at a tap of a circuit", "switch it by a scan tool", "a trouble code",
}

var defaultEffort = [kinds]int{1, 1, 2, 2, 2, 2, 4, 1, 3, 5, 8, 16, 20, 3, 5, 3, 0}

// Name returns the word for the kind in a road-test sheet.
func (k TestKind) Name() string { return kindNames[k] }

// String says in words what such a test is.
func (k TestKind) String() string { return kindWords[k] }

// OnTheRoad says whether such a test needs nothing but the vehicle and a driver.
func (k TestKind) OnTheRoad() bool { return k <= Shifting }

// InShop says whether such a test needs the workshop: gauge, air, bench or tools.
func (k TestKind) InShop() bool { return k > Fluid }

// TestKinds lists all kinds that can be proposed.
func TestKinds() []TestKind {
	list := make([]TestKind, CodeRead)
	for i := range list {
		list[i] = TestKind(i)
	}
	return list
}

// ParseTestKind reads the name of a kind of test.
func ParseTestKind(name string) (TestKind, error) {
	i := slices.Index(kindNames[:], name)
	if i < 0 {
		return 0, fmt.Errorf("no such kind of test %s%s", kinematics.Quote(name), kinematics.DidYouMean(name, kindNames[:]))
	}
	return TestKind(i), nil
}

// A Test is one thing that can be tried.
type Test struct {
	Kind     TestKind
	Range    int    // index into Train.Ranges; for a shift, the range that it leaves
	To       int    // for a shift, the range that it leads to
	Coupling int    // for pressure, air and element
	Part     string // of the controls: solenoid, supply, circuit or code
	Apply    []int  // on the bench: elements that are applied by air
	Turning  Turning
	SetUp    SetUp     // in which it is made
	When     Condition // of a gauge in the line: loaded is at stall, else idling

	drive bool // the vehicle must be driven up to the range
}

// Same says whether two tests are the same, in whatever set-up.
func (x *Test) Same(y Test) bool {
	return x.samePlace(&y) && x.To == y.To && x.When == y.When && x.Turning == y.Turning
}

// Turning is how the train is turned on the bench.
type Turning uint8

// The ways to turn it.
const (
	HeldOutput Turning = iota // input forward, output held
	FreeOutput                // input forward, output free
	BackInput                 // input backward, output free
)

// A Reply is what a test shows. Its Key is "" if a suspect predicts nothing.
type Reply struct {
	Key  string
	Text string
	Seen []Observation // as observations, for tests on the road

	ratio exact.Frac // of measured ratios, so that near ones can be merged
	scale int        // what ratios may be merged: those of replies with one scale, 0 for none
	// further says of the train turned by hand that the output can be spun further.
	further bool
	// leaks says of a tap that pressure can be low, too, burns of the fluid that it can be burnt.
	leaks, burns bool
}

// selectable says whether a range can be had by moving the selector at a
// standstill: it is the first of a position, or there are no positions.
func (f *Finder) selectable(r int) bool {
	return len(f.t.Positions) == 0 || slices.ContainsFunc(f.t.Positions, func(p kinematics.Position) bool {
		return len(p.Ranges) > 0 && p.Ranges[0] == r
	})
}

// parks says whether a range applies the pawl.
func (f *Finder) parks(r int) bool { return applies(f.t, r, kinematics.Pawl) }

// effort is what a test costs; 0 if it is ruled out.
func (f *Finder) effort(x *Test) int {
	effort := f.a.Effort[x.Kind]
	switch {
	case effort == 0:
	case x.Kind == Position && x.drive:
		effort++ // the vehicle must be driven up to it
	case x.Kind == Coasting && f.road.way(x.Range) < 0:
		effort += 2 // rolling backward
	case x.stalls() && x.Kind == Line:
		effort += f.a.Effort[Stall]
	}
	if effort > 0 && x.SetUp == OnStands && x.Kind != PressureAt && x.Kind != Line {
		effort += standsEffort
	}
	return effort
}

// tests lists the tests that a case leaves to be made.
func (f *Finder) tests(c *Case) []Test {
	var list []Test
	off := f.offRanges()
	for r := range f.t.Ranges {
		for _, k := range []TestKind{Position, Gear, Throttle, Coasting, Stall} {
			switch {
			case k == Stall && (!f.stallable(r) || !c.mayStall()), f.parks(r) && k != Position:
			case k == Throttle && f.road.healthy[r].Light.Drives() == 0: // it has no gear to hold
			case f.done(c, k, r):
			default:
				list = append(list, Test{Kind: k, Range: r, Coupling: -1, drive: !f.selectable(r)})
			}
		}
		if slices.Contains(off, r) && !f.offDone(c, r) {
			list = append(list, Test{Kind: Rolling, Range: r, Coupling: -1})
		}
	}
	for _, p := range f.shifts.finder.Pairs() {
		seen := func(o Observation) bool { return o.IsShift() && o.Range == p.From && o.To == p.To }
		if !slices.ContainsFunc(c.Seen, seen) && !p.Selector {
			list = append(list, Test{Kind: Shifting, Range: p.From, To: p.To, Coupling: -1})
		}
	}
	for _, x := range slices.Concat(f.lineTests(c), controlTests(f.t), f.shopTests()) {
		if !slices.ContainsFunc(c.Seen, func(o Observation) bool { return o.Shop != nil && o.Shop.Same(x) }) {
			list = append(list, x)
		}
	}
	return list
}

// stallable says whether a stall test can be made in a range: behind a
// converter, standing, in a range that drives.
func (f *Finder) stallable(r int) bool {
	return f.t.Drive == kinematics.Converter && f.selectable(r) && f.road.healthy[r].Light.Drives() != 0
}

// answers lists the words that each kind of test can give.
var answers = [kinds][]Word{
	Position: {OK, Forward, Reverse, None, Revs, Loaded, Bind, Lurch, LurchForward, LurchBackward, Creeps, CreepsForward,
		CreepsBackward, SlipsLight, Slips, SlipsFull, HoldsFull, As, Ratio}, // the last ones drive at light throttle
	Gear:     {OK, As, Ratio},
	Throttle: {OK, Slips, SlipsFull, SlipsLight, HoldsFull},
	Coasting: {EngineBraking, NoEngineBraking, Coasts, Locks},
	Stall:    {StallHolds, StallRuns},
}

// done says whether a test of a range has been made.
func (f *Finder) done(c *Case, k TestKind, r int) bool {
	return slices.ContainsFunc(c.Seen, func(o Observation) bool {
		return o.Range == r && !o.IsShift() && slices.Contains(answers[k], o.Word)
	})
}

// shopTests lists the tests that need more than a driver.
func (f *Finder) shopTests() []Test {
	var list []Test
	t := f.t
	for i := range t.Couplings {
		if t.Drive == kinematics.Converter && t.Couplings[i].Kind.Friction() {
			for r := range t.Ranges {
				if !t.TapsKnown || slices.Contains(t.Taps, i) {
					list = append(list, Test{Kind: PressureAt, Range: r, Coupling: i})
				}
			}
			list = append(list, Test{Kind: Air, Coupling: i})
		}
		list = append(list, Test{Kind: Element, Coupling: i})
	}
	for _, apply := range benchSets(f.t, true) {
		for _, turn := range []Turning{HeldOutput, FreeOutput, BackInput} {
			list = append(list, Test{Kind: Bench, Coupling: -1, Apply: apply, Turning: turn})
		}
	}
	return list
}

// benchSets lists the sets of elements to apply on the bench: none, one, two if
// asked, and those of the ranges; no one-way clutch in two, as most pairs of
// switched ones mean nothing.
func benchSets(t *kinematics.Train, pairs bool) [][]int {
	sets := [][]int{nil}
	add := func(set ...int) {
		can := !slices.ContainsFunc(set, func(e int) bool { return !benchable(t, e) })
		if can && !slices.ContainsFunc(sets, func(s []int) bool { return slices.Equal(s, set) }) {
			sets = append(sets, set)
		}
	}
	oneWay := func(e int) bool { return t.Couplings[e].Kind == kinematics.OneWay }
	for i := range t.ElementCount {
		add(i)
		for k := i + 1; pairs && k < t.ElementCount; k++ {
			if !oneWay(i) && !oneWay(k) {
				add(i, k)
			}
		}
	}
	for r := range t.Ranges {
		add(t.Ranges[r].Set()...)
	}
	return sets
}

// reply is what a suspect predicts of a test.
func (f *Finder) reply(x *Test, s *Suspect) Reply {
	if s.cells == nil {
		s.cells = f.engine.all(&s.Hypothesis)
	}
	b := func() *Behaviour { return &f.engine.cells[s.cells[x.Range]] }
	switch x.Kind {
	case Position:
		return f.position(x, b())
	case Gear:
		return f.gear(x.Range, b())
	case Throttle:
		return f.throttle(x.Range, b())
	case Coasting:
		return f.coasting(x.Range, b())
	case Stall:
		return f.stall(x.Range, b())
	case Shifting:
		return f.shifting(x, s)
	}
	return f.inShop(x, s)
}

// inShop is what a suspect predicts of a test in the workshop.
func (f *Finder) inShop(x *Test, s *Suspect) Reply {
	switch x.Kind {
	case Rolling:
		return f.pushed(x, &s.Hypothesis)
	case Fluid:
		return f.fluid(x, s)
	case Line:
		return f.line(x, s)
	case PressureAt:
		return f.pressure(x, s)
	case Air:
		return air(x, s)
	case Connector:
		return x.ofPart(s, wired, "command and resistance right", "no command, or a resistance that is off")
	case CircuitTap:
		return f.circuitTap(x, s)
	case Switching:
		return x.ofPart(s, silent, "it clicks, and no other does", "no click, or another one clicks")
	case Bench:
		return f.bench(x, s)
	}
	return f.element(x, s)
}

func (f *Finder) saw(r int, words ...Word) []Observation {
	return kinematics.Map(words, func(w Word) Observation { return Observation{Range: r, To: -1, Word: w} })
}

// position is what a range does at light throttle; with the brakes on a bind and a
// held input are felt alike.
func (f *Finder) position(x *Test, b *Behaviour) Reply {
	r, w := x.Range, usedIn(f.t)
	if tied := b.Light.Verdict == solve.TieUp || b.Light.Verdict == solve.InputHeld; x.SetUp == Braked && tied &&
		b.Lurch == 0 && b.Creeps == 0 {
		return Reply{Key: "loaded", Text: w.loaded, Seen: f.saw(r, Loaded)}
	}
	switch {
	case b.Lurch > 0:
		return Reply{Key: "lurch-forward", Text: "lurches forward against the pawl", Seen: f.saw(r, LurchForward)}
	case b.Lurch < 0:
		return Reply{Key: "lurch-backward", Text: "lurches backward against the pawl", Seen: f.saw(r, LurchBackward)}
	case b.Creeps > 0:
		return Reply{Key: "creeps-forward", Text: "creeps forward", Seen: f.saw(r, CreepsForward)}
	case b.Creeps < 0:
		return Reply{Key: "creeps-backward", Text: "creeps backward", Seen: f.saw(r, CreepsBackward)}
	}
	drives := "drives"
	if x.SetUp == Braked {
		drives = "pulls"
	}
	switch b.Light.Verdict {
	case solve.Forward:
		return Reply{Key: "forward", Text: drives + " forward", Seen: f.saw(r, Forward)}
	case solve.Reverse:
		return Reply{Key: "reverse", Text: drives + " backward", Seen: f.saw(r, Reverse)}
	case solve.TieUp:
		return Reply{Key: "bind", Text: "binds", Seen: f.saw(r, Bind)}
	case solve.InputHeld:
		return Reply{Key: "loaded", Text: w.held, Seen: f.saw(r, None, Loaded)}
	}
	return Reply{Key: "revs", Text: w.runs, Seen: f.saw(r, None, Revs)}
}

// gear is the ratio at light throttle.
func (f *Finder) gear(r int, b *Behaviour) Reply {
	if b.Light.Drives() == 0 {
		return Reply{Key: "none", Text: "does not drive"}
	}
	ratio := b.Light.Ratio.Abs()
	text := reading.Ratio(ratio)
	o := Observation{Range: r, To: -1, Word: Ratio, Ratio: ratio, Text: text}
	return Reply{Key: ratio.String(), Text: text + f.gearOf(r, b.Light), Seen: []Observation{o}, ratio: ratio, scale: 1}
}

// gearOf names the range that a pull is the gear of, if it is not its own.
func (f *Finder) gearOf(r int, p Pull) string {
	if p.same(f.road.healthy[r].Light) {
		return ""
	}
	for i := range f.road.healthy {
		if p.same(f.road.healthy[i].Light) {
			return " (" + string(reading.As) + " " + f.t.Ranges[i].Name + ")"
		}
	}
	return ""
}

// throttle is whether a range that drives at light throttle does so at full.
func (f *Finder) throttle(r int, b *Behaviour) Reply {
	switch {
	case b.Light.Drives() == 0:
		return Reply{Key: "none", Text: "does not drive"}
	case b.Full.same(b.Light):
		return Reply{Key: "holds", Text: usedIn(f.t).holds, Seen: f.saw(r, HoldsFull)}
	case f.road.slips(r, b.Full) && !f.road.slips(r, b.Light):
		return Reply{Key: "slips", Text: usedIn(f.t).slips, Seen: f.saw(r, SlipsFull)}
	}
	return Reply{Key: "else", Text: "does something else than at light throttle"}
}

// coasting is what coasting does in the sense in which the range drives, or is
// meant to.
func (f *Finder) coasting(r int, b *Behaviour) Reply {
	w := usedIn(f.t)
	ratio, brakes, rolls := b.Coast(f.road.way(r))
	switch {
	case !rolls:
		return Reply{Key: "locks", Text: w.locks, Seen: f.saw(r, Locks)}
	case !brakes:
		return Reply{Key: "free", Text: w.free, Seen: f.saw(r, NoEngineBraking)}
	}
	ratio = ratio.Abs()
	text := reading.Ratio(ratio)
	seen := append(f.saw(r, EngineBraking), Observation{Range: r, To: -1, Word: Coasts, Ratio: ratio, Text: text})
	return Reply{Key: "brakes " + ratio.String(), Text: w.brakes + text, Seen: seen, ratio: ratio, scale: 2}
}

// stall is whether the train holds the engine at full throttle with the wheels
// braked.
func (f *Finder) stall(r int, b *Behaviour) Reply {
	if stallRuns(b) {
		return Reply{Key: "runs", Text: "the engine runs up beyond its stall speed", Seen: f.saw(r, StallRuns)}
	}
	return Reply{Key: "holds", Text: "the engine stays at its stall speed", Seen: f.saw(r, StallHolds)}
}

// shifting is what a shift with good timing does.
func (f *Finder) shifting(x *Test, s *Suspect) Reply {
	o := Observation{Range: x.Range, To: x.To}
	does := func(w Word) Fit {
		o.Word = w
		return f.shifts.fit(&o, &s.Hypothesis)
	}
	reply := func(w Word, text string) Reply {
		o.Word = w
		return Reply{Key: string(w), Text: text, Seen: []Observation{o}}
	}
	switch {
	case does(ShiftBinds) == Fully:
		return reply(ShiftBinds, "binds")
	case does(Flare) == Fully:
		return reply(Flare, "flares")
	}
	if s.Kind == HighPressure {
		return reply(Harsh, "comes with a blow")
	}
	return reply(ShiftOK, "neither binds nor flares")
}

// ask returns what suspects predict, as numbers of different replies (-1 for
// none) and as the replies. Measured ratios that the tolerance cannot tell apart
// are merged.
func (f *Finder) ask(x *Test, suspects []*Suspect) ([]int, []Reply) {
	replies := make([]Reply, len(suspects))
	var ratios []Reply
	for i, s := range suspects {
		replies[i] = f.reply(x, s)
		if replies[i].scale > 0 {
			ratios = append(ratios, replies[i])
		}
	}
	if len(ratios) > 1 {
		f.merge(replies, ratios)
	}
	at := map[string]int{}
	numbers := make([]int, len(replies))
	for i, r := range replies {
		if r.Key == "" {
			numbers[i] = -1
			continue
		}
		n, known := at[r.Key]
		if !known {
			n = len(at)
			at[r.Key] = n
		}
		numbers[i] = n
	}
	return numbers, replies
}

// merge gives ratios within the tolerance of each other one key.
func (f *Finder) merge(replies, ratios []Reply) {
	kinematics.Sort(ratios, func(a, b Reply) int { return cmp.Or(a.scale-b.scale, a.ratio.Cmp(b.ratio)) })
	lead := map[string]Reply{}
	first := ratios[0]
	for i, r := range ratios {
		if i > 0 && (r.scale != first.scale || !f.road.near(ratios[i-1].ratio, r.ratio, 1)) {
			first = r
		}
		lead[r.Key] = first
	}
	for i := range replies {
		if l, ok := lead[replies[i].Key]; ok {
			replies[i] = l
		}
	}
}

// Reply is what a test shows of a suspect.
func (a *Answer) Reply(x *Test, s *Suspect) Reply { return a.finder.reply(x, s) }
