package solve_test

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// build ends a train that a test puts together itself.
func build(t testing.TB, b *kinematics.Builder) *kinematics.Train {
	t.Helper()
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// applying returns the state of t in which the elements named in one string,
// with blanks between them, are applied.
func applying(t testing.TB, train *kinematics.Train, names string) kinematics.State {
	t.Helper()
	var elements []int
	for _, n := range strings.Fields(names) {
		i, ok := train.Element(n)
		if !ok {
			t.Fatalf("%s has no element %s", train.Name, n)
		}
		elements = append(elements, i)
	}
	return train.Applying(elements...)
}

// eightSpeed is the four-carrier eight-speed.
//
// Teeth and ratios: Wikipedia, "ZF 8HP transmission" (48/96, 48/96, 69/111,
// 23/85). Which members are joined and what is applied is from memory; it gives
// all nine ratios to their four places.
func eightSpeed(t testing.TB) *kinematics.Train {
	b := kinematics.NewBuilder("four-carrier-eight-speed")
	b.Simple("p1", 48, 96, 0, false)
	b.Simple("p2", 48, 96, 0, false)
	b.Simple("p3", 69, 111, 0, false)
	b.Simple("p4", 23, 85, 0, false)
	b.Join("suns", "p1.sun", "p2.sun")
	b.Join("rear", "p1.carrier", "p4.ring")
	b.Join("middle", "p2.ring", "p3.sun")
	b.Join("drum", "p3.ring", "p4.sun")
	b.Element("sun-brake", kinematics.Brake, "p1.sun", kinematics.HousingName)
	b.Element("ring-brake", kinematics.Brake, "p1.ring", kinematics.HousingName)
	b.Element("input-clutch", kinematics.Clutch, "p2.carrier", "p4.sun")
	b.Element("output-clutch", kinematics.Clutch, "p3.carrier", "p4.carrier")
	b.Element("lock-clutch", kinematics.Clutch, "p3.sun", "p3.ring")
	b.Ports("p2.carrier", "p4.carrier")
	return build(t, b)
}

// overdriveSimpson is the four-speed with three one-way clutches.
//
// Teeth and ratios: Toyota, New Car Features, "A340E and A343E automatic
// transmissions" (33/23/79, 42/19/79, 33/23/79; it cuts the third place off
// instead of rounding). What is applied is from memory.
func overdriveSimpson(t testing.TB) *kinematics.Train {
	b := kinematics.NewBuilder("overdrive-simpson-four-speed")
	b.Shaft("race")
	b.Simple("od", 33, 79, 23, false)
	b.Simple("front", 42, 79, 19, false)
	b.Simple("rear", 33, 79, 23, false)
	b.Join("shell", "front.sun", "rear.sun")
	b.Join("output", "front.carrier", "rear.ring")
	b.Element("od-clutch", kinematics.Clutch, "od.carrier", "od.sun")
	b.Element("od-brake", kinematics.Brake, "od.sun", kinematics.HousingName)
	b.Element("forward", kinematics.Clutch, "od.ring", "front.ring")
	b.Element("direct", kinematics.Clutch, "od.ring", "front.sun")
	b.Element("second-band", kinematics.Band, "front.sun", kinematics.HousingName)
	b.Element("second-brake", kinematics.Brake, "race", kinematics.HousingName)
	b.Element("low-reverse", kinematics.Brake, "rear.carrier", kinematics.HousingName)
	b.Element("od-roller", kinematics.OneWay, "od.carrier", "od.sun")
	b.Element("second-sprag", kinematics.OneWay, "front.sun", "race")
	b.Element("low-roller", kinematics.OneWay, "rear.carrier", kinematics.HousingName)
	b.Ports("od.carrier", "front.carrier")
	return build(t, b)
}

// prints says whether r is what a source prints as text, rounded to its last
// place or, if truncated, less than one unit of that place beyond it.
func prints(r *big.Rat, text string, truncated bool) bool {
	printed, ok := new(big.Rat).SetString(text)
	if !ok {
		panic(text + " is no number")
	}
	places := 0
	if dot := strings.IndexByte(text, '.'); dot >= 0 {
		places = len(text) - dot - 1
	}
	unit := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil))
	if truncated {
		beyond := new(big.Rat).Sub(new(big.Rat).Abs(r), new(big.Rat).Abs(printed))
		return r.Sign() == printed.Sign() && beyond.Sign() >= 0 && beyond.Cmp(unit) < 0
	}
	off := new(big.Rat).Sub(r, printed)
	return off.Abs(off).Cmp(unit.Mul(unit, big.NewRat(1, 2))) <= 0
}

