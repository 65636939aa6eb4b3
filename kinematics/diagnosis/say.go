package diagnosis

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
)

// Places lists what was seen, each place once: "D1: forward, no-engine-braking".
func (c *Case) Places() []string {
	return kinematics.Map(c.places(func(*Observation) bool { return true }), func(o Observation) string {
		return o.Place(c.Train) + ": " + strings.Join(c.SeenIn(&o), ", ")
	})
}

// places lists the places of which something was seen, of one sort, each once.
func (c *Case) places(sort func(*Observation) bool) []Observation {
	var list []Observation
	for i := range c.Seen {
		if o := &c.Seen[i]; sort(o) && !slices.ContainsFunc(list, func(x Observation) bool { return x.SamePlace(o) }) {
			list = append(list, *o)
		}
	}
	return list
}

// Untested names the ranges of which nothing was seen.
func (c *Case) Untested() []string {
	var names []string
	for r := range c.Train.Ranges {
		if !c.Tested(r) {
			names = append(names, c.Train.Ranges[r].Name)
		}
	}
	return names
}

// Elsewhere lists the places besides the ranges of which something was seen.
func (c *Case) Elsewhere() []Observation {
	return c.places(func(o *Observation) bool { return o.IsShift() || o.Shop != nil || o.Position != nil })
}

// Mark is the worst fit of what was seen in a place.
func (a *Answer) Mark(s *Suspect, place Observation) string {
	worst, tested := Fully, false
	for i, o := range a.Seen {
		if o.SamePlace(&place) {
			worst, tested = max(worst, s.Fits[i]), true
		}
	}
	if !tested {
		return "-"
	}
	return worst.String()
}

// SeenAt is what was seen in a place, and how that fits a suspect.
func (a *Answer) SeenAt(s *Suspect, place Observation) (seen, so string) {
	words := a.SeenIn(&place)
	if len(words) == 0 {
		return NotTested, ""
	}
	return strings.Join(words, ", "), a.Mark(s, place)
}

// Refutation says what becomes of a claim.
func (a *Answer) Refutation(c Claim) string {
	var against, partly []string
	for i, x := range c.Fits {
		text := a.Seen[i].Place(a.Train) + ": " + a.Seen[i].Value(a.Train)
		switch x {
		case Not:
			against = append(against, text)
		case Partly:
			partly = append(partly, text)
		}
	}
	text := ""
	switch {
	case len(a.Seen) == 0:
		return "Nothing was seen yet that could speak for or against it."
	case len(against) > 0:
		text = "Refuted by " + strings.Join(against, "; ") + "."
	case len(partly) > 0:
		text = "Not refuted; agrees only partly with " + strings.Join(partly, "; ") + "."
	default:
		text = "Agrees with everything seen."
	}
	switch {
	case c.Better == 0 && c.Group != nil && len(c.Group.Suspects) > 1 && c.listed():
		return text + " It is one of the first group below."
	case c.Better == 0:
		return text + " Nothing agrees better."
	case c.Better == 1:
		return text + " One group of suspects comes before it."
	}
	return text + fmt.Sprintf(" %d groups of suspects come before it.", c.Better)
}

// listed says whether a claim is itself among the suspects of its group.
func (c *Claim) listed() bool {
	return slices.ContainsFunc(c.Group.Suspects, func(s *Suspect) bool {
		return s.sameControls(&c.Hypothesis) && s.Gear == c.Gear && s.Lever == c.Lever &&
			(s.Kind == Controlled || slices.EqualFunc(s.Faults, c.Faults, sameFault))
	})
}

// Words says what a diagnosis takes for granted.
func (a *Assumptions) Words() string {
	return fmt.Sprintf("Assumed: one observation in %s is wrong; measured ratios are off by at most %s %%; "+
		"a weak element holds %s of its rating, a dragging one %s, or less where that explains more; "+
		"light throttle is %s, full throttle %s of the rated input torque. "+
		"Where suspects agree equally well the likelier class of causes comes first, "+
		"by judgement and not by data: %s. A road-test sheet can change all of this.",
		strconv.FormatFloat(1/a.ErrorRate, 'g', 3, 64), strconv.FormatFloat(100*a.Tolerance.Float(), 'g', 3, 64),
		a.Weak, a.Dragging, a.Light, a.Full, strings.Join(kinematics.Map(a.Classes, Class.String), ", "))
}

// Summary says in a line what the search came to, "" if nothing was seen yet.
func (a *Answer) Summary() string {
	if len(a.Seen) == 0 {
		return ""
	}
	best := a.Groups[0]
	switch n := best.Suspects[0].Count(); {
	case best.Halves() == 0 && n > 1:
		return fmt.Sprintf("No single fault agrees with everything seen; %s at once do.", many(n))
	case best.Halves() == 0:
		return "What follows agrees with everything seen."
	case slices.ContainsFunc(a.Groups, func(g Group) bool { return g.Halves() == 0 }):
		return fmt.Sprintf("One fault alone fits everything seen, though some of it only partly; %s at once fit fully, "+
			"and are less likely.", many(a.Searched))
	case a.Searched > 1:
		return fmt.Sprintf("Nothing agrees with everything seen, not even %s at once: "+
			"one of the observations may be wrong.", many(a.Searched))
	}
	return "No single fault agrees with everything seen: ask for two at once with --faults 2, or doubt an observation."
}

// Plainly says to somebody who does not know the trade what the suspects of the first
// group leave open, "" where each of them explains everything that was seen.
func (a *Answer) Plainly() string {
	best := a.Groups[0]
	switch {
	case best.Halves() == 0 && best.Suspects[0].Count() > 1:
		return "No single fault explains everything that was seen; " + many(best.Suspects[0].Count()) + " at once do."
	case best.Halves() == 0:
		return ""
	case slices.ContainsFunc(a.Groups, func(g Group) bool { return g.Halves() == 0 }):
		return "Some of what was seen is explained only in part."
	}
	return "Nothing explains everything that was seen: one of the observations may be wrong."
}

func many(n int) string {
	if n < 4 {
		return [...]string{"no faults", "one fault", "two faults", "three faults"}[n]
	}
	return strconv.Itoa(n) + " faults"
}
