package reading_test

import (
	"context"
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// What reverse does with the forward clutch stuck on, and why.
func Example() {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	stuck := train.MustFault("forward=stuck")
	reader := reading.NewReader(solve.Compile(train))
	r, _ := train.Range("R")
	fmt.Println(reader.Read(&train.Ranges[r], stuck).Text())
	for _, line := range reading.Explain(context.Background(), reader, &train.Ranges[r], stuck).Brief() {
		fmt.Println(line)
	}
	// Output:
	// ties up
	// The input cannot turn forward: forward (stuck on), direct (applied in R) and low-reverse (applied in R) contradict each other, through joints shell and output.
}
