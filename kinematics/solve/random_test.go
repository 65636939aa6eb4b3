package solve_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"pgregory.net/rapid"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A dice returns a number from 0 to n-1. Random trains are thrown with one, so
// that a seed, a property test and the bytes of a fuzz test share a generator.
type dice func(n int) int

func seeded(seed uint64) dice { return rand.New(rand.NewPCG(seed, seed)).IntN }

func fromRapid(t *rapid.T) dice {
	return func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "die") }
}

// fromBytes takes one byte a throw, two where n needs them, and zeros at the end.
func fromBytes(b []byte) dice {
	next := func() int {
		if len(b) == 0 {
			return 0
		}
		x := b[0]
		b = b[1:]
		return int(x)
	}
	return func(n int) int {
		x := next()
		if n > 256 {
			x = x<<8 | next()
		}
		if n > 65536 {
			x = x<<8 | next()
		}
		return x % n
	}
}

// odds is true once in n throws.
func (d dice) odds(n int) bool { return d(n) == 0 }

func (d dice) between(least, most int) int { return least + d(most-least+1) }

// pick returns one of the names.
func (d dice) pick(names []string) string { return names[d(len(names))] }

// A recipe is a random train that can be built again with changes.
type recipe struct {
	sets          []func(*kinematics.Builder)
	members       []string // known ones, the housing first
	joins         [][]string
	elements      []elementRecipe
	input, output string
	forward       int
}

type elementRecipe struct {
	kind     kinematics.CouplingKind
	a, b     string
	switched bool
}

func (r *recipe) build() (*kinematics.Train, error) {
	b := kinematics.NewBuilder("random")
	b.Shaft("shaft", "race")
	for _, set := range r.sets {
		set(b)
	}
	for i, j := range r.joins {
		b.Join(fmt.Sprintf("j%d", i), j...)
	}
	for i, e := range r.elements {
		b.Element(fmt.Sprintf("e%d", i), e.kind, e.a, e.b).Switched = e.switched
	}
	b.Ports(r.input, r.output)
	b.Train().Forward = r.forward
	return b.Build()
}

func (r *recipe) must(t fataler) *kinematics.Train {
	train, err := r.build()
	if err != nil {
		t.Fatalf("the generator made no train: %v", err)
	}
	return train
}

// fataler is what testing.TB and rapid.T have in common here.
type fataler interface {
	Fatalf(format string, args ...any)
}

// What a random train may have.
type limits struct {
	sets     int  // at most
	teeth    int  // at most
	oneWay   int  // one-way clutches, at most
	grounded bool // joins and pairs may sit on the housing
}

var usual = limits{sets: 4, teeth: 110, oneWay: 4, grounded: true}

// throwRecipe throws a train of all kinds of gearsets, joined at random.
func throwRecipe(d dice, lim limits) *recipe {
	r := &recipe{forward: 1 - 2*d(2)}
	scratch := kinematics.NewBuilder("scratch")
	scratch.Shaft("shaft", "race")
	known := func() []string {
		var names []string
		for _, m := range scratch.Train().Members {
			if !m.Unknown {
				names = append(names, m.Name)
			}
		}
		return names
	}
	for i := range d.between(1, lim.sets) {
		set := throwSet(d, lim, fmt.Sprintf("s%d", i), known())
		set(scratch)
		r.sets = append(r.sets, set)
	}
	r.members = known()
	r.joins = throwJoins(d, lim, scratch.Train(), r.members[1:])

	two := func() (string, string) {
		a := d(len(r.members))
		b := (a + 1 + d(len(r.members)-1)) % len(r.members)
		return r.members[a], r.members[b]
	}
	for range d(6) {
		kind := []kinematics.CouplingKind{
			kinematics.Clutch, kinematics.Brake, kinematics.Brake, kinematics.Band, kinematics.Dog, kinematics.Pawl,
		}[d(6)]
		a, b := two()
		if kind != kinematics.Clutch && kind != kinematics.Dog {
			a, b = d.pick(r.members[1:]), kinematics.HousingName
		}
		r.elements = append(r.elements, elementRecipe{kind: kind, a: a, b: b})
	}
	for range d(lim.oneWay + 1) {
		a, b := two()
		r.elements = append(r.elements, elementRecipe{kind: kinematics.OneWay, a: a, b: b, switched: d.odds(4)})
	}
	i := 1 + d(len(r.members)-1)
	o := 1 + (i+d(len(r.members)-2))%(len(r.members)-1)
	r.input, r.output = r.members[i], r.members[o]
	return r
}

