package diagnosis_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// signature writes down what a full road test can show of a hypothesis, straight
// from the engine: the motion of every state, by the slow and thorough way, and
// for what acts through torque the friction of package reading. It shares no
// code with package diagnosis.
func signature(sys *solve.System, reader *reading.Reader, a diagnosis.Assumptions, h *diagnosis.Hypothesis) string {
	t := sys.Train
	var lines []string
	for r := range t.Ranges {
		own := t.Ranges[r]
		if h.Command != nil {
			name := own.Name
			own = t.Ranges[h.Command[r]]
			own.Name = name
		}
		healthy := sys.Motion(t.In(&t.Ranges[r]))
		lines = append(lines, t.Ranges[r].Name+": "+inRange(sys, reader, a, &own, h.Faults, healthy, r))
	}
	return strings.Join(lines, "\n")
}

func inRange(sys *solve.System, reader *reading.Reader, a diagnosis.Assumptions, r *kinematics.Range, faults []kinematics.Fault, healthy *solve.Motion, index int) string {
	t := sys.Train
	st := t.In(r, faults...)
	m := sys.Motion(st)
	drive := func(verdict solve.Verdict, ratio exact.Frac) string {
		switch verdict {
		case solve.Forward, solve.Reverse:
			return verdict.String() + " " + ratio.String()
		case solve.OutputHeld:
			return "neutral" // the driver sees an engine that revs; pushing tells the rest
		}
		return verdict.String()
	}
	ratio, _ := m.Ratio()
	light, full := drive(m.Verdict, ratio), drive(m.Verdict, ratio)
	creeps := ""
	if f := reader.Read(r, faults...).Friction; f != nil && f.Missing == nil {
		at := func(share kinematics.Share) string {
			torque := f.Scale.Rated.Mul(exact.NewFrac(share.Num, share.Den))
			turned := func(w exact.Frac) string {
				switch {
				case w.Sign() == 0:
					return "neutral"
				case w.Sign() == t.Forward:
					return drive(solve.Forward, w.Inv())
				}
				return drive(solve.Reverse, w.Inv())
			}
			switch {
			case f.Gives && torque.Cmp(f.Give) >= 0:
				return turned(f.Given)
			case f.Gives, f.Drag.Sign() > 0 && torque.Cmp(f.Drag) < 0 && m.Drives():
				return "tie-up"
			case f.Limits && torque.Cmp(f.Limit) > 0:
				return turned(f.Flare)
			}
			return drive(m.Verdict, ratio)
		}
		light, full = at(a.Light), at(a.Full)
		if f.Creeps && !strings.HasPrefix(light, "forward") && !strings.HasPrefix(light, "reverse") {
			creeps = fmt.Sprint(" creeps ", f.Way)
		}
	}
	drives := strings.HasPrefix(light, "forward") || strings.HasPrefix(light, "reverse")
	text := light + creeps

	pawl := slices.ContainsFunc(t.Ranges[index].Apply, func(e int) bool { return t.Couplings[e].Kind == kinematics.Pawl })
	free, locked := st.Clone(), false
	for i := range t.ElementCount {
		if t.Couplings[i].Kind == kinematics.Pawl && st.Modes[i] == kinematics.Locked {
			free.Modes[i], locked = kinematics.Open, true
		}
	}
	if locked {
		if v := sys.Motion(free).Verdict; v == solve.Forward || v == solve.Reverse {
			text = "lurches " + v.String()
			drives = false
		}
	}
	if drives && !pawl && healthy.Drives() {
		own := drive(healthy.Verdict, func() exact.Frac { f, _ := healthy.Ratio(); return f }())
		switch {
		case full == light:
			text += ", holds at full throttle"
		case slipped(own, full) && !slipped(own, light):
			text += ", slips at full throttle"
		}
	}
	if first(t, index) {
		off := m
		if t.Drive == kinematics.Converter {
			off = sys.Motion(engineOff(t, r, faults))
		}
		text += fmt.Sprint(", with the engine off rolls ", !off.CoastForward.Empty, !off.CoastBackward.Empty)
	}
	if !pawl {
		backward := strings.HasPrefix(light, "reverse") || !strings.HasPrefix(light, "forward") && healthy.Verdict == solve.Reverse
		coast := m.CoastForward
		if backward {
			coast = m.CoastBackward
		}
		switch {
		case coast.Empty:
			text += ", locks"
		case coast.Min.Sign() > 0:
			text += ", brakes at " + coast.Min.String()
		default:
			text += ", coasts free"
		}
	}
	return text
}

