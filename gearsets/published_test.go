package gearsets_test

import (
	"encoding/json"
	"maps"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// The files of testdata/published describe trains a second time, in the words
// of their sources. The tests here build them by a [kinematics.Builder], past
// the train file and its parser. testdata/published/README.md explains the fields.

const published = "../testdata/published/"

type publishedTrain struct {
	Name        string
	Gearsets    map[string]publishedSet
	Joined      [][]string
	Input       string
	Output      string
	Elements    map[string]publishedElement
	Ranges      map[string][]string
	RangeInput  map[string]string `json:"range_input"`
	RangeOutput map[string]string `json:"range_output"`
	Published   map[string]string
	Convention  string `json:"ratio_convention"`
	Rounding    string
	Recomputed  map[string]string
	Trust       string
	Source      []struct {
		What, Where string
		Recalled    bool `json:"from_memory"`
	}
}

type publishedSet struct {
	Type        string
	Sun, Ring   int64
	Planet      int64
	SunShort    int64 `json:"sun_short"`
	SunLong     int64 `json:"sun_long"`
	Left, Right int64
	A, B        int64
	Kind        string
	Meshes      [][]any // stepped: [gear, teeth, teeth of the step, kind]
}

type publishedElement struct {
	Kind     string
	Between  []string
	Ahead    string `json:"may_run_ahead"`
	Switched bool
}

type workedExample struct {
	ID         string
	Title      string
	Source     string
	Gearsets   map[string]publishedSet
	Joined     [][]string
	Given      map[string]string
	Ask        []string
	Printed    []string
	Recomputed map[string]string
}

type torqueExample struct {
	ID       string
	Source   string
	Trust    string
	Gearsets map[string]publishedSet
	Printed  map[string]any
	Lossless *struct{ Given, Ask map[string]string }
}

func readJSON(t *testing.T, path string, into any) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
}

func readPublishedTrains(t *testing.T) []publishedTrain {
	t.Helper()
	paths, err := filepath.Glob(published + "trains/*.json")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no published trains: %v", err)
	}
	trains := make([]publishedTrain, len(paths))
	for i, p := range paths {
		readJSON(t, p, &trains[i])
	}
	return trains
}

// member translates a name of the files to the model's.
func member(name string) string {
	set, part, dotted := strings.Cut(name, ".")
	switch part {
	case "planet":
		part = "pinion"
	case "sun_short":
		part = "sun-short"
	case "sun_long":
		part = "sun-long"
	}
	if !dotted {
		return set
	}
	return set + "." + part
}

// addSets puts the gearsets in b. Shafts must have been added before.
func addSets(t *testing.T, b *kinematics.Builder, sets map[string]publishedSet) {
	t.Helper()
	for _, name := range slices.Sorted(maps.Keys(sets)) {
		switch g := sets[name]; g.Type {
		case "simple":
			b.Simple(name, g.Sun, g.Ring, g.Planet, false)
		case "double-pinion":
			b.DoublePinion(name, g.Sun, g.Ring, 0, 0, false)
		case "ravigneaux":
			b.Ravigneaux(name, kinematics.RavigneauxSet{SunShort: g.SunShort, SunLong: g.SunLong, Ring: g.Ring})
		case "stepped":
			var steps []kinematics.Step
			for _, m := range g.Meshes {
				steps = append(steps, kinematics.Step{Part: m[0].(string), Teeth: int64(m[1].(float64)),
					PinionTeeth: int64(m[2].(float64)), Ring: m[3] == "internal"})
			}
			b.StepPinions(name, steps...)
		case "stepped-bevel":
			var steps []kinematics.Step
			for _, m := range g.Meshes {
				steps = append(steps, kinematics.Step{Part: m[0].(string), Teeth: int64(m[1].(float64)),
					PinionTeeth: int64(m[2].(float64)), Right: m[3] == "right"})
			}
			b.StepBevels(name, steps...)
		case "bevel":
			b.Bevel(name, g.Left, g.Right, 0, true)
		case "mesh":
			kind := kinematics.External
			if g.Kind == "internal" {
				kind = kinematics.Internal
			}
			b.Pair(name, g.A, g.B, kind, kinematics.HousingName, false)
		default:
			t.Fatalf("gearset %s is of kind %q", name, g.Type)
		}
	}
}

func join(b *kinematics.Builder, joined [][]string) {
	for i, j := range joined {
		var names []string
		for _, m := range j {
			names = append(names, member(m))
		}
		b.Join("joint"+string(rune('a'+i)), names...)
	}
}

