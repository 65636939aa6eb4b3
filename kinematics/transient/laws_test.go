package transient_test

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/solve"
	"tieup/kinematics/transient"
)

// library reads a train of the library.
func library(t testing.TB, name string) *kinematics.Train {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// thorough says whether the long tests are asked for.
func thorough() bool { return os.Getenv("TIEUP_EXHAUSTIVE") != "" }

// played returns the trains of the library whose shifts are played in tests: two, or all
// of these with TIEUP_EXHAUSTIVE.
func played() []string {
	list := []string{
		"depot-shuttle-three-speed", "ravigneaux-four-speed", "simpson-three-speed", "overdrive-simpson-four-speed",
		"interlinked-four-speed", "lepelletier-six-speed", "four-carrier-eight-speed", "simpson-transaxle-three-speed",
	}
	if !thorough() {
		list = list[:2]
	}
	return list
}

// shifts yields every shift between neighbouring ranges of a position, both ways.
func shifts(t testing.TB, train *kinematics.Train, yield func(*transient.Shift)) {
	t.Helper()
	for _, p := range train.Positions {
		for i := 1; i < len(p.Ranges); i++ {
			a, b := train.Ranges[p.Ranges[i-1]].Name, train.Ranges[p.Ranges[i]].Name
			yield(from(t, train, a, b))
			yield(from(t, train, b, a))
		}
	}
}

// Every shift of the trains, up and down, pulling and coasting: the books
// balance, every step is solved, the timed shift neither binds nor flares, and
// after it every member turns as the engine says the range makes it turn.
func TestAfterTheShift(t *testing.T) {
	for _, name := range played() {
		train := library(t, name)
		count := 0
		shifts(t, train, func(s *transient.Shift) {
			for _, torque := range []float64{120, -40} {
				s := *s
				s.Torque, s.Speed, s.Step, s.Sample, s.Until = torque, 60, 0.002, 0.02, 2.5
				a, err := s.Play(t.Context())
				if err != nil {
					t.Errorf("%s %s-%s at %g N m: %v", name, s.From.Name, s.To.Name, torque, err)
					continue
				}
				count++
				balanced(t, a.Run)
				if v := a.Verdict; v.Bind != 0 || v.Flare != 0 {
					t.Errorf("%s %s-%s at %g N m: %q", name, s.From.Name, s.To.Name, torque, a.Words())
				}
				if len(a.Verdict.Slipping) > 0 {
					t.Errorf("%s %s-%s at %g N m: not over: %q", name, s.From.Name, s.To.Name, torque, a.Words())
				}
				ends(t, a)
			}
		})
		if count == 0 {
			t.Errorf("%s has no shifts", name)
		}
	}
}

// Nothing jumps as a healthy shift begins, whatever the range it goes to: the
// ramps start from nothing, and what acts in time follows them.
func TestHealthyShiftsBeginSoftly(t *testing.T) {
	for _, name := range append([]string{"coupled-four-speed"}, played()...) {
		train := library(t, name)
		for i := range train.Ranges {
			for j := range train.Ranges {
				s := shift(t, train, train.Ranges[i].Name, train.Ranges[j].Name)
				s.Until, s.Sample = 1.2, 0.002
				a, err := s.Play(t.Context())
				if err != nil || i == j || a.Handover == transient.ViaNeutral || s.Speed == 0 {
					continue // only between ranges that drive the same way
				}
				at := slices.IndexFunc(a.Run.Time, func(x float64) bool { return x > 0.302 })
				before, size := a.Run.OutputTorque[at-2], 0.0
				for _, x := range a.Run.OutputTorque {
					size = max(size, math.Abs(x))
				}
				if jump := math.Abs(a.Run.OutputTorque[at] - before); jump > 0.1*size+1 {
					t.Errorf("%s %s-%s: the output torque jumps from %g to %g N m as the first ramp starts", name, s.From.Name, s.To.Name, before, a.Run.OutputTorque[at])
				}
			}
		}
	}
}

// ends compares the speeds after a shift with those of the range.
func ends(t *testing.T, a *transient.Answer) {
	t.Helper()
	s, r := a.Shift, a.Run
	st := s.System.Train.In(s.To)
	coasting := s.Torque < 0
	if _, brakes, _ := s.System.Kernel().Outcome(st).EngineBraking(); coasting && !brakes {
		return // the input falls behind
	}
	motion := s.System.Motion(st)
	last := len(r.Time) - 1
	for m := range s.System.Train.Members {
		id := kinematics.MemberID(m)
		if motion.Members[m].Free() || s.System.Train.Members[m].Unknown {
			continue
		}
		got, want := r.Member(id)[last], motion.Members[m].Float*r.Input[last]
		if math.Abs(got-want) > 1e-6 {
			t.Errorf("%s %s-%s at %g N m: %s ends at %.8f rad/s, the range makes it %.8f", s.System.Train.Name, s.From.Name, s.To.Name,
				s.Torque, s.System.Train.Members[m].Name, got, want)
		}
	}
}

// Whatever is wrong, in whatever shift: the books balance, every step is solved,
// torques stay within what the couplings can do, and friction takes no energy
// out of nothing.
func TestLaws(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 2026))
	for _, name := range played() {
		train := library(t, name)
		faults := train.SingleFaults()
		for range 60 {
			s := from(t, train, train.Ranges[0].Name, train.Ranges[0].Name)
			s.From, s.To = &train.Ranges[random.IntN(len(train.Ranges))], &train.Ranges[random.IntN(len(train.Ranges))]
			if random.IntN(4) > 0 {
				s.Faults = []kinematics.Fault{faults[random.IntN(len(faults))]}
			}
			for i := range train.Couplings {
				if random.IntN(2) == 0 {
					start := random.Float64() * 0.3
					r := &kinematics.Ramp{Start: start, End: start + random.Float64()*0.3, Shape: []kinematics.RampShape{kinematics.Line, kinematics.Smooth}[random.IntN(2)]}
					s.Release[i], s.Apply[i] = r, r
				}
			}
			s.Torque, s.Speed, s.Idle = 300*random.Float64()-100, float64(random.IntN(3))*40, 70
			if random.IntN(3) == 0 {
				s.NoLoad = 70 + 50*random.Float64()
			}
			s.Step, s.Sample, s.Until = 0.001, 0.01, 0.8
			r, err := s.Run(t.Context())
			if err != nil {
				var e *transient.Error
				if !asError(err, &e) {
					t.Errorf("%s %s-%s %v: %v", name, s.From.Name, s.To.Name, s.Faults, err)
				}
				continue
			}
			balanced(t, r)
			for _, track := range r.Tracks {
				for i, heat := range track.Heat {
					if i == 0 {
						continue
					}
					// A slip that turns round within a step can give back part of
					// what it took in the step, which is of order h².
					turn := math.Abs(track.Slip[i]-track.Slip[i-1]) * max(track.TorqueMax[i], -track.TorqueMin[i]) * s.Step
					if heat < track.Heat[i-1]-turn-1e-9 {
						t.Errorf("%s %s-%s %v: %s gives %g J back at %.3f s", name, s.From.Name, s.To.Name, s.Faults,
							train.Couplings[track.Coupling].Name, track.Heat[i-1]-heat, r.Time[i])
						break
					}
				}
			}
		}
	}
}

