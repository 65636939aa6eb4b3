package page

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
	"tieup/plots/table"
)

// A RoadTest is the road-test sheet as a form, with what follows from it.
type RoadTest struct {
	Circumstances []Circumstance
	Ranges        []SheetPlace
	Shifts        []SheetPlace
	ShiftsSeen    bool
	Shop          []ShopPlace
	Tests         []TestGroup // that can be made in the workshop
	Next          []NextTest
	Diagnosed     table.Diagnosed
}

// So is who is suspected first, in a line.
func (r *RoadTest) So() string { return r.Diagnosed.First().Lead }

// Cautions are those of the tests, without the standing line.
func (r *RoadTest) Cautions() []string {
	list := slices.Clone(r.Diagnosed.Cautions)
	return slices.DeleteFunc(list, func(c string) bool { return c == reading.StandingLine })
}

// NextLead is the first test worth making, in one line; "" for none.
func (r *RoadTest) NextLead() string {
	if len(r.Next) == 0 {
		return ""
	}
	return r.Next[0].Lead
}

// A leftOut says how many suspects are left out, and how they are shown, which
// paper cannot.
type leftOut struct{ Many, How string }

func newLeftOut(line string) leftOut {
	many, how, _ := strings.Cut(line, ";")
	return leftOut{many, how}
}

// A ShopPlace is a test in the workshop with what it showed.
type ShopPlace struct {
	Name, Question string
	Seen           string
	Choices        []Alternatives
	AsksTurns      bool // how far the output turns
	Turns          Typed
}

// Typed is what a field to type into holds: what was seen, or what was refused.
type Typed struct {
	Value string
	Wrong bool
}

// refuse puts the refused words that belong to a field back into it.
func (f *Typed) refuse(what diagnosis.Word, words []string) {
	for _, w := range words {
		if typed, ok := strings.CutPrefix(w, string(what)+" "); ok {
			*f = Typed{typed, true}
		}
	}
}

// Refuse puts refused words back into the field in which they were typed.
func (p *ShopPlace) Refuse(words []string) { p.Turns.refuse(diagnosis.Turns, words) }

// A NextTest is a test worth making, with what it can show.
type NextTest struct {
	Lead   string
	Before string // what must stand before it
	Shows  []Shown
	Rest   string
}

// A Shown is what a test can show, with what a button sends to note it.
type Shown struct{ Text, Suspects, Note string }

// Alternatives are words of which one can be chosen, or none.
type Alternatives struct {
	Label   string
	Options []Option
}

// A TestGroup is tests of one kind to choose from.
type TestGroup struct {
	Label   string
	Options []Option
}

// NewShopPlace arranges what a test in the workshop showed.
func NewShopPlace(t *kinematics.Train, place diagnosis.Observation, seen []string) ShopPlace {
	p := ShopPlace{Name: place.Place(t), Question: place.Shop.Question(t), Seen: strings.Join(seen, ", ")}
	choose := func(label string, words ...diagnosis.Word) {
		c := Alternatives{Label: label, Options: []Option{{Text: diagnosis.NotTested}}}
		for _, w := range words {
			c.Options = append(c.Options, Option{Value: string(w), Text: string(w), Chosen: slices.Contains(seen, string(w))})
		}
		p.Choices = append(p.Choices, c)
	}
	if place.Shop.Kind != diagnosis.Bench {
		choose("It shows", diagnosis.ShopWords(t, place.Shop)...)
		return p
	}
	choose("Clockwise, the output free", diagnosis.Locks)
	choose("Clockwise, the output held", diagnosis.HeldTurns, diagnosis.HeldLocks)
	choose("Counter-clockwise", diagnosis.BackTurns, diagnosis.BackLocks)
	p.AsksTurns = true
	for _, w := range seen {
		if how, ok := strings.CutPrefix(w, string(diagnosis.Turns)+" "); ok {
			p.Turns.Value = how
		}
	}
	return p
}

// A Circumstance is a thing that is or is not known of the complaint: one of
// some alternatives.
type Circumstance struct {
	Label   string
	Options []Option
}

// A SheetPlace is a range or shift of the form. All its fields have the name of
// the place, so that their values are the words that were seen there.
type SheetPlace struct {
	Name, Applied string
	Seen          string   // all words; "" if it was not tested
	First         []Option // of which one is true, the usual ones
	Others        []Option // and the less usual ones
	Slips         *Option  // the engine runs away: what is seen most, beside the first
	Also          []AlsoSeen
	As            []Option // the range whose gear it seems to be in
	Ratio, Coasts Typed    // measured
	Rest          []string // words that no other field shows
	Open          bool     // something but the usual was seen
}

// NotTested is what the form sends to say that the place was not tested: nothing
// while nothing was seen, so that something can be ticked beside it.
func (p SheetPlace) NotTested() string {
	if p.Seen == "" {
		return ""
	}
	return NotTested
}

// AlsoSeen is a group of things that can be seen besides.
type AlsoSeen struct {
	Label string
	Words []Option
}

