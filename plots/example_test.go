package plots_test

import (
	"bytes"
	"context"
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
	"tieup/plots"
)

// The half-section of a train in first, as SVG.
func Example() {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	first, _ := train.Range("D1")
	why, err := analysis.Open(train).Explain(context.Background(), analysis.Question{Ranges: train.Ranges[first : first+1]})
	if err != nil {
		fmt.Println(err)
		return
	}
	var b bytes.Buffer
	err = plots.Write(&b, plots.SVG, plots.HalfSection(why), plots.Style{})
	fmt.Println(err, b.Len() > 1000, bytes.Contains(b.Bytes(), []byte("<svg")))
	// Output: <nil> true true
}
