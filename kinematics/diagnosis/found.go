package diagnosis

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/bench"
)

// A FoundWord says what a part was found to be on opening: see [FoundGlossary].
type FoundWord string

// FoundGood is the word for a part that is as it should be.
const FoundGood FoundWord = "good"

// A foundRow is what a word says, to the trade and to whoever does not know it, of which
// kinds of coupling, of which faults the part then has itself, and whether it took heat.
type foundRow struct {
	word    FoundWord
	meaning string
	plainly string // "The part called x was found ..."
	of      []kinematics.CouplingKind
	faults  []kinematics.FaultKind
	heat    bool
}

var foundMeaning = []foundRow{
	{"burnt", "lining burnt, or a race blue", "burnt",
		hot, []kinematics.FaultKind{kinematics.Weak, kinematics.Dragging}, true},
	{"glazed", "lining glazed", "with its lining glazed, so that it no longer grips",
		lined, []kinematics.FaultKind{kinematics.Weak, kinematics.Dragging}, true},
	{"worn", "lining, rollers or teeth worn", "worn", moving,
		[]kinematics.FaultKind{kinematics.Weak, kinematics.OpenF, kinematics.Slips, kinematics.Missing}, false},
	{"welded", "plates welded together", "welded together by heat, so that it holds all the time",
		lined, []kinematics.FaultKind{kinematics.Stuck}, true},
	{"seized", "turns neither way", "seized, so that it turns neither way",
		[]kinematics.CouplingKind{kinematics.OneWay}, []kinematics.FaultKind{kinematics.Seized}, false},
	{"stripped", "splines or teeth gone", "with its teeth stripped, so that it carries nothing",
		[]kinematics.CouplingKind{kinematics.Spline, kinematics.Dog},
		[]kinematics.FaultKind{kinematics.Sheared, kinematics.OpenF}, false},
	{"broken", "in pieces", "broken", anyPart,
		[]kinematics.FaultKind{kinematics.OpenF, kinematics.Slips, kinematics.Sheared, kinematics.Missing}, false},
	{"reversed", "fitted the wrong way round", "fitted the wrong way round",
		[]kinematics.CouplingKind{kinematics.OneWay}, []kinematics.FaultKind{kinematics.Backward}, false},
	{"leaks", "its air drops", "leaking, so that it is not pressed on",
		lined, []kinematics.FaultKind{kinematics.OpenF, kinematics.Weak}, false},
	{"clearance-large", "clearance above what service information gives",
		"with too much clearance, so that it does not grip",
		lined, []kinematics.FaultKind{kinematics.OpenF, kinematics.Weak}, false},
	{"clearance-small", "clearance below it", "with too little clearance, so that it does not let go",
		lined, []kinematics.FaultKind{kinematics.Stuck, kinematics.Dragging}, false},
	{FoundGood, "as it should be", "as it should be", anyPart, nil, false},
}

// Kinds of coupling that words are about.
var (
	lined   = []kinematics.CouplingKind{kinematics.Clutch, kinematics.Brake, kinematics.Band}
	moving  = append(slices.Clone(lined), kinematics.OneWay, kinematics.Dog, kinematics.Pawl)
	hot     = append(slices.Clone(lined), kinematics.OneWay)
	anyPart = append(slices.Clone(moving), kinematics.Spline)
)

// FoundGlossary says what the words for parts on opening mean.
func FoundGlossary() []Gloss {
	return kinematics.Map(foundMeaning, func(m foundRow) Gloss { return Gloss{string(m.word), m.meaning} })
}

// FoundWords lists the words for parts on opening.
func FoundWords() []string {
	return kinematics.Map(foundMeaning, func(m foundRow) string { return string(m.word) })
}

// A Found is what a part was found to be on opening.
type Found struct {
	Part      string // an element, a joint, or a member of one, by name
	Word      FoundWord
	Couplings []int // that the part is: all splines of a joint
}

// ParseFound reads what a part was found to be: "intermediate", "burnt".
func ParseFound(t *kinematics.Train, part, word string) (Found, error) {
	f := Found{Part: part, Word: FoundWord(word)}
	for _, j := range t.Joints {
		if j.Name == part {
			f.Couplings = slices.DeleteFunc(slices.Clone(j.Splines), func(s int) bool { return s < 0 })
		}
	}
	if f.Couplings == nil {
		i, err := t.FindCoupling(part)
		if err != nil {
			return f, err
		}
		f.Couplings = []int{i}
	}
	kind := t.Couplings[f.Couplings[0]].Kind
	var possible []string
	for _, m := range foundMeaning {
		if slices.Contains(m.of, kind) {
			possible = append(possible, string(m.word))
		}
	}
	if !slices.Contains(possible, word) {
		return f, fmt.Errorf("%s cannot be found %s%s; write %s", part, kinematics.Quote(word),
			kinematics.DidYouMean(word, possible), kinematics.Or(possible))
	}
	return f, nil
}

// Heated says whether the part took heat.
func (f *Found) Heated() bool { return f.meaning().heat }

// Plainly says what the part was found to be, for whoever does not know the trade.
func (f *Found) Plainly() string {
	return "The part called " + f.Part + " was found " + f.meaning().plainly + "."
}

// Itself says whether a fault is what was found of the part itself.
func (f *Found) Itself(x kinematics.Fault) bool {
	return slices.Contains(f.Couplings, x.Coupling) && slices.Contains(f.meaning().faults, x.Kind)
}

func (f *Found) meaning() foundRow {
	return foundMeaning[slices.IndexFunc(foundMeaning, func(m foundRow) bool { return m.word == f.Word })]
}

// Find adds what a part was found to be; a part is found once.
func (c *Case) Find(part, word string) error {
	f, err := ParseFound(c.Train, strings.TrimSpace(part), strings.TrimSpace(word))
	if err != nil {
		return err
	}
	if slices.ContainsFunc(c.Found, func(g Found) bool { return g.Part == f.Part }) {
		return fmt.Errorf("%s is given twice", part)
	}
	c.Found = append(c.Found, f)
	return nil
}

// A Proof is a turn by hand that was made when the unit was together again, as
// package bench names it, and what it showed.
type Proof struct{ Turn, Saw string }

// Show notes what a turn by hand showed, in place of what it showed before.
func (c *Case) Show(turn, saw string) error {
	was := c.Proved
	c.Proved = slices.DeleteFunc(slices.Clone(was), func(p Proof) bool { return p.Turn == turn })
	err := c.Prove(Proof{turn, saw})
	if err != nil {
		c.Proved = was
	}
	return err
}

// Prove adds what a turn by hand showed. Its name is one that package bench reads, and
// what it showed "ok", "locks", "turns", "free" or a number of turns.
func (c *Case) Prove(p Proof) error {
	x, err := bench.ParseTurn(c.Train, p.Turn)
	if err != nil {
		return err
	}
	p.Turn = x.Name(c.Train)
	if p.Saw, err = bench.ParseSight(p.Saw); err != nil {
		return err
	}
	i := slices.IndexFunc(c.Proved, func(q Proof) bool { return q.Turn == p.Turn })
	if i >= 0 {
		return fmt.Errorf("%s is given twice", p.Turn)
	}
	c.Proved = append(c.Proved, p)
	return nil
}
