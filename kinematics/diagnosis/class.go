package diagnosis

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
)

// A Class says how likely causes of a kind are by themselves. The order is a
// judgement, not data: no source with usable counts is known.
type Class uint8

// The classes, likeliest first.
const (
	Linkage  Class = iota // lever and linkage, fluid level and pressure
	Control               // valves, solenoids, wiring, leaks between circuits
	Friction              // worn or burnt plates, seals and pistons
	BandWork              // bands out of adjustment, their servos
	Freewheel
	Joint   // splines, shells, shafts, the parking pawl
	StuckOn // welded or dragging plates
)

const classes = int(StuckOn) + 1

var classNames = [classes]string{"linkage", "control", "friction", "band", "one-way", "joint", "stuck"}

var classWords = [classes]string{
	"linkage and fluid", "control and hydraulics", "worn friction", "band adjustment", "one-way clutch", "broken joint",
	"stuck-on plates",
}

// String returns the class in words.
func (c Class) String() string { return classWords[c] }

// Name returns the word for the class in a road-test sheet.
func (c Class) Name() string { return classNames[c] }

// DefaultClasses is the order of the classes unless a sheet gives another.
func DefaultClasses() []Class {
	return []Class{Linkage, Control, Friction, BandWork, Freewheel, Joint, StuckOn}
}

// ParseClass reads the name of a class.
func ParseClass(name string) (Class, error) {
	i := slices.Index(classNames[:], name)
	if i < 0 {
		return 0, noSuch("class of causes", name, classNames[:])
	}
	return Class(i), nil
}

// noSuch refuses a name that is none of those that there are.
func noSuch(what, name string, names []string) error {
	s := kinematics.DidYouMean(name, names)
	if s == "" {
		s = ": write " + strings.Join(names, ", ")
	}
	return fmt.Errorf("no such %s %s%s", what, kinematics.Quote(name), s)
}

// classOf is the class of a fault that acts in all ranges.
func classOf(t *kinematics.Train, f kinematics.Fault) Class {
	switch c := &t.Couplings[f.Coupling]; {
	case local(f):
		return Control
	case c.Kind == kinematics.Spline, c.Kind == kinematics.Pawl:
		return Joint
	case c.Kind == kinematics.OneWay:
		return Freewheel
	case c.Kind == kinematics.Band:
		return BandWork
	case f.Kind == kinematics.Stuck, f.Kind == kinematics.Dragging:
		return StuckOn
	case f.Kind == kinematics.OpenF, f.Kind == kinematics.Weak:
		return Friction
	}
	panic("no class for " + string(f.Kind))
}

// A Circumstance is something that is known of the complaint besides what the
// ranges do. It moves classes of causes.
type Circumstance uint8

// The circumstances.
const (
	Sudden Circumstance = iota
	Gradual
	Clean
	Burnt
	Cold
	Hot
	Rebuilt
)

var circumstanceNames = [...]string{"sudden", "gradual", "clean", "burnt", "cold", "hot", "rebuilt"}

var circumstanceWords = [...]string{
	Sudden: "it came suddenly", Gradual: "it came gradually", Clean: "fluid and pan clean",
	Burnt: "fluid burnt or full of friction material",
	Cold:  "when cold only", Hot: "when hot only", Rebuilt: "since a recent repair or rebuild",
}

// Name returns the word for the circumstance on the command line and in sheets.
func (c Circumstance) Name() string { return circumstanceNames[c] }

// String returns the circumstance as a clause: "it came suddenly".
func (c Circumstance) String() string { return circumstanceWords[c] }

// Circumstances lists all circumstances.
func Circumstances() []Circumstance {
	return []Circumstance{Sudden, Gradual, Clean, Burnt, Cold, Hot, Rebuilt}
}

// opposite lists circumstances that cannot both be.
var opposite = [][2]Circumstance{{Sudden, Gradual}, {Clean, Burnt}, {Cold, Hot}}

// ParseCircumstance reads the name of a circumstance; others are those already
// given.
func ParseCircumstance(others []Circumstance, name string) (Circumstance, error) {
	i := slices.Index(circumstanceNames[:], name)
	if i < 0 {
		return 0, noSuch("circumstance", name, circumstanceNames[:])
	}
	c := Circumstance(i)
	if slices.Contains(others, c) {
		return 0, fmt.Errorf("%s is given twice", name)
	}
	for _, p := range opposite {
		for k := range p {
			if p[k] == c && slices.Contains(others, p[1-k]) {
				return 0, fmt.Errorf("%s and %s cannot both be", p[1-k].Name(), name)
			}
		}
	}
	return c, nil
}

// A ranking orders hypotheses before anything is seen.
type ranking struct {
	t     *kinematics.Train
	place [classes]int
	has   [len(circumstanceNames)]bool
	lost  bool // nothing at all drives
}

// raised says whether the circumstances put a fault before the first class, and
// which. These are all the shifts that there are:
//
//	rebuilt          assembly errors: a one-way clutch fitted backwards, an element
//	                 that is stuck on (clearance), a band, a joint not seated
//	sudden, clean    broken joints
//	hot only         leaks: an element that is weak or never holds, low pressure,
//	                 and what acts in some ranges only
//	nothing drives   low pressure
//	cold only        an element that drags
//	burnt            an element that is worn: weak, or never holds
func (r *ranking) raised(h *Hypothesis, f kinematics.Fault) (Circumstance, bool) {
	k := r.t.Couplings[f.Coupling].Kind
	lost := k.Friction() && (f.Kind == kinematics.OpenF || f.Kind == kinematics.Weak)
	switch {
	case r.has[Rebuilt] && !local(f) && (f.Kind == kinematics.Backward || f.Kind == kinematics.Stuck ||
		f.Kind == kinematics.Sheared || k == kinematics.Band && h.Kind == Faulty):
		return Rebuilt, true
	case r.has[Sudden] && r.has[Clean] && f.Kind == kinematics.Sheared:
		return Sudden, true
	case r.has[Hot] && (lost || local(f)):
		return Hot, true
	case r.has[Cold] && f.Kind == kinematics.Dragging:
		return Cold, true
	case r.has[Burnt] && lost && !local(f) && h.Kind == Faulty:
		return Burnt, true
	}
	return 0, false
}

// steps counts how many classes a hypothesis stands behind the first, on an
// average of its faults; -1 for one that the circumstances put before the first.
func (r *ranking) steps(h *Hypothesis) float64 {
	switch {
	case h.Kind == Healthy:
		return 0
	case h.Kind == Pressure && (r.has[Hot] || r.lost):
		return -1
	case h.Kind == Controlled && len(h.Own) > 0:
		own := *h
		own.Kind, own.Faults = Faulty, h.Own
		return (float64(r.place[h.Class]) + float64(len(h.Own))*r.steps(&own)) / float64(1+len(h.Own))
	case h.Kind == Controlled && r.has[Hot]:
		return -1
	case h.Kind != Faulty:
		return float64(r.place[h.Class])
	}
	sum := 0
	for _, f := range h.Faults {
		if _, up := r.raised(h, f); up {
			sum--
		} else {
			sum += r.place[classOf(r.t, f)]
		}
	}
	return float64(sum) / float64(len(h.Faults))
}
