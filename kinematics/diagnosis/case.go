package diagnosis

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A Case is what is known of a vehicle.
type Case struct {
	Train         *kinematics.Train
	Vehicle       string // whatever the sheet says of it
	Complaint     string // in the customer's words
	Circumstances []Circumstance
	Seen          []Observation
	Found         []Found  // on opening
	Replaced      []string // in free text
	Proved        []Proof  // turns by hand, once it was together again
	Assume        Assumptions
}

// NewCase returns a case of which nothing is known yet.
func NewCase(t *kinematics.Train) *Case { return &Case{Train: t, Assume: Default()} }

// Check refuses what a case that is made in a program can have wrong: assumptions under which
// nothing can be found, and what cannot be read in a road-test sheet.
func (c *Case) Check() error {
	if err := c.Assume.Check(); err != nil {
		return err
	}
	for _, x := range c.Circumstances {
		if !slices.Contains(Circumstances(), x) {
			return fmt.Errorf("there is no circumstance number %d", int(x))
		}
	}
	for i := range c.Seen {
		o := &c.Seen[i]
		if !o.isPlaced(c.Train) {
			return fmt.Errorf("observation %d is of no place of %s", i, c.Train.Name)
		}
		if _, err := Parse(c.Train, o.Place(c.Train), o.Value(c.Train)); err != nil {
			return fmt.Errorf("observation %d: %w", i, err)
		}
		if (o.Word == Ratio || o.Word == Coasts) && o.Ratio == (exact.Frac{}) {
			return fmt.Errorf("observation %d has no ratio", i)
		}
	}
	for _, f := range c.Found {
		if _, err := ParseFound(c.Train, f.Part, string(f.Word)); err != nil {
			return err
		}
	}
	return nil
}

// isPlaced says whether an observation, and its test, is of ranges and couplings of a train.
func (o *Observation) isPlaced(t *kinematics.Train) bool {
	within := func(i, least, n int) bool { return i >= least && i < n }
	n := len(t.Ranges)
	if !within(o.Range, -1, n) || !within(o.To, -1, n) || !within(o.Other, 0, n) {
		return false
	}
	x := o.Shop
	if x == nil {
		return o.Range >= 0 || o.Position != nil
	}
	least := -1
	if x.Kind == PressureAt || x.Kind == Air || x.Kind == Element {
		least = 0
	}
	return within(int(x.Kind), 0, kinds) && within(x.Range, 0, n) && within(x.To, 0, n) &&
		within(x.Coupling, least, len(t.Couplings)) && t.CheckElements(x.Apply...) == nil
}

// See adds what was seen in a place, as [Parse] reads it. A place that is given
// already is refused: what was seen there stands in one list, so that it can be checked.
func (c *Case) See(place, seen string) error {
	list, err := Parse(c.Train, place, seen)
	if err != nil {
		return err
	}
	for _, o := range list {
		for _, s := range c.Seen {
			if s.SamePlace(&o) {
				return fmt.Errorf("%s is given already (%s): put all that was seen there together, with commas between",
					o.Place(c.Train), s.Value(c.Train))
			}
		}
	}
	c.Seen = append(c.Seen, list...)
	return nil
}

// Add adds observations that can be beside what was seen; else it adds none.
func (c *Case) Add(list ...Observation) error {
	all := slices.Clone(c.Seen)
	for _, o := range list {
		if err := Compatible(c.Train, all, o); err != nil {
			return err
		}
		all = append(all, o)
	}
	c.Seen = all
	return nil
}

// Know adds a circumstance by its name.
func (c *Case) Know(name string) error {
	x, err := ParseCircumstance(c.Circumstances, name)
	if err == nil {
		c.Circumstances = append(c.Circumstances, x)
	}
	return err
}

// SeenIn are the words of what was seen in a place.
func (c *Case) SeenIn(place *Observation) []string {
	var words []string
	for i := range c.Seen {
		if c.Seen[i].SamePlace(place) {
			words = append(words, c.Seen[i].Value(c.Train))
		}
	}
	return words
}

// InShop lists the places in the workshop of which something is known.
func (c *Case) InShop() []Observation {
	return c.places(func(o *Observation) bool { return o.Shop != nil })
}

