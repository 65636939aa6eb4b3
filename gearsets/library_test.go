package gearsets_test

import (
	"fmt"
	"maps"
	"math/big"
	"os"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// library returns all trains of the library by name.
func library(t *testing.T) map[string]*kinematics.Train {
	t.Helper()
	trains := map[string]*kinematics.Train{}
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		trains[name] = train
	}
	return trains
}

// An expectedReading is one line of testdata/library-readings.txt.
type expectedReading struct {
	line                   string // where it stands
	verdict, ratio, brakes string
}

// libraryReadings reads testdata/library-readings.txt: per train and range.
func libraryReadings(t *testing.T) map[string]map[string]expectedReading {
	t.Helper()
	const path = "../testdata/library-readings.txt"
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]map[string]expectedReading{}
	var train string
	for i, line := range strings.Split(string(data), "\n") {
		text, _, _ := strings.Cut(line, "#")
		switch f := strings.Fields(text); {
		case len(f) == 0:
		case len(f) == 2 && f[0] == "train":
			train = f[1]
			all[train] = map[string]expectedReading{}
		case len(f) == 4:
			all[train][f[0]] = expectedReading{fmt.Sprintf("%s:%d", path, i+1), f[1], f[2], f[3]}
		default:
			t.Fatalf("%s:%d: not a line of four columns: %s", path, i+1, line)
		}
	}
	return all
}

