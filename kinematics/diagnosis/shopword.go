package diagnosis

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"tieup/kinematics"
)

// The words of tests in the workshop. What is wrong with an element in hand is
// said with the words of its faults: stuck, open, reversed.
const (
	Fed       Word = "fed"  // at a tap: full pressure
	Low       Word = "low"  // ... low pressure
	NotFed    Word = "none" // ... no pressure
	Good      Word = "good" // by air, or in hand
	Bad       Word = "bad"  // the same, whatever is wrong
	Turns     Word = "turns"
	HeldTurns Word = "held-turns" // the input turns forward though the output is held
	HeldLocks Word = "held-locks"
	BackTurns Word = "back-turns" // the input turns backward
	BackLocks Word = "back-locks"
)

// turningOf are the ways to turn the train by which words say what it does.
var turningOf = map[Word]Turning{
	Turns: FreeOutput, Locks: FreeOutput, HeldTurns: HeldOutput, HeldLocks: HeldOutput, BackTurns: BackInput,
	BackLocks: BackInput,
}

// samePlace says whether two tests are of one place: on the bench, with the same
// elements applied.
func (x *Test) samePlace(y *Test) bool {
	return x.Kind == y.Kind && x.Range == y.Range && x.Coupling == y.Coupling && x.Part == y.Part &&
		slices.Equal(x.Apply, y.Apply)
}

// place writes a test in the workshop as [ParsePlace] reads it.
func (x *Test) place(t *kinematics.Train) string {
	kind, what := x.Kind.place(), ""
	in := func() string { return t.Ranges[x.Range].Name }
	switch x.Kind {
	case Fluid:
		return fluidPlace
	case Connector, Switching, CodeRead:
		what = x.Part
	case CircuitTap:
		what = x.Part + "@" + in()
	case Rolling:
		what = in()
	case Line:
		kind, what = PressureAt.Name(), linePlace+"@"+in()
	case PressureAt:
		what = t.Couplings[x.Coupling].Name + "@" + in()
	case Bench:
		what = cmp.Or(strings.Join(t.CouplingNames(x.Apply), "+"), nothingApplied)
	default:
		what = t.Couplings[x.Coupling].Name
	}
	return kind + ":" + what
}

// nothingApplied stands where the elements applied on the bench do. It cannot
// be the name of an element.
const nothingApplied = "-"

// offPlace stands before the range in which the vehicle is pushed with the engine
// off.
const offPlace = "off"

// place is what stands before the colon in the place of a test of a kind.
func (k TestKind) place() string {
	if k == Rolling {
		return offPlace
	}
	return k.Name()
}

var shopKinds = []TestKind{Rolling, PressureAt, Air, Bench, Element, Connector, CircuitTap, Switching, CodeRead}

// parseShopPlace reads what stands behind the kind of a test in the workshop.
func parseShopPlace(t *kinematics.Train, kind, what string) (Observation, error) {
	o := Observation{Range: -1, To: -1}
	names := kinematics.Map(shopKinds, TestKind.place)
	k := slices.Index(names, strings.TrimSpace(kind))
	if k < 0 {
		if s := kinematics.DidYouMean(kind, names); s != "" {
			return o, fmt.Errorf("no such test in the workshop %s%s", kinematics.Quote(kind), s)
		}
		return o, fmt.Errorf("no such test in the workshop %s: write %s before the colon", kinematics.Quote(kind),
			kinematics.Or(names))
	}
	x := &Test{Kind: shopKinds[k], Coupling: -1}
	o.Shop = x
	what = strings.TrimSpace(what)
	var err error
	switch x.Kind {
	case Connector, CircuitTap, Switching, CodeRead:
		err = parsePart(t, x, what)
	case Rolling:
		x.Range, err = t.FindRange(what)
	case PressureAt:
		if line, ok, err := parseLine(t, what); ok {
			o.Shop = line
			return o, err
		}
		name, in, cut := cutRange(t, x.Kind, what)
		if x.Coupling, err = findFed(t, name); cut != nil || err != nil {
			return o, cmp.Or(cut, err)
		}
		x.Range, err = t.FindRange(in)
	case Air:
		x.Coupling, err = findFed(t, what)
	case Element:
		x.Coupling, err = t.FindCoupling(what)
	case Bench:
		x.Apply, err = benchApply(t, what)
	}
	return o, err
}

