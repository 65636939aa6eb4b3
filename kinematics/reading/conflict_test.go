package reading_test

import (
	"context"
	"slices"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A conflict of one element says what that element holds: a brake on the input the
// input, a brake on the output the output.
func TestConflictOfOneElement(t *testing.T) {
	b := kinematics.NewBuilder("one")
	b.Simple("set", 30, 60, 15, false)
	b.Element("in", kinematics.Brake, "set.sun", kinematics.HousingName)
	b.Element("out", kinematics.Brake, "set.carrier", kinematics.HousingName)
	b.Ports("set.sun", "set.carrier")
	b.Range("I", "in")
	b.Range("O", "out")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	reader := reading.NewReader(solve.Compile(train))
	for name, want := range map[string]struct {
		title string
		text  []string
	}{
		"I": {"Why the input cannot turn forward", []string{
			"in (applied in I) holds the input by itself.", "Without it: no drive, rolls freely.",
		}},
		"O": {"Why the vehicle rolls neither way", []string{
			"out (applied in O) holds the output by itself.", "Without it: no drive, rolls freely.",
		}},
	} {
		r, _ := train.Range(name)
		sections := reading.Explain(context.Background(), reader, &train.Ranges[r]).Sections()
		at := slices.IndexFunc(sections, func(s reading.Section) bool { return s.Title == want.title })
		if at < 0 {
			t.Errorf("%s: no section %q in %v", name, want.title, sections)
			continue
		}
		if got := sections[at].Text; !slices.Equal(got, want.text) {
			t.Errorf("%s: %q, want %q", name, got, want.text)
		}
	}
}