func asError(err error, e **transient.Error) bool {
	x, ok := err.(*transient.Error)
	*e = x
	return ok
}

// A shift that binds, in steps of 4, 2, 1 and 0.5 ms, beside steps of 0.01 ms. What
// a step does depends on where in it something begins to slip, so the errors are
// means over ten shifts whose ramps lie otherwise: they fall at least as the step
// does, and halving the step estimates them.
func TestHalvingTheStep(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	const phases = 10
	run := func(phase int, h float64) *transient.Run {
		s := from(t, train, "D2", "D3")
		s.Speed, s.Sample, s.Until, s.Step = 90, 0.02, 0.8, h
		late := 0.00073 * float64(phase)
		intermediate, _ := train.Element("intermediate")
		direct, _ := train.Element("direct")
		s.Release[intermediate] = &kinematics.Ramp{Start: 0.25 + late, End: 0.41 + late, Shape: kinematics.Line}
		s.Apply[direct] = &kinematics.Ramp{Start: 0.05 + late, End: 0.37 + late, Shape: kinematics.Line}
		r, err := s.Run(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	apart := func(a, b *transient.Run) (speed, heat float64) {
		for i := range a.Time {
			speed = max(speed, math.Abs(a.Input[i]-b.Input[i]))
		}
		for k := range a.Tracks {
			heat = max(heat, math.Abs(a.Tracks[k].TotalHeat()-b.Tracks[k].TotalHeat()))
		}
		return speed, heat
	}
	var fine []*transient.Run
	for phase := range phases {
		fine = append(fine, run(phase, 1e-5))
	}
	mean := func(h float64, other func(int) *transient.Run) (speed, heat float64) {
		for phase := range phases {
			s, q := apart(run(phase, h), other(phase))
			speed, heat = speed+s/phases, heat+q/phases
		}
		return speed, heat
	}
	lastSpeed, lastHeat := math.Inf(1), math.Inf(1)
	for _, h := range []float64{4e-3, 2e-3, 1e-3, 5e-4} {
		speed, heat := mean(h, func(phase int) *transient.Run { return fine[phase] })
		s, q := mean(h, func(phase int) *transient.Run { return run(phase, h/2) })
		t.Logf("step %g: speeds off by %.2g rad/s, heat by %.2g J; estimated %.2g and %.2g", h, speed, heat, s, q)
		if speed > lastSpeed/2 || heat > lastHeat/2 {
			t.Errorf("step %g: off by %g rad/s and %g J, twice the step by %g and %g", h, speed, heat, lastSpeed, lastHeat)
		}
		if s < speed/3 || s > 3*speed || q < heat/3 || q > 3*heat {
			t.Errorf("step %g: off by %g rad/s and %g J, estimated %g and %g", h, speed, heat, s, q)
		}
		lastSpeed, lastHeat = speed, heat
	}
}

// A brake beside a one-way clutch shares its load in any way: the bounds are
// those over the determinate ways of [solve.System.Carrying].
func TestSharedLoad(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	s := from(t, train, "L1", "L1")
	s.Speed, s.Until = 60, 0.1
	r, err := s.Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	// In the steady state the torques are those of the statics, but for what
	// the members take to speed up: compare the shares, not the sum.
	ways, _ := s.System.Carrying(t.Context(), s.System.Motion(train.In(s.To)), solve.Limit{})
	if len(ways) != 2 {
		t.Fatalf("%d ways to carry first gear, want the brake's and the roller's", len(ways))
	}
	brake, _ := train.Element("low-reverse")
	roller, _ := train.Element("roller")
	last := len(r.Time) - 1
	sum := 0.0
	for _, track := range r.Tracks {
		lo, hi := track.TorqueMin[last], track.TorqueMax[last]
		switch track.Coupling {
		case brake, roller:
			if sum == 0 {
				sum = hi
			}
			if math.Abs(lo) > 1e-9 || math.Abs(hi-sum) > 1e-9 || hi < 100 {
				t.Errorf("%s carries %g to %g N m, want 0 to %g", train.Couplings[track.Coupling].Name, lo, hi, sum)
			}
		default:
			if lo != hi {
				t.Errorf("%s carries %g to %g N m, which is one number", train.Couplings[track.Coupling].Name, lo, hi)
			}
		}
	}
	// The whole load per input torque that reaches the gears (1.45 of it here).
	clutch, _ := train.Element("forward")
	through := trackOf(r, clutch).TorqueMax[last]
	var want float64
	for _, e := range ways {
		for _, i := range e.Carry {
			if i == roller {
				want = math.Abs(e.Torque[i].Float() / e.Torque[clutch].Float())
			}
		}
	}
	if got := math.Abs(sum / through); math.Abs(got-want) > 0.03 {
		t.Errorf("the carrier holds %.4f of the clutch's torque, by statics %.4f", got, want)
	}
}

func trackOf(r *transient.Run, coupling int) *transient.Track {
	i := slices.IndexFunc(r.Tracks, func(t transient.Track) bool { return t.Coupling == coupling })
	return &r.Tracks[i]
}

// As held elements let go slowly, the first motion is that of limit analysis:
// when the input torque is what [solve.System.Standing] needs to turn the train
// at the capacities of that moment, with slips and output as it finds them.
func TestSlowRampsPassBreakaway(t *testing.T) {
	const slow = 6.0
	for _, c := range []struct {
		train, from, stuck string
		torque             float64
	}{
		{"depot-shuttle-three-speed", "R", "forward", 60},
		{"depot-shuttle-three-speed", "D3", "intermediate", 90},
		{"depot-shuttle-three-speed", "D2", "low-reverse", 90},
		{"four-carrier-eight-speed", "D5", "lock-clutch", 120},
	} {
		train := library(t, c.train)
		s := from(t, train, c.from, "N")
		stuck, _ := train.Element(c.stuck)
		s.Faults = []kinematics.Fault{{Coupling: stuck, Kind: kinematics.Stuck}}
		s.Torque, s.Step, s.Sample, s.Until = c.torque, 1e-3, 1e-3, slow
		s.Vehicle.Drag = 0
		for _, i := range s.From.Apply {
			s.Release[i] = &kinematics.Ramp{Start: 0, End: slow, Shape: kinematics.Line}
		}
		r, err := s.Run(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		first := slices.IndexFunc(r.Input, func(w float64) bool { return w > 1e-5 })
		if first < 0 {
			t.Errorf("%s %s, %s stuck: the input never turns", c.train, c.from, c.stuck)
			continue
		}
		left := 1 - r.Time[first]/slow
		ratings := slices.Clone(s.Ratings)
		for i := range ratings {
			ratings[i].Torque = solve.Decimal(math.Round(ratings[i].Torque.Float()*left*1e6) / 1e6)
		}
		grip, err := s.System.Capacities(s.From, s.Faults, ratings)
		if err != nil {
			t.Fatal(err)
		}
		b := s.System.Standing(grip, solve.Decimal(s.Vehicle.RollingTorque()))
		near(t, c.train+" "+c.from+": torque at breakaway", b.Torque.Float(), c.torque, 0.002)
		if len(b.Optima) != 1 {
			t.Errorf("%s %s: %d motions cost as little: take another torque", c.train, c.from, len(b.Optima))
			continue
		}
		for _, track := range r.Tracks {
			got, want := track.Slip[first]/r.Input[first], b.Optima[0].Slip[track.Coupling].Float()
			if math.Abs(got-want) > 1e-6 {
				t.Errorf("%s %s, %s stuck: %s slips %.6f per turn of the input, by limit analysis %.6f", c.train, c.from, c.stuck,
					train.Couplings[track.Coupling].Name, got, want)
			}
		}
		near(t, "output", float64(train.Forward)*r.Output[first]/r.Input[first]+1, b.Optima[0].Output.Float()+1, 1e-6)
	}
}
