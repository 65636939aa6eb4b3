package analysis

import (
	"cmp"
	"context"
	"errors"
	"math"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/transient"
)

// A PlayQuestion asks for a shift in time. What it leaves out is assumed, and the
// answer lists it.
type PlayQuestion struct {
	From, To *kinematics.Range // the same one to play on in it
	Condition
	Torque  *float64 // at the input, N m; the drag of a closed throttle below 0
	NoLoad  *float64 // input speed at which that has fallen to nothing, rpm; 0 for never
	Speed   *float64 // of the vehicle at the start, km/h
	Input   *float64 // speed of the input at the start, rpm
	Brakes  float64  // that hold the wheels, N m
	Ratings *Ratings // nil for those of the file, else assumed ones
	// Release and Apply are the ramps of elements, by their place in the train.
	Release, Apply map[int]kinematics.Ramp
	Until, Step    *float64 // s
}

// Ratings say what elements hold, in N m.
type Ratings struct {
	Rated   float64            // rated input torque; 0 for that of the file, else an assumed one
	Reserve exact.Frac         // of assumed ratings, over the largest healthy torque
	Given   map[int]exact.Frac // by element
}

// A QuestionError says which parts of a question have no answer, and why.
type QuestionError struct {
	Parts []string // as the command line calls them: "release"
	Err   error
}

// errNoRange refuses a question about one range that names none.
var errNoRange = &QuestionError{[]string{"range"}, errors.New("which range is asked about?")}

// Error says why.
func (e *QuestionError) Error() string { return e.Err.Error() }

// Unwrap returns the reason.
func (e *QuestionError) Unwrap() error { return e.Err }

// shift returns what is to be played.
func (a *Analysis) shift(ctx context.Context, q *PlayQuestion) (*transient.Shift, error) {
	if err := q.in(a.Train, q.From, q.To); err != nil {
		return nil, err
	}
	err := cmp.Or(given("torque", q.Torque), given("no-load", q.NoLoad), given("speed", q.Speed), given("rpm", q.Input),
		given("until", q.Until), given("step", q.Step), number("brakes", q.Brakes, 0),
		rampsGiven(a.Train, "release", q.Release), rampsGiven(a.Train, "apply", q.Apply))
	if r := q.Ratings; r != nil {
		err = cmp.Or(err, number("rated-torque", r.Rated, 0), number("reserve", r.Reserve.Float(), above0),
			ratingsGiven(a.Train, r.Given))
	}
	if err != nil {
		return nil, err
	}
	if _, err := a.system.FindPeaks(ctx); err != nil {
		return nil, err
	}
	s := transient.New(a.system, q.From, q.To)
	s.Faults = q.Faults
	if q.Torque != nil {
		s.Torque, s.Assumes.Torque = *q.Torque, false
	}
	if q.NoLoad != nil {
		s.NoLoad, s.Assumes.NoLoad = *q.NoLoad/transient.RPM(1), false
	}
	if q.Speed != nil {
		s.Speed, s.Assumes.Speed = *q.Speed/s.KMH(1), false
	}
	if q.Input != nil {
		if fixed := s.SetInput(*q.Input / transient.RPM(1)); fixed && q.Speed != nil {
			return nil, &QuestionError{[]string{"speed", "rpm"}, &transient.Error{
				Text: q.From.Name + " drives, so that one of the two gives the other"}}
		}
	}
	s.Brake = q.Brakes / s.Vehicle.FinalDrive
	if r := q.Ratings; r != nil {
		s.Rate(r.Rated, r.Reserve, r.Given)
	}
	if err := ramps(s, "release", q.Release, s.Release); err != nil {
		return nil, err
	}
	if err := ramps(s, "apply", q.Apply, s.Apply); err != nil {
		return nil, err
	}
	a.routes(s, q)
	if q.Step != nil {
		s.Step = *q.Step
		s.Sample = max(1, math.Round(transient.DefaultSample/s.Step)) * s.Step
	}
	return s, until(ctx, s, q.Until)
}

// routes sets the ramps that follow from the ways for the fluid in and out, where
// neither the question nor the file gives one.
func (a *Analysis) routes(s *transient.Shift, q *PlayQuestion) {
	n := controls.Of(a.Train)
	if n == nil {
		return
	}
	from, known := a.Train.Range(q.From.Name)
	to, both := a.Train.Range(q.To.Name)
	if !known || !both || from == to {
		return
	}
	for _, r := range n.Ramps(from, to, q.Controls()) {
		c, into := &a.Train.Couplings[r.Element], s.Release
		file := c.Release
		if r.Applies {
			file, into = c.Apply, s.Apply
		}
		if file == nil && into[r.Element] == nil && s.Moves(r.Element, r.Applies) == nil {
			into[r.Element] = &kinematics.Ramp{Start: r.Start, End: r.End, Shape: kinematics.Line}
		}
	}
}

