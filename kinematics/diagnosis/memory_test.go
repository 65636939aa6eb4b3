package diagnosis_test

import (
	"testing"

	"tieup/gearsets"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/solve"
)

// What is remembered of one shift must not be taken for another's: all shifts
// between neighbouring ranges, asked one after the other, against each found anew.
func TestShiftsAreNotMixedUp(t *testing.T) {
	for _, name := range []string{"ravigneaux-four-speed", "simpson-three-speed", "four-carrier-eight-speed"} {
		if name == "four-carrier-eight-speed" && !whole() {
			continue
		}
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		f := must(diagnosis.New(t.Context(), solve.Compile(train), diagnosis.Default()))
		for _, p := range train.Positions {
			for k := range len(p.Ranges) - 1 {
				from, to := p.Ranges[k], p.Ranges[k+1]
				for _, pair := range [][2]int{{from, to}, {to, from}} {
					remembered, anew := f.ShiftsAnew(pair[0], pair[1])
					for i := range anew {
						if remembered[i] != anew[i] {
							t.Errorf("%s, %v: remembered %s, found anew %s", name, pair, remembered[i], anew[i])
						}
					}
				}
			}
		}
	}
}
