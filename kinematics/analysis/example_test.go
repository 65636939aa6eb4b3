package analysis_test

import (
	"context"
	"encoding/json"
	"fmt"
	"log"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// What does each range of a train do with its forward clutch stuck on?
func Example() {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		log.Fatal(err)
	}
	stuck, err := kinematics.ParseFault(train, "forward=stuck")
	if err != nil {
		log.Fatal(err)
	}
	chart, err := analysis.Open(train).Chart(context.Background(), analysis.Question{
		Ranges: train.Ranges[1:4], Condition: analysis.Under(stuck),
	})
	if err != nil {
		log.Fatal(err)
	}
	for _, row := range chart.Rows {
		fmt.Printf("%s: %s (healthy: %s)\n", row.Range.Name, row.Faulty.Text(), row.Healthy.Text())
	}
	document, err := json.Marshal(chart.Rows[1].Faulty)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(string(document))
	// Output:
	// R: ties up (healthy: drives backward at 2.20)
	// N: drives forward at 2.45 (as D1) (healthy: no drive)
	// D1: drives forward at 2.45 (healthy: drives forward at 2.45)
	// {"verdict":"forward","ratio":2.4545454545454546,"ratio_exact":"27/11","reads":"drives forward at 2.45 (as D1)","coasting":"freewheels","as":"D1","friction":null}
}
