package analysis_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// With more elements than can be combined at all nobody is told to ask for all the same:
// 2^70 is more than a whole number holds.
func TestIdentifyOfManyElements(t *testing.T) {
	b := kinematics.NewBuilder("brakes")
	b.Shaft("in", "out")
	b.Simple("set", 30, 70, 20, false)
	b.Join("a", "in", "set.sun")
	b.Join("z", "out", "set.carrier")
	for i := range 70 {
		b.Element(fmt.Sprintf("e%d", i), kinematics.Brake, "set.ring", kinematics.HousingName)
	}
	b.Ports("in", "out")
	b.Range("low", "e0")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	_, err = analysis.Open(train).Identify(context.Background(), analysis.IdentifyQuestion{Most: 16})
	var many *analysis.TooMany
	if !errors.As(err, &many) || !strings.Contains(err.Error(), "too many") {
		t.Errorf("%v", err)
	}
}