// Sort puts what is known in the order of the train: ranges, shifts, tests in the
// workshop; that of one place stays as it was given.
func (c *Case) Sort() {
	part := func(o Observation) int {
		switch {
		case o.Shop != nil:
			return 2
		case o.IsShift():
			return 1
		}
		return 0
	}
	kinematics.Sort(c.Seen, func(a, b Observation) int {
		if a.Shop != nil && b.Shop != nil {
			x, y := a.Shop, b.Shop
			return cmp.Or(int(x.Kind)-int(y.Kind), x.Coupling-y.Coupling, x.Range-y.Range, slices.Compare(x.Apply, y.Apply))
		}
		return cmp.Or(part(a)-part(b), a.Range-b.Range, a.To-b.To)
	})
	slices.Sort(c.Circumstances)
}

// Alternatives lists the circumstances in groups of which one can be.
func Alternatives() [][]Circumstance {
	var groups [][]Circumstance
	for _, c := range Circumstances() {
		first := slices.IndexFunc(opposite, func(p [2]Circumstance) bool { return p[0] == c || p[1] == c })
		switch {
		case first < 0:
			groups = append(groups, []Circumstance{c})
		case opposite[first][0] == c:
			groups = append(groups, opposite[first][:])
		}
	}
	return groups
}

// A WordGroup is words of a range, a shift or a test with what they are about.
type WordGroup struct {
	Label string
	Words []Word
}

// UsualWords, RareWords and UsualShiftWords are words of which one is true, of a range
// and of a shift; BesideWords what can be seen besides, by what it is of.
var (
	UsualWords  = []Word{OK, Forward, Reverse, None, Bind}
	RareWords   = []Word{Revs, Loaded, Lurch, LurchForward, LurchBackward, Creeps, CreepsForward, CreepsBackward}
	BesideWords = []WordGroup{
		{"The engine", []Word{Slips, SlipsLight, SlipsFull, HoldsFull, StallHolds, StallRuns, StallLow}},
		{"Coasting", []Word{EngineBraking, NoEngineBraking, Locks}},
		{"Pushed", []Word{Rolls, RollsDrag, RollsForwardOnly, RollsBackOnly, Held}},
	}
	UsualShiftWords = []Word{ShiftOK, ShiftBinds, Flare, Late, Harsh, Shudder, NoShift}
)

// ShopChoices groups the words of a test in the workshop, one of each group to be
// chosen; [Turns], which takes how far behind it, is not among them.
func ShopChoices(t *kinematics.Train, x *Test) []WordGroup {
	if x.Kind != Bench {
		return []WordGroup{{"It shows", ShopWords(t, x)}}
	}
	return []WordGroup{
		{"Clockwise, the output free", []Word{Locks}},
		{"Clockwise, the output held", []Word{HeldTurns, HeldLocks}},
		{"Counter-clockwise", []Word{BackTurns, BackLocks}},
	}
}

// SeenWords lists what can be written behind a place, for completion.
func SeenWords(t *kinematics.Train, place string) []string {
	if o, err := ParsePlace(t, place); err == nil && o.Shop != nil {
		return kinematics.Map(ShopWords(t, o.Shop), func(w Word) string { return string(w) })
	}
	return Words(strings.Contains(place, "-") && !slices.Contains(t.RangeNames(), place))
}

// yesNo are the words of a test that yes and no stand for.
var yesNo = map[TestKind][2]Word{
	Coasting: {EngineBraking, NoEngineBraking}, Throttle: {HoldsFull, SlipsFull}, Stall: {StallHolds, StallRuns},
	Shifting: {"", ShiftOK}, PressureAt: {Fed, NotFed}, Air: {Good, Bad}, Element: {Good, Bad},
}

// Spoken puts yes and no, and what the train does when it is turned by hand, into the
// words of a test.
func (x *Test) Spoken(text string) string {
	w, ok := yesNo[x.Kind]
	if x.Kind == Bench {
		w, ok = map[Turning][2]Word{HeldOutput: {HeldTurns, HeldLocks}, BackInput: {BackTurns, BackLocks}}[x.Turning]
		switch {
		case ok && text == string(Turns):
			return string(w[0])
		case ok && text == string(Locks):
			return string(w[1])
		case !ok && strings.IndexAny(text, "+-.0123456789") == 0:
			return string(Turns) + " " + text
		}
	}
	switch {
	case ok && w[0] != "" && (text == "yes" || text == "y"):
		return string(w[0])
	case ok && (text == "no" || text == "n"):
		return string(w[1])
	}
	return text
}
