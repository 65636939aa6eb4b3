package transient

import (
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// A Doing is what an element does at a moment of a shift.
type Doing uint8

// What elements do.
const (
	Released Doing = iota
	Applied
	Slips
	Holds    // a one-way clutch
	Overruns // a one-way clutch
)

var doings = [...]string{Released: "", Applied: "applied", Slips: "slips", Holds: "holds", Overruns: "overruns"}

// Doings are the words for what elements can do, each at its number.
func Doings() []string { return doings[:] }

// Closed says whether what the element lies between turns as one.
func (d Doing) Closed() bool { return d == Applied || d == Holds }

// A Phase is a stretch of a shift in which the elements do the same.
type Phase struct {
	From int     // its first sample
	Does []Doing // by element
	// Slipping names what slips: "direct slips"; "" for nothing.
	Slipping string
	// Reading is what the elements that do not slip make of the train, by the speeds alone.
	Reading reading.RangeReading
	Binds   bool   // couplings fight the drive
	Flares  bool   // else, the input runs up
	Settled bool   // Says is what Reading says
	Says    string // "drives forward at 2.48, as D1", "binds", "intermediate slips"
	Hazards []reading.Hazard
}

// Harms says whether it can do harm.
func (p *Phase) Harms() bool { return p.Binds || len(p.Hazards) > 0 }

// Phases parts the run into phases.
func (a *Answer) Phases() []Phase {
	v := &a.Verdict
	var list []Phase
	for i := range a.Run.Time {
		does := a.Run.doing(i)
		x := a.phase(i, does, v.Bind > 0 && slices.Contains(v.BindsAt, i), v.Flare > 0 && slices.Contains(v.FlaresAt, i))
		if n := len(list) - 1; n < 0 || !list[n].like(&x) {
			list = append(list, x)
		}
	}
	return list
}

// like says whether the elements and the train do the same.
func (p *Phase) like(q *Phase) bool {
	return slices.Equal(p.Does, q.Does) && p.Harms() == q.Harms() && p.Binds == q.Binds && p.Flares == q.Flares &&
		p.Settled == q.Settled && (!p.Settled || p.Reading.PullsLike(q.Reading))
}

// phase is the phase that begins at sample i.
func (a *Answer) phase(i int, does []Doing, binds, flares bool) Phase {
	s, r := a.Shift, a.Run
	t := s.System.Train
	of := s.From
	if i > r.before() {
		of = s.To
	}
	st := t.In(of, s.Faults...)
	var slipping []int
	w := wording{t: t}
	for k, d := range does {
		switch {
		case d.Closed():
			st.Modes[k] = kinematics.Locked
		case d != Released || t.Couplings[k].Kind != kinematics.OneWay:
			st.Modes[k] = kinematics.Open
		}
		if d == Slips {
			slipping = append(slipping, k)
		}
	}
	says := ""
	if len(slipping) > 0 {
		says = w.names(slipping) + kinematics.Plural(len(slipping), " slips", " slip")
	}
	now := reading.Passing(t, s.System.Kernel().Outcome(st))
	x := Phase{From: i, Does: does, Slipping: says, Reading: now, Binds: binds, Flares: flares && !binds}
	if like := s.alikeRange(x.Reading.Outcome); like != nil && x.Reading.Outcome.Drives() {
		x.Reading.As = like.Name
	}
	x.Hazards = a.hazards(i, x.Reading)
	switch {
	case binds:
		x.Says = "binds"
	case flares:
		x.Says = "flares"
	case !x.Reading.Outcome.Drives() && says != "":
		x.Says = says
	default:
		x.Settled, x.Says = true, x.Reading.Headline()
	}
	return x
}

// hazards compares what the train does at sample i with the healthy range that is asked for;
// while the elements change, what the range that is left may do is no hazard.
func (a *Answer) hazards(i int, now reading.RangeReading) []reading.Hazard {
	s, r := a.Shift, a.Run
	of := func(x *kinematics.Range) []reading.Hazard {
		return reading.Hazards(reading.Passing(s.System.Train, s.outcome(x, nil)), now)
	}
	changed := 0.0 // when the last element has changed
	for _, c := range r.Courses {
		if c.Change != Stays {
			changed = max(changed, c.Ramp.End)
		}
	}
	switch {
	case i <= r.before():
		return of(s.From)
	case r.Time[i] > changed:
		return of(s.To)
	}
	if len(of(s.From)) == 0 {
		return nil
	}
	return of(s.To)
}

// doing says what every element does at sample i.
func (r *Run) doing(i int) []Doing {
	t := r.Shift.System.Train
	does := make([]Doing, t.ElementCount)
	for _, c := range r.Courses {
		if track := r.Track(c.Coupling); track != nil && c.Coupling < len(does) {
			does[c.Coupling] = track.doing(t.Couplings[c.Coupling].Kind, &c, r.Time[i], i)
		}
	}
	return does
}

// doing says what an element does at sample i: what it is given, whether it carries
// torque, and whether it slips.
func (x *Track) doing(kind kinematics.CouplingKind, c *Schedule, t float64, i int) Doing {
	const torque = 1e-3 // N m that is nothing
	carries := max(math.Abs(x.TorqueMin[i]), math.Abs(x.TorqueMax[i])) > torque
	moves := math.Abs(x.Slip[i]) > slippingSpeed
	switch {
	case kind == kinematics.OneWay && carries:
		return Holds
	case kind == kinematics.OneWay && moves:
		return Overruns
	case kind == kinematics.OneWay, !carries && !c.given(t):
		return Released
	case moves:
		return Slips
	}
	return Applied
}

// given says whether a coupling is given anything to hold with at a time.
func (c *Schedule) given(t float64) bool {
	done := c.Ramp.Done(t)
	switch {
	case c.Change == Stays:
		return c.After > 0
	case c.Origin == InTime:
		return false // what it carries tells
	case c.Change == Releases:
		return done < 1
	}
	return done > 0
}
