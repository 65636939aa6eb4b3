package controls_test

import (
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// One dead solenoid of a two-speed unit: its valve stays down, and second is not fed.
func Example() {
	b := kinematics.NewBuilder("yard-tug-two-speed")
	b.Shaft("turbine", "wheels")
	b.Simple("front", 30, 66, 18, false)
	b.Join("drive", "turbine", "front.ring")
	b.Join("out", "wheels", "front.carrier")
	b.Element("low", kinematics.Band, "front.sun", kinematics.HousingName)
	b.Element("high", kinematics.Clutch, "front.sun", "front.ring")
	b.Ports("turbine", "wheels")
	b.Range("N")
	b.Range("D1", "low")
	b.Range("D2", "high")
	b.Position("N", "N")
	b.Position("D", "D1", "D2")
	train, err := b.Build()
	if err != nil {
		panic(err)
	}
	network, problems := controls.Compile(train, &controls.Spec{
		Solenoids: []controls.Solenoid{{Name: "S1"}},
		Valves:    []controls.Valve{{Name: "shift-valve", Up: "S1"}},
		Circuits: []controls.Circuit{
			{Name: "drive", From: "lever(D)"},
			{Name: "first", From: "drive and not shift-valve"},
			{Name: "second", From: "drive and shift-valve"},
		},
		Feeds: []controls.Feed{
			{Element: "low", Apply: []controls.Area{{From: "first"}}},
			{Element: "high", Apply: []controls.Area{{From: "second"}}},
		},
		Commands: []controls.Command{
			{Range: "N", Patterns: []controls.Pattern{{}}},
			{Range: "D1", Patterns: []controls.Pattern{{}}},
			{Range: "D2", Patterns: []controls.Pattern{{On: []string{"S1"}}}},
		},
	})
	if network == nil {
		panic(problems)
	}
	fmt.Println("differences from the application chart:", len(network.Prove()))

	fault, err := network.ParseFault("S1=no-current")
	if err != nil {
		panic(err)
	}
	before, _ := network.Evaluate(fault)
	d2, _ := train.Range("D2")
	outcomes := before.Of(-1, d2)
	for _, e := range outcomes.List[0].Sets[0].Applied(&train.Ranges[d2]) {
		fmt.Println("fed in D2:", train.Couplings[e].Name)
	}
	high, _ := train.Element("high")
	for _, link := range network.Chain(outcomes.Node, outcomes.List[0], high, before.Faults) {
		fmt.Println(link.Name, link.Level)
	}
	// Output:
	// differences from the application chart: 0
	// fed in D2: low
	// S1 none
	// shift-valve none
	// second none
	// high none
}
