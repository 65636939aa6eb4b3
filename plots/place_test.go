package plots

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// placesText gives the places of each group as "name at".
func placesText(b *kinematics.Bodies, groups []Group) [][]string {
	var list [][]string
	for _, g := range groups {
		var names []string
		for _, p := range g.Places {
			names = append(names, b.Name(p.Body)+" "+p.At.String())
		}
		list = append(list, names)
	}
	return list
}

// By hand, from zs (ws - wc) + zr (wr - wc) = 0 [Willis 1841]: with zs = 30 and
// zr = 66 the sun stands at 0, the carrier at 66/96 and the ring at 1. The rear
// set of the Simpson train lies between the shared sun and the shared output, so
// its carrier stands at (66/96)^2.
//
// The Ravigneaux set with suns 31 and 38 and a ring of 85: seen from the carrier,
// when the sun on the short pinions turns -1, the ring turns -31/85 and the other
// sun +31/38; the line from -1 to 31/38 is stretched to 0 .. 1.
func TestPlaces(t *testing.T) {
	for _, c := range []struct {
		train string
		want  [][]string
	}{
		{"depot-shuttle-three-speed", [][]string{{"sun-shell 0", "rear.carrier 121/256", "output-shaft 11/16", "front.ring 1"}}},
		{"lepelletier-six-speed", [][]string{
			{"housing 0", "slow-shaft 71/108", "turbine 1"},
			{"rear.sun-short 0", "output-shaft 684/1955", "rear.carrier 38/69", "rear.sun-long 1"},
		}},
		// Front, with 32 and 70: sun -1, carrier 0, ring 32/70. Rear, with 36 and 66,
		// has its carrier where the front ring is and its ring where the front carrier
		// is, so its sun is 32/70 x 66/36 beyond its carrier, at 136/105.
		{"interlinked-four-speed", [][]string{{"front.sun 0", "reaction-drum 105/241", "output-shaft 153/241", "rear.sun 1"}}},
		// zs/zp of the three suns is 99/20, 100/20 and 101/20; the carrier at 1.
		{"ferguson-paradox", [][]string{{"set.fewer 0", "set.even 1/100", "set.more 2/101", "set.carrier 1"}}},
	} {
		train := library(t, c.train).Train
		b := train.Bodies(nil)
		if diff := cmp.Diff(c.want, placesText(b, groupsOf(b, false))); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.train, diff)
		}
	}
}

// A sheared joint parts what it held: the two sets of a Simpson train then share
// only their output and turn on lines of their own.
func TestPlacesWithShearedJoint(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed").Train
	i, _ := train.Coupling("shell:front.sun")
	b := train.Bodies([]kinematics.Fault{{Coupling: i, Kind: kinematics.Sheared}})
	want := [][]string{
		{"front.sun 0", "output-shaft 11/16", "front.ring 1"},
		{"sun-shell 0", "rear.carrier 11/16", "output-shaft 1"},
	}
	if diff := cmp.Diff(want, placesText(b, groupsOf(b, false))); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Three of the axes of Ferguson's paradox are within 3 % and are spread; the
// order stays and the ends stay at 0 and 1.
func TestSpots(t *testing.T) {
	b := library(t, "ferguson-paradox").Train.Bodies(nil)
	spots := groupsOf(b, false)[0].Places
	var moved []bool
	for i, s := range spots {
		moved = append(moved, s.Moved)
		if i > 0 && s.X-spots[i-1].X < closest {
			t.Errorf("axes %d and %d are %.3f apart", i-1, i, s.X-spots[i-1].X)
		}
	}
	if want := []bool{true, true, true, false}; !slices.Equal(moved, want) {
		t.Errorf("moved: %v, want %v", moved, want)
	}
	if spots[0].X != 0 || spots[3].X != 1 {
		t.Errorf("the ends are at %v and %v", spots[0].X, spots[3].X)
	}
}

// On every line of every train of the library, every motion is linear in the
// places: for three bodies, (w2 - w1) (x3 - x1) = (w3 - w1) (x2 - x1), exactly.
func TestMotionsAreLinearInPlace(t *testing.T) {
	checked := 0
	for _, name := range gearsets.Names() {
		sys := library(t, name)
		b := sys.Train.Bodies(nil)
		groups := groupsOf(b, true)
		for i := range sys.Train.Ranges {
			m := sys.Motion(sys.Train.In(&sys.Train.Ranges[i]))
			for _, g := range groups {
				var x, w []exact.Frac
				for _, p := range g.Places {
					if f, fixed := speedAt(b, m, p.Body).Point(); fixed {
						x, w = append(x, p.At), append(w, f)
					}
				}
				for k := 2; k < len(x); k++ {
					left := w[1].Sub(w[0]).Mul(x[k].Sub(x[0]))
					right := w[k].Sub(w[0]).Mul(x[1].Sub(x[0]))
					if left.Cmp(right) != 0 {
						t.Errorf("%s, %s: %v at %v are not on a line", name, sys.Train.Ranges[i].Name, w, x)
					}
					checked++
				}
			}
		}
	}
	if checked < 300 {
		t.Errorf("only %d triples of bodies were checked", checked)
	}
}

func TestApart(t *testing.T) {
	for _, c := range []struct {
		values []float64
		want   []float64
	}{
		{[]float64{10, 30, 50}, []float64{10, 30, 50}},       // far enough
		{[]float64{30, 30}, []float64{25, 35}},               // about their mean
		{[]float64{31, 29, 30}, []float64{40, 20, 30}},       // the order stays
		{[]float64{0, 2}, []float64{0, 10}},                  // within the bounds
		{[]float64{99, 100}, []float64{90, 100}},             // at the other end
		{[]float64{20, 29, 37}, []float64{18.7, 28.7, 38.7}}, // a chain
	} {
		got := apart(c.values, 10, 0, 100)
		for i := range got {
			if d := got[i] - c.want[i]; d > 0.05 || d < -0.05 {
				t.Errorf("apart(%v) = %v, want %v", c.values, got, c.want)
				break
			}
		}
	}
}
