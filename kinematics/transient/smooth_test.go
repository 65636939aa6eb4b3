package transient_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/transient"
)

// A smoothCase is a shift as testdata/smooth.py reads it.
type smoothCase struct {
	Inertia  []float64        `json:"inertia"`
	Vehicle  float64          `json:"vehicle"`
	Meshes   [][5]int64       `json:"meshes"`
	Rigid    [][2]int         `json:"rigid"`
	Unknown  []int            `json:"unknown"`
	Friction []smoothFriction `json:"friction"`
	OneWay   []smoothFriction `json:"one_way"`
	Input    int              `json:"input"`
	Output   int              `json:"output"`
	Torque   float64          `json:"torque"`
	Rolling  float64          `json:"rolling"`
	Drag     float64          `json:"drag"`
	Hold     float64          `json:"hold"`
	Eps      float64          `json:"eps"`
	Start    []float64        `json:"start"`
	Times    []float64        `json:"times"`
}

type smoothFriction struct {
	A      int     `json:"a"`
	B      int     `json:"b"`
	Before float64 `json:"before"`
	After  float64 `json:"after"`
	Start  float64 `json:"start"`
	End    float64 `json:"end"`
}

type smoothAnswer struct {
	Input  []float64   `json:"input"`
	Output []float64   `json:"output"`
	Heat   [][]float64 `json:"heat"`
}

// smoothCases are the shifts that are compared. Ramps are given for all that
// changes: smooth.py has no best time.
var smoothCases = []struct {
	train, from, to string
	torque, speed   float64
	release, apply  map[string]string
	stuck           string
}{
	{"depot-shuttle-three-speed", "D2", "D3", 120, 90, map[string]string{"intermediate": "0.20..0.35"}, map[string]string{"direct": "0.05..0.35"}, ""},
	{"depot-shuttle-three-speed", "D2", "D3", 120, 90, map[string]string{"intermediate": "0.02..0.10"}, map[string]string{"direct": "0.10..0.40"}, ""},
	{"depot-shuttle-three-speed", "D1", "D2", 120, 60, nil, map[string]string{"intermediate": "0.05..0.30"}, ""},
	{"depot-shuttle-three-speed", "D2", "D3", 120, 90, map[string]string{"intermediate": "0.05..0.20"}, map[string]string{"direct": "0.05..0.35"}, "intermediate"},
	{"four-carrier-eight-speed", "D5", "D6", 150, 150, map[string]string{"ring-brake": "0.10..0.20"}, map[string]string{"lock-clutch": "0.05..0.30"}, ""},
}

// smoothing are the slips, rad/s, over which smooth.py spreads the change of sign
// of friction.
var smoothing = []float64{1, 0.1, 0.01}