// ramps sets the ramps of a shift.
func ramps(s *transient.Shift, part string, given map[int]kinematics.Ramp, into []*kinematics.Ramp) error {
	for i := range s.System.Train.Couplings {
		ramp, there := given[i]
		if !there {
			continue
		}
		if err := s.Moves(i, part == "apply"); err != nil {
			return &QuestionError{[]string{part}, err}
		}
		into[i] = &ramp
	}
	return nil
}

// until sets how long a shift is played.
func until(ctx context.Context, s *transient.Shift, given *float64) error {
	if given != nil {
		s.Until = *given
		return nil
	}
	ends, err := s.Ends(ctx)
	s.Until = ends + transient.AfterRamps
	return err
}

// Scene is what is asked of a shift in time, with what was assumed.
type Scene struct {
	Train *kinematics.Train `json:"train"`
	From  string            `json:"from"`
	To    string            `json:"to"`
	Faulted
	Torque float64  `json:"torque"`  // N m
	NoLoad *float64 `json:"no_load"` // rpm; nil for a torque that does not fall with speed
	Speed  float64  `json:"speed"`   // km/h
	Brakes float64  `json:"brakes"`  // N m, at the wheels

	Input  string `json:"-"` // the member, the same in both ranges
	Output string `json:"-"`
}

// scene returns the scene of a shift that starts with an output speed.
func scene(s *transient.Shift, output float64, c Condition) Scene {
	t := s.System.Train
	return Scene{
		Train: t, From: s.From.Name, To: s.To.Name, Faulted: c.faulted(t), Torque: s.Torque,
		NoLoad: document.If(clean(transient.RPM(s.NoLoad)), s.Torque > 0 && s.NoLoad != 0),
		Speed:  clean(s.KMH(output)), Brakes: clean(s.WheelBrakes()),
		Input: t.Members[s.From.Input].Name, Output: t.Members[s.From.Output].Name,
	}
}

// Played is a shift in time, beside the same shift as it should be. Its document
// is tieup.transient/1.
type Played struct {
	Schema string        `json:"schema"`
	Units  Named[string] `json:"units"`
	Scene
	Vehicle  kinematics.Vehicle   `json:"vehicle"`
	Inertia  Named[float64]       `json:"inertia"` // of members
	Words    []string             `json:"words"`   // what the shift was like, the most important first
	Verdict  PlayedVerdict        `json:"verdict"`
	Elements Named[PlayedElement] `json:"elements"` // what acts, in the order of the train
	Events   List[Named[any]]     `json:"events"`   // of one-way clutches: "holds" or "overruns"
	Energy   transient.Energy     `json:"energy"`
	Accuracy Named[any]           `json:"accuracy"`
	Assumed  List[string]         `json:"assumed"`
	Cautions List[string]         `json:"cautions"`
	Course   PlayedCourse         `json:"course"`
	Timed    *PlayedCourse        `json:"timed"` // without faults, nil if the train cannot be so

	// Heading says which shift was played, Given the same under a drawing, Precision
	// how well the course is known. Moments are worth a mark in a drawing.
	Heading   string             `json:"-"`
	Given     string             `json:"-"`
	Precision string             `json:"-"`
	Moments   []transient.Moment `json:"-"`
	Phases    []transient.Phase  `json:"-"`
	Hazards   []reading.Hazard   `json:"-"`
}

// PlayedVerdict is what a shift was like.
type PlayedVerdict struct {
	transient.Verdict
	answer *transient.Answer
}

// Over says that all that the new range applies has stopped slipping, at Done.
func (v *PlayedVerdict) Over() bool { return v.Done > 0 && len(v.Slipping) == 0 }

// MarshalJSON writes the verdict by names, with speeds in rpm.
func (v PlayedVerdict) MarshalJSON() ([]byte, error) {
	names := func(couplings []int) List[string] { return v.answer.Shift.System.Train.CouplingNames(couplings) }
	ratio, drives := v.End.Outcome.Ratio()
	return document.Object(
		"timed", v.Timed, "handover", v.answer.Handover, "bind", v.Bind, "fighting", names(v.Fighting),
		"least_output_torque", v.Least, "least_output_torque_at", v.LeastAt,
		"timed_least_output_torque", document.If(v.TimedLeast, v.answer.Timed != nil),
		"flare", transient.RPM(v.Flare), "flare_at", document.If(v.FlareAt, v.Flare > 0),
		"sag", transient.RPM(v.Sag), "sag_at", document.If(v.SagAt, v.Sag > 0),
		"peak_output_torque", v.Peak, "peak_output_torque_at", v.PeakAt, "done_at", document.If(v.Done, v.Over()),
		"still_slipping", names(v.Slipping), "still_dragging", names(v.Drags), "slow", names(v.Slow),
		"end", v.End.What, "end_ratio", document.If(ratio, drives),
	).MarshalJSON()
}

