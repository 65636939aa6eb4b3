package wear_test

import (
	"fmt"
	"maps"
	"slices"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
	"tieup/kinematics/wear"
)

// Forced motions worked by hand, of a sun of 30 teeth that is the input, a carrier that is the
// output, and a ring of 60: sun + 2 ring = 3 carrier. The brake low, which holds the ring, has 4,
// the clutch direct, which joins sun and carrier, has 3.
//
// In D, low stuck at a quarter has 1. With the output at w per turn of the input direct slips
// |1-w|, low |3w-1|/2: against a resistance R the input needs 3|1-w| + |3w-1|/2 + Rw, which is
// 1 + R where w is 1, 2 + R/3 where it is 1/3, and 7/2 where it is 0. So R = 3/2 (5/2 at the
// input) makes direct slip, R = 9/2 (7/2) holds the wheels. With w = 1 the ring is held back with 1,
// which takes 3/2 out of the carrier: all of what direct gives it.
//
// Rolled, the output turns once and the input as fast, since low then takes 1, else direct 6. No
// torque comes from the input: direct carries the 1/2 that the gears take out of the sun.
//
// With low stuck as if it were one part with the housing w is 1/3 and direct slips by 2/3, rolled by
// 2, whatever the load.
//
// In L, low weak at a half has 2: it lets the wheels be held with half of that at the input, where
// it slips by 1/2. Sound, it takes twice that, if there is as much.
//
// T ties up when sound, too: 2 at the input let direct slip by 2/3 and take 2. With direct weak at a
// half it takes 1, with 1 at the input: more than when sound only where there is less than 2, and as
// little as then where there is not even 1. Rolled, direct weak slips by 2 and takes 3, which is less
// than the 4 of low, that slips when all is sound.
func TestMotionsByHand(t *testing.T) {
	b := kinematics.NewBuilder("set")
	b.Simple("set", 30, 60, 15, false)
	b.Element("low", kinematics.Brake, "set.ring", kinematics.HousingName)
	b.Element("direct", kinematics.Clutch, "set.sun", "set.carrier")
	b.Ports("set.sun", "set.carrier")
	b.Range("D", "direct")
	b.Range("L", "low")
	b.Range("T", "low", "direct")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	low, _ := train.Element("low")
	direct, _ := train.Element("direct")
	sys := solve.Compile(train)
	ratings := sys.Ratings(solve.ScaleOf(train), exact.NewFrac(3, 2),
		map[int]exact.Frac{low: exact.Int(4), direct: exact.Int(3)})
	rolled := func(list map[string]string, words string) map[string]string {
		list["rolling-forward"], list["rolling-backward"] = words, words
		return list
	}
	none := "slips 0 heat 0 torque "
	for _, tt := range []struct {
		rng, fault string
		available  exact.Frac
		want       map[string]string
	}{
		{"D", "low=stuck 0.25", exact.NewFrac(12, 5), rolled(map[string]string{
			"pulling": "needs 1 (true); low slips 1 heat 1 torque 1; direct " + none + "3/2",
		}, "needs 1 (true); low slips 1 heat 1 torque 1; direct "+none+"1/2")},
		{"D", "low=stuck 0.25", exact.NewFrac(29, 10), rolled(map[string]string{
			"pulling": "needs 1 (true); low slips 1 heat 1 torque 1; direct " + none + "3/2",
			// R is a thousandth of what is available above 3/2: a third of that more is needed, and two thirds
			// less of the ring.
			"loading": "needs 75029/30000 (true); low " + none + "14971/15000; direct slips 2/3 heat 2 torque 3",
		}, "needs 1 (true); low slips 1 heat 1 torque 1; direct "+none+"1/2")},
		{"D", "low=stuck 0.25", exact.Int(4), rolled(map[string]string{
			"pulling":  "needs 1 (true); low slips 1 heat 1 torque 1; direct " + none + "3/2",
			"stalling": "needs 7/2 (true); low slips 1/2 heat 1/2 torque 1; direct slips 1 heat 3 torque 3",
		}, "needs 1 (true); low slips 1 heat 1 torque 1; direct "+none+"1/2")},
		// Of what the input needs direct takes 3, so that 1 comes back over the sun; rolled, all 3 do.
		// The ring feels twice the sun.
		{"D", "low=stuck", exact.Int(1), rolled(map[string]string{
			"pulling": "needs 2 (false); low " + none + "2; direct slips 2/3 heat 2 torque 3",
		}, "needs 6 (true); low "+none+"6; direct slips 2 heat 6 torque 3")},
		{"L", "low=weak 0.5", exact.NewFrac(3, 2), map[string]string{
			"stalling": "needs 1 (true); low slips 1/2 heat 1 torque 2; direct " + none + "0",
		}},
		{"L", "low=weak 0.5", exact.Int(3), map[string]string{}}, // sound, low takes 2 there
		{"L", "low=weak 0.5", exact.NewFrac(1, 2), map[string]string{}},
		{"T", "direct=weak 0.5", exact.NewFrac(3, 2), rolled(map[string]string{
			"pulling": "needs 1 (true); low " + none + "1; direct slips 2/3 heat 1 torque 3/2",
		}, "needs 3 (true); low "+none+"3; direct slips 2 heat 3 torque 3/2")},
		{"T", "direct=weak 0.5", exact.Int(3), rolled(map[string]string{}, "needs 3 (true); low "+none+
			"3; direct slips 2 heat 3 torque 3/2")},
		{"T", "direct=weak 0.5", exact.NewFrac(1, 2), rolled(map[string]string{}, "needs 3 (true); low "+none+
			"3; direct slips 2 heat 3 torque 3/2")},
		{"D", "direct=stuck", exact.Int(1), map[string]string{}}, // as D is anyway
	} {
		r, _ := train.Range(tt.rng)
		fault, err := kinematics.ParseFault(train, tt.fault)
		if err != nil {
			t.Fatal(err)
		}
		motions, err := wear.Motions(sys, &train.Ranges[r], []kinematics.Fault{fault},
			wear.Query{Ratings: ratings, Available: tt.available})
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]string{}
		for _, m := range motions {
			if m.Range != &train.Ranges[r] || m.AtLeast {
				t.Errorf("%s %s: %+v", tt.rng, tt.fault, m)
			}
			words := fmt.Sprintf("needs %v (%v)", m.Needs, m.Happens)
			sum := exact.Int(0)
			for _, i := range []int{low, direct} {
				l := m.Loads[i]
				if l.Slip.Min != l.Slip.Max || l.Heat.Min != l.Heat.Max {
					t.Errorf("%s %s: %s is %+v, by hand there is one motion", tt.rng, tt.fault, train.Couplings[i].Name, l)
				}
				words += fmt.Sprintf("; %s slips %v heat %v torque %v", train.Couplings[i].Name, l.Slip.Max.Frac,
					l.Heat.Max.Frac, l.Torque)
				sum = sum.Add(l.Heat.Max.Frac)
			}
			if m.Whole().Cmp(sum) != 0 {
				t.Errorf("%s %s: all parts take %v, one by one %v", tt.rng, tt.fault, m.Whole(), sum)
			}
			got[m.Kind.String()] = words
		}
		if !maps.Equal(got, tt.want) {
			t.Errorf("%s, %s, %v at the input:", tt.rng, tt.fault, tt.available)
			for _, kind := range slices.Sorted(maps.Keys(got)) {
				t.Errorf("   %s: %s", kind, got[kind])
			}
			t.Errorf("   want %v", tt.want)
		}
	}
}
