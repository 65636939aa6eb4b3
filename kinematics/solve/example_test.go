package solve_test

import (
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// planetary is a simple set with a sun of 30 and a ring of 66 teeth, driven by
// its sun.
func planetary() *kinematics.Train {
	b := kinematics.NewBuilder("planetary")
	b.Simple("set", 30, 66, 18, false)
	b.Element("ring-brake", kinematics.Brake, "set.ring", kinematics.HousingName)
	b.Element("lock-up", kinematics.Clutch, "set.sun", "set.carrier")
	b.Ports("set.sun", "set.carrier")
	t, err := b.Build()
	if err != nil {
		panic(err)
	}
	return t
}

// The sun drives, the ring is held, and the carrier is the output: it turns
// once for 30 + 66 over 30 turns of the sun.
func ExampleCompile() {
	t := planetary()
	ring, _ := t.Element("ring-brake")
	o := solve.Compile(t).Kernel().Outcome(t.Applying(ring))
	ratio, _ := o.Ratio()
	fmt.Println(o.Verdict, ratio)
	// Output: forward 16/5
}

// One kernel answers every combination of elements. Held and locked at once,
// the set cannot turn.
func ExampleKernel_Outcome() {
	t := planetary()
	k := solve.Compile(t).Kernel()
	for _, applied := range [][]int{{}, {0}, {1}, {0, 1}} {
		o := k.Outcome(t.Applying(applied...))
		if ratio, drives := o.Ratio(); drives {
			fmt.Println(applied, o.Verdict, ratio)
		} else {
			fmt.Println(applied, o.Verdict)
		}
	}
	// Output:
	// [] neutral
	// [0] forward 16/5
	// [1] forward 1
	// [0 1] tie-up
}

// A motion has the speed of every member per turn of the input, pinions
// included.
func ExampleSystem_Motion() {
	t := planetary()
	ring, _ := t.Element("ring-brake")
	m := solve.Compile(t).Motion(t.Applying(ring))
	for i, s := range m.Members {
		if w, one := s.Point(); one {
			fmt.Printf("%-12s %6v %7.3f\n", t.Members[i].Name, w, s.Float)
		}
	}
	// Output:
	// housing           0   0.000
	// set.carrier    5/16   0.312
	// set.sun           1   1.000
	// set.ring          0   0.000
	// set.pinion     -5/6  -0.833
}

// On the bench any members can be turned and held: the carrier turned once with
// the sun held.
func ExampleSystem_Turn() {
	t := planetary()
	sun, _ := t.Member("set.sun")
	carrier, _ := t.Member("set.carrier")
	ring, _ := t.Member("set.ring")
	r := solve.Compile(t).Turn(t.Applying().Modes, []solve.Given{
		{Member: carrier, Speed: exact.NewFrac(1, 1)},
		{Member: sun, Speed: exact.NewFrac(0, 1)},
	})
	turns, _ := r.Members[ring].Point()
	fmt.Println("the ring turns", turns)
	// Output: the ring turns 16/11
}
