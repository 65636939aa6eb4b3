package plots

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
	"tieup/kinematics/transient"
)

// An InTime is a shift played in time, or several timings of it over one another:
// speeds above, the output torque, and the heat of the elements.
type InTime struct {
	Train  *kinematics.Train
	From   string
	To     string
	Faults []kinematics.Fault
	End    float64 // s after the command
	Strips []Strip // what lets go and takes hold; of a single play
	Panels []TimePanel
	Notes  []string
}

// A Strip is how much of what it can hold an element is given, 0 to 1.
type Strip struct {
	Label string
	Time  []float64
	Share []float64
}

// A TimePanel is a scale over time with its lines.
type TimePanel struct {
	Name  string // with the unit
	Lines []TimeLine
	Marks []TimeMark
}

// A TimeLine is a quantity over time.
type TimeLine struct {
	Label string
	Time  []float64
	Value []float64
	// Look is the number of the colour and dash; -1 is the main line of a panel,
	// -2 what it is compared with.
	Look int
}

// A TimeMark is a moment that has a name.
type TimeMark struct {
	Time, Value float64
	Label       string
}

// The looks of lines that belong to no element.
const (
	mainLook  = -1
	timedLook = -2
)

// ShiftInTime makes the drawing of one answer, or of several of the same ranges
// with other timings or faults, each with its label.
func ShiftInTime(answers []*transient.Answer, labels []string) (*InTime, error) {
	if len(answers) == 0 || len(labels) != len(answers) {
		return nil, fmt.Errorf("%d shifts with %d labels: give each its label", len(answers), len(labels))
	}
	s := answers[0].Shift
	d := &InTime{Train: s.System.Train, From: s.From.Name, To: s.To.Name}
	for _, a := range answers {
		if a.Shift.System.Train != d.Train || a.Shift.From.Name != d.From || a.Shift.To.Name != d.To {
			return nil, fmt.Errorf("%s to %s cannot be laid over %s to %s: give one shift with several timings",
				a.Shift.From.Name, a.Shift.To.Name, d.From, d.To)
		}
		d.End = max(d.End, a.Run.Time[len(a.Run.Time)-1])
	}
	if len(answers) == 1 {
		d.Faults = s.Faults
		d.one(answers[0])
	} else {
		d.several(answers, labels)
	}
	d.Notes = []string{
		fmt.Sprintf("%s at the input; %s; %s. Output speed and torque count as the vehicle moves forward, all else as the input turns.", torqueNote(s), startNote(s, answers[0].Run), vehicleNote(s)),
		"Assumed: " + strings.Join(assumed(answers), "; ") + ".",
	}
	return d, nil
}

// assumed lists what is assumed in all answers.
func assumed(answers []*transient.Answer) []string {
	var list []string
	for _, line := range answers[0].Assumed() {
		shared := true
		for _, a := range answers[1:] {
			shared = shared && slices.Contains(a.Assumed(), line)
		}
		if shared {
			list = append(list, line)
		}
	}
	return list
}

func torqueNote(s *transient.Shift) string {
	if s.Torque < 0 {
		return fmt.Sprintf("The closed-throttle engine drags with %.0f N m", -s.Torque)
	}
	switch {
	case s.Assumes.NoLoad:
		return fmt.Sprintf("%.0f N m", s.Torque)
	case s.NoLoad > 0:
		return fmt.Sprintf("%.0f N m, falling to nothing at %.0f rpm,", s.Torque, transient.RPM(s.NoLoad))
	}
	return fmt.Sprintf("%.0f N m at any speed", s.Torque)
}

// startNote says how the vehicle starts, and its brakes.
func startNote(s *transient.Shift, r *transient.Run) string {
	text := "the vehicle starts at rest"
	if speed := strconv.FormatFloat(s.KMH(r.Output[0]), 'f', 1, 64); strings.Trim(speed, "-0.") != "" {
		text = "the vehicle starts at " + speed + " km/h"
	}
	if s.Brake > 0 {
		text += fmt.Sprintf(", braked with %.0f N m at the wheels", s.Brake*s.Vehicle.FinalDrive)
	}
	return text
}

func vehicleNote(s *transient.Shift) string {
	return fmt.Sprintf("the vehicle is an inertia of %.1f kg m² at the output", s.Vehicle.Inertia())
}

func rpms(w []float64) []float64 {
	list := make([]float64, len(w))
	for i, x := range w {
		list[i] = transient.RPM(x)
	}
	return list
}