// PlayedElement is what one element was made to do, and did.
type PlayedElement struct {
	Kind      string                `json:"kind"`
	Part      string                `json:"part"` // in the shift, in words
	Ramp      *[2]float64           `json:"ramp"` // nil where it does not change, or in time
	Shape     *kinematics.RampShape `json:"shape"`
	Origin    *transient.Origin     `json:"ramp_origin"` // nil where it does not change
	Before    Number                `json:"holds_before"`
	After     Number                `json:"holds_after"`
	SlipTime  float64               `json:"slip_time"`
	PeakSlip  float64               `json:"peak_slip"` // rpm
	PeakPower float64               `json:"peak_power"`
	Torque    Extent                `json:"torque"` // shocks apart
	Heat      float64               `json:"heat"`
	HeatTimed *float64              `json:"heat_timed"`
	HeatArea  *float64              `json:"heat_per_area"`

	Schedule transient.Schedule `json:"-"`
}

// Changes says whether the shift applies or releases the element.
func (e *PlayedElement) Changes() bool { return e.Schedule.Change != transient.Stays }

// Releases says whether the shift releases the element.
func (e *PlayedElement) Releases() bool { return e.Schedule.Change == transient.Releases }

// InTime says whether the element changes at the best time, whatever ramps say.
func (e *PlayedElement) InTime() bool { return e.Changes() && e.Schedule.Origin == transient.InTime }

// Idle says whether the element neither changes nor slips.
func (e *PlayedElement) Idle() bool { return !e.Changes() && e.SlipTime == 0 }

// PlayedCourse is a run over its samples.
type PlayedCourse struct {
	Time         []float64          `json:"time"`
	Input        []float64          `json:"input"`  // rpm
	Output       []float64          `json:"output"` // rpm
	Vehicle      []float64          `json:"-"`      // km/h
	InputTorque  []float64          `json:"input_torque"`
	OutputTorque []float64          `json:"output_torque"`
	Elements     Named[PlayedTrack] `json:"elements"`
	Members      Named[[]float64]   `json:"members"` // rpm
}

// PlayedTrack is what one element does over the samples.
type PlayedTrack struct {
	Slip   []float64 `json:"slip"` // rpm
	Torque []Spread  `json:"torque"`
	Heat   []float64 `json:"heat"`
}

// Doings are the words for what elements do in the phases of a shift, each at its number.
func Doings() []string { return transient.Doings() }

// playedUnits are those of all numbers of the document.
var playedUnits = document.Texts(
	"speeds (input, output, members, slip, flare, sag, halving, residual, bound)", "rpm",
	"torques", "N m", "time", "s", "heat, energy", "J", "peak_power", "W", "heat_per_area", "J/mm²",
	"vehicle", "kg, m, m²", "inertia", "kg m²",
	"speed", "km/h", "brakes", "N m at the wheels", "end_ratio", "input / output, as the new range then drives",
	"sense", "output and all output torques + forward, all else + as the input turns; torque of an element on its "+
		"first member",
)

// Play plays a shift in time.
func (a *Analysis) Play(ctx context.Context, q PlayQuestion) (*Played, error) {
	s, err := a.shift(ctx, &q)
	if err != nil {
		return nil, err
	}
	return a.played(ctx, s, q.Condition)
}

