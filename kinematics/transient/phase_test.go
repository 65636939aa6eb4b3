package transient

import (
	"testing"

	"tieup/kinematics"
)

// An element is given something to hold with until its release ends, and from after the start of
// its apply. Without torque and slip it then is applied, else released.
func TestGivenUntilTheReleaseEnds(t *testing.T) {
	ramp := kinematics.Ramp{Start: 0.25, End: 0.5, Shape: kinematics.Line}
	for _, tt := range []struct {
		change Change
		origin Origin
		after  float64
		given  map[float64]bool
	}{
		{Releases, Given, 0, map[float64]bool{0: true, 0.25: true, 0.499: true, 0.5: false, 1: false}},
		{Applies, Given, 400, map[float64]bool{0: false, 0.25: false, 0.251: true, 0.5: true, 1: true}},
		{Stays, Given, 400, map[float64]bool{0: true, 1: true}},
		{Stays, Given, 0, map[float64]bool{0: false, 1: false}},
		{Releases, InTime, 0, map[float64]bool{0: false, 1: false}},
		{Applies, InTime, 400, map[float64]bool{0: false, 1: false}},
	} {
		c := Schedule{Change: tt.change, Origin: tt.origin, Ramp: ramp, After: tt.after}
		still := Track{Slip: []float64{0}, TorqueMin: []float64{0}, TorqueMax: []float64{0}}
		for at, want := range tt.given {
			if got := c.given(at); got != want {
				t.Errorf("%v: given at %g s is %v", tt.change, at, got)
			}
			if got := still.doing(kinematics.Clutch, &c, at, 0) == Applied; got != want {
				t.Errorf("%v: applied at %g s is %v", tt.change, at, got)
			}
		}
	}
}
