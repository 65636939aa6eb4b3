package kinematics_test

import (
	"math"
	"testing"

	"tieup/kinematics"
)

func TestParseRamp(t *testing.T) {
	for _, c := range []struct {
		text    string
		want    kinematics.Ramp
		problem string
	}{
		{"0.35..0.50", kinematics.Ramp{Start: 0.35, End: 0.5, Shape: kinematics.Line}, ""},
		{"0..0", kinematics.Ramp{Shape: kinematics.Line}, ""},
		{".1..2:smooth", kinematics.Ramp{Start: 0.1, End: 2, Shape: kinematics.Smooth}, ""},
		{"0.5..0.4", kinematics.Ramp{}, "0.5..0.4 ends before it starts"},
		{"0.5..400", kinematics.Ramp{}, "0.5..400 ends after more than 60 s"},
		{"0.1..0.2:round", kinematics.Ramp{}, `"round" is not the shape of a ramp: write line or smooth`},
		{"0.1-0.2", kinematics.Ramp{}, `"0.1-0.2" is not a span of time: write START..END in seconds after the command, such as 0.35..0.50, or 0.35..0.50:smooth`},
		{"-1..2", kinematics.Ramp{}, `"-1..2" is not a span of time: write START..END in seconds after the command, such as 0.35..0.50, or 0.35..0.50:smooth`},
		{"NaN..2", kinematics.Ramp{}, `"NaN..2" is not a span of time: write START..END in seconds after the command, such as 0.35..0.50, or 0.35..0.50:smooth`},
		{"1..", kinematics.Ramp{}, `"1.." is not a span of time: write START..END in seconds after the command, such as 0.35..0.50, or 0.35..0.50:smooth`},
	} {
		got, err := kinematics.ParseRamp(c.text)
		switch {
		case c.problem == "" && (err != nil || got != c.want):
			t.Errorf("ParseRamp(%q) = %v, %v", c.text, got, err)
		case c.problem != "" && (err == nil || err.Error() != c.problem):
			t.Errorf("ParseRamp(%q): error %v, want %s", c.text, err, c.problem)
		}
		if c.problem == "" {
			if again, err := kinematics.ParseRamp(got.String()); err != nil || again != got {
				t.Errorf("%s is read back as %v, %v", got.String(), again, err)
			}
		}
	}
}

func TestRampDone(t *testing.T) {
	for _, c := range []struct {
		shape   kinematics.RampShape
		t, want float64
	}{
		{kinematics.Line, 0.9, 0}, {kinematics.Line, 1, 0}, {kinematics.Line, 1.5, 0.25}, {kinematics.Line, 3, 1}, {kinematics.Line, 4, 1},
		{kinematics.Smooth, 0.9, 0}, {kinematics.Smooth, 1.5, (1 - math.Sqrt2/2) / 2}, {kinematics.Smooth, 2, 0.5}, {kinematics.Smooth, 4, 1},
	} {
		r := kinematics.Ramp{Start: 1, End: 3, Shape: c.shape}
		if got := r.Done(c.t); math.Abs(got-c.want) > 1e-15 {
			t.Errorf("%s ramp 1..3 at %g s: %g, want %g", c.shape, c.t, got, c.want)
		}
	}
	step := kinematics.Ramp{Start: 1, End: 1, Shape: kinematics.Line}
	if step.Done(1) != 0 || step.Done(1.0001) != 1 {
		t.Error("a ramp without length is no step")
	}
}

// A mass m on wheels of radius r behind a final drive i moves m r/i per radian
// of the output: kinetic energy ½ m v² and power F v are the same at the output.
func TestVehicle(t *testing.T) {
	v := kinematics.Vehicle{Mass: 4200, FinalDrive: 4.3, TyreRadius: 0.38, Rolling: 0.012, Drag: 4.8}
	w := 110.0 // rad/s at the output
	speed := w / 4.3 * 0.38
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"kinetic energy", v.Inertia() * w * w / 2, 4200 * speed * speed / 2},
		{"rolling power", v.RollingTorque() * w, 0.012 * 4200 * 9.80665 * speed},
		{"drag power", v.DragTorque() * w * w * w, 1.225 / 2 * 4.8 * speed * speed * speed},
	} {
		if math.Abs(c.got-c.want) > 1e-12*c.want {
			t.Errorf("%s at the output %g, of the vehicle %g", c.what, c.got, c.want)
		}
	}
}
