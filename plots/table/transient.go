package table

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// Played writes a shift in time.
type Played struct{ *analysis.Played }

// text writes what the shift was like, what every element did, its course, where
// the energy went, and what was assumed.
func (a Played) text(p *page) {
	p.line(titled(a.Train))
	p.line(a.Heading)
	p.faulted(a.Faulted)
	p.apart(a.Words...)
	p.part("elements", a.elements())
	p.heading("course")
	p.grid(a.CourseGrid())
	p.apart("Slip is the speed of an element's first member seen from its second, torque what acts on the first; " +
		"output torque is + where it pushes the vehicle forward.")
	p.heading("energy")
	p.grid(a.energy())
	p.heading("assumed")
	p.lines("- ", a.Assumed)
	p.apart(a.Precision)
	p.apart(a.Cautions...)
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

// when writes the ramp of an element.
func when(e *analysis.PlayedElement) string {
	r := &e.Schedule.Ramp
	switch {
	case !e.Changes():
		return ""
	case e.InTime():
		return "in time"
	case r.Start == r.End:
		return fmt.Sprintf("%g", r.Start)
	}
	return r.Words()
}

// holds writes what an element can hold while it is on.
func holds(e *analysis.PlayedElement) string {
	most := float64(max(e.Before, e.After))
	if math.IsInf(most, 0) {
		return "any"
	}
	return fixed(most, 0)
}

// spread writes an extent, or one number where the places do not tell its ends apart.
func spread(low, high float64, places int) string {
	least, most := fixed(low, places), fixed(high, places)
	if least == most {
		return most
	}
	return least + " to " + most
}

// elements lists what every coupling that acts did.
func (a Played) elements() *Grid {
	g := &Grid{Columns: columns("element", "in the shift", "s", "holds N m>", "slips s>", "at most rpm>", "torque N m>",
		"heat kJ>", "timed kJ>", "J/mm²>")}
	optional := func(x *float64, unit float64) string {
		if x == nil {
			return ""
		}
		return blank(*x/unit, 2)
	}
	for name, e := range a.Elements.All() {
		g.Add(name, e.Part, when(&e), holds(&e), blank(e.SlipTime, 2), blank(e.PeakSlip, 0),
			spread(e.Torque.Min, e.Torque.Max, 0), blank(e.Heat/1000, 2), optional(e.HeatTimed, 1000), optional(e.HeatArea, 1))
	}
	return g
}

// maxCourse is how many couplings the course shows.
const maxCourse = 3

// CourseGrid shows the shift at a dozen or so times.
func (a Played) CourseGrid() *Grid {
	c := &a.Course
	heads := []string{"s>", "input rpm>", "output rpm>", "km/h>", "input N m>", "output N m>"}
	var shown []analysis.PlayedTrack
	for name, e := range a.Elements.All() {
		track, acts := c.Elements.Get(name)
		if !acts || len(shown) == maxCourse || e.Idle() {
			continue
		}
		shown = append(shown, track)
		heads = append(heads, name+" rpm>", "N m>")
	}
	g := &Grid{Columns: columns(heads...)}
	for _, i := range a.moments() {
		row := []string{fixed(c.Time[i], 2), fixed(c.Input[i], 0), fixed(c.Output[i], 0), fixed(c.Vehicle[i], 1),
			fixed(c.InputTorque[i], 0), fixed(c.OutputTorque[i], 0)}
		for _, x := range shown {
			row = append(row, fixed(x.Slip[i], 0), spread(x.Torque[i].Min, x.Torque[i].Max, 0))
		}
		g.Add(row...)
	}
	return g
}

// moments are the samples that the course shows: at even times, from before the
// first ramp to after all is over.
func (a Played) moments() []int {
	c := &a.Course
	last := c.Time[len(c.Time)-1]
	from, to := 0.0, last
	if a.From != a.To {
		from, to = a.changing(last)
	}
	every := 0.01
	for _, step := range []float64{0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5} {
		if (to-from)/every > 14 {
			every = step
		}
	}
	var list []int
	for n := 0; from+float64(n)*every <= to+1e-9; n++ {
		i, _ := slices.BinarySearch(c.Time, from+float64(n)*every-1e-9)
		list = append(list, min(i, len(c.Time)-1))
	}
	return list
}

// changing returns from when to when something changes, with some room; all of the
// run up to last if it is not over then, or nothing changes.
func (a Played) changing(last float64) (from, to float64) {
	from = math.Inf(1)
	if a.Verdict.Over() {
		to = a.Verdict.Done
	}
	for _, e := range a.Elements.All() {
		if e.Changes() {
			from, to = min(from, e.Schedule.Ramp.Start), max(to, e.Schedule.Ramp.End)
		}
	}
	from = math.Max(0, math.Floor(from*10-1)/10)
	if len(a.Verdict.Slipping) > 0 || math.IsInf(from, 0) {
		from, to = 0, last
	}
	return from, math.Min(last, math.Ceil(to*10+0.5)/10)
}

// energy says where the work of the input went.
func (a Played) energy() *Grid {
	g := &Grid{Columns: columns("", "kJ>")}
	e := &a.Energy
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

// CSV writes a line for each sample.
func (a Played) CSV(w io.Writer) error {
	c := &a.Course
	heads := []string{"time_s", "input_rpm", "output_rpm", "vehicle_kmh", "input_torque_nm", "output_torque_nm"}
	for name := range c.Elements.All() {
		heads = append(heads, name+"_slip_rpm", name+"_torque_min_nm", name+"_torque_max_nm", name+"_heat_j")
	}
	for name := range c.Members.All() {
		heads = append(heads, name+"_rpm")
	}
	g := &Grid{Columns: columns(heads...)}
	for i := range c.Time {
		row := []float64{c.Time[i], c.Input[i], c.Output[i], c.Vehicle[i], c.InputTorque[i], c.OutputTorque[i]}
		for _, x := range c.Elements.All() {
			row = append(row, x.Slip[i], x.Torque[i].Min, x.Torque[i].Max, x.Heat[i])
		}
		for _, speeds := range c.Members.All() {
			row = append(row, speeds[i])
		}
		g.Add(kinematics.Map(row, func(x float64) string { return strconv.FormatFloat(x, 'g', 8, 64) })...)
	}
	return g.CSV(w, said(besides(a.Outcomes), "", a.Cautions)...)
}
