package appchart_test

import (
	"fmt"

	"tieup/gearsets/appchart"
)

// A chart as a spreadsheet with decimal commas writes it, and one with a mistake.
func Example() {
	chart, _ := appchart.Read("mine.csv", []byte("range;A;B;ratio\n1;x;;2,45\nR;;x;2,20\n"), nil)
	for _, row := range chart.Rows {
		fmt.Println(row.Name, row.Marks, row.Ratio.Value)
	}
	_, problems := appchart.Read("mine.csv", []byte("range;A;B;ratio\n1;x;maybe;2,45\n"), nil)
	fmt.Println(problems)
	// Output:
	// 1 [on off] 49/20
	// R [off on] -11/5
	// mine.csv:2:5: "maybe" is no mark
}
