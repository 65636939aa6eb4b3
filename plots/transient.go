package plots

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// An InTime is a shift played in time, or several timings of it over one another:
// speeds above, the output torque, and the heat of the elements.
type InTime struct {
	Train  *kinematics.Train
	From   string
	To     string
	Faults []analysis.Fault
	End    float64 // s after the command
	Strips []Strip // what lets go and takes hold; of a single play
	Panels []TimePanel
	Notes  []string

	Cautions []string // of all that is drawn
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
	mainLook   = -1
	timedLook  = -2
	outputLook = -3
)

// ShiftInTime makes the drawing of one answer, or of several of the same ranges
// with other timings or faults, each with its label.
func ShiftInTime(answers []*analysis.Played, labels []string) (*InTime, error) {
	if len(answers) == 0 || len(labels) != len(answers) {
		return nil, fmt.Errorf("%d shifts with %d labels: give each its label", len(answers), len(labels))
	}
	first := answers[0]
	d := &InTime{Train: first.Train, From: first.From, To: first.To}
	d.Notes = append(kinematics.Map(first.Outcomes, analysis.RangeOutcomes.Says), first.Given, assumed(answers))
	for _, a := range answers {
		if a.Train != d.Train || a.From != d.From || a.To != d.To {
			return nil, fmt.Errorf("%s to %s cannot be laid over %s to %s: give one shift with several timings",
				a.From, a.To, d.From, d.To)
		}
		d.End = max(d.End, a.Course.Time[len(a.Course.Time)-1])
		d.Cautions = reading.Merge(d.Cautions, a.Cautions)
	}
	if len(answers) == 1 {
		d.Faults = first.Faults
		d.one(first)
	} else {
		d.several(answers, labels)
	}
	return d, nil
}

// assumed lists what is assumed in all answers.
func assumed(answers []*analysis.Played) string {
	var list []string
	for _, line := range answers[0].Assumed {
		if !slices.ContainsFunc(answers, func(a *analysis.Played) bool { return !slices.Contains(a.Assumed, line) }) {
			list = append(list, line)
		}
	}
	return "Assumed: " + strings.Join(list, "; ") + "."
}

// one makes the panels of a single play: its elements by themselves, and the
// timed shift beside it.
func (d *InTime) one(a *analysis.Played) {
	c := &a.Course
	speeds := TimePanel{Name: "speed, turns per minute", Lines: []TimeLine{
		{a.Input + ", input", c.Time, c.Input, mainLook},
		{a.Output + ", output", c.Time, c.Output, outputLook},
	}}
	torque := TimePanel{Name: "output torque, N m",
		Lines: []TimeLine{{"output torque", c.Time, c.OutputTorque, outputLook}}}
	heat := TimePanel{Name: "heat, kJ"}
	look := 1
	for name, e := range a.Elements.All() {
		if e.Changes() {
			d.Strips = append(d.Strips, strip(name, &e, d.End))
		}
		if e.Idle() {
			continue
		}
		track, _ := c.Elements.Get(name)
		speeds.Lines = append(speeds.Lines, TimeLine{"slip of " + name, c.Time, kinematics.Map(track.Slip, math.Abs), look})
		if e.Heat > 10 {
			heat.Lines = append(heat.Lines, TimeLine{name, c.Time, kilo(track.Heat), look})
		}
		look++
	}
	if timed := a.Timed; timed != nil && !a.Verdict.Timed {
		speeds.Lines = append(speeds.Lines, TimeLine{"input, timed", timed.Time, timed.Input, timedLook})
		torque.Lines = append(torque.Lines, TimeLine{"timed", timed.Time, timed.OutputTorque, timedLook})
	}
	for _, m := range a.Moments {
		panel := &speeds
		if m.Torque {
			panel = &torque
		}
		panel.Marks = append(panel.Marks, TimeMark{m.Time, m.Value, m.Label})
	}
	d.Panels = []TimePanel{speeds, torque}
	if len(heat.Lines) > 0 {
		d.Panels = append(d.Panels, heat)
	}
}

// several lays plays over one another: the input, the output torque and the heat
// of all elements of each.
func (d *InTime) several(answers []*analysis.Played, labels []string) {
	speeds, torque := TimePanel{Name: "input speed, turns per minute"}, TimePanel{Name: "output torque, N m"}
	heat := TimePanel{Name: "heat of all elements, kJ"}
	for k, a := range answers {
		c, label := &a.Course, labels[k]
		if len(a.Faults) > 0 {
			label += "; " + analysis.FaultWords(a.Faults)
		}
		sum := make([]float64, len(c.Time))
		for _, track := range c.Elements.All() {
			for i, q := range track.Heat {
				sum[i] += q
			}
		}
		speeds.Lines = append(speeds.Lines, TimeLine{label, c.Time, c.Input, k})
		torque.Lines = append(torque.Lines, TimeLine{label, c.Time, c.OutputTorque, k})
		heat.Lines = append(heat.Lines, TimeLine{label, c.Time, kilo(sum), k})
	}
	d.Panels = []TimePanel{speeds, torque, heat}
}

func kilo(q []float64) []float64 {
	return kinematics.Map(q, func(x float64) float64 { return x / 1000 })
}

// strip is what an element is given over time.
func strip(name string, e *analysis.PlayedElement, end float64) Strip {
	const points = 12 // of a ramp that is not even
	ramp := &e.Schedule.Ramp
	s := Strip{Label: name}
	before, after := 0.0, 1.0
	if e.Releases() {
		before, after = 1, 0
	}
	add := func(t, share float64) { s.Time, s.Share = append(s.Time, t), append(s.Share, share) }
	switch {
	case e.InTime():
		s.Label += ", in time"
	case e.Releases():
		s.Label += " lets go"
	default:
		s.Label += " takes hold"
	}
	add(0, before)
	n := 1
	if ramp.Shape == kinematics.Smooth {
		n = points
	}
	for i := range n + 1 {
		t := ramp.Start + (ramp.End-ramp.Start)*float64(i)/float64(n)
		done := ramp.Done(t)
		if i == n {
			done = 1
		}
		if t <= end {
			add(t, before+(after-before)*done)
		}
	}
	if ramp.End < end {
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
		name += "; " + analysis.FaultWords(d.Faults)
	}
	return heading{train: d.Train, title: titleOf(d.Train), subtitle: name, notes: d.Notes, cautions: d.Cautions}
}
