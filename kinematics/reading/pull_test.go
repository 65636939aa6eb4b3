package reading_test

import (
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A simple set in equilibrium carries torques in the proportion of its teeth,
// sun : ring : carrier = zs : zr : -(zs + zr) [Willis' relation read as virtual
// power]. With its forward clutch stuck the three-speed binds in reverse: both
// sets of the train must then be pulled in that proportion, by what conflicts
// in every set of couplings that the engine names.
func TestPulls(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed-unequal")
	if err != nil {
		t.Fatal(err)
	}
	reader := reading.NewReader(solve.Compile(train))
	conflicts := 0
	for i := range train.Ranges {
		for _, f := range train.SingleFaults() {
			why := reading.Explain(t.Context(), reader, &train.Ranges[i], f)
			for n := range why.Conflicts {
				conflicts++
				checkPulls(t, train, why.Pulls(&why.Conflicts[n]))
			}
		}
	}
	if conflicts < 50 {
		t.Errorf("only %d conflicts were looked at", conflicts)
	}
	forward, _ := train.Element("forward")
	r, _ := train.Range("R")
	why := reading.Explain(t.Context(), reader, &train.Ranges[r], kinematics.Fault{Coupling: forward, Kind: kinematics.Stuck})
	c := why.Pulling()
	if c == nil {
		t.Fatal("a stuck forward clutch does not bind in reverse")
	}
	loaded := 0
	for _, p := range why.Pulls(c) {
		if p.Sign() != 0 {
			loaded++
		}
	}
	if loaded < 4 {
		t.Errorf("%d members are pulled where two sets contradict each other", loaded)
	}
}

// With two faults on one shaft the first conflict does not load the gears: direct
// drives the shell that intermediate holds. The one that is shown does.
func TestPullingLoadsGears(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	reader := reading.NewReader(solve.Compile(train))
	explain := func(rng string, stuck ...string) *reading.Why {
		var faults []kinematics.Fault
		for _, name := range stuck {
			i, _ := train.Element(name)
			faults = append(faults, kinematics.Fault{Coupling: i, Kind: kinematics.Stuck})
		}
		r, _ := train.Range(rng)
		return reading.Explain(t.Context(), reader, &train.Ranges[r], faults...)
	}
	why := explain("R", "forward", "intermediate")
	c := why.Pulling()
	if c == nil {
		t.Fatal("nothing is pulled")
	}
	loaded := 0
	pulls := why.Pulls(c)
	for m, pull := range pulls {
		if pull.Sign() != 0 && train.Members[m].Gearset >= 0 {
			loaded++
		}
	}
	if loaded < 4 {
		t.Errorf("%d members of gearsets are pulled", loaded)
	}
	checkPulls(t, train, pulls)
	if c := explain("D2", "direct").Pulling(); c != nil && len(c.Elements) == 2 {
		t.Error("direct against intermediate is said to pull gears")
	}
}

func checkPulls(t *testing.T, train *kinematics.Train, pulls []exact.Frac) {
	t.Helper()
	for _, g := range train.Gearsets {
		sun, ring := g.Gear("sun"), g.Gear("ring")
		perTooth := pulls[sun.Member].Mul(exact.NewFrac(1, sun.Teeth))
		if got := pulls[ring.Member].Mul(exact.NewFrac(1, ring.Teeth)); got.Cmp(perTooth) != 0 {
			t.Errorf("%s: the sun is pulled with %v a tooth, the ring with %v", g.Name, perTooth, got)
		}
		whole := pulls[sun.Member].Add(pulls[ring.Member]).Add(pulls[g.Carrier])
		if whole.Sign() != 0 {
			t.Errorf("%s: what pulls it sums to %v", g.Name, whole)
		}
	}
}
