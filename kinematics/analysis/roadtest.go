package analysis

import (
	"context"
	"reflect"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
)

// What a diagnosis is asked with.
type (
	// A Case is what is known of a vehicle.
	Case = diagnosis.Case
	// An Observation is one thing that was seen.
	Observation = diagnosis.Observation
	// A Word is what can be said of a range, a shift or a test.
	Word = diagnosis.Word
	// A WordGroup is words with what they are about.
	WordGroup = diagnosis.WordGroup
	// A Gloss says what a word means.
	Gloss = diagnosis.Gloss
	// A Circumstance is known of a complaint besides what the ranges do.
	Circumstance = diagnosis.Circumstance
	// Assumptions are what a diagnosis takes for granted.
	Assumptions = diagnosis.Assumptions
)

// Words that take something behind them, and those that forms and commands write
// themselves.
const (
	SeenAs     = diagnosis.As     // the name of a range
	SeenRatio  = diagnosis.Ratio  // a ratio
	SeenCoasts = diagnosis.Coasts // a ratio
	SeenTurns  = diagnosis.Turns  // how far the output turns
	SeenSlips  = diagnosis.Slips
	SeenStored = diagnosis.Stored // of a trouble code
	NotTested  = diagnosis.NotTested
)

// NewCase returns a case of which nothing is known yet.
func NewCase(t *kinematics.Train) *Case { return diagnosis.NewCase(t) }

// FoundWords lists the words for parts on opening.
func FoundWords() []string { return diagnosis.FoundWords() }

// A Vocabulary is the words of road tests, for forms, help and completion.
type Vocabulary struct {
	Ranges, Shifts, Shop, Found []Gloss
	// Usual and Rare are words of a range, UsualShifts of a shift, of which one is true;
	// Beside is what can be seen of a range besides.
	Usual, Rare, UsualShifts []Word
	Beside                   []WordGroup
	// Circumstances are in groups of which one can be.
	Circumstances [][]Circumstance
}

// Words returns the words of road tests.
func Words() Vocabulary {
	return Vocabulary{
		Ranges: diagnosis.Glossary(), Shifts: diagnosis.ShiftGlossary(), Shop: diagnosis.ShopGlossary(),
		Found: diagnosis.FoundGlossary(),
		Usual: diagnosis.UsualWords, Rare: diagnosis.RareWords, UsualShifts: diagnosis.UsualShiftWords,
		Beside: diagnosis.BesideWords, Circumstances: diagnosis.Alternatives(),
	}
}

// Circumstances lists all circumstances.
func Circumstances() []Circumstance { return diagnosis.Circumstances() }

// ParsePlace finds a place of a road test; the observation has nothing but that.
func ParsePlace(t *kinematics.Train, place string) (Observation, error) {
	return diagnosis.ParsePlace(t, place)
}

// ParseSeen reads what was seen in a place: words with commas between them.
func ParseSeen(t *kinematics.Train, at Observation, seen string) ([]Observation, error) {
	return diagnosis.ParseSeen(t, at, seen)
}

// ShopPlaces lists what can be tested in the workshop.
func ShopPlaces(t *kinematics.Train) []Observation { return diagnosis.ShopPlaces(t) }

// ShopChoices groups the words of a test in the workshop, one of each group to be
// chosen; turns says that it also asks how far the output turns ([SeenTurns]).
func ShopChoices(t *kinematics.Train, place Observation) (groups []WordGroup, turns bool) {
	return diagnosis.ShopChoices(t, place.Shop), place.Shop.Kind == diagnosis.Bench
}

// SeenWords lists what can be written behind a place, for completion.
func SeenWords(t *kinematics.Train, place string) []string { return diagnosis.SeenWords(t, place) }

// Usual says whether assumptions are those that hold unless a sheet says otherwise.
func Usual(x Assumptions) bool { return reflect.DeepEqual(x, diagnosis.Default()) }

// finder lends a finder for assumptions; give takes it back.
func (a *Analysis) finder(ctx context.Context, x Assumptions) (f *diagnosis.Finder, give func(), err error) {
	usual := Usual(x)
	if usual {
		f, _ = a.finders.last()
	}
	if f == nil {
		if f, err = diagnosis.New(ctx, a.system, x); err != nil {
			return nil, nil, err
		}
	}
	return f, func() {
		if usual {
			a.finders.put(f)
		}
	}, nil
}

// ShiftPairs lists the shifts within positions, up and down, as pairs of ranges.
func (a *Analysis) ShiftPairs() (list [][2]int) {
	w := a.workers.take()
	defer a.workers.put(w)
	for _, p := range w.shifts().Pairs() {
		if !p.Selector {
			list = append(list, [2]int{p.From, p.To})
		}
	}
	return list
}

// A RoadForm is a road-test sheet to fill in by hand.
type RoadForm struct {
	Train         *kinematics.Train
	Vehicle       string
	Complaint     string
	Circumstances []Known
	Ranges        []FormRange
	Shifts        []string
	Workshop      []string // what tests in the workshop showed: "air:direct: good"
	Glossary      []Gloss
	Cautions      []string
}

// A Known circumstance was or was not given.
type Known struct {
	Circumstance
	Known bool
}

// A FormRange is what a range should do, and what is known of it.
type FormRange struct {
	Range    string
	Apply    []string
	Reads    string
	Coasting string // "" unless it drives
	Parks    bool   // it applies the pawl
	Seen     []string
}

// RoadForm returns the sheet of a case to fill in by hand.
func (a *Analysis) RoadForm(c *Case) (*RoadForm, error) {
	if err := a.of(c); err != nil {
		return nil, err
	}
	t := a.Train
	form := &RoadForm{Train: t, Vehicle: c.Vehicle, Complaint: c.Complaint, Cautions: diagnosis.RoadCautions(t)}
	form.Circumstances = kinematics.Map(diagnosis.Circumstances(), func(x Circumstance) Known {
		return Known{x, slices.Contains(c.Circumstances, x)}
	})
	form.Glossary = append(diagnosis.GlossaryOf(t), diagnosis.ShopGlossaryOf(t)...)
	form.Shifts = kinematics.Map(a.ShiftPairs(), func(s [2]int) string {
		return t.Ranges[s[0]].Name + "-" + t.Ranges[s[1]].Name
	})
	onRoad := func(o Observation) bool { return o.Shop == nil }
	form.Workshop = (&Case{Train: t, Seen: slices.DeleteFunc(slices.Clone(c.Seen), onRoad)}).Places()
	w := a.workers.take()
	defer a.workers.put(w)
	for r := range t.Ranges {
		form.Ranges = append(form.Ranges, formRange(t, r, w.reader.Healthy(r), c))
	}
	return form, nil
}

func formRange(t *kinematics.Train, r int, healthy reading.RangeReading, c *Case) FormRange {
	x := FormRange{Range: t.Ranges[r].Name, Apply: t.CouplingNames(t.Ranges[r].Apply), Reads: healthy.Text()}
	x.Seen = c.SeenIn(&Observation{Range: r, To: -1})
	if healthy.Outcome.Drives() {
		x.Coasting = healthy.Reading.Coast
	}
	x.Parks = slices.ContainsFunc(t.Ranges[r].Apply, func(e int) bool { return t.Couplings[e].Kind == kinematics.Pawl })
	return x
}
