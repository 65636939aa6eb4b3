package transient

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// Heading says in a line which shift was played, pushed by what, and how the
// vehicle and the input start.
func (a *Answer) Heading() string {
	s, r := a.Shift, a.Run
	name := s.Name()
	if s.From == s.To {
		name = s.To.Name
	}
	return fmt.Sprintf("%s: %s; %s, the input at %s rpm", name, s.pushed(), s.rolling(r.Output[0]),
		whole(RPM(r.Input[0])))
}

// Heading says in a line which shift was played, pushed by what, and what moves.
func (w *Sweep) Heading() string {
	s := w.Shift
	return fmt.Sprintf("%s: %s; %s; one timing of the %s after the other", s.Name(), s.pushed(),
		s.rolling(s.Speed), w.Moves)
}

// Name names the two ranges: "D2 to D3".
func (s *Shift) Name() string { return s.From.Name + " to " + s.To.Name }

// pushed says what pushes the input, with the speed dependence that is stated.
func (s *Shift) pushed() string {
	switch {
	case s.Torque < 0:
		return "closed throttle, the engine drags with " + whole(-s.Torque) + " N m"
	case s.Assumes.NoLoad:
		return whole(s.Torque) + " N m at the input"
	case s.NoLoad > 0:
		return fmt.Sprintf("%s N m at the input, falling to nothing at %s rpm", whole(s.Torque), whole(RPM(s.NoLoad)))
	}
	return whole(s.Torque) + " N m at the input at any speed"
}

// rolling says how the vehicle starts, with an output speed, and its brakes.
func (s *Shift) rolling(output float64) string {
	vehicle := "the vehicle at rest"
	if kmh := s.KMH(output); math.Abs(kmh) >= standing {
		vehicle = fmt.Sprintf("the vehicle rolling at %.1f km/h", kmh)
	}
	return vehicle + s.braked()
}

// standing is the speed, km/h, below which the vehicle is said to be at rest.
const standing = 0.05

// braked says that brakes hold the wheels.
func (s *Shift) braked() string {
	if s.Brake == 0 {
		return ""
	}
	return ", braked with " + whole(s.WheelBrakes()) + " N m at the wheels"
}

// WheelBrakes is the torque of the brakes at the wheels, N m.
func (s *Shift) WheelBrakes() float64 { return s.Brake * s.Vehicle.FinalDrive }

// Given says under a drawing of the shift what pushes the input, how the vehicle
// starts and what it weighs at the output.
func (a *Answer) Given() string {
	s := a.Shift
	push := fmt.Sprintf("%.0f N m at any speed", s.Torque)
	switch {
	case s.Torque < 0:
		push = fmt.Sprintf("The closed-throttle engine drags with %.0f N m", -s.Torque)
	case s.Assumes.NoLoad:
		push = fmt.Sprintf("%.0f N m", s.Torque)
	case s.NoLoad > 0:
		push = fmt.Sprintf("%.0f N m, falling to nothing at %.0f rpm,", s.Torque, RPM(s.NoLoad))
	}
	start := "at rest"
	if kmh := s.KMH(a.Run.Output[0]); math.Abs(kmh) >= standing {
		start = fmt.Sprintf("at %.1f km/h", kmh)
	}
	return fmt.Sprintf("%s at the input; the vehicle starts %s%s; "+
		"the vehicle is an inertia of %.1f kg m² at the output. "+
		"Output speed and torque count as the vehicle moves forward, all else as the input turns.",
		push, start, s.braked(), s.Vehicle.Inertia())
}

// Part says what the shift does to a coupling.
func (a *Answer) Part(c *Schedule) string {
	kind := a.Shift.System.Train.Couplings[c.Coupling].Kind
	limit := !math.IsInf(max(c.Before, c.After), 0)
	switch {
	case c.Change == Applies:
		return "takes hold"
	case c.Change == Releases:
		return "lets go"
	case kind == kinematics.OneWay && limit:
		return "released"
	case kind == kinematics.OneWay:
		return "one-way"
	case kind.Friction() && !limit:
		return "stuck"
	case a.Shift.To.Applies(c.Coupling):
		return "applied"
	}
	for _, f := range a.Shift.Faults {
		if f.Coupling == c.Coupling && f.Kind == kinematics.Stuck {
			return "stuck, " + f.Share.String()
		}
	}
	return "drags"
}

// A Moment is what a drawing marks in a shift.
type Moment struct {
	Time   float64 // s
	Label  string
	Torque bool    // it is marked on the output torque, else on the speeds
	Value  float64 // output torque, N m, or input speed, rad/s; 0 for a mark at rest
}

