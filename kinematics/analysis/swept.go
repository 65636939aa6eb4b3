package analysis

import (
	"cmp"
	"context"
	"math"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/reading"
	"tieup/kinematics/transient"
)

// Change is what a shift does to an element.
type Change = transient.Change

// The changes whose ramps a sweep can move.
const (
	Releases = transient.Releases
	Applies  = transient.Applies
)

// A SweepQuestion asks for a shift with one timing after the other.
type SweepQuestion struct {
	PlayQuestion
	Moves  Change // which ramps: those of what is released, or applied
	Limits SweptLimits
}

// SweptLimits are what a user allows; nil for anything.
type SweptLimits struct {
	Least *float64 `json:"least_output_torque"` // N m
	Flare *float64 `json:"flare"`               // rpm, also of a sag
	Heat  *float64 `json:"heat"`                // J
}

// limits returns the limits as the engine takes them.
func (l *SweptLimits) limits() transient.Limits {
	limits := transient.NoLimits()
	if l.Least != nil {
		limits.Least = *l.Least
	}
	if l.Flare != nil {
		limits.Flare = *l.Flare / transient.RPM(1)
	}
	if l.Heat != nil {
		limits.Heat = *l.Heat
	}
	return limits
}

// Swept is a shift with one timing after the other, from gap to overlap. Its
// document is tieup.transient-sweep/1.
type Swept struct {
	Schema string        `json:"schema"`
	Units  Named[string] `json:"units"`
	Scene
	Moves    Change            `json:"moves"`
	Moment   float64           `json:"changeover"` // of the timed shift, s after the command
	Limits   SweptLimits       `json:"limits"`
	Points   List[SweptPoint]  `json:"points"`  // by overlap, the gap first
	Windows  List[SweptWindow] `json:"windows"` // in which all limits are kept
	Assumed  List[string]      `json:"assumed"`
	Cautions List[string]      `json:"cautions"`

	// Heading says which shift was swept, Changeover what overlap means, Words in
	// which windows the limits are kept.
	Heading    string   `json:"-"`
	Changeover string   `json:"-"`
	Words      []string `json:"-"`
}

// Limited says whether the user stated a limit.
func (s *Swept) Limited() bool { return s.Limits != SweptLimits{} }

// SweptPoint is one timing.
type SweptPoint struct {
	Overlap float64    `json:"overlap"` // s, negative for a gap
	Ramp    [2]float64 `json:"ramp"`    // s
	Least   float64    `json:"least_output_torque"`
	Bind    float64    `json:"bind"`  // s
	Flare   float64    `json:"flare"` // rpm
	Sag     float64    `json:"sag"`   // rpm
	Heat    float64    `json:"heat"`  // J
	Within  bool       `json:"within"`
}

// SweptWindow is a range of overlaps, s, with its width.
type SweptWindow struct {
	transient.Window
	Width float64 `json:"width"`
}

var sweptUnits = document.Texts(
	"flare, sag, no_load", "rpm",
	"torques", "N m; brakes at the wheels; least_output_torque + the way the ranges drive",
	"speed", "km/h", "overlap, ramp, bind, changeover, windows", "s", "heat", "J",
)

// Sweep plays a shift with one timing after the other.
func (a *Analysis) Sweep(ctx context.Context, q SweepQuestion) (*Swept, error) {
	l := &q.Limits
	shift, err := a.shift(ctx, &q.PlayQuestion)
	err = cmp.Or(err, given("least", l.Least), given("most-flare", l.Flare), given("most-heat", l.Heat))
	if err != nil {
		return nil, err
	}
	x, err := shift.Sweep(ctx, q.Moves, q.Limits.limits())
	if err != nil {
		return nil, err
	}
	s := &Swept{
		Schema: "tieup.transient-sweep/1", Units: sweptUnits, Scene: scene(shift, shift.Speed, q.Condition), Moves: x.Moves,
		Moment: x.Moment,
		Limits: q.Limits, Assumed: x.Assumed(), Heading: x.Heading(), Changeover: x.Changeover(), Words: x.Words(),
	}
	s.Points = kinematics.Map(x.Points, func(p transient.Point) SweptPoint {
		return SweptPoint{p.Overlap, [2]float64{p.Ramp.Start, p.Ramp.End}, p.Least, p.Bind,
			transient.RPM(p.Flare), transient.RPM(p.Sag), p.Heat, p.Within}
	})
	s.Windows = kinematics.Map(x.Windows, func(w transient.Window) SweptWindow {
		return SweptWindow{w, math.Round(w.Width()*1e6) / 1e6}
	})
	w := a.workers.take()
	defer a.workers.put(w)
	outcomes, hazards := w.shiftHazards(q.Condition, q.From, q.To)
	s.Outcomes, s.Cautions = outcomes, reading.Cautions(a.Train.Use, hazards)
	return s, nil
}
