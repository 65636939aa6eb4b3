package kinematics

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A Vehicle is what the output of a train moves.
type Vehicle struct {
	Mass       float64 `json:"mass"`        // kg
	FinalDrive float64 `json:"final_drive"` // turns of the output per turn of the wheels
	TyreRadius float64 `json:"tyre_radius"` // m
	Rolling    float64 `json:"rolling"`     // rolling resistance per weight
	Drag       float64 `json:"drag"`        // drag area (drag coefficient times frontal area), m²
}

// Gravity is the standard acceleration of free fall, m/s² [ISO 80000-3].
const Gravity = 9.80665

// AirDensity is that of the standard atmosphere at sea level, kg/m³ [ISO 2533].
const AirDensity = 1.225

// Travel is how far the vehicle moves per radian of the output, m.
func (v *Vehicle) Travel() float64 { return v.TyreRadius / v.FinalDrive }

// Inertia is the mass of the vehicle as an inertia at the output, kg m².
func (v *Vehicle) Inertia() float64 { return v.Mass * v.Travel() * v.Travel() }

// RollingTorque is the rolling resistance as a torque at the output, N m.
func (v *Vehicle) RollingTorque() float64 { return v.Rolling * v.Mass * Gravity * v.Travel() }

// DragTorque is the torque of the air at the output per square of its speed,
// N m s².
func (v *Vehicle) DragTorque() float64 {
	return AirDensity / 2 * v.Drag * v.Travel() * v.Travel() * v.Travel()
}

// A Ramp is how the torque that an element can hold goes over from what it is
// before a shift to what it is after it.
type Ramp struct {
	Start, End float64 // s after the command
	Shape      RampShape
}

// RampShape is the course of a [Ramp].
type RampShape string

// The shapes of a ramp.
const (
	Line   RampShape = "line"   // at an even rate
	Smooth RampShape = "smooth" // half a cosine: slowly at both ends
)

// Done is the part of the way, 0 to 1, that the ramp has gone at time t.
func (r *Ramp) Done(t float64) float64 {
	switch {
	case t <= r.Start:
		return 0
	case t >= r.End:
		return 1
	}
	x := (t - r.Start) / (r.End - r.Start)
	if r.Shape == Smooth {
		x = (1 - math.Cos(math.Pi*x)) / 2
	}
	return x
}

// String returns the ramp as it is written: "0.35..0.50".
func (r *Ramp) String() string { return r.text("..") }

// Words returns the ramp for a sentence: "0.35 to 0.50".
func (r *Ramp) Words() string { return r.text(" to ") }

func (r *Ramp) text(between string) string {
	f := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	s := f(r.Start) + between + f(r.End)
	if r.Shape == Smooth {
		s += ":" + string(Smooth)
	}
	return s
}

// maxRamp is the latest end of a ramp, s.
const maxRamp = 60

// ParseRamp reads a ramp: START..END in seconds after the command, and
// ":smooth" where it is not even.
func ParseRamp(text string) (Ramp, error) {
	const form = "START..END in seconds after the command, such as 0.35..0.50, or 0.35..0.50:smooth"
	span, shape, shaped := strings.Cut(text, ":")
	from, to, ok := strings.Cut(span, "..")
	r := Ramp{Shape: Line}
	if shaped {
		r.Shape = RampShape(shape)
	}
	var err1, err2 error
	r.Start, err1 = parseSeconds(from)
	r.End, err2 = parseSeconds(to)
	if !ok || err1 != nil || err2 != nil {
		return r, &RampError{fmt.Sprintf("%q is not a span of time", text), form}
	}
	return r, r.check(text)
}

// Check refuses what is no ramp. One without a shape is even.
func (r Ramp) Check() error {
	r.Shape = cmp.Or(r.Shape, Line)
	return r.check(r.String())
}

// check is [Ramp.Check] of a ramp as it is written.
func (r *Ramp) check(text string) error {
	switch {
	case r.Shape != Line && r.Shape != Smooth:
		return &RampError{fmt.Sprintf("%q is not the shape of a ramp", r.Shape), fmt.Sprintf("%s or %s", Line, Smooth)}
	case !(r.Start >= 0): // nor is it no number
		return fmt.Errorf("%s starts before the command", text)
	case !(r.End >= r.Start):
		return fmt.Errorf("%s ends before it starts", text)
	case r.End > maxRamp:
		return fmt.Errorf("%s ends after more than %d s", text, maxRamp)
	}
	return nil
}

// A RampError says what a text is not, and what to write instead.
type RampError struct{ Text, Write string }

// Error says both.
func (e *RampError) Error() string { return e.Text + ": write " + e.Write }

// parseSeconds reads digits with at most one point.
func parseSeconds(s string) (float64, error) {
	if s == "" || len(s) > 12 || strings.Trim(s, "0123456789.") != "" {
		return 0, errors.New("not a time")
	}
	return strconv.ParseFloat(s, 64)
}
