package reading_test

import (
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/reading"
)

func TestElementWords(t *testing.T) {
	b := kinematics.NewBuilder("words")
	b.Shaft("x", "y")
	b.Element("c", kinematics.Clutch, "x", "y")
	b.Element("b", kinematics.Band, "x", "housing")
	b.Element("forward-free", kinematics.OneWay, "x", "housing")
	b.Element("backward-free", kinematics.OneWay, "housing", "x")
	b.Element("between", kinematics.OneWay, "x", "y").Switched = true
	b.Element("p", kinematics.Pawl, "y", "housing")
	b.Ports("x", "y")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{
		"clutch, joins x and y",
		"band, holds x",
		"one-way clutch: x may turn forward, is held against turning backward",
		"one-way clutch: x may turn backward, is held against turning forward",
		"one-way clutch: x may turn forward faster than y, never slower; acts only in the ranges that apply it",
		"parking pawl, holds y",
	} {
		if got := reading.Element(train, &train.Couplings[i]); got != want {
			t.Errorf("%s: %q, want %q", train.Couplings[i].Name, got, want)
		}
	}
}