var elementKinds = map[string]kinematics.CouplingKind{
	"clutch": kinematics.Clutch, "brake": kinematics.Brake, "band": kinematics.Band,
	"dog": kinematics.Dog, "oneway": kinematics.OneWay,
}

func (p *publishedTrain) build(t *testing.T) *kinematics.Train {
	t.Helper()
	b := kinematics.NewBuilder(p.Name)
	shafts := map[string]bool{}
	note := func(names ...string) {
		for _, n := range names {
			if !strings.Contains(n, ".") && n != kinematics.HousingName {
				shafts[n] = true
			}
		}
	}
	note(p.Input, p.Output)
	note(slices.Concat(p.Joined...)...)
	for _, e := range p.Elements {
		note(e.Between...)
	}
	b.Shaft(slices.Sorted(maps.Keys(shafts))...)
	addSets(t, b, p.Gearsets)
	join(b, p.Joined)
	for _, name := range slices.Sorted(maps.Keys(p.Elements)) {
		e := p.Elements[name]
		kind, known := elementKinds[e.Kind]
		if !known {
			t.Fatalf("%s: element %s is of kind %q", p.Name, name, e.Kind)
		}
		x, y := e.Between[0], e.Between[1]
		if e.Ahead == y {
			x, y = y, x
		}
		b.Element(name, kind, member(x), member(y)).Switched = e.Switched
	}
	b.Ports(member(p.Input), member(p.Output))
	for _, name := range slices.Sorted(maps.Keys(p.Ranges)) {
		b.Range(name, p.Ranges[name]...)
	}
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	for i := range train.Ranges {
		r := &train.Ranges[i]
		if m, own := p.RangeInput[r.Name]; own {
			r.Input, _ = train.Member(member(m))
		}
		if m, own := p.RangeOutput[r.Name]; own {
			r.Output, _ = train.Member(member(m))
		}
	}
	return train
}

// fraction reads "-33/7", "2.40" or "5".
func fraction(t *testing.T, text string) *big.Rat {
	t.Helper()
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		t.Fatalf("%q is no number", text)
	}
	return r
}

// agrees says whether a computed value is what a source printed: to half a
// unit of its last place, or to one unit if it cuts places off.
func agrees(t *testing.T, printed string, truncated bool, computed *big.Rat) bool {
	t.Helper()
	_, places, _ := strings.Cut(printed, ".")
	unit := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(len(places))), nil))
	off := new(big.Rat).Sub(fraction(t, printed), computed)
	off.Abs(off)
	if truncated {
		return off.Cmp(unit) <= 0
	}
	return off.Cmp(unit.Mul(unit, big.NewRat(1, 2))) <= 0
}

// turns returns output speed / input speed of a range that drives or whose
// output is held.
func turns(t *testing.T, o solve.Outcome) *big.Rat {
	t.Helper()
	switch o.Verdict {
	case solve.Forward, solve.Reverse:
		return o.OutputSpeed().Rat()
	case solve.OutputHeld:
		return new(big.Rat)
	}
	t.Errorf("the train reads %s: it has no ratio", o.Verdict)
	return nil
}

// Every source says where it was read, or that it was recalled, and what is recalled in
// part is not of the highest trust.
func TestPublishedTrust(t *testing.T) {
	check := func(name, trust, where string, recalled bool) {
		if where == "" {
			t.Errorf("%s: a source without a place", name)
		}
		if recalled && trust == "A" {
			t.Errorf("%s: trust A, although something was recalled: %s", name, where)
		}
	}
	for _, p := range readPublishedTrains(t) {
		for _, s := range p.Source {
			check(p.Name, p.Trust, s.Where, s.Recalled)
		}
		if len(p.Source) == 0 {
			t.Errorf("%s has no source", p.Name)
		}
	}
	var torques []torqueExample
	readJSON(t, published+"torque-efficiency.json", &torques)
	for _, x := range torques {
		check(x.ID, x.Trust, x.Source, strings.Contains(strings.ToLower(x.Source), "memory"))
	}
}

