package diagnosis_test

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/diagnosis"
)

// names are the names of the suspects of a group.
func names(t *kinematics.Train, g *diagnosis.Group) []string {
	var list []string
	for _, s := range g.Suspects {
		list = append(list, s.Short(t))
	}
	return list
}

// One stuck solenoid explains four ranges. Both patterns are those of the controls that
// were read for this layout (testdata/published/controls.json), worked out by hand.
func TestOneSolenoidExplainsAll(t *testing.T) {
	train := library(t, "overdrive-simpson-four-speed")
	b := newBench(train, diagnosis.Default())
	for _, c := range []struct {
		seen []string
		want string
	}{
		{[]string{"D1", "as D2", "D2", "ok", "D3", "ok", "D4", "as D3"}, "S2=stuck-on; S2=short-on"},
		{[]string{"D1", "as D4", "D2", "as D3", "D3", "ok", "D4", "ok"}, "S1=stuck-off; S1=no-current (before); valve-23=stuck-up; valve-23=spring-broken (2 of 2)"},
	} {
		a := b.diagnose(see(t, train, c.seen...)...)
		if a.Groups[0].Halves() != 0 {
			t.Errorf("%v: nothing agrees", c.seen)
		}
		got := names(train, &a.Groups[0])
		for want := range strings.SplitSeq(c.want, "; ") {
			if !slices.ContainsFunc(got, func(s string) bool { return strings.HasPrefix(s, strings.Split(want, " (")[0]) }) {
				t.Errorf("%v: first are %v, without %s", c.seen, got, want)
			}
		}
		for _, s := range a.Groups[0].Suspects {
			if s.Kind != diagnosis.Controlled {
				t.Errorf("%v: %s stands beside the solenoid", c.seen, s.Text(train))
			}
		}
		for _, p := range a.Next(1, nil) {
			if p.Kind != diagnosis.Connector && c.want == "S2=stuck-on; S2=short-on" {
				t.Errorf("%v: the electrical test comes first, not %s", c.seen, p.Test.Text(train))
			}
		}
	}
}

// Without controls in the file ranges that read as other ranges are one hypothesis, if
// the map is that of something that is stuck or crossed, below any mechanism.
func TestRangesReadAsOthersWithoutControls(t *testing.T) {
	train := *library(t, "overdrive-simpson-four-speed")
	train.Controls = nil
	b := newBench(&train, diagnosis.Default())
	for _, c := range []struct {
		seen []string
		want bool
	}{
		{[]string{"D1", "as D2", "D2", "ok", "D3", "ok", "D4", "as D3"}, true},       // stuck
		{[]string{"D1", "as D4", "D2", "as D3", "D3", "as D2", "D4", "as D1"}, true}, // crossed
		{[]string{"D1", "as D2", "D2", "as D3", "D3", "ok", "D4", "ok"}, false},      // neither
	} {
		a := b.diagnose(see(t, &train, c.seen...)...)
		found := false
		for i, g := range a.Groups {
			for k, s := range g.Suspects {
				if !s.Unfounded {
					continue
				}
				found = true
				better := slices.ContainsFunc(g.Suspects[k+1:], func(s *diagnosis.Suspect) bool { return s.Halves == 0 })
				for _, later := range a.Groups[i+1:] {
					better = better || later.Halves() == 0
				}
				if s.Halves != 0 || better {
					t.Errorf("%v: %s, %d halves, stands before a mechanism", c.seen, s.Text(&train), s.Halves)
				}
			}
		}
		if found != c.want {
			t.Errorf("%v: the hypothesis is there: %t", c.seen, found)
		}
	}
}

// Closed loop: the whole road test of every single fault of the controls puts it into
// the first group, together with all that do the same.
func TestClosedLoopOfControls(t *testing.T) {
	for _, name := range []string{"overdrive-simpson-four-speed", "ravigneaux-four-speed", "lepelletier-six-speed", "depot-shuttle-three-speed", "four-carrier-eight-speed"} {
		if name == "four-carrier-eight-speed" && !whole() {
			continue
		}
		train := library(t, name)
		b := newBench(train, exactly())
		of, sets := 0, map[string]int{}
		for _, truth := range b.singles() {
			if truth.Kind != diagnosis.Controlled {
				continue
			}
			of++
			a := b.diagnose(b.all.RoadTest(truth)...)
			first := names(train, &a.Groups[0])
			if !slices.Contains(first, truth.Short(train)) {
				t.Errorf("%s: %s is not in the first group: %v", name, truth.Text(train), first)
				continue
			}
			sets[strings.Join(first, "; ")]++
			signature := func(s *diagnosis.Suspect) string {
				text := ""
				for r := range train.Ranges {
					text += fmt.Sprint(*a.Behaviour(s, r))
				}
				return text
			}
			for _, s := range b.singles() {
				if signature(s) == signature(truth) && !slices.Contains(first, s.Short(train)) {
					t.Errorf("%s: %s does the same as %s and is not in its group", name, s.Text(train), truth.Text(train))
				}
			}
		}
		t.Logf("%-30s %3d faults of the controls in %d groups", name, of, len(sets))
	}
}

