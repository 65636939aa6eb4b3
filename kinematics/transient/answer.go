package transient

import (
	"context"
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
func (s *Shift) Play(ctx context.Context) (*Answer, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	h, err := s.handover(ctx)
	if err != nil {
		return nil, err
	}
	fine := *s
	fine.Step = s.Step / 2
	a := &Answer{Shift: s, Handover: h.kind}
	if a.Timed, _ = fine.run(ctx, h, true); a.Timed != nil {
		h.force(a.Timed)
	}
	coarse, err := s.run(ctx, h, false)
	if err != nil {
		return nil, err
	}
	if a.Run, err = fine.run(ctx, h, false); err != nil {
		return nil, err
	}
	a.Run.prove()
	a.StepError = difference(coarse, a.Run)
	a.Verdict = judge(a.Run, a.Timed, h)
	return a, nil
}

// force sets when what is applied in time is on for good if something is wrong:
// when it has been so in the timed run, but not before its own ramp would end.
func (h *handover) force(timed *Run) {
	for _, c := range timed.Courses {
		if c.Change != Applies || c.Origin != InTime {
			continue
		}
		if t := timed.Track(c.Coupling); t != nil && math.Abs(t.Slip[len(t.Slip)-1]) < slippingSpeed {
			h.latest[c.Coupling] = max(timed.Time[t.stops()], timed.begin+forced)
		}
	}
}

// stops is the sample from which a coupling does not slip to the end; 0 if it
// never slips, the number of samples if it does at the end.
func (t *Track) stops() int {
	i := len(t.Slip)
	for i > 0 && math.Abs(t.Slip[i-1]) < slippingSpeed {
		i--
	}
	return i
}

// run plays the shift, or with timed the shift as it should be.
func (s *Shift) run(ctx context.Context, h handover, timed bool) (*Run, error) {
	played := *s
	if timed {
		played.Faults = nil
	}
	p, err := played.plan(played.Faults, h, timed)
	if err != nil {
		return nil, err
	}
	return played.play(ctx, p)
}

// Ends returns when the last ramp of the shift ends, s after the command.
func (s *Shift) Ends(ctx context.Context) (float64, error) {
	h, err := s.handover(ctx)
	if err != nil {
		return 0, err
	}
	p, err := s.plan(s.Faults, h, false)
	if err != nil {
		return 0, err
	}
	end := p.last()
	if h.kind == BySpeed && len(s.Faults) > 0 {
		end = max(end, p.begin+forced) // what is applied in time may be on no earlier
	}
	return end, nil
}

// forced is how long after the first change what is applied in time is on at the
// earliest if something is wrong, s.
var forced = AssumedApply.End - AssumedApply.Start

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

// A Verdict is what a run was like, beside the timed one, from the first change
// of an element on.
type Verdict struct {
	// Sense is the way in which the ranges drive the vehicle when nothing is
	// wrong, the new one first: +1 forward, -1 backward, 0 if neither drives.
	Sense int

	// Least is the output torque, N m, that least drives that way (forward if
	// neither does), at LeastAt, s, the input giving LeastInput, N m; Before is
	// that before the change, TimedLeast that of the timed run. They count in the
	// vehicle's sense.
	Least, LeastAt, LeastInput, Before, TimedLeast float64
	// Bind is how long, s, the output torque was less than it was before and than it
	// is at the end of the timed run, while couplings fought the drive: exerted
	// torques that they do not have when nothing is wrong; as far as the timed run
	// does not. Fighting are those, and Giving those that slipped, when it was least.
	Bind             float64
	BindsAt          []int // samples
	Fighting, Giving []int
	// Flare is by how much, rad/s, the input ran above both ranges, at FlareAt, s,
	// as far as the timed run does not and it did not before.
	Flare, FlareAt float64
	FlaresAt       []int // samples
	// Sag is by how much it fell below both, when coasting.
	Sag, SagAt float64
	// Peak is the largest output torque, either way, N m, at PeakAt, s. Push is
	// that which is farthest from the torque before.
	Peak, PeakAt, Push, PushAt float64
	// Done is when the last coupling that the new range applies stopped slipping,
	// s; Slipping are those that slip under torque to the end, and Drags the others
	// that do.
	Done            float64
	Slipping, Drags []int
	// Slow are couplings that slip much longer than in the timed run.
	Slow []int
	// End is what the run came to.
	End End
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
	v.settle(r)
	v.End = r.end(&v, timed)
	v.torques(r, timed, h)
	v.speeds(r, timed)
	if timed != nil {
		v.Slow = r.slower(timed)
	}
	v.Timed = v.Bind == 0 && v.Flare == 0 && v.Sag == 0 && len(v.Slow) == 0 && len(v.Drags) == 0 && v.End.What == Reached
	return v
}

// driving is the sense in which output torque counts as driving.
func (v *Verdict) driving() float64 {
	if v.Sense == 0 {
		return 1
	}
	return float64(v.Sense)
}

// torques finds the binds and the pushes.
func (v *Verdict) torques(r, timed *Run, h handover) {
	d := v.driving()
	before := r.before()
	v.Before = r.OutputTorque[before]
	bound := math.Inf(-1)
	if timed != nil {
		_, v.TimedLeast = timed.farthest(func(x float64) float64 { return -d * x })
		bound = min(d*timed.OutputTorque[timed.last()], d*v.Before) - bindShare*peak(timed)
	}
	var at int
	at, v.Least = r.farthest(func(x float64) float64 { return -d * x })
	v.LeastAt, v.LeastInput = r.Time[at], r.InputTorque[at]
	s := r.Shift
	drives := v.End.What == Held || s.drives(s.To)
	drove := s.drove() || s.From == s.To || math.Abs(r.Output[before]) >= slippingSpeed
	if drives && drove {
		v.Bind, v.BindsAt = r.binds(d, bound, h)
		if timed != nil {
			long, _ := timed.binds(d, bound, h)
			v.Bind = max(0, v.Bind-long)
		}
	}
	switch {
	case v.End.What == Held:
		v.Fighting = r.fighting(r.last(), h)
	case v.Bind > 0:
		v.Fighting, v.Giving = r.fighting(at, h), r.slipping(at)
	}
	at, v.Peak = r.farthest(math.Abs)
	v.PeakAt = r.Time[at]
	was := v.Before
	if s.From == s.To {
		was = 0
	}
	at, v.Push = r.farthest(func(x float64) float64 { return math.Abs(x - was) })
	v.PushAt = r.Time[at]
}

// binds is how long the output torque, counted as it drives, is below a bound while
// couplings fight, s, and at which samples.
func (r *Run) binds(d, bound float64, h handover) (long float64, at []int) {
	for i := r.before() + 1; i < len(r.Time); i++ {
		if d*r.OutputTorque[i] < bound && len(r.fighting(i, h)) > 0 {
			long += r.Time[i] - r.Time[i-1]
			at = append(at, i)
		}
	}
	if long < 1.5*r.Shift.Sample {
		return 0, nil
	}
	return long, at
}

// speeds finds the flare and the sag.
func (v *Verdict) speeds(r, timed *Run) {
	high, low := r.Shift.lines(r)
	v.Flare, v.FlareAt, v.FlaresAt = excess(r, high, 1)
	if r.Shift.Torque < 0 {
		v.Sag, v.SagAt, _ = excess(r, low, -1)
	}
	if timed != nil {
		high, low = timed.Shift.lines(timed)
		flare, _, _ := excess(timed, high, 1)
		sag, _, _ := excess(timed, low, -1)
		v.Flare, v.Sag = max(0, v.Flare-flare), max(0, v.Sag-sag)
	}
	if v.Flare < flareRPM*radians {
		v.Flare = 0
	}
	if v.Sag < flareRPM*radians {
		v.Sag = 0
	}
}

// before is the last sample before the first element begins to change.
func (r *Run) before() int {
	i := sampleAt(r, r.begin)
	for i > 0 && r.Time[i] > r.begin+1e-9 {
		i--
	}
	return min(i, len(r.Time)-2)
}

// near is how far from an extreme, of its size, a sample counts as having reached it.
const near = 0.01

// farthest returns the first sample after the first change at which the output
// torque is as far, by a measure, as it ever is, and the farthest torque. Shocks,
// whose torque depends on how stiff things are, do not count.
func (r *Run) farthest(measure func(float64) float64) (at int, torque float64) {
	first := r.before() + 1
	best := -1
	for i := first; i < len(r.Time); i++ {
		if !r.shocked(i) && (best < 0 || measure(r.OutputTorque[i]) > measure(r.OutputTorque[best])) {
			best = i
		}
	}
	if best < 0 {
		return first, r.OutputTorque[first]
	}
	torque = r.OutputTorque[best]
	for at = first; at < best; at++ {
		if !r.shocked(at) && math.Abs(r.OutputTorque[at]-torque) <= max(near*math.Abs(torque), 0.05) {
			break
		}
	}
	return at, torque
}

// wordOfShock is the heat, J, of what cannot slip from which on it is a shock.
const wordOfShock = 10.0

// Extremes returns the least and greatest torque of a track, shocks apart.
func (r *Run) Extremes(t *Track) (low, high float64) {
	low, high = t.TorqueMin[0], t.TorqueMax[0]
	for i := range t.TorqueMin {
		if !r.shocked(i) {
			low, high = min(low, t.TorqueMin[i]), max(high, t.TorqueMax[i])
		}
	}
	return low, high
}

// shocked says whether what cannot slip caught what turned in sample i.
func (r *Run) shocked(i int) bool {
	if i == 0 {
		return false
	}
	for _, k := range r.shocks {
		if t := &r.Tracks[k]; t.Heat[i]-t.Heat[i-1] > wordOfShock {
			return true
		}
	}
	return false
}

// slow is how much longer than in the timed run a coupling slips if it is slow.
const (
	slowTimes = 1.5
	slowMore  = 0.1 // s
)

// slower lists the couplings that slip much longer than in the timed run.
func (r *Run) slower(timed *Run) []int {
	var list []int
	for _, t := range r.Tracks {
		if r.Shift.To.Applies(t.Coupling) && t.SlipTime > slowTimes*timed.slipTime(t.Coupling)+slowMore &&
			t.TotalHeat() > wordOfHeat {
			list = append(list, t.Coupling)
		}
	}
	return list
}

// fighting lists the couplings whose torque at sample i is not among those that
// they have when nothing is wrong.
func (r *Run) fighting(i int, h handover) []int {
	slack := 1e-3 * r.largest(i)
	var list []int
	for _, t := range r.Tracks {
		a := h.allowed[t.Coupling]
		if t.TorqueMin[i] > a.hi+slack || t.TorqueMax[i] < a.lo-slack {
			list = append(list, t.Coupling)
		}
	}
	return list
}

// largest is the largest torque of any coupling at sample i, either way.
func (r *Run) largest(i int) float64 {
	largest := 0.0
	for _, t := range r.Tracks {
		largest = max(largest, t.TorqueMax[i], -t.TorqueMin[i])
	}
	return largest
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

// settle finds when all that the new range applies has stopped slipping, and what
// still slips under torque.
func (v *Verdict) settle(r *Run) {
	for _, c := range r.Courses {
		t := r.Track(c.Coupling)
		if t == nil || c.After == 0 || math.IsInf(c.After, 0) {
			continue
		}
		last := len(t.Slip) - 1
		stops, loaded := t.stops(), t.TorqueMin[last] != 0 || t.TorqueMax[last] != 0
		switch on := r.Shift.To.Applies(c.Coupling); {
		case stops > last && loaded && on:
			v.Slipping = append(v.Slipping, c.Coupling)
		case stops > last && loaded:
			v.Drags = append(v.Drags, c.Coupling)
		case stops > 0 && stops <= last && on:
			v.Done = max(v.Done, r.Time[stops])
			if c.Change == Applies {
				v.Done = max(v.Done, c.Ramp.Start)
			}
		}
	}
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

// drives says whether a healthy range drives.
func (s *Shift) drives(r *kinematics.Range) bool { return s.outcome(r, nil).Drives() }

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
// at most, and when: more than before the first change; and at which samples it is so by
// more than nothing.
func excess(r *Run, line []float64, sign float64) (most, at float64, samples []int) {
	if line == nil {
		return 0, 0, nil
	}
	over := func(i int) float64 { return sign * (r.Input[i] - line[i]) }
	first := r.before()
	was := max(0, over(first))
	for i := first + 1; i < len(line); i++ {
		most = max(most, over(i)-was)
		if over(i)-was > flareRPM*radians {
			samples = append(samples, i)
		}
	}
	for i := first + 1; i < len(line) && most > 0; i++ {
		if over(i)-was >= (1-near)*most {
			return most, r.Time[i], samples
		}
	}
	return most, 0, nil
}
