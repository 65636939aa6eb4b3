package plots

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Speeds is a speed plan: the speed of every member in one or more ranges.
type Speeds struct {
	Chart *analysis.Chart
	// RPM is the speed of the input in turns per minute; 0 stands for speeds in
	// turns per turn of the input.
	RPM    float64
	Panels []Panel
	Lines  []Line

	span *scale // of all sheets; nil for that of the lines
}

// A Panel is a group of gearsets, or the members that belong to none.
type Panel struct {
	Title    string
	Gearsets []int // empty for shafts, whose axes stand at equal distances
	Axes     []Axis
}

// An Axis is where the speeds of one body are read.
type Axis struct {
	Place
	Label   string // of the body, the same on every panel
	Members string // the members of the panel's gearsets that it stands for
}

// A Line is a range, healthy or with the faults.
type Line struct {
	Label  string // "N, healthy: no drive"
	Range  int    // index into the rows of the chart
	Tag    string // "N", "N faulty"
	Faulty bool
	Points [][]analysis.Speed // by panel and axis
}

// ends are the bounds that a speed has, times a factor.
func ends(r analysis.Speed, factor float64) []float64 {
	var values []float64
	for _, end := range []exact.Bound{r.Min, r.Max} {
		if !r.Empty && end.Inf == 0 {
			values = append(values, end.Float()*factor)
		}
	}
	return values
}

// Value is the speed for the scale of the plan, NaN where it is free.
func (s *Speeds) Value(r analysis.Speed) float64 {
	f, fixed := r.Point()
	if !fixed {
		return math.NaN()
	}
	return f.Float() * s.factor()
}

func (s *Speeds) factor() float64 {
	if s.RPM > 0 {
		return s.RPM
	}
	return 1
}

// SpeedOptions are what a speed plan can be asked for besides ranges and faults.
type SpeedOptions struct {
	RPM     float64 // of the input; 0 for turns per turn of the input
	Pinions bool    // draw axes for the pinions as well
}

// MostLines is the number of lines on a speed plan that can be told apart.
const MostLines = 12

// SpeedPlan draws the ranges of a chart as a speed plan, healthy and, if there are
// faults, with them. More than [MostLines] lines repeat their looks.
func SpeedPlan(c *analysis.Chart, o SpeedOptions) *Speeds {
	s := &Speeds{Chart: c, RPM: o.RPM}
	b := c.Train.Bodies(c.Question.Faults)
	for _, g := range groupsOf(b, o.Pinions) {
		s.Panels = append(s.Panels, groupPanel(b, g))
	}
	if p := shaftPanel(b, s.Panels); len(p.Axes) > 0 {
		s.Panels = append(s.Panels, p)
	}
	for i, r := range c.Rows {
		if r.Or { // words below say so
			continue
		}
		reads, readsFaulty := r.Healthy.Alone(), r.Faulty.Alone()
		switch {
		case len(kinematics.Acting(c.Question.Faults, r.Range)) == 0:
			s.add(b, i, "", r.HealthyMotion, reads)
			continue
		case sameSpeeds(b, r.HealthyMotion, r.Motion):
			s.add(b, i, "healthy or faulty", r.Motion, readsFaulty)
			continue
		}
		s.add(b, i, "healthy", r.HealthyMotion, reads)
		s.add(b, i, "faulty", r.Motion, readsFaulty)
		last := &s.Lines[len(s.Lines)-1]
		last.Faulty = true
		last.Tag += " faulty"
	}
	return s
}

// sameSpeeds says whether two motions give every body the same speed or bounds.
func sameSpeeds(b *kinematics.Bodies, x, y *analysis.Motion) bool {
	for i := range x.Members {
		v, w := x.Members[i].Interval, y.Members[i].Interval
		if v.Empty || w.Empty || b.Train.Members[i].Kind == kinematics.JointHub {
			continue
		}
		if v.Min.Cmp(w.Min) != 0 || v.Max.Cmp(w.Max) != 0 {
			return false
		}
	}
	return x.Verdict == y.Verdict
}

