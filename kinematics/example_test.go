package kinematics_test

import (
	"fmt"

	"tieup/kinematics"
)

// One planetary set: its ring is the input, its carrier the output, and a band holds the
// sun. With the band stuck on, the sun stays held in every range.
func Example() {
	b := kinematics.NewBuilder("one-set")
	b.Simple("front", 30, 66, 18, false)
	b.Ports("front.ring", "front.carrier")
	b.Element("low", kinematics.Band, "front.sun", "housing")
	b.Range("D1", "low")
	b.Range("N")
	t, err := b.Build()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, m := range t.Meshes {
		fmt.Printf("%s: %s (%d teeth) and %s (%d) on %s\n", m.Kind, t.Members[m.A].Name, m.ZA, t.Members[m.B].Name, m.ZB,
			t.Members[m.Carrier].Name)
	}
	fmt.Println(t.In(&t.Ranges[1], t.MustFault("low=stuck")).Modes)
	// Output:
	// external: front.sun (30 teeth) and front.pinion (18) on front.carrier
	// internal: front.ring (66 teeth) and front.pinion (18) on front.carrier
	// [locked]
}
