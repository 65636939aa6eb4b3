package kinematics

import (
	"strings"
	"testing"
)

// shopTrain is a train with a coupling of every kind.
func shopTrain(t *testing.T) *Train {
	t.Helper()
	b := NewBuilder("shop")
	b.Shaft("turbine", "drum", "output-shaft")
	b.Simple("front", 30, 66, 18, false)
	b.Join("shell", "drum", "front.sun")
	b.Element("forward", Clutch, "turbine", "front.ring")
	b.Element("band-brake", Band, "drum", HousingName)
	b.Element("low", Dog, "turbine", "drum")
	b.Element("roller", OneWay, "front.carrier", HousingName)
	b.Element("pawl", Pawl, "output-shaft", HousingName)
	b.Ports("turbine", "front.carrier")
	b.Range("R")
	b.Range("D1", "forward")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

func TestParseFault(t *testing.T) {
	train := shopTrain(t)
	for _, c := range []struct{ text, want, err string }{
		{text: "forward=stuck", want: "forward=stuck"},
		{text: "forward=stuck 0.4", want: "forward=stuck 0.4"},
		{text: " forward = weak  3/5 ", want: "forward=weak 0.6"},
		{text: "band-brake=dragging 0.1@R, D1", want: "band-brake=dragging 0.1@R,D1"},
		{text: "roller=slips@D1", want: "roller=slips@D1"},
		{text: "shell:front.sun=sheared", want: "shell:front.sun=sheared"},
		{text: "pawl=missing", want: "pawl=missing"},
		{text: "low=stuck", want: "low=stuck"},

		{text: "forward", err: "write NAME=KIND, such as forward=stuck"},
		{text: "foward=stuck", err: `shop has no element "foward": did you mean forward?`},
		{text: "shell:front.son=sheared", err: "did you mean shell:front.sun?"},
		{text: "shell=sheared", err: "say which of its members shears: shell:drum, shell:front.sun"},
		{text: "forward=waek 0.6", err: "did you mean weak?"},
		{text: "forward=seized", err: `forward is a clutch and cannot be "seized": write stuck, open, weak or dragging`},
		{text: "low=weak 0.5", err: `low is a dog and cannot be "weak": write stuck or open`},
		{text: "pawl=stuck", err: `the parking pawl and cannot be "stuck": write missing`},
		{text: "forward=weak", err: "weak with what share of its rating? Write forward=weak 0.6"},
		{text: "forward=dragging", err: "Write forward=dragging 0.1"},
		{text: "forward=weak 1.2", err: "write a share below 1"},
		{text: "forward=weak 1", err: "write a share below 1"},
		{text: "forward=weak 0", err: "above 0 and at most 10"},
		{text: "forward=dragging some", err: `"some" is not a share of the rating`},
		{text: "forward=open 0.3", err: `open takes no share of the rating: leave "0.3" out`},
		{text: "low=stuck 0.3", err: `low does not slip, so it is stuck whole: leave "0.3" out`},
		{text: "roller=reversed@D1", err: "what is fitted backwards is so in every range: write roller=reversed"},
		{text: "shell:front.sun=sheared@D1", err: "what is sheared is so in every range: write shell:front.sun=sheared"},
		{text: "pawl=missing@R", err: "what is missing is so in every range: write pawl=missing"},
		{text: "forward=stuck@X", err: `shop has no range "X"`},
		{text: "forward=stuck@", err: `shop has no range ""`},
	} {
		f, err := ParseFault(train, c.text)
		switch {
		case c.err != "":
			if err == nil || !strings.Contains(err.Error(), c.err) {
				t.Errorf("%q: error %v, want one with %q", c.text, err, c.err)
			}
		case err != nil:
			t.Errorf("%q: %v", c.text, err)
		default:
			text := train.FaultText(f)
			if text != c.want {
				t.Errorf("%q is read as %q", c.text, text)
			}
			if again, err := ParseFault(train, text); err != nil || train.FaultText(again) != text {
				t.Errorf("%q is not read back: %v", text, err)
			}
		}
	}
}

// TestParseAllFaults: every fault that a train can have is written and read back.
func TestParseAllFaults(t *testing.T) {
	train := shopTrain(t)
	for i := range train.Couplings {
		for _, k := range train.FaultKinds(i) {
			f := Fault{Coupling: i, Kind: k}
			if k == Weak || k == Dragging {
				f.Share = Share{1, 4}
			}
			got, err := ParseFault(train, train.FaultText(f))
			if err != nil || got.Coupling != i || got.Kind != k || got.Share != f.Share {
				t.Errorf("%s: %+v, %v", train.FaultText(f), got, err)
			}
		}
	}
}

func TestParseShortFault(t *testing.T) {
	train := shopTrain(t)
	for _, c := range []struct {
		name string
		kind FaultKind
		want string
	}{
		{"forward", Stuck, "forward=stuck"},
		{"roller", Stuck, "roller=seized"},
		{"roller", OpenF, "roller=slips"},
		{"pawl", OpenF, "pawl=missing"},
		{"shell:drum", OpenF, "shell:drum=sheared"},
	} {
		f, err := ParseShortFault(train, c.name, c.kind)
		if err != nil || train.FaultText(f) != c.want {
			t.Errorf("%s %s: %+v, %v", c.name, c.kind, f, err)
		}
	}
	if f, err := ParseShortFault(train, "shell:drum", Stuck); err == nil {
		t.Errorf("a spline is stuck: %+v", f)
	}
}

func TestContradicts(t *testing.T) {
	train := shopTrain(t)
	for _, c := range []struct{ a, b, err string }{
		{"forward=stuck", "band-brake=stuck", ""},
		{"forward=stuck", "forward=stuck@R", "forward is stuck already"},
		{"forward=stuck@D1", "forward=open@R,D1", "cannot be both stuck and open in the same range"},
		{"forward=stuck@D1", "forward=open@R", ""},
		{"forward=weak 0.5", "forward=dragging 0.1", ""},
		{"forward=weak 0.5", "forward=open", "cannot be both weak and open"},
	} {
		f, errF := ParseFault(train, c.a)
		g, errG := ParseFault(train, c.b)
		if errF != nil || errG != nil {
			t.Fatal(errF, errG)
		}
		err := train.Contradicts([]Fault{f}, g)
		if (c.err == "") != (err == nil) || err != nil && !strings.Contains(err.Error(), c.err) {
			t.Errorf("%s beside %s: %v, want %q", c.b, c.a, err, c.err)
		}
	}
}

func TestDidYouMean(t *testing.T) {
	names := []string{"forward", "direct", "P"}
	for misspelt, want := range map[string]string{
		"foward": ": did you mean forward?",
		"DIRECT": ": did you mean direct?",
		"X":      "", // one letter wrong, and no other is left
		"p":      ": did you mean P?",
		"nought": "",
		"":       "",
	} {
		if got := DidYouMean(misspelt, names); got != want {
			t.Errorf("DidYouMean(%q) = %q, want %q", misspelt, got, want)
		}
	}
}

// TestShareText: a share is written so that it reads back exactly, small ones
// and those that are no decimal, too.
func TestShareText(t *testing.T) {
	for text, want := range map[string]string{
		"1/1048576": "1/1048576", "0.6": "0.6", "3/5": "0.6", "1": "1", "2/1": "2", "1/3": "1/3", "0.000000001": "0.000000001", "1/99999999": "1/99999999",
		"0.000000000000000001": "0.000000000000000001",
	} {
		s, err := ParseShare(text)
		if err != nil || s.String() != want {
			t.Errorf("%s is written %q, want %q (%v)", text, s, want, err)
		}
		if again, err := ParseShare(s.String()); err != nil || again != s {
			t.Errorf("%s reads back as %v (%v)", text, again, err)
		}
	}
	if s := (Share{}).String(); s != "" {
		t.Errorf("no share is written %q", s)
	}
}

// A fault made in a program is as good as one that is read.
func TestCheckFaultShares(t *testing.T) {
	train := shopTrain(t)
	for _, f := range []Fault{
		{Kind: Weak}, {Kind: Dragging}, {Kind: Weak, Share: Share{1, 1}}, {Kind: Weak, Share: Share{-1, 2}},
		{Kind: Dragging, Share: Share{1, -2}}, {Kind: Dragging, Share: Share{101, 10}}, {Kind: OpenF, Share: Share{1, 2}},
		{Kind: Stuck, Coupling: 2, Share: Share{1, 2}},
	} {
		if err := train.CheckFault(f); err == nil {
			t.Errorf("%+v is not refused", f)
		}
	}
	for _, f := range []Fault{
		{Kind: Weak, Share: Share{3, 5}}, {Kind: Dragging, Share: Share{10, 1}}, {Kind: Stuck, Share: Share{2, 5}},
		{Kind: Stuck},
		{Kind: Weak, Share: Share{1<<62 - 1, 1 << 62}}, // of no text so short as a command line takes
	} {
		if err := train.CheckFault(f); err != nil {
			t.Errorf("%+v: %v", f, err)
		}
	}
}
