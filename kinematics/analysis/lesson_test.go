package analysis_test

import (
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// Every fault that shows comes once before the first comes again, in an order that
// differs from seed to seed.
func TestOrderOfFaults(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	a := analysis.Open(train)
	var orders [][]string
	for seed := range uint64(3) {
		var order []string
		for f, ok := a.NextFault(t.Context(), kinematics.Fault{}, seed); ok && !slices.Contains(order, train.FaultText(f)); f, ok = a.NextFault(t.Context(), f, seed) {
			order = append(order, train.FaultText(f))
		}
		orders = append(orders, order)
	}
	for i, order := range orders {
		if len(order) < 10 || len(order) != len(orders[0]) {
			t.Errorf("seed %d has %d faults", i, len(order))
		}
		for k := range i {
			if slices.Equal(order, orders[k]) {
				t.Errorf("seeds %d and %d have the same order", i, k)
			}
		}
	}
}
