package transient_test

import (
	"math"
	"math/big"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
	"tieup/kinematics/transient"
)

// clutched is an input and an output with one clutch between them:
//
//	T ─▶ I1 ──┤├── I2 ─▶ R
func clutched(t testing.TB) *kinematics.Train {
	t.Helper()
	b := kinematics.NewBuilder("clutched")
	b.Shaft("engine", "axle")
	b.Element("clutch", kinematics.Clutch, "engine", "axle")
	b.Ports("engine", "axle")
	b.Range("N")
	b.Range("D", "clutch")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// newtonMetres is the scale of the tests, for a train made for 200 N m.
var newtonMetres = solve.Scale{NewtonMetres: true, Rated: exact.NewFrac(200, 1)}

// from fills in a shift of train from one range to another.
func from(t testing.TB, train *kinematics.Train, a, b string) *transient.Shift {
	t.Helper()
	i, ok1 := train.Range(a)
	j, ok2 := train.Range(b)
	if !ok1 || !ok2 {
		t.Fatalf("no ranges %s and %s", a, b)
	}
	sys := solve.Compile(train)
	return &transient.Shift{
		System: sys, From: &train.Ranges[i], To: &train.Ranges[j],
		Ratings: sys.Ratings(newtonMetres, solve.DefaultReserve(), nil),
		Release: make([]*kinematics.Ramp, len(train.Couplings)), Apply: make([]*kinematics.Ramp, len(train.Couplings)),
		Torque: 120, Vehicle: transient.DemoBus(),
		Until: 1.5, Step: transient.DefaultStep, Sample: transient.DefaultSample,
	}
}

// at is a ramp without length.
func at(t float64) *kinematics.Ramp {
	return &kinematics.Ramp{Start: t, End: t, Shape: kinematics.Line}
}

// near compares with a relative tolerance.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: %.9g, want %.9g within %g", what, got, want, tol)
	}
}