// add adds a line for a motion and what is said of it.
func (s *Speeds) add(b *kinematics.Bodies, i int, condition string, m *analysis.Motion, reads string) {
	name := s.Chart.Rows[i].Range.Name
	l := Line{Range: i, Tag: name, Label: name}
	if condition != "" {
		l.Label += ", " + condition
	}
	l.Label += ": " + reads
	l.Points = kinematics.Map(s.Panels, func(p Panel) []analysis.Speed {
		return kinematics.Map(p.Axes, func(a Axis) analysis.Speed { return speedAt(b, m, a.Body) })
	})
	s.Lines = append(s.Lines, l)
}

// speedAt reads the speed of a body from a motion.
func speedAt(b *kinematics.Bodies, m *analysis.Motion, body kinematics.MemberID) analysis.Speed {
	return m.Together(b.Members(body))
}

// groupPanel makes the axes of a group of gearsets.
func groupPanel(b *kinematics.Bodies, g Group) Panel {
	t := b.Train
	p := Panel{Title: g.title(t), Gearsets: g.Gearsets}
	for _, place := range g.Places {
		a := Axis{Place: place, Label: b.Name(place.Body)}
		var here []string
		for _, id := range b.Members(place.Body) {
			m := t.Members[id]
			if slices.Contains(g.Gearsets, m.Gearset) && m.Name != a.Label {
				here = append(here, m.Name)
			}
		}
		a.Members = strings.Join(here, ", ")
		p.Axes = append(p.Axes, a)
	}
	return p
}

// shaftPanel makes axes for the bodies that are on no other panel.
func shaftPanel(b *kinematics.Bodies, panels []Panel) Panel {
	t := b.Train
	p := Panel{Title: "other shafts"}
	shown := map[kinematics.MemberID]bool{b.Of[kinematics.Housing]: true}
	for _, panel := range panels {
		for _, a := range panel.Axes {
			shown[a.Body] = true
		}
	}
	for i, m := range t.Members {
		body := b.Of[i]
		if shown[body] || m.Kind == kinematics.PinionMember || m.Kind == kinematics.JointHub {
			continue
		}
		shown[body] = true
		p.Axes = append(p.Axes, Axis{Place: Place{Body: body}, Label: b.Name(body)})
	}
	for i := range p.Axes {
		x := 0.5
		if n := len(p.Axes); n > 1 {
			x = float64(i) / float64(n-1)
		}
		p.Axes[i].X = x
	}
	return p
}

// heading names the plan.
func (s *Speeds) heading() heading {
	c := s.Chart
	h := headed("Speed plan", c.Train, c.Question, c.Cautions, c.Outcomes...)
	h.notes = append(h.notes,
		reading.SignNote+". A range is a straight line across the axes of a panel, and the housing is the zero line.")
	spread, free := false, false
	for _, p := range s.Panels {
		spread = spread || slices.ContainsFunc(p.Axes, func(a Axis) bool { return a.Moved })
	}
	for _, l := range s.Lines {
		for _, points := range l.Points {
			free = free || slices.ContainsFunc(points, func(r analysis.Speed) bool { return !r.Empty && r.Free() })
		}
	}
	note := "Squares on the zero line are at rest."
	if free {
		note += " A bar shows where a free member can be, with an arrow where it has no bound."
	}
	if spread {
		note += " Axes marked * stand further apart than their teeth say: not to scale."
	}
	h.notes = append(h.notes, note)
	return h
}

// unit is the unit of the speeds.
func (s *Speeds) unit() string {
	if s.RPM > 0 {
		return fmt.Sprintf("turns per minute, with the input at %g", s.RPM)
	}
	return "turns per turn of the input"
}

// subtitle says the kind of drawing, the ranges and the faults.
func subtitle(kind string, t *kinematics.Train, ranges []kinematics.Range, faults []kinematics.Fault) string {
	if len(ranges) > 0 {
		kind += " of " + kinematics.And(kinematics.Map(ranges, func(r kinematics.Range) string { return r.Name }))
	}
	if len(faults) > 0 {
		kind += "; " + reading.FaultsIn(t, faults)
	}
	return kind
}
