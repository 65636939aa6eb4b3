package roadtest_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/gearsets/roadtest"
	"tieup/kinematics/diagnosis"
)

const ownSheet = `# bus 14, the depot's own notes
sheet: 1
train: depot-shuttle-three-speed
complaint: binds in reverse
seen:
  # only after a hard reverse
  R: bind # twice
  N: forward
  D1: not tested
# parts on the bench
found:
  direct: burnt # blue steels
replaced: [direct plates]
proved:
  "forward held counterclockwise": turns
`

func parsed(t *testing.T, src []byte) *diagnosis.Case {
	t.Helper()
	s, problems, err := roadtest.Parse("own.yaml", src)
	if err != nil {
		t.Fatalf("%v\n%s\n%s", err, problems.Excerpts(), src)
	}
	return s.Case
}

// What is saved again keeps comments of one's own, and says what was added.
func TestUpdateKeepsComments(t *testing.T) {
	c := parsed(t, []byte(ownSheet))
	if got := roadtest.Update([]byte(ownSheet), "x", c, nil); string(got) != ownSheet {
		t.Errorf("nothing changed, and the sheet did:\n%s", got)
	}
	for _, err := range []error{
		c.See("D2", "ok"), c.Find("intermediate", "good"), c.Prove(diagnosis.Proof{Turn: "- held clockwise", Saw: "ok"}),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	c.Seen = append(c.Seen[:0:0], c.Seen[1:]...) // R was a mistake
	c.Replaced = append(c.Replaced, "seal kit")
	got := string(roadtest.Update([]byte(ownSheet), "x", c, nil))
	for _, want := range []string{
		"# bus 14, the depot's own notes\n", "# parts on the bench\n", "direct: burnt # blue steels\n", "  D2: ok\n", "  intermediate: good\n",
		"\"- held clockwise\": ok\n", "train: depot-shuttle-three-speed\n", "  N: forward\n", "# only after a hard reverse\n", "seal kit",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in\n%s", want, got)
		}
	}
	if strings.Contains(got, "bind # twice") {
		t.Errorf("R is still seen:\n%s", got)
	}
	again := parsed(t, []byte(got))
	if seenIn(again) != seenIn(c) || len(again.Found) != 2 || len(again.Replaced) != 2 || len(again.Proved) != 2 {
		t.Errorf("read back as %s, %v, %v, %v", seenIn(again), again.Found, again.Replaced, again.Proved)
	}
}

// An entry that changes keeps its remark, a new one stands where a new sheet has it, what
// was not tested stays, spaces are no change, and what is taken back is gone.
func TestUpdateInPlace(t *testing.T) {
	const src = "sheet: 1\ntrain: depot-shuttle-three-speed\ncomplaint: binds   in reverse\nseen:\n  R: bind # twice\n" +
		"  D1: not tested # no time\n  D3: forward # uphill\nfound:\n  direct: burnt\n"
	c := parsed(t, []byte(src))
	c.Seen = slices.DeleteFunc(c.Seen, func(o diagnosis.Observation) bool { return o.Place(c.Train) == "D3" })
	for _, err := range []error{c.See("D2", "ok"), c.See("D3", "slips")} {
		if err != nil {
			t.Fatal(err)
		}
	}
	c.Found = nil
	got := string(roadtest.Update([]byte(src), "x", c, nil))
	want := "complaint: binds   in reverse\nseen:\n  R: bind # twice\n  D1: not tested # no time\n  D2: ok\n" +
		"  D3: slips # uphill\n"
	if !strings.Contains(got, want) || strings.Contains(got, "found") {
		t.Errorf("got\n%s\nwant in it\n%s", got, want)
	}
}

// A sheet that tieup wrote goes on to be one, with its last line.
func TestUpdateOfFormatted(t *testing.T) {
	c := parsed(t, []byte(ownSheet))
	src := roadtest.Format("depot-shuttle-three-speed", c, [][2]int{{3, 4}})
	if err := c.See("D1-D2", "flare"); err != nil {
		t.Fatal(err)
	}
	got := roadtest.Update(src, "depot-shuttle-three-speed", c, [][2]int{{3, 4}})
	again := parsed(t, got)
	if seenIn(again) != seenIn(c) || !strings.HasSuffix(string(got), "\n...\n") {
		t.Errorf("got %s\n%s", seenIn(again), got)
	}
}

// What is wrong with the parts of a case stands at its place.
func TestBrokenCases(t *testing.T) {
	const head = "sheet: 1\ntrain: depot-shuttle-three-speed\n"
	for _, tt := range []struct{ src, want string }{
		{"found: {forward: brunt}\n", `s.yaml:3:9: found: forward cannot be found "brunt": did you mean burnt?; write burnt`},
		{"found: {frward: burnt}\n", `s.yaml:3:9: found: depot-shuttle-three-speed has no element "frward": did you mean forward?`},
		{"found: {shell: burnt}\n", `s.yaml:3:9: found: shell cannot be found "burnt"`},
		{"proved: {forward: ok}\n", `s.yaml:3:10: proved: "forward" is no turn by hand: write elements, output and way`},
		{"proved: {forward held left: ok}\n", `s.yaml:3:10: proved: the input is turned clockwise or counterclockwise, not "left"`},
		{"proved: {roller held clockwise: ok}\n", `s.yaml:3:10: proved: air cannot be put to roller: it is not applied by pressure`},
		{"proved: {forward held clockwise: fine}\n", `s.yaml:3:10: proved: "fine" is nothing that a turn shows`},
	} {
		_, problems, err := roadtest.Parse("s.yaml", []byte(head+tt.src))
		if err == nil || len(problems) != 1 || !strings.HasPrefix(problems[0].Error(), tt.want) {
			t.Errorf("%s: %v", tt.src, problems)
		}
	}
}
