package shift_test

import (
	"context"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/shift"
	"tieup/kinematics/solve"
)

func library(t testing.TB, name string) *kinematics.Train {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	return train
}

func build(t testing.TB, b *kinematics.Builder) *kinematics.Train {
	t.Helper()
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// find returns the shift between two ranges under faults, given as NAME and kind.
func find(t testing.TB, train *kinematics.Train, from, to string, faults ...kinematics.Fault) *shift.Shift {
	t.Helper()
	a, okA := train.Range(from)
	b, okB := train.Range(to)
	if !okA || !okB {
		t.Fatalf("%s has no ranges %s and %s", train.Name, from, to)
	}
	return shift.NewPredictor(solve.Compile(train)).Shift(context.Background(), shift.Pair{From: a, To: b}, faults...)
}

func fault(t testing.TB, train *kinematics.Train, name string, kind kinematics.FaultKind, ranges ...string) kinematics.Fault {
	t.Helper()
	i, ok := train.Coupling(name)
	if !ok {
		t.Fatalf("%s has no coupling %s", train.Name, name)
	}
	return kinematics.Fault{Coupling: i, Kind: kind, Ranges: ranges}
}

// twoSets is an overdrive set in front of a reduction set (invented):
//
//	in -- front.carrier, front.ring -- rear.ring, rear.carrier -- out
//
//	front.sun   od-brake: 5/7 up (sun 24, ring 60); od-clutch to the carrier: 1
//	rear.sun    roller against turning backward: 3/2 down (sun 30, ring 60); high clutch to the ring: 1
//
// From low-over to high three elements are exchanged: od-brake for od-clutch,
// and high comes on while the roller lets go by itself.
func twoSets(t testing.TB) *kinematics.Train {
	b := kinematics.NewBuilder("two-sets")
	b.Shaft("in", "middle", "out")
	b.Simple("front", 24, 60, 0, false)
	b.Simple("rear", 30, 60, 0, false)
	b.Join("in", "in", "front.carrier")
	b.Join("middle", "middle", "front.ring", "rear.ring")
	b.Join("out", "out", "rear.carrier")
	b.Element("od-brake", kinematics.Brake, "front.sun", kinematics.HousingName)
	b.Element("od-clutch", kinematics.Clutch, "front.sun", "front.carrier")
	b.Element("roller", kinematics.OneWay, "rear.sun", kinematics.HousingName)
	b.Element("high", kinematics.Clutch, "rear.sun", "middle")
	b.Ports("in", "out")
	b.Range("low", "od-clutch")
	b.Range("low-over", "od-brake")
	b.Range("high", "od-clutch", "high")
	b.Range("high-over", "od-brake", "high")
	b.Position("D", "low", "low-over", "high", "high-over")
	return build(t, b)
}