// engineOff is the state of a range with no pressure: every clutch, brake, band and
// dog lets go that is not stuck by itself.
func engineOff(t *kinematics.Train, r *kinematics.Range, faults []kinematics.Fault) kinematics.State {
	var own []kinematics.Fault
	for _, f := range faults {
		k := t.Couplings[f.Coupling].Kind
		if (len(f.Ranges) == 0 || !k.Friction() && k != kinematics.Dog) && f.Kind != kinematics.Dragging {
			own = append(own, f)
		}
	}
	st := t.In(r, own...)
	for i := range t.ElementCount {
		k := t.Couplings[i].Kind
		stuck := slices.ContainsFunc(own, func(f kinematics.Fault) bool { return f.Coupling == i && f.Kind == kinematics.Stuck })
		if (k.Friction() || k == kinematics.Dog) && !stuck {
			st.Modes[i] = kinematics.Open
		}
	}
	return st
}

// slipped says whether a pull lets the engine run up beyond its own gear.
func slipped(own, pull string) bool {
	sense, ratio, drives := strings.Cut(own, " ")
	if !drives {
		return false
	}
	if pull == "neutral" {
		return true
	}
	other, at, drives := strings.Cut(pull, " ")
	return drives && other == sense && size(at) > size(ratio)
}

func size(ratio string) float64 {
	var n, d float64 = 0, 1
	if _, err := fmt.Sscanf(ratio, "%g/%g", &n, &d); err != nil {
		fmt.Sscanf(ratio, "%g", &n)
	}
	return max(n/d, -n/d)
}

// first says whether a range can be selected at a standstill.
func first(t *kinematics.Train, r int) bool {
	if len(t.Positions) == 0 {
		return true
	}
	for _, p := range t.Positions {
		if len(p.Ranges) > 0 && p.Ranges[0] == r {
			return true
		}
	}
	return false
}

// Every hypothesis of one fault, and every wrong command, is found back from a
// full road test: it is in the top group, with all that do the same, and every suspect of
// that group, also those in some ranges only and to another degree, does exactly the same.
// Torn gears, which are read of another train, are compared by TestTornOffIsASheared.
func TestClosedLoop(t *testing.T) {
	for _, train := range sampled(t) {
		t.Run(train.Name, func(t *testing.T) {
			b := newBench(train, exactly())
			reader := reading.NewReader(b.sys)
			alike := map[string][]string{}
			signatures := map[string]string{}
			torn := func(s *diagnosis.Suspect) bool { return s.Kind == diagnosis.Torn }
			singles := slices.DeleteFunc(slices.Clone(b.singles()), torn)
			for _, s := range singles {
				sig := signature(b.sys, reader, b.a, &s.Hypothesis)
				signatures[id(&s.Hypothesis)] = sig
				alike[sig] = append(alike[sig], id(&s.Hypothesis))
			}
			for _, s := range singles {
				seen := b.all.RoadTest(s)
				a := b.diagnose(seen...)
				top := a.Groups[0]
				sig := signatures[id(&s.Hypothesis)]
				var got []string
				for _, x := range top.Suspects {
					got = append(got, id(&x.Hypothesis))
					if x.Kind == diagnosis.Timing || torn(x) {
						continue
					}
					other, known := signatures[id(&x.Hypothesis)]
					if !known {
						other = signature(b.sys, reader, b.a, &x.Hypothesis)
						signatures[id(&x.Hypothesis)] = other
					}
					if other != sig {
						t.Errorf("%s: %s is as good, and does\n%s\nnot\n%s", s.Text(train), x.Text(train), other, sig)
					}
				}
				for _, want := range alike[sig] {
					if !slices.Contains(got, want) {
						t.Errorf("%s: %s does the same and is not in the top group\n%s", s.Text(train), want, strings.Join(got, "\n"))
					}
				}
				if top.Rank != 1 || top.Halves() != 0 {
					t.Errorf("%s: top group %d halves off", s.Text(train), top.Halves())
				}
				if len(a.Groups) > 1 && a.Groups[1].Rank == 1 {
					t.Errorf("%s: a second group is as good", s.Text(train))
				}
			}
		})
	}
}

