package kinematics_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/kinematics"
)

// modes writes the modes of all couplings that are not as in the healthy state
// with nothing applied.
func modes(t *kinematics.Train, st kinematics.State) string {
	rest := t.Applying()
	var list []string
	for i, m := range st.Modes {
		if m != rest.Modes[i] {
			word := m.String()
			if m == kinematics.Reversed {
				word = "reversed"
			}
			list = append(list, fmt.Sprintf("%s %s", t.Couplings[i].Name, word))
		}
	}
	return strings.Join(list, ", ")
}

func TestApplying(t *testing.T) {
	train := mustBuild(t, twoSets())
	element := func(name string) int {
		i, ok := train.Element(name)
		if !ok {
			t.Fatalf("no element %s", name)
		}
		return i
	}
	// With nothing applied, splines are locked and one-way clutches act unless
	// they are switched.
	rest := train.Applying()
	for i, c := range train.Couplings {
		want := kinematics.Open
		switch {
		case c.Kind == kinematics.Spline:
			want = kinematics.Locked
		case c.Name == "roller":
			want = kinematics.Overruns
		}
		if rest.Modes[i] != want {
			t.Errorf("%s is %v", c.Name, rest.Modes[i])
		}
	}
	if got := modes(train, train.Applying(element("low"), element("ratchet"))); got != "low locked, ratchet one-way" {
		t.Errorf("applied: %s", got)
	}
	if rest.Input != train.Input || rest.Output != train.Output {
		t.Error("the state has other ends than the train")
	}
	c := rest.Clone()
	c.Modes[0] = kinematics.Locked
	if rest.Modes[0] == kinematics.Locked {
		t.Error("a clone shares its modes")
	}
}

func TestFaults(t *testing.T) {
	train := mustBuild(t, twoSets())
	d1, _ := train.Range("D1")
	n, _ := train.Range("N")
	for _, c := range []struct {
		r        int
		coupling string
		kind     kinematics.FaultKind
		ranges   string
		want     string
	}{
		{d1, "low", kinematics.Stuck, "", "forward locked, low locked, ratchet one-way"},
		{n, "low", kinematics.Stuck, "", "low locked"},
		{n, "low", kinematics.Stuck, "D1 R", ""},
		{d1, "low", kinematics.Stuck, "D1 R", "forward locked, low locked, ratchet one-way"},
		{d1, "forward", kinematics.OpenF, "", "ratchet one-way"},
		{d1, "forward", kinematics.Weak, "", "forward locked, ratchet one-way"},
		{n, "forward", kinematics.Dragging, "", ""},
		{n, "roller", kinematics.Slips, "", "roller open"},
		{n, "roller", kinematics.Seized, "", "roller locked"},
		{n, "roller", kinematics.Backward, "", "roller reversed"},
		{n, "ratchet", kinematics.Backward, "", ""}, // switched out
		{d1, "ratchet", kinematics.Backward, "", "forward locked, ratchet reversed"},
		{n, "ratchet", kinematics.Seized, "", "ratchet locked"},
		{n, "shell:rear.sun", kinematics.Sheared, "", "shell:rear.sun open"},
	} {
		i, ok := train.Coupling(c.coupling)
		if !ok {
			t.Fatalf("no coupling %s", c.coupling)
		}
		f := kinematics.Fault{Coupling: i, Kind: c.kind, Ranges: strings.Fields(c.ranges)}
		if got := modes(train, train.In(&train.Ranges[c.r], f)); got != c.want {
			t.Errorf("%s with %s %s: %q, want %q", train.Ranges[c.r].Name, c.coupling, c.kind, got, c.want)
		}
	}
	pawl, _ := train.Element("pawl")
	park := train.Ranges[n]
	park.Apply = []int{pawl}
	if got := modes(train, train.In(&park, kinematics.Fault{Coupling: pawl, Kind: kinematics.Missing})); got != "" {
		t.Errorf("a missing pawl: %q", got)
	}
}

func TestFaultKinds(t *testing.T) {
	train := mustBuild(t, twoSets())
	got := map[string]string{}
	for i, c := range train.Couplings {
		got[c.Name] = fmt.Sprint(train.FaultKinds(i))
	}
	want := map[string]string{
		"forward": "[stuck open weak dragging]", "low": "[stuck open weak dragging]",
		"roller": "[slips seized reversed]", "ratchet": "[slips seized reversed]", "pawl": "[missing]",
		"shell:front.sun": "[sheared]", "shell:rear.sun": "[sheared]",
		"output:front.carrier": "[sheared]", "output:rear.ring": "[sheared]",
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	var singles []string
	for _, f := range train.SingleFaults() {
		singles = append(singles, fmt.Sprintf("%s %s", train.Couplings[f.Coupling].Name, f.Kind))
	}
	// Of a joint with two members one sheared spline parts them as the other does.
	wantSingles := []string{
		"forward stuck", "forward open", "low stuck", "low open",
		"roller slips", "roller seized", "roller reversed", "ratchet slips", "ratchet seized", "ratchet reversed",
		"pawl missing", "shell:front.sun sheared", "output:front.carrier sheared",
	}
	if d := cmp.Diff(wantSingles, singles); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}
