package stage

import (
	"math"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// A course begins with its shift and ends a while after the last change of it, and speeds are
// per turn of the input where that is fastest, whichever way it turns.
func TestCourseIsOfTheShift(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	from, _ := train.Range("D1")
	to, _ := train.Range("D2")
	p, err := analysis.Open(train).Play(t.Context(), analysis.PlayQuestion{From: &train.Ranges[from], To: &train.Ranges[to]})
	if err != nil {
		t.Fatal(err)
	}
	figure := NewFigure(train, nil, train.Input, train.Output)
	for _, way := range []string{"forward", "backward"} {
		c := NewCourse(figure, train, p)
		last := c.Phases[len(c.Phases)-1].From
		if c.Times[0] != 0 || c.End() < 1.5*last || c.End() > 1.6*last || c.End() > p.Course.Time[len(p.Course.Time)-1] {
			t.Errorf("%s: the course goes from %v to %v s, the last change is at %v", way, c.Times[0], c.End(), last)
		}
		fastest := 0.0
		for _, speeds := range c.Speeds {
			fastest = max(fastest, math.Abs(*speeds[figure.Input]))
		}
		if fastest > 1 || fastest < 0.95 { // moments are left out
			t.Errorf("%s: the input turns %v at most", way, fastest)
		}
		for _, e := range p.Course.Members {
			for i := range e.Value {
				e.Value[i] = -e.Value[i]
			}
		}
	}
}

// What gears feel from outside has the sense in which the input turns as its sign. By hand, of
// a sun of 30 teeth that drives a carrier in a held ring of 60: 1, 2 and -3.
func TestTorquesHaveTheirSense(t *testing.T) {
	b := kinematics.NewBuilder("set")
	b.Simple("set", 30, 60, 15, false)
	b.Element("hold", kinematics.Brake, "set.ring", kinematics.HousingName)
	b.Ports("set.sun", "set.carrier")
	b.Range("D", "hold")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	answer, err := analysis.Open(train).Stage(t.Context(), 0, analysis.Condition{})
	if err != nil {
		t.Fatal(err)
	}
	figure := NewFigure(train, nil, train.Input, train.Output)
	scene := NewScene(figure, train, answer)
	for _, want := range []string{"set.sun +1.000", "set.ring +2.000", "set.carrier −3.000"} {
		found := false
		for _, text := range scene.Base.Torques {
			found = found || text == want
		}
		if !found {
			t.Errorf("%q, want %q among them", scene.Base.Torques, want)
		}
	}
}
