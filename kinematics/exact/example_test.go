package exact_test

import (
	"encoding/json"
	"fmt"

	"tieup/kinematics/exact"
)

func ExampleFrac() {
	sun, ring := exact.Int(33), exact.Int(72)
	ratio := exact.Int(1).Add(sun.Mul(ring.Inv()))
	fmt.Println(ratio, ratio.Float() > 1.458)
	// Output: 35/24 true
}

func ExampleInterval() {
	free := exact.Interval{Min: exact.Finite(exact.NewFrac(1, 2)), Max: exact.Infinite(1)}
	fmt.Println(free, free.HasZero(), free.NearestZero())
	// Output: [1/2, inf] false 1/2
}

// A number is written as the nearest float64, in a field of type Text exactly.
func ExampleText() {
	ratio := exact.NewFrac(27, 11)
	out, _ := json.Marshal(struct {
		Ratio exact.Frac `json:"ratio"`
		Exact exact.Text `json:"ratio_exact"`
		Pull  exact.Interval
	}{ratio, exact.Text{Frac: ratio}, exact.None})
	fmt.Println(string(out))
	// Output: {"ratio":2.4545454545454546,"ratio_exact":"27/11","Pull":{"min":null,"max":null}}
}

func ExampleParse() {
	_, err := exact.Parse("27:11")
	fmt.Println(err)
	// Output: "27:11" is not a fraction: write 27/11, -3 or 2.45
}
