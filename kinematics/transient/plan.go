package transient

import (
	"tieup/kinematics"
)

// A Course says how one coupling goes through the shift.
type Course struct {
	Coupling int // index into Train.Couplings
	Change   Change
	Ramp     kinematics.Ramp // of what changes
	Origin   Origin
	// Before and After are the friction torques it can hold, N m; infinite where
	// it cannot slip.
	Before, After float64
}

// Change is what the shift does to a coupling.
type Change uint8

// The changes.
const (
	Stays Change = iota
	Releases
	Applies
)

// Origin says where the ramp of a course comes from.
type Origin uint8

// The origins.
const (
	Given   Origin = iota // by the user or the train file
	Assumed               // a ramp of this package
	InTime                // none: it acts at the best time (see the package comment)
)

// A plan is what acts on the body: rows with their laws.
type plan struct {
	modes   []kinematics.Mode // Locked: sound splines, which are eliminated
	laws    []law             // parallel to Train.Couplings
	courses []Course          // what acts or changes, in the order of the couplings
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
	grip, err := s.System.Grip(r, faults, s.Ratings)
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

// plan decides how every coupling goes through the shift. With timed, what is
// to act at the best time does so even if its ramp is given.
func (s *Shift) plan(faults []kinematics.Fault, h handover, timed bool) (*plan, error) {
	from, err := s.spans(s.From, faults)
	if err != nil {
		return nil, err
	}
	to, err := s.spans(s.To, faults)
	if err != nil {
		return nil, err
	}
	p := &plan{modes: make([]kinematics.Mode, len(from)), laws: make([]law, len(from))}
	var waits []int // indices of courses that act in time
	for i := range from {
		if i >= s.System.Train.Elements && from[i] == rigid && to[i] == rigid {
			p.modes[i] = kinematics.Locked
			continue
		}
		c := Course{Coupling: i, Before: from[i].width() / 2, After: to[i].width() / 2}
		l := law{from: from[i], to: to[i]}
		switch {
		case from[i] == to[i]:
		case to[i].width() < from[i].width():
			c.Change = Releases
			c.Ramp, c.Origin = s.ramp(i, s.Release, s.System.Train.Couplings[i].Release, AssumedRelease)
			if h.kind == byTorque && h.load[i] != 0 && (timed || c.Origin == Assumed) {
				c.Origin = InTime
				l.from = l.from.clip(h.load[i])
				waits = append(waits, len(p.courses))
			}
		default:
			c.Change = Applies
			c.Ramp, c.Origin = s.ramp(i, s.Apply, s.System.Train.Couplings[i].Apply, AssumedApply)
			if h.kind == bySpeed && h.load[i] != 0 && (timed || c.Origin == Assumed) {
				c.Origin = InTime
				c.Ramp = kinematics.Ramp{Shape: kinematics.Line}
				l.to = l.to.clip(h.load[i])
			}
		}
		l.ramp = c.Ramp
		p.laws[i] = l
		if l.from != open || l.to != open {
			p.courses = append(p.courses, c)
		}
	}
	// What lets go in time is off for good when the others hold.
	end := 0.0
	for _, c := range p.courses {
		if c.Change == Applies {
			end = max(end, c.Ramp.End)
		}
	}
	for _, k := range waits {
		c := &p.courses[k]
		c.Ramp = kinematics.Ramp{Start: end, End: end, Shape: kinematics.Line}
		p.laws[c.Coupling].ramp = c.Ramp
	}
	return p, nil
}

// ramp returns the ramp that the user gives, else that of the file, else the
// assumed one.
func (s *Shift) ramp(i int, given []*kinematics.Ramp, file *kinematics.Ramp, assumed kinematics.Ramp) (kinematics.Ramp, Origin) {
	if given != nil && given[i] != nil {
		return *given[i], Given
	}
	if file != nil {
		return *file, Given
	}
	return assumed, Assumed
}

// A handover is how a shift changes over when nothing is wrong.
type handover struct {
	kind handoverKind
	load []int // the sign of the torque of every coupling in the range that applies it
	// allowed is what every coupling does when nothing is wrong: what changes
	// carries torque of the sign of its load alone.
	allowed []span
}

type handoverKind uint8

const (
	// letGo: nothing takes over (a shift to neutral, or to a one-way clutch).
	letGo handoverKind = iota
	// byTorque: what is applied slips the way in which it will hold, as when
	// pulling into a higher gear. Its torque takes the load from what lets go,
	// which must let go as its load comes to nothing.
	byTorque
	// bySpeed: what is applied slips the other way and would fight the drive, as
	// when pulling into a lower gear. What lets go must do so first; the input
	// runs to the new speed, where the other takes hold.
	bySpeed
)

// handover finds how the healthy shift changes over, from the torques that the
// couplings carry in either range at the speed of the shift.
func (s *Shift) handover() (handover, error) {
	h := handover{load: make([]int, len(s.System.Train.Couplings))}
	from, err := s.spans(s.From, nil)
	if err != nil {
		return h, err
	}
	to, err := s.spans(s.To, nil)
	if err != nil {
		return h, err
	}
	for i := range from {
		h.allowed = append(h.allowed, span{min(from[i].lo, to[i].lo), max(from[i].hi, to[i].hi)})
	}
	// A range that cannot be run at this speed has nothing to wait for.
	before, slip, err := s.loads(s.From)
	if err != nil {
		return h, nil
	}
	after, _, err := s.loads(s.To)
	if err != nil {
		return h, nil
	}
	for i := range from {
		switch {
		case to[i].width() < from[i].width():
			h.load[i] = before[i]
			h.allowed[i] = from[i].clip(h.load[i])
		case from[i].width() < to[i].width():
			h.load[i] = after[i]
			h.allowed[i] = to[i].clip(h.load[i])
			switch {
			case h.kind == bySpeed:
			case slip[i]*float64(after[i]) > 0:
				h.kind = bySpeed
			default:
				h.kind = byTorque
			}
		}
	}
	return h, nil
}

// loads plays a healthy range for a moment and returns the signs of the torques of its
// couplings, 0 where there is none, and all slips at the start.
func (s *Shift) loads(r *kinematics.Range) (signs []int, slip []float64, err error) {
	const steps = 20
	probe := *s
	probe.From, probe.To, probe.Faults = r, r, nil
	probe.Step = DefaultStep
	probe.Until, probe.Sample = steps*probe.Step, steps*probe.Step
	p, err := probe.plan(nil, handover{}, false)
	if err != nil {
		return nil, nil, err
	}
	run, err := probe.play(p)
	if err != nil {
		return nil, nil, err
	}
	signs, slip = make([]int, len(p.laws)), make([]float64, len(p.laws))
	largest := 0.0
	for _, t := range run.Tracks {
		last := len(t.TorqueMin) - 1
		largest = max(largest, t.TorqueMax[last], -t.TorqueMin[last])
	}
	for _, t := range run.Tracks {
		last := len(t.TorqueMin) - 1
		switch lo, hi := t.TorqueMin[last], t.TorqueMax[last]; {
		case lo > -1e-6*largest && hi > 1e-6*largest:
			signs[t.Coupling] = 1
		case hi < 1e-6*largest && lo < -1e-6*largest:
			signs[t.Coupling] = -1
		}
	}
	for i := range slip {
		slip[i] = dot(run.body.slips[i], run.motion(0))
	}
	return signs, slip, nil
}
