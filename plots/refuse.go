package plots

import (
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// SpeedsAlone refuses faults that a drawing of speeds could not show in any of
// the ranges, because they act through torque: [SpeedPlan], [LeverDiagram],
// [ShiftLadder] and [HalfSection] draw speeds alone.
func SpeedsAlone(t *kinematics.Train, ranges []kinematics.Range, faults []kinematics.Fault) error {
	for _, f := range faults {
		for i := range ranges {
			if reading.ActsByTorque(&ranges[i], f) {
				return fmt.Errorf("%s acts through torque, and this drawing shows speeds alone: see tieup plot breakaway",
					t.FaultText(f))
			}
		}
	}
	return nil
}
