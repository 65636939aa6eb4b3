package transient_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/transient"
)

// What is said of shifts, each with the smallest change that makes it true. In a
// pattern # stands for a number.
func TestWords(t *testing.T) {
	depot := "depot-shuttle-three-speed"
	for _, c := range []struct {
		name, train, from, to string
		set                   func(*kinematics.Train, *transient.Shift)
		want, never           []string
	}{
		{"timed by torque", depot, "D2", "D3", nil,
			[]string{"timed: direct takes over from intermediate", "D3 holds from # s on, the input at # rpm"}, []string{"binds", "flares"}},
		{"timed by speed", depot, "D3", "D2", nil, []string{"timed: intermediate takes over from direct"}, []string{"binds", "flares"}},
		{"nothing lets go", depot, "D1", "D2", nil,
			[]string{"timed by itself: nothing has to let go for intermediate", "roller lets go and overruns from # s"}, nil},
		{"only lets go", depot, "D2", "D1", nil,
			[]string{"timed by itself: what D1 needs holds already, only intermediate lets go", "roller takes hold at # s"}, []string{"flares"}},
		{"late", depot, "D2", "D3", release("intermediate", "0.60..0.75"),
			[]string{"binds for # s: output torque falls to -# N m at # s while the input gives # \\(timed: not below #\\); intermediate fights the drive"}, []string{"flares"}},
		{"early", depot, "D2", "D3", release("intermediate", "0.15..0.25"), []string{"flares by # rpm at # s; output torque falls to # N m"}, []string{"binds"}},
		{"late to catch", depot, "D3", "D2", apply("intermediate", "0.80..0.90"), []string{"flares by # rpm at # s.*"}, []string{"binds"}},
		{"too early to catch", depot, "D3", "D2", apply("intermediate", "0.20..0.40"), []string{"binds for # s: .*; intermediate fights the drive, direct slips"}, nil},
		{"coasting with a gap", depot, "D3", "D2", func(train *kinematics.Train, s *transient.Shift) {
			s.Torque = -40
			release("direct", "0.05..0.10")(train, s)
			apply("intermediate", "0.60..0.90")(train, s)
		}, []string{"lets the input fall # rpm below both ranges at # s"}, []string{"binds"}},
		{"stuck", depot, "D2", "D3", fault("intermediate", kinematics.Stuck),
			[]string{"binds for .*", "the vehicle slows from # to # km/h in # s", "is not over at # s: direct by # rpm still slips", "direct takes # kJ, # times the # of the timed shift.*"}, nil},
		{"never takes hold", depot, "D2", "D3", fault("direct", kinematics.OpenF), []string{"flares by # rpm at # s.*"}, []string{"binds", "D3 holds"}},
		{"neutral that drives", depot, "N", "R", fault("forward", kinematics.Stuck),
			[]string{"before the command, N drives forward at 2.45 with these faults", "R ties up: from # s on nothing turns; forward fights the drive",
				"stops the vehicle: output torque reaches -# N m at # s, and the vehicle slows by # m/s²"}, []string{"binds", "pushes", "lurches", "takes up"}},
		{"tied up all along", depot, "N", "R", func(train *kinematics.Train, s *transient.Shift) {
			faults("forward=stuck")(train, s)
			s.Brake = 2000
		}, []string{"R ties up: nothing turns"}, []string{"binds", "lurches", "pushes", "stops"}},
		{"at rest before", depot, "P", "R", func(train *kinematics.Train, s *transient.Shift) {
			faults("intermediate=stuck")(train, s)
			s.Torque, s.NoLoad = -40, 0
		}, []string{"R ties up: nothing turns"}, nil},
		{"tied up before and after", "double-pinion-reverser", "R", "P", faults("forward=stuck"),
			[]string{"before the command, R ties up with these faults", "P ties up: nothing turns; forward fights the drive"}, []string{"binds"}},
		{"too little torque to roll", depot, "N", "D3", faults("intermediate=dragging 0.1"), []string{"takes up D3"}, []string{"ties up"}},
		{"engagement", depot, "N", "R", nil, []string{"takes up R", "pushes backward: output torque reaches -# N m at # s, and the vehicle speeds up by # m/s²"}, []string{"lurches"}},
		{"lurch out of park", depot, "P", "N", fault("forward", kinematics.Stuck), []string{"N drives forward at 2.45 with these faults, as D1",
			"lurches forward: output torque reaches # N m at 0.30 s, and the vehicle speeds up by # m/s²"}, []string{"without drive"}},
		{"pawl", depot, "D2", "P", func(_ *kinematics.Train, s *transient.Shift) { s.Speed = 10 }, []string{"pawl catches what turns: a shock that takes # J; its torque depends on how stiff the parts are"}, nil},
		{"letting go", depot, "D1", "N", nil, []string{"lets go of D1"}, []string{"flares"}},
		{"no drive either way", depot, "P", "N", nil, []string{"changes from P to N without drive"}, nil},
		{"coasting down", depot, "D3", "D3", func(_ *kinematics.Train, s *transient.Shift) { s.Torque, s.Until = -40, 10 },
			[]string{"stays in D3", "the vehicle slows from # to # km/h in # s"}, nil},
		{"dragging", depot, "N", "N", func(train *kinematics.Train, s *transient.Shift) {
			fault("forward", kinematics.Dragging)(train, s)
			s.Faults[0].Share = kinematics.Share{Num: 1, Den: 20}
		}, []string{"stays in N", "creeps forward: output torque reaches # N m.*", "forward takes # kJ.*"}, []string{"lurches"}},
		// A shift or an engagement that fails is not a success.
		{"never takes hold alone", depot, "D1", "D2", faults("intermediate=open"), []string{"D2 does not engage: it stays in D1, at 2.45"}, []string{"timed", "D2 holds"}},
		{"never drives", depot, "N", "D1", faults("forward=open"), []string{"D1 does not engage: it does not drive with these faults"}, []string{"takes up", "pushes"}},
		{"roller slips", depot, "N", "D1", faults("roller=slips"), []string{"D1 does not engage: it does not drive with these faults"}, []string{"takes up"}},
		{"roller reversed", depot, "N", "D1", faults("roller=reversed"), []string{"D1 does not engage: it does not drive with these faults"}, []string{"takes up"}},
		{"no reaction in reverse", depot, "N", "R", faults("low-reverse=open"), []string{"R does not engage: it does not drive with these faults"}, []string{"takes up", "lurches", "pushes"}},
		{"drives otherwise", depot, "N", "D1", faults("direct=stuck"), []string{"D1 does not engage: it drives forward at 1.00 with these faults, as D3"}, []string{"takes up", "D1 holds"}},
		{"neutral drives", depot, "R", "N", faults("forward=stuck"),
			[]string{"before the command, R ties up with these faults", "N drives forward at 2.45 with these faults, as D1", "lurches forward: .*"}, []string{"binds", "lets go"}},
		{"on-coming stuck out of a tie-up", depot, "R", "D1", faults("forward=stuck"),
			[]string{"before the command, R ties up with these faults", "takes up D1", "pushes forward: output torque reaches # N m at 0.30 s.*"}, []string{"timed", "take over"}},
		{"off-going stuck, by speed", depot, "D3", "D2", faults("direct=stuck"),
			[]string{"binds for # s: .*; intermediate fights the drive", "is not over at # s: intermediate by # rpm still slips"}, []string{"takes over", "D2 holds"}},
		{"stuck in part", depot, "D1", "D2", faults("low-reverse=stuck 0.1"),
			[]string{"binds for # s: .*; low-reverse fights the drive.*", "low-reverse drags to the end: it slips at # rpm with # N m", "D2 holds from # s on.*"},
			[]string{"cannot turn", "ties up", "nothing turns"}},
		{"stuck in part later", depot, "D2", "D3", faults("intermediate=stuck 0.2@D3"),
			[]string{"intermediate drags to the end: it slips at # rpm with # N m", "D3 holds from # s on.*"}, []string{"cannot turn", "ties up", "nothing turns"}},
		{"stuck in part before and after", depot, "D2", "D3", faults("low-reverse=stuck 0.1"),
			[]string{"low-reverse drags to the end: it slips at # rpm with # N m", "D3 holds from # s on.*"}, []string{"ties up", "before the command"}},
		{"slow", depot, "D2", "D3", faults("direct=weak 0.2"),
			[]string{"neither binds nor flares, but direct slips for # s \\(timed: # s\\)", "direct takes # kJ, # times the # of the timed shift .*"}, []string{"timed: direct"}},
		{"rigid catch", depot, "D2", "D3", faults("low-reverse=stuck@D3"),
			[]string{"low-reverse catches what turns: a shock that takes # J; .*", "binds for # s: output torque falls to -[0-9]{1,4} N m .*"}, []string{"low-reverse takes"}},
		// Changes of direction, and a one-way clutch that takes over.
		{"by torque from rest", depot, "D2", "D3", func(_ *kinematics.Train, s *transient.Shift) { s.Speed = 0 },
			[]string{"timed: direct takes over from intermediate"}, []string{"by itself"}},
		{"backward to forward", depot, "R", "D1", nil,
			[]string{"timed: direct and low-reverse let go before forward takes hold", "pushes forward: .*", "D1 holds from # s on.*"}, []string{"take over", "binds", "lurches"}},
		{"forward to backward, rolling", depot, "D1", "R", func(_ *kinematics.Train, s *transient.Shift) { s.Speed = 30 },
			[]string{"timed: forward lets go before direct and low-reverse take hold", "holds the vehicle back: .* and the vehicle slows by # m/s²"}, []string{"timed by itself"}},
		{"one-way clutch in line", "simpson-three-speed", "D3", "D2", nil,
			[]string{"timed by itself: intermediate-roller takes over from direct", "intermediate-roller takes hold at # s"}, []string{"binds", "flares"}},
		{"flare that was there before", depot, "D1", "R", faults("roller=reversed"), []string{"before the command, D1 does not drive with these faults"}, []string{"flares"}},
		// What nobody would feel, brakes, and an input beyond its no-load speed.
		{"no push coasting", "double-pinion-reverser", "N", "R", func(_ *kinematics.Train, s *transient.Shift) { s.Torque, s.NoLoad = -40, 0 },
			[]string{"takes up R", "R holds from 0.3[0-9] s on.*"}, []string{"lurches", "pushes"}},
		{"no creep rolling", depot, "N", "N", func(_ *kinematics.Train, s *transient.Shift) { s.Speed = 120 }, []string{"stays in N"}, []string{"creeps"}},
		{"braked", depot, "N", "D1", func(_ *kinematics.Train, s *transient.Shift) { s.Brake = 2000 },
			[]string{"takes up D1", "pushes forward: output torque reaches # N m at # s; the brakes hold the vehicle"}, []string{"speeds up"}},
		{"rolling engagement", "simpson-transaxle-three-speed", "N", "D1", func(_ *kinematics.Train, s *transient.Shift) { s.Speed = 180 },
			[]string{"holds the vehicle back: output torque reaches -# N m at # s, and the vehicle slows by # m/s²",
				"the input turns faster than 700 rpm, at which its torque is nothing: there it brakes, with up to # N m"}, []string{"lurches", "takes up"}},
		{"not yet", "coupled-four-speed", "1", "2", func(_ *kinematics.Train, s *transient.Shift) { s.Torque = -40 },
			[]string{"the input has not run down to 2 at # s: it turns at # rpm, in 2 it would turn at #"}, []string{"is not over", "timed"}},
		{"late coasting", depot, "D3", "D2", func(train *kinematics.Train, s *transient.Shift) {
			s.Torque = -40
			release("direct", "0.60..0.80")(train, s)
			apply("intermediate", "0.30..0.40")(train, s)
		}, []string{"binds for 0.4[0-9] s: output torque falls to -# N m at # s while the input drags with 40 .*; direct fights the drive, intermediate slips"}, nil},
		{"two let go", depot, "R", "N", nil, []string{"lets go of R"}, nil},
		{"vehicle moves the other way", "simpson-transaxle-three-speed", "D2", "D3", nil, []string{"timed: direct takes over from intermediate"}, []string{"binds"}},
	} {
		train := library(t, c.train)
		s := shift(t, train, c.from, c.to)
		if c.set != nil {
			c.set(train, s)
		}
		a, err := s.Play(t.Context())
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		words := a.Words()
		for _, w := range c.want {
			if !says(words, w) {
				t.Errorf("%s: %q is not among %q", c.name, w, words)
			}
		}
		for _, w := range c.never {
			if says(words, ".*"+w+".*") {
				t.Errorf("%s: %q is among %q", c.name, w, words)
			}
		}
	}
}

