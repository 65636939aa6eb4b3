package stage

import (
	"context"
	"math"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// everyCase calls do with every range of a train under every single fault.
func everyCase(t *testing.T, name string, do func(train *kinematics.Train, a *analysis.Analysis, rng int, f kinematics.Fault)) {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	a := analysis.Open(train)
	for _, f := range train.SingleFaults() {
		for i := range train.Ranges {
			do(train, a, i, f)
		}
	}
}

// The frames of a tie-up are the engine's answers with one element set aside, and
// the lines are what the rest of the conflict does; the frame of the state as it is
// stands still.
func TestFramesAreTheEnginesAnswers(t *testing.T) {
	frames := 0
	for _, name := range []string{"simpson-three-speed", "ravigneaux-four-speed", "four-carrier-eight-speed", "depot-shuttle-three-speed"} {
		var system *solve.System
		everyCase(t, name, func(train *kinematics.Train, a *analysis.Analysis, rng int, f kinematics.Fault) {
			if system == nil {
				system = solve.Compile(train)
			}
			s, err := a.Stage(context.Background(), rng, []kinematics.Fault{f})
			if err != nil {
				t.Fatal(err)
			}
			if s.Story.Kind != reading.StoryConflict {
				return
			}
			r := &train.Ranges[rng]
			figure := NewFigure(train, kinematics.Acting([]kinematics.Fault{f}, r), r.Input, r.Output)
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
	if frames < 1000 {
		t.Errorf("only %d speeds were compared", frames)
	}
}

// A conflict that shows only when the vehicle is rolled is told while it is rolled: in
// each frame the output turns once the way that is asked, and what is set aside frees it.
func TestFramesOfRolling(t *testing.T) {
	frames := 0
	for _, name := range []string{"simpson-three-speed", "depot-shuttle-three-speed"} {
		everyCase(t, name, func(train *kinematics.Train, a *analysis.Analysis, rng int, f kinematics.Fault) {
			s, err := a.Stage(context.Background(), rng, []kinematics.Fault{f})
			if err != nil {
				t.Fatal(err)
			}
			if s.Story.Kind != reading.StoryRolling {
				return
			}
			r := &train.Ranges[rng]
			figure := NewFigure(train, kinematics.Acting([]kinematics.Fault{f}, r), r.Input, r.Output)
			scene := NewScene(figure, train, s)
			where := name + " " + r.Name + " " + train.FaultText(f)
			for k, l := range s.Story.Lines {
				frames++
				fr := scene.Frames[k+1]
				if v := fr.Speeds[figure.Output]; v == nil || math.Abs(*v) != 1 || !fr.Rolled || !fr.Elements[l.Element].Aside {
					t.Errorf("%s: frame %d does not roll without %s", where, k+2, train.Couplings[l.Element].Name)
				}
			}
			last := scene.Frames[len(scene.Frames)-1]
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
	s, err := analysis.Open(train).Stage(context.Background(), r, []kinematics.Fault{f})
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

// A lesson hides what moves in every number and word.
func TestHiddenSceneTellsNothing(t *testing.T) {
	train, err := gearsets.Library("simpson-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	f, _ := kinematics.ParseFault(train, "forward=stuck")
	n, _ := train.Range("N")
	a, err := analysis.Open(train).Stage(context.Background(), n, []kinematics.Fault{f})
	if err != nil {
		t.Fatal(err)
	}
	s := NewScene(NewFigure(train, nil, train.Input, train.Output), train, a)
	s.Hide(&train.Ranges[n])
	for _, v := range append(s.Base.Speeds, s.Base.Pinions...) {
		if v != nil {
			t.Error("a speed is told")
		}
	}
	for i, e := range s.Base.Elements {
		if name := train.Couplings[i].Name; e.Closed != (name == "forward") {
			t.Errorf("%s is closed: %v", name, e.Closed)
		}
	}
	if len(s.Frames)+len(s.Lines) > 0 || s.Healthy != nil {
		t.Error("the story is told")
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
		for k := range c.Does {
			if word := c.Words[c.Does[k][i]]; len(got) == 0 || got[len(got)-1] != word {
				got = append(got, word)
			}
		}
		if !slices.Equal(got, want) && !(name == "intermediate" && slices.Equal(got, []Text{"applied", ""})) {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	// In D2 the sun shell is held, in D3 it turns with the input.
	first, last := c.Tied[c.Ties[0]], c.Tied[c.Ties[len(c.Ties)-1]]
	if len(first.Held) != 1 || len(last.Held) != 0 || len(last.Inputs) <= len(first.Inputs) {
		t.Errorf("tied at first %+v, at last %+v", first, last)
	}
}