// The same shifts with smooth friction by SciPy's stiff integrator, from equations
// of motion of their own: the difference must shrink with the smoothing, as a
// coupling that sticks here creeps there with a slip of about its size. The first shift
// alone is compared unless TIEUP_EXHAUSTIVE is set.
func TestSmoothFriction(t *testing.T) {
	var cases []smoothCase
	var runs []*transient.Run
	for i, c := range smoothCases {
		if i > 0 && !thorough() {
			break
		}
		train, err := gearsets.Library(c.train)
		if err != nil {
			t.Fatal(err)
		}
		s := from(t, train, c.from, c.to)
		s.Torque, s.Speed, s.Until, s.Sample = c.torque, c.speed, 0.5, 0.01
		s.Release, s.Apply = ramps(t, train, c.release), ramps(t, train, c.apply)
		if c.stuck != "" {
			i, _ := train.Element(c.stuck)
			s.Faults = []kinematics.Fault{{Coupling: i, Kind: kinematics.Stuck}}
		}
		run, err := s.Run(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, eps := range smoothing {
			cases, runs = append(cases, smooth(s, run, eps)), append(runs, run)
		}
	}
	answers := scipy(t, cases)
	for i := 0; i < len(cases); i += len(smoothing) {
		c := smoothCases[i/len(smoothing)]
		name := fmt.Sprintf("%s %s-%s %v %s", c.train, c.from, c.to, c.release, c.stuck)
		last := math.Inf(1)
		for k, eps := range smoothing {
			d := distance(runs[i+k], answers[i+k])
			t.Logf("%s: smoothing %g rad/s, largest difference %.5f rad/s", name, eps, d)
			if d > last/4 {
				t.Errorf("%s: with smoothing %g the difference is %.5f rad/s, after %.5f", name, eps, d, last)
			}
			last = d
			if k == len(smoothing)-1 {
				heats(t, name, runs[i+k], answers[i+k])
			}
		}
		if last > 0.1 {
			t.Errorf("%s: %.5f rad/s apart", name, last)
		}
	}
}

// ramps reads ramps by element.
func ramps(t *testing.T, train *kinematics.Train, text map[string]string) []*kinematics.Ramp {
	t.Helper()
	list := make([]*kinematics.Ramp, len(train.Couplings))
	for name, span := range text {
		i, ok := train.Element(name)
		r, err := kinematics.ParseRamp(span)
		if !ok || err != nil {
			t.Fatal(name, err)
		}
		list[i] = &r
	}
	return list
}

// smooth writes a shift down for smooth.py, from the train and what was asked:
// nothing that the run computed but its start.
func smooth(s *transient.Shift, run *transient.Run, eps float64) smoothCase {
	train := s.System.Train
	c := smoothCase{
		Inertia: transient.Inertias(train), Vehicle: s.Vehicle.Inertia(), Unknown: []int{}, Rigid: [][2]int{},
		OneWay: []smoothFriction{}, Input: int(train.Input), Output: int(train.Output), Torque: s.Torque,
		Rolling: s.Vehicle.RollingTorque(), Drag: s.Vehicle.DragTorque(), Hold: 1000, Eps: eps, Times: run.Time,
	}
	for i, m := range train.Members {
		if m.Unknown {
			c.Unknown = append(c.Unknown, i)
		}
		c.Start = append(c.Start, run.Member(kinematics.MemberID(i))[0])
	}
	for _, m := range train.Meshes {
		c.Meshes = append(c.Meshes, [5]int64{int64(m.A), int64(m.B), int64(m.Carrier), m.ZA, m.Kind.Sign() * m.ZB})
	}
	before, after := train.In(s.From, s.Faults...), train.In(s.To, s.Faults...)
	for i, e := range train.Couplings {
		a, b := before.Modes[i], after.Modes[i]
		x := smoothFriction{A: int(e.A), B: int(e.B)}
		stuck := len(s.Faults) > 0 && s.Faults[0].Coupling == i
		switch {
		case e.Kind == kinematics.Spline || stuck:
			c.Rigid = append(c.Rigid, [2]int{int(e.A), int(e.B)})
		case e.Kind == kinematics.OneWay:
			c.OneWay = append(c.OneWay, x)
		case a == kinematics.Locked || b == kinematics.Locked:
			rating := s.Ratings[i].Torque.Float()
			x.End = 1e-9
			switch {
			case a != b && b == kinematics.Locked:
				x.After, x.Start, x.End = rating, s.Apply[i].Start, s.Apply[i].End
			case a != b:
				x.Before, x.Start, x.End = rating, s.Release[i].Start, s.Release[i].End
			default:
				x.Before, x.After = rating, rating
			}
			c.Friction = append(c.Friction, x)
		}
	}
	return c
}

// pythonWithSciPy finds a Python that has SciPy. Without one the test is left out,
// but not on a machine that checks the whole repository.
func pythonWithSciPy(t *testing.T) string {
	t.Helper()
	for _, python := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(python, "-c", "import scipy.integrate").Run() == nil {
			return python
		}
	}
	const advice = "no Python with SciPy here: apt-get install python3-scipy"
	if os.Getenv("CI") != "" {
		t.Fatal(advice)
	}
	t.Skip(advice)
	return ""
}

// scipy runs smooth.py, which needs Debian's python3-scipy.
func scipy(t *testing.T, cases []smoothCase) []smoothAnswer {
	t.Helper()
	in, err := json.Marshal(cases)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(pythonWithSciPy(t), "testdata/smooth.py")
	var out, problems bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(in), &out, &problems
	cmd.Env = append(cmd.Environ(), "OPENBLAS_NUM_THREADS=1")
	if err := cmd.Run(); err != nil {
		lines := strings.Split(strings.TrimSpace(problems.String()), "\n")
		t.Fatalf("SciPy failed (%v: %s)", err, lines[len(lines)-1])
	}
	var answers []smoothAnswer
	if err := json.Unmarshal(out.Bytes(), &answers); err != nil || len(answers) != len(cases) {
		t.Fatalf("%d answers: %v", len(answers), err)
	}
	return answers
}

// distance is the largest difference of input or output speed.
func distance(run *transient.Run, a smoothAnswer) float64 {
	forward := float64(run.Shift.System.Train.Forward)
	d := 0.0
	for i := range run.Time {
		d = max(d, math.Abs(run.Input[i]-a.Input[i]), math.Abs(forward*run.Output[i]-a.Output[i]))
	}
	return d
}

// heats compares the heat of every friction element.
func heats(t *testing.T, name string, run *transient.Run, a smoothAnswer) {
	t.Helper()
	k := 0
	for _, track := range run.Tracks {
		c := run.Shift.System.Train.Couplings[track.Coupling]
		if !c.Kind.Friction() || len(run.Shift.Faults) > 0 && run.Shift.Faults[0].Coupling == track.Coupling {
			continue
		}
		smooth := a.Heat[k][len(a.Heat[k])-1]
		k++
		if math.Abs(track.TotalHeat()-smooth) > 2+0.005*smooth {
			t.Errorf("%s: heat in %s %.1f J, smooth %.1f J", name, c.Name, track.TotalHeat(), smooth)
		}
	}
}
