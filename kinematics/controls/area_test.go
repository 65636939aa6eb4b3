package controls_test

import (
	"math/big"
	"os"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A band with two apply areas: in first the inner one alone has pressure and it holds
// 0.6 of its rating, in low both. With the circuit of the outer one blocked low is as
// weak as first, which is as it was.
func TestApplyAreas(t *testing.T) {
	src, err := os.ReadFile("../../testdata/controls/two-areas.yaml")
	if err != nil {
		t.Fatal(err)
	}
	train, problems := gearsets.Parse("two-areas.yaml", src)
	if train == nil {
		t.Fatal(problems)
	}
	sys := solve.Compile(train)
	band, err := train.FindElement("low")
	if err != nil {
		t.Fatal(err)
	}
	ratings := sys.Ratings(solve.Scale{Rated: exact.NewFrac(1, 1)}, exact.NewFrac(3, 2), nil)
	holds := func(rng string, faults ...kinematics.Fault) *big.Rat {
		r, _ := train.Range(rng)
		c, err := sys.Capacities(&train.Ranges[r], faults, ratings)
		if err != nil {
			t.Fatal(err)
		}
		return new(big.Rat).Quo(c.Capacity[band], ratings[band].Torque.Rat())
	}
	check := func(what string, got *big.Rat, want string) {
		if w, _ := new(big.Rat).SetString(want); got.Cmp(w) != 0 {
			t.Errorf("%s: %s of the rating, want %s", what, got, want)
		}
	}
	check("D1", holds("D1"), "0.6")
	check("L1", holds("L1"), "1")
	// The rating is of all areas: in first the band holds 30/66 of the input torque on 0.6
	// of them, with a reserve of 1.5.
	check("the rating of the input torque", ratings[band].Torque.Rat(), "25/22")
	brought := func(texts ...string) *controls.Brought {
		var given controls.Faults
		for _, text := range texts {
			if err := given.Add(train, text); err != nil {
				t.Fatal(err)
			}
		}
		_, b := given.Bring(train)
		return b
	}
	blocked := brought("outer=blocked").Elements
	check("L1, outer blocked", holds("L1", blocked...), "0.6")
	check("D1, outer blocked", holds("D1", blocked...), "0.6")
	if len(blocked) != 1 || blocked[0].Kind != kinematics.Weak {
		t.Errorf("outer blocked brings about %+v", blocked)
	}
	check("L1, outer blocked and the line low", holds("L1", brought("outer=blocked", "line=low 0.5").Elements...), "0.3")
}
