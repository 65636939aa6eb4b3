package reading_test

import (
	"context"
	"slices"
	"testing"

	"tieup/gearsets"
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

// In a conflict of two elements each is said to ask for the speed that it gives the output by
// itself. By hand, of a set with a sun of 30 teeth and a ring of 60: with the ring held the
// carrier turns 30 / (30 + 60) of the sun, with both locked together as the sun does.
func TestConflictOfTwoElements(t *testing.T) {
	b := kinematics.NewBuilder("two")
	b.Simple("set", 30, 60, 15, false)
	b.Element("hold", kinematics.Brake, "set.ring", kinematics.HousingName)
	b.Element("lock", kinematics.Clutch, "set.sun", "set.carrier")
	b.Ports("set.sun", "set.carrier")
	b.Range("B", "hold", "lock")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	sections := reading.Explain(context.Background(), reading.NewReader(solve.Compile(train)), &train.Ranges[0]).Sections()
	want := []string{"lock asks the output for +1.00 turns per input turn, hold for +0.33: " +
		"only standing still satisfies both."}
	if got := sections[0].After; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	for _, row := range sections[0].Rows {
		if asks := map[string]string{"hold": "+1.00", "lock": "+0.33"}[row[0]]; row[2] != asks {
			t.Errorf("without %s the other asks for %s, want %s", row[0], row[2], asks)
		}
	}
}

// Reasons call a body what pictures call it, not by the member on which a brake is: in N
// with overdrive stuck on, low-reverse holds the rear carrier, which turns with the centre
// ring.
func TestWitnessLeadsItsBody(t *testing.T) {
	train, err := gearsets.Library("interlinked-six-speed")
	if err != nil {
		t.Fatal(err)
	}
	f, err := kinematics.ParseFault(train, "overdrive=stuck")
	if err != nil {
		t.Fatal(err)
	}
	r, _ := train.Range("N")
	why := reading.Explain(t.Context(), reading.NewReader(solve.Compile(train)), &train.Ranges[r], f)
	if got := train.Members[why.Conflicts[0].Witness].Name; got != "centre.ring" {
		t.Errorf("%s is asked for two speeds", got)
	}
}
