package table

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/transient"
)

// Played is the answer of transient: a shift in time.
type Played struct {
	*transient.Answer
	Cautions []string
}

// Text writes what the shift was like, what every element did, its course, where
// the energy went, and what was assumed.
func (a Played) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	s := a.Shift
	p.line(titled(s.System.Train))
	p.line(a.Heading())
	p.faultLines(s.System.Train, s.Faults)
	p.line("")
	for _, line := range a.Words() {
		p.line(line)
	}
	if g := a.elements(); len(g.Rows) > 0 {
		p.heading("elements")
		p.grid(g)
	}
	p.heading("course")
	p.grid(a.Course())
	p.line("")
	p.line("Slip is the speed of an element's first member seen from its second, torque what acts on the first; " +
		"output torque is + where it pushes the vehicle forward.")
	p.heading("energy")
	p.grid(a.energy())
	p.heading("assumed")
	for _, line := range a.Assumed() {
		p.line("- " + line)
	}
	p.line("")
	p.line(a.accuracy())
	p.cautions(a.Cautions)
	return p.err
}

// Heading says in a line which shift was played.
func (a Played) Heading() string {
	s, r := a.Shift, a.Run
	vehicle := rolling(s, r.Output[0])
	name := fmt.Sprintf("%s to %s", s.From.Name, s.To.Name)
	if s.From == s.To {
		name = s.To.Name
	}
	return fmt.Sprintf("%s: %s; %s, the input at %s rpm", name, torqueAtInput(s), vehicle, fixed(transient.RPM(r.Input[0]), 0))
}

// torqueAtInput says what pushes the input, with the speed dependence that is stated.
func torqueAtInput(s *transient.Shift) string {
	switch {
	case s.Torque < 0:
		return fmt.Sprintf("closed throttle, the engine drags with %s N m", fixed(-s.Torque, 0))
	case s.Assumes.NoLoad:
		return fixed(s.Torque, 0) + " N m at the input"
	case s.NoLoad > 0:
		return fmt.Sprintf("%s N m at the input, falling to nothing at %s rpm", fixed(s.Torque, 0), fixed(transient.RPM(s.NoLoad), 0))
	}
	return fixed(s.Torque, 0) + " N m at the input at any speed"
}

// rolling says how the vehicle starts, with an output speed, and its brakes.
func rolling(s *transient.Shift, output float64) string {
	vehicle := "the vehicle at rest"
	if fixed(s.KMH(output), 1) != "0.0" {
		vehicle = fmt.Sprintf("the vehicle rolling at %s km/h", fixed(s.KMH(output), 1))
	}
	if s.Brake > 0 {
		vehicle += fmt.Sprintf(", braked with %s N m at the wheels", fixed(s.Brake*s.Vehicle.FinalDrive, 0))
	}
	return vehicle
}

