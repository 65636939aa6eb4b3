package diagnosis

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
)

// The words of the fluid and of line pressure, beside ok, low and none: as the service
// information of the unit says.
const (
	High       Word = "high"  // line pressure above what it should be
	BurntFluid Word = "burnt" // dark, with the smell or the dust of lining
	Foamy      Word = "foamy" // full of air: too low or too high, or sucked in
	Milky      Word = "milky" // water in it
)

// fluidPlace and linePlace are how the two places are written; the line pressure is that
// of a range behind @, else of the one that rests.
const (
	fluidPlace = "fluid"
	linePlace  = "line"
)

// restingRange is the range that applies least, the pawl apart: where the engine idles.
func restingRange(t *kinematics.Train) int {
	best, least := 0, len(t.Couplings)+1
	for r := range t.Ranges {
		n := 2 * len(t.Ranges[r].Apply)
		if applies(t, r, kinematics.Pawl) {
			n++
		}
		if n < least {
			best, least = r, n
		}
	}
	return best
}

// parseLine reads the place of a line pressure: what stands behind "pressure:", if it is
// of the line and no element is called so.
func parseLine(t *kinematics.Train, what string) (*Test, bool, error) {
	name, in, ranged := strings.Cut(what, "@")
	if _, element := t.Coupling(linePlace); element || strings.TrimSpace(name) != linePlace {
		return nil, false, nil
	}
	x := &Test{Kind: Line, Coupling: -1, Range: restingRange(t)}
	if !ranged {
		return x, true, nil
	}
	r, err := t.FindRange(strings.TrimSpace(in))
	x.Range = r
	return x, true, err
}

// hydraulic says whether pressure applies anything in the train.
func hydraulic(t *kinematics.Train) bool {
	return t.Drive == kinematics.Converter && slices.ContainsFunc(t.Couplings,
		func(c kinematics.Coupling) bool { return c.Kind.Friction() })
}

// parseFluid reads the place of the fluid.
func parseFluid(t *kinematics.Train) (Observation, error) {
	if !hydraulic(t) {
		return Observation{}, fmt.Errorf("%s has no pressure that a fluid could tell of", t.Name)
	}
	return Observation{Range: -1, To: -1, Shop: &Test{Kind: Fluid, Coupling: -1}}, nil
}

// lineTests lists the fluid and the line pressure: idling at rest and in every range that
// drives and can be had standing, and at stall where a stall test may be made.
func (f *Finder) lineTests(c *Case) []Test {
	if !hydraulic(f.t) {
		return nil
	}
	rest := restingRange(f.t)
	list := []Test{{Kind: Fluid, Coupling: -1}, {Kind: Line, Range: rest, Coupling: -1}}
	for r := range f.t.Ranges {
		if r != rest && f.selectable(r) && !f.parks(r) {
			list = append(list, Test{Kind: Line, Range: r, Coupling: -1})
		}
	}
	for r := range f.t.Ranges {
		if f.stallable(r) && c.mayStall() && f.a.Effort[Stall] > 0 {
			list = append(list, Test{Kind: Line, Range: r, Coupling: -1, When: WhenLoad})
		}
	}
	return list
}

// stalls says whether a test races the engine against the brakes.
func (x *Test) stalls() bool { return x.Kind == Stall || x.Kind == Line && x.When.Has(WhenLoad) }

// ofPressure says whether of the suspects that let a range slip at full throttle pressure is
// the likeliest: a stall burns any other, and a gauge does not need it then.
func (a *Answer) ofPressure(r int) bool {
	var first *Suspect
	for s := range a.suspects {
		if (first == nil || s.score > first.score) && a.finder.road.slips(r, a.Behaviour(s, r).Full) {
			first = s
		}
	}
	return first != nil && first.Kind == Pressure
}

// fluid is what the fluid shows: low pressure is taken to come of it, though it need not;
// an element that slips or drags can burn it.
func (f *Finder) fluid(x *Test, s *Suspect) Reply {
	if s.Kind == Pressure {
		return x.shows(Low, "low, foamy or burnt")
	}
	r := x.shows(OK, "at its level, and clean")
	r.burns = slices.ContainsFunc(s.Faults, func(y kinematics.Fault) bool {
		return f.t.Couplings[y.Coupling].Kind.Friction() && s.Kind != Torn
	})
	return r
}

// inFluid fits what the fluid shows. It refutes nothing: a pump fails in good fluid, and
// fluid that is low or dark need not be what is wrong. Water swells the lining, so that milky
// fluid speaks for what slips, as burnt fluid does.
func inFluid(w Word, r Reply) Fit {
	low := r.Key == string(Low)
	switch w {
	case Low, Foamy:
		return grade(low, true)
	case BurntFluid, Milky:
		return grade(low || r.burns, true)
	}
	return grade(!low, true)
}

// inLine fits what a gauge in the line shows. Pressure that is right with the engine idling
// can still be low under load; one that is right then is not low.
func inLine(o *Observation, r Reply) Fit {
	switch {
	case o.Word == Low:
		return grade(r.Key == string(Low) || r.leaks, r.Key == string(NotFed))
	case o.Word == OK && r.Key == string(Low):
		return grade(false, !o.When.Has(WhenLoad))
	}
	return yes(r.Key == string(o.Word))
}

// line is what a gauge in the line shows in a range, the engine idling or at stall.
func (f *Finder) line(x *Test, s *Suspect) Reply {
	rng := &f.t.Ranges[s.commands(x.Range)]
	switch {
	case s.noPressure():
		return x.shows(NotFed, "no pressure")
	case s.Kind == Pressure:
		return x.shows(Low, "low pressure")
	case s.Kind == HighPressure:
		return x.shows(High, "high pressure")
	}
	r := x.shows(OK, "as it should be")
	for _, y := range s.Faults {
		seals := y.Kind == kinematics.OpenF || y.Kind == kinematics.Weak
		if s.Kind == Faulty && seals && f.t.Couplings[y.Coupling].Kind.Friction() && y.ActsIn(f.t.Ranges[x.Range].Name) &&
			slices.Contains(rng.Apply, y.Coupling) {
			r.leaks = true // its seals can let the pressure of the line fall
		}
	}
	return r
}

// mayStall says whether a stall test can be asked for: not with burnt fluid, nor where
// something slipped or bound.
func (c *Case) mayStall() bool {
	if slices.Contains(c.Circumstances, Burnt) {
		return false
	}
	return !slices.ContainsFunc(c.Seen, func(o Observation) bool {
		switch o.Word {
		case Slips, SlipsLight, SlipsFull, Bind, Locks, Flare, Shudder, BurntFluid:
			return true
		}
		return false
	})
}