// PlayOverlaps plays a shift with several overlaps, s, of what it releases, or
// applies.
func (a *Analysis) PlayOverlaps(ctx context.Context, q PlayQuestion, moves Change,
	overlaps []float64) ([]*Played, error) {
	for _, o := range overlaps {
		if err := number("overlap", o, math.Inf(-1)); err != nil {
			return nil, err
		}
	}
	s, err := a.shift(ctx, &q)
	if err != nil {
		return nil, err
	}
	shifts, err := s.WithOverlaps(ctx, moves, overlaps)
	if err != nil {
		return nil, err
	}
	var list []*Played
	for _, s := range shifts {
		p, err := a.played(ctx, s, q.Condition)
		if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	return list, nil
}

// played plays a shift and says all about it.
func (a *Analysis) played(ctx context.Context, s *transient.Shift, c Condition) (*Played, error) {
	x, err := s.Play(ctx)
	if err != nil {
		return nil, err
	}
	t, r := a.Train, x.Run
	p := &Played{
		Schema: "tieup.transient/1", Units: playedUnits, Scene: scene(s, r.Output[0], c), Vehicle: s.Vehicle,
		Words: x.Words(), Verdict: PlayedVerdict{x.Verdict, x}, Energy: r.Energy, Accuracy: playedAccuracy(x),
		Assumed: x.Assumed(), Course: playedCourse(r), Heading: x.Heading(), Given: x.Given(), Precision: x.Precision(),
		Moments: x.Moments(), Phases: x.Phases(),
	}
	p.Energy.Shock = clean(p.Energy.Shock)
	for i, kgm2 := range transient.Inertias(t) {
		if kgm2 > 0 {
			p.Inertia.Add(t.Members[i].Name, kgm2)
		}
	}
	for _, c := range r.Courses {
		if track := r.Track(c.Coupling); track != nil {
			p.Elements.Add(t.Couplings[c.Coupling].Name, playedElement(x, c, track))
		}
	}
	for _, e := range r.Events {
		does := "overruns"
		if e.Holds {
			does = "holds"
		}
		p.Events = append(p.Events, document.Object("time", e.Time, "element", t.Couplings[e.Coupling].Name,
			"does", does))
	}
	if x.Timed != nil {
		p.Timed = document.If(playedCourse(x.Timed), true)
	}
	w := a.workers.take()
	defer a.workers.put(w)
	p.Outcomes, p.Hazards = w.shiftHazards(c, s.From, s.To)
	if x.Verdict.Bind > 0 {
		p.Hazards = append(p.Hazards, reading.Locks)
	}
	p.Cautions = reading.Cautions(t.Use, p.Hazards)
	return p, nil
}

// playedAccuracy says how well the course is known: how much halving the steps changed, and
// how well they were solved. Speeds are in rpm.
func playedAccuracy(x *transient.Answer) Named[any] {
	r, e := x.Run, &x.StepError
	return document.Object(
		"step", r.Step, "steps", r.Accuracy.Steps, "halving_input", transient.RPM(e.Input),
		"halving_output", transient.RPM(e.Output), "halving_output_torque", e.OutputTorque, "halving_heat", e.Heat,
		"residual", transient.RPM(r.Accuracy.Residual), "bound", Number(transient.RPM(r.Accuracy.Bound)),
	)
}

func playedElement(x *transient.Answer, c transient.Schedule, track *transient.Track) PlayedElement {
	coupling := &x.Shift.System.Train.Couplings[c.Coupling]
	low, high := x.Run.Extremes(track)
	e := PlayedElement{
		Kind: coupling.Kind.String(), Part: x.Part(&c), Before: Number(c.Before), After: Number(c.After),
		SlipTime: track.SlipTime, PeakSlip: transient.RPM(track.PeakSlip), PeakPower: clean(track.PeakPower),
		Torque: Extent{clean(low), clean(high)}, Heat: clean(track.TotalHeat()), Schedule: c,
	}
	if e.Changes() {
		e.Origin = &c.Origin
		e.Ramp = document.If([2]float64{c.Ramp.Start, c.Ramp.End}, !e.InTime())
		e.Shape = document.If(c.Ramp.Shape, !e.InTime())
	}
	if x.Timed != nil {
		e.HeatTimed = new(float64)
		if timed := x.Timed.Track(c.Coupling); timed != nil {
			*e.HeatTimed = clean(timed.TotalHeat())
		}
	}
	const perMM = 1e6 // mm² in a m²
	e.HeatArea = document.If(clean(track.TotalHeat()/coupling.Area/perMM), coupling.Area > 0)
	return e
}

func playedCourse(r *transient.Run) PlayedCourse {
	s := r.Shift
	t := s.System.Train
	c := PlayedCourse{
		Time: cleaned(r.Time, same), Input: cleaned(r.Input, transient.RPM), Output: cleaned(r.Output, transient.RPM),
		Vehicle: cleaned(r.Output, s.KMH), InputTorque: cleaned(r.InputTorque, same),
		OutputTorque: cleaned(r.OutputTorque, same),
	}
	for _, track := range r.Tracks {
		x := PlayedTrack{Slip: cleaned(track.Slip, transient.RPM), Heat: cleaned(track.Heat, same)}
		for i, low := range track.TorqueMin {
			x.Torque = append(x.Torque, Spread{clean(low), clean(track.TorqueMax[i])})
		}
		c.Elements.Add(t.Couplings[track.Coupling].Name, x)
	}
	for i, m := range t.Members {
		if m.Kind != kinematics.JointHub && m.Kind != kinematics.HousingMember && !m.Unknown {
			c.Members.Add(m.Name, cleaned(r.Member(kinematics.MemberID(i)), transient.RPM))
		}
	}
	return c
}

// clean leaves out figures that mean nothing, and the sign of 0.
func clean(x float64) float64 { return math.Round(x*1e9)/1e9 + 0 }

// same is a number in its own unit.
func same(x float64) float64 { return x }

// cleaned is clean of every number, in a unit.
func cleaned(list []float64, unit func(float64) float64) []float64 {
	out := make([]float64, len(list))
	for i, x := range list {
		out[i] = clean(unit(x))
	}
	return out
}