// Whatever is wrong, in whatever shift: what is said fits the speeds at the end.
func TestWordsFitTheEnd(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 2026))
	broken := regexp.MustCompile(`  |: (take|let)s? |(for|from|only) *$|only lets?|%!|NaN|Inf| -0 `)
	said := map[string]int{}
	for _, name := range append([]string{"coupled-four-speed", "double-pinion-reverser", "ravigneaux-two-speed"}, played()...) {
		train := library(t, name)
		var kinds []string
		for i := range train.Couplings {
			for _, k := range train.FaultKinds(i) {
				kinds = append(kinds, fmt.Sprintf("%s=%s", train.Couplings[i].Name, k))
			}
		}
		for range 30 {
			pick := func() string { return train.Ranges[random.IntN(len(train.Ranges))].Name }
			s := shift(t, train, pick(), pick())
			s.Until, s.Step = 2.5, 0.002
			if random.IntN(3) == 0 {
				s.Torque, s.NoLoad = -40, 0
			}
			if random.IntN(4) > 0 {
				text := kinds[random.IntN(len(kinds))]
				if strings.HasSuffix(text, "weak") || strings.HasSuffix(text, "dragging") || strings.HasSuffix(text, "stuck") && random.IntN(2) == 0 {
					text += " 0.2"
				}
				f, err := kinematics.ParseFault(train, text)
				if err != nil {
					continue // a one-way clutch is not stuck in part
				}
				s.Faults = []kinematics.Fault{f}
			}
			a, err := s.Play(t.Context())
			if err != nil {
				continue // the laws test which errors there are
			}
			const rpm = math.Pi / 30
			last := len(a.Run.Time) - 1
			in, out := a.Run.Input[last], a.Run.Output[last]*float64(train.Forward)
			rests := math.Abs(in) < rpm && math.Abs(out) < rpm
			ratio, drives := s.System.Kernel().Outcome(train.In(s.To)).Ratio()
			gap := in - ratio.Float()*out
			for _, w := range a.Words() {
				where := fmt.Sprintf("%s %s-%s %v at %g N m: %q of %q: input %g, output %g", name, s.From.Name, s.To.Name, s.Faults, s.Torque, w, a.Words(), in, out)
				if broken.MatchString(w) {
					t.Error("no sentence: ", where)
				}
				switch {
				case strings.HasPrefix(w, "before the command"):
				case strings.HasPrefix(w, "timed"), strings.HasPrefix(w, "takes up"), strings.HasPrefix(w, s.To.Name+" holds from"):
					said["success"]++
					if drives && !rests && math.Abs(gap) > rpm && !(s.Torque < 0 && gap < 0) {
						t.Error("no success: ", where)
					}
				case strings.Contains(w, "nothing turns"):
					said["held"]++
					if !rests || len(s.Faults) == 0 {
						t.Error("something turns: ", where)
					}
				case strings.Contains(w, " drives forward"), strings.Contains(w, " drives backward"), strings.Contains(w, "it stays in"):
					said["otherwise"]++
					if drives && !rests && math.Abs(gap) < rpm {
						t.Error("it is reached: ", where)
					}
				case strings.Contains(w, "does not drive with"):
					said["no drive"]++
					if drives && !rests && math.Abs(gap) < rpm {
						t.Error("it is reached: ", where)
					}
				}
			}
		}
	}
	least := 1
	if thorough() {
		least = 5
	}
	for _, what := range []string{"success", "held", "otherwise", "no drive"} {
		if said[what] < least {
			t.Errorf("%s is said %d times", what, said[what])
		}
	}
}

