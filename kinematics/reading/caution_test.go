package reading_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Common practice, no source: a forward clutch that is welded on drives in
// neutral, binds in reverse and pushes against the pawl in park; without a pawl
// park rolls; a forward range that works as before needs no caution.
func TestHazards(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	reader := reading.NewReader(solve.Compile(train))
	for _, tt := range []struct {
		rng, element string
		kind         kinematics.FaultKind
		share        int64 // of the rating, in tenths; 0 for none
		want         []reading.Hazard
	}{
		{"N", "forward", kinematics.Stuck, 0, []reading.Hazard{reading.Moves}},
		{"R", "forward", kinematics.Stuck, 0, []reading.Hazard{reading.Locks}},
		{"P", "forward", kinematics.Stuck, 0, []reading.Hazard{reading.Moves}},
		{"D1", "forward", kinematics.Stuck, 0, nil},
		{"D2", "low-reverse", kinematics.Stuck, 0, []reading.Hazard{reading.Locks}},
		{"P", "pawl", kinematics.Missing, 0, []reading.Hazard{reading.Rolls}},
		{"D1", "forward", kinematics.OpenF, 0, nil},
		// What drags more than the engine can overcome locks the wheels, but not those
		// that the pawl holds anyway.
		{"R", "forward", kinematics.Dragging, 4, []reading.Hazard{reading.Locks}},
		{"R", "forward", kinematics.Dragging, 3, nil},
		{"P", "forward", kinematics.Dragging, 20, nil},
	} {
		i, _ := train.Range(tt.rng)
		e, _ := train.Element(tt.element)
		f := kinematics.Fault{Coupling: e, Kind: tt.kind}
		if tt.share > 0 {
			f.Share = kinematics.Share{Num: tt.share, Den: 10}
		}
		got := reading.Hazards(reader.Healthy(i), reader.Read(&train.Ranges[i], f))
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s %s in %s: hazards %v, want %v", tt.element, tt.kind, tt.rng, got, tt.want)
		}
	}
}

// A winch whose band lets go lets the load fall. Common practice, no source.
func TestLoadFalls(t *testing.T) {
	train, err := gearsets.Library("stepped-pinion-winch")
	if err != nil {
		t.Fatal(err)
	}
	reader := reading.NewReader(solve.Compile(train))
	falls := false
	for r := range train.Ranges {
		for _, e := range train.Ranges[r].Apply {
			if train.Couplings[e].Kind.Friction() {
				got := reading.Hazards(reader.Healthy(r), reader.Read(&train.Ranges[r], kinematics.Fault{Coupling: e, Kind: kinematics.OpenF}))
				falls = falls || slices.Contains(got, reading.LoadFalls)
			}
		}
	}
	if !falls {
		t.Error("no range lets the load fall when what it applies lets go")
	}
}

// Cranks that lock, and a wheel that drives them, are warned of. Common practice, no source.
func TestCranks(t *testing.T) {
	train := gearsets.MustLibrary("hub-three-speed")
	reader := reading.NewReader(solve.Compile(train))
	for _, c := range []struct {
		rng   int // low, normal, high
		fault string
		locks bool
	}{
		{2, "driver-ring=stuck", true}, // the cranks cannot be turned
		{0, "ring-pawls=seized", true}, // the wheel drives the cranks
		{2, "ring-pawls=seized", true}, // and here
		{0, "driver-ring=open", false}, // they turn, and nothing else does
		{1, "ring-pawls=slips", false}, // the wrong gear
	} {
		got := reading.Hazards(reader.Healthy(c.rng), reader.Read(&train.Ranges[c.rng], train.MustFault(c.fault)))
		if slices.Contains(got, reading.Locks) != c.locks {
			t.Errorf("%s in %s: %v", c.fault, train.Ranges[c.rng].Name, got)
		}
	}
}

// Cautions of several answers are one list: each is said once, and the standing line ends it.
func TestMergeCautions(t *testing.T) {
	line := reading.StandingLine
	for _, c := range []struct{ list, more, own []string }{
		{nil, nil, nil},
		{nil, []string{"a", line}, []string{"a"}},
		{[]string{"a", line}, nil, []string{"a"}},
		{[]string{"a", "b", line}, []string{"c", "b", "d", line}, []string{"a", "b", "c", "d"}},
		{[]string{line}, []string{"a", line}, []string{"a"}},
	} {
		got := reading.Merge(c.list, c.more)
		own, standing := reading.Apart(got)
		want := ""
		if c.own != nil {
			want = line
		}
		if !slices.Equal(own, c.own) || standing != want || strings.Count(strings.Join(got, "\n"), line) > 1 {
			t.Errorf("%q and %q give %q", c.list, c.more, got)
		}
	}
}

func TestCautions(t *testing.T) {
	if got := reading.Cautions(kinematics.InVehicle, nil); got != nil {
		t.Errorf("no hazard gives %q", got)
	}
	got := reading.Cautions(kinematics.InVehicle, []reading.Hazard{reading.Locks, reading.Moves, reading.Locks})
	if len(got) != 3 || !strings.Contains(got[0], "move") || !strings.Contains(got[1], "lock") || got[2] != reading.StandingLine {
		t.Errorf("got %q", got)
	}
	// A cycle and a hoist get words of their own; what a use cannot do is not said.
	// Common practice, no source.
	for use, not := range map[kinematics.Use][]string{
		kinematics.InCycle: {"chock", "throttle", "vehicle", "pawl"}, kinematics.InHoist: {"chock", "throttle", "road", "wheel", "vehicle"},
		kinematics.InMachine: {"chock", "throttle", "road", "wheel", "vehicle"},
	} {
		text := strings.Join(reading.Cautions(use, reading.AllHazards()), " ")
		for _, word := range not {
			if strings.Contains(text, word) {
				t.Errorf("%s: %q is said: %s", use, word, text)
			}
		}
	}
	if got := reading.Cautions(kinematics.InVehicle, []reading.Hazard{reading.LoadFalls}); got != nil {
		t.Errorf("no load falls in a vehicle: %q", got)
	}
	if got := reading.Cautions(kinematics.InHoist, []reading.Hazard{reading.LoadFalls, reading.Rolls}); len(got) != 2 {
		t.Errorf("a falling load is said once: %q", got)
	}
	if a, b := reading.Cautions(kinematics.InVehicle, []reading.Hazard{reading.WrongWay}), got[:1]; a[0] != b[0] {
		t.Errorf("%q", a)
	}
}
