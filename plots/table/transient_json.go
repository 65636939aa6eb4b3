package table

import (
	"io"
	"math"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/transient"
)

type playedVerdict struct {
	Timed       bool     `json:"timed"`
	Handover    string   `json:"handover"` // torque, speed, neutral, none
	Bind        float64  `json:"bind"`
	Fighting    []string `json:"fighting"`
	LeastTorque float64  `json:"least_output_torque"`
	LeastAt     float64  `json:"least_output_torque_at"`
	TimedLeast  *float64 `json:"timed_least_output_torque"`
	Flare       float64  `json:"flare"`
	FlareAt     *float64 `json:"flare_at"`
	Sag         float64  `json:"sag"`
	SagAt       *float64 `json:"sag_at"`
	Peak        float64  `json:"peak_output_torque"`
	PeakAt      float64  `json:"peak_output_torque_at"`
	Done        *float64 `json:"done_at"`
	Slipping    []string `json:"still_slipping"`
	Drags       []string `json:"still_dragging"`
	Slow        []string `json:"slow"`
	End         string   `json:"end"` // reached, slipping, not-yet, otherwise, no-drive, held
	EndRatio    *float64 `json:"end_ratio"`
}

type playedElement struct {
	Kind      string   `json:"kind"`
	Part      string   `json:"part"`
	Ramp      []any    `json:"ramp"`
	Shape     *string  `json:"shape"`
	Origin    *string  `json:"ramp_origin"` // given, assumed, in-time
	Before    any      `json:"holds_before"`
	After     any      `json:"holds_after"`
	SlipTime  float64  `json:"slip_time"`
	PeakSlip  float64  `json:"peak_slip"`
	PeakPower float64  `json:"peak_power"`
	Torque    minMax   `json:"torque"`
	Heat      float64  `json:"heat"`
	HeatTimed *float64 `json:"heat_timed"`
	HeatArea  *float64 `json:"heat_per_area"`
}

type playedEvent struct {
	Time    float64 `json:"time"`
	Element string  `json:"element"`
	Does    string  `json:"does"` // holds, overruns
}

type playedEnergy struct {
	Input   float64 `json:"input"`
	Train   float64 `json:"train"`
	Vehicle float64 `json:"vehicle"`
	Road    float64 `json:"road"`
	Heat    float64 `json:"heat"`
	Shock   float64 `json:"shock"`
	Error   float64 `json:"error"`
}

type playedAccuracy struct {
	Step         float64 `json:"step"`
	Steps        int     `json:"steps"`
	Input        float64 `json:"halving_input"`
	Output       float64 `json:"halving_output"`
	OutputTorque float64 `json:"halving_output_torque"`
	Heat         float64 `json:"halving_heat"`
	Residual     float64 `json:"residual"`
	Bound        any     `json:"bound"`
}

type playedVehicle struct {
	Mass       float64 `json:"mass"`
	FinalDrive float64 `json:"final_drive"`
	TyreRadius float64 `json:"tyre_radius"`
	Rolling    float64 `json:"rolling"`
	Drag       float64 `json:"drag"`
}

// playedCourse is a run over its samples.
type playedCourse struct {
	Time         []float64 `json:"time"`
	Input        []float64 `json:"input"`
	Output       []float64 `json:"output"`
	InputTorque  []float64 `json:"input_torque"`
	OutputTorque []float64 `json:"output_torque"`
	Elements     ordered   `json:"elements"`
	Members      ordered   `json:"members"`
}

type playedTrack struct {
	Slip   []float64 `json:"slip"`
	Torque []any     `json:"torque"`
	Heat   []float64 `json:"heat"`
}

var handoverWords = map[transient.Handover]string{transient.LetGo: "none", transient.ByTorque: "torque", transient.BySpeed: "speed",
	transient.ViaNeutral: "neutral"}

var endings = map[transient.Ending]string{transient.Reached: "reached", transient.StillSlip: "slipping", transient.NotYet: "not-yet",
	transient.Otherwise: "otherwise", transient.NoDrive: "no-drive", transient.Held: "held"}

var courseOrigins = map[transient.Origin]string{transient.Given: "given", transient.Assumed: "assumed", transient.InTime: "in-time"}

// playedUnits are those of all numbers of the answer.
var playedUnits = ordered{
	{"speeds (input, output, members, slip, flare, sag, halving, residual, bound)", "rpm"}, {"torques", "N m"}, {"time", "s"},
	{"heat, energy", "J"}, {"peak_power", "W"}, {"heat_per_area", "J/mm²"}, {"vehicle", "kg, m, m²"}, {"inertia", "kg m²"},
	{"speed", "km/h"}, {"brakes", "N m at the wheels"}, {"end_ratio", "input / output, as the new range then drives"},
	{"sense", "output and all output torques + forward, all else + as the input turns; torque of an element on its first member"},
}

