package transient

import (
	"context"
	"math"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Run is a shift as it was played in steps of one length.
type Run struct {
	Shift *Shift
	Step  float64 // s
	// Courses is what every coupling that acts was made to do.
	Courses []Schedule

	// The samples: speeds at a time, torques as means since the sample before.
	// Output speed and torque are in the vehicle's sense, all else in that of the
	// input. OutputTorque is what the train exerts on the vehicle. Where an end
	// rests, and its own resistance or the train may hold it, its torque is the
	// least in size that is possible.
	Time         []float64 // s after the command
	Input        []float64 // rad/s
	InputTorque  []float64 // N m
	Output       []float64 // rad/s
	OutputTorque []float64 // N m
	Tracks       []Track   // of the couplings that act at any time
	// OneWay says that somewhere couplings could share their load in too many ways to
	// look at all: the torques there are those of one way.
	OneWay   bool
	Events   []Event
	Energy   Energy
	Accuracy Accuracy

	begin     float64 // when the first element begins to change, s
	shocks    []int   // the tracks of what cannot slip
	body      *body
	ys        []float64   // motions at the samples, k each
	rows      [][]float64 // of all that acts
	residuals float64     // the sum of those of all steps, in slips
	rounding  float64     // the sum of the bounds of rounding of all steps, in coordinates
}

// A Track is what one coupling does over the samples of a run.
type Track struct {
	Coupling int
	Slip     []float64 // rad/s
	// TorqueMin and TorqueMax are the torque on member A, N m. They differ where
	// couplings share a load in more ways than one: then they are the bounds over
	// all ways in which a statically determinate part of the couplings carries it.
	TorqueMin, TorqueMax []float64
	Heat                 []float64 // since the start, J

	SlipTime  float64 // how long it slipped under torque, s
	PeakSlip  float64 // under torque, rad/s
	PeakPower float64 // largest mean of a sample, W
}

// TotalHeat is the heat of the whole run, J.
func (t *Track) TotalHeat() float64 { return t.Heat[len(t.Heat)-1] }

// An Event is a change of what a one-way clutch does.
type Event struct {
	Time     float64 // s
	Coupling int
	Holds    bool // it takes hold; else it lets go and overruns
}

// Track returns what a coupling did, nil if it never acts.
func (r *Run) Track(coupling int) *Track {
	for i := range r.Tracks {
		if r.Tracks[i].Coupling == coupling {
			return &r.Tracks[i]
		}
	}
	return nil
}

// slipTime is how long a coupling slipped under torque, s; 0 if it never acts.
func (r *Run) slipTime(coupling int) float64 {
	if t := r.Track(coupling); t != nil {
		return t.SlipTime
	}
	return 0
}

// last is the index of the last sample.
func (r *Run) last() int { return len(r.Time) - 1 }

// Energy is the balance of a run, J:
//
//	Input = Train + Vehicle + Road + Heat + Shock + Error
type Energy struct {
	Input   float64 `json:"input"`   // work of the input torque; negative when it brakes
	Train   float64 `json:"train"`   // change of the kinetic energy of the train
	Vehicle float64 `json:"vehicle"` // change of the kinetic energy of the vehicle
	Road    float64 `json:"road"`    // into rolling resistance, air and brakes
	Heat    float64 `json:"heat"`    // in the couplings
	// Shock is the work of one-way clutches. They take none but in a shock, as when
	// a pawl catches a train that turns: what passes through them then cannot be
	// told from what the pawl takes, and is put here.
	Shock float64 `json:"shock"`
	Error float64 `json:"error"` // what is missing, by rounding
}

// Accuracy says how well the steps were solved.
type Accuracy struct {
	Steps int
	// Residual is the largest slip, rad/s, that broke the law of its coupling at
	// the end of a step.
	Residual float64
	// Bound is how far, rad/s, a speed of the run can be from the exact solution of
	// its steps, with the rounding of every step but not that of the data; infinite
	// where too many couplings act to find one.
	Bound float64
}

// prove sets the bound of the accuracy. A step never takes two motions farther
// apart [it is a projection, in the norm of the mass matrix], so the errors of
// all steps add up at most.
func (r *Run) prove() {
	largest := 0.0
	for _, m := range r.body.members {
		largest = max(largest, dot(m, m))
	}
	r.Accuracy.Bound = math.Sqrt(largest) * (steepest(r.rows)*r.residuals + r.rounding)
}

// motion returns the coordinates of the motion at sample i.
func (r *Run) motion(i int) []float64 { return r.ys[i*r.body.k : (i+1)*r.body.k] }

// Member returns the speed of a member over the samples, rad/s. It is 0 for
// members whose speed is not known.
func (r *Run) Member(m kinematics.MemberID) []float64 {
	w := make([]float64, len(r.Time))
	for i := range w {
		w[i] = dot(r.body.members[m], r.motion(i))
	}
	return w
}

// A player steps a body through a plan.
type player struct {
	s    *Shift
	b    *body
	rows [][]float64 // of all that acts
	laws []law
	of   []int // index of the coupling, or inputDrag or road
	box  *box

	y, yf, c []float64
	lengths  []float64 // of the rows
	sense    float64   // of the vehicle at the output

	run   *Run
	slip  []float64 // of every row, at the end of the last step
	watch []watch   // of every row
	error float64   // sum of the residuals
	round float64   // sum of the bounds of rounding
	// Since the last sample: sums of every row, whether it moved, and the impulses
	// of the input torque and on the vehicle.
	impulse, heat, slipTime []float64
	moved                   []bool
	input, output           float64
	shared                  map[string][]*sharing
}

// Rows that are no couplings.
const (
	inputDrag = -1 - iota
	road
)

// watch follows what a one-way clutch does. A change is an event when it has
// lasted for a while: a clutch without load hovers between the two.
type watch struct {
	holds, known bool
	since        float64 // of the change that may become an event; 0 for none
}

// lasting is how long a one-way clutch must hold or overrun to have an event, s.
const lasting = 0.004

// play steps through a plan.
func (s *Shift) play(ctx context.Context, p *plan) (*Run, error) {
	fall := 0.0
	if s.Torque > 0 && s.NoLoad > 0 {
		fall = s.Torque / s.NoLoad
	}
	b, err := newBody(s, p.modes, fall, s.Step)
	if err != nil {
		return nil, err
	}
	if b.k == 0 {
		return nil, errorf("nothing of the train can turn: there is no motion to play")
	}
	y, err := s.start(b, p)
	if err != nil {
		return nil, err
	}
	a := &player{s: s, b: b, y: y, yf: make([]float64, b.k), sense: float64(s.System.Train.Forward)}
	add := func(row []float64, l law, of int) {
		if (l.from != open || l.to != open) && dot(row, row) > 0 {
			a.rows, a.laws, a.of = append(a.rows, row), append(a.laws, l), append(a.of, of)
		}
	}
	for i, l := range p.laws {
		if p.modes[i] != kinematics.Locked {
			add(b.slips[i], l, i)
		}
	}
	if s.Torque < 0 {
		add(b.in, constant(friction(-s.Torque)), inputDrag)
	}
	add(b.out, constant(friction(s.Vehicle.RollingTorque()+s.Brake)), road)

	n := len(a.rows)
	for _, v := range []*[]float64{&a.c, &a.impulse, &a.heat, &a.slipTime, &a.slip} {
		*v = make([]float64, n)
	}
	a.watch, a.moved, a.shared = make([]watch, n), make([]bool, n), map[string][]*sharing{}
	a.box = newBox(a.rows)
	a.run = &Run{Shift: s, Step: s.Step, Courses: p.courses, begin: p.begin, body: b}
	for j, i := range a.of {
		if i >= 0 {
			if a.laws[j].from.limitless() || a.laws[j].to.limitless() {
				a.run.shocks = append(a.run.shocks, len(a.run.Tracks))
			}
			a.run.Tracks = append(a.run.Tracks, Track{Coupling: i})
		}
	}
	for i, r := range a.rows {
		a.slip[i] = dot(r, a.y)
		a.lengths = append(a.lengths, math.Sqrt(dot(r, r)))
	}
	if err := a.steps(ctx); err != nil {
		return nil, err
	}
	return a.run, nil
}

// steps takes all steps and balances the energy.
func (a *player) steps(ctx context.Context) error {
	s, b, r := a.s, a.b, a.run
	all0, vehicle0 := b.energy(a.y)
	every := max(1, int(math.Round(s.Sample/s.Step)))
	samples := max(1, int(math.Round(s.Until/(s.Step*float64(every)))))
	a.sample(0, 0)
	for i := range samples {
		if err := ctx.Err(); err != nil {
			return err
		}
		solve.Report(ctx, "samples of the shift", i, samples)
		for j := range every {
			if !a.step(i*every + j) {
				return errorf("the step at %.4f s has no solution: what is rigid leaves no motion", s.Step*float64(i*every+j))
			}
		}
		a.sample(i+1, every)
	}
	solve.Report(ctx, "samples of the shift", samples, samples)
	all1, vehicle1 := b.energy(a.y)
	e := &r.Energy
	e.Vehicle = vehicle1 - vehicle0
	e.Train = all1 - all0 - e.Vehicle
	e.Error = e.Input - e.Train - e.Vehicle - e.Road - e.Heat - e.Shock

	r.Accuracy.Steps = samples * every
	r.rows, r.residuals, r.rounding = a.rows, a.error, a.round
	return nil
}

// step takes step n, from n h to (n+1) h:
//
//	y⁺ = y + h f + Gᵀ x
//
// with the torques f that do not depend on it (the input's at its mean speed,
// which A contains; the air's at the speed of the start) and the impulses x of
// the couplings, whose bounds are taken at the middle of the step.
//
// An impulse does the work x (s + s⁺)/2 [Thomson and Tait], also where it is a
// shock, so the books are balanced in every step whatever its length.
func (a *player) step(n int) bool {
	s, b, h := a.s, a.b, a.s.Step
	in0, out0 := dot(b.in, a.y), dot(b.out, a.y)
	push := 0.0
	if s.Torque > 0 {
		push = s.Torque
	}
	air := -s.Vehicle.DragTorque() * out0 * math.Abs(out0)
	// The fall of the torque, e (in + in⁺)/2, has its part in⁺ in A; A y holds
	// another e in/2 h that M y does not: together h e in.
	f := h * (push - b.fall*in0)
	for j := range a.yf {
		a.yf[j] = a.y[j] + f*b.in[j] + h*air*b.out[j]
	}
	t := (float64(n) + 0.5) * h
	for i, row := range a.rows {
		v := a.laws[i].at(t)
		a.box.lo[i], a.box.hi[i] = v.lo*h, v.hi*h
		a.c[i] = dot(row, a.yf)
	}
	if !a.box.solve(a.c) {
		return false
	}
	// What is added up below, in size: a sum of n terms rounds by n of its ulps.
	size := math.Sqrt(dot(a.y, a.y)) + math.Abs(f)*math.Sqrt(dot(b.in, b.in)) +
		h*math.Abs(air)*math.Sqrt(dot(b.out, b.out))
	copy(a.y, a.yf)
	for i, x := range a.box.x {
		if x != 0 {
			size += math.Abs(x) * a.lengths[i]
			for j, v := range a.rows[i] {
				a.y[j] += x * v
			}
		}
	}
	terms := float64(len(a.rows) + b.k + ownTerms)
	a.round += terms * ulp * size
	residual := a.box.residual()
	a.error += residual + terms*ulp*a.box.scale
	a.run.Accuracy.Residual = max(a.run.Accuracy.Residual, residual)
	a.book(n, in0, out0, h*air)
	return true
}

const (
	ulp = 1.0 / (1 << 52)
	// ownTerms is how often a coordinate is rounded in a step beside the sums over
	// couplings and coordinates.
	ownTerms = 8
)

// book adds what the step did to the sums.
func (a *player) book(n int, in0, out0, air float64) {
	s, b, h := a.s, a.b, a.s.Step
	e := &a.run.Energy
	in, out := (in0+dot(b.in, a.y))/2, dot(b.out, a.y)
	mean := (out0 + out) / 2
	push := 0.0
	if s.Torque > 0 {
		push = h * (s.Torque - b.fall*in)
	}
	a.input += push
	e.Input += push * in
	e.Road -= air * mean
	a.output += b.vehicle*(out-out0) - air
	for i, x := range a.box.x {
		slip := a.box.s[i]
		work := x * (a.slip[i] + slip) / 2
		a.impulse[i] += x
		a.moved[i] = a.moved[i] || math.Abs(slip) > still
		switch a.of[i] {
		case inputDrag:
			a.input += x
			e.Input += work
		case road:
			a.output -= x
			e.Road -= work
		default:
			if math.IsInf(a.box.lo[i], 0) != math.IsInf(a.box.hi[i], 0) { // one way
				e.Shock -= work
			} else {
				a.heat[i] -= work
				e.Heat -= work
			}
			a.follow(i, float64(n+1)*h)
		}
		a.slip[i] = slip
	}
}

// still is a slip, rad/s, that is taken as none where only words depend on it.
const still = 1e-6

// follow notes how long a coupling slips, and when a one-way clutch changes.
func (a *player) follow(i int, t float64) {
	box, slip := a.box, math.Abs(a.box.s[i])
	if box.lo[i] == box.hi[i] {
		return
	}
	if !a.laws[i].oneWay() { // it can slip both ways, or none
		if slip > still && box.x[i] != 0 {
			a.slipTime[i] += a.s.Step
		}
		return
	}
	w := &a.watch[i]
	holds, overruns := box.x[i] != 0, slip > still
	switch {
	case !holds && !overruns, w.known && holds == w.holds:
		w.since = 0
	case !w.known:
		w.known, w.holds = true, holds
	case w.since == 0:
		w.since = t
	case t-w.since >= lasting:
		a.run.Events = append(a.run.Events, Event{Time: w.since, Coupling: a.of[i], Holds: holds})
		w.holds, w.since = holds, 0
	}
}
