package table

import (
	"fmt"
	"io"
	"math"
	"strings"

	"tieup/kinematics/transient"
)

// Swept is the answer of transient with a sweep: a shift with one timing after
// the other.
type Swept struct {
	*transient.Sweep
	Cautions []string
}

// moved says which ramps move.
func (a Swept) moved() string {
	if a.Moves == transient.Releases {
		return "release"
	}
	return "apply"
}

// Text writes the timings, and the window in which the limits are kept.
func (a Swept) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	s := a.Shift
	p.line(titled(s.System.Train))
	p.line(fmt.Sprintf("%s to %s: %s; %s; one timing of the %s after the other", s.From.Name, s.To.Name, torqueAtInput(s), rolling(s, s.Speed), a.moved()))
	p.faultLines(s.System.Train, s.Faults)
	p.line("")
	overlap := "later the release ends"
	if a.Moves == transient.Applies {
		overlap = "earlier the apply starts"
	}
	p.line(fmt.Sprintf("Timed, the shift changes over %s s after the command. Overlap is how much %s; with a gap, "+
		"which is negative, neither holds in between.", fixed(a.Moment, 3), overlap))
	p.line("")
	g := &Grid{Columns: columns("overlap s>", a.moved()+" s", "least N m>", "binds s>", "flares rpm>", "sags rpm>", "heat kJ>", "")}
	for _, x := range a.Points {
		within := ""
		if x.Within && a.limited() {
			within = "within the limits"
		}
		g.Add(fixed(x.Overlap, 2), strings.Replace(fmt.Sprintf("%.2f..%.2f", x.Ramp.Start, x.Ramp.End), "..", " to ", 1), fixed(x.Least, 0),
			blank(x.Bind, 2), blank(transient.RPM(x.Flare), 0), blank(transient.RPM(x.Sag), 0), blank(x.Heat/1000, 2), within)
	}
	p.grid(g)
	p.line("")
	for _, line := range a.windows() {
		p.line(line)
	}
	p.heading("assumed")
	for _, line := range a.Assumed() {
		p.line("- " + line)
	}
	p.cautions(a.Cautions)
	return p.err
}

// limited says whether the user stated a limit.
func (a Swept) limited() bool { return a.Limits != transient.NoLimits() }

// limits says what the user allows.
func (a Swept) limits() string {
	var list []string
	if l := a.Limits.Least; !math.IsInf(l, 0) {
		list = append(list, fmt.Sprintf("output torque not below %s N m", fixed(l, 0)))
	}
	if l := a.Limits.Flare; !math.IsInf(l, 0) {
		list = append(list, fmt.Sprintf("flare or sag up to %s rpm", fixed(transient.RPM(l), 0)))
	}
	if l := a.Limits.Heat; !math.IsInf(l, 0) {
		list = append(list, fmt.Sprintf("heat up to %s kJ", figures(l/1000)))
	}
	return strings.Join(list, ", ")
}

func (a Swept) windows() []string {
	if !a.limited() {
		return []string{"No limits are given: --least, --most-flare and --most-heat find the window of good timing."}
	}
	if len(a.Windows) == 0 {
		return []string{"No timing of this sweep keeps all limits: " + a.limits() + "."}
	}
	var lines []string
	for _, x := range a.Windows {
		from, to := fixed(x.From, 3)+" s", fixed(x.To, 3)+" s"
		const early = " (no less: there the ramps start with the command)"
		switch {
		case x.OpenFrom:
			from += " or less"
		case x.EarlyFrom:
			from += early
		}
		switch {
		case x.OpenTo:
			to += " or more"
		case x.EarlyTo:
			to += strings.Replace(early, "less", "more", 1)
		}
		lines = append(lines, fmt.Sprintf("Within limits (%s) from an overlap of %s to %s: a window of %s ms.",
			a.limits(), from, to, fixed((x.To-x.From)*1000, 0)))
	}
	return lines
}