// wrongWords are what an observation is replaced by when it is wrong.
var wrongWords = []string{"ok", "forward", "reverse", "none", "bind", "held", "rolls", "engine-braking", "no-engine-braking", "slips-full", "holds-full"}

// One observation of a full road test is replaced by a wrong one. The true fault
// must be in one of the top three groups in 95 of 100 cases over all trains.
func TestOneWrongObservation(t *testing.T) {
	const each = 3
	rng := rand.New(rand.NewPCG(1, 20))
	found, total := 0, 0
	for _, train := range sampled(t) {
		b := newBench(train, exactly())
		here, of := 0, 0
		for _, s := range b.singles() {
			if s.Kind != diagnosis.Faulty || len(s.Faults[0].Ranges) > 0 {
				continue
			}
			seen := b.all.RoadTest(s)
			for range each {
				wrong, ok := spoil(t, b, s, seen, rng)
				if !ok {
					continue
				}
				of++
				if r := rank(b.diagnose(wrong...), &s.Hypothesis); r > 0 && r <= 3 {
					here++
				}
			}
		}
		t.Logf("%-36s in the top three groups %3d of %3d", train.Name, here, of)
		found, total = found+here, total+of
	}
	t.Logf("all: %d of %d, %.1f %%", found, total, 100*float64(found)/float64(total))
	if total < 100 || whole() && total < 500 || float64(found) < 0.95*float64(total) {
		t.Errorf("%d of %d in the top three groups, want 95 %%", found, total)
	}
}

// spoil replaces one observation by one that does not fit the truth.
func spoil(t testing.TB, b *bench, truth *diagnosis.Suspect, seen []diagnosis.Observation, rng *rand.Rand) ([]diagnosis.Observation, bool) {
	for range 50 {
		i := rng.IntN(len(seen))
		if seen[i].Shop != nil { // pushed with the engine off
			continue
		}
		lie := see(t, b.t, b.t.Ranges[seen[i].Range].Name, wrongWords[rng.IntN(len(wrongWords))])
		if b.diagnose(lie...).Claim(truth.Faults).Halves < 2 {
			continue
		}
		wrong := slices.Clone(seen)
		wrong[i] = lie[0]
		return wrong, true
	}
	return nil, false
}

// Two faults at once are found back from a full road test: the pair is in the
// top group, unless one fault alone explains as much, or all but one thing that
// fits it partly; if as much, pairs are not even looked for.
func TestClosedLoopOfPairs(t *testing.T) {
	const each = 40
	rng := rand.New(rand.NewPCG(2, 20))
	for _, train := range sampled(t) {
		b := newBench(train, exactly())
		faults := train.SingleFaults()
		top, alone, of := 0, 0, 0
		for range each {
			f, g := faults[rng.IntN(len(faults))], faults[rng.IntN(len(faults))]
			if f.Coupling == g.Coupling {
				continue
			}
			if slices.IndexFunc(faults, equal(f)) > slices.IndexFunc(faults, equal(g)) {
				f, g = g, f
			}
			pair := suspect(f, g)
			of++
			a := b.diagnose(b.all.RoadTest(pair)...)
			switch r := rank(a, &pair.Hypothesis); {
			case r == 1:
				top++
				for _, s := range a.Groups[0].Suspects {
					if len(s.Faults) != 2 && len(s.Own) == 0 {
						t.Errorf("%s: %s is as good, and single", train.Name, s.Text(train))
					}
				}
			case r == 0 && a.Searched == 1 && a.Groups[0].Halves() == 0:
				alone++
			case r == 2 && a.Groups[0].Halves() == 1 && len(a.Groups[0].Suspects[0].Faults) == 1: // one fault explains all but a half
				alone++
			default:
				t.Errorf("%s: %s has rank %d; first is %s", train.Name, pair.Text(train), r, a.Groups[0].Suspects[0].Text(train))
			}
		}
		t.Logf("%-36s %2d pairs: %2d on top, %2d that one fault explains", train.Name, of, top, alone)
	}
}

