package solve_test

import (
	"fmt"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// What can be listed is what linear programs find: in every range of the library and of sets
// in series, healthy and with every weak or dragging element.
func TestListedStretches(t *testing.T) {
	listed, sought := 0, 0
	check := func(train *kinematics.Train) {
		sys := solve.Compile(train)
		ratings := sys.Ratings(solve.ScaleOf(train), solve.DefaultReserve(), nil)
		for i := range train.Ranges {
			for _, f := range torqueFaults(train) {
				var faults []kinematics.Fault
				if f != nil && !f.Share.IsSet() {
					continue
				} else if f != nil {
					faults = append(faults, *f)
				}
				g, err := sys.Capacities(&train.Ranges[i], faults, ratings)
				if err != nil {
					continue // an element without a rating
				}
				want, few := sys.StretchesSought(g)
				if few {
					listed++
				} else {
					sought++
				}
				if got := sys.Stretches(g); fmt.Sprint(got) != fmt.Sprint(want) {
					t.Fatalf("%s, %s, %v:\nlisted %v\nsought %v", train.Name, train.Ranges[i].Name, faults, got, want)
				}
			}
		}
	}
	for k, name := range gearsets.Names() {
		if k%3 != 0 && !exhaustive() {
			continue
		}
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		check(train)
	}
	for _, n := range []int{2, 5, 7} {
		check(inSeries(t, n))
	}
	if listed < 100 || sought < 100 {
		t.Errorf("%d listed, %d sought: neither may be rare", listed, sought)
	}
}

// inSeries is sets in a row, each turned by the one before: in range k all but the first k
// have their rings braked, the others turn as one.
func inSeries(t testing.TB, n int) *kinematics.Train {
	t.Helper()
	b := kinematics.NewBuilder("series")
	b.Shaft("in", "out")
	last := "in"
	for i := range n {
		set := fmt.Sprintf("g%d", i)
		b.Simple(set, 30, 60+6*int64(i%7), 15+3*int64(i%7), false)
		b.Join("j"+set, last, set+".sun")
		b.Element("b"+set, kinematics.Brake, set+".ring", kinematics.HousingName)
		b.Element("c"+set, kinematics.Clutch, set+".sun", set+".ring")
		last = set + ".carrier"
	}
	b.Join("z", last, "out")
	b.Ports("in", "out")
	for k := range n + 1 {
		var apply []string
		for i := range n {
			apply = append(apply, fmt.Sprintf("%sg%d", map[bool]string{true: "c", false: "b"}[i < k], i))
		}
		b.Range(fmt.Sprintf("D%d", k+1), apply...)
	}
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}
