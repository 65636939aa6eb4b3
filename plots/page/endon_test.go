package page_test

import (
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
	"tieup/plots/page"
)

// Two faults tie reverse up in three ways, the first on the shell alone, where no
// gear is loaded: the gearsets show one that pulls them, and say which.
func TestEndOnPulls(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	var faults []kinematics.Fault
	for _, text := range []string{"forward=stuck", "intermediate=stuck"} {
		f, err := kinematics.ParseFault(train, text)
		if err != nil {
			t.Fatal(err)
		}
		faults = append(faults, f)
	}
	r, _ := train.Range("R")
	why := reading.Explain(t.Context(), reading.NewReader(solve.Compile(train)), &train.Ranges[r], faults...)
	arrows := 0
	for _, view := range page.NewEndOn(why) {
		if !view.Pulls() {
			t.Errorf("nothing in %s is pulled", view.Name)
		}
		for _, m := range view.Members {
			if m.Pull != "" && m.Arrow != "" {
				arrows++
			}
		}
		if len(view.Notes) == 0 || !strings.Contains(view.Notes[len(view.Notes)-1], "conflict 2 of 3") {
			t.Errorf("%s does not say what pulls: %q", view.Name, view.Notes)
		}
	}
	if arrows < 4 {
		t.Errorf("%d arrows", arrows)
	}
}
