package reading_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"tieup/kinematics"
)

// A thrown is a random train with one range, X, and faults in it.
type thrown struct {
	train  *kinematics.Train
	faults []kinematics.Fault
}

// throw makes a small train of up to three sets, joined at random, with up to
// five elements and three one-way clutches, of which about half hold. Up to two
// couplings are faulty.
func throw(t testing.TB, seed uint64) thrown {
	t.Helper()
	d := rand.New(rand.NewPCG(seed, 7))
	odds := func(n int) bool { return d.IntN(n) == 0 }
	b := kinematics.NewBuilder(fmt.Sprintf("thrown-%d", seed))
	b.Shaft("in", "out", "race")
	members := []string{"in", "out", "race"}
	for i := range 1 + d.IntN(3) {
		name := fmt.Sprintf("s%d", i)
		add := func(parts ...string) {
			for _, p := range parts {
				members = append(members, name+"."+p)
			}
		}
		z := func(least int) int64 { return int64(least + d.IntN(60)) }
		switch d.IntN(6) {
		case 0:
			b.DoublePinion(name, z(20), z(90), 0, 0, true)
			add("sun", "ring", "carrier")
		case 1:
			b.Ravigneaux(name, kinematics.RavigneauxSet{SunShort: z(20), SunLong: z(20), Ring: z(90)})
			add("sun-short", "sun-long", "ring", "carrier")
		case 2:
			carrier := kinematics.HousingName
			if odds(3) {
				carrier = members[d.IntN(len(members))]
			}
			b.Pair(name, z(15), z(15), []kinematics.MeshKind{kinematics.External, kinematics.Internal, kinematics.Chain}[d.IntN(3)], carrier, false)
			add("a", "b")
		default:
			b.Simple(name, z(20), z(90), 0, true)
			add("sun", "ring", "carrier")
		}
	}
	left := append([]string(nil), members...)
	d.Shuffle(len(left), func(i, j int) { left[i], left[j] = left[j], left[i] })
	for i := range 1 + d.IntN(3) {
		n := 2 + d.IntN(2)
		if n > len(left) {
			break
		}
		joined := left[:n:n]
		if odds(8) {
			joined = append(joined, kinematics.HousingName)
		}
		left = left[n:]
		b.Join(fmt.Sprintf("j%d", i), joined...)
	}
	two := func() (string, string) {
		x := d.IntN(len(members))
		return members[x], members[(x+1+d.IntN(len(members)-1))%len(members)]
	}
	var apply []string
	for i := range 2 + d.IntN(4) {
		name := fmt.Sprintf("e%d", i)
		x, y := two()
		kind := kinematics.Clutch
		if odds(2) {
			kind, y = kinematics.Brake, kinematics.HousingName
		}
		if odds(12) {
			kind, x, y = kinematics.Pawl, "out", kinematics.HousingName
		}
		b.Element(name, kind, x, y)
		if odds(2) {
			apply = append(apply, name)
		}
	}
	for i := range d.IntN(4) {
		name := fmt.Sprintf("o%d", i)
		x, y := two()
		if odds(2) {
			y = kinematics.HousingName
		}
		c := b.Element(name, kinematics.OneWay, x, y)
		if c.Switched = odds(5); c.Switched && odds(2) {
			apply = append(apply, name)
		}
	}
	if odds(3) {
		b.Train().Forward = -1
	}
	b.Ports("in", "out")
	b.Range("X", apply...)
	train, err := b.Build()
	if err != nil {
		t.Fatalf("seed %d: %v", seed, err)
	}
	th := thrown{train: train}
	all := train.SingleFaults()
	for range d.IntN(3) {
		if f := all[d.IntN(len(all))]; train.Contradicts(th.faults, f) == nil {
			th.faults = append(th.faults, f)
		}
	}
	return th
}

// describe writes a thrown train so that a failing case can be redone by hand.
func (th thrown) describe() string {
	t := th.train
	s := fmt.Sprintf("%s: input %s, output %s, forward %+d, applies", t.Name, t.Members[t.Input].Name, t.Members[t.Output].Name, t.Forward)
	for _, e := range t.Ranges[0].Apply {
		s += " " + t.Couplings[e].Name
	}
	for _, f := range th.faults {
		s += ", " + t.FaultText(f)
	}
	for _, m := range t.Meshes {
		s += fmt.Sprintf("\n  mesh %s %d, %s %d on %s, %v", t.Members[m.A].Name, m.ZA, t.Members[m.B].Name, m.ZB, t.Members[m.Carrier].Name, m.Kind)
	}
	for _, c := range t.Couplings {
		s += fmt.Sprintf("\n  %s %v %s, %s", c.Name, c.Kind, t.Members[c.A].Name, t.Members[c.B].Name)
	}
	return s
}