var numeral = regexp.MustCompile("#")

func says(words []string, pattern string) bool {
	re := regexp.MustCompile("^" + numeral.ReplaceAllString(pattern, `(-?[0-9.]+|two|three|four|five|six|seven|eight|nine|ten)`) + "$")
	for _, w := range words {
		if re.MatchString(w) {
			return true
		}
	}
	return false
}

// shift is a shift with everything assumed, played to a second after its ramps.
func shift(t *testing.T, train *kinematics.Train, a, b string) *transient.Shift {
	t.Helper()
	s := from(t, train, a, b)
	n := transient.New(s.System, s.From, s.To)
	n.Until, n.Step = 1.7, 0.001
	return n
}

func release(name, span string) func(*kinematics.Train, *transient.Shift) {
	return func(train *kinematics.Train, s *transient.Shift) { ramp(train, s.Release, name, span) }
}

func apply(name, span string) func(*kinematics.Train, *transient.Shift) {
	return func(train *kinematics.Train, s *transient.Shift) { ramp(train, s.Apply, name, span) }
}

func ramp(train *kinematics.Train, into []*kinematics.Ramp, name, span string) {
	i, ok := train.Element(name)
	r, err := kinematics.ParseRamp(span)
	if !ok || err != nil {
		panic(name + " " + span)
	}
	into[i] = &r
}

