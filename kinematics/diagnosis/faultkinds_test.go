package diagnosis

import (
	"fmt"
	"regexp"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// Every kind of fault is suspected, has a cause and a class, and can be found on opening:
// the depot's three-speed has clutches, brakes, a one-way clutch, joints and a pawl.
func TestEveryKindOfFaultIsDiagnosed(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	f, err := New(t.Context(), solve.Compile(train), Default())
	if err != nil {
		t.Fatal(err)
	}
	suspected := map[kinematics.FaultKind]bool{}
	for _, h := range f.ofOne() {
		for _, x := range h.Faults {
			suspected[x.Kind] = true
		}
	}
	had, causes := map[kinematics.FaultKind]bool{}, map[string]kinematics.FaultKind{}
	for i := range train.Couplings {
		for _, kind := range train.FaultKinds(i) {
			had[kind] = true
			x := kinematics.Fault{Coupling: i, Kind: kind}
			cause := (&Hypothesis{Kind: Faulty, Faults: []kinematics.Fault{x}}).Causes(train)
			if len(cause) != 1 || len(cause[0].Mechanical) == 0 {
				t.Errorf("%s has the causes %v", train.FaultText(x), cause)
				continue
			}
			text := fmt.Sprint(cause[0])
			if other, taken := causes[text]; taken && other != kind {
				t.Errorf("%s and %s have one cause: %s", other, kind, text)
			}
			causes[text] = kind
			classOf(train, x)
		}
	}
	for _, kind := range kinematics.AllFaultKinds() {
		if !had[kind] {
			t.Errorf("nothing in %s can be %s", train.Name, kind)
		}
		if !suspected[kind] {
			t.Errorf("nobody suspects %s", kind)
		}
		if !slices.ContainsFunc(foundMeaning, func(m foundRow) bool { return slices.Contains(m.faults, kind) }) {
			t.Errorf("no word for a part on opening means %s", kind)
		}
	}
}

// Every suspect of every train of the library is said in plain words: without signs of the
// command line, without what tells outcomes of one fault apart, and all of it.
func TestEverySuspectIsSaidPlainly(t *testing.T) {
	shorthand := regexp.MustCompile(`[=@]|\d of \d|stuck-|no-current|short-on|  |^ | $|(called|shift|the) $`)
	said := map[Kind]bool{}
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		f, err := New(t.Context(), solve.Compile(train), Default())
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range append(f.ofOne(), Hypothesis{Kind: HighPressure}, Hypothesis{Kind: Timing}) {
			said[h.Kind] = true
			who, what := h.plainly(train)
			text := who + " " + what
			if who == "" || what == "" || shorthand.MatchString(text) {
				t.Errorf("%s: %s is said as %q", name, h.Short(train), text)
			}
		}
	}
	for kind := range Kind(len(hypothesisNames)) {
		if !said[kind] {
			t.Errorf("%s was not reached", hypothesisNames[kind])
		}
	}
}

// Every word for a part on opening is said to the trade and in plain words, of something.
func TestEveryFoundWordIsSaid(t *testing.T) {
	for _, m := range foundMeaning {
		if m.word == "" || m.meaning == "" || m.plainly == "" || len(m.of) == 0 {
			t.Errorf("a word for a part on opening is not complete: %+v", m)
		}
		if (len(m.faults) == 0) != (m.word == FoundGood) {
			t.Errorf("%s means the faults %v", m.word, m.faults)
		}
	}
}
