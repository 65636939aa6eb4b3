package stage

import (
	"context"
	"encoding/json"
	"maps"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// everyCase calls do with every range of a train under every single fault.
func everyCase(t *testing.T, name string,
	do func(train *kinematics.Train, a *analysis.Analysis, rng int, f kinematics.Fault, figure *Figure)) {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	a := analysis.Open(train)
	figures := map[string]*Figure{}
	for _, f := range train.SingleFaults() {
		for i := range train.Ranges {
			r := &train.Ranges[i]
			acting := kinematics.Acting([]kinematics.Fault{f}, r)
			key := Key(train, acting, r.Input, r.Output)
			if figures[key] == nil {
				figures[key] = NewFigure(train, acting, r.Input, r.Output)
			}
			do(train, a, i, f, figures[key])
		}
	}
}

// The frames of a tie-up are the engine's answers with one element set aside, and
// the lines are what the rest of the conflict does; the frame of the state as it is
// stands still. One case in four is looked at unless TIEUP_EXHAUSTIVE is set.
func TestFramesAreTheEnginesAnswers(t *testing.T) {
	cases, frames := 0, 0
	for _, name := range []string{"simpson-three-speed", "ravigneaux-four-speed", "four-carrier-eight-speed", "depot-shuttle-three-speed"} {
		var system *solve.System
		everyCase(t, name, func(train *kinematics.Train, a *analysis.Analysis, rng int, f kinematics.Fault, figure *Figure) {
			if cases++; cases%4 != 0 && os.Getenv("TIEUP_EXHAUSTIVE") == "" {
				return
			}
			if system == nil {
				system = solve.Compile(train)
			}
			s, err := a.Stage(context.Background(), rng, analysis.Under(f))
			if err != nil {
				t.Fatal(err)
			}
			if s.Story.Kind != reading.StoryConflict {
				return
			}
			r := &train.Ranges[rng]
			scene := NewScene(figure, train, s)
			for k, l := range s.Story.Lines {
				st := train.In(r, f)
				st.Modes[l.Element] = kinematics.Open
				motion := system.Motion(st)
				for b := range figure.Bodies {
					frames++
					same(t, name+" "+r.Name+" "+train.FaultText(f), scene.Frames[k].Speeds[b], motion.Members[figure.Bodies[b].members[0]].Interval)
				}
				if !scene.Frames[k].Elements[l.Element].Aside {
					t.Errorf("%s, %s: %s is not set aside in frame %d", name, r.Name, train.Couplings[l.Element].Name, k+1)
				}
			}
			if rest := scene.Frames[scene.Rest]; rest.Line != -1 {
				t.Errorf("%s, %s: the state as it is shows line %d", name, r.Name, rest.Line)
			}
		})
	}
	if frames < 250 {
		t.Errorf("only %d speeds were compared", frames)
	}
}

// A conflict that shows only when the vehicle is rolled is told while it is rolled: in
// each frame the output turns once the way that is asked, and what is set aside frees it.
func TestFramesOfRolling(t *testing.T) {
	frames := 0
	for _, name := range []string{"simpson-three-speed", "depot-shuttle-three-speed"} {
		everyCase(t, name, func(train *kinematics.Train, a *analysis.Analysis, rng int, f kinematics.Fault, figure *Figure) {
			s, err := a.Stage(context.Background(), rng, analysis.Under(f))
			if err != nil {
				t.Fatal(err)
			}
			if s.Story.Kind != reading.StoryRolling {
				return
			}
			r := &train.Ranges[rng]
			scene := NewScene(figure, train, s)
			where := name + " " + r.Name + " " + train.FaultText(f)
			for k, l := range s.Story.Lines {
				frames++
				fr := scene.Frames[k+1]
				marked(t, where, &fr, s.Story.Lines)
				if v := fr.Speeds[figure.Output]; v == nil || math.Abs(*v) != 1 || !fr.Rolled || !fr.Elements[l.Element].Aside {
					t.Errorf("%s: frame %d does not roll without %s", where, k+2, train.Couplings[l.Element].Name)
				}
			}
			last := scene.Frames[len(scene.Frames)-1]
			marked(t, where, &last, s.Story.Lines)
			for i, e := range scene.Frames[scene.Rest].Elements {
				if e.Conflict {
					t.Errorf("%s: %s contradicts while nothing rolls", where, train.Couplings[i].Name)
				}
			}
			if v := last.Speeds[figure.Output]; v == nil || *v != 0 {
				t.Errorf("%s: the vehicle rolls in the last frame", where)
			}
			if scene.Rest != 0 || !scene.Rolling || len(scene.Lines) < 1 {
				t.Errorf("%s: the state as it is is frame %d of %d", where, scene.Rest+1, len(scene.Frames))
			}
		})
	}
	if frames < 10 {
		t.Errorf("only %d frames were looked at", frames)
	}
}

// marked checks that in a frame of rolling just the elements of the conflict are marked as such,
// and that they hold but for the one that is set aside.
func marked(t *testing.T, where string, fr *Frame, lines []reading.StoryLine) {
	t.Helper()
	for i, e := range fr.Elements {
		of := slices.ContainsFunc(lines, func(l reading.StoryLine) bool { return l.Element == i })
		if e.Conflict != of || of && e.Closed == e.Aside {
			t.Errorf("%s: element %d of the conflict (%v) is %+v", where, i, of, e)
		}
	}
}

// same compares a speed of a frame with the engine's.
func same(t *testing.T, where string, got Speed, want exact.Interval) {
	t.Helper()
	f, one := want.Point()
	switch {
	case !one && got == nil:
	case one != (got != nil), math.Abs(*got-f.Float()) > 1e-12:
		t.Errorf("%s: a body has another speed than the engine says, %v", where, want)
	}
}

// R with the forward clutch stuck on: each of the three elements set aside in turn
// leaves the published ratios of first, reverse and third (testdata, from the train
// file's source), and the output is asked for their inverses.
func TestReverseWithForwardStuck(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	f, _ := kinematics.ParseFault(train, "forward=stuck")
	r, _ := train.Range("R")
	s, err := analysis.Open(train).Stage(context.Background(), r, analysis.Under(f))
	if err != nil {
		t.Fatal(err)
	}
	figure := NewFigure(train, nil, train.Input, train.Output)
	scene := NewScene(figure, train, s)
	asked := map[string]float64{}
	for _, l := range scene.Lines {
		asked[figure.Elements[l.Aside].Name] = *l.Speeds[figure.Output]
	}
	for name, ratio := range map[string]float64{"forward": -2.0857, "direct": 2.4795, "low-reverse": 1} {
		if math.Abs(1/asked[name]-ratio) > 5e-5 {
			t.Errorf("without %s the ratio is %.4f, published %.4f", name, 1/asked[name], ratio)
		}
	}
	if scene.Ring != "one output, three speeds" || scene.Ringed != figure.Output {
		t.Errorf("the ring says %q of body %d", scene.Ring, scene.Ringed)
	}
	if want := "forward (stuck on), direct and low-reverse cannot all hold: they ask the output for three different speeds."; s.Reason != want {
		t.Errorf("the reason is %q", s.Reason)
	}
	last := scene.Frames[len(scene.Frames)-1]
	if last.Head != "without forward: backward at 2.09" || !last.Calm {
		t.Errorf("the last frame is %q, calm %v", last.Head, last.Calm)
	}
}

// Colours are given out in order, input and output first; tags are two letters and
// no two bodies of a train have the same.
func TestBodiesCanBeToldApart(t *testing.T) {
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		f := NewFigure(train, nil, train.Input, train.Output)
		tags, looks := map[string]bool{}, map[[2]int]bool{}
		for _, b := range f.Bodies {
			if len(b.Tag) != 2 || tags[b.Tag] {
				t.Errorf("%s: the tag of %s is %q", name, b.Name, b.Tag)
			}
			if look := [2]int{b.Hue, b.Hatch}; looks[look] {
				t.Errorf("%s: %s looks like another body", name, b.Name)
			} else {
				looks[look] = true
			}
			tags[b.Tag] = true
		}
		if f.Bodies[f.Input].Hue != 1 || f.Bodies[f.Output].Hue != 2 {
			t.Errorf("%s: input and output have the hues %d and %d", name, f.Bodies[f.Input].Hue, f.Bodies[f.Output].Hue)
		}
	}
}