// cutRange cuts the range off what stands behind the colon of a gauge.
func cutRange(t *kinematics.Train, k TestKind, what string) (name, in string, err error) {
	name, in, ok := strings.Cut(what, "@")
	if !ok {
		err = fmt.Errorf("pressure is measured in a range: write it behind @, such as %s:%s@%s", k.Name(), what,
			t.Ranges[0].Name)
	}
	return strings.TrimSpace(name), strings.TrimSpace(in), err
}

// findFed finds an element that a piston or servo applies.
func findFed(t *kinematics.Train, name string) (int, error) {
	i, err := t.FindCoupling(strings.TrimSpace(name))
	if err == nil && !fed(t, i) {
		err = fmt.Errorf("%s is %s: neither pressure nor air applies it", t.Couplings[i].Name, kindText(t.Couplings[i].Kind))
	}
	return i, err
}

// fed says whether pressure applies a coupling.
func fed(t *kinematics.Train, i int) bool {
	k := t.Couplings[i].Kind
	return k.Friction() || k == kinematics.Dog
}

// kindText says what a coupling is that nothing applies.
func kindText(k kinematics.CouplingKind) string {
	return map[kinematics.CouplingKind]string{
		kinematics.OneWay: "a one-way clutch", kinematics.Spline: "a member of a joint", kinematics.Pawl: "the parking pawl",
	}[k]
}

// benchApply reads the elements that are applied by air on the bench, with +
// between them.
func benchApply(t *kinematics.Train, what string) ([]int, error) {
	if what == nothingApplied {
		return nil, nil
	}
	var apply []int
	for name := range strings.SplitSeq(what, "+") {
		name = strings.TrimSpace(name)
		if name == "" {
			return nil, fmt.Errorf("which elements are applied? Write them with + between, such as bench:%s, "+
				"or bench:%s for none", t.Couplings[0].Name, nothingApplied)
		}
		i, err := t.FindElement(name)
		switch {
		case err != nil:
			return nil, err
		case !benchable(t, i):
			return nil, fmt.Errorf("%s is %s: it is not applied on the bench", name, kindText(t.Couplings[i].Kind))
		case slices.Contains(apply, i):
			return nil, fmt.Errorf("%s is given twice", name)
		}
		apply = append(apply, i)
	}
	slices.Sort(apply)
	return apply, nil
}

// benchable says whether an element can be applied on the bench: not the pawl,
// and a one-way clutch only where ranges switch it in.
func benchable(t *kinematics.Train, i int) bool {
	c := &t.Couplings[i]
	return c.Kind != kinematics.Pawl && (c.Kind != kinematics.OneWay || c.Switched)
}

// ShopWords lists the words of a test in the workshop; [Turns] takes how far behind
// it. On the bench they are of different ways to turn the train, two for each.
func ShopWords(t *kinematics.Train, x *Test) []Word {
	switch x.Kind {
	case Rolling:
		return offWords
	case Fluid:
		return []Word{OK, Low, BurntFluid, Foamy, Milky}
	case Line:
		return []Word{OK, Low, NotFed, High}
	case PressureAt, CircuitTap:
		return []Word{Fed, Low, NotFed}
	case CodeRead:
		return []Word{Stored}
	case Air, Connector, Switching:
		return []Word{Good, Bad}
	case Bench:
		return []Word{Turns, Locks, HeldTurns, HeldLocks, BackTurns, BackLocks}
	}
	list := []Word{Good, Bad}
	for _, k := range t.FaultKinds(x.Coupling) {
		list = append(list, Word(k))
	}
	return list
}