func equal(f kinematics.Fault) func(kinematics.Fault) bool {
	return func(g kinematics.Fault) bool { return f.Coupling == g.Coupling && f.Kind == g.Kind }
}

// The workers of a search change nothing in what it finds, and neither do more
// faults than are needed.
func TestWorkersAgree(t *testing.T) {
	train := library(t, "simpson-three-speed")
	b := newBench(train, exactly())
	truth := suspect(fault(t, train, "forward=open"), fault(t, train, "low-reverse=stuck"), fault(t, train, "pawl=missing"))
	c := &diagnosis.Case{Train: train, Assume: b.a, Seen: b.all.RoadTest(truth)}
	names := func(o diagnosis.Options) string {
		var text []string
		for _, g := range must(b.finder.Diagnose(t.Context(), c, o)).Groups {
			for _, s := range g.Suspects {
				text = append(text, fmt.Sprint(g.Rank, s.Halves, id(&s.Hypothesis)))
			}
		}
		return strings.Join(text, "\n")
	}
	one := names(diagnosis.Options{Faults: 3, Workers: 1})
	for range 3 {
		if many := names(diagnosis.Options{Faults: 3, Workers: 4}); many != one {
			t.Fatal("one worker and four find different suspects")
		}
	}
	if r := rank(must(b.finder.Diagnose(t.Context(), c, diagnosis.Options{Faults: 3})), &truth.Hypothesis); r == 0 || r > 3 {
		t.Errorf("three faults: rank %d", r)
	}
	var told []string
	ctx := solve.WithProgress(t.Context(), func(work string, done, all int) {
		if work == "first faults" && (done == 0 || done == all) {
			told = append(told, strconv.Itoa(done*2/all))
		}
	})
	must(b.finder.Diagnose(ctx, c, diagnosis.Options{Faults: 3, Workers: 4}))
	if got := strings.Join(told, " "); got != "0 2 0 2" {
		t.Errorf("the beginnings and ends of pairs and of three are told as %q", got)
	}
}

// One fault in all ranges and one in some, so that every pair is tried, and each single fault
// beside what the ranges demand of every element.
func BenchmarkDiagnoseSomeRanges(b *testing.B) {
	for _, name := range []string{"overdrive-simpson-four-speed", "four-carrier-eight-speed"} {
		train := library(b, name)
		w := newBench(train, exactly())
		faults := train.SingleFaults()
		last := faults[len(faults)-1]
		seen := w.all.RoadTest(suspect(faults[0], last))
		seen = append(slices.DeleteFunc(seen, func(o diagnosis.Observation) bool { return o.Range == 2 }), see(b, train,
			train.Ranges[2].Name, "bind")...)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				f := must(diagnosis.New(b.Context(), solve.Compile(train), exactly()))
				must(f.Diagnose(b.Context(), &diagnosis.Case{Train: train, Assume: w.a, Seen: seen}, diagnosis.Options{}))
			}
		})
	}
}

// On the largest automatics every single hypothesis and every pair, for a whole
// road test that no single one explains.
func BenchmarkDiagnose(b *testing.B) {
	for _, name := range []string{"overdrive-simpson-four-speed", "four-carrier-eight-speed"} {
		train := library(b, name)
		w := newBench(train, exactly())
		faults := train.SingleFaults()
		truth := suspect(faults[0], faults[len(faults)-1])
		seen := w.all.RoadTest(truth)
		b.Run(fmt.Sprintf("%s/%dfaults", name, len(faults)), func(b *testing.B) {
			for b.Loop() {
				f := must(diagnosis.New(b.Context(), solve.Compile(train), exactly()))
				a := must(f.Diagnose(b.Context(), &diagnosis.Case{Train: train, Assume: w.a, Seen: seen}, diagnosis.Options{}))
				if a.Searched != 2 {
					b.Fatal("pairs were not needed")
				}
			}
		})
	}
}
