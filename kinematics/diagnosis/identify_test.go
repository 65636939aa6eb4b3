package diagnosis_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

func identify(t *testing.T, train *kinematics.Train, r diagnosis.Readings, speeds ...any) (*diagnosis.Identity, error) {
	t.Helper()
	for i := 0; i+1 < len(speeds); i += 2 {
		id, ok := train.Member(speeds[i].(string))
		if !ok {
			t.Fatalf("no member %s", speeds[i])
		}
		r.Speeds = append(r.Speeds, diagnosis.Measured{Member: id, Speed: exact.NewFrac(int64(speeds[i+1].(int)), 1)})
	}
	if r.Tolerance == (exact.Frac{}) {
		r.Tolerance = exact.NewFrac(1, 50)
	}
	sys := solve.Compile(train)
	states, err := reading.CombinationsOf(sys).States(t.Context())
	if err != nil {
		return nil, err
	}
	return diagnosis.Identify(sys, states, r)
}

// ranges names the ranges of the best match.
func ranges(x *diagnosis.Identity) string {
	var names []string
	if m := x.Best(); m != nil {
		for _, r := range m.Ranges {
			names = append(names, x.Train.Ranges[r].Name)
		}
	}
	return strings.Join(names, " ")
}

func TestIdentify(t *testing.T) {
	train := library(t, "simpson-three-speed")
	d3, _ := train.Range("D3")
	x, err := identify(t, train, diagnosis.Readings{}, "turbine", 1800, "output-shaft", 1217)
	if err != nil {
		t.Fatal(err)
	}
	if got := ranges(x); got != "D2 M2" {
		t.Errorf("1800/1217 is %q", got)
	}
	d := x.Against(d3)
	intermediate, _ := train.Element("intermediate")
	direct, _ := train.Element("direct")
	if len(d.Holds) != 1 || d.Holds[0] != intermediate || len(d.Missing) != 1 || d.Missing[0] != direct {
		t.Errorf("against D3: %v holds, %v missing", d.Holds, d.Missing)
	}
	// The shell stands in second, and turns with the input in third.
	if x, _ := identify(t, train, diagnosis.Readings{}, "turbine", 1800, "output-shaft", 1217, "sun-shell", 0); ranges(x) != "D2 M2" {
		t.Errorf("with the shell at rest: %q", ranges(x))
	}
	if x, _ := identify(t, train, diagnosis.Readings{}, "turbine", 1800, "output-shaft", 1217, "sun-shell", 900); x.Best() != nil {
		t.Error("with the shell turning something still fits")
	}
	// 7 % off: something slips.
	x, _ = identify(t, train, diagnosis.Readings{}, "turbine", 1900, "output-shaft", 1200)
	if x.Best() != nil || x.Against(d3) != nil {
		t.Error("1900/1200 fits something")
	}
	if len(x.Matches) == 0 || rangesOf(x, 0) != "D2 M2" {
		t.Errorf("nearest to 1900/1200: %q", rangesOf(x, 0))
	}
	x, _ = identify(t, train, diagnosis.Readings{Tolerance: exact.NewFrac(1, 10)}, "turbine", 1900, "output-shaft", 1200)
	if ranges(x) != "D2 M2" {
		t.Errorf("within a tenth: %q", ranges(x))
	}
}

func rangesOf(x *diagnosis.Identity, n int) string {
	var names []string
	for _, r := range x.Matches[n].Ranges {
		names = append(names, x.Train.Ranges[r].Name)
	}
	return strings.Join(names, " ")
}

// Without signs reverse and forward are told by the size of the ratio alone;
// with one the sense counts.
func TestIdentifySense(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed") // R -11/5
	x, _ := identify(t, train, diagnosis.Readings{}, "turbine", 2200, "output-shaft", 1000)
	if ranges(x) != "R" {
		t.Errorf("without signs: %q", ranges(x))
	}
	x, _ = identify(t, train, diagnosis.Readings{Signed: true}, "turbine", 2200, "output-shaft", -1000)
	if ranges(x) != "R" {
		t.Errorf("backward: %q", ranges(x))
	}
	x, _ = identify(t, train, diagnosis.Readings{Signed: true}, "turbine", 2200, "output-shaft", 1000)
	if x.Best() != nil {
		t.Errorf("forward: %q", ranges(x))
	}
}