// throwSet throws one gearset; known are the members it may sit on.
func throwSet(d dice, lim limits, name string, known []string) func(*kinematics.Builder) {
	teeth := func(least int) int64 { return int64(d.between(least, lim.teeth)) }
	maybe := func(z int64) int64 {
		if d.odds(3) {
			return 0
		}
		return z
	}
	switch d(7) {
	case 0:
		sun, ring, pinion, ratioOnly := teeth(12), teeth(13), int64(0), d.odds(3)
		if ring <= sun {
			sun, ring = ring-1, sun+1
		}
		if !ratioOnly {
			pinion = maybe(teeth(9))
		}
		return func(b *kinematics.Builder) { b.Simple(name, sun, ring, pinion, ratioOnly) }
	case 1:
		sun, ring, inner, outer := teeth(12), teeth(12), maybe(teeth(9)), maybe(teeth(9))
		if inner == 0 || outer == 0 {
			inner, outer = 0, 0
		}
		return func(b *kinematics.Builder) { b.DoublePinion(name, sun, ring, inner, outer, inner == 0) }
	case 2:
		r := kinematics.RavigneauxSet{
			SunShort: teeth(12), SunLong: teeth(12), Ring: teeth(12), RingOnShort: d.odds(2),
			ShortPinion: maybe(teeth(9)), LongPinion: maybe(teeth(9)),
		}
		switch d(5) {
		case 0:
			r.SunShort = 0
		case 1:
			r.SunLong = 0
		case 2:
			r.Ring = 0
		}
		if r.ShortPinion == 0 || r.LongPinion == 0 {
			r.ShortPinion, r.LongPinion = 0, 0
		}
		return func(b *kinematics.Builder) { b.Ravigneaux(name, r) }
	case 3:
		var steps []kinematics.Step
		for i := range d.between(2, 4) {
			steps = append(steps, kinematics.Step{
				Part: fmt.Sprintf("gear%d", i), Teeth: teeth(12), PinionTeeth: teeth(9), Ring: d.odds(2),
			})
		}
		return func(b *kinematics.Builder) { b.StepPinions(name, steps...) }
	case 4:
		if d.odds(2) {
			var steps []kinematics.Step
			for i := range d.between(2, 4) {
				steps = append(steps, kinematics.Step{
					Part: fmt.Sprintf("gear%d", i), Teeth: teeth(12), PinionTeeth: teeth(9), Right: d.odds(2),
				})
			}
			return func(b *kinematics.Builder) { b.StepBevels(name, steps...) }
		}
		left, right, pinion := teeth(9), teeth(9), maybe(teeth(9))
		return func(b *kinematics.Builder) { b.Bevel(name, left, right, pinion, false) }
	default:
		a, z, kind := teeth(9), teeth(9), kinematics.MeshKind(d(3))
		on := d.pick(known[1:])
		if lim.grounded && d.odds(2) {
			on = kinematics.HousingName
		}
		return func(b *kinematics.Builder) { b.Pair(name, a, z, kind, on, false) }
	}
}

// throwJoins throws joints of two or three members, each member in one at most
// and no two of one gearset together, which would weld it solid.
func throwJoins(d dice, lim limits, t *kinematics.Train, free []string) [][]string {
	free = append([]string(nil), free...)
	set := func(name string) int {
		m, _ := t.Member(name)
		return t.Members[m].Gearset
	}
	var joins [][]string
	for range d(4) {
		var join []string
		used := map[int]bool{}
		for range d.between(2, 3) {
			if len(free) == 0 {
				break
			}
			i := d(len(free))
			if g := set(free[i]); g >= 0 && used[g] {
				continue
			} else if g >= 0 {
				used[g] = true
			}
			join = append(join, free[i])
			free = append(free[:i], free[i+1:]...)
		}
		if lim.grounded && len(join) > 0 && d.odds(8) {
			join = append(join, kinematics.HousingName)
		}
		if len(join) >= 2 {
			joins = append(joins, join)
		}
	}
	return joins
}

// throwState throws a state: elements applied at random, one-way clutches
// acting, reversed, seized or slipping, and now and then a sheared spline.
func throwState(d dice, t *kinematics.Train) kinematics.State {
	st := t.Applying()
	for i, c := range t.Couplings {
		switch {
		case c.Kind == kinematics.Spline:
			if d.odds(12) {
				st.Modes[i] = kinematics.Open
			}
		case c.Kind == kinematics.OneWay:
			st.Modes[i] = []kinematics.Mode{
				kinematics.Overruns, kinematics.Overruns, kinematics.Overruns,
				kinematics.Reversed, kinematics.Reversed, kinematics.Locked, kinematics.Open,
			}[d(7)]
		case d.odds(2):
			st.Modes[i] = kinematics.Locked
		}
	}
	if d.odds(32) { // any two bodies, even the housing or one and the same
		st.Input, st.Output = throwMember(d, t), throwMember(d, t)
	}
	return st
}

// throwMember returns a member whose speed an equation gives.
func throwMember(d dice, t *kinematics.Train) kinematics.MemberID {
	m := d(len(t.Members))
	for t.Members[m].Unknown {
		m = (m + 1) % len(t.Members)
	}
	return kinematics.MemberID(m)
}