// The words of a range as the form arranges them.
var (
	usualWords = []diagnosis.Word{diagnosis.OK, diagnosis.Forward, diagnosis.Reverse, diagnosis.None, diagnosis.Bind}
	rareWords  = []diagnosis.Word{
		diagnosis.Revs, diagnosis.Loaded, diagnosis.Lurch, diagnosis.LurchForward, diagnosis.LurchBackward,
		diagnosis.Creeps, diagnosis.CreepsForward, diagnosis.CreepsBackward,
	}
	alsoWords = []struct {
		label string
		words []diagnosis.Word
	}{
		{"The engine", []diagnosis.Word{diagnosis.Slips, diagnosis.SlipsLight, diagnosis.SlipsFull, diagnosis.HoldsFull, diagnosis.StallHolds, diagnosis.StallRuns, diagnosis.StallLow}},
		{"Coasting", []diagnosis.Word{diagnosis.EngineBraking, diagnosis.NoEngineBraking, diagnosis.Locks}},
		{"Pushed", []diagnosis.Word{diagnosis.Rolls, diagnosis.RollsDrag, diagnosis.RollsForwardOnly, diagnosis.RollsBackOnly, diagnosis.Held}},
	}
	shiftWords = []diagnosis.Word{diagnosis.ShiftOK, diagnosis.ShiftBinds, diagnosis.Flare, diagnosis.Late, diagnosis.Harsh, diagnosis.Shudder, diagnosis.NoShift}
)

// NewSheetPlace arranges what was seen in a range. others are the ranges whose
// gear it can seem to be in.
func NewSheetPlace(name, applied string, seen []string, others []string) SheetPlace {
	p := SheetPlace{Name: name, Applied: applied, Seen: strings.Join(seen, ", ")}
	rest := slices.Clone(seen)
	// take says whether a word was seen that no field shows yet.
	take := func(w string) bool {
		i := slices.Index(rest, w)
		if i >= 0 {
			rest = slices.Delete(rest, i, i+1)
		}
		return i >= 0
	}
	one := false // a set of which one is true shows the first that was seen
	choose := func(words []diagnosis.Word) (list []Option) {
		for _, w := range words {
			chosen := !one && take(string(w))
			one = one || chosen
			list = append(list, Option{Value: string(w), Text: string(w), Chosen: chosen})
		}
		return list
	}
	p.First, p.Others = choose(usualWords), choose(rareWords)
	for _, g := range alsoWords {
		also := AlsoSeen{Label: g.label}
		for _, w := range g.words {
			o := Option{Value: string(w), Text: string(w), Chosen: take(string(w))}
			if w == diagnosis.Slips {
				p.Slips = &o
				continue
			}
			also.Words = append(also.Words, o)
		}
		p.Also = append(p.Also, also)
	}
	for _, r := range others {
		word := string(diagnosis.As) + " " + r
		p.As = append(p.As, Option{Value: word, Text: word, Chosen: take(word)})
	}
	for _, w := range slices.Clone(rest) {
		ratio, coasts := strings.CutPrefix(w, string(diagnosis.Coasts)+" ")
		switch first := strings.IndexAny(w, ".0123456789") == 0; {
		case coasts && p.Coasts.Value == "" && take(w):
			p.Coasts.Value = ratio
		case first && p.Ratio.Value == "" && take(w):
			p.Ratio.Value = w
		}
	}
	p.Rest = rest
	usual := 0
	if p.Slips.Chosen {
		usual++
	}
	for _, o := range p.First {
		if o.Chosen {
			usual++
		}
	}
	p.Open = len(seen) > usual
	return p
}

// Refuse puts refused words back into the fields in which they were typed.
func (p *SheetPlace) Refuse(words []string) {
	p.Ratio.refuse(diagnosis.Ratio, words)
	p.Coasts.refuse(diagnosis.Coasts, words)
	p.Open = p.Open || p.Ratio.Wrong || p.Coasts.Wrong
}

// NewSheetShift arranges what was seen in a shift.
func NewSheetShift(name string, seen []string) SheetPlace {
	p := SheetPlace{Name: name, Seen: strings.Join(seen, ", ")}
	for i, w := range seen {
		if i > 0 {
			p.Rest = append(p.Rest, w)
		}
	}
	for _, w := range shiftWords {
		p.First = append(p.First, Option{Value: string(w), Text: string(w), Chosen: len(seen) > 0 && seen[0] == string(w)})
	}
	return p
}

// Glossary says what the words mean.
func (*RoadTest) Glossary() []diagnosis.Gloss {
	return slices.Concat(diagnosis.Glossary(), diagnosis.ShopGlossary())
}

// NotTested is the word for what was not tested.
func (*RoadTest) NotTested() string { return diagnosis.NotTested }

// LookFor is the heading of the causes.
func (*RoadTest) LookFor() string { return table.LookFor }

// LessLikely is the heading of the suspects that something seen contradicts.
func (*RoadTest) LessLikely() string { return table.LessLikely }

// MatrixNote says how the table of suspects is read.
func (*RoadTest) MatrixNote() string { return table.MatrixNote }

// Assumed says what the diagnosis takes for granted.
func (r *RoadTest) Assumed() string { return r.Diagnosed.Answer.Case.Assume.Words() }

// A sheetWord is a word that can be ticked in a place of the form.
type sheetWord struct {
	Place string
	Word  Option
	Type  string // radio or checkbox
}