// TestPublishedRatios: the sources stand above the trains.
func TestPublishedRatios(t *testing.T) {
	for _, c := range []struct {
		train     *kinematics.Train
		truncated bool
		ranges    map[string]string // elements applied: printed ratio
	}{
		{eightSpeed(t), false, map[string]string{
			"sun-brake ring-brake input-clutch":      "4.6957",
			"sun-brake ring-brake lock-clutch":       "3.1304",
			"ring-brake input-clutch lock-clutch":    "2.1039",
			"ring-brake output-clutch lock-clutch":   "1.6667",
			"ring-brake input-clutch output-clutch":  "1.2845",
			"input-clutch output-clutch lock-clutch": "1.0000",
			"sun-brake input-clutch output-clutch":   "0.8392",
			"sun-brake output-clutch lock-clutch":    "0.6667",
			"sun-brake ring-brake output-clutch":     "-3.2968",
		}},
		{overdriveSimpson(t), true, map[string]string{
			"od-clutch forward":              "2.804",
			"od-clutch forward low-reverse":  "2.804",
			"od-clutch forward second-brake": "1.531",
			"od-clutch forward second-band":  "1.531",
			"od-clutch forward direct":       "1.000",
			"od-brake forward direct":        "0.705",
			"od-clutch direct low-reverse":   "-2.393",
			"forward":                        "2.804", // the overdrive roller alone carries the drive
		}},
	} {
		for names, printed := range c.ranges {
			o := outcome(c.train, applying(t, c.train, names))
			ratio, drives := o.Ratio()
			if !drives || !prints(ratio.Rat(), printed, c.truncated) {
				t.Errorf("%s with %s: %v %v, printed %s", c.train.Name, names, o.Verdict, ratio, printed)
			}
		}
	}
}

// TestPublishedPermutations: ring 72, sun 30, one member in, one out and one
// held, give 3.4, 0.71 and -2.4 (HowStuffWorks, "How Gears Work: Planetary
// Gearsets and Gear Ratios").
func TestPublishedPermutations(t *testing.T) {
	for _, c := range []struct{ in, out, held, printed string }{
		{"p.sun", "p.carrier", "p.ring", "3.4"},
		{"p.carrier", "p.ring", "p.sun", "0.71"},
		{"p.sun", "p.ring", "p.carrier", "-2.4"},
	} {
		b := kinematics.NewBuilder("simple-planetary")
		b.Simple("p", 30, 72, 0, false)
		b.Element("brake", kinematics.Brake, c.held, kinematics.HousingName)
		b.Ports(c.in, c.out)
		train := build(t, b)
		ratio, drives := outcome(train, applying(t, train, "brake")).Ratio()
		if !drives || !prints(ratio.Rat(), c.printed, false) {
			t.Errorf("%s in, %s out, %s held: %v, printed %s", c.in, c.out, c.held, ratio, c.printed)
		}
	}
}

// TestWorkedExamples turns textbook trains as on a bench. K is R. S. Khurmi and
// J. K. Gupta, Theory of Machines, chapter 13; B is T. Bevan, The Theory of
// Machines, chapter 11; both as transcribed in the FOSSEE Python Textbook
// Companions (repository FOSSEE/Python-Textbook-Companions, commit d34b2ae).
func TestWorkedExamples(t *testing.T) {
	stepped := func(steps ...kinematics.Step) func(*kinematics.Builder) {
		return func(b *kinematics.Builder) { b.StepPinions("t", steps...) }
	}
	for _, c := range []struct {
		example string
		set     func(*kinematics.Builder)
		given   string
		printed string
	}{
		{"K13.4", stepped(kinematics.Step{Part: "a", Teeth: 36, PinionTeeth: 45}), "t.carrier=150 t.a=0",
			"t.pinion=270"},
		{"K13.4, second part", stepped(kinematics.Step{Part: "a", Teeth: 36, PinionTeeth: 45}),
			"t.carrier=150 t.a=-300", "t.pinion=510"},
		{"K13.5", stepped(kinematics.Step{Part: "b", Teeth: 75, PinionTeeth: 45},
			kinematics.Step{Part: "c", Teeth: 30, PinionTeeth: 90}),
			"t.carrier=-100 t.b=0", "t.c=400"},
		{"K13.6", func(b *kinematics.Builder) { b.Simple("t", 32, 72, 20, false) }, "t.carrier=18 t.ring=0",
			"t.sun=58.5 t.pinion=-46.8"},
		{"K13.7", func(b *kinematics.Builder) { b.Simple("t", 40, 90, 0, false) }, "t.sun=-1 t.ring=0",
			"t.carrier=-0.308"},
		{"K13.10", stepped(kinematics.Step{Part: "c", Teeth: 50, PinionTeeth: 20},
			kinematics.Step{Part: "g", Teeth: 105, PinionTeeth: 35, Ring: true}),
			"t.c=110 t.g=0", "t.carrier=50"},
		{"K13.13, Ferguson's paradox", stepped(kinematics.Step{Part: "a", Teeth: 100, PinionTeeth: 20},
			kinematics.Step{Part: "c", Teeth: 101, PinionTeeth: 20}, kinematics.Step{Part: "d", Teeth: 99,
				PinionTeeth: 20}),
			"t.carrier=1 t.a=0", "t.c=0.0099 t.d=-0.0101"},
		{"K13.16", func(b *kinematics.Builder) { b.Bevel("t", 40, 30, 50, false) }, "t.left=-100 t.carrier=100",
			"t.right=366.7"},
		{"K13.18", func(b *kinematics.Builder) {
			b.Bevel("t", 1, 1, 0, true)
			// The sense of the crown wheel is a choice of view: it turns as the pinion.
			b.Pair("f", 12, 60, kinematics.Internal, kinematics.HousingName, false)
			b.Join("crown", "f.b", "t.carrier")
		}, "f.a=1000 t.right=210", "t.left=190"},
		// The teeth are from memory; the example prints 1.4456 turns of the output.
		{"Waldron and Kinzel, Kinematics, Dynamics, and Design of Machinery, 10.7", func(b *kinematics.Builder) {
			b.StepBevels("t", kinematics.Step{Part: "in", Teeth: 20, PinionTeeth: 56},
				kinematics.Step{Part: "held", Teeth: 76, PinionTeeth: 56, Right: true},
				kinematics.Step{Part: "out", Teeth: 35, PinionTeeth: 24, Right: true})
		}, "t.in=100 t.held=0", "t.out=1.4456"},
		{"B5", stepped(kinematics.Step{Part: "e", Teeth: 21, PinionTeeth: 30},
			kinematics.Step{Part: "d", Teeth: 24, PinionTeeth: 27}),
			"t.d=1 t.e=0", "t.carrier=4.71"},
	} {
		t.Run(c.example, func(t *testing.T) {
			b := kinematics.NewBuilder("worked-example")
			c.set(b)
			train := build(t, b)
			var given []solve.Given
			for _, s := range settings(t, train, c.given) {
				given = append(given, solve.Given{Member: s.member, Speed: fracOf(t, s.value)})
			}
			r := solve.Compile(train).Turn(train.Applying().Modes, given)
			if r.Locks {
				t.Fatal("locks")
			}
			for _, s := range settings(t, train, c.printed) {
				v, one := r.Members[s.member].Point()
				if !one || !prints(v.Rat(), s.value, false) {
					t.Errorf("%s turns at %s, printed %s", train.Members[s.member].Name,
						text(r.Members[s.member].Interval), s.value)
				}
			}
		})
	}
}