// No fault of the controls is refuted by anything that it can come to in a range: each is seen
// in turn, alone, as the engine says that it shows.
func TestNothingThatCanComeRefutes(t *testing.T) {
	count := 0
	for _, name := range []string{"ravigneaux-four-speed", "interlinked-six-speed"} {
		train := library(t, name)
		b, n := newBench(train, exactly()), controls.Of(train)
		for _, f := range n.SingleFaults() {
			brought := n.Bring([]controls.Fault{f})
			for _, r := range brought.Open {
				for _, way := range brought.Others[r] {
					count++
					seen := slices.DeleteFunc(b.all.RoadTest(suspect(way...)), func(o diagnosis.Observation) bool {
						return o.Range != r || o.IsShift() || o.Position != nil || o.Shop != nil
					})
					if c := b.diagnose(seen...).ClaimControls(nil, []controls.Fault{f}); c.Halves != 0 {
						t.Errorf("%s: %s is refuted by %v in %s, to which it can come", name, f, seen, train.Ranges[r].Name)
					}
				}
			}
		}
	}
	if count < 100 {
		t.Errorf("%d things that can come of faults", count)
	}
}

// What decides can be another thing in each range where it is what was driven before, so that
// one broken spring explains a range that is in order beside one that binds; an element that
// may be fed or not is so in all ranges, so that a lever between two positions does not explain
// two gears alone (the six-speed of TestTwoFaultsInSomeRanges).
func TestEachRangeComesToItsOwn(t *testing.T) {
	train := library(t, "interlinked-six-speed")
	b := newBench(train, diagnosis.Default())
	a := b.diagnose(see(t, train, "D1", "ok", "L1", "bind")...)
	if first := names(train, &a.Groups[0]); !slices.Contains(first, "direct-regulator=spring-broken (one of 2)") {
		t.Errorf("the first group is %v", first)
	}
	train = library(t, "ravigneaux-four-speed")
	b = newBench(train, diagnosis.Default())
	a = b.diagnose(see(t, train, "M2", "as D4")...)
	if first := names(train, &a.Groups[0]); !slices.Contains(first, "S2=stuck-on (one of 8)") {
		t.Errorf("the first group is %v", first)
	}
}

// What a test can show of a fault that can come to more than one thing is each of them: with a
// broken spring of valve-12 M1 binds or is as when healthy.
func TestRepliesOfAllThatCanCome(t *testing.T) {
	train := library(t, "overdrive-simpson-four-speed")
	b := newBench(train, diagnosis.Default())
	a := b.diagnose(see(t, train, "D1", "as D2")...)
	m1, _ := train.Range("M1")
	shows := map[string]bool{}
	for _, s := range a.Groups[0].Suspects {
		if strings.HasPrefix(s.Short(train), "valve-12=spring-broken") {
			test := diagnosis.Test{Kind: diagnosis.Position, SetUp: diagnosis.Creep, Range: m1, To: -1}
			shows[a.Reply(&test, s).Key] = true
		}
	}
	if len(shows) != 2 {
		t.Errorf("in M1 a broken spring of valve-12 shows %v", shows)
	}
}

// TestStoredCodes compares the meanings with those read from public lists of the open numbering.
func TestStoredCodes(t *testing.T) {
	src, err := os.ReadFile("../../testdata/published/codes.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Codes map[string]struct{ Category, Kind, Element string }
	}
	if err := json.Unmarshal(src, &file); err != nil {
		t.Fatal(err)
	}
	wiring := map[string]bool{"electrical": true, "intermittent": true, "circuit low": true, "circuit high": true, "circuit/open": true}
	known := 0
	for code, read := range file.Codes {
		c, err := diagnosis.ParseCode(code)
		if err != nil {
			continue
		}
		known++
		solenoid := ""
		switch read.Category {
		case "shift solenoid":
			solenoid = "shift " + read.Element
		case "pressure solenoid":
			solenoid = "pressure control " + read.Element
		}
		if c.Solenoid != solenoid || c.Wiring != (wiring[read.Kind] && solenoid != "") {
			t.Errorf("%s: %+v, read %+v", code, c, read)
		}
	}
	if known < 90 {
		t.Errorf("only %d codes are known", known)
	}
	for text, want := range map[string]string{"P1751": "maker's own", "P075": "no trouble code", "P0899": "not known here"} {
		if _, err := diagnosis.ParseCode(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// A code of wires speaks for the wires, a code of performance for nothing that the road
// does not say already.
func TestCodesCountOnce(t *testing.T) {
	train := library(t, "overdrive-simpson-four-speed")
	b := newBench(train, diagnosis.Default())
	seen := []string{"D1", "as D4", "D2", "as D3", "D3", "ok", "D4", "ok"}
	without := b.diagnose(see(t, train, seen...)...)
	performance := b.diagnose(see(t, train, append(seen, "code:P0751", "stored")...)...)
	if len(without.Groups[0].Suspects) != len(performance.Groups[0].Suspects) {
		t.Error("P0751 is the control's inference, and counts")
	}
	wires := b.diagnose(see(t, train, append(seen, "code:P0753", "stored")...)...)
	for _, s := range wires.Groups[0].Suspects {
		if !slices.ContainsFunc(s.Controls, func(f controls.Fault) bool { return f.Kind.Electrical() }) {
			t.Errorf("P0753 names wires, and %s stands first", s.Text(train))
		}
	}
}

// BenchmarkDiagnoseControlsPairs diagnoses a pair of a fault of the controls and one of
// an element, with the search for pairs.
func BenchmarkDiagnoseControlsPairs(b *testing.B) {
	train := library(b, "overdrive-simpson-four-speed")
	bench := newBench(train, diagnosis.Default())
	seen := see(b, train, "D1", "as D4", "D2", "bind", "D3", "ok", "D4", "none", "R", "none")
	for b.Loop() {
		bench.diagnose(seen...)
	}
}
