package transient

import (
	"context"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Schedule says how one coupling goes through the shift.
type Schedule struct {
	Coupling int // index into Train.Couplings
	Change   Change
	Ramp     kinematics.Ramp // of what changes
	Origin   Origin
	// Latest is when a coupling that acts in time changes at the latest, s after
	// the command; infinite where it waits for ever. With a ramp of this package, it
	// may let go earlier if this is above 0.
	Latest float64
	// Before and After are the friction torques it can hold, N m; infinite where
	// it cannot slip.
	Before, After float64
}

// Change is what the shift does to a coupling.
type Change string

// The changes.
const (
	Stays    Change = "stay"
	Releases Change = "release"
	Applies  Change = "apply"
)

// Origin says where the ramp of a course comes from, of what changes.
type Origin string

// The origins.
const (
	Given   Origin = "given"   // by the user or the train file
	Assumed Origin = "assumed" // a ramp of this package
	InTime  Origin = "in-time" // none: it acts at the best time (see the package comment)
)

// A plan is what acts on the body: rows with their laws.
type plan struct {
	modes   []kinematics.Mode // Locked: sound splines, which are eliminated
	laws    []law             // parallel to Train.Couplings
	courses []Schedule        // what acts or changes, in the order of the couplings
	begin   float64           // when the first of the elements begins to change, s; 0 if none does
}

// last is when the last ramp ends.
func (p *plan) last() float64 {
	end := 0.0
	for _, c := range p.courses {
		end = max(end, c.Ramp.End)
	}
	return end
}

// spans returns what every coupling can do in a range.
func (s *Shift) spans(r *kinematics.Range, faults []kinematics.Fault) ([]span, error) {
	grip, err := s.System.Capacities(r, faults, s.Ratings)
	if err != nil {
		return nil, err
	}
	spans := make([]span, len(grip.Capacity))
	for i, capacity := range grip.Capacity {
		switch {
		case capacity != nil:
			c, _ := capacity.Float64()
			spans[i] = friction(c)
		case grip.State.Modes[i] == kinematics.Locked:
			spans[i] = rigid
		case grip.State.Modes[i] == kinematics.Overruns:
			spans[i] = overruns
		case grip.State.Modes[i] == kinematics.Reversed:
			spans[i] = reversed
		}
	}
	return spans, nil
}

// bothSpans returns what every coupling can do in either range.
func (s *Shift) bothSpans(faults []kinematics.Fault) (from, to []span, err error) {
	if from, err = s.spans(s.From, faults); err == nil {
		to, err = s.spans(s.To, faults)
	}
	return from, to, err
}

// plan decides how every coupling goes through the shift. With timed, what is
// to act at the best time does so even if its ramp is given.
func (s *Shift) plan(faults []kinematics.Fault, h handover, timed bool) (*plan, error) {
	from, to, err := s.bothSpans(faults)
	if err != nil {
		return nil, err
	}
	p := &plan{modes: make([]kinematics.Mode, len(from)), laws: make([]law, len(from))}
	w := s.window(h, timed)
	for i := range from {
		if i >= s.System.Train.ElementCount && from[i] == rigid && to[i] == rigid {
			p.modes[i] = kinematics.Locked
			continue
		}
		c := s.course(i, from[i], to[i], h, timed)
		c.Before, c.After = from[i].width()/2, to[i].width()/2
		l := law{from: from[i], to: to[i]}
		switch {
		case c.Origin == InTime && c.Change == Releases:
			// It is off for good when the others hold.
			c.Ramp, c.Latest = at(w.end), w.end
			l.sign, l.since, l.until = h.load[i], w.begin, w.end
		case c.Origin == InTime && c.Change == Applies:
			c.Ramp, c.Latest = at(w.begin), math.Inf(1)
			if !timed && len(faults) > 0 {
				c.Latest = h.latest[i]
			}
			l.sign, l.since, l.until = h.load[i], w.begin, c.Latest
		case h.mixed && c.Change == Releases && (timed || c.Origin == Assumed):
			c.Latest = c.Ramp.End
			l.sign, l.since, l.until = h.load[i], w.begin, c.Latest
			w.begin = min(w.begin, c.Ramp.Start)
		case h.kind == ViaNeutral && c.Change == Releases && c.Origin == Assumed:
			c.Ramp = at(w.start)
		case c.Change != Stays:
			w.begin = min(w.begin, c.Ramp.Start)
		}
		l.ramp = c.Ramp
		p.laws[i] = l
		if l.from != open || l.to != open {
			p.courses = append(p.courses, c)
		}
	}
	if !math.IsInf(w.begin, 0) {
		p.begin = w.begin
	}
	return p, nil
}

// course is how a coupling with these spans goes through the shift.
func (s *Shift) course(i int, from, to span, h handover, timed bool) Schedule {
	c := Schedule{Coupling: i, Change: Stays}
	switch {
	case from == to:
	case to.width() < from.width():
		c.Change = Releases
		c.Ramp, c.Origin = s.ramp(i, Releases)
		switch {
		case c.Origin == Given && !timed:
		case h.kind == ByTorque && h.load[i] != 0:
			c.Origin = InTime
		case h.kind == ViaNeutral:
			c.Origin = Assumed
		}
	default:
		c.Change = Applies
		c.Ramp, c.Origin = s.ramp(i, Applies)
		if h.kind == BySpeed && h.takes[i] == BySpeed && (timed || c.Origin == Assumed) {
			c.Origin = InTime
		}
	}
	return c
}

// A window is when the elements change if nothing is wrong, s after the command:
// a fault does not alter what is commanded.
type window struct {
	begin float64 // the first ramp; infinite if there is none
	start float64 // the first ramp with which an element takes hold
	end   float64 // the end of the last of those
}

func (s *Shift) window(h handover, timed bool) window {
	w := window{begin: math.Inf(1), start: math.Inf(1)}
	alone := math.Inf(1) // when what acts in time could begin if nothing else changes
	for i := range h.from {
		c := s.course(i, h.from[i], h.to[i], h, timed)
		if c.Change == Stays {
			continue
		}
		if c.Origin == InTime {
			alone = min(alone, c.Ramp.Start)
			continue
		}
		if c.Change == Applies {
			w.start, w.end = min(w.start, c.Ramp.Start), max(w.end, c.Ramp.End)
		} else if h.kind == ViaNeutral && c.Origin == Assumed {
			continue
		}
		w.begin = min(w.begin, c.Ramp.Start)
	}
	if h.kind == ViaNeutral {
		w.begin = min(w.begin, w.start)
	}
	if math.IsInf(w.begin, 0) {
		w.begin = alone
	}
	return w
}

// at is a ramp without length.
func at(t float64) kinematics.Ramp {
	return kinematics.Ramp{Start: t, End: t, Shape: kinematics.Line}
}

// ramp returns the ramp with which a coupling takes hold or lets go: the one that the user
// gives, else that of the file, else the assumed one.
func (s *Shift) ramp(i int, c Change) (kinematics.Ramp, Origin) {
	given, file, assumed := s.Apply, s.System.Train.Couplings[i].Apply, AssumedApply
	if c == Releases {
		given, file, assumed = s.Release, s.System.Train.Couplings[i].Release, AssumedRelease
	}
	switch {
	case given != nil && given[i] != nil:
		return *given[i], Given
	case file != nil:
		return *file, Given
	}
	return assumed, Assumed
}

// A handover is how a shift changes over when nothing is wrong.
type handover struct {
	kind     Handover
	from, to []span // of the healthy ranges
	load     []int  // the sign of the torque of every coupling in the range that applies it
	// takes is how every coupling that is applied takes its load; the kind is the
	// strictest of them, mixed if another takes it by torque.
	takes []Handover
	mixed bool
	// allowed is what every coupling does when nothing is wrong: what changes
	// carries torque of the sign of its load alone.
	allowed []span
	// latest is when what is applied in time is on for good if something is wrong.
	latest []float64
}

// Handover is how a shift changes over when nothing is wrong.
type Handover uint8

// The kinds of handover.
const (
	// LetGo: nothing takes over from what lets go: a range that does not drive is
	// left or chosen, or a one-way clutch takes the load.
	LetGo Handover = iota
	// ByTorque: what is applied slips the way in which it will hold, as when
	// pulling into a higher gear. Its torque takes the load from what lets go,
	// which must let go as its load comes to nothing.
	ByTorque
	// BySpeed: what is applied slips the other way and would fight the drive, as
	// when pulling into a lower gear. What lets go must do so first; the input
	// runs to the new speed, where the other takes hold.
	BySpeed
	// ViaNeutral: one range drives forward and the other backward. What lets go
	// must do so before the other takes hold.
	ViaNeutral
)

var handoverNames = [...]string{LetGo: "none", ByTorque: "torque", BySpeed: "speed", ViaNeutral: "neutral"}

// MarshalText writes "none", "torque", "speed" or "neutral".
func (h Handover) MarshalText() ([]byte, error) { return []byte(handoverNames[h]), nil }

// handover finds how the healthy shift changes over, from the torques that the
// couplings carry in either range at the speed of the shift.
func (s *Shift) handover(ctx context.Context) (handover, error) {
	n := len(s.System.Train.Couplings)
	h := handover{load: make([]int, n), takes: make([]Handover, n)}
	var err error
	if h.from, h.to, err = s.bothSpans(nil); err != nil {
		return h, err
	}
	for i := range n {
		h.allowed = append(h.allowed, span{min(h.from[i].lo, h.to[i].lo), max(h.from[i].hi, h.to[i].hi)})
		h.latest = append(h.latest, math.Inf(1))
	}
	a, b := s.outcome(s.From, nil), s.outcome(s.To, nil)
	bothDrive := a.Drives() && b.Drives()
	applies := false
	for i := range n {
		applies = applies || h.from[i].width() < h.to[i].width()
	}
	if bothDrive && applies && a.Verdict != b.Verdict {
		h.kind = ViaNeutral
	}
	// A range that cannot be run at this speed has nothing to wait for.
	before, slip, err := s.loads(ctx, s.From)
	if err != nil {
		return h, ctx.Err()
	}
	after, _, err := s.loads(ctx, s.To)
	if err != nil {
		return h, ctx.Err()
	}
	for i := range n {
		switch {
		case h.to[i].width() < h.from[i].width():
			h.load[i] = before[i]
			h.allowed[i] = h.from[i].clip(h.load[i])
		case h.from[i].width() < h.to[i].width():
			h.load[i] = after[i]
			h.allowed[i] = h.to[i].clip(h.load[i])
			if bothDrive && h.kind != ViaNeutral {
				h.takes[i] = takesOver(slip[i], after[i])
				h.kind = max(h.kind, h.takes[i])
			}
		}
	}
	h.mixed = h.kind == BySpeed && slices.Contains(h.takes, ByTorque)
	return h, nil
}

// takesOver says how a coupling with a slip takes a load. Without slip it does
// not: a one-way clutch in line with it overruns, and takes the load over later.
func takesOver(slip float64, load int) Handover {
	switch {
	case slip == 0:
		return LetGo
	case slip*float64(load) > 0:
		return BySpeed
	}
	return ByTorque
}

// loads plays a healthy range for a moment and returns the signs of the torques of its
// couplings, 0 where there is none, and all slips at the start.
func (s *Shift) loads(ctx context.Context, r *kinematics.Range) (signs []int, slip []float64, err error) {
	const steps = 20
	probe := *s
	probe.From, probe.To, probe.Faults = r, r, nil
	probe.Step = DefaultStep
	probe.Until, probe.Sample = steps*probe.Step, steps*probe.Step
	p, err := probe.plan(nil, handover{}, false)
	if err != nil {
		return nil, nil, err
	}
	run, err := probe.play(ctx, p)
	if err != nil {
		return nil, nil, err
	}
	signs, slip = make([]int, len(p.laws)), make([]float64, len(p.laws))
	largest := max(run.largest(run.last()), 1) // N m: less is rounding
	for _, t := range run.Tracks {
		switch lo, hi := t.TorqueMin[run.last()], t.TorqueMax[run.last()]; {
		case lo > -1e-6*largest && hi > 1e-6*largest:
			signs[t.Coupling] = 1
		case hi < 1e-6*largest && lo < -1e-6*largest:
			signs[t.Coupling] = -1
		}
	}
	var motion *solve.Motion // of a start at rest
	if math.Abs(run.Input[0]) < still && math.Abs(run.Output[0]) < still {
		motion = s.System.Motion(s.System.Train.In(r))
	}
	for i := range slip {
		x := dot(run.body.slips[i], run.motion(0))
		if motion != nil {
			x = slipTo(motion, &s.System.Train.Couplings[i])
		}
		if math.Abs(x) > still {
			slip[i] = x
		}
	}
	return signs, slip, nil
}

// slipTo is the slip of a coupling in a motion, per turn of the input; 0 if the
// range does not drive or does not decide it.
func slipTo(m *solve.Motion, c *kinematics.Coupling) float64 {
	a, b := m.Members[c.A], m.Members[c.B]
	if !m.Drives() || a.Free() || b.Free() {
		return 0
	}
	return a.Float - b.Float
}