// Two inertias and a clutch that takes hold at once with torque C at time t0,
// the closed form [Newton]: until the speeds meet
//
//	I1 w1' = T - C    I2 w2' = C - R    slip s = w1 - w2
//	slip time  ts = s0 / ((C-T)/I1 + (C-R)/I2)
//	heat       Q  = C s0 ts / 2
//
// and afterwards both turn as one with w' = (T-R)/(I1+I2).
func TestTwoInertias(t *testing.T) {
	const i1, i2, torque, load, c, t0, w1 = 0.25, 3.0, 60.0, 20.0, 150.0, 0.1, 300.0
	train := clutched(t)
	train.Members[1].Inertia, train.Members[2].Inertia = i1, i2
	s := from(t, train, "N", "D")
	s.Vehicle = kinematics.Vehicle{FinalDrive: 1}
	s.Brake, s.Torque, s.Idle = load, torque, w1
	s.Ratings[0].Torque = solve.Decimal(c)
	s.Apply[0] = at(t0)

	before := w1 + torque/i1*t0 // the free input; the load holds the output at rest
	ts := before / ((c-torque)/i1 + (c-load)/i2)
	heat := c * before * ts / 2
	w2 := (c - load) / i2 * ts
	end := w2 + (torque-load)/(i1+i2)*(s.Until-t0-ts)

	for _, h := range []float64{1e-3, 1e-4} {
		s.Step = h
		run, err := s.Run(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		track := run.Tracks[0]
		if got := track.SlipTime; math.Abs(got-ts-t0) > h && math.Abs(got-ts) > h {
			t.Errorf("step %g: slips for %.6f s, want %.6f", h, got, ts)
		}
		// The last step of the slip is the only one that is not exact: its heat
		// is off by less than C times the slip of a step.
		if got := track.TotalHeat(); math.Abs(got-heat) > c*((c-torque)/i1+(c-load)/i2)*h*h {
			t.Errorf("step %g: heat %.6f J, want %.6f", h, got, heat)
		}
		last := len(run.Time) - 1
		near(t, "input speed", run.Input[last], end, 1e-9)
		near(t, "output speed", run.Output[last], end, 1e-9)
		near(t, "output torque", run.OutputTorque[last], load, 1e-9)
		near(t, "torque on the input", track.TorqueMax[last], i1*(torque-load)/(i1+i2)-torque, 1e-9)
		balanced(t, run)
	}
}

// The speed of a free input that is pushed with a torque T, step by step in
// fractions: w⁺ = w + h T/I. The bound of the accuracy holds what floats lose.
func TestBoundHoldsRounding(t *testing.T) {
	const inertia, torque, step, until = 0.6, 100.0, 0.0001, 3.0
	train := clutched(t)
	train.Members[1].Inertia, train.Members[2].Inertia = inertia, 3
	s := from(t, train, "N", "D")
	s.To = s.From
	s.Torque, s.Idle, s.Step, s.Until = torque, 2000*math.Pi/30, step, until
	run, err := s.Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	exact := func(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }
	gain := new(big.Rat).Mul(exact(step), new(big.Rat).Quo(exact(torque), exact(inertia)))
	most := 0.0
	for i, w := range run.Input {
		want := new(big.Rat).Mul(gain, new(big.Rat).SetInt64(int64(math.Round(run.Time[i]/step))))
		want.Add(want, exact(s.Idle))
		off, _ := want.Sub(want, exact(w)).Float64()
		most = max(most, math.Abs(off))
	}
	if most < 1e-13 || most > run.Accuracy.Bound || run.Accuracy.Bound > 1e-6 {
		t.Errorf("the input is off by %g rad/s, the bound is %g", most, run.Accuracy.Bound)
	}
}

// balanced checks the books and the solution of every step.
func balanced(t *testing.T, r *transient.Run) {
	t.Helper()
	e := r.Energy
	size := math.Abs(e.Input) + math.Abs(e.Train) + math.Abs(e.Vehicle) + math.Abs(e.Road) + math.Abs(e.Heat)
	if math.Abs(e.Error) > 1e-9*(1+size) {
		t.Errorf("energy: %g J of %g J are missing", e.Error, size)
	}
	if r.Accuracy.Residual > 1e-9 || !(r.Accuracy.Bound < 1e-4) {
		t.Errorf("steps solved to %g rad/s, speeds proved to %g rad/s", r.Accuracy.Residual, r.Accuracy.Bound)
	}
}

// A one-way clutch that is switched in at time t0 while the axle runs ahead:
//
//	T ─▶ I1 ──|>|── I2 ─▶ R
//
// The engine gains with T/I1, the axle loses with R/I2; they meet after
//
//	t1 = t0 + (w2 - w1)(t0) / (T/I1 + R/I2)
//
// and go on as one with (T-R)/(I1+I2), the clutch carrying T - I1 w'. Nothing
// jumps and no heat is made.
func TestOneWayTakesHold(t *testing.T) {
	const i1, i2, torque, load, t0, w1, w2 = 0.25, 3.0, 60.0, 20.0, 0.05, 150.0, 220.0
	b := kinematics.NewBuilder("freewheel")
	b.Shaft("engine", "axle")
	b.Element("free", kinematics.OneWay, "axle", "engine").Switched = true
	b.Ports("engine", "axle")
	b.Range("N")
	b.Range("D", "free")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	train.Members[1].Inertia, train.Members[2].Inertia = i1, i2
	s := from(t, train, "N", "D")
	s.Vehicle = kinematics.Vehicle{FinalDrive: 1}
	s.Brake, s.Torque, s.Idle, s.Speed = load, torque, w1, w2
	s.Apply[0] = at(t0)
	run, err := s.Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	meet := (w2 - w1) / (torque/i1 + load/i2)
	end := w1 + torque/i1*meet + (torque-load)/(i1+i2)*(s.Until-meet)
	last := len(run.Time) - 1
	near(t, "input speed", run.Input[last], end, 1e-9)
	near(t, "output speed", run.Output[last], end, 1e-9)
	near(t, "torque on the axle", run.Tracks[0].TorqueMin[last], torque-i1*(torque-load)/(i1+i2), 1e-9)
	if len(run.Events) != 1 || !run.Events[0].Holds || math.Abs(run.Events[0].Time-meet) > 2*s.Step {
		t.Errorf("events %+v, want one that takes hold at %.4f s", run.Events, meet)
	}
	if heat := run.Tracks[0].TotalHeat(); math.Abs(heat) > 1e-4 { // of order h²
		t.Errorf("taking hold makes %g J of heat", heat)
	}
	balanced(t, run)
}

// A drum that a released clutch drags along with torque Cd:
//
//	T ─▶ I1 ──┤·├── I3        spin-up  w3 = Cd t / I3   until it meets w1 = w0 - Cd t / I1
//
// Half of the work that goes over is heat in the clutch for a fixed speed of the
// engine; here Q = ½ w0² I1 I3 / (I1 + I3), whatever Cd is.
func TestSpunByDrag(t *testing.T) {
	const i1, i2, i3, drag, w0 = 0.25, 3.0, 0.04, 3.0, 90.0
	b := kinematics.NewBuilder("drum")
	b.Shaft("engine", "axle", "drum")
	b.Element("clutch", kinematics.Clutch, "engine", "drum")
	b.Element("drive", kinematics.Clutch, "drum", "axle")
	b.Ports("engine", "axle")
	b.Range("N")
	b.Range("D", "clutch", "drive")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	for i, inertia := range []float64{0, i1, i2, i3} {
		train.Members[i].Inertia = inertia
	}
	s := from(t, train, "N", "N")
	s.Vehicle = kinematics.Vehicle{FinalDrive: 1}
	s.Torque, s.Idle = 0, w0
	s.Ratings[0].Torque = exact.NewFrac(30, 1)
	s.Faults = []kinematics.Fault{{Coupling: 0, Kind: kinematics.Dragging, Share: kinematics.Share{Num: 1, Den: 10}}}
	run, err := s.Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	meet := w0 / (drag/i1 + drag/i3)
	drum, _ := train.Member("drum")
	w3 := run.Member(drum)
	for i, x := range run.Time {
		want := drag / i3 * min(x, meet)
		if math.Abs(w3[i]-want) > 1e-9*w0 {
			t.Fatalf("at %.3f s the drum turns at %.6f rad/s, want %.6f", x, w3[i], want)
		}
	}
	near(t, "slip time", run.Tracks[0].SlipTime, meet, s.Step/meet)
	near(t, "heat", run.Tracks[0].TotalHeat(), w0*w0/2*i1*i3/(i1+i3), 1e-6)
	balanced(t, run)
}

// An engagement against a welded brake: the axle cannot turn, so the clutch
// stops the engine.
//
//	stopping time  ts = w0 I1 / (C - T)    heat  Q = C w0 ts / 2
//
// Then the clutch holds the engine with T; the vehicle has felt nothing.
func TestEngagementAgainstStuckBrake(t *testing.T) {
	const i1, torque, c, t0, w0 = 0.25, 40.0, 90.0, 0.1, 75.0
	b := kinematics.NewBuilder("braked")
	b.Shaft("engine", "axle")
	b.Element("clutch", kinematics.Clutch, "engine", "axle")
	b.Element("brake", kinematics.Brake, "axle", "housing")
	b.Ports("engine", "axle")
	b.Range("N")
	b.Range("D", "clutch")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	train.Members[1].Inertia = i1
	s := from(t, train, "N", "D")
	s.Torque, s.Idle = torque, w0
	s.Ratings[0].Torque = solve.Decimal(c)
	s.Apply[0] = at(t0)
	s.Faults = []kinematics.Fault{{Coupling: 1, Kind: kinematics.Stuck}}
	run, err := s.Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	before := w0 + torque/i1*t0
	ts := before * i1 / (c - torque)
	last := len(run.Time) - 1
	clutch, brake := run.Tracks[0], run.Tracks[1]
	near(t, "slip time", clutch.SlipTime, ts, s.Step/ts)
	near(t, "heat", clutch.TotalHeat(), c*before*ts/2, 1e-6)
	near(t, "torque on the input", clutch.TorqueMin[last], -torque, 1e-9)
	// The brake and the vehicle's own resistance to rolling share the load.
	near(t, "torque on the welded axle, at most", brake.TorqueMin[last], -torque, 1e-9)
	near(t, "torque on the welded axle, at least", brake.TorqueMax[last], 0, 0)
	for i := range run.Time {
		if math.Abs(run.Output[i]) > 1e-12 || math.Abs(run.OutputTorque[i]) > 1e-9 {
			t.Fatalf("at %.3f s the output turns at %g rad/s with %g N m", run.Time[i], run.Output[i], run.OutputTorque[i])
		}
	}
	balanced(t, run)
}

// A vehicle that rolls out on rolling resistance R alone: w' = -R/I, and it stays
// where it has come to rest. With air it slows as v = vt tan(arctan(v0/vt) - t g f/vt)
// where vt² = m g f / (rho/2 cdA), the closed form of v' = -g f (1 + v²/vt²).
func TestCoastDown(t *testing.T) {
	train := clutched(t)
	train.Members[2].Inertia = 1e-9
	s := from(t, train, "N", "N")
	s.Torque, s.Idle, s.Until, s.Step, s.Sample = 0, 0, 30, 1e-3, 0.1
	s.Vehicle = kinematics.Vehicle{Mass: 1500, FinalDrive: 4, TyreRadius: 0.3, Rolling: 0.02, Drag: 2}
	const v0 = 20.0
	s.Speed = v0 / s.Vehicle.Travel()
	run, err := s.Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	decel := kinematics.Gravity * 0.02
	vt := math.Sqrt(1500 * decel / (kinematics.AirDensity / 2 * 2))
	for i, x := range run.Time {
		want := vt * math.Tan(math.Atan(v0/vt)-x*decel/vt)
		if got := run.Output[i] * s.Vehicle.Travel(); math.Abs(got-want) > 2e-4*v0 {
			t.Fatalf("at %.1f s %.5f m/s, want %.5f", x, got, want)
		}
	}
	balanced(t, run)

	s.Vehicle.Drag = 0
	s.Speed = 3 / s.Vehicle.Travel()
	if run, err = s.Run(t.Context()); err != nil {
		t.Fatal(err)
	}
	for i, x := range run.Time {
		if want := max(0, 3-decel*x); math.Abs(run.Output[i]*s.Vehicle.Travel()-want) > 1e-6 {
			t.Fatalf("at %.1f s %.7f m/s, want %.7f", x, run.Output[i]*s.Vehicle.Travel(), want)
		}
	}
}

// A free input whose torque falls to nothing at speed w0 in a straight line:
// I w' = T (1 - w/w0), so w = w0 - (w0 - w1) exp(-T t / (I w0)).
func TestTorqueThatFalls(t *testing.T) {
	const i1, torque, w0, w1 = 0.25, 60.0, 100.0, 30.0
	train := clutched(t)
	train.Members[1].Inertia = i1
	s := from(t, train, "N", "N")
	s.Torque, s.NoLoad, s.Idle, s.Step, s.Sample = torque, w0, w1, 1e-3, 0.01
	run, err := s.Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range run.Time {
		want := w0 - (w0-w1)*math.Exp(-torque*x/(i1*w0))
		if math.Abs(run.Input[i]-want) > 1e-4 {
			t.Fatalf("at %.2f s %.6f rad/s, want %.6f", x, run.Input[i], want)
		}
	}
	balanced(t, run)
}