// JSON writes the schema tieup.transient/1.
func (a Played) JSON(w io.Writer) error {
	s, r, v := a.Shift, a.Run, &a.Verdict
	t := s.System.Train
	answer := struct {
		Schema   string         `json:"schema"`
		Units    ordered        `json:"units"`
		Train    string         `json:"train"`
		From     string         `json:"from"`
		To       string         `json:"to"`
		Faults   []string       `json:"faults"`
		Torque   float64        `json:"torque"`
		NoLoad   *float64       `json:"no_load"`
		Speed    float64        `json:"speed"`
		Brakes   float64        `json:"brakes"`
		Vehicle  playedVehicle  `json:"vehicle"`
		Inertia  ordered        `json:"inertia"`
		Words    []string       `json:"words"`
		Verdict  playedVerdict  `json:"verdict"`
		Elements ordered        `json:"elements"`
		Events   []playedEvent  `json:"events"`
		Energy   playedEnergy   `json:"energy"`
		Accuracy playedAccuracy `json:"accuracy"`
		Assumed  []string       `json:"assumed"`
		Course   playedCourse   `json:"course"`
		Timed    *playedCourse  `json:"timed"`
	}{
		Schema: "tieup.transient/1", Units: playedUnits, Train: t.Name, From: s.From.Name, To: s.To.Name, Faults: []string{},
		Torque:  s.Torque,
		Vehicle: playedVehicle{s.Vehicle.Mass, s.Vehicle.FinalDrive, s.Vehicle.TyreRadius, s.Vehicle.Rolling, s.Vehicle.Drag},
		Inertia: ordered{}, Words: a.Words(), Elements: ordered{}, Events: []playedEvent{}, Assumed: a.Assumed(),
		Energy: playedEnergy(r.Energy),
		Accuracy: playedAccuracy{r.Step, r.Accuracy.Steps, transient.RPM(a.StepError.Input), transient.RPM(a.StepError.Output),
			a.StepError.OutputTorque, a.StepError.Heat, transient.RPM(r.Accuracy.Residual), orInf(transient.RPM(r.Accuracy.Bound))},
		Course: jsonCourse(r),
	}
	for _, f := range s.Faults {
		answer.Faults = append(answer.Faults, t.FaultText(f))
	}
	answer.NoLoad, answer.Speed, answer.Brakes = noLoadSpeed(s), clean(s.KMH(r.Output[0])), clean(s.Brake*s.Vehicle.FinalDrive)
	for i, x := range transient.Inertias(t) {
		if x > 0 {
			answer.Inertia = append(answer.Inertia, named{t.Members[i].Name, x})
		}
	}
	answer.Verdict = playedVerdict{
		Timed: v.Timed, Handover: handoverWords[a.Handover], Bind: v.Bind, Fighting: t.CouplingNames(v.Fighting),
		LeastTorque: v.Least, LeastAt: v.LeastAt, Flare: transient.RPM(v.Flare), Sag: transient.RPM(v.Sag),
		Peak: v.Peak, PeakAt: v.PeakAt, Slipping: t.CouplingNames(v.Slipping),
		Drags: t.CouplingNames(v.Drags), Slow: t.CouplingNames(v.Slow), End: endings[v.End.What],
	}
	if ratio, ok := v.End.Outcome.Ratio(); ok {
		x := ratio.Float()
		answer.Verdict.EndRatio = &x
	}
	some := func(x float64, given bool) *float64 {
		if !given {
			return nil
		}
		return &x
	}
	answer.Verdict.TimedLeast = some(v.TimedLeast, a.Timed != nil)
	answer.Verdict.FlareAt, answer.Verdict.SagAt = some(v.FlareAt, v.Flare > 0), some(v.SagAt, v.Sag > 0)
	answer.Verdict.Done = some(v.Done, v.Done > 0 && len(v.Slipping) == 0)
	for _, c := range r.Courses {
		if track := r.Track(c.Coupling); track != nil {
			answer.Elements = append(answer.Elements, named{t.Couplings[c.Coupling].Name, a.element(c, track)})
		}
	}
	for _, e := range r.Events {
		does := "overruns"
		if e.Holds {
			does = "holds"
		}
		answer.Events = append(answer.Events, playedEvent{e.Time, t.Couplings[e.Coupling].Name, does})
	}
	if a.Timed != nil {
		timed := jsonCourse(a.Timed)
		answer.Timed = &timed
	}
	return WriteJSON(w, answer)
}

// noLoadSpeed is the speed at which the input torque is nothing, nil for none.
func noLoadSpeed(s *transient.Shift) *float64 {
	if s.Torque <= 0 || s.NoLoad == 0 {
		return nil
	}
	x := clean(transient.RPM(s.NoLoad))
	return &x
}

