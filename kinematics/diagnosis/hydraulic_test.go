package diagnosis_test

import (
	"os"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics/diagnosis"
)

// What has no wires, such as a governor, is not looked for as a solenoid.
func TestGovernorIsNoSolenoid(t *testing.T) {
	text, err := os.ReadFile("testdata/governor.yaml")
	if err != nil {
		t.Fatal(err)
	}
	train, problems := gearsets.Parse("governor.yaml", text)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	a := newBench(train, diagnosis.Default()).diagnose(see(t, train, "D2", "as D1", "D3", "as D1", "D1", "ok")...)
	told := false
	for _, s := range a.Groups[0].Suspects {
		if !strings.HasPrefix(s.Short(train), "governor-") && !strings.HasPrefix(s.Short(train), "governor=") {
			continue
		}
		for _, c := range s.Causes(train) {
			told = true
			if strings.Contains(strings.Join(c.Lines(), " "), "solenoid") {
				t.Errorf("%s: %v", s.Text(train), c)
			}
		}
	}
	if !told {
		t.Errorf("no governor among the first: %v", names(train, &a.Groups[0]))
	}
}