// A joint that shears makes one body more, and another figure.
func TestShearedJointSplitsABody(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	f, err := kinematics.ParseFault(train, "shell:front.sun=sheared")
	if err != nil {
		t.Fatal(err)
	}
	whole, split := NewFigure(train, nil, train.Input, train.Output), NewFigure(train, []kinematics.Fault{f}, train.Input, train.Output)
	if len(split.Bodies) != len(whole.Bodies)+1 || split.Key == whole.Key {
		t.Errorf("%d bodies became %d, key %s and %s", len(whole.Bodies), len(split.Bodies), whole.Key, split.Key)
	}
}

// A lesson hides what moves in every number and word: what is left of a scene are the elements
// that the range applies and those at fault. In D1 the range applies forward, its one-way clutch
// holds, and the load goes over both; in R with forward stuck on three elements contradict each
// other; in N forward drives, and with the brake of second nothing binds until the vehicle is rolled.
func TestHiddenSceneTellsNothing(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	stuck := train.MustFault("forward=stuck")
	for _, tt := range []struct {
		of     string
		faults []kinematics.Fault
		shown  map[string]ElementState
	}{
		{"D1", nil, map[string]ElementState{"forward": {Word: "applied", Closed: true}}},
		{"N", []kinematics.Fault{stuck}, map[string]ElementState{"forward": {Word: "stuck on", Closed: true, Faulty: true}}},
		{"R", []kinematics.Fault{stuck}, map[string]ElementState{"forward": {Word: "stuck on", Closed: true, Faulty: true},
			"direct": {Word: "applied", Closed: true}, "low-reverse": {Word: "applied", Closed: true}}},
		{"N", []kinematics.Fault{train.MustFault("second-coast=stuck")}, map[string]ElementState{
			"second-coast": {Word: "stuck on", Closed: true, Faulty: true}}},
	} {
		r, _ := train.Range(tt.of)
		a, err := analysis.Open(train).Stage(t.Context(), r, analysis.Under(tt.faults...))
		if err != nil {
			t.Fatal(err)
		}
		figure := NewFigure(train, nil, train.Input, train.Output)
		s := NewScene(figure, train, a)
		if tt.of == "D1" && (len(s.Base.Loaded) == 0 || len(s.Base.Inputs) == 0 || s.Base.Torques[figure.Output] == "") {
			t.Errorf("nothing to hide: %+v", s.Base)
		}
		s.Hide(train.Ranges[r].Apply)
		want := &Scene{Rest: -1, Ringed: -1, Base: Frame{Hidden: true, Line: -1,
			Speeds: make([]Speed, len(figure.Bodies)), Free: make([]Text, len(figure.Bodies)),
			Pinions: make([]Speed, len(figure.Pinions))}}
		for _, e := range figure.Elements {
			want.Base.Elements = append(want.Base.Elements, tt.shown[e.Name])
		}
		got, err1 := json.Marshal(s)
		wanted, err2 := json.Marshal(want)
		if err1 != nil || err2 != nil || string(got) != string(wanted) {
			t.Errorf("%s: the hidden scene is\n%s, want\n%s", tt.of, got, wanted)
		}
	}
}

