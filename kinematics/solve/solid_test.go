package solve_test

import (
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A simple set of which only ring/sun is known, sun in, carrier out:
//
//	sun --+-- direct -- ring -- low -- housing
//
// With direct on, all three turn as one and so do the pinions; with low on, how
// fast the pinions turn depends on teeth that nobody gave.
func TestPinionsOfASolidSet(t *testing.T) {
	b := kinematics.NewBuilder("ratio only")
	b.Shaft("in", "out")
	b.Simple("a", 10, 22, 0, true)
	b.Join("i", "in", "a.sun")
	b.Join("o", "out", "a.carrier")
	b.Element("low", kinematics.Brake, "a.ring", kinematics.HousingName)
	b.Element("direct", kinematics.Clutch, "in", "a.ring")
	b.Ports("in", "out")
	b.Range("L", "low")
	b.Range("D", "direct")
	b.Range("locked", "low", "direct")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	pinion := train.Gearsets[0].Pinions[0].Member
	if !train.Members[pinion].Unknown {
		t.Fatal("the pinion is known")
	}
	sys := solve.Compile(train)
	for i, want := range []string{"", "1", "0"} {
		m := sys.Motion(train.In(&train.Ranges[i]))
		got := ""
		if v, one := m.Members[pinion].Point(); one {
			got = v.String()
		}
		if got != want {
			t.Errorf("%s: the pinion turns at %q, want %q", train.Ranges[i].Name, got, want)
		}
		if together := m.Groups[pinion] == m.Groups[train.Gearsets[0].Carrier]; together != (want != "") {
			t.Errorf("%s: the pinion turns with its carrier: %v", train.Ranges[i].Name, together)
		}
	}
}
