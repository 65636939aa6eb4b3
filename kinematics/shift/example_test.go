package shift_test

import (
	"context"
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics/shift"
	"tieup/kinematics/solve"
)

// Which shifts of a train must be timed, and what happens when they are not.
func Example() {
	f := shift.NewPredictor(solve.Compile(gearsets.MustLibrary("depot-shuttle-three-speed")))
	for _, p := range f.Pairs()[:3] {
		s := f.Shift(context.Background(), p)
		fmt.Println(s.Name()+":", s.PullingText())
	}
	// Output:
	// D1 to D2: safe either way (freewheel shift: roller overruns)
	// D2 to D1: safe either way (freewheel shift: roller catches)
	// D2 to D3: timed: early ties up, late flares to 2.45 (as D1)
}
