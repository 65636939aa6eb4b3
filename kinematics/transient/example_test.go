package transient_test

import (
	"context"
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics/solve"
	"tieup/kinematics/transient"
)

// From first into second, timed by itself.
func Example() {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	from, _ := train.Range("D1")
	to, _ := train.Range("D2")
	s := transient.New(solve.Compile(train), &train.Ranges[from], &train.Ranges[to])
	s.Until = transient.AssumedApply.End + transient.AfterRamps
	answer, err := s.Play(context.Background())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(answer.Heading())
	for _, line := range answer.Words() {
		fmt.Println(line)
	}
	// Output:
	// D1 to D2: 120 N m at the input; the vehicle rolling at 30.0 km/h, the input at 2210 rpm
	// timed by itself: nothing has to let go for intermediate
	// D2 holds from 0.67 s on, the input at 1368 rpm
	// intermediate takes 4.0 kJ (0.19 J/mm²), slipping for 0.37 s
	// roller lets go and overruns from 0.43 s
}
