package reading_test

import (
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// TestFrictionByHand works out cells of a Simpson train, ring/sun 2.2, ratings 1.5
// times the largest healthy torque per unit input torque: forward 1 (D1), direct 1
// (R), intermediate 5/11 (D2), low-reverse 3.2 (R).
func TestFrictionByHand(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	reader := reading.NewReader(solve.Compile(train))
	for _, c := range []struct{ rng, fault, want, short string }{
		// 0.6 x 1.5 is 0.9 of what D2 asks of it at rated torque; the roller then
		// catches the carrier.
		{"D2", "intermediate=weak 0.6", "drives forward at 1.45; holds at light throttle, flares above 0.90 of rated torque to 2.45 (as D1)", "fwd 1.45, flares > 0.90"},
		{"D2", "intermediate=weak 0.8", "drives forward at 1.45; holds up to 1.20 times rated torque", "fwd 1.45"},
		// In D3 direct carries the sun's share, 1/3.2: 0.3 x 1.5 x 3.2 = 1.44.
		{"D3", "direct=weak 0.3", "drives forward at 1.00; holds up to 1.44 times rated torque", "fwd 1.00"},
		// Nothing takes over from forward in D1.
		{"D1", "forward=weak 0.5", "drives forward at 2.45; holds at light throttle, flares above 0.75 of rated torque", "fwd 2.45, flares > 0.75"},
		// Weak acts on what is applied, dragging on what is not.
		{"D1", "intermediate=weak 0.6", "drives forward at 2.45", "fwd 2.45"},
		{"D1", "forward=dragging 0.1", "drives forward at 2.45", "fwd 2.45"},
		// 0.15 at the turbine times the ratio of first.
		{"N", "forward=dragging 0.1", "no drive; creeps forward, pushing with up to 0.37 of rated torque at the output", "no drive, pull 0.37"},
		{"N", "intermediate=dragging 0.1", "no drive", "no drive"},
		// In D1 the shell turns at -121/135, so direct slips at 256/135: 0.15 x 256/135 is
		// lost. With a lighter load direct holds and the roller overruns, as in D3: up to
		// the output torque x at which 0.284 + x/2.4545 = x.
		{"D1", "direct=dragging 0.1", "drives forward at 2.45; drags with 0.28 of rated torque at the input, drawn to 1.00 (as D3) below 0.48 of rated torque", "fwd 2.45, drags"},
		{"L1", "direct=dragging 0.1", "drives forward at 2.45; drags with 0.28 of rated torque at the input", "fwd 2.45, drags"},
		// Dragging with 0.75, direct never slips: it holds and the roller overruns, whatever
		// the load.
		{"D1", "direct=dragging 0.5", "would drive forward at 2.45, but gives way at no torque and drives forward at 1.00", "gives at 0"},
		// In R the front ring turns at -(30 + 96/2.2)/66, so that forward slips at 2.1157:
		// 0.4 x 1.5 x 2.1157 = 1.27 is more than the rated torque. With twice its rating
		// direct gives first: 1.5 at the slip 1.9 of a turbine that the forward clutch
		// holds to first gear.
		{"R", "forward=dragging 0.4", "would drive backward at 2.20, but the drag of forward holds the input up to 1.27 times rated torque", "held by drag"},
		{"R", "forward=dragging 0.3", "drives backward at 2.20; drags with 0.95 of rated torque at the input", "rev 2.20, drags"},
		{"R", "forward=dragging 2", "would drive backward at 2.20, but gives way at 2.84 times rated torque and drives forward at 2.45", "gives at 2.84"},
		{"P", "forward=dragging 2", "no drive, output held; the drag of forward holds the input up to 3.00 times rated torque", "output held, held by drag"},
		// Held with 0.4 x 1.5, it slips at 1 in D2, where the shell stands.
		{"D2", "direct=stuck 0.4", "ties up; gives way at 0.60 of rated torque and drives forward at 1.45", "ties up, gives at 0.60"},
		{"N", "forward=stuck 0.4", "drives forward at 2.45 (as D1); pushing with up to 1.47 times rated torque at the output", "fwd 2.45 D1, pull 1.47"},
	} {
		r, ok := train.Range(c.rng)
		f, err := kinematics.ParseFault(train, c.fault)
		if !ok || err != nil {
			t.Fatal(c.rng, err)
		}
		cell := reader.Read(&train.Ranges[r], f)
		if got := cell.Text(); got != c.want {
			t.Errorf("%s, %s:\n got %s\nwant %s", c.rng, c.fault, got, c.want)
		}
		if got := cell.Short(); got != c.short {
			t.Errorf("%s, %s: short %q, want %q", c.rng, c.fault, got, c.short)
		}
	}
}

// TestCreeps compares a dragging element with the same one stuck, in every range of
// the library that does not drive: where the stuck one drives, the dragging one
// creeps the same way, and where the stuck one leaves the output free or held, it
// does not creep.
func TestCreeps(t *testing.T) {
	forward, backward := 0, 0
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		reader := reading.NewReader(solve.Compile(train))
		for r := range train.Ranges {
			if reader.Healthy(r).Outcome.Drives() {
				continue
			}
			for i, c := range train.Couplings[:train.ElementCount] {
				if !c.Kind.Friction() || slices.Contains(train.Ranges[r].Apply, i) {
					continue
				}
				drags := reader.Read(&train.Ranges[r], kinematics.Fault{Coupling: i, Kind: kinematics.Dragging, Share: kinematics.Share{Num: 1, Den: 10}})
				if drags.Friction == nil || drags.Friction.Missing != nil || drags.Outcome.Verdict == solve.TieUp || drags.Outcome.Verdict == solve.InputHeld {
					continue
				}
				way := 0
				switch reader.Read(&train.Ranges[r], kinematics.Fault{Coupling: i, Kind: kinematics.Stuck}).Outcome.Verdict {
				case solve.Forward:
					way = 1
					forward++
				case solve.Reverse:
					way = -1
					backward++
				case solve.TieUp, solve.InputHeld:
					continue
				}
				if got := drags.Friction; got.Creeps != (way != 0) || got.Creeps && (got.Way != way || got.Pull.Sign() <= 0) {
					t.Errorf("%s, %s with %s dragging: %q, stuck it drives %+d", name, train.Ranges[r].Name, c.Name, drags.Text(), way)
				}
			}
		}
	}
	if forward < 5 || backward < 1 {
		t.Errorf("only %d creep forward and %d backward", forward, backward)
	}
}

func TestTorque(t *testing.T) {
	relative := solve.Scale{Rated: exact.NewFrac(1, 1)}
	metric := solve.Scale{NewtonMetres: true, Rated: exact.NewFrac(250, 1)}
	for _, c := range []struct {
		scale      solve.Scale
		f          exact.Frac
		text, cell string
	}{
		{relative, exact.NewFrac(3, 5), "0.60 of rated torque", "0.60 x rated"},
		{relative, exact.NewFrac(128, 45), "2.84 times rated torque", "2.84 x rated"},
		{relative, exact.NewFrac(1, 80), "0.0125 of rated torque", "0.0125 x rated"},
		{relative, exact.NewFrac(0, 1), "0 of rated torque", "0 x rated"},
		{metric, exact.NewFrac(150, 1), "150 N m", "150 N m"},
		{metric, exact.NewFrac(255, 4), "63.8 N m", "63.8 N m"},
		{metric, exact.NewFrac(12003, 10), "1200 N m", "1200 N m"},
	} {
		if text, cell := reading.Torque(c.scale, c.f), reading.TorqueCell(c.scale, c.f); text != c.text || cell != c.cell {
			t.Errorf("%v: %q, %q", c.f, text, cell)
		}
	}
}