// turnsForm is how far the output turns: a number or a fraction with its sign,
// with + behind it if it can be spun further; or free.
var turnsForm = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^([+-]?)(\d{1,9}(?:\.\d{0,9})?(?:/\d{1,9}(?:\.\d{0,9})?)?)(\+?)$`)
})

// free says that the output turns as it likes.
const free = "free"

func parseShopWord(t *kinematics.Train, o Observation, what, rest string) (Observation, error) {
	known := ShopWords(t, o.Shop)
	if !slices.Contains(known, o.Word) || rest != "" && o.Word != Turns {
		return o, noWord(strings.TrimSpace(what+" "+rest), known)
	}
	x := *o.Shop
	switch {
	case o.Shop.Kind == Line && o.When.Has(WhenLoad):
		x.When, o.Shop = WhenLoad, &x
		return o, nil
	case o.Shop.Kind != Bench:
		return o, nil
	}
	x.Turning = turningOf[o.Word]
	o.Shop = &x
	if o.Word != Turns {
		return o, nil
	}
	o.Text = strings.ReplaceAll(rest, " ", "")
	if o.Text == free {
		return o, nil
	}
	m := turnsForm().FindStringSubmatch(o.Text)
	if _, by, two := strings.Cut(o.Text, "/"); m == nil || two && strings.Trim(by, "0.+") == "" {
		return o, fmt.Errorf("how far does the output turn for a turn of the input? Write turns 0.41, " +
			"turns -0.45 the other way, turns 0.41+ if it can be spun further, or turns free")
	}
	o.Further = m[3] == "+"
	if strings.Trim(m[2], "0./") == "" {
		return o, nil // it stands
	}
	_, ratio, err := parseRatio(m[2])
	if m[1] == "-" {
		ratio = ratio.Neg()
	}
	o.Ratio = ratio
	return o, err
}

// shop says how what was seen in the workshop fits what a suspect shows in that
// test. A test that says nothing about a suspect fits it.
func (g *road) shop(o *Observation, r Reply) Fit {
	if r.Key == "" {
		return Fully
	}
	switch o.Shop.Kind {
	case Rolling:
		return pushing(o.Word, r)
	case Fluid:
		return inFluid(o.Word, r)
	case Line:
		return inLine(o, r)
	case Bench:
		return g.turned(o, r)
	case Element:
		return hand(o.Word, r)
	case Connector:
		return yes(string(o.Word) == r.Key)
	case Air, Switching:
		return grade(string(o.Word) == r.Key, o.Word == Good) // a cracked drum, or welded plates, can pass
	}
	return tap(o.Word, r)
}

// tap fits what a gauge at the tap of an element shows.
func tap(w Word, r Reply) Fit {
	switch w {
	case Low:
		return grade(r.Key == string(Low) || r.leaks, r.Key == string(NotFed)) // the feed may leak
	}
	return yes(r.Key == string(w))
}

// hand fits what an element in hand shows.
func hand(w Word, r Reply) Fit {
	near := map[string]string{
		string(kinematics.OpenF): string(kinematics.Weak), string(kinematics.Weak): string(kinematics.OpenF),
		string(kinematics.Stuck): string(kinematics.Dragging), string(kinematics.Dragging): string(kinematics.Stuck),
	}
	switch w {
	case Good:
		return yes(r.Key == string(Good))
	case Bad:
		return yes(r.Key != string(Good))
	}
	return grade(string(w) == r.Key, near[string(w)] == r.Key)
}

// byHand is how many tolerances turns may be off that are counted by hand.
const byHand = 2

// turned fits what was seen of the train turned by hand.
func (g *road) turned(o *Observation, r Reply) Fit {
	switch o.Word {
	case HeldLocks, BackLocks, Locks:
		return yes(r.Key == string(Locks))
	case HeldTurns, BackTurns:
		return yes(r.Key == string(Turns))
	}
	switch {
	case r.Key == string(Locks):
		return Not
	case o.Text == free || r.Key == free:
		return grade(r.Key == o.Text, r.further || o.Further)
	case o.Ratio.Sign() != r.ratio.Sign():
		return Not
	case r.ratio.Sign() == 0:
		return Fully
	case o.Further != r.further:
		return grade(false, g.near(o.Ratio.Abs(), r.ratio, byHand))
	}
	return grade(g.near(o.Ratio.Abs(), r.ratio, byHand), g.near(o.Ratio.Abs(), r.ratio, 2*byHand))
}

// ShopPlaces lists what can be tested in the workshop: the fluid and the line pressure of
// every range where pressure applies elements, every element in hand,
// those that pressure applies by air and at their taps in every range, and the
// train on the bench with nothing applied, with one element, and with those of
// each range.
func ShopPlaces(t *kinematics.Train) []Observation {
	var list []Observation
	add := func(x Test) { list = append(list, Observation{Range: -1, To: -1, Shop: &x}) }
	for r := range t.Ranges {
		add(Test{Kind: Rolling, Range: r, Coupling: -1})
	}
	if hydraulic(t) {
		add(Test{Kind: Fluid, Coupling: -1})
		for r := range t.Ranges {
			add(Test{Kind: Line, Range: r, Coupling: -1})
		}
	}
	for i := range t.Couplings {
		add(Test{Kind: Element, Coupling: i})
	}
	for i := range t.ElementCount {
		if fed(t, i) {
			add(Test{Kind: Air, Coupling: i})
		}
	}
	for i := range t.ElementCount {
		for r := range t.Ranges {
			if fed(t, i) {
				add(Test{Kind: PressureAt, Range: r, Coupling: i})
			}
		}
	}
	for _, x := range controlTests(t) {
		if x.Part != supplyPart {
			add(x)
		}
	}
	for _, apply := range benchSets(t, false) {
		add(Test{Kind: Bench, Coupling: -1, Apply: apply})
	}
	return list
}

// shopGlossary says how tests in the workshop are written, and what can be seen.
var shopGlossary = []glossRow{
	{Gloss{"off:N", "engine off, pressure gone, pushed: rolls, held, rolls-forward-only"}, nil, nil},
	{Gloss{"fluid", "its state: ok, low, burnt, foamy or milky"}, nil, hydraulic},
	{Gloss{"pressure:line@R", "in the line, idling: ok, low, none or high; at stall: low loaded"}, nil, hydraulic},
	{Gloss{"pressure:NAME@R", "at the tap of an element: fed, low or none"}, nil, hydraulic},
	{Gloss{"connector:S1", "command and resistance of a solenoid, or supply: good or bad"}, nil, hasControls},
	{Gloss{"switching:S1", "a solenoid switched by a scan tool: good (it clicks) or bad"}, nil, hasControls},
	{Gloss{"circuit:NAME@R", "at the tap of a circuit: fed, low or none"}, nil, hasControls},
	{Gloss{"code:P0753", "a trouble code that was read: stored"}, nil, hydraulic},
	{Gloss{"air:NAME", "air to an element, valve body off: good or bad"}, nil, hydraulic},
	{Gloss{"element:NAME", "in hand: good, bad, or its fault: stuck, open, reversed"}, nil, nil},
	{Gloss{"bench:NAME+NAME", "these applied (- for none), turned by hand clockwise:"}, nil, nil},
	{Gloss{"  locks", "does not turn"}, nil, nil},
	{Gloss{"  turns 0.41", "output turns for one of the input; -0.41 the other way"}, nil, nil},
	{Gloss{"  turns 0.41+", "... and can be spun further; turns free: as it likes"}, nil, nil},
	{Gloss{"  held-locks", "with the output held: locks; also held-turns"}, nil, nil},
	{Gloss{"  back-locks", "turned counter-clockwise: locks; also back-turns"}, nil, nil},
}

// ShopGlossary says how tests in the workshop are written, and what can be seen.
func ShopGlossary() []Gloss { return kinematics.Map(shopGlossary, glossRow.gloss) }

// Glossary says what the words mean with which a kind of test of a train can be answered.
func (k TestKind) Glossary(t *kinematics.Train) []Gloss {
	switch {
	case k == Rolling:
		return said(t, []glossRow{
			{Gloss: Gloss{"rolls, held", "can be pushed both ways, or neither way"}},
			{Gloss: Gloss{"rolls-forward-only", "can be pushed forward only; also rolls-backward-only"}},
		})
	case k.InShop():
		return ShopGlossaryOf(t)
	}
	return said(t, slices.DeleteFunc(slices.Clone(rangeGlossary), func(row glossRow) bool {
		return !slices.ContainsFunc(row.of, func(w Word) bool { return slices.Contains(answers[k], w) })
	}))
}
