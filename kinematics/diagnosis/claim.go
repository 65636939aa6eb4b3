package diagnosis

import "tieup/kinematics"

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
	f := a.finder
	h := Hypothesis{Kind: Faulty, Faults: faults}
	if len(faults) > 0 {
		h.Class = classOf(a.Train, faults[0])
	}
	s := &Suspect{Hypothesis: h, cells: f.engine.all(&h)}
	s.Fits = f.judge(a.Seen).fits(&s.Hypothesis, s.cells)
	order := newRanking(f.t, f.a.Classes, a.Circumstances)
	s.weigh(f, &order)
	c := Claim{Suspect: s}
	for i := range a.Groups {
		g := &a.Groups[i]
		if string(fitKey(g.Fits())) == string(fitKey(s.Fits)) {
			c.Group, c.Better = g, g.Rank-1
			return c
		}
		if g.Suspects[0].score > s.score+same {
			c.Better++
		}
	}
	return c
}
