package wear_test

import (
	"fmt"
	"log"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
	"tieup/kinematics/wear"
)

// What slips in reverse with the forward clutch stuck on, per unit of the rated torque.
func Example() {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	sys := solve.Compile(train)
	r, _ := train.Range("R")
	faults := []kinematics.Fault{train.MustFault("forward=stuck")}
	motions, err := wear.Motions(sys, &train.Ranges[r], faults, wear.Query{
		Ratings: sys.Ratings(solve.ScaleOf(train), exact.NewFrac(3, 2), nil), Available: exact.Int(1),
	})
	if err != nil {
		log.Fatal(err)
	}
	for _, m := range motions {
		fmt.Println(m.Kind, "needs", m.Needs)
		for i, l := range m.Loads {
			if l.Heat.Max.Sign() > 0 {
				fmt.Println("  ", train.Couplings[i].Name, "slips", l.Slip.Max, "and takes", l.Heat.Max)
			}
		}
	}
	// Output:
	// pulling needs 128/45
	//    direct slips 256/135 and takes 128/45
	// rolling-forward needs 24/5
	//    low-reverse slips 1 and takes 24/5
	// rolling-backward needs 384/55
	//    direct slips 256/55 and takes 384/55
}
