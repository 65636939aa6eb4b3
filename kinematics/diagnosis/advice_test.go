package diagnosis_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/kinematics/diagnosis"
)

// What is to be looked for is named once: no item twice, none a list of its own.
func TestCausesMergedOnce(t *testing.T) {
	for _, name := range []string{"depot-shuttle-three-speed", "ravigneaux-four-speed"} {
		train := library(t, name)
		a := newBench(train, diagnosis.Default()).diagnose(see(t, train, "R", "bind")...)
		for _, part := range diagnosis.Parts(train, a.Groups[0].Suspects) {
			for _, line := range diagnosis.Merged(part.Causes(train)).Lines() {
				_, text, _ := strings.Cut(line, ": ")
				seen := map[string]bool{}
				for _, x := range strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == ',' }) {
					if x = strings.TrimSpace(x); seen[x] {
						t.Errorf("%s, %s: %q twice in %q", name, part.Name, x, line)
					} else {
						seen[x] = true
					}
				}
			}
		}
	}
}

// Where every range slips, fluid and line pressure come first (common practice, no source); the
// three tests that are named tell different things.
func TestAllSlipFluidFirst(t *testing.T) {
	train := library(t, "ravigneaux-four-speed")
	b := newBench(train, diagnosis.Default())
	list := b.diagnose(see(t, train, "R", "slips", "D1", "slips", "D2", "slips", "D3", "slips", "D4", "slips")...).Next(3, nil)
	if len(list) < 2 || list[0].Kind != diagnosis.Fluid || list[1].Kind != diagnosis.Line {
		t.Errorf("%v", list)
	}
	list = b.diagnose(see(t, train, "R", "revs", "D1", "ok", "M1", "no-engine-braking", "D3", "ok")...).Next(3, nil)
	var kinds []diagnosis.TestKind
	for _, p := range list {
		if slices.Contains(kinds, p.Kind) {
			t.Errorf("%s once more", p.Text(train))
		}
		kinds = append(kinds, p.Kind)
	}
}
