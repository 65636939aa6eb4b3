package fit_test

import (
	"context"
	"fmt"
	"log"

	"tieup/gearsets"
	"tieup/gearsets/appchart"
	"tieup/kinematics"
	"tieup/kinematics/fit"
)

// Which basic ratios does a Simpson train have that is printed with 2.45, 1.45 and 2.20?
func Example() {
	chart, problems := appchart.Read("mine.csv", []byte(`range,A,B,C,D,OWC,ratio
1,x,,,,x,2.45
2,x,,x,,,1.45
3,x,x,,,,1.00
R,,x,,x,,2.20
`), nil)
	if chart == nil {
		log.Fatal(problems)
	}
	layouts := fit.Layouts([]*kinematics.Train{gearsets.MustLibrary("depot-shuttle-three-speed")})
	answer, err := fit.Fit(context.Background(), chart, layouts)
	if err != nil {
		log.Fatal(err)
	}
	f := answer.Fitted[0]
	fmt.Println(f.Layout.Train.Name, "with", f.Cells, "cells that differ")
	for v := range f.Unknowns {
		least, most := f.Range(v)
		fmt.Printf("%s from %.4f to %.4f\n", f.RatioName(v), least.Float(), most.Float())
	}
	// Output:
	// depot-shuttle-three-speed with 0 cells that differ
	// front ring/sun from 2.1978 to 2.2180
	// rear ring/sun from 2.1950 to 2.2050
}