// Over a shift in time the elements do what its ramps and speeds say: intermediate lets
// go, direct takes hold, slips, and holds.
func TestElementsOfAShift(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	from, _ := train.Range("D2")
	to, _ := train.Range("D3")
	p, err := analysis.Open(train).Play(t.Context(), analysis.PlayQuestion{From: &train.Ranges[from], To: &train.Ranges[to]})
	if err != nil {
		t.Fatal(err)
	}
	c := NewCourse(NewFigure(train, nil, train.Input, train.Output), train, p)
	for name, want := range map[string][]Text{
		"forward": {"applied"}, "intermediate": {"applied", "slips", ""}, "direct": {"", "slips", "applied"},
	} {
		i, _ := train.Element(name)
		var got []Text
		for _, k := range c.Phase {
			if word := c.Words[c.Phases[k].Does[i]]; len(got) == 0 || got[len(got)-1] != word {
				got = append(got, word)
			}
		}
		if !slices.Equal(got, want) && !(name == "intermediate" && slices.Equal(got, []Text{"applied", ""})) {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	// In D2 the sun shell is held, in D3 it turns with the input.
	first, last := c.Phases[0], c.At(c.End())
	if len(first.Held) != 1 || len(last.Held) != 0 || len(last.Inputs) <= len(first.Inputs) {
		t.Errorf("tied at first %+v, at last %+v", first, last)
	}
}

// oneSet builds a train of one set, of a sun of 30 teeth that a clutch drives, a carrier that is the
// output, and a ring of 60.
func oneSet(t *testing.T, elements func(b *kinematics.Builder)) *kinematics.Train {
	t.Helper()
	b := kinematics.NewBuilder("set")
	b.Simple("set", 30, 60, 15, false)
	b.Shaft("in")
	b.Element("drive", kinematics.Clutch, "in", "set.sun")
	b.Ports("in", "set.carrier")
	elements(b)
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// Two brakes that hold one ring can share its load in any way: no torque is told, both are loaded,
// and no body is named twice.
func TestSharedLoadTellsNoTorque(t *testing.T) {
	train := oneSet(t, func(b *kinematics.Builder) {
		b.Element("left", kinematics.Brake, "set.ring", kinematics.HousingName)
		b.Element("right", kinematics.Brake, "set.ring", kinematics.HousingName)
		b.Range("D", "drive", "left", "right")
	})
	a, err := analysis.Open(train).Stage(t.Context(), 0, analysis.Condition{})
	if err != nil {
		t.Fatal(err)
	}
	figure := NewFigure(train, nil, train.Input, train.Output)
	base := NewScene(figure, train, a).Base
	for b, text := range base.Torques {
		if text != "shared in more ways than one" {
			t.Errorf("%s feels %q", figure.Bodies[b].Name, text)
		}
	}
	if len(base.Torques) != 4 {
		t.Errorf("torques %q", base.Torques)
	}
	for i, e := range base.Elements {
		if !e.Loaded {
			t.Errorf("%s carries no load", figure.Elements[i].Name)
		}
	}
	loaded := slices.Sorted(slices.Values(base.Loaded))
	if !slices.Equal(loaded, []int{0, 1, 2, 3}) {
		t.Errorf("the bodies %d are loaded, all four carry the load once", loaded)
	}
}

// The healthy range beside a fault has the words of a sound train: the clutch is applied, the
// one-way clutch holds, the brake of reverse does nothing, and none of them is at fault.
func TestHealthyWords(t *testing.T) {
	train := oneSet(t, func(b *kinematics.Builder) {
		b.Element("sprag", kinematics.OneWay, "set.ring", kinematics.HousingName)
		b.Element("low", kinematics.Brake, "set.ring", kinematics.HousingName)
		b.Range("D", "drive")
		b.Range("L", "drive", "low")
	})
	for _, fault := range []string{"sprag=slips", "drive=open", "low=stuck"} {
		a, err := analysis.Open(train).Stage(t.Context(), 0, analysis.Under(train.MustFault(fault)))
		if err != nil {
			t.Fatal(err)
		}
		s := NewScene(NewFigure(train, nil, train.Input, train.Output), train, a)
		if s.Healthy == nil {
			t.Fatalf("%s: no healthy range", fault)
		}
		got := map[string]ElementState{}
		for i, e := range s.Healthy.Elements {
			got[train.Couplings[i].Name] = e
		}
		want := map[string]ElementState{"drive": {Word: "applied", Closed: true}, "sprag": {Word: "holds", Closed: true}, "low": {}}
		if !maps.Equal(got, want) {
			t.Errorf("%s: the healthy range is %+v, want %+v", fault, got, want)
		}
		faulty, _ := train.Element(strings.Split(fault, "=")[0])
		if e := s.Base.Elements[faulty]; !e.Faulty || e.Closed != (fault == "low=stuck") {
			t.Errorf("%s: it is %+v", fault, e)
		}
	}
}

// A body that several lines ask for the same speed is asked for it once, and one that is not asked
// for two has nothing to tell.
func TestRingCountsEachSpeedOnce(t *testing.T) {
	figure := &Figure{Bodies: []Body{{Name: "turbine"}, {Name: "hub"}, {Name: "shell"}}, Output: 1}
	one, half := 1.0, 0.5
	lines := func(speeds ...Speed) []Line {
		var list []Line
		for _, v := range speeds {
			list = append(list, Line{Speeds: []Speed{v, v, v}})
		}
		return list
	}
	again := 1.0
	for _, tt := range []struct {
		body  int
		lines []Line
		want  string
	}{
		{2, lines(&one, &half, &again), "one shell, two speeds"},
		{1, lines(&half, &one, nil, &half), "one output, two speeds"},
		{0, lines(&one, &half), "one input, two speeds"},
		{2, lines(&one, &again), ""},
		{2, lines(&one, nil), ""},
	} {
		if got := ring(figure, tt.body, tt.lines); got != tt.want {
			t.Errorf("body %d of %d lines: %q, want %q", tt.body, len(tt.lines), got, tt.want)
		}
	}
}

// What is tied to the input is not tied to what the input is held by, nor the other way round:
// ways go over bodies between, not over the input or the housing. Bodies: the input, two that
// clutches join to it and to each other in a row, one that a brake holds.
func TestTiesEndAtInputAndHousing(t *testing.T) {
	figure := &Figure{Bodies: make([]Body, 4), Elements: []Element{
		{Name: "first", A: 0, B: 1}, {Name: "second", A: 2, B: 1}, {Name: "brake", A: 3, B: -1}, {Name: "held", A: 0, B: -1},
	}}
	first, second, brake, held := 0, 1, 2, 3
	for _, tt := range []struct {
		closed, aside []int
		inputs, held  []Tie
	}{
		{[]int{first, second, brake}, nil, []Tie{{1, []int{first}}, {2, []int{first, second}}}, []Tie{{3, []int{brake}}}},
		{[]int{first, second, brake, held}, nil, []Tie{{1, []int{first}}, {2, []int{first, second}}},
			[]Tie{{0, []int{held}}, {3, []int{brake}}}},
		{[]int{first, second, brake, held}, []int{first}, nil, []Tie{{0, []int{held}}, {3, []int{brake}}}},
		{[]int{second}, nil, nil, nil},
	} {
		fr := Frame{Elements: make([]ElementState, 4)}
		for i := range fr.Elements {
			fr.Elements[i] = ElementState{Closed: slices.Contains(tt.closed, i), Aside: slices.Contains(tt.aside, i)}
		}
		(&sceneBuilder{f: figure}).ties(&fr)
		if !reflect.DeepEqual([]Tie(fr.Inputs), tt.inputs) || !reflect.DeepEqual([]Tie(fr.Held), tt.held) {
			t.Errorf("closed %d, aside %d: tied to the input %v, to the housing %v; want %v and %v", tt.closed, tt.aside,
				fr.Inputs, fr.Held, tt.inputs, tt.held)
		}
	}
}

// The frame in which a hand stands in for what is missing shows that element open and the
// member held by nothing else; so does the frame of an element that never holds say so, and
// that of the healthy range that it is healthy.
func TestFrameHeldByHand(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	a := analysis.Open(train)
	scene := func(rng, element string, kind kinematics.FaultKind) (*Figure, *Scene, int) {
		t.Helper()
		i, _ := train.Range(rng)
		c, _ := train.Coupling(element)
		faults := []kinematics.Fault{{Coupling: c, Kind: kind}}
		s, err := a.Stage(context.Background(), i, analysis.Under(faults...))
		if err != nil {
			t.Fatal(err)
		}
		f := NewFigure(train, faults, train.Ranges[i].Input, train.Ranges[i].Output)
		return f, NewScene(f, train, s), c
	}
	f, s, roller := scene("D1", "low-roller", kinematics.Slips)
	last := s.Frames[len(s.Frames)-1]
	if e := last.Elements[roller]; !last.ByHand || e.Closed || e.Word != "slips" {
		t.Errorf("by hand %v: low-roller is %+v", last.ByHand, e)
	}
	for _, tie := range last.Held {
		if f.Bodies[tie.Body].Name == "rear.carrier" {
			t.Errorf("rear.carrier is held by %v, too", tie.By)
		}
	}
	_, s, dead := scene("D2", "intermediate", kinematics.OpenF)
	if !s.Frames[0].Healthy || s.Frames[1].Healthy {
		t.Errorf("healthy frames: %v, %v", s.Frames[0].Healthy, s.Frames[1].Healthy)
	}
	if e := s.Frames[2].Elements[dead]; !e.Aside || e.Word != "does not hold" {
		t.Errorf("intermediate is %+v", e)
	}
}

// A one-way clutch that overruns in the healthy range is told to, whatever its own fault.
func TestHealthyOverruns(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	i, _ := train.Range("D2")
	a, err := analysis.Open(train).Stage(t.Context(), i, analysis.Under(train.MustFault("low-roller=slips")))
	if err != nil {
		t.Fatal(err)
	}
	s := NewScene(NewFigure(train, nil, train.Input, train.Output), train, a)
	roller, _ := train.Element("low-roller")
	if e := s.Healthy.Elements[roller]; e != (ElementState{Word: "overruns"}) {
		t.Errorf("healthy, low-roller is %+v", e)
	}
}

// No frame of a story is the picture of the one before it with other words.
func TestFramesDiffer(t *testing.T) {
	frames := 0
	for _, name := range []string{"simpson-three-speed", "rotor-final-drive", "power-split-hybrid"} {
		everyCase(t, name, func(train *kinematics.Train, a *analysis.Analysis, rng int, f kinematics.Fault, figure *Figure) {
			x, err := a.Stage(t.Context(), rng, analysis.Under(f))
			if err != nil {
				t.Fatal(err)
			}
			r := &train.Ranges[rng]
			s := NewScene(figure, train, x)
			before := ""
			for k, fr := range s.Frames {
				fr.Head, fr.Text, fr.Torques = "", "", nil
				b, err := json.Marshal(fr)
				if err != nil {
					t.Fatal(err)
				}
				picture := string(b)
				if k == s.Rest && s.Healthy != nil && len(s.Lines) == 0 {
					picture += "beside the healthy line"
				}
				if picture == before {
					t.Errorf("%s, %s with %s: frames %d and %d are one picture: %q, %q", name, r.Name, train.FaultText(f), k, k+1,
						s.Frames[k-1].Text, s.Frames[k].Text)
				}
				before, frames = picture, frames+1
			}
		})
	}
	if frames < 100 {
		t.Errorf("only %d frames", frames)
	}
}

// What drives in neutral is told by what it hangs on: the frame in which the reaction is caught
// marks where and by what, beside the motion before; the next has the line of first. A lost
// element leaves an empty frame, and the sign of what it held.
func TestFramesShowWhatTheySay(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	a := analysis.Open(train)
	scene := func(rng, fault string) (*Figure, *Scene) {
		i, _ := train.Range(rng)
		x, err := a.Stage(t.Context(), i, analysis.Under(train.MustFault(fault)))
		if err != nil {
			t.Fatal(err)
		}
		f := NewFigure(train, nil, train.Ranges[i].Input, train.Ranges[i].Output)
		return f, NewScene(f, train, x)
	}
	body := func(f *Figure, name string) int {
		return slices.IndexFunc(f.Bodies, func(b Body) bool { return b.Name == name })
	}
	f, s := scene("N", "forward=stuck")
	carrier := body(f, "rear.carrier")
	roller, _ := train.Element("low-roller")
	pushed, caught, last := s.Frames[2], s.Frames[3], s.Frames[4]
	if !slices.Equal(caught.Catches, List[int]{carrier}) || !caught.Elements[roller].Catches || len(caught.Loaded) > 0 ||
		!reflect.DeepEqual(caught.Beside, pushed.Speeds) || caught.Besides == "" || len(pushed.Catches) > 0 {
		t.Errorf("caught: %+v", caught)
	}
	if last.Same != "D1" || len(last.Loaded) == 0 || len(last.Catches) > 0 {
		t.Errorf("at last: %+v", last)
	}
	if want := "the input pushes rear.carrier backward at −0.676"; !strings.Contains(pushed.Text, want) {
		t.Errorf("%q lacks %q", pushed.Text, want)
	}
	f, s = scene("D2", "intermediate=open")
	dead, _ := train.Element("intermediate")
	if fr := s.Frames[1]; fr.Same != "D1" || fr.Elements[dead].Gone {
		t.Errorf("the state as it is: %+v", fr)
	}
	if fr := s.Frames[2]; !fr.Elements[dead].Gone || !slices.Contains(fr.Lacks, body(f, "sun-shell")) {
		t.Errorf("the lost element: %+v", fr)
	}
	if fr := s.Frames[3]; !fr.Elements[dead].Gone || len(fr.Lacks) > 0 || !slices.Equal(fr.Missed, List[string]{"D2"}) {
		t.Errorf("where it shows: %+v", fr)
	}
	f, s = scene("D1", "forward=open")
	if ring := body(f, "front.ring"); !slices.Equal(s.Base.Undriven, List[int]{ring}) {
		t.Errorf("not driven: %v, not %d", s.Base.Undriven, ring)
	}
}

func TestTrueMinus(t *testing.T) {
	for text, want := range map[string]string{
		"-1": "−1", "at -0.676 (-73/108)": "at −0.676 (−73/108)", "D1-2, low-1, 2026-11-30, --1, x.-3": "D1-2, low-1, 2026-11-30, --1, x.-3",
		"sun-shell": "sun-shell", "-0.5 to -0.25": "−0.5 to −0.25",
	} {
		if got := TrueMinus(text); got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}

// A bevel that is seen from its side has its tip in the middle of the other, and its large end
// at that one's rim.
func TestCrossedBevels(t *testing.T) {
	train, err := gearsets.Library("rotor-final-drive")
	if err != nil {
		t.Fatal(err)
	}
	g := NewFigure(train, nil, train.Input, train.Output).Sets[0]
	wheel, cone := g.Suns[0], g.Suns[1]
	if g.Kind != "crossed" || wheel.Teeth != 71 || cone.Teeth != 19 || wheel.Edge != 0 || len(g.Rings) > 0 {
		t.Fatalf("%+v", g)
	}
	if x := cone.X - cone.Edge/2; math.Abs(x-(wheel.X-wheel.R)) > 1e-9 || math.Abs(cone.R/wheel.R-19.0/71) > 1e-9 {
		t.Errorf("%+v does not lie on %+v", cone, wheel)
	}
}