func TestLibraryReadings(t *testing.T) {
	expected := libraryReadings(t)
	trains := library(t)
	for name := range expected {
		if trains[name] == nil {
			t.Errorf("readings are given of %s, which is not in the library", name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(trains)) {
		t.Run(name, func(t *testing.T) {
			train := trains[name]
			kernel := solve.Compile(train).Kernel()
			for r := range expected[name] {
				if _, ok := train.Range(r); !ok {
					t.Errorf("%s: %s has no range %s", expected[name][r].line, name, r)
				}
			}
			for i := range train.Ranges {
				r := &train.Ranges[i]
				want, ok := expected[name][r.Name]
				if !ok {
					t.Errorf("range %s: nobody worked out what it must read", r.Name)
					continue
				}
				o := kernel.Outcome(train.In(r))
				ratio := "-"
				if x, drives := o.Ratio(); drives {
					ratio = x.String()
				}
				coasting, brakes, rolls := o.EngineBraking()
				got := expectedReading{want.line, o.Verdict.String(), ratio, map[bool]string{true: "yes", false: "no"}[brakes]}
				if !rolls {
					got.brakes = "-"
				}
				if got != want {
					t.Errorf("range %s reads %v, worked out by hand %v", r.Name, got, want)
				}
				// In a sound train the ratio is the same both ways.
				if brakes && o.Drives() && coasting.String() != ratio {
					t.Errorf("range %s pulls at %s but coasts at %s", r.Name, ratio, coasting)
				}
			}
		})
	}
}

// computed returns the ratio of a range as its source prints it.
func computed(p *kinematics.Published, o solve.Outcome) (*big.Rat, bool) {
	ratio, drives := o.Ratio()
	if !drives {
		return nil, false
	}
	if p.OutIn {
		ratio = ratio.Inv()
	}
	return ratio.Rat(), true
}

func TestLibraryPublishedRatios(t *testing.T) {
	trains := library(t)
	checked := 0
	for _, name := range slices.Sorted(maps.Keys(trains)) {
		train := trains[name]
		kernel := solve.Compile(train).Kernel()
		for i := range train.Ranges {
			r := &train.Ranges[i]
			if r.Published == nil {
				continue
			}
			checked++
			ratio, drives := computed(r.Published, kernel.Outcome(train.In(r)))
			if !drives {
				t.Errorf("%s %s has a published ratio but does not drive", name, r.Name)
			} else if !agrees(t, r.Published.Text, r.Published.Truncated, ratio) {
				t.Errorf("%s %s: %s is computed (%s), published is %s", name, r.Name, ratio.RatString(), ratio.FloatString(6), r.Published.Text)
			}
		}
	}
	if checked == 0 {
		t.Error("no published ratio was checked")
	}
}

// Every figure of testdata/published must stand in the library too, in the
// train of that name, and no other. The names of ranges differ, so figures are
// compared as sorted lists.
func TestLibraryHasThePublishedFigures(t *testing.T) {
	trains := library(t)
	for _, p := range readPublishedTrains(t) {
		train := trains[p.Name]
		if train == nil {
			t.Errorf("%s is not in the library", p.Name)
			continue
		}
		var have []string
		for _, r := range train.Ranges {
			if r.Published != nil {
				have = append(have, r.Published.Text)
			}
		}
		var want []string
		for name, text := range p.Published {
			if p.Recomputed[name] != "0" { // a held sun is no range that drives
				want = append(want, text)
			}
		}
		slices.Sort(have)
		slices.Sort(want)
		if !slices.Equal(have, want) {
			t.Errorf("%s: the library has %v, its sources print %v", p.Name, have, want)
		}
	}
}

// A one-way clutch that no range needs, or that holds where it should run
// free, would go unnoticed in the verdicts: so remove each of them in turn and
// see which ranges change.
func TestLibraryOneWayClutches(t *testing.T) {
	needed := map[string]string{
		"depot-shuttle-three-speed roller":                   "D1",
		"simpson-three-speed intermediate-roller":            "D2",
		"simpson-three-speed low-roller":                     "D1",
		"simpson-three-speed-unequal intermediate-roller":    "D2",
		"simpson-three-speed-unequal low-roller":             "D1",
		"overdrive-simpson-four-speed overdrive-roller":      "", // overdrive-direct lies beside it
		"overdrive-simpson-four-speed second-roller":         "D2",
		"overdrive-simpson-four-speed low-roller":            "D1",
		"simpson-rear-overdrive-four-speed low-roller":       "D1",
		"simpson-rear-overdrive-four-speed overdrive-roller": "", // overdrive-direct lies beside it
		"simpson-transaxle-three-speed low-sprag":            "D1",
		"ravigneaux-three-speed low-sprag":                   "D1",
		"ravigneaux-four-speed intermediate-roller":          "D2",
		"ravigneaux-four-speed low-roller":                   "D1",
		"hub-three-speed carrier-pawls":                      "low",
		"hub-three-speed ring-pawls":                         "normal high",
		"hub-five-speed carrier-pawls":                       "1 2",
		"hub-five-speed ring-pawls":                          "3 4 5",
	}
	for name, train := range library(t) {
		kernel := solve.Compile(train).Kernel()
		for c := range train.Couplings[:train.Elements] {
			if train.Couplings[c].Kind != kinematics.OneWay {
				continue
			}
			key := name + " " + train.Couplings[c].Name
			want, known := needed[key]
			if !known {
				t.Errorf("nobody worked out which ranges need %s", key)
				continue
			}
			var changed []string
			for i := range train.Ranges {
				r := &train.Ranges[i]
				sound := kernel.Outcome(train.In(r))
				failed := kernel.Outcome(train.In(r, kinematics.Fault{Coupling: c, Kind: kinematics.Slips}))
				a, _ := sound.Ratio()
				b, _ := failed.Ratio()
				if sound.Verdict != failed.Verdict || sound.Drives() && a.Cmp(b) != 0 {
					changed = append(changed, r.Name)
				}
			}
			if got := strings.Join(changed, " "); got != want {
				t.Errorf("%s: ranges %q change without it, worked out by hand %q", key, got, want)
			}
		}
	}
}

func TestLibraryFiles(t *testing.T) {
	trains := library(t)
	if len(trains) < 22 {
		t.Errorf("the library has %d trains", len(trains))
	}
	kinds := map[kinematics.Kind]bool{}
	for name, train := range trains {
		if train.Name != name {
			t.Errorf("%s calls itself %s", name, train.Name)
		}
		if train.Title == "" {
			t.Errorf("%s has no title", name)
		}
		invented := slices.Contains(train.Sources, "invented for demonstration")
		for _, g := range train.Gearsets {
			kinds[g.Kind] = true
		}
		for _, r := range train.Ranges {
			if invented && r.Published != nil {
				t.Errorf("%s is invented, yet %s has a published ratio", name, r.Name)
			}
		}
		// An invented train can be built: nothing to excuse, nothing to warn of.
		if !invented {
			continue
		}
		for _, g := range train.Gearsets {
			if g.ProfileShifted || g.RatioOnly {
				t.Errorf("%s is invented, yet set %s is not plain teeth", name, g.Name)
			}
		}
		for _, f := range gearsets.Audit(train) {
			if f.State != gearsets.AuditOK && train.Gearsets[f.Gearset].Kind != kinematics.Bevel {
				t.Errorf("%s, set %s, %s: %s: %s", name, train.Gearsets[f.Gearset].Name, f.Condition, f.State, f.Text)
			}
		}
	}
	for _, k := range kinematics.Kinds {
		if !kinds[k] {
			t.Errorf("no train of the library has a set of kind %s", k)
		}
	}
}
