package diagnosis

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// Several finds all sets of n faults that agree with everything seen, whether
// fewer do or not.
func (f *Finder) Several(c *Case, n int) []*Suspect {
	return f.several(context.Background(), c, n, 1, 1)
}

// ShiftsAnew returns what every single hypothesis does to a shift, once as the
// finder remembers it and once found anew.
func (f *Finder) ShiftsAnew(from, to int) (remembered, anew []string) {
	for i := range f.singles {
		h := &f.singles[i]
		remembered = append(remembered, fmt.Sprint(h.Faults, h.Command, f.shifts.of(h, from, to)))
		anew = append(anew, fmt.Sprint(h.Faults, h.Command, newShiftFinder(f).of(h, from, to)))
	}
	return remembered, anew
}

// Score is the logarithm of what a suspect weighs.
func (s *Suspect) Score() float64 { return s.score }

// Further counts the ranges of a suspect that count against it.
func (s *Suspect) Further() int { return s.further }

// RoadTests lists the tests of a full road test in the order of the chart: every
// position, which ways the vehicle rolls where it can stand, in every range but
// park the gear and coasting, and full throttle in those that are meant to drive.
func (a *Answer) RoadTests() []Proposal {
	var list []Proposal
	for _, x := range a.finder.tests(&Case{Train: a.Train}) {
		if x.Kind.OnTheRoad() && x.Kind != Shifting {
			x.SetUp = a.finder.setUpsOf(&x)[0]
			list = append(list, Proposal{Test: x, Effort: a.finder.effort(&x)})
		}
	}
	return list
}

// RoadTest returns what a full road test shows of a suspect, if nothing is
// observed wrongly.
func (a *Answer) RoadTest(s *Suspect) []Observation {
	var seen []Observation
	for _, p := range a.RoadTests() {
		seen = append(seen, a.Reply(&p.Test, s).Seen...)
	}
	return seen
}

// FirstComplaint is what a driver would first complain of with a suspect: what the
// first test of [Answer.RoadTests] shows that a healthy train does not; nil if
// none does.
func (a *Answer) FirstComplaint(s *Suspect) []Observation {
	healthy := &Suspect{cells: a.finder.cells[0]}
	for _, p := range a.RoadTests() {
		r := a.Reply(&p.Test, s)
		if r.Key != a.Reply(&p.Test, healthy).Key && len(r.Seen) > 0 {
			return r.Seen
		}
	}
	return nil
}

// Next are the tests of a plan.
func (a *Answer) Next(n int, allow func(*Test) bool) []Proposal {
	plan, _ := a.Plan(context.Background(), n, allow)
	return plan.Proposals
}

// Name writes a hypothesis as the command line takes it: "roller=reversed",
// "front.sun=torn"; "" for those of a command or of timing.
func (h *Hypothesis) Name(t *kinematics.Train) string {
	if name := h.whole(t); name != "" {
		return name
	}
	if h.Kind == Controlled {
		return strings.Join(append([]string{controls.Text(h.Controls)}, kinematics.Map(h.Own, t.FaultText)...), " + ")
	}
	if h.Kind != Faulty || h.Raced {
		return ""
	}
	return strings.Join(kinematics.Map(h.Faults, t.FaultText), " + ")
}

// whole writes a hypothesis that is no fault of a coupling or of the controls as a claim
// takes it: "front.sun=torn", "pressure=low 0.4", "lever=back"; "" for the others.
func (h *Hypothesis) whole(t *kinematics.Train) string {
	switch {
	case h.Kind == Torn:
		return t.Members[h.Gear].Name + "=" + tornName
	case h.noPressure():
		return pressureName + "=" + string(NotFed)
	case h.Kind == Pressure:
		return pressureName + "=" + string(Low) + " " + h.Faults[0].Share.String()
	case h.Kind == HighPressure:
		return pressureName + "=" + string(High)
	case h.Lever < 0:
		return leverName + "=back"
	case h.Lever > 0:
		return leverName + "=further"
	}
	return ""
}

// Listed finds the suspect that stands for a claim in the list, nil if none does: the claim
// itself, or of the same coupling, gone wrong the same way, the degree and the ranges that
// the observations demand, or else that nothing is wrong. It fits no worse.
func (a *Answer) Listed(claim *Suspect) *Suspect {
	var best *Suspect
	for s := range a.suspects {
		if s.standsFor(claim) && (best == nil || best.Kind == Healthy || s.isSame(claim)) {
			best = s
		}
	}
	return best
}

// standsFor says whether a suspect is the member of the family of a claim that fits best.
func (s *Suspect) standsFor(claim *Suspect) bool {
	if s.Kind == Healthy { // nothing seen shows the claim
		return cost(s.Fits) <= cost(claim.Fits)
	}
	if s.isSame(claim) {
		return true
	}
	if s.Kind != Faulty || claim.Kind != Faulty || s.Raced || len(s.Faults) != len(claim.Faults) ||
		cost(s.Fits) > cost(claim.Fits) {
		return false
	}
	return !slices.ContainsFunc(claim.Faults, func(g kinematics.Fault) bool {
		return !slices.ContainsFunc(s.Faults, func(f kinematics.Fault) bool {
			return f.Coupling == g.Coupling &&
				(effectOf(f) == effectOf(g) || local(g) && g.Share.IsSet() && tooLittle(f) == tooLittle(g))
		})
	})
}