// Moments lists what is worth a mark: the depth of a bind, a flare, where the
// train ties up, and where one-way clutches change.
func (a *Answer) Moments() []Moment {
	r, v := a.Run, &a.Verdict
	var list []Moment
	if v.Bind > 0 {
		list = append(list, Moment{v.LeastAt, fmt.Sprintf("%.0f N m", v.Least), true, v.Least})
	}
	if v.Flare > 0 {
		list = append(list, Moment{v.FlareAt, fmt.Sprintf("flare of %.0f", RPM(v.Flare)), false,
			r.Input[sampleAt(r, v.FlareAt)]})
	}
	if v.End.What == Held && v.End.Since > 0 {
		list = append(list, Moment{Time: v.End.Since, Label: a.Shift.To.Name + " " + reading.Does(v.End.Outcome.Verdict)})
	}
	for _, e := range r.Events {
		word := " lets go"
		if e.Holds {
			word = " takes hold"
		}
		list = append(list, Moment{Time: e.Time, Label: a.Shift.System.Train.Couplings[e.Coupling].Name + word})
	}
	return list
}

// Precision says how well the course is known.
func (a *Answer) Precision() string {
	e, r := a.StepError, a.Run
	text := fmt.Sprintf("Steps of %s ms. Halved from twice that, they moved speeds by less than %s rpm, "+
		"the output torque by less than %s N m, heat by less than %s J; the energy balances to %s J.",
		figures(r.Step*1000), decade(RPM(max(e.Input, e.Output))), decade(e.OutputTorque), decade(e.Heat),
		decade(math.Abs(r.Energy.Error)))
	if !math.IsInf(r.Accuracy.Bound, 0) {
		text += fmt.Sprintf(" With rounding, no speed is farther than %s rpm from the exact solution of the steps.",
			decade(RPM(r.Accuracy.Bound)))
	}
	if r.Shocks() {
		text += fmt.Sprintf(" In a shock torques are means over %s ms and mean nothing for the parts; "+
			"the list of elements leaves them out.", figures(a.Shift.Sample*1000))
	}
	return text
}

// Changeover says when the timed shift changes over and what overlap means.
func (w *Sweep) Changeover() string {
	overlap := "later the release ends"
	if w.Moves == Applies {
		overlap = "earlier the apply starts"
	}
	return fmt.Sprintf("Timed, the shift changes over %.3f s after the command. Overlap is how much %s; with a gap, "+
		"which is negative, neither holds in between.", w.Moment, overlap)
}

// Words says in sentences in which window of timing the limits are kept.
func (w *Sweep) Words() []string {
	limits := w.Limits.words()
	switch {
	case w.Limits == NoLimits():
		return []string{"No limits are given: --least, --most-flare and --most-heat find the window of good timing."}
	case len(w.Windows) == 0:
		return []string{"No timing of this sweep keeps all limits: " + limits + "."}
	}
	var lines []string
	for _, x := range w.Windows {
		lines = append(lines,
			fmt.Sprintf("Within limits (%s) from an overlap of %s s%s to %s s%s: a window of %s ms.", limits,
				thousandths(x.From), beyond("less", x.OpenFrom, x.EarlyFrom), thousandths(x.To),
				beyond("more", x.OpenTo, x.EarlyTo), whole(x.Width()*1000)))
	}
	return lines
}

// Width is how long a window is, s.
func (w *Window) Width() float64 { return w.To - w.From }

// beyond says of an end of a window what lies beyond it.
func beyond(way string, open, early bool) string {
	switch {
	case open:
		return " or " + way
	case early:
		return " (no " + way + ": there the ramps start with the command)"
	}
	return ""
}

// words says what the user allows.
func (l Limits) words() string {
	var list []string
	if !math.IsInf(l.Least, 0) {
		list = append(list, fmt.Sprintf("output torque not below %s N m", whole(l.Least)))
	}
	if !math.IsInf(l.Flare, 0) {
		list = append(list, fmt.Sprintf("flare or sag up to %s rpm", whole(RPM(l.Flare))))
	}
	if !math.IsInf(l.Heat, 0) {
		list = append(list, fmt.Sprintf("heat up to %s kJ", figures(l.Heat/1000)))
	}
	return strings.Join(list, ", ")
}

// thousandths writes a time with three places and without the sign of 0.
func thousandths(t float64) string { return strconv.FormatFloat(math.Round(t*1000)/1000+0, 'f', 3, 64) }

// figures writes a number with two figures.
func figures(x float64) string { return strconv.FormatFloat(x, 'g', 2, 64) }

// decade writes the power of ten above a small number.
func decade(x float64) string {
	const least = 1e-12
	x = math.Pow(10, math.Ceil(math.Log10(max(x, least))))
	if x >= 1 {
		return whole(x)
	}
	return figures(x)
}
