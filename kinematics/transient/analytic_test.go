package transient_test

import (
	"math"
	"testing"

	"tieup/kinematics"
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
var newtonMetres = solve.Scale{NewtonMetres: true, Rated: solve.FracOf(200, 1)}

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
		run, err := s.Run()
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

// balanced checks the books and the solution of every step.
func balanced(t *testing.T, r *transient.Run) {
	t.Helper()
	e := r.Energy
	size := math.Abs(e.Input) + math.Abs(e.Train) + math.Abs(e.Vehicle) + e.Road + e.Heat
	if math.Abs(e.Error) > 1e-9*size {
		t.Errorf("energy: %g J of %g J are missing", e.Error, size)
	}
	if r.Accuracy.Residual > 1e-9 || !(r.Accuracy.Bound < 1e-4) {
		t.Errorf("steps solved to %g rad/s, speeds proved to %g rad/s", r.Accuracy.Residual, r.Accuracy.Bound)
	}
}
