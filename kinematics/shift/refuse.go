package shift

import (
	"fmt"

	"tieup/kinematics"
)

// SpeedsAlone refuses faults that only torques can tell from a sound train: a
// [Predictor] compares speeds.
func SpeedsAlone(t *kinematics.Train, faults []kinematics.Fault) error {
	for _, f := range faults {
		if f.Kind == kinematics.Weak || f.Kind == kinematics.Dragging || f.Share.IsSet() {
			return fmt.Errorf("%s acts through torque, and only speeds are compared here: "+
				"use open or stuck for its two ends, or play a shift in time (transient)", t.FaultText(f))
		}
	}
	return nil
}
