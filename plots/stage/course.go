package stage

import (
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// A Course is a shift in time: what every body does at some moments.
type Course struct {
	Unit    string    `json:"unit"`
	Times   []float64 `json:"times"` // s
	Curves  []Curve   `json:"curves"`
	Speeds  [][]Speed `json:"speeds"`  // by moment and body, in turns per turn of the input at the start
	Pinions [][]Speed `json:"pinions"` // by moment and pinion, likewise
	Rows    []string  `json:"rows"`    // by moment: what is read at it
	// Phase is by moment an index into Phases, of stretches in which the elements do the same.
	Phase  []int   `json:"phase"`
	Phases []Phase `json:"phases"`
	Words  []Text  `json:"words"` // for what elements do
}

// A Phase is a stretch of a shift: what every element does in it, an index into the words of
// the course, what those that do not slip tie to the input and to the housing, and what the
// train does.
type Phase struct {
	From   float64   `json:"from"` // s
	Does   []int     `json:"does"`
	Closed []bool    `json:"closed"` // of each element, whether it holds without slipping
	Inputs List[Tie] `json:"inputs"`
	Held   List[Tie] `json:"held"`
	Says   Text      `json:"says"`
	Danger bool      `json:"danger"`
	Sign   string    `json:"-"` // the verdict, for its sign; "" for none
}

// A Curve is the speed of a body over the moments, in the unit of the course.
type Curve struct {
	Body   int       `json:"body"`
	Name   string    `json:"name"`
	Values []float64 `json:"values"`
}

// mostMoments is how many moments of a shift are shown.
const mostMoments = 160

// leastAfter is how long at the least a shift is shown after its last change, s.
const leastAfter = 0.2

// NewCourse samples a shift: to half as long again as its last change took to come, where
// nothing slips after it.
func NewCourse(f *Figure, t *kinematics.Train, p *analysis.Played) *Course {
	c := &Course{Unit: "turns per minute", Words: analysis.Doings()}
	for i := range p.Phases {
		c.Phases = append(c.Phases, newPhase(f, p, i))
	}
	member := func(m kinematics.MemberID) []float64 {
		speeds, _ := p.Course.Members.Get(t.Members[m].Name)
		return speeds
	}
	bodies := kinematics.Map(f.Bodies, func(b Body) []float64 { return member(b.members[0]) })
	pinions := kinematics.Map(f.pinionMembers, member)
	at := moments(p)
	for b, speeds := range bodies {
		if speeds != nil {
			values := kinematics.Map(at, func(i int) float64 { return speeds[i] })
			c.Curves = append(c.Curves, Curve{Body: b, Name: f.Bodies[b].Name, Values: values})
		}
	}
	unit := greatest(bodies[f.Input])
	now := 0 // the phase
	for _, i := range at {
		for now+1 < len(p.Phases) && p.Phases[now+1].From <= i {
			now++
		}
		slips := ""
		if x := p.Phases[now].Slipping; x != "" {
			slips = "; " + x
		}
		c.Phase = append(c.Phase, now)
		c.Times = append(c.Times, p.Course.Time[i])
		c.Speeds = append(c.Speeds, speedsAt(bodies, i, unit))
		c.Pinions = append(c.Pinions, speedsAt(pinions, i, unit))
		c.Rows = append(c.Rows, TrueMinus(fmt.Sprintf(
			"%.2f s: input %.0f, output %.0f turns per minute, %.0f N m at the output%s", p.Course.Time[i],
			p.Course.Input[i], p.Course.Output[i], p.Course.OutputTorque[i], slips)))
	}
	return c
}

func newPhase(f *Figure, p *analysis.Played, i int) Phase {
	x := &p.Phases[i]
	ph := Phase{From: p.Course.Time[x.From], Says: TrueMinus(x.Says), Danger: x.Harms()}
	switch {
	case x.Binds:
		ph.Sign = "tie-up"
	case x.Settled:
		ph.Sign = x.Reading.Outcome.Verdict.String()
	}
	fr := Frame{}
	for _, d := range x.Does {
		ph.Does, ph.Closed = append(ph.Does, int(d)), append(ph.Closed, d.Closed())
		fr.Elements = append(fr.Elements, ElementState{Closed: d.Closed()})
	}
	(&sceneBuilder{f: f}).ties(&fr)
	ph.Inputs, ph.Held = fr.Inputs, fr.Held
	return ph
}

// moments are those samples of a shift that are shown.
func moments(p *analysis.Played) []int {
	n := len(p.Course.Time)
	if last := p.Phases[len(p.Phases)-1]; last.Settled && last.From > 0 { // nothing happens any more
		changed := p.Course.Time[last.From]
		end, _ := slices.BinarySearch(p.Course.Time, changed+max(changed/2, leastAfter))
		n = min(end+1, n)
	}
	var at []int
	for i := 0; i < n-1; i += (n + mostMoments - 1) / mostMoments {
		at = append(at, i)
	}
	return append(at, n-1)
}

// greatest is the greatest of some speeds, either way; 1 where all are 0.
func greatest(speeds []float64) float64 {
	unit := 0.0
	for _, v := range speeds {
		unit = max(unit, v, -v)
	}
	if unit == 0 {
		return 1
	}
	return unit
}

// speedsAt are speeds at a sample, in a unit; nil for what has none.
func speedsAt(all [][]float64, i int, unit float64) []Speed {
	list := make([]Speed, len(all))
	for k, values := range all {
		if values != nil {
			x := values[i] / unit
			list[k] = &x
		}
	}
	return list
}

// At is the phase of the moment that is shown for a time, s.
func (c *Course) At(t float64) *Phase {
	k := slices.IndexFunc(c.Times, func(x float64) bool { return x > t-1e-9 })
	if k < 0 {
		k = len(c.Times) - 1
	}
	return &c.Phases[c.Phase[k]]
}

// End is the time of the last moment, s.
func (c *Course) End() float64 { return c.Times[len(c.Times)-1] }
