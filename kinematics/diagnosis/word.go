package diagnosis

import (
	"errors"
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strings"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A Word is what can be said of a range, or of a shift, on a road test. The
// table in the package comment says how each fits what a range does.
type Word string

// The words of a range. Those that end in "-forward" and "-backward" say which way.
const (
	OK               Word = "ok"      // pulls in its own gear, or rests if it should, as when healthy
	Forward          Word = "forward" // drives forward, in whatever gear
	Reverse          Word = "reverse"
	None             Word = "none"   // does not drive
	Revs             Word = "revs"   // does not drive, and the engine revs up freely
	Loaded           Word = "loaded" // does not drive, and the engine is loaded as in a stall test
	Bind             Word = "bind"   // engine and vehicle work against each other: nothing turns
	Lurch            Word = "lurch"  // pushes against the pawl
	LurchForward     Word = "lurch-forward"
	LurchBackward    Word = "lurch-backward"
	Creeps           Word = "creeps" // drives weakly where it should rest
	CreepsForward    Word = "creeps-forward"
	CreepsBackward   Word = "creeps-backward"
	Slips            Word = "slips"       // the engine runs up beyond the gear, at whatever throttle
	SlipsLight       Word = "slips-light" // ... even at light throttle
	SlipsFull        Word = "slips-full"  // ... at full throttle, and holds at light
	HoldsFull        Word = "holds-full"  // drives at full throttle as at light
	StallHolds       Word = "stall-holds" // in a stall test the engine stays at its stall speed
	StallRuns        Word = "stall-runs"  // ... runs up beyond it
	StallLow         Word = "stall-low"   // ... does not reach it: engine or converter, no part of the train
	As               Word = "as"          // drives, and seems to be in the gear of another range
	Ratio            Word = "ratio"       // drives, at a measured ratio
	Engine           Word = "engine"      // ... measured from the engine speed, before the converter
	EngineBraking    Word = "engine-braking"
	NoEngineBraking  Word = "no-engine-braking"
	Coasts           Word = "coasts"          // the coasting vehicle turns the input, at a measured ratio
	Held             Word = "held"            // the vehicle cannot be pushed either way
	Rolls            Word = "rolls"           // it can be pushed both ways
	RollsDrag        Word = "rolls-with-drag" // ... both ways, but hard
	RollsForwardOnly Word = "rolls-forward-only"
	RollsBackOnly    Word = "rolls-backward-only"
	Locks            Word = "locks" // coasting, the wheels lock: the vehicle cannot roll on
	Note             Word = "note"  // anything else that was seen: kept, and not weighed
)

// The words of a shift; ok says that it neither binds nor flares.
const (
	ShiftOK         = OK
	ShiftBinds      = Bind
	Flare      Word = "flare"
	Late       Word = "late"     // comes late; from rest: the engagement
	Harsh      Word = "harsh"    // comes with a blow
	Shudder    Word = "shudder"  // comes jerkily: something slips and grips
	NoShift    Word = "no-shift" // does not come: the gear before stays in
)

// NotTested says that nothing was seen. It is the default, and nobody's fault.
const NotTested = "not tested"

// rangeWords lists the words of a range in the order of the table; as, ratio
// and coasts take something behind them.
var rangeWords = []Word{
	OK, Forward, Reverse, None, Revs, Loaded, Bind, Lurch, LurchForward, LurchBackward, Creeps, CreepsForward,
	CreepsBackward,
	Slips, SlipsLight, SlipsFull, HoldsFull, StallHolds, StallRuns, StallLow, As, Ratio, Engine, EngineBraking,
	NoEngineBraking, Coasts, Held, Rolls, RollsDrag, RollsForwardOnly, RollsBackOnly, Locks, Note,
}

var shiftWords = []Word{ShiftOK, ShiftBinds, Flare, Late, Harsh, Shudder, NoShift, Note}

// An Observation is one thing that was seen: of a range, of a shift, or of a test
// in the workshop.
type Observation struct {
	// Range is an index into Train.Ranges: of a shift, the range that it leaves; in the
	// workshop, and of a whole position, -1.
	Range    int
	To       int                  // of a shift, the range that it leads to; else -1
	Position *kinematics.Position // of several ranges, nobody knows which; else nil
	Word     Word
	Other    int        // of as: the range whose gear it seems to be in
	Ratio    exact.Frac // of ratio, slips and coasts, without a sign; of turns, output / input with its sign
	Further  bool       // of turns: the output can be spun further
	Text     string     // of ratio, coasts, turns, stall tests and notes: as it was written
	Shop     *Test      // of a test in the workshop, else nil
	When     Condition
	// Times of Tries says how often it was so; both 0 if always.
	Times, Tries int
}

// IsShift says whether the observation is of a shift.
func (o *Observation) IsShift() bool { return o.To >= 0 }

// SamePlace says whether two observations are of one place.
func (o *Observation) SamePlace(p *Observation) bool {
	if o.Shop == nil || p.Shop == nil {
		return o.Shop == p.Shop && o.Range == p.Range && o.To == p.To && o.Position == p.Position
	}
	return o.Shop.samePlace(p.Shop)
}

// Place names what was observed: "R", "D1-D2" for a shift, "air:direct" in the
// workshop.
func (o *Observation) Place(t *kinematics.Train) string {
	if o.Shop != nil {
		return o.Shop.place(t)
	}
	if o.Position != nil {
		return o.Position.Name
	}
	if o.IsShift() {
		return t.Ranges[o.Range].Name + "-" + t.Ranges[o.To].Name
	}
	return t.Ranges[o.Range].Name
}

// Value writes what was seen as [Parse] reads it: "bind", "as D1".
func (o *Observation) Value(t *kinematics.Train) string {
	text := o.plain(t) + o.When.String()
	if o.Tries > 0 {
		text += fmt.Sprintf(" %d of %d", o.Times, o.Tries)
	}
	return text
}

// plain is Value without the conditions, and how often it was so.
func (o *Observation) plain(t *kinematics.Train) string {
	switch {
	case o.Word == As:
		return "as " + t.Ranges[o.Other].Name
	case o.Word == Ratio:
		return o.Text
	case o.Text != "" && (o.Word == StallHolds || o.Word == StallRuns || o.Word == StallLow):
		return stallWord + " " + o.Text
	case o.Text != "":
		return string(o.Word) + " " + o.Text
	}
	return string(o.Word)
}

// Parse reads what was seen in one place, such as R and "bind", or D1 and
// "forward, no-engine-braking". A place is a range, a position, a shift: two ranges or
// positions with - between them, or a test in the workshop, such as air:direct. It
// returns nothing for "not tested".
func Parse(t *kinematics.Train, place, seen string) ([]Observation, error) {
	at, err := ParsePlace(t, place)
	if err != nil {
		return nil, err
	}
	return ParseSeen(t, at, seen)
}

// ParsePlace finds a place; the Observation has nothing but that.
func ParsePlace(t *kinematics.Train, place string) (Observation, error) {
	place = strings.TrimSpace(place)
	if _, ranged := t.Range(place); place == fluidPlace && !ranged {
		return parseFluid(t)
	}
	if kind, what, ok := strings.Cut(place, ":"); ok { // no name has a colon
		return parseShopPlace(t, kind, what)
	}
	if r, ok := t.Range(place); ok {
		return Observation{Range: r, To: -1}, nil
	}
	for i := range len(place) {
		if place[i] != '-' {
			continue
		}
		from, okFrom := rangeOrFirst(t, strings.TrimSpace(place[:i]))
		to, okTo := rangeOrFirst(t, strings.TrimSpace(place[i+1:]))
		switch {
		case !okFrom || !okTo:
		case from == to:
			return Observation{}, fmt.Errorf("%s is no shift: it leads to the range that it leaves", place)
		case !sameEnds(t, from, to):
			return Observation{}, fmt.Errorf("%s is no shift: the two ranges have different input or output shafts", place)
		default:
			return Observation{Range: from, To: to}, nil
		}
	}
	for i := range t.Positions {
		p := &t.Positions[i]
		switch {
		case p.Name != place || len(p.Ranges) == 0:
		case len(p.Ranges) == 1:
			return Observation{Range: p.Ranges[0], To: -1}, nil
		default:
			return Observation{Range: -1, To: -1, Position: p}, nil
		}
	}
	if from, to, _ := strings.Cut(place, "-"); to != "" {
		_, first := t.Range(from)
		_, second := t.Range(to)
		switch {
		case first:
			return Observation{}, fmt.Errorf("shift %s: %w", place, t.NoSuch("range", to, t.RangeNames()))
		case second:
			return Observation{}, fmt.Errorf("shift %s: %w", place, t.NoSuch("range", from, t.RangeNames()))
		}
	}
	return Observation{}, t.NoSuch("range", place, t.RangeNames())
}

// rangeOrFirst finds a range, or the first of a position: what is had as it is selected.
func rangeOrFirst(t *kinematics.Train, name string) (int, bool) {
	if r, ok := t.Range(name); ok {
		return r, true
	}
	for i := range t.Positions {
		if p := &t.Positions[i]; p.Name == name && len(p.Ranges) > 0 {
			return p.Ranges[0], true
		}
	}
	return 0, false
}

// ParseSeen reads what was seen in a place: words with commas between them.
func ParseSeen(t *kinematics.Train, at Observation, seen string) ([]Observation, error) {
	if w := strings.TrimSpace(seen); w == NotTested || w == "not-tested" {
		return nil, nil
	}
	var list []Observation
	for word := range strings.SplitSeq(seen, ",") {
		o, err := parseWord(t, at, strings.TrimSpace(word))
		if err != nil {
			return nil, err
		}
		for _, p := range list {
			if err := compatible(t, &p, &o); err != nil {
				return nil, err
			}
		}
		list = append(list, o)
	}
	return list, nil
}

// ratioForm is a number or a fraction of two measured speeds.
var ratioForm = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(\d{1,9}(\.\d{0,9})?|\.\d{1,9})(\s*/\s*(\d{1,9}(\.\d{0,9})?|\.\d{1,9}))?$`)
})

func parseWord(t *kinematics.Train, at Observation, word string) (Observation, error) {
	o := at
	if text, ok := strings.CutPrefix(word, string(Note)+" "); ok && o.Shop == nil {
		o.Word, o.Text = Note, strings.TrimSpace(text)
		return o, nil
	}
	word, err := cutConditions(&o, word)
	if err != nil {
		return o, err
	}
	if o.Shop == nil {
		if word, err = sameAs(t, &o, word); err != nil {
			return o, err
		}
	}
	what, rest, more := strings.Cut(word, " ")
	rest = strings.TrimSpace(rest)
	if name, ok := strings.CutPrefix(what, "as-"); ok && !more {
		what, rest = "as", name
	}
	o.Word = Word(what)
	switch {
	case word == "":
		return o, errors.New("what was seen? Write a word such as forward, none or bind, or: not tested")
	case o.Shop != nil:
		return parseShopWord(t, o, what, rest)
	case o.Word == Note:
		return o, errors.New("which note? Write it behind the word, such as: note whines when cold")
	case o.IsShift():
		if !slices.Contains(shiftWords, o.Word) || rest != "" {
			return o, noWord(word, shiftWords)
		}
		return o, nil
	case what == stallWord:
		return parseStall(o, rest)
	case o.Word == As:
		r, err := t.FindRange(rest)
		if rest == "" {
			err = fmt.Errorf("as which range? Write as and its name, such as: as %s", t.Ranges[0].Name)
		}
		o.Other = r
		return o, err
	case o.Word == Coasts, o.Word == Engine, (o.Word == Ratio || o.Word == Slips) && rest != "":
		o.Text, o.Ratio, err = parseRatio(rest)
		return o, err
	case ratioForm().MatchString(word):
		o.Word = Ratio
		o.Text, o.Ratio, err = parseRatio(word)
		return o, err
	case slices.Contains(lurches, o.Word) && rest == "" && !applies(t, o.Range, kinematics.Pawl):
		return o, noPawl(t, &o)
	case !slices.Contains(rangeWords, o.Word) || rest != "" || o.Word == Ratio:
		return o, noWord(word, rangeWords)
	}
	return o, nil
}

// parseRatio reads a ratio, or two speeds: 2.45 or 1800/735.
func parseRatio(text string) (string, exact.Frac, error) {
	if !ratioForm().MatchString(text) {
		return "", exact.Frac{}, fmt.Errorf("%s is no ratio: write it as 2.45, or as input speed / output speed: 1800/735",
			kinematics.Quote(text))
	}
	a, b, two := strings.Cut(strings.ReplaceAll(text, " ", ""), "/")
	x, _ := new(big.Rat).SetString(a)
	if two {
		y, _ := new(big.Rat).SetString(b)
		if y.Sign() == 0 {
			return "", exact.Frac{}, fmt.Errorf("%s: the output stands, so there is no ratio: write none, or bind", text)
		}
		x.Quo(x, y)
	}
	if x.Sign() == 0 {
		return "", exact.Frac{}, fmt.Errorf("%s: a ratio is above 0", text)
	}
	return text, exact.FromRat(x), nil
}

func noWord(word string, known []Word) error {
	names := kinematics.Map(known, func(w Word) string { return string(w) })
	if s := kinematics.DidYouMean(word, names); s != "" {
		return fmt.Errorf("no such observation %s%s", kinematics.Quote(word), s)
	}
	return fmt.Errorf("no such observation %s: write %s", kinematics.Quote(word), describeWords(known))
}

func describeWords(known []Word) string {
	var names []string
	for _, w := range known {
		switch w {
		case As:
			names = append(names, "as RANGE")
		case Ratio:
			names = append(names, "a ratio such as 2.45 or 1800/735")
		case Coasts, Engine:
			names = append(names, string(w)+" and a ratio")
		case Note:
			names = append(names, "note and what else was seen")
		case StallHolds:
			names = append(names, "stall and an engine speed with its limits, such as stall 2750 of 2100-2400", string(w))
		case Turns:
			names = append(names, "turns and how far")
		default:
			names = append(names, string(w))
		}
	}
	return strings.Join(names, ", ")
}

// compatible refuses two observations of one place that cannot both be.
func compatible(t *kinematics.Train, a, b *Observation) error {
	x, y := a.Value(t), b.Value(t)
	switch {
	case x == y:
		return fmt.Errorf("%s is given twice", x)
	case a.Word == Note, b.Word == Note, a.When != b.When, a.sometimes() || b.sometimes(), a.Position != nil:
		return nil // each can be, at its time
	}
	if a.Shop != nil {
		if a.Shop.Turning == b.Shop.Turning {
			return fmt.Errorf("%s and %s cannot both be", x, y)
		}
		return nil
	}
	if a.IsShift() {
		for _, p := range [][2]*Observation{{a, b}, {b, a}} {
			if p[0].Word == OK || p[0].Word == NoShift {
				return fmt.Errorf("%s and %s cannot both be", x, y)
			}
		}
		return nil
	}
	if err := drivesOr(t, a, b); err != nil {
		return err
	}
	for _, p := range [][2]*Observation{{a, b}, {b, a}} {
		if slices.Contains(excludes()[p[0].Word], p[1].Word) {
			return fmt.Errorf("%s and %s cannot both be seen in one range", x, y)
		}
	}
	return nil
}

// Compatible refuses an observation that cannot be beside others of its place.
func Compatible(t *kinematics.Train, others []Observation, o Observation) error {
	for i := range others {
		if others[i].SamePlace(&o) {
			if err := compatible(t, &others[i], &o); err != nil {
				return err
			}
		}
	}
	return nil
}

// excludes lists for a word those that cannot stand beside it.
var excludes = sync.OnceValue(func() map[Word][]Word {
	drives := []Word{Forward, Reverse, As, Ratio, Slips, SlipsLight, SlipsFull, HoldsFull}
	rests := []Word{None, Revs, Loaded, Bind, Lurch, LurchForward, LurchBackward, Creeps, CreepsForward, CreepsBackward}
	m := map[Word][]Word{
		Forward: {Reverse}, EngineBraking: {NoEngineBraking, Locks}, NoEngineBraking: {Coasts, Locks}, Coasts: {Locks},
		RollsDrag: {Rolls, Held, RollsForwardOnly, RollsBackOnly},
		StallLow:  {StallHolds, StallRuns}, Revs: {Loaded, Bind}, None: {Bind}, Loaded: {Bind}, Slips: {OK, HoldsFull},
		SlipsLight: {OK, SlipsFull, HoldsFull}, SlipsFull: {OK, HoldsFull},
		StallHolds: {StallRuns}, Held: {Rolls, RollsForwardOnly, RollsBackOnly}, Rolls: {RollsForwardOnly, RollsBackOnly},
		RollsForwardOnly: {RollsBackOnly}, Locks: {Rolls},
		LurchForward: {LurchBackward}, CreepsForward: {CreepsBackward}, Ratio: {Ratio}, As: {As},
	}
	for _, w := range drives {
		if w != Slips && w != SlipsLight {
			m[w] = append(m[w], rests...)
		}
	}
	for _, w := range rests {
		if w != None && w != Revs { // a range that should rest does so when it is ok
			m[OK] = append(m[OK], w)
		}
	}
	return m
})

// A Gloss says what a word means.
type Gloss struct{ Word, Meaning string }

// A glossRow is a row of a glossary, the words that it is of, and what a train must have for it
// to be seen, nil for nothing.
type glossRow struct {
	Gloss
	of    []Word
	needs func(*kinematics.Train) bool
}

// rangeGlossary says what the words of a range mean, in the order of the table.
var rangeGlossary = []glossRow{
	{Gloss{NotTested, "nothing was seen: the default"}, nil, nil},
	{Gloss{"ok", "pulls in its own gear, or rests if it should"}, []Word{OK}, nil},
	{Gloss{"forward, reverse", "drives that way, in whatever gear"}, []Word{Forward, Reverse}, nil},
	{Gloss{"none", "does not drive"}, []Word{None}, nil},
	{Gloss{"revs, loaded", "does not drive; the engine runs up freely, or is loaded"}, []Word{Revs, Loaded}, nil},
	{Gloss{"bind", "engine and vehicle work against each other"}, []Word{Bind}, nil},
	{Gloss{"lurch", "pushes against the pawl; also lurch-forward, -backward"}, []Word{Lurch}, hasPawl},
	{Gloss{"creeps", "pulls weakly, should rest; also -forward, -backward"}, []Word{Creeps}, nil},
	{Gloss{"slips, slips 2.0", "the engine runs up beyond the gear; to that ratio"}, []Word{Slips}, nil},
	{Gloss{"slips-light", "... even at light throttle"}, []Word{SlipsLight}, nil},
	{Gloss{"slips-full", "... at full throttle only"}, []Word{SlipsFull}, nil},
	{Gloss{"holds-full", "holds at full throttle"}, []Word{HoldsFull}, nil},
	{Gloss{"stall 2750 of 2400", "stall test: rpm, and the highest allowed; or of 2100-2400"}, nil, hydraulic},
	{Gloss{"stall-holds", "stays at stall speed; else: stall-runs, stall-low"}, []Word{StallHolds}, hydraulic},
	{Gloss{"as RANGE", "drives, and seems to be in the gear of that range"}, []Word{As}, nil},
	{Gloss{"2.45, 1800/735", "drives, at that ratio, or those speeds: input/output"}, []Word{Ratio}, nil},
	{Gloss{"engine 2600/735", "the same, of the engine before a converter"}, []Word{Engine}, hydraulic},
	{Gloss{"engine-braking", "coasting turns the engine; else: no-engine-braking"}, []Word{EngineBraking}, nil},
	{Gloss{"coasts 2.45", "coasting turns the engine, at that ratio"}, []Word{Coasts}, nil},
	{Gloss{"locks", "coasting, the wheels lock"}, []Word{Locks}, nil},
	{Gloss{"rolls, held", "engine idling, can be pushed both ways, or neither way"}, []Word{Rolls, Held}, nil},
	{Gloss{"rolls-with-drag", "can be pushed both ways, but hard"}, []Word{RollsDrag}, nil},
	{Gloss{"rolls-forward-only", "can be pushed forward only; also rolls-backward-only"}, []Word{RollsForwardOnly}, nil},
	{Gloss{"note ANYTHING", "kept, and not weighed"}, []Word{Note}, nil},
	{Gloss{"... hot, cold", "seen so, behind any word; also raced, on stands, loaded"}, nil, nil},
	{Gloss{"... 3 of 10", "so often in so many tries"}, nil, nil},
	{Gloss{"... pulling", "of a ratio: with the engine pulling"}, nil, nil},
}

// Glossary says what the words of a range mean, for whoever fills in a sheet.
func Glossary() []Gloss { return kinematics.Map(rangeGlossary, glossRow.gloss) }

func (row glossRow) gloss() Gloss { return row.Gloss }

// ShiftGlossary says what the words of a shift mean, or of selecting a range.
func ShiftGlossary() []Gloss {
	return []Gloss{
		{"ok", "neither binds nor flares"},
		{"bind, flare", "the engine is pulled down, or runs up"},
		{"late, harsh", "comes late, or with a blow; N-R: engages so"},
		{"shudder", "comes jerkily"},
		{"no-shift", "does not come: no upshift, the gear before stays in"},
	}
}

// Words lists the words that take nothing behind them, of a range or of a shift.
func Words(shift bool) []string {
	var list []string
	for _, w := range map[bool][]Word{false: rangeWords, true: shiftWords}[shift] {
		if w != As && w != Ratio && w != Coasts && w != Engine && w != Note {
			list = append(list, string(w))
		}
	}
	return list
}
