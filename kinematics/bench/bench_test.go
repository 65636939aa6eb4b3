package bench_test

import (
	"context"
	"errors"
	"fmt"
	"math/bits"
	"os"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/bench"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// An oracle turns a train by [solve.System.Turn], with speeds given as on the bench:
// it knows nothing of what package bench makes of the outcomes of ranges.
type oracle struct {
	t    *kinematics.Train
	sys  *solve.System
	open []int // not fitted
	done map[string]exact.Interval
}

func newOracle(t *kinematics.Train, without bench.Missing) *oracle {
	o := &oracle{t: t, sys: solve.Compile(t), done: map[string]exact.Interval{}}
	for i, c := range t.Couplings {
		if without == bench.Case && (c.A == kinematics.Housing || c.B == kinematics.Housing) {
			o.open = append(o.open, i)
		}
	}
	return o
}

// turns says what the output does, in turns for one of the input; empty if that locks.
func (o *oracle) turns(x bench.Turn, faults ...kinematics.Fault) exact.Interval {
	apply := slices.Clone(x.Air)
	for i, c := range o.t.Couplings {
		if c.Kind == kinematics.Pawl && x.Output == bench.Pawled {
			apply = append(apply, i)
		}
	}
	modes := o.t.In(&kinematics.Range{Apply: apply}, faults...).Modes
	for _, i := range o.open {
		modes[i] = kinematics.Open
	}
	state := x.Output.String() + fmt.Sprint(x.Backward)
	for _, m := range modes {
		state += string(rune(m))
	}
	if out, done := o.done[state]; done {
		return out
	}
	o.done[state] = o.turned(x, modes)
	return o.done[state]
}

func (o *oracle) turned(x bench.Turn, modes []kinematics.Mode) exact.Interval {
	speed := exact.Int(1)
	if x.Backward {
		speed = exact.Int(-1)
	}
	given := []solve.Given{{Member: o.t.Input, Speed: speed}}
	if x.Output == bench.Held {
		given = append(given, solve.Given{Member: o.t.Output, Speed: exact.Int(0)})
	}
	r := o.sys.Turn(modes, given)
	if r.Locks {
		return exact.None
	}
	out := r.Members[o.t.Output].Interval
	if x.Backward {
		out = out.Neg()
	}
	if x.Output != bench.Free {
		out = exact.Between(exact.Int(0), exact.Int(0))
	}
	return out
}

// apart says whether no number of turns is in both.
func apart(a, b exact.Interval) bool {
	if a.Empty || b.Empty {
		return a.Empty != b.Empty
	}
	return a.Max.Cmp(b.Min) < 0 || b.Max.Cmp(a.Min) < 0
}

// shows says whether a turn is a test and tells a faulty assembly from a sound one.
func (o *oracle) shows(x bench.Turn, faults ...kinematics.Fault) bool {
	sound := o.turns(x)
	_, one := sound.Point()
	if !sound.Empty && !one && sound.HasZero() {
		return false // the output may do anything
	}
	return apart(sound, o.turns(x, faults...))
}

// every lists all turns of a plan's question, without looking at what they show.
func every(p *bench.Plan) []bench.Turn {
	t := p.Train
	pawl := slices.ContainsFunc(t.Couplings, func(c kinematics.Coupling) bool { return c.Kind == kinematics.Pawl })
	var list []bench.Turn
	for set := range 1 << len(p.Air) {
		if bits.OnesCount(uint(set)) > p.Most {
			continue
		}
		var air []int
		for i, e := range p.Air {
			if set>>i&1 != 0 {
				air = append(air, e)
			}
		}
		if forked(t, air) {
			continue
		}
		for _, back := range []bool{false, true} {
			for _, output := range []bench.Output{bench.Free, bench.Held, bench.Pawled} {
				if output != bench.Pawled || pawl {
					list = append(list, bench.Turn{Air: air, Backward: back, Output: output})
				}
			}
		}
	}
	return list
}

// forked says whether dogs are among the elements that no range puts in together.
func forked(t *kinematics.Train, air []int) bool {
	for _, a := range air {
		for _, b := range air {
			together := a == b || t.Couplings[a].Kind != kinematics.Dog || t.Couplings[b].Kind != kinematics.Dog
			for r := range t.Ranges {
				together = together || t.Ranges[r].Applies(a) && t.Ranges[r].Applies(b)
			}
			if !together {
				return true
			}
		}
	}
	return false
}

func planOf(t *testing.T, train *kinematics.Train, q bench.Question) *bench.Plan {
	t.Helper()
	p, err := bench.New(context.Background(), solve.Compile(train), q)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func trainOf(t *testing.T, name string) *kinematics.Train {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// Every single fault of every train of the library is shown by the turn that the plan
// says, or by none at all; and no fewer turns show as many. The trains with most to try
// take their turn with TIEUP_EXHAUSTIVE.
func TestPlansProve(t *testing.T) {
	for _, name := range gearsets.Names() {
		t.Run(name, func(t *testing.T) {
			train := trainOf(t, name)
			p := planOf(t, train, bench.Question{})
			if len(p.Faults) != len(train.SingleFaults()) || len(p.Unfit) != 0 {
				t.Errorf("%d faults of %d", len(p.Faults), len(train.SingleFaults()))
			}
			o := newOracle(train, bench.Nothing)
			all := every(p)
			if len(all)*len(p.Faults) > 3000 && os.Getenv("TIEUP_EXHAUSTIVE") == "" {
				t.Skip("set TIEUP_EXHAUSTIVE")
			}
			shownBy := map[string]uint64{} // turns by the faults that they show
			for i, f := range p.Faults {
				n := p.ShownBy(f)
				if n >= 0 && !o.shows(p.Turns[n], f) {
					t.Errorf("%s is not shown by turn %d", train.FaultText(f), n+1)
				}
				for _, x := range all {
					if o.shows(x, f) {
						if n < 0 {
							t.Errorf("%s is shown by %v, and not by the plan", train.FaultText(f), x)
						}
						shownBy[key(x)] |= 1 << i
					}
				}
			}
			fewest(t, p, shownBy)
		})
	}
}

func key(x bench.Turn) string {
	s := x.Output.String()
	if x.Backward {
		s += "-"
	}
	for _, i := range x.Air {
		s += string(rune('A' + i))
	}
	return s
}

// fewest tries every choice of one turn less.
func fewest(t *testing.T, p *bench.Plan, shownBy map[string]uint64) {
	t.Helper()
	if !p.Closed || p.AtLeast != len(p.Turns) {
		t.Errorf("the bound is not closed: %d turns, at least %d", len(p.Turns), p.AtLeast)
	}
	var goal uint64
	var sets []uint64
	for _, s := range shownBy {
		goal |= s
		if !slices.Contains(sets, s) {
			sets = append(sets, s)
		}
	}
	var had uint64
	for _, x := range p.Turns {
		had |= shownBy[key(x)]
	}
	if had != goal {
		t.Errorf("the plan shows %b of %b", had, goal)
	}
	if choose(sets, goal, 0, len(p.Turns)-1) {
		t.Errorf("%d turns are enough, the plan has %d", len(p.Turns)-1, len(p.Turns))
	}
}

// choose says whether so many of the sets have all.
func choose(sets []uint64, goal, had uint64, n int) bool {
	if had == goal {
		return true
	}
	for i := range sets {
		if n > 0 && choose(sets[i+1:], goal, had|sets[i], n-1) {
			return true
		}
	}
	return false
}

// A pair of faults can hide from turns that show each of the two: those shown are, those
// not shown are by none of all turns.
func TestPairs(t *testing.T) {
	for _, name := range []string{"depot-shuttle-three-speed", "transfer-case-two-speed", "hub-three-speed"} {
		train := trainOf(t, name)
		p := planOf(t, train, bench.Question{Pairs: true})
		o := newOracle(train, bench.Nothing)
		all := every(p)
		if len(p.Pairs) == 0 {
			t.Errorf("%s: no pairs", name)
		}
		for _, pair := range p.Pairs {
			n := p.ShownBy(pair...)
			if n >= 0 && !o.shows(p.Turns[n], pair...) ||
				n < 0 && slices.ContainsFunc(all, func(x bench.Turn) bool { return o.shows(x, pair...) }) {
				t.Errorf("%s: %s with %s: turn %d", name, train.FaultText(pair[0]), train.FaultText(pair[1]), n+1)
			}
		}
	}
}

// Turns stand so that no other order moves fewer lines of air.
func TestOrder(t *testing.T) {
	for _, name := range []string{"depot-shuttle-three-speed", "ravigneaux-four-speed", "overdrive-simpson-four-speed"} {
		p := planOf(t, trainOf(t, name), bench.Question{})
		moved := func(turns []bench.Turn) int {
			n, at := 0, bench.Turn{}
			for _, x := range turns {
				n += bench.Lines(at, x)
				at = x
			}
			return n
		}
		least := moved(p.Turns)
		permute(slices.Clone(p.Turns), 0, func(turns []bench.Turn) {
			if moved(turns) < least {
				t.Fatalf("%s: %v moves %d lines, the plan %d", name, turns, moved(turns), least)
			}
		})
	}
}

func permute(turns []bench.Turn, k int, visit func([]bench.Turn)) {
	if k == len(turns) {
		visit(turns)
		return
	}
	for i := k; i < len(turns); i++ {
		turns[k], turns[i] = turns[i], turns[k]
		permute(turns, k+1, visit)
		turns[k], turns[i] = turns[i], turns[k]
	}
}

// A tree leaves together only what no turn tells apart, and loses nobody.
func TestTree(t *testing.T) {
	p := planOf(t, trainOf(t, "depot-shuttle-three-speed"), bench.Question{})
	groups := map[int]int{} // group of a fault, by its place in the list
	place := func(f kinematics.Fault) int {
		return slices.IndexFunc(p.Faults, func(g kinematics.Fault) bool { return g.Coupling == f.Coupling && g.Kind == f.Kind })
	}
	for g, faults := range alike(t, p) {
		for _, f := range faults {
			groups[place(f)] = g
		}
	}
	leaves := 0
	var walk func(b bench.Branch) int
	walk = func(b bench.Branch) int {
		if b.Next == nil {
			leaves++
			for _, f := range b.Faults {
				if groups[place(f)] != groups[place(b.Faults[0])] {
					t.Errorf("%s is left with %s", p.Train.FaultText(f), p.Train.FaultText(b.Faults[0]))
				}
			}
			return len(b.Faults)
		}
		n := 0
		for _, c := range b.Next.Branches {
			n += walk(c)
		}
		return n
	}
	if n := walk(bench.Branch{Faults: p.Faults, Next: p.Tree(t.Context(), p.Faults)}); n != len(p.Faults) || leaves != len(alike(t, p)) {
		t.Errorf("the tree has %d faults of %d, %d leaves for %d groups", n, len(p.Faults), leaves, len(alike(t, p)))
	}
	// Worked out by hand: the carrier that low-reverse holds is held by the roller
	// clutch, too; a sun off its shell is as good as the ring that it drives off its shaft.
	want := []string{"low-reverse=stuck roller=seized", "shell:rear.sun=sheared output:rear.ring=sheared"}
	for _, w := range want {
		found := false
		for _, g := range alike(t, p) {
			text := ""
			for _, f := range g {
				text += " " + p.Train.FaultText(f)
			}
			found = found || text[1:] == w
		}
		if !found {
			t.Errorf("%s are told apart", w)
		}
	}
}

// Without the case what holds against it is not there, and its faults cannot show; air
// goes where it can.
func TestWithout(t *testing.T) {
	train := trainOf(t, "depot-shuttle-three-speed")
	p := planOf(t, train, bench.Question{Without: bench.Case})
	if got := train.CouplingNames(p.Air); !slices.Equal(got, []string{"forward", "direct"}) {
		t.Errorf("air to %v", got)
	}
	o := newOracle(train, bench.Case)
	for _, f := range p.Faults {
		if n := p.ShownBy(f); n >= 0 && !o.shows(p.Turns[n], f) {
			t.Errorf("%s is not shown by turn %d", train.FaultText(f), n+1)
		}
	}
	if len(p.Faults)+len(p.Unfit) != len(train.SingleFaults()) || len(p.Unfit) != 8 {
		t.Errorf("%d faults, %d not fitted", len(p.Faults), len(p.Unfit))
	}
	roller, _ := train.Element("roller")
	low, _ := train.Element("low-reverse")
	var wrong *bench.AirError
	for _, q := range []bench.Question{{Air: []int{roller}}, {Without: bench.Case, Air: []int{low}}} {
		if _, err := bench.New(context.Background(), solve.Compile(train), q); !errors.As(err, &wrong) {
			t.Errorf("air to %v: %v", q.Air, err)
		}
	}
	if p := planOf(t, train, bench.Question{NoHold: true}); slices.ContainsFunc(p.Turns, func(x bench.Turn) bool {
		return x.Output == bench.Held
	}) {
		t.Error("an output is held that cannot be")
	}
}

// With the pawl in and nothing applied a sound unit's input turns both ways. One clutch
// stuck on lets it turn one way, the other one the other way. Common practice, no source:
// a Simpson train holds its rear carrier against turning backward by the roller clutch;
// the forward clutch's ring drives the sun backward and the carrier with it, the direct
// clutch turns the sun itself.
func TestPawlRule(t *testing.T) {
	train := trainOf(t, "depot-shuttle-three-speed")
	p := planOf(t, train, bench.Question{})
	for _, tt := range []struct {
		fault                       string
		clockwise, counterclockwise bool // the input turns
	}{
		{"", true, true},
		{"forward", false, true},
		{"direct", true, false},
	} {
		var faults []kinematics.Fault
		if e, ok := train.Element(tt.fault); ok {
			faults = append(faults, kinematics.Fault{Coupling: e, Kind: kinematics.Stuck})
		}
		for _, back := range []bool{false, true} {
			want := tt.clockwise
			if back {
				want = tt.counterclockwise
			}
			if s := p.Seen(bench.Turn{Backward: back, Output: bench.Pawled}, faults...); s.Locks() == want {
				t.Errorf("%s stuck, backward %v: locks %v", tt.fault, back, s.Locks())
			}
		}
	}
}

func BenchmarkEightSpeedPairs(b *testing.B) {
	train, err := gearsets.Library("four-carrier-eight-speed")
	if err != nil {
		b.Fatal(err)
	}
	sys := solve.Compile(train)
	for b.Loop() {
		if _, err := bench.New(context.Background(), sys, bench.Question{Pairs: true}); err != nil {
			b.Fatal(err)
		}
	}
}

// chain is an invented train of n simple sets in a row, a brake on every ring and a clutch
// that locks every set.
func chain(t *testing.T, n int) *kinematics.Train {
	b := kinematics.NewBuilder("chain")
	b.Shaft("in", "out")
	var brakes, clutches []string
	last := "in"
	for i := range n {
		set := fmt.Sprintf("g%d", i)
		b.Simple(set, 30, 70, 20, false)
		b.Join("j"+set, last, set+".sun")
		b.Element("b"+set, kinematics.Brake, set+".ring", kinematics.HousingName)
		b.Element("c"+set, kinematics.Clutch, set+".sun", set+".carrier")
		brakes, clutches = append(brakes, "b"+set), append(clutches, "c"+set)
		last = set + ".carrier"
	}
	b.Join("z", last, "out")
	b.Ports("in", "out")
	b.Range("low", brakes...)
	b.Range("high", clutches...)
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// Where air can be put on in more ways than can be tried, those near the ranges are, and
// the plan does not claim to be the least.
func TestPlanOfManyElements(t *testing.T) {
	p := planOf(t, chain(t, 10), bench.Question{})
	if !p.Near || p.Closed || p.AtLeast > 1 {
		t.Errorf("near %v, closed %v, at least %d", p.Near, p.Closed, p.AtLeast)
	}
	for _, f := range p.Faults {
		if p.ShownBy(f) < 0 {
			t.Errorf("%s is not shown", p.Train.FaultText(f))
		}
	}
	if p = planOf(t, chain(t, 3), bench.Question{}); p.Near || !p.Closed {
		t.Errorf("three sets: near %v, closed %v", p.Near, p.Closed)
	}
	ctx, end := context.WithCancel(context.Background())
	end()
	if _, err := bench.New(ctx, solve.Compile(chain(t, 10)), bench.Question{}); !errors.Is(err, context.Canceled) {
		t.Errorf("a plan that was given up: %v", err)
	}
}

// alike sorts the faults of a plan by what turns show of them.
func alike(t *testing.T, p *bench.Plan) [][]kinematics.Fault {
	t.Helper()
	groups, err := p.Alike(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return groups
}

// A turn of a sound assembly shows what the range does: the output counts the way in which the
// input turns, also in a train that drives forward when it turns the other way.
func TestSoundTurns(t *testing.T) {
	for _, name := range []string{"depot-shuttle-three-speed", "simpson-transaxle-three-speed"} {
		train := trainOf(t, name)
		sys := solve.Compile(train)
		for i := range train.Ranges {
			r := &train.Ranges[i]
			m := sys.Motion(train.In(r))
			want, one := m.Members[r.Output].Point()
			if !m.Drives() || !one {
				continue
			}
			seen := bench.Sound(sys, bench.Turn{Air: r.Set()}, bench.Nothing)
			if got := seen.Out.NearestZero(); got.Cmp(want) != 0 {
				t.Errorf("%s %s: turned by hand the output turns %s, in the range %s", name, r.Name, got, want)
			}
		}
	}
}

// What a turn can show instead of what it should leaves no fault that a turn before it shows.
func TestOtherwiseIsOfWhatIsLeft(t *testing.T) {
	p := planOf(t, trainOf(t, "depot-shuttle-three-speed"), bench.Question{})
	left := 0
	for i := range p.Turns {
		for _, b := range p.Otherwise(t.Context(), i) {
			for _, f := range b.Faults {
				left++
				if n := p.ShownBy(f); n >= 0 && n < i {
					t.Errorf("turn %d leaves %s, which turn %d shows", i+1, p.Train.FaultText(f), n+1)
				}
			}
		}
	}
	if left == 0 {
		t.Error("no turn shows a fault")
	}
}