func fault(name string, kind kinematics.FaultKind) func(*kinematics.Train, *transient.Shift) {
	return func(train *kinematics.Train, s *transient.Shift) {
		i, ok := train.Element(name)
		if !ok {
			panic(name)
		}
		s.Faults = []kinematics.Fault{{Coupling: i, Kind: kind}}
	}
}

// faults sets faults as they are written on the command line.
func faults(texts ...string) func(*kinematics.Train, *transient.Shift) {
	return func(train *kinematics.Train, s *transient.Shift) {
		for _, text := range texts {
			f, err := kinematics.ParseFault(train, text)
			if err != nil {
				panic(err)
			}
			s.Faults = append(s.Faults, f)
		}
	}
}

// A sweep goes from flare to bind, with the timed moment between, and its window
// has edges at which a limit is just kept.
func TestSweep(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	s := shift(t, train, "D2", "D3")
	limits := transient.NoLimits()
	limits.Least, limits.Flare = 60, 50/transient.RPM(1)
	w, err := s.Sweep(t.Context(), transient.Releases, limits)
	if err != nil {
		t.Fatal(err)
	}
	first, last := w.Points[0], w.Points[len(w.Points)-1]
	if first.Flare == 0 || first.Bind != 0 || last.Bind == 0 || last.Flare != 0 {
		t.Errorf("from %+v to %+v, want a flare and a bind", first, last)
	}
	for i := 1; i < len(w.Points); i++ {
		a, b := w.Points[i-1], w.Points[i]
		if b.Overlap <= a.Overlap || b.Bind < a.Bind-1e-9 || b.Flare > a.Flare+1e-3 && b.Overlap > -0.15 {
			t.Errorf("more overlap has more flare or less bind: %+v, then %+v", a, b)
		}
	}
	if len(w.Windows) != 1 || w.Windows[0].OpenFrom || w.Windows[0].OpenTo {
		t.Fatalf("windows %+v, want one with two ends", w.Windows)
	}
	x := w.Windows[0]
	if x.From > 0 || x.To < 0 {
		t.Errorf("the timed moment is not in the window %+v", x)
	}
	// One millisecond beyond the ends a limit is broken, by the plain command.
	intermediate, _ := train.Element("intermediate")
	for _, c := range []struct {
		overlap float64
		within  bool
	}{{x.From, true}, {x.From - 0.001, false}, {x.To, true}, {x.To + 0.001, false}} {
		end := w.Moment + c.overlap
		s.Release[intermediate] = &kinematics.Ramp{Start: end - w.Length, End: end, Shape: kinematics.Line}
		a, err := s.Play(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		// Play has half the step: at the very edge it may differ by little.
		v := a.Verdict
		if within := v.Least >= limits.Least-0.3 && v.Flare <= limits.Flare+0.3; within != c.within && c.within {
			t.Errorf("overlap %.4f: least %g N m, flare %g rad/s", c.overlap, v.Least, v.Flare)
		}
		if broken := v.Least < limits.Least+0.3 || v.Flare > limits.Flare-0.3; !c.within && !broken {
			t.Errorf("overlap %.4f is within: least %g N m, flare %g rad/s", c.overlap, v.Least, v.Flare)
		}
	}
	if _, err := shift(t, train, "D1", "D2").Sweep(t.Context(), transient.Releases, limits); err == nil {
		t.Error("a shift in which nothing takes over is swept")
	}
}

// What moves in a sweep is what the shift changes, each ramp by as much as the
// others and none before the command; what would follow in time is refused.
func TestSweepMoves(t *testing.T) {
	depot := library(t, "depot-shuttle-three-speed")
	for _, c := range []struct {
		from, to string
		moves    transient.Change
		set      func(*kinematics.Train, *transient.Shift)
		want     string
	}{
		{"D3", "D2", transient.Releases, nil,
			"intermediate takes hold in time here, whatever the release does: sweep apply, or give it a ramp with --apply intermediate=START..END"},
		{"D2", "D3", transient.Applies, nil,
			"intermediate lets go in time here, whatever the apply does: sweep release, or give it a ramp with --release intermediate=START..END"},
		{"D2", "D3", transient.Releases, fault("intermediate", kinematics.Stuck), "intermediate holds in D2 and in D3: it does not change"},
		{"D2", "D3", transient.Applies, faults("direct=open"), "direct is released in D2 and in D3"},
		{"R", "D1", transient.Releases, nil,
			"one of these ranges drives forward and the other backward: what lets go does so before the other takes hold, and there is no timing to sweep"},
		{"D3", "D2", transient.Releases, apply("intermediate", "0.5..0.6"), ""},
	} {
		s := shift(t, depot, c.from, c.to)
		if c.set != nil {
			c.set(depot, s)
		}
		w, err := s.Sweep(t.Context(), c.moves, transient.NoLimits())
		switch {
		case c.want != "" && (err == nil || err.Error() != c.want):
			t.Errorf("%s-%s: %v, want %s", c.from, c.to, err, c.want)
		case c.want == "" && err != nil:
			t.Errorf("%s-%s: %v", c.from, c.to, err)
		case c.want == "":
			first, last := w.Points[0], w.Points[len(w.Points)-1]
			if first.Flare < 10 || last.Bind == 0 {
				t.Errorf("%s-%s: from %+v to %+v, want a flare and a bind", c.from, c.to, first, last)
			}
		}
	}

	train := library(t, "ravigneaux-four-speed")
	s := shift(t, train, "M2", "M1")
	release("intermediate", "0.2..0.3")(train, s)
	release("overdrive", "0.5..0.9")(train, s)
	apply("low-reverse", "0.4..0.6")(train, s)
	w, err := s.Sweep(t.Context(), transient.Releases, transient.NoLimits())
	if err != nil {
		t.Fatal(err)
	}
	if first := w.Points[0]; math.Abs(first.Ramp.Start) > 1e-9 || math.Abs(w.Length-0.7) > 1e-9 {
		t.Errorf("the first timing is %+v, want one from the command on, 0.7 s long", first)
	}
	list, err := s.WithOverlaps(t.Context(), transient.Releases, []float64{0.1})
	if err != nil {
		t.Fatal(err)
	}
	i, _ := train.Element("intermediate")
	j, _ := train.Element("overdrive")
	if a, b := list[0].Release[i], list[0].Release[j]; math.Abs(b.End-w.Moment-0.1) > 1e-9 || math.Abs(b.Start-a.Start-0.3) > 1e-9 || math.Abs(a.End-a.Start-0.1) > 1e-9 {
		t.Errorf("moved to %v and %v about %g", a, b, w.Moment)
	}
}

// A window that the command cuts off says so.
func TestSweepFromTheCommand(t *testing.T) {
	s := shift(t, library(t, "depot-shuttle-three-speed"), "D2", "D3")
	limits := transient.NoLimits()
	limits.Least = 60
	w, err := s.Sweep(t.Context(), transient.Releases, limits)
	if err != nil {
		t.Fatal(err)
	}
	if x := w.Windows[0]; x.OpenFrom || !x.EarlyFrom || x.EarlyTo || x.OpenTo || math.Abs(x.From-(w.Length-w.Moment)) > 1e-9 {
		t.Errorf("window %+v, changeover %g", x, w.Moment)
	}
}

// What acts in time does nothing before the first ramp starts, whatever is wrong.
func TestNothingBeforeTheFirstRamp(t *testing.T) {
	depot := library(t, "depot-shuttle-three-speed")
	for _, c := range []struct{ from, to, fault string }{
		{"P", "R", "forward=stuck"}, {"R", "D1", "forward=stuck"}, {"D2", "D3", "direct=open"}, {"D3", "D2", "direct=weak 0.1"},
		{"D2", "D3", "roller=slips"}, {"N", "R", "forward=stuck"}, {"D2", "D3", "direct=stuck"},
	} {
		s := shift(t, depot, c.from, c.to)
		faults(c.fault)(depot, s)
		if c.fault == "direct=stuck" {
			s.Speed = 0 // D2 ties up
		}
		stays := *s
		stays.To, stays.Until = s.From, 0.3
		a, err := s.Run(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		b, err := stays.Run(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for i := range b.Time {
			if math.Abs(a.Input[i]-b.Input[i]) > 1e-9 || math.Abs(a.Output[i]-b.Output[i]) > 1e-9 {
				t.Errorf("%s-%s %s: at %g s the input turns at %g rad/s, staying in %s at %g", c.from, c.to, c.fault, a.Time[i], a.Input[i], c.from, b.Input[i])
				break
			}
		}
	}
}

// What cannot be played is refused with a reason, and nothing panics.
func TestRefused(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	nan := func(s *transient.Shift) { s.Torque = nanValue() }
	for _, c := range []struct {
		from, to string
		set      func(*transient.Shift)
		want     string
	}{
		{"D2", "D3", nan, "the torque cannot be NaN"},
		{"D2", "D3", func(s *transient.Shift) { s.Step = 0 }, "1.7 s in steps of 0 s cannot be played: at most 4000000 steps"},
		{"D2", "D3", func(s *transient.Shift) { s.Sample = 1e-5; s.Step = 1e-5 }, "a sample every 1e-05 s cannot be kept: at least a step of 1e-05 s, and at most 150000 samples"},
		{"D2", "D3", func(s *transient.Shift) { s.Vehicle.FinalDrive = 0 }, "the final drive cannot be 0"},
		{"D2", "D3", func(s *transient.Shift) { s.Speed = -20 }, "D2 drives the vehicle the other way: at this speed the input would turn backward"},
		{"P", "R", func(s *transient.Shift) { s.Speed = 20 }, "P holds the output: it cannot run at this speed; start from rest, or from another range"},
		{"D2", "D3", func(s *transient.Shift) { s.Inertia = make([]float64, len(train.Members)) },
			"a motion of this train moves nothing that has inertia: give one of its members an inertia"},
	} {
		s := shift(t, train, c.from, c.to)
		c.set(s)
		if _, err := s.Play(t.Context()); err == nil || err.Error() != c.want {
			t.Errorf("%s-%s: %v, want %s", c.from, c.to, err, c.want)
		}
	}
}

// The longest play that the command offers can be sampled as by default.
func TestLongestPlay(t *testing.T) {
	s := shift(t, library(t, "double-pinion-reverser"), "N", "N")
	s.Until, s.Step, s.Sample = 300, transient.DefaultSample, transient.DefaultSample
	if _, err := s.Run(t.Context()); err != nil {
		t.Error(err)
	}
}

func nanValue() float64 { z := 0.0; return z / z }

// A window of timing is as long in the sentence, in ms, as from its first end to its last, in s.
// By hand: 0.080 - (-0.025) s are 105 ms; ends that are rounded to a ms leave one of doubt.
func TestWindowIsAsLongAsItsEnds(t *testing.T) {
	pattern := regexp.MustCompile(`from an overlap of (-?\d+\.\d{3}) s to (-?\d+\.\d{3}) s: a window of (\d+) ms\.$`)
	for _, c := range []struct {
		from, to float64
		says     string
	}{
		{-0.025, 0.080, "-0.025 s to 0.080 s: a window of 105 ms."},
		{0.04, 0.041, "0.040 s to 0.041 s: a window of 1 ms."},
		{-0.3, -0.0001, "-0.300 s to 0.000 s: a window of 300 ms."},
		{-0.0184375, 0.0915625, ""},
	} {
		w := &transient.Sweep{Windows: []transient.Window{{From: c.from, To: c.to}, {From: 0.2, To: 0.25}}}
		w.Limits = transient.NoLimits()
		w.Limits.Least = 100
		words := w.Words()
		if len(words) != 2 || !strings.HasSuffix(words[0], c.says) ||
			!strings.HasSuffix(words[1], "0.250 s: a window of 50 ms.") {
			t.Errorf("%g to %g s: %q, want %q", c.from, c.to, words, c.says)
		}
		got := pattern.FindStringSubmatch(words[0])
		if got == nil {
			t.Fatalf("no window: %q", words[0])
		}
		from, _ := strconv.ParseFloat(got[1], 64)
		to, _ := strconv.ParseFloat(got[2], 64)
		if long, _ := strconv.ParseFloat(got[3], 64); math.Abs(long-(to-from)*1000) > 1.001 {
			t.Errorf("%q", words[0])
		}
	}
}