// TestRandomTrains compares the engine with the oracle on 20,000 trains and
// states; one train in sixteen has up to 100,000 teeth on each gear, and one up
// to nine one-way clutches. One in four is compared in the bounds of every
// member, too.
func TestRandomTrains(t *testing.T) {
	const parts = 8
	trains := 1000
	if exhaustive() {
		trains = 20_000
	}
	var count [parts]tally
	t.Run("parts", func(t *testing.T) {
		for part := range parts {
			t.Run(fmt.Sprint(part), func(t *testing.T) {
				t.Parallel()
				for seed := part * trains / parts; seed < (part+1)*trains/parts; seed++ {
					checkRandom(t, uint64(seed), &count[part])
				}
			})
		}
	})
	var sum tally
	for _, c := range count {
		for v := range sum.verdicts {
			sum.verdicts[v] += c.verdicts[v]
		}
		sum.big += c.big
		sum.halfBounded += c.halfBounded
	}
	t.Logf("verdicts %v; %d states with a pull bounded on one side; %d evaluations in math/big", sum.verdicts,
		sum.halfBounded, sum.big)
	for v, n := range sum.verdicts {
		if n < trains/200 {
			t.Errorf("only %d random states are %v: the generator is too narrow", n, solve.Verdict(v))
		}
	}
	if sum.halfBounded < trains/200 {
		t.Errorf("only %d random states are bounded on one side", sum.halfBounded)
	}
	if sum.big == 0 {
		t.Error("no evaluation left int64: math/big is not tested")
	}
}

// exhaustive says whether the long sweeps are asked for, by TIEUP_EXHAUSTIVE=1.
func exhaustive() bool { return os.Getenv("TIEUP_EXHAUSTIVE") != "" }

// sampled is how many of n random cases are tried: a third unless TIEUP_EXHAUSTIVE is set.
func sampled(n int) int {
	if exhaustive() {
		return n
	}
	return n / 3
}

// A tally counts what random states were like.
type tally struct {
	verdicts    [solve.Reverse + 1]int
	halfBounded int
	big         int // evaluations in math/big
}

func checkRandom(t *testing.T, seed uint64, count *tally) {
	lim := usual
	switch seed % 16 {
	case 7:
		lim.oneWay = 9
	case 15:
		lim.teeth, lim.sets = 100_000, 6
	}
	d := seeded(seed)
	train := throwRecipe(d, lim).must(t)
	st := throwState(d, train)
	sys := solve.Compile(train)
	k := sys.Kernel()
	o := newOracle(train, st)
	a := o.answer()
	compareOutcome(t, a, k.Outcome(st))
	if seed/16%4 == 0 {
		m := sys.Motion(st)
		compareMotion(t, o, a, m)
		compareStates(t, train, a, m)
	}
	if t.Failed() {
		t.Fatalf("seed %d: %s", seed, describe(train, st))
	}
	count.verdicts[a.verdict]++
	count.big += k.Fallbacks()
	if !a.pull.empty && (a.pull.lo == nil) != (a.pull.hi == nil) {
		count.halfBounded++
	}
}

// TestManyOneWayClutches has more inequalities than a machine word has bits,
// most of them saying the same again.
func TestManyOneWayClutches(t *testing.T) {
	for seed := range uint64(10) {
		d := seeded(seed)
		b := kinematics.NewBuilder("many")
		b.Shaft("shaft")
		b.Simple("a", 30, 66, 0, true)
		b.Simple("b", 25, 70, 0, true)
		b.Join("carriers", "a.carrier", "b.carrier")
		names := []string{"a.sun", "a.ring", "a.carrier", "b.sun", "b.ring", "shaft", "housing"}
		for i := range 70 {
			x := d(len(names))
			y := (x + 1 + d(2)) % len(names) // some pairs only, so that motions are left
			if x > y {
				x, y = y, x
			}
			b.Element(fmt.Sprintf("e%d", i), kinematics.OneWay, names[x], names[y])
		}
		b.Ports("a.sun", "b.ring")
		train := build(t, b)
		st := train.Applying()
		k := solve.Compile(train).Kernel()
		compareOutcome(t, newOracle(train, st).answer(), k.Outcome(st))
		m := solve.Compile(train).Motion(st)
		compareMotion(t, newOracle(train, st), newOracle(train, st).answer(), m)
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
		if k.Fallbacks() != 1 {
			t.Errorf("seed %d: %d evaluations in math/big", seed, k.Fallbacks())
		}
	}
}

// describe writes a train and a state so that a failing case can be redone by hand.
func describe(t *kinematics.Train, st kinematics.State) string {
	name := func(m kinematics.MemberID) string { return fmt.Sprintf("%d:%s", m, t.Members[m].Name) }
	s := fmt.Sprintf("input %s, output %s, forward %+d\n", name(st.Input), name(st.Output), t.Forward)
	for _, m := range t.Meshes {
		s += fmt.Sprintf("  mesh %s %d, %s %d on %s, %v\n", name(m.A), m.ZA, name(m.B), m.ZB, name(m.Carrier), m.Kind)
	}
	for i, c := range t.Couplings {
		s += fmt.Sprintf("  %s %v %s, %s: mode %d\n", c.Name, c.Kind, name(c.A), name(c.B), st.Modes[i])
	}
	return s
}
