package transient

import (
	"math"

	"tieup/kinematics"
)

// A Sweep is a shift played with one timing after the other, from flare to bind.
type Sweep struct {
	Shift *Shift
	// Moves says which ramps move: those of what is released, or applied.
	Moves   Change
	Moment  float64 // of the timed changeover, s after the command
	Length  float64 // of the ramps that move, s
	Points  []Point // by overlap, the gap first
	Limits  Limits
	Windows []Window // in which all limits are kept, to a millisecond

	courses []Course
}

// A Point is one timing of a [Sweep].
type Point struct {
	// Overlap, s, is positive where both hold at once: by how much a release ends
	// after the moment of the timed changeover, or an apply starts before it. It is
	// negative for a gap.
	Overlap float64
	Ramp    kinematics.Ramp
	Least   float64 // output torque in the driving sense, N m
	Bind    float64 // s
	Flare   float64 // rad/s
	Sag     float64 // rad/s
	Heat    float64 // in all couplings, J
	Within  bool    // all limits
}

// Limits are what a user allows.
type Limits struct {
	Least float64 // output torque not below this, N m; -Inf for any
	Flare float64 // rad/s, also of a sag; +Inf for any
	Heat  float64 // J; +Inf for any
}

// NoLimits allows everything.
func NoLimits() Limits { return Limits{math.Inf(-1), math.Inf(1), math.Inf(1)} }

func (l Limits) keeps(p *Point) bool {
	return p.Least >= l.Least && max(p.Flare, p.Sag) <= l.Flare && p.Heat <= l.Heat
}

// A Window is a range of overlaps, s. It goes on beyond the sweep at an end that
// is open.
type Window struct {
	From, To         float64
	OpenFrom, OpenTo bool
}

// The overlaps of a sweep, s.
const (
	sweepReach = 0.30
	sweepEvery = 0.02
	sweepFine  = 0.001
)

// Sweep plays the shift with the ramps of what it releases (or applies) moved as
// a whole, in steps of s.Step.
func (s *Shift) Sweep(moves Change, limits Limits) (*Sweep, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	h, err := s.handover()
	if err != nil {
		return nil, err
	}
	timed, err := s.run(h, true)
	if err != nil {
		return nil, err
	}
	w := &Sweep{Shift: s, Moves: moves, Limits: limits}
	if w.Moment, err = moment(timed, h.kind); err != nil {
		return nil, err
	}
	moved := changes(timed, moves)
	if len(moved) == 0 {
		return nil, errorf("this shift %s nothing that could be moved in time", map[Change]string{Releases: "releases", Applies: "applies"}[moves])
	}
	base := w.base(moved[0])
	w.Length = base.End - base.Start
	point := func(overlap float64) (Point, error) { return w.point(h, timed, moved, base, overlap) }
	n := int(math.Round(sweepReach / sweepEvery))
	for i := -n; i <= n; i++ {
		overlap := float64(i) * sweepEvery
		if w.ramp(base, overlap).Start < 0 {
			continue // before the command
		}
		p, err := point(overlap)
		if err != nil {
			return nil, err
		}
		w.Points = append(w.Points, p)
	}
	if len(w.Points) == 0 {
		return nil, errorf("the shift changes over %.3f s after the command: too early for a ramp of %.3f s", w.Moment, w.Length)
	}
	return w, w.windows(point)
}

// changes lists the couplings that a run changes in one way.
func changes(r *Run, c Change) []int {
	var list []int
	for _, x := range r.Courses {
		if x.Change == c {
			list = append(list, x.Coupling)
		}
	}
	return list
}

// moment is when the timed run changes over: by torque, when what lets go begins
// to slip; by speed, when what is applied has stopped.
func moment(r *Run, kind handoverKind) (float64, error) {
	switch kind {
	case byTorque:
		for i := range r.Time {
			for _, c := range changes(r, Releases) {
				if math.Abs(r.Track(c).Slip[i]) > still {
					return r.Time[i], nil
				}
			}
		}
	case bySpeed:
		for i := len(r.Time) - 1; i > 0; i-- {
			for _, c := range changes(r, Applies) {
				if math.Abs(r.Track(c).Slip[i-1]) > slippingSpeed {
					return r.Time[i], nil
				}
			}
		}
	}
	return 0, errorf("nothing takes over from another element in this shift: there is no timing to sweep")
}

// base is the ramp that is moved: as it is given, or assumed.
func (w *Sweep) base(coupling int) kinematics.Ramp {
	c := w.Shift.System.Train.Couplings[coupling]
	var r kinematics.Ramp
	if w.Moves == Releases {
		r, _ = w.Shift.ramp(coupling, w.Shift.Release, c.Release, AssumedRelease)
	} else {
		r, _ = w.Shift.ramp(coupling, w.Shift.Apply, c.Apply, AssumedApply)
	}
	return r
}

// ramp moves the base to an overlap.
func (w *Sweep) ramp(base kinematics.Ramp, overlap float64) kinematics.Ramp {
	if w.Moves == Releases {
		base.End = w.Moment + overlap
		base.Start = base.End - w.Length
	} else {
		base.Start = w.Moment - overlap
		base.End = base.Start + w.Length
	}
	return base
}

// point plays one timing.
func (w *Sweep) point(h handover, timed *Run, moved []int, base kinematics.Ramp, overlap float64) (Point, error) {
	p := Point{Overlap: overlap, Ramp: w.ramp(base, overlap)}
	s := *w.Shift
	list := &s.Apply
	if w.Moves == Releases {
		list = &s.Release
	}
	ramps := make([]*kinematics.Ramp, len(s.System.Train.Couplings))
	copy(ramps, *list)
	for _, c := range moved {
		ramps[c] = &p.Ramp
	}
	*list = ramps
	run, err := s.run(h, false)
	if err != nil {
		return p, err
	}
	w.courses = run.Courses
	v := judge(run, timed, h)
	p.Least, p.Bind, p.Flare, p.Sag = v.Least, v.Bind, v.Flare, v.Sag
	for i := range run.Tracks {
		p.Heat += run.Tracks[i].TotalHeat()
	}
	p.Within = w.Limits.keeps(&p)
	return p, nil
}

// windows finds where the limits are kept, halving the last interval at each end
// down to a millisecond.
func (w *Sweep) windows(point func(float64) (Point, error)) error {
	edge := func(in, out float64) (float64, error) {
		for math.Abs(out-in) > sweepFine {
			mid := (in + out) / 2
			p, err := point(mid)
			if err != nil {
				return 0, err
			}
			if p.Within {
				in = mid
			} else {
				out = mid
			}
		}
		return in, nil
	}
	for i, p := range w.Points {
		var err error
		if !p.Within {
			continue
		}
		if i == 0 || !w.Points[i-1].Within {
			x := Window{From: p.Overlap, OpenFrom: i == 0}
			if i > 0 {
				if x.From, err = edge(p.Overlap, w.Points[i-1].Overlap); err != nil {
					return err
				}
			}
			w.Windows = append(w.Windows, x)
		}
		x := &w.Windows[len(w.Windows)-1]
		x.To, x.OpenTo = p.Overlap, i == len(w.Points)-1
		if !x.OpenTo && !w.Points[i+1].Within {
			if x.To, err = edge(p.Overlap, w.Points[i+1].Overlap); err != nil {
				return err
			}
		}
	}
	return nil
}
