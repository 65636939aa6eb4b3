package transient

import (
	"math"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// An Answer is a shift played, beside the same shift as it should be.
type Answer struct {
	Shift *Shift
	Run   *Run // in steps of half of Shift.Step
	// Timed is the same shift without faults, in which what should wait for the
	// load or the speed does so; nil if the train cannot be so.
	Timed    *Run
	Handover Handover
	// StepError is how far Run is from a run in steps of Shift.Step: about as far
	// as it can be from the course without steps.
	StepError StepError
	Verdict   Verdict
}

// Handover is how a shift changes over when nothing is wrong.
type Handover = handoverKind

// The kinds of handover.
const (
	LetGo    = letGo
	ByTorque = byTorque
	BySpeed  = bySpeed
)

// A StepError is the difference between two runs, the second with steps of half
// the length: the largest at any sample.
type StepError struct {
	Input        float64 // rad/s
	Output       float64 // rad/s
	OutputTorque float64 // N m
	Heat         float64 // of one coupling at the end, J
}

// Play plays the shift in steps of s.Step and of half of it, plays it as it
// should be, and judges.
func (s *Shift) Play() (*Answer, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	h, err := s.handover()
	if err != nil {
		return nil, err
	}
	coarse, err := s.run(h, false)
	if err != nil {
		return nil, err
	}
	fine := *s
	fine.Step = s.Step / 2
	a := &Answer{Shift: s, Handover: h.kind}
	if a.Run, err = fine.run(h, false); err != nil {
		return nil, err
	}
	a.Run.prove()
	a.StepError = difference(coarse, a.Run)
	a.Timed, _ = fine.run(h, true)
	a.Verdict = judge(a.Run, a.Timed, h)
	return a, nil
}

// run plays the shift, or with timed the shift as it should be.
func (s *Shift) run(h handover, timed bool) (*Run, error) {
	played := *s
	if timed {
		played.Faults = nil
	}
	p, err := played.plan(played.Faults, h, timed)
	if err != nil {
		return nil, err
	}
	return played.play(p)
}

// Run plays the shift once, in steps of s.Step.
func (s *Shift) Run() (*Run, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	h, err := s.handover()
	if err != nil {
		return nil, err
	}
	r, err := s.run(h, false)
	if err == nil {
		r.prove()
	}
	return r, err
}

// Ends returns when the last ramp of the shift ends, s after the command.
func (s *Shift) Ends() (float64, error) {
	h, err := s.handover()
	if err != nil {
		return 0, err
	}
	p, err := s.plan(s.Faults, h, false)
	if err != nil {
		return 0, err
	}
	return p.last(), nil
}

// difference compares two runs of the same shift.
func difference(a, b *Run) StepError {
	var e StepError
	for i := range min(len(a.Time), len(b.Time)) {
		e.Input = max(e.Input, math.Abs(a.Input[i]-b.Input[i]))
		e.Output = max(e.Output, math.Abs(a.Output[i]-b.Output[i]))
		e.OutputTorque = max(e.OutputTorque, math.Abs(a.OutputTorque[i]-b.OutputTorque[i]))
	}
	for k := range a.Tracks {
		e.Heat = max(e.Heat, math.Abs(a.Tracks[k].TotalHeat()-b.Tracks[k].TotalHeat()))
	}
	return e
}

// A Verdict is what a run was like, beside the timed one. Torques count in the
// sense in which the ranges drive the vehicle.
type Verdict struct {
	Sense int // +1: the ranges drive forward; -1 backward; 0: neither drives

	// Least is the least output torque, N m, at LeastAt, s, the input giving
	// LeastInput, N m; TimedLeast is the least of the timed run.
	Least, LeastAt, LeastInput, TimedLeast float64
	// Bind is how long, s, the output torque was below the least of the timed run
	// while couplings fought the drive: exerted torques that they do not have when
	// nothing is wrong. Fighting are those, and Giving those that slipped, when it
	// was least.
	Bind             float64
	Fighting, Giving []int
	// Flare is by how much, rad/s, the input ran above both ranges, at FlareAt, s,
	// as far as the timed run does not.
	Flare, FlareAt float64
	// Sag is by how much it fell below both, when coasting.
	Sag, SagAt float64
	// Peak is the largest output torque, either way, N m, at PeakAt, s.
	Peak, PeakAt float64
	// Done is when the last coupling that the new range applies stopped slipping,
	// s; Slipping are those that slip to the end.
	Done     float64
	Slipping []int
	// Timed says that none of these is wrong.
	Timed bool
}

// What is too small to be a bind or a flare.
const (
	bindShare = 0.05 // of the largest torque of the timed run
	flareRPM  = 10.0
	radians   = math.Pi / 30 // rad/s per rpm
)

func judge(r, timed *Run, h handover) Verdict {
	v := Verdict{Sense: r.Shift.sense()}
	d := float64(v.Sense)
	if v.Sense == 0 {
		d = 1
	}
	bound := 0.0
	if timed != nil {
		v.TimedLeast, _ = least(timed, d)
		size := 0.0
		for _, x := range timed.OutputTorque {
			size = max(size, math.Abs(x))
		}
		bound = v.TimedLeast - bindShare*size
	}
	var at int
	v.Least, at = least(r, d)
	v.LeastAt, v.LeastInput = r.Time[at], r.InputTorque[at]
	first := r.firstRamp()
	for i, x := range r.OutputTorque {
		if i > 0 && d*x < bound && r.Time[i] > first && len(r.fighting(i, h)) > 0 {
			v.Bind += r.Time[i] - r.Time[i-1]
		}
		if math.Abs(x) > math.Abs(v.Peak) {
			v.Peak, v.PeakAt = x, r.Time[i]
		}
	}
	if v.Bind > 0 {
		v.Fighting, v.Giving = r.fighting(at, h), r.slipping(at)
	}
	high, low := r.Shift.lines(r)
	v.Flare, v.FlareAt = excess(r, high, 1)
	if r.Shift.Torque < 0 {
		v.Sag, v.SagAt = excess(r, low, -1)
	}
	if timed != nil {
		high, low = timed.Shift.lines(timed)
		flare, _ := excess(timed, high, 1)
		sag, _ := excess(timed, low, -1)
		v.Flare, v.Sag = max(0, v.Flare-flare), max(0, v.Sag-sag)
	}
	if v.Flare < flareRPM*radians {
		v.Flare = 0
	}
	if v.Sag < flareRPM*radians {
		v.Sag = 0
	}
	v.settle(r)
	v.Timed = v.Bind == 0 && v.Flare == 0 && v.Sag == 0 && len(v.Slipping) == 0
	return v
}

// least returns the least output torque in the driving sense, and its sample,
// from the start of the first ramp on.
func least(r *Run, d float64) (float64, int) {
	at := sampleAt(r, r.firstRamp())
	for i, x := range r.OutputTorque {
		if i > at && d*x < d*r.OutputTorque[at] {
			at = i
		}
	}
	return d * r.OutputTorque[at], at
}

// firstRamp is when the first ramp starts, 0 if there is none.
func (r *Run) firstRamp() float64 {
	first := math.Inf(1)
	for _, c := range r.Courses {
		if c.Change != Stays {
			first = min(first, c.Ramp.Start)
		}
	}
	if math.IsInf(first, 0) {
		return 0
	}
	return first
}

// fighting lists the couplings whose torque at sample i is not among those that
// they have when nothing is wrong.
func (r *Run) fighting(i int, h handover) []int {
	largest := 0.0
	for _, t := range r.Tracks {
		largest = max(largest, t.TorqueMax[i], -t.TorqueMin[i])
	}
	slack := 1e-3 * largest
	var list []int
	for _, t := range r.Tracks {
		a := h.allowed[t.Coupling]
		if t.TorqueMin[i] > a.hi+slack || t.TorqueMax[i] < a.lo-slack {
			list = append(list, t.Coupling)
		}
	}
	return list
}

// slipping lists the couplings that slip at sample i while they hold.
func (r *Run) slipping(i int) []int {
	var list []int
	for _, t := range r.Tracks {
		if math.Abs(t.Slip[i]) > still && (t.TorqueMin[i] != 0 || t.TorqueMax[i] != 0) {
			list = append(list, t.Coupling)
		}
	}
	return list
}

// slippingSpeed is a slip, rad/s, that counts as slipping at the end of a run.
const slippingSpeed = radians

// settle finds when all that the new range applies has stopped slipping.
func (v *Verdict) settle(r *Run) {
	for _, c := range r.Courses {
		if !applied(r.Shift.To, c.Coupling) || c.After == 0 || math.IsInf(c.After, 0) {
			continue
		}
		for _, t := range r.Tracks {
			if t.Coupling != c.Coupling {
				continue
			}
			last := len(t.Slip) - 1
			for last >= 0 && math.Abs(t.Slip[last]) < slippingSpeed {
				last--
			}
			switch {
			case last == len(t.Slip)-1:
				v.Slipping = append(v.Slipping, c.Coupling)
			case last >= 0:
				v.Done = max(v.Done, r.Time[last+1])
			}
		}
	}
}

func applied(r *kinematics.Range, coupling int) bool {
	for _, i := range r.Apply {
		if i == coupling {
			return true
		}
	}
	return false
}

// sense is the way in which the ranges drive the vehicle when nothing is wrong,
// that of the new range first.
func (s *Shift) sense() int {
	for _, r := range []*kinematics.Range{s.To, s.From} {
		switch s.outcome(r, nil).Verdict {
		case solve.Forward:
			return 1
		case solve.Reverse:
			return -1
		}
	}
	return 0
}

func (s *Shift) outcome(r *kinematics.Range, faults []kinematics.Fault) solve.Outcome {
	return s.System.Kernel().Outcome(s.System.Train.In(r, faults...))
}

// lines returns the speeds between which the input belongs at every sample: those
// that the healthy ranges give it at the speed of the output. They are nil unless
// both drive.
func (s *Shift) lines(r *Run) (high, low []float64) {
	to, drives := s.outcome(s.To, nil).Ratio()
	from, drove := s.outcome(s.From, nil).Ratio()
	if !drives || !drove {
		return nil, nil
	}
	forward := float64(s.System.Train.Forward)
	for _, w := range r.Output {
		w *= forward
		x, y := to.Float()*w, from.Float()*w
		high, low = append(high, max(x, y)), append(low, min(x, y))
	}
	return high, low
}

// excess is by how much the input is above the line (or below it, with sign -1)
// at most, and when.
func excess(r *Run, line []float64, sign float64) (most, at float64) {
	for i, x := range line {
		if e := sign * (r.Input[i] - x); e > most {
			most, at = e, r.Time[i]
		}
	}
	return most, at
}
