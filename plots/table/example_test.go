package table_test

import (
	"context"
	"os"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
	"tieup/plots/table"
)

// The application chart of a train beside what one fault makes of it, as text.
func ExampleChart() {
	train := gearsets.MustLibrary("simple-planetary")
	answer, err := analysis.Open(train).Chart(context.Background(), analysis.Question{
		Ranges: train.Ranges[:2], Condition: analysis.Under(train.MustFault("sun-brake=open")),
	})
	if err == nil {
		err = table.Text(os.Stdout, 0, table.Chart{Chart: answer})
	}
	if err != nil {
		panic(err)
	}
	// Output:
	// simple-planetary: One simple planetary set, each member held in turn
	// fault: sun-brake never holds
	//
	// range      applied     healthy                 with the fault   coasting then  what changes
	// ───────────────────────────────────────────────────────────────────────────────────────────
	// reduction  ring-brake  drives forward at 3.40  as when healthy
	// overdrive  sun-brake   drives forward at 0.71  no drive         rolls freely   drive lost
}
