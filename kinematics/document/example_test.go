package document_test

import (
	"encoding/json"
	"fmt"

	"tieup/kinematics/document"
)

// What no type of Go writes by itself: names in their order, a list that is empty, a name
// that is missing.
func Example() {
	var slips document.Named[float64]
	slips.Add("forward", 0.5)
	slips.Add("direct", 1)
	b, err := json.Marshal(struct {
		Slips   document.Named[float64] `json:"slips"`
		Faults  document.List[string]   `json:"faults"`
		Witness document.Name           `json:"witness"`
	}{Slips: slips})
	if err != nil {
		panic(err)
	}
	fmt.Println(string(b))
	// Output: {"slips":{"forward":0.5,"direct":1},"faults":[],"witness":null}
}