func (a Played) element(c transient.Schedule, track *transient.Track) playedElement {
	t := a.Shift.System.Train
	e := playedElement{
		Kind: t.Couplings[c.Coupling].Kind.String(), Part: a.part(c), Before: orInf(c.Before), After: orInf(c.After),
		SlipTime: track.SlipTime, PeakSlip: transient.RPM(track.PeakSlip), PeakPower: track.PeakPower, Heat: track.TotalHeat(),
	}
	low, high := a.Run.Extremes(track)
	e.Torque = minMax{low, high}
	if c.Change != transient.Stays {
		origin := courseOrigins[c.Origin]
		e.Origin = &origin
		if c.Origin != transient.InTime {
			shape := string(c.Ramp.Shape)
			e.Ramp, e.Shape = []any{c.Ramp.Start, c.Ramp.End}, &shape
		}
	}
	if a.Timed != nil {
		heat := 0.0
		if x := a.Timed.Track(c.Coupling); x != nil {
			heat = x.TotalHeat()
		}
		e.HeatTimed = &heat
	}
	if area := t.Couplings[c.Coupling].Area; area > 0 {
		x := track.TotalHeat() / area / 1e6
		e.HeatArea = &x
	}
	return e
}

// orInf writes an infinite number as "inf".
func orInf(x float64) any {
	if math.IsInf(x, 1) {
		return "inf"
	}
	return x
}

func rpms(w []float64) []float64 {
	list := make([]float64, len(w))
	for i, x := range w {
		list[i] = clean(transient.RPM(x))
	}
	return list
}

// clean leaves out figures that mean nothing, and the sign of 0.
func clean(x float64) float64 { return math.Round(x*1e9)/1e9 + 0 }

func cleaned(list []float64) []float64 {
	out := make([]float64, len(list))
	for i, x := range list {
		out[i] = clean(x)
	}
	return out
}

func jsonCourse(r *transient.Run) playedCourse {
	t := r.Shift.System.Train
	c := playedCourse{Time: cleaned(r.Time), Input: rpms(r.Input), Output: rpms(r.Output), InputTorque: cleaned(r.InputTorque),
		OutputTorque: cleaned(r.OutputTorque), Elements: ordered{}, Members: ordered{}}
	for _, track := range r.Tracks {
		x := playedTrack{Slip: rpms(track.Slip), Heat: cleaned(track.Heat)}
		for i, low := range cleaned(track.TorqueMin) {
			if high := clean(track.TorqueMax[i]); high != low {
				x.Torque = append(x.Torque, minMax{low, high})
			} else {
				x.Torque = append(x.Torque, low)
			}
		}
		c.Elements = append(c.Elements, named{t.Couplings[track.Coupling].Name, x})
	}
	for i, m := range t.Members {
		if m.Kind != kinematics.JointHub && m.Kind != kinematics.HousingMember && !m.Unknown {
			c.Members = append(c.Members, named{m.Name, rpms(r.Member(kinematics.MemberID(i)))})
		}
	}
	return c
}

// CSV writes a line for each sample.
func (a Played) CSV(w io.Writer) error {
	t, r := a.Shift.System.Train, a.Run
	heads := []string{"time_s", "input_rpm", "output_rpm", "vehicle_kmh", "input_torque_nm", "output_torque_nm"}
	for _, track := range r.Tracks {
		name := t.Couplings[track.Coupling].Name
		heads = append(heads, name+"_slip_rpm", name+"_torque_min_nm", name+"_torque_max_nm", name+"_heat_j")
	}
	var speeds [][]float64
	for i, m := range t.Members {
		if m.Kind != kinematics.JointHub && m.Kind != kinematics.HousingMember && !m.Unknown {
			heads = append(heads, m.Name+"_rpm")
			speeds = append(speeds, rpms(r.Member(kinematics.MemberID(i))))
		}
	}
	g := &Grid{Columns: columns(heads...)}
	short := func(x float64) string {
		return strconv.FormatFloat(clean(x), 'g', 8, 64)
	}
	for i, at := range r.Time {
		row := []string{short(at), short(transient.RPM(r.Input[i])), short(transient.RPM(r.Output[i])), short(a.Shift.KMH(r.Output[i])),
			short(r.InputTorque[i]), short(r.OutputTorque[i])}
		for _, track := range r.Tracks {
			row = append(row, short(transient.RPM(track.Slip[i])), short(track.TorqueMin[i]), short(track.TorqueMax[i]), short(track.Heat[i]))
		}
		for _, w := range speeds {
			row = append(row, short(w[i]))
		}
		g.Add(row...)
	}
	return g.CSV(w)
}
