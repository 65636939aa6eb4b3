package page

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
	"tieup/plots/table"
)

// A RoadTest is the road-test sheet as a form, with what follows from it.
type RoadTest struct {
	Circumstances []Alternatives // things that are or are not known of the complaint
	Ranges        []SheetPlace
	Shifts        []SheetPlace
	ShiftsSeen    bool
	Shop          []ShopPlace
	Tests         []Alternatives // that can be made in the workshop, by their kind
	Next          []NextTest
	Diagnosed     table.Diagnosed
}

// So is who is suspected first, in a line.
func (r *RoadTest) So() string { return r.Diagnosed.First().Lead }

// Cautions are those of the tests, without the standing line.
func (r *RoadTest) Cautions() []string {
	own, _ := reading.Apart(r.Diagnosed.Cautions)
	return own
}

// NextLead is the first test worth making, in one line; "" for none.
func (r *RoadTest) NextLead() string {
	if len(r.Next) == 0 {
		return ""
	}
	return r.Next[0].Lead
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
func (f *Typed) refuse(what analysis.Word, words []string) {
	for _, w := range words {
		if typed, ok := strings.CutPrefix(w, string(what)+" "); ok {
			*f = Typed{typed, true}
		}
	}
}

// Refuse puts refused words back into the field in which they were typed.
func (p *ShopPlace) Refuse(words []string) { p.Turns.refuse(analysis.SeenTurns, words) }

// A NextTest is a test worth making, with what it can show.
type NextTest struct {
	*analysis.NextTest
	Shows []Shown
}

// A Shown is what a test can show, with what a button sends to note it.
type Shown struct {
	analysis.TestExpectation
	Note string
}

// NewShopPlace arranges what a test in the workshop showed.
func NewShopPlace(t *kinematics.Train, place analysis.Observation, seen []string) ShopPlace {
	p := ShopPlace{Name: place.Place(t), Question: place.Shop.Question(t), Seen: strings.Join(seen, ", ")}
	var groups []analysis.WordGroup
	groups, p.AsksTurns = analysis.ShopChoices(t, place)
	for _, g := range groups {
		options := kinematics.Map(g.Words, func(w analysis.Word) Option {
			return option(w, slices.Contains(seen, string(w)))
		})
		p.Choices = append(p.Choices, Alternatives{g.Label, append([]Option{{Text: analysis.NotTested}}, options...)})
	}
	for _, w := range seen {
		if how, ok := strings.CutPrefix(w, string(analysis.SeenTurns)+" "); ok && p.AsksTurns {
			p.Turns.Value = how
		}
	}
	return p
}

// option is a word that can be ticked.
func option(w analysis.Word, chosen bool) Option { return Option{string(w), string(w), chosen} }

// A SheetPlace is a range or shift of the form. All its fields have the name of
// the place, so that their values are the words that were seen there.
type SheetPlace struct {
	Name, Applied string
	Seen          string         // all words; "" if it was not tested
	First         []Option       // of which one is true, the usual ones
	Others        []Option       // and the less usual ones
	Slips         *Option        // the engine runs away: what is seen most, beside the first
	Also          []Alternatives // what can be seen besides
	As            []Option       // the range whose gear it seems to be in
	Ratio, Coasts Typed          // measured
	Rest          []string       // words that no other field shows
	Words         Typed          // the same as they are typed, or what was refused
	Open          bool           // something but the usual was seen
}

// NotTested is what the form sends to say that the place was not tested: nothing
// while nothing was seen, so that something can be ticked beside it.
func (p SheetPlace) NotTested() string {
	if p.Seen == "" {
		return ""
	}
	return NotTested
}

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
	choose := func(words []analysis.Word) (list []Option) {
		for _, w := range words {
			chosen := !one && take(string(w))
			one = one || chosen
			list = append(list, option(w, chosen))
		}
		return list
	}
	words := analysis.Words()
	p.First, p.Others = choose(words.Usual), choose(words.Rare)
	for _, g := range words.Beside {
		also := Alternatives{Label: g.Label}
		for _, w := range g.Words {
			o := option(w, take(string(w)))
			if w == analysis.SeenSlips {
				p.Slips = &o
				continue
			}
			also.Options = append(also.Options, o)
		}
		p.Also = append(p.Also, also)
	}
	for _, r := range others {
		word := analysis.SeenAs + analysis.Word(" "+r)
		p.As = append(p.As, option(word, take(string(word))))
	}
	for _, w := range slices.Clone(rest) {
		ratio, coasts := strings.CutPrefix(w, string(analysis.SeenCoasts)+" ")
		switch first := strings.IndexAny(w, ".0123456789") == 0; {
		case coasts && p.Coasts.Value == "" && take(w):
			p.Coasts.Value = ratio
		case first && p.Ratio.Value == "" && take(w):
			p.Ratio.Value = w
		}
	}
	p.Rest, p.Words.Value = rest, strings.Join(rest, ", ")
	usual := slices.DeleteFunc(append(slices.Clone(p.First), *p.Slips), func(o Option) bool { return !o.Chosen })
	p.Open = len(seen) > len(usual)
	return p
}

// Refuse puts refused words back into the fields in which they were typed.
func (p *SheetPlace) Refuse(words []string) {
	p.Ratio.refuse(analysis.SeenRatio, words)
	p.Coasts.refuse(analysis.SeenCoasts, words)
	for _, w := range words {
		measured := strings.HasPrefix(w, string(analysis.SeenRatio)+" ") ||
			strings.HasPrefix(w, string(analysis.SeenCoasts)+" ")
		if !measured && !p.ticks(w) {
			p.Words = Typed{strings.Join(append(slices.Clip(p.Rest), w), ", "), true}
		}
	}
	p.Open = p.Open || p.Ratio.Wrong || p.Coasts.Wrong || p.Words.Wrong
}

// ticks says whether the form has a tick or a choice for a word.
func (p *SheetPlace) ticks(word string) bool {
	is := func(o Option) bool { return o.Value == word }
	return p.Slips != nil && is(*p.Slips) || slices.ContainsFunc(slices.Concat(p.First, p.Others, p.As), is) ||
		slices.ContainsFunc(p.Also, func(a Alternatives) bool { return slices.ContainsFunc(a.Options, is) })
}

// NewSheetShift arranges what was seen in a shift.
func NewSheetShift(name string, seen []string) SheetPlace {
	p := SheetPlace{Name: name, Seen: strings.Join(seen, ", ")}
	p.First = kinematics.Map(analysis.Words().UsualShifts, func(w analysis.Word) Option {
		return option(w, len(seen) > 0 && seen[0] == string(w))
	})
	p.Rest = slices.Clone(seen)
	if len(seen) > 0 && p.ticks(seen[0]) {
		p.Rest = p.Rest[1:]
	}
	p.Words.Value = strings.Join(p.Rest, ", ")
	return p
}

// Glossary says what the words mean.
func (*RoadTest) Glossary() []analysis.Gloss {
	words := analysis.Words()
	return append(words.Ranges, words.Shop...)
}

// A sheetWord is a word that can be ticked in a place of the form.
type sheetWord struct {
	Place string
	Word  Option
	Type  string // radio or checkbox
}
