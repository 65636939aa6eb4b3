package transient

import (
	"fmt"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Shift is what is to be played: from one range into another, or on in the
// same one. It is not changed by playing it.
type Shift struct {
	System   *solve.System
	From, To *kinematics.Range
	Faults   []kinematics.Fault

	Ratings []solve.Rating // of [solve.System.Ratings], in N m
	Rated   float64        // input torque that assumed ratings are for, N m
	Assumes Assumes
	// Release and Apply are how elements let go and take hold, parallel to
	// Train.Couplings. Where one is nil, the train file says it, else it is
	// assumed (see the package comment).
	Release, Apply []*kinematics.Ramp

	// Torque pushes the input, N m. A negative one is the drag of an engine with
	// closed throttle: it resists turning either way and drives neither.
	Torque float64
	// NoLoad is the input speed, rad/s, at which a positive torque has fallen to
	// nothing, in a straight line from Torque at rest; 0 for a torque that does
	// not depend on speed.
	NoLoad float64
	// Speed is that of the output at the start, rad/s in the vehicle's sense.
	Speed float64
	// Idle is the speed of the input at the start, rad/s, where the range that is
	// left does not fix it.
	Idle float64

	Vehicle kinematics.Vehicle
	Brake   float64   // torque at the output that resists turning either way, N m
	Inertia []float64 // of members, kg m², parallel to Train.Members; nil for [Inertias]

	Until  float64 // s after the command
	Step   float64 // s
	Sample float64 // s between recorded samples, a multiple of Step
}

// The defaults of a shift, s.
const (
	DefaultStep   = 0.0001
	DefaultSample = 0.002
	// AfterRamps is played after the last ramp has ended.
	AfterRamps = 1.0
)

// The ramps that are assumed where nothing is given.
var (
	AssumedApply   = kinematics.Ramp{Start: 0.30, End: 0.70, Shape: kinematics.Line}
	AssumedRelease = kinematics.Ramp{Start: 0.30, End: 0.45, Shape: kinematics.Line}
)

// limits of what is played, so that a mistyped number does not keep the machine
// busy or leave floating point.
const (
	maxSteps   = 4_000_000
	maxSamples = 150_000
)

// An Error says what of a [Shift] cannot be played.
type Error struct{ Text string }

func (e *Error) Error() string { return e.Text }

func errorf(format string, args ...any) error { return &Error{fmt.Sprintf(format, args...)} }

// Unstated refuses a train that is built into no vehicle and whose file does not say what the
// output moves: of that the vehicle that is assumed otherwise tells nothing.
func Unstated(t *kinematics.Train) error {
	if t.Vehicle != nil || t.Use == kinematics.InVehicle || t.Use == "" {
		return nil
	}
	return errorf("%s is built into a %s, and its file does not say what the output moves: "+
		"write mass, final-drive and tyre-radius of that under vehicle", t.Name, t.Use)
}

// check refuses what cannot be played, whatever the train.
func (s *Shift) check() error {
	if s.From.Output != s.To.Output || s.From.Input != s.To.Input {
		return errorf("%s and %s have different inputs or outputs: there is no shift between them", s.From.Name, s.To.Name)
	}
	if err := Unstated(s.System.Train); err != nil && s.Vehicle == demoBus {
		return err
	}
	for _, x := range []struct {
		what  string
		value float64
		least float64
	}{
		{"the torque", s.Torque, math.Inf(-1)}, {"the no-load speed", s.NoLoad, 0}, {"the speed", s.Speed, math.Inf(-1)},
		{"the idle speed", s.Idle, 0}, {"the brake torque", s.Brake, 0},
		{"the mass of the vehicle", s.Vehicle.Mass, 0}, {"the final drive", s.Vehicle.FinalDrive, 0},
		{"the tyre radius", s.Vehicle.TyreRadius, 0}, {"the rolling resistance", s.Vehicle.Rolling, 0},
		{"the drag area", s.Vehicle.Drag, 0},
	} {
		if math.IsNaN(x.value) || math.Abs(x.value) > 1e9 || x.value < x.least {
			return errorf("%s cannot be %g", x.what, x.value)
		}
	}
	switch {
	case s.Vehicle.FinalDrive == 0:
		return errorf("the final drive cannot be 0")
	case !(s.Step > 0) || !(s.Until >= s.Step) || s.Until/s.Step > maxSteps:
		return errorf("%g s in steps of %g s cannot be played: at most %d steps", s.Until, s.Step, maxSteps)
	case !(s.Sample >= s.Step) || s.Until/s.Sample > maxSamples:
		return errorf("a sample every %g s cannot be kept: at least a step of %g s, and at most %d samples", s.Sample,
			s.Step, maxSamples)
	}
	return nil
}

// inertias returns the inertia of every member. A joint's hub has none unless
// all its splines are off.
func (s *Shift) inertias(modes []kinematics.Mode) []float64 {
	t := s.System.Train
	list := slices.Clone(s.Inertia)
	if list == nil {
		list = Inertias(t)
	}
	for _, j := range t.Joints {
		alone := j.Hub != kinematics.Housing
		for _, spline := range j.Splines {
			alone = alone && modes[spline] != kinematics.Locked
		}
		if alone {
			list[j.Hub] = hubInertia
		}
	}
	return list
}

// The vehicle and inertias that are assumed where the file gives none. They are
// invented: a small bus, and a train of its size.
var demoBus = kinematics.Vehicle{Mass: 4200, FinalDrive: 4.3, TyreRadius: 0.38, Rolling: 0.012, Drag: 4.8}

// hubInertia is that of a joint's bare body, kg m².
const hubInertia = 0.001

// assumedInertia is that of a member by its kind, kg m².
var assumedInertia = [...]float64{
	kinematics.ShaftMember:   0.004,
	kinematics.SunMember:     0.003,
	kinematics.RingMember:    0.020,
	kinematics.CarrierMember: 0.015,
	kinematics.PinionMember:  0.0002,
	kinematics.GearMember:    0.005,
}

// The inertia that is assumed at the input: a turbine, or an engine with its
// flywheel where nothing lies between, kg m².
const (
	turbineInertia = 0.12
	engineInertia  = 0.60
)

// Inertias returns the inertia of every member of a train: from the file where
// it gives one, else assumed.
func Inertias(t *kinematics.Train) []float64 {
	list := make([]float64, len(t.Members))
	for i, m := range t.Members {
		switch {
		case m.Kind == kinematics.HousingMember || m.Kind == kinematics.JointHub || m.Unknown:
		case m.Inertia > 0:
			list[i] = m.Inertia
		case kinematics.MemberID(i) == t.Input && t.Drive == kinematics.Direct:
			list[i] = engineInertia
		case kinematics.MemberID(i) == t.Input:
			list[i] = turbineInertia
		default:
			list[i] = assumedInertia[m.Kind]
		}
	}
	return list
}
