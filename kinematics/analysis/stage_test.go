package analysis_test

import (
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
)

// What stands beside the pictures is short in every healthy range of the library: a
// note has up to two lines of a fourth of a partner's width, and a reason begins as a
// sentence does or with a name.
func TestStageIsShort(t *testing.T) {
	const most = 44 // letters of a note
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		a := analysis.Open(train)
		for i := range train.Ranges {
			s, err := a.Stage(t.Context(), i, analysis.Condition{})
			if err != nil {
				t.Fatal(err)
			}
			for _, n := range s.Notes {
				if len(n.Text) > most {
					t.Errorf("%s, %s: the note %q: %q has %d letters", name, s.Range.Name, n.Head, n.Text, len(n.Text))
				}
			}
			if strings.HasPrefix(s.Reason, "the ") {
				t.Errorf("%s, %s: %q begins small", name, s.Range.Name, s.Reason)
			}
		}
	}
}