// one makes the panels of a single play: its elements by themselves, and the
// timed shift beside it.
func (d *InTime) one(a *transient.Answer) {
	r := a.Run
	speeds := TimePanel{Name: "speed, turns per minute", Lines: []TimeLine{
		{Label: d.Train.Members[a.Shift.From.Input].Name + ", input", Time: r.Time, Value: rpms(r.Input), Look: mainLook},
		{Label: d.Train.Members[a.Shift.From.Output].Name + ", output", Time: r.Time, Value: rpms(r.Output), Look: 0},
	}}
	torque := TimePanel{Name: "output torque, N m", Lines: []TimeLine{{Label: "output torque", Time: r.Time, Value: r.OutputTorque, Look: mainLook}}}
	heat := TimePanel{Name: "heat, kJ"}
	look := 1
	for _, c := range r.Courses {
		track := r.Track(c.Coupling)
		if track == nil {
			continue
		}
		name := d.Train.Couplings[c.Coupling].Name
		if c.Change != transient.Stays {
			d.Strips = append(d.Strips, strip(name, c, d.End))
		}
		if c.Change == transient.Stays && track.SlipTime == 0 {
			continue
		}
		slip := rpms(track.Slip)
		for i, x := range slip {
			slip[i] = math.Abs(x)
		}
		speeds.Lines = append(speeds.Lines, TimeLine{"slip of " + name, r.Time, slip, look})
		if track.TotalHeat() > 10 {
			heat.Lines = append(heat.Lines, TimeLine{name, r.Time, kilo(track.Heat), look})
		}
		look++
	}
	if a.Timed != nil && !a.Verdict.Timed {
		speeds.Lines = append(speeds.Lines, TimeLine{"input, timed", a.Timed.Time, rpms(a.Timed.Input), timedLook})
		torque.Lines = append(torque.Lines, TimeLine{"timed", a.Timed.Time, a.Timed.OutputTorque, timedLook})
	}
	v := a.Verdict
	if v.Bind > 0 {
		torque.Marks = append(torque.Marks, TimeMark{v.LeastAt, v.Least, strconv.FormatFloat(v.Least, 'f', 0, 64) + " N m"})
	}
	if v.Flare > 0 {
		speeds.Marks = append(speeds.Marks, TimeMark{v.FlareAt, at(r, rpms(r.Input), v.FlareAt), fmt.Sprintf("flare of %.0f", transient.RPM(v.Flare))})
	}
	if v.End.What == transient.Held && v.End.Since > 0 {
		word := " ties up"
		if v.End.Outcome.Verdict == solve.InputHeld {
			word = " holds the input"
		}
		speeds.Marks = append(speeds.Marks, TimeMark{v.End.Since, 0, d.To + word})
	}
	for _, e := range r.Events {
		word := " lets go"
		if e.Holds {
			word = " takes hold"
		}
		speeds.Marks = append(speeds.Marks, TimeMark{e.Time, 0, d.Train.Couplings[e.Coupling].Name + word})
	}
	d.Panels = []TimePanel{speeds, torque}
	if len(heat.Lines) > 0 {
		d.Panels = append(d.Panels, heat)
	}
}

// several lays plays over one another: the input, the output torque and the heat
// of all elements of each.
func (d *InTime) several(answers []*transient.Answer, labels []string) {
	speeds, torque, heat := TimePanel{Name: "input speed, turns per minute"}, TimePanel{Name: "output torque, N m"}, TimePanel{Name: "heat of all elements, kJ"}
	for k, a := range answers {
		r, label := a.Run, labels[k]
		if len(a.Shift.Faults) > 0 {
			label += "; " + reading.FaultsIn(d.Train, a.Shift.Faults)
		}
		sum := make([]float64, len(r.Time))
		for _, t := range r.Tracks {
			for i, q := range t.Heat {
				sum[i] += q
			}
		}
		speeds.Lines = append(speeds.Lines, TimeLine{label, r.Time, rpms(r.Input), k})
		torque.Lines = append(torque.Lines, TimeLine{label, r.Time, r.OutputTorque, k})
		heat.Lines = append(heat.Lines, TimeLine{label, r.Time, kilo(sum), k})
	}
	d.Panels = []TimePanel{speeds, torque, heat}
}

func kilo(q []float64) []float64 {
	list := make([]float64, len(q))
	for i, x := range q {
		list[i] = x / 1000
	}
	return list
}

// at is the value of a line at a time.
func at(r *transient.Run, values []float64, t float64) float64 {
	for i, x := range r.Time {
		if x >= t {
			return values[i]
		}
	}
	return values[len(values)-1]
}

// strip is what a coupling is given over time.
func strip(name string, c transient.Schedule, end float64) Strip {
	const points = 12 // of a ramp that is not even
	s := Strip{Label: name}
	before, after := 0.0, 1.0
	if c.Change == transient.Releases {
		before, after = 1, 0
	}
	add := func(t, share float64) { s.Time, s.Share = append(s.Time, t), append(s.Share, share) }
	switch {
	case c.Origin == transient.InTime:
		s.Label += ", in time"
	case c.Change == transient.Releases:
		s.Label += " lets go"
	default:
		s.Label += " takes hold"
	}
	add(0, before)
	n := 1
	if c.Ramp.Shape == kinematics.Smooth {
		n = points
	}
	for i := range n + 1 {
		t := c.Ramp.Start + (c.Ramp.End-c.Ramp.Start)*float64(i)/float64(n)
		done := c.Ramp.Done(t)
		if i == n {
			done = 1
		}
		if t <= end {
			add(t, before+(after-before)*done)
		}
	}
	if c.Ramp.End < end {
		add(end, after)
	}
	return s
}

func (d *InTime) heading() heading {
	name := "Shift in time, " + d.From + " to " + d.To
	if d.From == d.To {
		name = "Course in " + d.From
	}
	if len(d.Faults) > 0 {
		name += "; " + reading.FaultsIn(d.Train, d.Faults)
	}
	return heading{train: d.Train, title: titleOf(d.Train), subtitle: name, notes: d.Notes}
}
