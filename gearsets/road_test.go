package gearsets_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

type roadCase struct {
	ID      string
	Element string
	Source  []string
}

// A roadReading is what ranges of a train of the library must do under the
// fault of a road case; only ranges that the case speaks of are listed.
type roadReading struct {
	id, train, fault string
	kind             kinematics.FaultKind
	reads            map[string]string // by range
}

// What a range does under a fault, against what it does when sound.
const (
	holds     = "holds"         // as sound, coasting included
	noDrive   = "no drive"      // the input turns, the output does not have to
	otherGear = "other gear"    // drives the right way at another ratio: the shift flares or does not come
	tieUp     = "tie-up"        // nothing turns
	noBraking = "no braking"    // drives as sound, but no longer brakes the engine
	freewheel = "freewheels in" // as otherGear, and does not brake the engine
)

// compare puts a faulty range beside the sound one.
func compare(sound, faulty solve.Outcome) string {
	a, _ := sound.Ratio()
	b, drives := faulty.Ratio()
	_, soundBrakes, _ := sound.EngineBraking()
	_, brakes, _ := faulty.EngineBraking()
	switch {
	case faulty.Verdict == solve.TieUp:
		return tieUp
	case faulty.Verdict == solve.Neutral:
		return noDrive
	case faulty.Verdict != sound.Verdict || !drives:
		return faulty.Verdict.String()
	case a.Cmp(b) != 0 && brakes:
		return otherGear
	case a.Cmp(b) != 0:
		return freewheel
	case soundBrakes && !brakes:
		return noBraking
	case soundBrakes != brakes:
		return "brakes"
	}
	return holds
}

// TestRoadCases checks complaints whose failed element the source names, and
// says what the train alone makes of them: "slips" on the road is no drive, or
// the next lower gear where a one-way clutch takes over.
func TestRoadCases(t *testing.T) {
	expected := []roadReading{
		{"C01", "simpson-three-speed", "low-roller", kinematics.Slips,
			map[string]string{"D1": noDrive, "M1": holds, "R": holds}},
		{"C02", "simpson-three-speed", "forward", kinematics.OpenF,
			map[string]string{"D1": noDrive, "D2": noDrive, "D3": noDrive, "R": holds}},
		// Without the direct clutch third falls back to first on its roller.
		{"C03a", "simpson-three-speed", "direct", kinematics.OpenF,
			map[string]string{"D1": holds, "D2": holds, "D3": freewheel, "R": noDrive}},
		{"C03b", "simpson-three-speed", "forward", kinematics.OpenF,
			map[string]string{"D3": noDrive, "R": holds}},
		// Without the overdrive brake fourth falls back to third on the overdrive roller.
		{"C04a", "simpson-rear-overdrive-four-speed", "overdrive", kinematics.OpenF,
			map[string]string{"D4": freewheel, "D3": holds}},
		{"C07", "overdrive-simpson-four-speed", "second-coast", kinematics.OpenF,
			map[string]string{"M2": noBraking, "M1": holds}},
		{"C07", "overdrive-simpson-four-speed", "low-reverse", kinematics.OpenF,
			map[string]string{"M1": noBraking, "M2": holds}},
		{"C19", "depot-shuttle-three-speed", "intermediate", kinematics.Stuck,
			map[string]string{"R": tieUp, "D1": otherGear}},
		{"C26", "simpson-rear-overdrive-four-speed", "intermediate", kinematics.OpenF,
			map[string]string{"D2": freewheel, "M1": holds, "D3": holds, "D4": holds}},
	}
	var cases []roadCase
	readJSON(t, published+"road-cases.json", &cases)
	known := map[string]roadCase{}
	for _, c := range cases {
		if c.Element == "" || len(c.Source) == 0 {
			t.Errorf("road case %s names no element or no source", c.ID)
		}
		known[c.ID] = c
	}
	asked := map[string]bool{}
	for _, e := range expected {
		c, ok := known[e.id]
		if !ok {
			t.Errorf("no road case %s", e.id)
			continue
		}
		t.Run(e.id+" "+e.fault, func(t *testing.T) {
			train, err := gearsets.Library(e.train)
			if err != nil {
				t.Fatal(err)
			}
			coupling, ok := train.Element(e.fault)
			if !ok {
				t.Fatalf("%s has no element %s", e.train, e.fault)
			}
			fault := kinematics.Fault{Coupling: coupling, Kind: e.kind}
			kernel := solve.Compile(train).Kernel()
			for _, name := range slices.Sorted(maps.Keys(e.reads)) {
				i, ok := train.Range(name)
				if !ok {
					t.Fatalf("%s has no range %s", e.train, name)
				}
				r := &train.Ranges[i]
				if got := compare(kernel.Outcome(train.In(r)), kernel.Outcome(train.In(r, fault))); got != e.reads[name] {
					t.Errorf("%s: %s reads %q, expected %q (%s)", c.Element, name, got, e.reads[name], strings.Join(c.Source, "; "))
				}
			}
		})
		asked[e.id] = true
	}
	for id := range known {
		if !asked[id] {
			t.Errorf("road case %s is not checked", id)
		}
	}
}
