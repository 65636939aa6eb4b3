package transient

import (
	"context"
	"math"
	"slices"

	"tieup/kinematics"
)

// A Sweep is a shift played with one timing after the other, from flare to bind.
type Sweep struct {
	Shift *Shift
	// Moves says which ramps move: those of what is released, or applied.
	Moves   Change
	Moment  float64 // of the timed changeover, s after the command
	Length  float64 // of the ramps that move, from the first start to the last end, s
	Points  []Point // by overlap, the gap first
	Limits  Limits
	Windows []Window // in which all limits are kept, to a millisecond

	handover handover
	timed    *Run
	moving   []int             // the couplings whose ramps move
	bases    []kinematics.Ramp // theirs
	base     kinematics.Ramp   // from the first start to the last end
	courses  []Schedule
}

// A Point is one timing of a [Sweep].
type Point struct {
	// Overlap, s, is positive where both hold at once: by how much the last release
	// ends after the moment of the timed changeover, or the first apply starts before
	// it. It is negative for a gap.
	Overlap float64
	Ramp    kinematics.Ramp // from the first start to the last end of what moves
	Least   float64         // output torque in the driving sense, N m
	Bind    float64         // s
	Flare   float64         // rad/s
	Sag     float64         // rad/s
	Heat    float64         // in all couplings, J
	Within  bool            // all limits
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
// is open, and ends where the ramps start with the command at one that is early.
type Window struct {
	From      float64 `json:"from"`
	To        float64 `json:"to"`
	OpenFrom  bool    `json:"open_from"`
	OpenTo    bool    `json:"open_to"`
	EarlyFrom bool    `json:"early_from"`
	EarlyTo   bool    `json:"early_to"`
}

// The overlaps of a sweep, s.
const (
	sweepReach = 0.30
	sweepEvery = 0.02
	sweepFine  = 0.001
)

// Sweep plays the shift with the ramps of what it releases (or applies) moved as
// a whole, in steps of s.Step.
func (s *Shift) Sweep(ctx context.Context, moves Change, limits Limits) (*Sweep, error) {
	w, err := s.sweep(ctx, moves)
	if err != nil {
		return nil, err
	}
	w.Limits = limits
	for _, overlap := range w.overlaps() {
		p, err := w.point(ctx, overlap)
		if err != nil {
			return nil, err
		}
		w.Points = append(w.Points, p)
	}
	if len(w.Points) == 0 {
		return nil, errorf("the shift changes over %.3f s after the command: too early for a ramp of %.3f s",
			w.Moment, w.Length)
	}
	return w, w.windows(ctx)
}

// overlaps lists the overlaps that are played, the ramps starting with the command
// at the earliest.
func (w *Sweep) overlaps() []float64 {
	const hair = 1e-9
	var list []float64
	n := int(math.Round(sweepReach / sweepEvery))
	earliest := w.earliest()
	for i := -n; i <= n; i++ {
		overlap := float64(i) * sweepEvery
		if w.ramp(overlap).Start > hair && math.Abs(overlap-earliest) > sweepEvery/2 {
			list = append(list, overlap)
		}
	}
	if math.Abs(earliest) <= sweepReach+hair {
		list = append(list, earliest)
	}
	slices.Sort(list)
	return list
}

// earliest is the overlap at which the ramps start with the command.
func (w *Sweep) earliest() float64 {
	if w.Moves == Releases {
		return w.Length - w.Moment
	}
	return w.Moment
}

// WithOverlaps returns the shift with each of the overlaps that a [Sweep] would
// give it.
func (s *Shift) WithOverlaps(ctx context.Context, moves Change, overlaps []float64) ([]*Shift, error) {
	w, err := s.sweep(ctx, moves)
	if err != nil {
		return nil, err
	}
	var list []*Shift
	for _, o := range overlaps {
		if w.ramp(o).Start < 0 {
			return nil, errorf("with an overlap of %g s the ramp would start before the command: "+
				"the shift changes over at %.3f s", o, w.Moment)
		}
		list = append(list, w.moved(o))
	}
	return list, nil
}

// sweep finds what moves, and the moment of the timed changeover.
func (s *Shift) sweep(ctx context.Context, moves Change) (*Sweep, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	w := &Sweep{Shift: s, Moves: moves, Limits: NoLimits()}
	var err error
	if w.handover, err = s.handover(ctx); err != nil {
		return nil, err
	}
	if w.timed, err = s.run(ctx, w.handover, true); err != nil {
		return nil, err
	}
	if w.Moment, err = moment(w.timed, w.handover.kind); err != nil {
		return nil, err
	}
	p, err := s.plan(s.Faults, w.handover, false)
	if err != nil {
		return nil, err
	}
	if err := w.move(p); err != nil {
		return nil, err
	}
	return w, w.follows(p)
}

// move finds what moves: what the healthy shift changes and no fault holds or keeps
// from holding.
func (w *Sweep) move(p *plan) error {
	s := w.Shift
	does, known := map[Change]string{Releases: "releases", Applies: "applies"}[w.Moves]
	if !known {
		return errorf("which ramps are moved in time? Those of what the shift releases, or applies")
	}
	all := changes(w.timed.Courses, w.Moves)
	if len(all) == 0 {
		return errorf("this shift %s nothing that could be moved in time", does)
	}
	now := changes(p.courses, w.Moves)
	for _, c := range all {
		if slices.Contains(now, c) {
			r, _ := s.ramp(c, w.Moves)
			w.moving, w.bases = append(w.moving, c), append(w.bases, r)
			if len(w.bases) == 1 {
				w.base = r
			}
			w.base.Start, w.base.End = min(w.base.Start, r.Start), max(w.base.End, r.End)
		}
	}
	w.Length = w.base.End - w.base.Start
	if len(w.moving) == 0 {
		return s.Moves(all[0], w.Moves == Applies)
	}
	return nil
}

// follows refuses a sweep whose moves another element follows in time, whatever
// they are.
func (w *Sweep) follows(p *plan) error {
	for _, c := range p.courses {
		if c.Origin != InTime || c.Change == Stays || c.Change == w.Moves {
			continue
		}
		name, does, other := w.Shift.System.Train.Couplings[c.Coupling].Name, "takes hold", Releases
		if c.Change == Releases {
			does, other = "lets go", Applies
		}
		return errorf("%s %s in time here, whatever the %s does: sweep %s, or give it a ramp with --%s %s=START..END",
			name, does, other, c.Change, c.Change, name)
	}
	return nil
}

// changes lists the couplings that change in one way.
func changes(courses []Schedule, c Change) []int {
	var list []int
	for _, x := range courses {
		if x.Change == c {
			list = append(list, x.Coupling)
		}
	}
	return list
}

// moment is when the timed run changes over: by torque, when what lets go begins
// to slip; by speed, when what is applied has stopped.
func moment(r *Run, kind Handover) (float64, error) {
	switch kind {
	case ByTorque:
		for i := range r.Time {
			for _, c := range changes(r.Courses, Releases) {
				if math.Abs(r.Track(c).Slip[i]) > still {
					return r.Time[i], nil
				}
			}
		}
	case BySpeed:
		for i := len(r.Time) - 1; i > 0; i-- {
			for _, c := range changes(r.Courses, Applies) {
				if math.Abs(r.Track(c).Slip[i-1]) > slippingSpeed {
					return r.Time[i], nil
				}
			}
		}
	}
	if kind == ViaNeutral {
		return 0, errorf("one of these ranges drives forward and the other backward: " +
			"what lets go does so before the other takes hold, and there is no timing to sweep")
	}
	return 0, errorf("nothing takes over from another element that is released in this shift: " +
		"there is no timing to sweep; choose one that has off-going and on-coming elements (tieup shifts lists them)")
}

// ramp moves the base to an overlap.
func (w *Sweep) ramp(overlap float64) kinematics.Ramp {
	r := w.base
	if w.Moves == Releases {
		r.End = w.Moment + overlap
		r.Start = r.End - w.Length
	} else {
		r.Start = w.Moment - overlap
		r.End = r.Start + w.Length
	}
	return r
}

// moved is the shift with its ramps at an overlap.
func (w *Sweep) moved(overlap float64) *Shift {
	s := *w.Shift
	list := &s.Apply
	if w.Moves == Releases {
		list = &s.Release
	}
	ramps := make([]*kinematics.Ramp, len(s.System.Train.Couplings))
	copy(ramps, *list)
	later := w.ramp(overlap).Start - w.base.Start
	for i, c := range w.moving {
		r := w.bases[i]
		r.Start, r.End = r.Start+later, r.End+later
		ramps[c] = &r
	}
	*list = ramps
	return &s
}

// point plays one timing.
func (w *Sweep) point(ctx context.Context, overlap float64) (Point, error) {
	p := Point{Overlap: overlap, Ramp: w.ramp(overlap)}
	run, err := w.moved(overlap).run(ctx, w.handover, false)
	if err != nil {
		return p, err
	}
	w.courses = run.Courses
	v := judge(run, w.timed, w.handover)
	p.Least, p.Bind, p.Flare, p.Sag = v.driving()*v.Least, v.Bind, v.Flare, v.Sag
	for i := range run.Tracks {
		p.Heat += run.Tracks[i].TotalHeat()
	}
	p.Within = w.Limits.keeps(&p)
	return p, nil
}

// windows finds where the limits are kept, halving the last interval at each end
// down to a millisecond.
func (w *Sweep) windows(ctx context.Context) error {
	edge := func(in, out float64) (float64, error) {
		for math.Abs(out-in) > sweepFine {
			mid := (in + out) / 2
			p, err := w.point(ctx, mid)
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
	early := func(x float64) bool { return math.Abs(x-w.earliest()) < 1e-9 }
	for i, p := range w.Points {
		var err error
		if !p.Within {
			continue
		}
		if i == 0 || !w.Points[i-1].Within {
			x := Window{From: p.Overlap, OpenFrom: i == 0 && !early(p.Overlap), EarlyFrom: i == 0 && early(p.Overlap)}
			if i > 0 {
				if x.From, err = edge(p.Overlap, w.Points[i-1].Overlap); err != nil {
					return err
				}
			}
			w.Windows = append(w.Windows, x)
		}
		x := &w.Windows[len(w.Windows)-1]
		last := i == len(w.Points)-1
		x.To, x.OpenTo, x.EarlyTo = p.Overlap, last && !early(p.Overlap), last && early(p.Overlap)
		if !last && !w.Points[i+1].Within {
			if x.To, err = edge(p.Overlap, w.Points[i+1].Overlap); err != nil {
				return err
			}
		}
	}
	return nil
}
