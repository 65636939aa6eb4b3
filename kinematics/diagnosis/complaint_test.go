package diagnosis_test

import (
	"strings"
	"testing"

	"tieup/kinematics/diagnosis"
)

// Gears are called up to the tenth.
func TestComplainedOfTenGears(t *testing.T) {
	train := library(t, "four-carrier-ten-speed")
	for complaint, want := range map[string]string{"slips in eighth": "D8", "binds in tenth": "D10"} {
		if got := diagnosis.Complained(train, complaint); len(got) != 1 || got[0].Place(train) != want {
			t.Errorf("%q is taken as %v, want %s", complaint, got, want)
		}
	}
}

// What is plain in a complaint is taken, and nothing else.
func TestComplained(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	for complaint, want := range map[string]string{
		"No reverse":                               "R=none",
		"no forward":                               "D1=none",
		"binds in reverse, slips in third":         "R=bind D3=slips",
		"no drive in R when cold":                  "R=none",
		"creeps in neutral":                        "N=creeps",
		"no reverse, does not move in reverse":     "R=none",
		"slips in fifth":                           "",
		"it makes a noise":                         "",
		"drives well, they say it binds in summer": "",
	} {
		var got []string
		for _, o := range diagnosis.Complained(train, complaint) {
			got = append(got, o.Place(train)+"="+o.Value(train))
		}
		if text := strings.Join(got, " "); text != want {
			t.Errorf("%q is taken as %q, want %q", complaint, text, want)
		}
	}
}
