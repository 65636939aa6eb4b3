package problem_test

import (
	"fmt"

	"tieup/gearsets/problem"
)

// What comes from a file is shown without what could steer a terminal.
func ExamplePlain() {
	fmt.Println(problem.Plain("front\x1b[31m.ring"))
	// Output: front�[31m.ring
}
