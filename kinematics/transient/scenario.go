package transient

import (
	"fmt"
	"math"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// What is assumed of a shift where nothing is said. All of it is invented.
const (
	AssumedTorque = 120.0 // at the input while ranges drive, N m
	AssumedCreep  = 40.0  // at the input at rest when drive is taken up or let go, N m
	AssumedIdle   = 700.0 // of the input, rpm: also where that torque has fallen to nothing
	AssumedSpeed  = 30.0  // of the vehicle while ranges drive, km/h
	AssumedBack   = 10.0  // of the vehicle while ranges drive it backward, km/h
	AssumedRated  = 250.0 // input torque that the train is made for, N m
)

// Assumes says which numbers of a [Shift] nobody stated.
type Assumes struct{ Torque, NoLoad, Speed, Rated bool }

// New returns a shift with everything assumed that the train does not say.
// Between two ranges that drive, the vehicle rolls and the input torque does not
// depend on speed; where drive is taken up or let go, it stands and the torque is
// that of an idling engine. Ratings have the default reserve.
func New(system *solve.System, from, to *kinematics.Range) *Shift {
	t := system.Train
	s := &Shift{
		System: system, From: from, To: to,
		Release: make([]*kinematics.Ramp, len(t.Couplings)), Apply: make([]*kinematics.Ramp, len(t.Couplings)),
		Idle: AssumedIdle * radians, Vehicle: demoBus, Step: DefaultStep, Sample: DefaultSample,
		Assumes: Assumes{Torque: true, NoLoad: true, Speed: true},
	}
	if t.Vehicle != nil {
		s.Vehicle = *t.Vehicle
	}
	a, b := s.outcome(from, nil).Verdict, s.outcome(to, nil).Verdict
	switch {
	case a == solve.Forward && b == solve.Forward:
		s.Torque, s.Speed = AssumedTorque, AssumedSpeed/3.6/s.Vehicle.Travel()
	case a == solve.Reverse && b == solve.Reverse:
		s.Torque, s.Speed = AssumedTorque, -AssumedBack/3.6/s.Vehicle.Travel()
	default:
		s.Torque, s.NoLoad = AssumedCreep, s.Idle
	}
	s.Rate(0, solve.DefaultReserve(), nil)
	return s
}

// Rate sets the ratings: for a rated input torque, N m, 0 for that of the train
// file or else an assumed one, and with the capacities that the user gives.
func (s *Shift) Rate(rated float64, reserve exact.Frac, given map[int]exact.Frac) {
	s.Rated, s.Assumes.Rated = rated, false
	if s.Rated == 0 {
		s.Rated = s.System.Train.RatedTorque
	}
	if s.Rated == 0 {
		s.Rated, s.Assumes.Rated = AssumedRated, true
	}
	s.Ratings = s.System.Ratings(solve.Scale{NewtonMetres: true, Rated: solve.Decimal(s.Rated)}, reserve, given)
}

// SetInput starts the shift with the input at a speed, rad/s. If the range that is
// left drives, the vehicle then rolls as it makes it, which fixed says.
func (s *Shift) SetInput(w float64) (fixed bool) {
	if ratio, drives := s.outcome(s.From, s.Faults).Ratio(); drives {
		s.Speed, s.Assumes.Speed = w/ratio.Float()*float64(s.System.Train.Forward), false
		return true
	}
	s.Idle = w
	if s.Assumes.NoLoad && s.NoLoad > 0 {
		s.NoLoad = w
	}
	return false
}

// Moves says why coupling i cannot be given a ramp with which it takes hold (or
// lets go) in this shift; nil if it can.
func (s *Shift) Moves(i int, applies bool) error {
	from, to, err := s.bothSpans(s.Faults)
	if err != nil {
		return err
	}
	name := s.System.Train.Couplings[i].Name
	switch wider := to[i].width() - from[i].width(); {
	case from[i] == to[i] && from[i] == open:
		return errorf("%s is released in %s and in %s", name, s.From.Name, s.To.Name)
	case from[i] == to[i]:
		return errorf("%s holds in %s and in %s: it does not change", name, s.From.Name, s.To.Name)
	case applies && wider < 0:
		return errorf("%s lets go from %s to %s: give it a release", name, s.From.Name, s.To.Name)
	case !applies && wider > 0:
		return errorf("%s takes hold from %s to %s: give it an apply", name, s.From.Name, s.To.Name)
	}
	return nil
}

// Assumed lists in words what nobody stated and what the model leaves out.
func (a *Answer) Assumed() []string {
	lines := a.Shift.assumed(a.Run.Courses)
	if a.Run.OneWay {
		lines = append(lines, "elements could share their load in too many ways to look at all: "+
			"where they do, the torques are those of one way")
	}
	return lines
}

// Assumed lists in words what nobody stated and what the model leaves out.
func (w *Sweep) Assumed() []string { return w.Shift.assumed(w.courses) }

func (s *Shift) assumed(courses []Schedule) []string {
	t := s.System.Train
	var lines []string
	say := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	if s.Assumes.Torque {
		say("input torque %.0f N m", s.Torque)
	}
	if s.Assumes.NoLoad && s.Torque > 0 {
		if s.NoLoad > 0 {
			say("the input torque falls in a straight line to nothing at %.0f rpm, and brakes beyond", RPM(s.NoLoad))
		} else {
			say("the input torque does not depend on speed")
		}
	}
	if s.Torque < 0 {
		say("the closed-throttle engine drags with the same torque at any speed")
	}
	if s.Assumes.Speed {
		say("the vehicle starts with %.0f km/h", s.KMH(s.Speed))
	}
	var rated, more []string
	var reserve float64 // of the first
	for _, c := range courses {
		r, name := &s.Ratings[c.Coupling], t.Couplings[c.Coupling].Name
		if r.Origin != solve.Assumed || math.IsInf(max(c.Before, c.After), 0) {
			continue
		}
		if rated == nil {
			reserve = r.Reserve.Float()
		}
		rated = append(rated, name)
		if r.AtLeast {
			more = append(more, name)
		}
	}
	if len(rated) > 0 {
		say("what %s can hold: %g times the largest torque of the healthy ranges", kinematics.And(rated), reserve)
		if s.Assumes.Rated {
			say("that torque is for an input torque of %.0f N m", s.Rated)
		} else {
			say("that torque is for the rated input torque of %.0f N m", s.Rated)
		}
	}
	if len(more) > 0 {
		say("%s", reading.CanHoldMore(more))
	}
	for _, c := range courses {
		if c.Change != Stays && c.Origin != Given {
			say("%s", c.timing(t.Couplings[c.Coupling].Name))
		}
	}
	if t.Vehicle == nil {
		v := s.Vehicle
		say("the vehicle: a small bus of %.0f kg, final drive %g, tyre radius %g m, rolling resistance %g, "+
			"drag area %g m² (invented)",
			v.Mass, v.FinalDrive, v.TyreRadius, v.Rolling, v.Drag)
	}
	given, not := 0, 0
	for _, m := range t.Members {
		switch {
		case m.Kind == kinematics.HousingMember || m.Kind == kinematics.JointHub || m.Unknown:
		case m.Inertia > 0:
			given++
		default:
			not++
		}
	}
	switch {
	case given == 0:
		say("all inertias (invented; json lists them)")
	case not > 0:
		say("the inertias of %d of %d members (invented; json lists them)", not, given+not)
	}
	say("shafts and mounts are rigid and have no backlash, so torques change faster than in a vehicle")
	return lines
}

// timing says when an element changes of which nobody said it.
func (c *Schedule) timing(name string) string {
	latest := ""
	if !math.IsInf(c.Latest, 0) {
		latest = fmt.Sprintf(", at %s s at the latest", seconds(c.Latest))
	}
	when := fmt.Sprintf("from %s s", c.Ramp.Words())
	if c.Ramp.Start == c.Ramp.End {
		when = fmt.Sprintf("at %g s", c.Ramp.Start)
	}
	switch {
	case c.Origin == InTime && c.Change == Releases:
		return name + " lets go just as its load comes to nothing" + latest
	case c.Origin == InTime:
		return name + " takes hold just as it stops slipping" + latest
	case c.Change == Releases && c.Latest > 0:
		return name + " lets go " + when + ", or just as its load comes to nothing"
	case c.Change == Releases:
		return name + " lets go " + when
	}
	return name + " takes hold " + when
}

// KMH is the speed of the vehicle, km/h, for a speed of the output, rad/s.
func (s *Shift) KMH(w float64) float64 { return w * s.Vehicle.Travel() * 3.6 }
