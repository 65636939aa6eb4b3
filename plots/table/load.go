package table

import (
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Loaded is the answer of load: what ranges of a train carry.
type Loaded struct {
	Train  *kinematics.Train
	Faults []kinematics.Fault
	Ranges []LoadedRange
	// Detail asks for the whole load of the first range instead of tables of all.
	Detail bool
	Losses solve.Losses
	// Assumed says that nobody stated the losses; Overall is the efficiency of the
	// whole train from which they were found, "" if they were not.
	Assumed bool
	Overall string
	// Torque is what drives the input while pulling, Drag what the engine holds
	// back with while coasting, N m; 0 for answers per unit of it.
	Torque, Drag float64
	InputRPM     float64 // 0 for speeds per turn of the input
	Cautions     []string
}

// A LoadedRange is a range, or a combination of elements, with its loads.
type LoadedRange struct {
	Range             *kinematics.Range
	Faults            []kinematics.Fault // those that act here
	Cell              reading.RangeReading
	Motion            *solve.Motion
	Pulling, Coasting *solve.Load // nil where one end does not drive the other
}

// loads returns the loads that there are, pulling first.
func (r *LoadedRange) loads() []*solve.Load {
	return slices.DeleteFunc([]*solve.Load{r.Pulling, r.Coasting}, func(l *solve.Load) bool { return l == nil })
}

// An extent is what a quantity may be over all ways to share a load.
type extent struct{ min, max exact.Frac }

func (s extent) one() bool { return s.min.Cmp(s.max) == 0 }

// size is the largest absolute value.
func (s extent) size() exact.Frac {
	low := s.min
	if low.Sign() < 0 {
		low = low.Neg()
	}
	if low.Cmp(s.max) > 0 {
		return low
	}
	return s.max
}

// over returns the extent of a quantity over ways, and false if there are none.
func over(ways []solve.LoadSplit, f func(*solve.LoadSplit) exact.Frac) (extent, bool) {
	if len(ways) == 0 {
		return extent{}, false
	}
	x := f(&ways[0])
	s := extent{x, x}
	for i := range ways[1:] {
		if x = f(&ways[i+1]); x.Cmp(s.min) < 0 {
			s.min = x
		} else if x.Cmp(s.max) > 0 {
			s.max = x
		}
	}
	return s, true
}

// A scale says in what units a load is written.
type scale struct{ torque, rpm float64 }

// scale returns the units of a load.
func (a *Loaded) scale(l *solve.Load) scale {
	if l.Coasting {
		return scale{a.Drag, a.InputRPM}
	}
	return scale{a.Torque, a.InputRPM}
}

// kW is the power at the input, 0 if it is not known.
func (s scale) kW() float64 { return s.torque * s.rpm * math.Pi / 30000 }

func (s scale) torqueHead() string { return headOf("torque", "N m", s.torque) }
func (s scale) speedHead() string  { return headOf("speed", "rpm", s.rpm) }
func (s scale) powerHead() string  { return headOf("power", "kW", s.kW()) }

func headOf(what, unit string, given float64) string {
	if given != 0 {
		return what + " " + unit + ">"
	}
	return what + ">"
}

// number writes a value times factor with places, or as it is with four places
// where factor is 0. Signed ones get a + above 0.
func number(f exact.Frac, factor float64, places int, sign bool) string {
	if f.Sign() == 0 {
		return "0"
	}
	if factor == 0 {
		factor, places = 1, 4
	}
	text := strconv.FormatFloat(f.Float()*factor, 'f', places, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strconv.FormatFloat(f.Float()*factor, 'g', 2, 64) // too small for the places
	}
	if sign && f.Sign() > 0 {
		text = "+" + text
	}
	return text
}

func (s scale) torqueOf(f exact.Frac, sign bool) string { return number(f, s.torque, 1, sign) }
func (s scale) speedOf(f exact.Frac, sign bool) string  { return number(f, s.rpm, 1, sign) }
func (s scale) powerOf(f exact.Frac, sign bool) string  { return number(f, s.kW(), 2, sign) }

// text writes an extent: one value, or both ends.
func (s extent) text(write func(exact.Frac, bool) string, sign bool) string {
	low, high := write(s.min, sign), write(s.max, sign)
	if low == high {
		return low
	}
	return low + " to " + high
}

// Text writes the tables of all ranges, or the whole load of one.
func (a Loaded) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	if a.Detail {
		a.detail(p, &a.Ranges[0])
	} else {
		a.tables(p)
	}
	p.cautions(a.Cautions)
	return p.err
}

func (a *Loaded) head(p *page, title string) {
	p.line(title)
	for _, f := range a.Faults {
		p.line("fault: " + reading.Fault(a.Train, f))
	}
	if a.Torque != 0 || a.InputRPM != 0 || a.Drag != 0 {
		p.line(a.given())
	}
	p.line(a.lossText())
}

// rangeName is the name of a range, or its elements.
func (a *Loaded) rangeName(r *LoadedRange) string {
	if r.Range.Name != "" {
		return r.Range.Name
	}
	return strings.Join(a.Train.CouplingNames(r.Range.Apply), "+")
}

func (a *Loaded) detail(p *page, r *LoadedRange) {
	what := "combination"
	if r.Range.Name != "" {
		what = "range " + r.Range.Name
	}
	a.head(p, a.Train.Name+", "+what+": "+names(a.Train, r.Range.Apply)+" applied")

	if r.Pulling != nil {
		p.heading("pulling: " + r.Cell.Text())
		a.load(p, r.Pulling, true)
	} else {
		p.line("")
		p.line("pulling: " + r.Cell.Text() + ". The input does not drive the output, so nothing is carried from one to the other." + a.breakaway(r))
	}
	if r.Coasting != nil {
		p.heading("coasting: " + coastHeading(r))
		a.load(p, r.Coasting, r.Pulling == nil)
	} else if r.Pulling != nil {
		p.line("")
		p.line("coasting: " + r.Cell.Reading.Coast + ". The output does not turn the engine, so nothing is carried.")
	}
	if len(r.loads()) > 0 {
		p.line("")
		p.line(a.legend())
	}
}

// load writes one load: how much, by what, through which gearsets.
func (a *Loaded) load(p *page, l *solve.Load, full bool) {
	s := a.scale(l)
	if a.Drag == 0 && l.Coasting && a.Torque != 0 {
		p.line("torques per unit of engine drag; --drag N gives N m")
	}
	f := &fields{}
	f.add("ratio", withExact(l.Motion.At.Output.Inv()))
	a.sums(f, l, s)
	f.write(p)

	p.line("")
	p.grid(a.elementGrid(p, l, s))
	if joints := a.jointGrid(l, s); full && len(joints.Rows) > 0 {
		p.line("")
		p.grid(joints)
	}
	if l.Ways[0].Power == nil {
		return
	}
	p.line("")
	p.grid(a.setGrid(l, s))
	p.line("")
	p.grid(a.memberGrid(l, s))
	if full {
		p.line("")
		p.grid(a.meshGrid(l, s))
	}
}