type setting struct {
	member kinematics.MemberID
	value  string
}

// settings reads "t.sun=1 t.ring=0".
func settings(t testing.TB, train *kinematics.Train, s string) []setting {
	t.Helper()
	var all []setting
	for _, f := range strings.Fields(s) {
		name, value, _ := strings.Cut(f, "=")
		m, ok := train.Member(name)
		if !ok {
			t.Fatalf("no member %s", name)
		}
		all = append(all, setting{m, value})
	}
	return all
}

func fracOf(t testing.TB, s string) exact.Frac {
	t.Helper()
	r, ok := new(big.Rat).SetString(s)
	if !ok || !r.Num().IsInt64() || !r.Denom().IsInt64() {
		t.Fatalf("%s is no fraction", s)
	}
	return exact.NewFrac(r.Num().Int64(), r.Denom().Int64())
}

// A healthy first gear coasts free behind its one-way clutch; with the
// low-reverse brake beside it the engine brakes at the same ratio. With that
// roller fitted backwards the drive is lost, but coasting turns the engine.
func TestCoastDiffersFromPull(t *testing.T) {
	train := overdriveSimpson(t)
	first := applying(t, train, "od-clutch forward")
	k := solve.Compile(train).Kernel()
	o := k.Outcome(first)
	if _, brakes, rolls := o.EngineBraking(); o.Verdict != solve.Forward || brakes || !rolls {
		t.Errorf("first: %s", show(o))
	}
	o = k.Outcome(applying(t, train, "od-clutch forward low-reverse"))
	if r, brakes, _ := o.EngineBraking(); !brakes || r.String() != "2437/869" {
		t.Errorf("manual first: %s", show(o))
	}
	roller, _ := train.Element("low-roller")
	first.Modes[roller] = kinematics.Reversed
	o = k.Outcome(first)
	if r, brakes, _ := o.EngineBraking(); o.Verdict != solve.Neutral || !brakes || r.String() != "2437/869" {
		t.Errorf("first with its roller backwards: %s, brakes at %v", show(o), r)
	}
}

// The obvious states by hand: a set with nothing held, with all held, and with
// its output held.
func TestVerdictsByHand(t *testing.T) {
	b := kinematics.NewBuilder("by-hand")
	b.Simple("p", 30, 60, 0, false)
	b.Element("ring", kinematics.Brake, "p.ring", kinematics.HousingName)
	b.Element("carrier", kinematics.Brake, "p.carrier", kinematics.HousingName)
	b.Element("sun", kinematics.Brake, "p.sun", kinematics.HousingName)
	b.Ports("p.sun", "p.carrier")
	train := build(t, b)
	for names, want := range map[string]string{
		"":             "neutral [-inf, inf]",
		"ring":         "forward [1/3, 1/3]",
		"carrier":      "output-held [0, 0]",
		"sun":          "input-held empty",
		"ring carrier": "tie-up empty",
		"ring sun":     "tie-up empty",
	} {
		o := outcome(train, applying(t, train, names))
		if got := fmt.Sprint(o.Verdict, " ", text(o.Pull)); got != want {
			t.Errorf("%q held: %s, want %s", names, got, want)
		}
	}
}
