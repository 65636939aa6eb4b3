package gearsets

import (
	"fmt"
	"math/big"
	"os"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

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

// reads is what the engine says of a healthy range.
func reads(o solve.Outcome) (r expectedReading) {
	r.verdict, r.ratio, r.brakes = o.Verdict.String(), "-", "-"
	if x, drives := o.Ratio(); drives {
		r.ratio = x.String()
	}
	if _, brakes, rolls := o.EngineBraking(); rolls {
		r.brakes = map[bool]string{true: "yes", false: "no"}[brakes]
	}
	return r
}

// TestLibraryReadings compares every range of the library with what was worked out
// by hand, and with the published ratio.
func TestLibraryReadings(t *testing.T) {
	expected := libraryReadings(t)
	for _, name := range Names() {
		train, err := Library(name)
		if err != nil {
			t.Fatal(err)
		}
		kernel := solve.Compile(train).Kernel()
		for i := range train.Ranges {
			r := &train.Ranges[i]
			want, ok := expected[name][r.Name]
			if !ok {
				t.Errorf("%s %s: nobody worked out what it must read", name, r.Name)
				continue
			}
			delete(expected[name], r.Name)
			o := kernel.Outcome(train.In(r))
			got := reads(o)
			if got.line = want.line; got != want {
				t.Errorf("%s %s reads %v, worked out by hand %v", name, r.Name, got, want)
			}
			// In a sound train the ratio is the same both ways.
			if coasting, brakes, _ := o.EngineBraking(); brakes && o.Drives() && coasting.String() != got.ratio {
				t.Errorf("%s %s pulls at %s but coasts at %s", name, r.Name, got.ratio, coasting)
			}
			comparePublished(t, name, r, o)
		}
	}
	for name, ranges := range expected {
		for r, x := range ranges {
			t.Errorf("%s: the library has no %s %s", x.line, name, r)
		}
	}
}

func comparePublished(t *testing.T, name string, r *kinematics.Range, o solve.Outcome) {
	if r.Published == nil {
		return
	}
	var ratio *big.Rat
	if x, drives := o.Ratio(); drives {
		ratio = x.Rat()
	}
	if c, ok := r.Published.Against(ratio); !ok || !c.Agrees {
		t.Errorf("%s %s: published %s does not agree with %v", name, r.Name, r.Published.Text, ratio)
	}
}