func TestPublishedTrains(t *testing.T) {
	for _, p := range readPublishedTrains(t) {
		t.Run(p.Name, func(t *testing.T) {
			if !slices.Contains([]string{"A", "A/B", "B"}, p.Trust) {
				t.Errorf("trust %q is not one to check against", p.Trust)
			}
			train := p.build(t)
			kernel := solve.Compile(train).Kernel()
			checked := 0
			for i := range train.Ranges {
				r := &train.Ranges[i]
				printed, isPrinted := p.Published[r.Name]
				exact, isExact := p.Recomputed[r.Name]
				if !isPrinted && !isExact {
					continue
				}
				ratio := turns(t, kernel.Outcome(train.In(r)))
				if ratio == nil {
					t.Errorf("range %s", r.Name)
					continue
				}
				if p.Convention == "input/output" {
					ratio.Inv(ratio)
				}
				if isExact && ratio.Cmp(fraction(t, exact)) != 0 {
					t.Errorf("range %s: %s is computed, an independent solver found %s", r.Name, ratio.RatString(), exact)
				}
				if isPrinted && !agrees(t, printed, p.Rounding == "truncated", ratio) {
					t.Errorf("range %s: %s is computed (%s), the source prints %s", r.Name, ratio.RatString(), ratio.FloatString(6), printed)
				}
				if isPrinted {
					checked++
				}
			}
			if checked != len(p.Published) {
				t.Errorf("%d printed ratios, %d of them checked", len(p.Published), checked)
			}
		})
	}
}

// bench is a train of gearsets alone, to be turned by hand.
func bench(t *testing.T, name string, sets map[string]publishedSet, joined [][]string) *kinematics.Train {
	t.Helper()
	b := kinematics.NewBuilder(name)
	addSets(t, b, sets)
	join(b, joined)
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// turned returns the speeds of the members asked for when others are given.
func turned(t *testing.T, train *kinematics.Train, given map[string]*big.Rat, ask ...string) []*big.Rat {
	t.Helper()
	id := func(name string) kinematics.MemberID {
		m, ok := train.Member(member(name))
		if !ok {
			t.Fatalf("no member %s", name)
		}
		return m
	}
	var list []solve.Given
	for _, name := range slices.Sorted(maps.Keys(given)) {
		list = append(list, solve.Given{Member: id(name), Speed: exact.FromRat(given[name])})
	}
	answer := solve.Compile(train).Turn(train.Applying().Modes, list)
	if answer.Locks {
		t.Fatal("the given speeds are said to lock")
	}
	var speeds []*big.Rat
	for _, name := range ask {
		w, one := answer.Members[id(name)].Point()
		if !one {
			t.Fatalf("%s has no one speed", name)
		}
		speeds = append(speeds, w.Rat())
	}
	return speeds
}

func TestWorkedExamples(t *testing.T) {
	var examples []workedExample
	readJSON(t, published+"worked-examples.json", &examples)
	for _, e := range examples {
		t.Run(e.ID, func(t *testing.T) {
			if e.Source == "" || len(e.Ask) == 0 || len(e.Ask) != len(e.Printed) {
				t.Fatal("an example has a source and a printed answer for everything asked")
			}
			given := map[string]*big.Rat{}
			for name, w := range e.Given {
				given[name] = fraction(t, w)
			}
			speeds := turned(t, bench(t, e.ID, e.Gearsets, e.Joined), given, e.Ask...)
			for i, name := range e.Ask {
				if exact := e.Recomputed[name]; speeds[i].Cmp(fraction(t, exact)) != 0 {
					t.Errorf("%s turns %s, an independent solver found %s", name, speeds[i].RatString(), exact)
				}
				if !agrees(t, e.Printed[i], false, speeds[i]) {
					t.Errorf("%s turns %s, the source prints %s", name, speeds[i].FloatString(6), e.Printed[i])
				}
			}
		})
	}
}

// Reactions do no work: with member z of a set at rest, T(x) w(x) + T(y) w(y) = 0.
// So the printed torques of lossless examples follow from speeds alone.
func TestLosslessTorques(t *testing.T) {
	var examples []torqueExample
	readJSON(t, published+"torque-efficiency.json", &examples)
	checked := 0
	for _, e := range examples {
		if e.Lossless == nil {
			continue
		}
		t.Run(e.ID, func(t *testing.T) {
			train := bench(t, e.ID, e.Gearsets, nil)
			set := train.Gearsets[0]
			central := []string{train.Members[set.Carrier].Name}
			for _, g := range set.Gears {
				central = append(central, train.Members[g.Member].Name)
			}
			for x, torque := range e.Lossless.Given {
				for y, printed := range e.Lossless.Ask {
					given := map[string]*big.Rat{y: big.NewRat(1, 1)}
					for _, z := range central {
						if z != x && z != y {
							given[z] = new(big.Rat)
						}
					}
					ty := turned(t, train, given, x)[0]
					ty.Neg(ty.Mul(ty, fraction(t, torque)))
					if !agrees(t, printed, false, ty) {
						t.Errorf("torque %s at %s gives %s at %s, the source prints %s", torque, x, ty.FloatString(4), y, printed)
					}
					checked++
				}
			}
		})
	}
	if checked == 0 {
		t.Error("no torque was checked")
	}
}
