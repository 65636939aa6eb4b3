package roadtest_test

import (
	"fmt"

	"tieup/gearsets/roadtest"
)

// A road-test sheet, as it is filled in.
func Example() {
	const file = `sheet: 1
train: depot-shuttle-three-speed
vehicle: bus 14
seen:
  R: bind
  N: creeps-forward
`
	sheet, problems, err := roadtest.Parse("bus-14.yaml", []byte(file))
	if err != nil {
		fmt.Print(problems.Excerpts(), err)
		return
	}
	fmt.Println(sheet.Case.Vehicle, sheet.Case.Places())
	// Output:
	// bus 14 [R: bind N: creeps-forward]
}