// Every range that drives between the train's own ends is found by its own ratio.
func TestIdentifyEveryRange(t *testing.T) {
	for _, train := range withFriction(t) {
		sys := solve.Compile(train)
		states, err := reading.CombinationsOf(sys).States(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for r := range train.Ranges {
			o := sys.Kernel().Outcome(train.In(&train.Ranges[r]))
			if !o.Drives() || train.Ranges[r].Input != train.Input || train.Ranges[r].Output != train.Output {
				continue
			}
			x, err := diagnosis.Identify(sys, states, diagnosis.Readings{Signed: true, Speeds: []diagnosis.Measured{
				{Member: train.Input, Speed: exact.NewFrac(1, 1)}, {Member: train.Output, Speed: o.OutputSpeed()}}, Tolerance: exact.NewFrac(0, 1)})
			if err != nil || x.Best() == nil {
				t.Fatalf("%s %s: %v", train.Name, train.Ranges[r].Name, err)
			}
			if d := x.Against(r); len(d.Holds)+len(d.Missing) != 0 {
				t.Errorf("%s %s: differs from itself: %+v", train.Name, train.Ranges[r].Name, d)
			}
		}
	}
}

// A third speed counts by its size where speeds have no sign. By hand, the shell turns
// -121/135 of the input in first of the depot's three-speed: 1210 backward at 1350.
func TestIdentifyThirdSpeedBackward(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	for _, c := range []struct {
		signed bool
		shell  int
		want   string
	}{
		{false, 1210, "D1 L1"}, {false, -1210, "D1 L1"}, {true, -1210, "D1 L1"}, {true, 1210, ""}, {false, 900, ""},
	} {
		x, err := identify(t, train, diagnosis.Readings{Signed: c.signed}, "turbine", 1350, "output-shaft", 550, "sun-shell", c.shell)
		if err != nil || ranges(x) != c.want {
			t.Errorf("shell %d, signed %v: %q, %v, want %q", c.shell, c.signed, ranges(x), err, c.want)
		}
	}
}

// An engine before a slipping converter turns faster than the input: its speed
// leaves the lower ratios possible.
func TestIdentifyByEngine(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	x, err := identify(t, train, diagnosis.Readings{Engine: true, Signed: true}, "turbine", 2000, "output-shaft", 1300)
	if err != nil || x.Best() != nil {
		t.Fatalf("a bound is taken for a gear: %v", err)
	}
	var names []string
	for n := range x.Matches {
		names = append(names, rangesOf(x, n))
	}
	if got := strings.Join(names, ","); got != "D2,D3" {
		t.Errorf("possible: %s", got)
	}
}

func TestIdentifyRefuses(t *testing.T) {
	train := library(t, "depot-shuttle-three-speed")
	if _, err := identify(t, train, diagnosis.Readings{}, "turbine", 2000); err == nil || !strings.Contains(err.Error(), "output is missing: write output-shaft=SPEED") {
		t.Errorf("no output: %v", err)
	}
	if _, err := identify(t, train, diagnosis.Readings{}, "turbine", 2000, "output-shaft", 0); err == nil || !strings.Contains(err.Error(), "stands") {
		t.Errorf("output at rest: %v", err)
	}
}

// The codes of SAE J2012 / ISO 15031-6, from summaries of them; gears 6 and 7 from
// public lists of the codes, gear 8 from memory.
func TestCodes(t *testing.T) {
	train := library(t, "four-carrier-eight-speed")
	sys := solve.Compile(train)
	for name, want := range map[string]string{
		"D1": "P0731", "D2": "P0732", "D5": "P0735", "D6": "P0729", "D7": "P076F", "D8": "P07D9", "R": "P0736", "N": "P0730",
	} {
		r, _ := train.Range(name)
		if got := diagnosis.CodeOf(sys, r).Code; got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
	manual := library(t, "simpson-three-speed")
	r, _ := manual.Range("M2")
	if got := diagnosis.CodeOf(solve.Compile(manual), r).Code; got != "P0732" {
		t.Errorf("M2: %s", got)
	}
}

// A range is known by what it applies, in whatever order the file lists it.
func TestIdentifyKnowsRanges(t *testing.T) {
	for _, name := range []string{"ravigneaux-four-speed", "overdrive-simpson-four-speed", "four-carrier-eight-speed", "simpson-rear-overdrive-four-speed"} {
		train := library(t, name)
		sys := solve.Compile(train)
		for r := range train.Ranges {
			o := sys.Motion(train.In(&train.Ranges[r]))
			if ratio, drives := o.Ratio(); drives {
				in, out := int(ratio.Rat().Num().Int64()), int(ratio.Rat().Denom().Int64())
				x, err := identify(t, train, diagnosis.Readings{Signed: true, Tolerance: exact.NewFrac(1, 1000000)},
					train.Members[train.Input].Name, in, train.Members[train.Output].Name, out)
				if err != nil {
					t.Fatal(err)
				}
				if best := x.Best(); best == nil || !slices.Contains(best.Ranges, r) {
					t.Errorf("%s: %s is not known by its ratio", name, train.Ranges[r].Name)
				}
			}
		}
	}
}
