package analysis

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/reading"
	"tieup/kinematics/shift"
	"tieup/kinematics/solve"
)

// States are all combinations of the elements of a train, by what they do.
type States struct {
	Schema string            `json:"schema"`
	Units  Named[string]     `json:"units"`
	Train  *kinematics.Train `json:"train"`
	Faulted
	Elements     List[string]  `json:"elements"`
	Fixed        List[string]  `json:"fixed"` // in no combination: a fault keeps them the same
	Combinations int           `json:"combinations"`
	Groups       []StatesGroup `json:"groups"`
	LeastTieUps  Sets          `json:"least_tie_ups"`
	Cautions     List[string]  `json:"cautions"`
}

// A StatesGroup is the combinations that drive at one ratio, or have one verdict.
type StatesGroup struct {
	Verdict solve.Verdict `json:"verdict"`
	Ratio
	Used  bool        `json:"used"` // by a range
	Count int         `json:"count"`
	Ways  []StatesWay `json:"ways"`
}

// A StatesWay is what combinations of a group do alike when coasting.
type StatesWay struct {
	Coasting           string       `json:"coasting"`
	EngineBraking      *bool        `json:"engine_braking"`
	EngineBrakingRatio Ratio        `json:"engine_braking_ratio"`
	Ranges             List[string] `json:"ranges"`
	Combinations       Sets         `json:"combinations"`

	Reads reading.Word `json:"-"`
}

// Sets are sets of elements. JSON writes them by name.
type Sets struct {
	all  *reading.Combinations
	list []reading.Combination
}

// Len returns the number of sets.
func (s Sets) Len() int { return len(s.list) }

// Names returns the elements of the i-th set.
func (s Sets) Names(i int) []string { return s.all.Train.CouplingNames(s.all.Apply(s.list[i])) }

// MarshalJSON writes a list of names for each set.
func (s Sets) MarshalJSON() ([]byte, error) {
	names := make([][]string, s.Len())
	for i := range names {
		names[i] = s.Names(i)
	}
	return document.Marshal(names)
}

// A StatesQuestion asks what all combinations of elements do under faults that act
// in all ranges.
type StatesQuestion struct {
	Faults []kinematics.Fault
	// Most is the largest number of elements that are combined, 0 for
	// [reading.MostElements].
	Most int
}

// A TooMany error says that there are too many elements to try all combinations.
type TooMany struct {
	Train    string
	Elements int
	Instead  string // what to do where more than [reading.MostElements] are combined
	Or       string // what to do but to ask for all of them, "" for nothing
}

// Error says how many there are, and what to do.
func (e *TooMany) Error() string {
	if e.Elements > reading.MostElements {
		return fmt.Sprintf("%s has %d elements that can be applied: with more than %d there are too many combinations; %s",
			e.Train, e.Elements, reading.MostElements, e.Instead)
	}
	return fmt.Sprintf("%s has %d elements that can be applied, in %d combinations: ask for so many with --all%s",
		e.Train, e.Elements, 1<<e.Elements, e.Or)
}

// States groups all combinations of the elements by what they do.
func (a *Analysis) States(ctx context.Context, q StatesQuestion) (*States, error) {
	t := a.Train
	if err := Under(q.Faults...).in(t, a.onBench()); err != nil {
		return nil, err
	}
	if err := shift.SpeedsAlone(t, q.Faults); err != nil {
		return nil, err
	}
	all := reading.CombinationsOf(a.system, q.Faults...)
	switch n := len(all.Elements); {
	case n == 0:
		return nil, errors.New(t.Name + " has no element that can be applied or released")
	case n > reading.MostElements, q.Most > 0 && n > q.Most:
		return nil, &TooMany{t.Name, n, "hold some with --stuck or release them with --open",
			", or hold some elements with --stuck or release them with --open"}
	}
	found, err := all.States(ctx)
	if err != nil {
		return nil, err
	}
	s := statesOf(found)
	s.Faulted = Under(q.Faults...).faulted(t)
	w := a.workers.take()
	defer a.workers.put(w)
	_, s.Cautions = w.cautions(Under(q.Faults...), pointers(t.Ranges)...)
	return s, ctx.Err()
}

// Counted says how many combinations there are, and of what.
func (s *States) Counted() string {
	t := s.Train
	text := fmt.Sprintf("%d elements can be applied or not, in %d combinations", len(s.Elements), s.Combinations)
	if len(s.Elements) == 1 {
		text = "1 element can be applied or not, in 2 combinations"
	}
	if len(s.Fixed) > 0 {
		text += "; the faults leave no choice for " + strings.Join(s.Fixed, ", ")
	}
	always, switched, pawl := false, false, false
	for _, c := range t.Couplings[:t.ElementCount] {
		always = always || c.Kind == kinematics.OneWay && !c.Switched
		switched = switched || c.Switched
		pawl = pawl || c.Kind == kinematics.Pawl
	}
	switch {
	case always && switched:
		text += "; one-way clutches that are not switched act in all of them"
	case always:
		text += "; one-way clutches act in all of them"
	}
	if pawl {
		text += "; the pawl is out"
	}
	if otherEnds(t) {
		text += "; input " + t.Members[t.Input].Name + ", output " + t.Members[t.Output].Name +
			": ranges with other shafts are left out"
	}
	return text
}

// Unused says which ratios no range uses, only how many where they are more than most.
func (s *States) Unused(most int) string {
	var words []string
	for _, g := range s.Groups {
		if r := g.Ratio.Ratio; r != nil && !g.Used {
			by := cmp.Or(strings.Join(g.Ways[0].Combinations.Names(0), " + "), "nothing")
			words = append(words, reading.Ratio(*r)+" "+g.Verdict.String()+" ("+by+")")
		}
	}
	switch n := len(words); {
	case len(s.Train.Ranges) == 0:
		return "the train has no ranges"
	case n == 0:
		return "the ranges use every ratio that the train can give"
	case n > most:
		return fmt.Sprintf("%d ratios that the train can give are used by no range", n)
	}
	return "ratios that the train can give and no range uses: " + strings.Join(words, ", ")
}

// otherEnds says whether some ranges have an input or output of their own.
func otherEnds(t *kinematics.Train) bool {
	return slices.ContainsFunc(t.Ranges, func(x kinematics.Range) bool {
		return x.Input != t.Input || x.Output != t.Output
	})
}

func statesOf(found *reading.States) *States {
	t := found.Train
	s := &States{
		Schema: "tieup.states/1", Units: document.Texts("ratio, engine_braking_ratio", "input speed / output speed"),
		Train: t, Elements: t.CouplingNames(found.Elements), Fixed: t.CouplingNames(found.Fixed),
		Combinations: 1 << len(found.Elements), LeastTieUps: Sets{found.Combinations, found.LeastTieUps()},
	}
	for i := range found.Groups {
		g := &found.Groups[i]
		group := StatesGroup{Verdict: g.Verdict, Ratio: document.RatioOf(g.Ratio, g.Drives()),
			Used: g.Used(), Count: g.Count()}
		for _, w := range g.Ways {
			braking, brakes, rolls := w.Outcome.EngineBraking()
			group.Ways = append(group.Ways, StatesWay{
				Coasting: w.Reading.Coast, EngineBraking: document.If(brakes, rolls),
				EngineBrakingRatio: document.RatioOf(braking, brakes),
				Ranges:             w.Ranges, Combinations: Sets{found.Combinations, w.Combinations}, Reads: w.Reading.Words[0],
			})
		}
		s.Groups = append(s.Groups, group)
	}
	return s
}
