package stage

import (
	"fmt"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// A Course is a shift in time: what every body does at some moments.
type Course struct {
	Unit    string    `json:"unit"`
	Times   []float64 `json:"times"` // s
	Curves  []Curve   `json:"curves"`
	Events  []Event   `json:"events"`
	Speeds  [][]Speed `json:"speeds"`  // by moment and body, in turns per turn of the input at the start
	Pinions [][]Speed `json:"pinions"` // by moment and pinion, likewise
	Rows    []string  `json:"rows"`    // by moment: what is read at it
}

// A Curve is the speed of a body over the moments, in the unit of the course.
type Curve struct {
	Body   int       `json:"body"`
	Name   string    `json:"name"`
	Values []float64 `json:"values"`
}

// An Event is something that happens at a moment.
type Event struct {
	T float64 `json:"t"`
}

// mostMoments is how many moments of a shift are shown.
const mostMoments = 160

// NewCourse samples a shift.
func NewCourse(f *Figure, t *kinematics.Train, p *analysis.Played) *Course {
	c := &Course{Unit: "turns per minute"}
	times := p.Course.Time
	member := func(m kinematics.MemberID) []float64 {
		speeds, _ := p.Course.Members.Get(t.Members[m].Name)
		return speeds
	}
	step := (len(times) + mostMoments - 1) / mostMoments
	var at []int
	for i := 0; i < len(times); i += step {
		at = append(at, i)
	}
	if at[len(at)-1] != len(times)-1 {
		at = append(at, len(times)-1)
	}
	bodies := make([][]float64, len(f.Bodies))
	for b := range f.Bodies {
		bodies[b] = member(f.Bodies[b].members[0])
	}
	pinions := make([][]float64, len(f.pinionMembers))
	for p, m := range f.pinionMembers {
		pinions[p] = member(m)
	}
	unit := 0.0 // the greatest speed of the input, for the turning of the gears
	for _, v := range bodies[f.Input] {
		unit = max(unit, v, -v)
	}
	if unit == 0 {
		unit = 1
	}
	pick := func(all [][]float64, i int) []Speed {
		list := make([]Speed, len(all))
		for k, values := range all {
			if values != nil {
				x := values[i] / unit
				list[k] = &x
			}
		}
		return list
	}
	for b := range f.Bodies {
		if bodies[b] == nil {
			continue
		}
		curve := Curve{Body: b, Name: f.Bodies[b].Name}
		for _, i := range at {
			curve.Values = append(curve.Values, bodies[b][i])
		}
		c.Curves = append(c.Curves, curve)
	}
	for _, i := range at {
		c.Times = append(c.Times, times[i])
		c.Speeds = append(c.Speeds, pick(bodies, i))
		c.Pinions = append(c.Pinions, pick(pinions, i))
		c.Rows = append(c.Rows, fmt.Sprintf("%.2f s: input %.0f, output %.0f turns per minute, %.0f N m at the output",
			times[i], p.Course.Input[i], p.Course.Output[i], p.Course.OutputTorque[i]))
	}
	return c
}
