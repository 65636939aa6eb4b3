package bench_test

import (
	"context"
	"fmt"
	"log"

	"tieup/gearsets"
	"tieup/kinematics/bench"
	"tieup/kinematics/solve"
)

// The fewest turns by hand that prove an assembly, and what the first would show of a
// clutch that never holds.
func Example() {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	plan, err := bench.New(context.Background(), solve.Compile(train), bench.Question{})
	if err != nil {
		log.Fatal(err)
	}
	for i, turn := range plan.Turns {
		fmt.Printf("%d. %s: locks %v\n", i+1, turn.Name(train), plan.Sound(turn).Locks())
	}
	open := train.MustFault("forward=open")
	fmt.Println("shown by turn", plan.ShownBy(open)+1, "of", len(plan.Turns))
	// Output:
	// 1. forward+intermediate free counterclockwise: locks true
	// 2. forward held counterclockwise: locks false
	// 3. - held clockwise: locks false
	// 4. direct+low-reverse pawled clockwise: locks true
	// shown by turn 1 of 4
}
