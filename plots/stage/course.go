package stage

import (
	"fmt"
	"math"
	"slices"

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
	// Does is by moment and element what it does then, an index into Words.
	Does  [][]int `json:"does"`
	Words []Text  `json:"words"`
	// Ties are what elements that do not slip tie to the input and to the housing, by
	// moment an index into Tied.
	Ties []int  `json:"ties"`
	Tied []Tied `json:"tied"`
}

// A Tied is what is tied to the input and to the housing.
type Tied struct {
	Inputs List[Tie] `json:"inputs"`
	Held   List[Tie] `json:"held"`
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
	c := &Course{Unit: "turns per minute", Words: doings}
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
		c.tell(f, elementsAt(t, p, i))
		c.Rows = append(c.Rows, TrueMinus(fmt.Sprintf(
			"%.2f s: input %.0f, output %.0f turns per minute, %.0f N m at the output%s", times[i], p.Course.Input[i],
			p.Course.Output[i], p.Course.OutputTorque[i], slipping(t, c.Does[len(c.Does)-1]))))
	}
	return c
}

// tell adds what the elements do at the next moment, and what that ties.
func (c *Course) tell(f *Figure, does []int) {
	c.Does = append(c.Does, does)
	for k, old := range c.Does[:len(c.Does)-1] {
		if slices.Equal(old, does) {
			c.Ties = append(c.Ties, c.Ties[k])
			return
		}
	}
	fr := Frame{}
	for _, d := range does {
		fr.Elements = append(fr.Elements, ElementState{Closed: d == applied || d == holds})
	}
	b := sceneBuilder{f: f}
	b.ties(&fr)
	c.Ties, c.Tied = append(c.Ties, len(c.Tied)), append(c.Tied, Tied{fr.Inputs, fr.Held})
}

// slipping names the elements that slip: "; direct slips".
func slipping(t *kinematics.Train, does []int) string {
	var names []string
	for i, d := range does {
		if d == slips {
			names = append(names, t.Couplings[i].Name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "; " + kinematics.And(names) + kinematics.Plural(len(names), " slips", " slip")
}

// What an element does at a moment of a shift.
const (
	released = iota
	applied
	slips
	holds
	overruns
)

var doings = []Text{released: "", applied: "applied", slips: "slips", holds: "holds", overruns: "overruns"}

// elementsAt says what every element does at moment i of a shift.
func elementsAt(t *kinematics.Train, p *analysis.Played, i int) []int {
	list := make([]int, t.ElementCount)
	for name, e := range p.Elements.All() {
		track, there := p.Course.Elements.Get(name)
		if k := e.Schedule.Coupling; there && k < len(list) {
			list[k] = doing(t.Couplings[k].Kind, &e, &track, p.Course.Time[i], i)
		}
	}
	return list
}

// doing says what an element does at moment i: what it is given, whether it carries
// torque, and whether it slips.
func doing(kind kinematics.CouplingKind, e *analysis.PlayedElement, x *analysis.PlayedTrack, t float64, i int) int {
	const torque, slip = 1e-3, 1.0 // N m and rpm that are nothing
	carries := max(math.Abs(x.Torque[i].Min), math.Abs(x.Torque[i].Max)) > torque
	moves := math.Abs(x.Slip[i]) > slip
	switch {
	case kind == kinematics.OneWay && carries:
		return holds
	case kind == kinematics.OneWay && moves:
		return overruns
	case kind == kinematics.OneWay, !carries && !given(e, t):
		return released
	case moves:
		return slips
	}
	return applied
}

// given says whether an element is given anything to hold with at a time.
func given(e *analysis.PlayedElement, t float64) bool {
	done := e.Schedule.Ramp.Done(t)
	switch {
	case e.InTime():
		return false // what it carries tells
	case !e.Changes():
		return e.After > 0
	case e.Releases():
		return done < 1
	}
	return done > 0
}