// fixed writes a number with places and without a negative zero.
func fixed(x float64, places int) string {
	text := strconv.FormatFloat(x, 'f', places, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return text
}

// blank is fixed, but nothing for what is 0 to the places.
func blank(x float64, places int) string {
	if text := fixed(x, places); strings.Trim(text, "0.") != "" {
		return text
	}
	return ""
}

// part says what the shift does to a coupling.
func (a Played) part(c transient.Schedule) string {
	kind := a.Shift.System.Train.Couplings[c.Coupling].Kind
	limit := !math.IsInf(max(c.Before, c.After), 0)
	switch {
	case c.Change == transient.Applies:
		return "takes hold"
	case c.Change == transient.Releases:
		return "lets go"
	case kind == kinematics.OneWay && limit:
		return "released"
	case kind == kinematics.OneWay:
		return "one-way"
	case kind.Friction() && !limit:
		return "stuck"
	case slices.Contains(a.Shift.To.Apply, c.Coupling):
		return "applied"
	}
	for _, f := range a.Shift.Faults {
		if f.Coupling == c.Coupling && f.Kind == kinematics.Stuck {
			return "stuck, " + f.Share.String()
		}
	}
	return "drags"
}

// when writes the ramp of a coupling.
func when(c transient.Schedule) string {
	switch {
	case c.Change == transient.Stays:
		return ""
	case c.Origin == transient.InTime:
		return "in time"
	}
	if c.Ramp.Start == c.Ramp.End {
		return fmt.Sprintf("%g", c.Ramp.Start)
	}
	return strings.Replace(c.Ramp.String(), "..", " to ", 1)
}

// holds writes what a coupling can hold while it is on.
func holds(c transient.Schedule) string {
	most := max(c.Before, c.After)
	if math.IsInf(most, 0) {
		return "any"
	}
	return fixed(most, 0)
}

// elements lists what every coupling that acts did.
func (a Played) elements() *Grid {
	g := &Grid{Columns: columns("element", "in the shift", "s", "holds N m>", "slips s>", "at most rpm>", "torque N m>", "heat kJ>", "timed kJ>", "J/mm²>")}
	t := a.Shift.System.Train
	for _, c := range a.Run.Courses {
		track := a.Run.Track(c.Coupling)
		if track == nil {
			continue
		}
		low, high := a.Run.Extremes(track)
		torque := fixed(low, 0) + " to " + fixed(high, 0)
		if fixed(low, 0) == fixed(high, 0) {
			torque = fixed(high, 0)
		}
		timed, area := "", ""
		if a.Timed != nil {
			if x := a.Timed.Track(c.Coupling); x != nil {
				timed = blank(x.TotalHeat()/1000, 2)
			}
		}
		if mm := t.Couplings[c.Coupling].Area; mm > 0 {
			area = blank(track.TotalHeat()/mm/1e6, 2)
		}
		g.Add(t.Couplings[c.Coupling].Name, a.part(c), when(c), holds(c), blank(track.SlipTime, 2),
			blank(transient.RPM(track.PeakSlip), 0), torque, blank(track.TotalHeat()/1000, 2), timed, area)
	}
	return g
}

// maxCourse is how many couplings the course shows.
const maxCourse = 3

// Course shows the shift at a dozen or so times.
func (a Played) Course() *Grid {
	t, r := a.Shift.System.Train, a.Run
	heads := []string{"s>", "input rpm>", "output rpm>", "km/h>", "input N m>", "output N m>"}
	var shown []*transient.Track
	for _, c := range r.Courses {
		track := r.Track(c.Coupling)
		if track == nil || len(shown) == maxCourse || c.Change == transient.Stays && track.SlipTime == 0 {
			continue
		}
		shown = append(shown, track)
		name := t.Couplings[c.Coupling].Name
		heads = append(heads, name+" rpm>", "N m>")
	}
	g := &Grid{Columns: columns(heads...)}
	for _, i := range a.moments() {
		row := []string{fixed(r.Time[i], 2), fixed(transient.RPM(r.Input[i]), 0), fixed(transient.RPM(r.Output[i]), 0),
			fixed(a.Shift.KMH(r.Output[i]), 1), fixed(r.InputTorque[i], 0), fixed(r.OutputTorque[i], 0)}
		for _, track := range shown {
			torque := fixed(track.TorqueMin[i], 0)
			if high := fixed(track.TorqueMax[i], 0); high != torque {
				torque += " to " + high
			}
			row = append(row, fixed(transient.RPM(track.Slip[i]), 0), torque)
		}
		g.Add(row...)
	}
	return g
}

// moments are the samples that the course shows: at even times, from before the
// first ramp to after all is over.
func (a Played) moments() []int {
	r := a.Run
	last := r.Time[len(r.Time)-1]
	from, to := 0.0, last
	if a.Shift.From != a.Shift.To {
		from, to = math.Inf(1), a.Verdict.Done
		for _, c := range r.Courses {
			if c.Change != transient.Stays {
				from, to = min(from, c.Ramp.Start), max(to, c.Ramp.End)
			}
		}
		from = math.Max(0, math.Floor(from*10-1)/10)
		if len(a.Verdict.Slipping) > 0 || math.IsInf(from, 0) {
			from, to = 0, last
		}
		to = math.Min(last, math.Ceil(to*10+0.5)/10)
	}
	every := 0.01
	for _, step := range []float64{0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5} {
		if (to-from)/every > 14 {
			every = step
		}
	}
	var list []int
	for n := 0; from+float64(n)*every <= to+1e-9; n++ {
		i, _ := slices.BinarySearch(r.Time, from+float64(n)*every-1e-9)
		list = append(list, min(i, len(r.Time)-1))
	}
	return list
}

// energy says where the work of the input went.
func (a Played) energy() *Grid {
	g := &Grid{Columns: columns("", "kJ>")}
	e := a.Run.Energy
	row := func(what string, x float64) { g.Add(what, fixed(x/1000, 2)) }
	row("work at the input", e.Input)
	row("into speed of the train", e.Train)
	row("into speed of the vehicle", e.Vehicle)
	row("into rolling resistance, air and brakes", e.Road)
	row("into heat of the elements", e.Heat)
	if math.Abs(e.Shock) > 0.5 {
		row("through one-way clutches, in shocks", e.Shock)
	}
	return g
}

// accuracy says how well the course is known.
func (a Played) accuracy() string {
	e, r := a.StepError, a.Run
	text := fmt.Sprintf("Steps of %s ms. Halved from twice that, they moved speeds by less than %s rpm, the output torque by less than %s N m, "+
		"heat by less than %s J; the energy balances to %s J.", figures(r.Step*1000), decade(transient.RPM(max(e.Input, e.Output))),
		decade(e.OutputTorque), decade(e.Heat), decade(math.Abs(r.Energy.Error)))
	if !math.IsInf(r.Accuracy.Bound, 0) {
		text += fmt.Sprintf(" With rounding, no speed is farther than %s rpm from the exact solution of the steps.", decade(transient.RPM(r.Accuracy.Bound)))
	}
	if r.Shocks() {
		text += fmt.Sprintf(" In a shock torques are means over %s ms and mean nothing for the parts; the list of elements leaves them out.", figures(a.Shift.Sample*1000))
	}
	return text
}

// figures writes a number with two figures.
func figures(x float64) string { return strconv.FormatFloat(x, 'g', 2, 64) }

// decade writes the power of ten above a small number.
func decade(x float64) string {
	const least = 1e-12
	x = math.Pow(10, math.Ceil(math.Log10(max(x, least))))
	if x >= 1 {
		return fixed(x, 0)
	}
	return figures(x)
}
