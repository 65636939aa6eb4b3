package page_test

import (
	"fmt"

	"tieup/plots/page"
)

// The whole view is in the address, so a link is a reproducible case.
func ExampleState_Link() {
	st := page.State{Train: "depot-shuttle-three-speed", Range: "R", Faults: []string{"forward=stuck"}, Pace: page.UsualPace}
	fmt.Println(st.Link())
	// Output:
	// /?fault=forward%3Dstuck&range=R&train=depot-shuttle-three-speed
}
