package cli

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics"
)

func depot(t *testing.T) *kinematics.Train {
	t.Helper()
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	return train
}

func TestFaultFlags(t *testing.T) {
	train := depot(t)
	tests := []struct {
		name  string
		flags faultFlags
		want  []string // as written on the command line
		err   string   // part of the error
	}{
		{name: "none"},
		{name: "stuck", flags: faultFlags{stuck: []string{"forward"}}, want: []string{"forward=stuck"}},
		{name: "stuck one-way", flags: faultFlags{stuck: []string{"roller"}}, want: []string{"roller=seized"}},
		{name: "open one-way", flags: faultFlags{open: []string{"roller"}}, want: []string{"roller=slips"}},
		{name: "open pawl", flags: faultFlags{open: []string{"pawl"}}, want: []string{"pawl=missing"}},
		{name: "open spline", flags: faultFlags{open: []string{"shell:rear.sun"}}, want: []string{"shell:rear.sun=sheared"}},
		{name: "stuck pawl", flags: faultFlags{stuck: []string{"pawl"}}, err: `the parking pawl and cannot be "stuck": write missing`},
		{name: "several", flags: faultFlags{stuck: []string{"forward", "direct"}, open: []string{"roller"}},
			want: []string{"forward=stuck", "direct=stuck", "roller=slips"}},
		{name: "reversed", flags: faultFlags{faults: []string{"roller=reversed"}}, want: []string{"roller=reversed"}},
		{name: "in ranges", flags: faultFlags{faults: []string{"forward=stuck@R, N"}}, want: []string{"forward=stuck@R,N"}},
		{name: "two in different ranges", flags: faultFlags{faults: []string{"forward=stuck@R", "forward=open@D1"}},
			want: []string{"forward=stuck@R", "forward=open@D1"}},
		{name: "two in one range", flags: faultFlags{faults: []string{"forward=stuck@R,N", "forward=open@N"}},
			err: "cannot be both stuck and open in the same range"},
		{name: "twice", flags: faultFlags{stuck: []string{"forward", "forward"}}, err: "forward is stuck already"},
		{name: "misspelt element", flags: faultFlags{open: []string{"rolller"}}, err: "did you mean roller?"},
		{name: "misspelt joint member", flags: faultFlags{open: []string{"shell:rear.son"}}, err: "did you mean shell:rear.sun?"},
		{name: "misspelt kind", flags: faultFlags{faults: []string{"roller=reversd"}}, err: "did you mean reversed?"},
		{name: "no kind", flags: faultFlags{faults: []string{"roller"}}, err: "write NAME=KIND, such as forward=stuck"},
		{name: "kind of another coupling", flags: faultFlags{faults: []string{"forward=reversed"}}, err: "write stuck, open, weak or dragging"},
		{name: "no such range", flags: faultFlags{faults: []string{"forward=stuck@X"}}, err: `has no range "X"`},
		{name: "joint without member", flags: faultFlags{faults: []string{"shell=sheared"}}, err: "shell:sun-shell, shell:front.sun"},
		{name: "shares", flags: faultFlags{faults: []string{"forward=weak 0.6", "forward=dragging 1/5", "direct=stuck 0.5@R"}},
			want: []string{"forward=weak 0.6", "forward=dragging 0.2", "direct=stuck 0.5@R"}},
		{name: "share missing", flags: faultFlags{faults: []string{"forward=weak"}}, err: "Write forward=weak 0.6"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			wrong, err := tt.flags.parse(train)
			if tt.err != "" {
				if err == nil || !strings.Contains(err.Error(), tt.err) {
					t.Fatalf("error %v, want one with %q", err, tt.err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, f := range wrong.Faults {
				got = append(got, train.FaultText(f))
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestParseSpeed(t *testing.T) {
	for text, want := range map[string]string{
		"1": "1", "-2.5": "-5/2", "+.5": "1/2", "3.": "3", "70/33": "70/33", "-4/6": "-2/3", " 2 ": "2", "0": "0", "1e3": "1000", "1e-3": "1/1000",
	} {
		got, err := parseSpeed(text)
		if err != nil || got.String() != want {
			t.Errorf("parseSpeed(%q) = %v, %v; want %s", text, got, err, want)
		}
	}
	for _, text := range []string{"", "fast", "1e500", "0x10", "1/0", "1/2/3", "1.5/2", "--1", "Inf", "NaN", strings.Repeat("9", 40), "1_000"} {
		if got, err := parseSpeed(text); err == nil {
			t.Errorf("parseSpeed(%q) = %v, want an error", text, got)
		}
	}
}
