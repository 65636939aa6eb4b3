package diagnosis_test

import (
	"context"
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/solve"
)

// Reverse binds, and the vehicle creeps in neutral: who is suspected, and what to try next?
func Example() {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	c := diagnosis.NewCase(train)
	for _, seen := range [][2]string{{"R", "bind"}, {"N", "forward"}} {
		if err := c.See(seen[0], seen[1]); err != nil {
			fmt.Println(err)
			return
		}
	}
	ctx := context.Background()
	f, err := diagnosis.New(ctx, solve.Compile(train), c.Assume)
	if err != nil {
		fmt.Println(err)
		return
	}
	a, err := f.Diagnose(ctx, c, diagnosis.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	first := &a.Groups[0]
	for _, s := range first.Suspects {
		fmt.Println(s.Text(train))
	}
	fmt.Println(a.Agreement(first))
	plan, err := a.Plan(ctx, 1, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range plan.Proposals {
		fmt.Println(p.Test.Text(train))
		fmt.Println("before it:", p.Before(train))
	}
	// Output:
	// forward is fed in every range, and good itself
	// forward is stuck on
	// agrees with both observations
	// Brakes on, the engine idling, select P: does it pull, which way, or only load the engine?
	// before it: wheels chocked, parking and service brake on, path clear both ways, nobody in front, behind or under the vehicle; idle only
}