type sweptPoint struct {
	Overlap float64    `json:"overlap"`
	Ramp    [2]float64 `json:"ramp"`
	Least   float64    `json:"least_output_torque"`
	Bind    float64    `json:"bind"`
	Flare   float64    `json:"flare"`
	Sag     float64    `json:"sag"`
	Heat    float64    `json:"heat"`
	Within  bool       `json:"within"`
}

type sweptWindow struct {
	From     float64 `json:"from"`
	To       float64 `json:"to"`
	OpenFrom bool    `json:"open_from"`
	OpenTo   bool    `json:"open_to"`
	// Early: the ramps start with the command there.
	EarlyFrom bool `json:"early_from"`
	EarlyTo   bool `json:"early_to"`
}

type sweptLimits struct {
	Least any `json:"least_output_torque"`
	Flare any `json:"flare"`
	Heat  any `json:"heat"`
}

// JSON writes the schema tieup.transient-sweep/1.
func (a Swept) JSON(w io.Writer) error {
	s := a.Shift
	answer := struct {
		Schema  string        `json:"schema"`
		Units   ordered       `json:"units"`
		Train   string        `json:"train"`
		From    string        `json:"from"`
		To      string        `json:"to"`
		Faults  []string      `json:"faults"`
		Torque  float64       `json:"torque"`
		NoLoad  *float64      `json:"no_load"`
		Speed   float64       `json:"speed"`
		Brakes  float64       `json:"brakes"`
		Moves   string        `json:"moves"`
		Moment  float64       `json:"changeover"`
		Limits  sweptLimits   `json:"limits"`
		Points  []sweptPoint  `json:"points"`
		Windows []sweptWindow `json:"windows"`
		Assumed []string      `json:"assumed"`
	}{
		Schema: "tieup.transient-sweep/1",
		Units: ordered{{"flare, sag, no_load", "rpm"}, {"torques", "N m; brakes at the wheels; least_output_torque + the way the ranges drive"},
			{"speed", "km/h"}, {"overlap, ramp, bind, changeover, windows", "s"}, {"heat", "J"}},
		Train: s.System.Train.Name, From: s.From.Name, To: s.To.Name, Faults: []string{}, Torque: s.Torque, NoLoad: noLoadSpeed(s), Speed: clean(s.KMH(s.Speed)),
		Brakes: clean(s.Brake * s.Vehicle.FinalDrive), Moves: a.moved(),
		Moment: a.Moment, Points: []sweptPoint{}, Windows: []sweptWindow{}, Assumed: a.Assumed(),
	}
	finite := func(x float64) any {
		if math.IsInf(x, 0) {
			return nil
		}
		return x
	}
	answer.Limits = sweptLimits{finite(a.Limits.Least), finite(transient.RPM(a.Limits.Flare)), finite(a.Limits.Heat)}
	for _, f := range s.Faults {
		answer.Faults = append(answer.Faults, s.System.Train.FaultText(f))
	}
	for _, x := range a.Points {
		answer.Points = append(answer.Points, sweptPoint{x.Overlap, [2]float64{x.Ramp.Start, x.Ramp.End}, x.Least, x.Bind,
			transient.RPM(x.Flare), transient.RPM(x.Sag), x.Heat, x.Within})
	}
	for _, x := range a.Windows {
		answer.Windows = append(answer.Windows, sweptWindow(x))
	}
	return WriteJSON(w, answer)
}

// CSV writes a line for each timing.
func (a Swept) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("overlap_s", "ramp_start_s", "ramp_end_s", "least_output_torque_nm", "bind_s", "flare_rpm", "sag_rpm", "heat_j", "within")}
	for _, x := range a.Points {
		g.Add(fixed(x.Overlap, 3), fixed(x.Ramp.Start, 4), fixed(x.Ramp.End, 4), fixed(x.Least, 3), fixed(x.Bind, 4),
			fixed(transient.RPM(x.Flare), 3), fixed(transient.RPM(x.Sag), 3), fixed(x.Heat, 2), fmt.Sprint(x.Within))
	}
	return g.CSV(w)
}
