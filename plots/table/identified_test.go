package table

import (
	"slices"
	"strings"
	"testing"

	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// Second of the depot's three-speed has 16/11 = 1.4545: 1600 over 1100.
func TestIdentifiedCells(t *testing.T) {
	a := opened(t, "depot-shuttle-three-speed")
	i, _ := a.Train.Range("D3")
	answer, err := a.Identify(t.Context(), analysis.IdentifyQuestion{
		Readings: analysis.Readings{Tolerance: exact.NewFrac(1, 50), Speeds: []analysis.Measured{
			{Member: a.Train.Input, Speed: exact.Int(1600)}, {Member: a.Train.Output, Speed: exact.Int(1100)},
		}},
		Commanded: &a.Train.Ranges[i],
	})
	if err != nil {
		t.Fatal(err)
	}
	d := Identified{Identified: answer}
	if got, want := d.matches().Rows[0], []string{"1.4545", "+0.0 %", "D2", "forward + intermediate"}; !slices.Equal(got, want) {
		t.Errorf("row %q\nwant %q", got, want)
	}
	text, document := written(t, answer, d)
	for _, line := range document["text"].([]any) {
		if !strings.Contains(text, line.(string)) {
			t.Errorf("the text does not say %q", line)
		}
	}
	if !slices.Equal(answer.Holds, []string{"intermediate"}) || !slices.Equal(answer.Missing, []string{"direct"}) {
		t.Errorf("holds %q, missing %q", answer.Holds, answer.Missing)
	}
}
