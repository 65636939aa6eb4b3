package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// A Claim is a suspect that somebody named.
type Claim struct {
	*Suspect
	// Better counts the groups that are strictly better.
	Better int
	// Group is the group whose observations fit as those of the claim, nil if it
	// is not among the suspects.
	Group *Group
}

// Claim tests whether given faults could be what was seen.
func (a *Answer) Claim(faults []kinematics.Fault) Claim {
	h := Hypothesis{Kind: Faulty, Faults: faults}
	if len(faults) > 0 {
		h.Class = classOf(a.Train, faults[0])
	}
	return a.claim(&h)
}

// ClaimControls tests whether faults of the controls, with some of couplings beside
// them, could be what was seen: of all that they can come to, what fits best.
func (a *Answer) ClaimControls(own []kinematics.Fault, above []controls.Fault) Claim {
	before, after := controls.Of(a.Train).Evaluate(above...)
	var best *Claim
	for _, x := range []*controls.Answer{before, after} {
		if x == nil {
			continue
		}
		list := outcomes(a.Train, x, after != nil)
		if list == nil { // nothing changes
			list = []Hypothesis{{Kind: Controlled, Controls: above, Class: Control}}
		}
		for k := range list {
			list[k].Own, list[k].Faults = own, controls.Merge(own, list[k].Faults)
		}
		if list[0].comes != nil {
			j := a.finder.judge(a.Seen)
			list = append(list, j.mix(list[0], j.costs(&list[0])))
		}
		for _, h := range list {
			if c := a.claim(&h); best == nil || c.Halves < best.Halves {
				best = &c
			}
		}
	}
	return *best
}

func (a *Answer) claim(h *Hypothesis) Claim {
	f := a.finder
	s := &Suspect{Hypothesis: *h, cells: f.engine.all(h)}
	j := f.judge(a.Seen)
	s.Fits = j.fits(&s.Hypothesis, s.cells)
	order := f.ranking(a.Case)
	s.weigh(f, &order)
	c := Claim{Suspect: s}
	for i := range a.Groups {
		g := &a.Groups[i]
		if slices.Equal(g.Fits(), s.Fits) {
			c.Group, c.Better = g, g.Rank-1
			return c
		}
		if g.Suspects[0].score > s.score+same {
			c.Better++
		}
	}
	return c
}

// tooLittle says whether a fault is that something holds too little, not too much.
func tooLittle(f kinematics.Fault) bool {
	return f.Kind == kinematics.OpenF || f.Kind == kinematics.Weak || f.Kind == kinematics.Slips
}

// isSame says whether two suspects have the same faults, or are the same whole: low
// pressure is, to whatever degree.
func (s *Suspect) isSame(o *Suspect) bool {
	switch {
	case s.Kind != o.Kind:
		return false
	case s.Kind == Torn:
		return s.Gear == o.Gear
	case s.Kind == Pressure:
		return s.noPressure() == o.noPressure()
	case s.Kind == HighPressure:
		return true
	case s.Kind == WrongWay:
		return s.Lever == o.Lever && s.Lever != 0
	}
	if s.Kind != Faulty || s.Raced || len(s.Faults) != len(o.Faults) {
		return false
	}
	for _, f := range o.Faults {
		if !slices.ContainsFunc(s.Faults, func(g kinematics.Fault) bool { return sameFault(f, g) }) {
			return false
		}
	}
	return true
}

// effectOf is how a coupling goes wrong, whatever the degree and the ranges: it does not
// hold, holds too little, holds where it should not.
func effectOf(f kinematics.Fault) kinematics.FaultKind {
	switch {
	case f.Kind == kinematics.Slips:
		return kinematics.OpenF
	case f.Kind == kinematics.Seized:
		return kinematics.Stuck
	case f.Kind == kinematics.Stuck && f.Share.IsSet():
		return kinematics.Dragging
	}
	return f.Kind
}
