package page

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// A Mode is what the page is used for.
type Mode string

// The modes.
const (
	Look   Mode = ""          // move the selector and watch the train
	Lesson Mode = "lesson"    // say what each range does, then see
	Test   Mode = "road-test" // fill in a road test
	Time   Mode = "time"      // play a shift
	Work   Mode = "work"      // the reasons in full, and the numbers
)

// Modes lists the modes, but for the work, which belongs to Look.
var Modes = []Mode{Look, Lesson, Test, Time}

// Views are what is shown large where not all pictures have room, "" for the usual.
var Views = []string{"", "section", "gears", "lever"}

// A Shade is how bright the page is.
type Shade string

// The shades.
const (
	AsSystem Shade = "" // as the system is set
	Light    Shade = "light"
	Dark     Shade = "dark"
)

// A State is all that the page shows, in words that an address can hold: the
// same state gives the same page.
type State struct {
	// The train: the name of one that comes with tieup, or a packed train file
	// with the name that it had.
	Train    string
	File     string
	FileName string

	Position string // of the selector, "" for the first that offers the range
	Range    string
	To       string   // a shift from Range to this one is played in time, "" for none
	Moment   float64  // of the shift, s after the command, to a thousandth
	Faults   []string // as [kinematics.ParseFault] reads them

	Mode    Mode
	Shade   Shade
	Pace    int // of the turning gears: input turns per minute
	Seed    int // of the order of faults in a lesson; 0 is the train's own
	Step    int // of the story, counted from 1; 0 for the state as it is
	View    string
	Present bool // large type for the last row

	// Said are the answers of a lesson, in the order of the ranges, and Reveal
	// says that the right ones are shown.
	Said   []Reply
	Reveal bool

	// What a road test showed, by place, and what else is known of the vehicle.
	// Assume is a packed sheet with what the diagnosis takes for granted, "" for
	// the usual, and All says that every suspect is shown.
	Saw                []Observed
	When               []string
	Vehicle, Complaint string
	Assume             string
	All                bool
	// Test is the place of a test in the workshop that the form asks about though
	// nothing was seen of it yet, "" for none.
	Test string

	// Turn is the turn by hand of the plan that is shown with the work, counted from 1; 0
	// for no plan. Air are the elements that air can be put to, nil for all that it can;
	// Without is what is not fitted, and NoHold says that the output cannot be held.
	Turn    int
	Air     []string
	Without string
	NoHold  bool
}

// Observed is what was seen in a place, a range or a shift: "forward, engine-braking".
type Observed struct {
	Place, Seen string
}

// Reply is what a learner said of a range.
type Reply struct {
	Range, Verdict string
}

// Paces of the turning gears.
const (
	LeastPace = 1
	UsualPace = 4
	GreatPace = 20
)

// Keys that begin so have the name of a range or of another place behind them.
const (
	saidPrefix = "say."
	sawPrefix  = "saw."
)

// typedKeys are the parts of what was seen that a form asks for in fields to type
// into: their keys, with the name of a place behind, and the words that stand
// before what was typed.
var typedKeys = []struct {
	prefix string
	word   analysis.Word
}{
	{"ratio.", analysis.SeenRatio}, {"coasts.", analysis.SeenCoasts}, {"turns.", analysis.SeenTurns},
}

// prefixes are all of them.
func prefixes() []string {
	list := []string{saidPrefix, sawPrefix}
	for _, typed := range typedKeys {
		list = append(list, typed.prefix)
	}
	return list
}

// MostFaults is the largest number of faults at once, MostSteps that of the steps
// of a story, MostSeed the largest seed of a lesson.
const (
	MostFaults = 8
	MostSteps  = 99
	MostSeed   = 9999

	mostSeconds = 3600 // of a shift
)

// keys are those of an address: of a state, and of the forms that change one.
var keys = []string{
	"train", "file", "name", "position", "range", "to", "fault", "mode", "shade", "pace", "reveal", "when", "vehicle",
	"complaint", "assume", "all",
	"test", "turn", "air", "without", "no-hold", "step", "seed", "view", "present", "at", "add", "share", "only", "drop",
	"switch", "suspects", "hide", "note", "moment",
}

// strange says which keys of an address mean nothing, and which is meant.
func strange(q url.Values) error {
	var errs []error
	for _, key := range slices.Sorted(maps.Keys(q)) {
		ofPlace := func(prefix string) bool { return strings.HasPrefix(key, prefix) }
		if slices.Contains(keys, key) || slices.ContainsFunc(prefixes(), ofPlace) {
			continue
		}
		hint := kinematics.DidYouMean(key, keys)
		switch key {
		case "stuck", "open":
			hint = fmt.Sprintf(": write fault=ELEMENT=%s", key)
		case "saw", "say":
			hint = fmt.Sprintf(": write %s.RANGE=...", key)
		}
		errs = append(errs, fmt.Errorf("there is no key %s in an address%s", kinematics.Quote(key), hint))
	}
	return errors.Join(errs...)
}

// texts are the fields of a state that are texts, by their keys in an address.
func (s *State) texts() map[string]*string {
	return map[string]*string{
		"train": &s.Train, "file": &s.File, "name": &s.FileName, "position": &s.Position, "range": &s.Range, "to": &s.To,
		"mode": (*string)(&s.Mode), "shade": (*string)(&s.Shade), "vehicle": &s.Vehicle, "complaint": &s.Complaint,
		"assume": &s.Assume, "test": &s.Test, "view": &s.View, "without": &s.Without,
	}
}

// lists are those that are lists, likewise.
func (s *State) lists() map[string]*[]string {
	return map[string]*[]string{"air": &s.Air, "fault": &s.Faults, "when": &s.When}
}

// flags are those that are so or not, likewise.
func (s *State) flags() map[string]*bool {
	return map[string]*bool{"no-hold": &s.NoHold, "present": &s.Present, "reveal": &s.Reveal, "all": &s.All}
}

// ParseState reads a state from the query of an address. Names are not looked
// up, as the train is not known here. A key that means nothing is wrong as a value
// would be.
func ParseState(q url.Values) (State, error) {
	q, unreadable := readable(q)
	errs := []error{unreadable, strange(q)}
	refuse := func(format string, args ...any) { errs = append(errs, fmt.Errorf(format, args...)) }
	s := State{Pace: UsualPace}
	for key, text := range s.texts() {
		*text = q.Get(key)
	}
	for key, list := range s.lists() {
		*list = q[key]
	}
	for key, flag := range s.flags() {
		*flag = q.Get(key) == "1"
	}
	s.When = slices.DeleteFunc(slices.Clone(s.When), func(w string) bool { return w == "" })
	if s.File == "" {
		s.FileName = ""
	} else {
		s.Train = ""
		s.FileName = ShortName(s.FileName)
	}
	if !slices.Contains(Modes, s.Mode) && s.Mode != Work {
		refuse("there is no mode %s: write %s, %s, %s or %s, or leave it out", kinematics.Quote(string(s.Mode)), Lesson,
			Test, Time, Work)
		s.Mode = Look
	}
	if !slices.Contains(Views, s.View) {
		refuse("there is no view %s: write %s, or leave it out", kinematics.Quote(s.View), kinematics.Or(Views[1:]))
		s.View = ""
	}
	number := func(key string, least, most int, into *int, says string, limits ...any) {
		text := q.Get(key)
		if text == "" {
			return
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < least || n > most {
			refuse(says+", not %s", append(limits, kinematics.Quote(text))...)
			return
		}
		*into = n
	}
	number("step", 1, MostSteps, &s.Step, "a step of the story is a number from 1")
	number("turn", 1, MostSteps, &s.Turn, "a turn by hand is a number from 1")
	number("seed", 0, MostSeed, &s.Seed, "a seed is a number from 0 to %d", MostSeed)
	if text := q.Get("moment"); text != "" {
		if x, err := strconv.ParseFloat(point(text), 64); err != nil || !(x >= 0 && x <= mostSeconds) {
			refuse("a moment of a shift is a time in seconds from 0, not %s", kinematics.Quote(text))
		} else {
			s.Moment = math.Round(x*1000) / 1000
		}
	}
	if s.Shade != AsSystem && s.Shade != Light && s.Shade != Dark {
		refuse("there is no shade %s: write %s or %s, or leave it out", kinematics.Quote(string(s.Shade)), Light, Dark)
		s.Shade = AsSystem
	}
	number("pace", LeastPace, GreatPace, &s.Pace,
		"the pace is %d to %d turns of the input per minute", LeastPace, GreatPace)
	if n := len(s.Faults); n > MostFaults {
		refuse("%d faults at once are too many: up to %d can be shown", n, MostFaults)
		s.Faults = nil
	}
	for key := range q {
		if r, ok := strings.CutPrefix(key, saidPrefix); ok {
			s.Said = append(s.Said, Reply{r, q.Get(key)})
		}
	}
	var much error
	s.Saw, much = sawIn(q)
	errs = append(errs, much)
	kinematics.Sort(s.Said, func(a, b Reply) int { return strings.Compare(a.Range, b.Range) })
	for what, text := range map[string]*string{"vehicle": &s.Vehicle, "complaint": &s.Complaint} {
		if letters := []rune(*text); len(letters) > mostText {
			refuse("the %s is longer than %d letters", what, mostText)
			*text = string(letters[:mostText])
		}
	}
	return s, errors.Join(errs...)
}

// mostText is the length, in letters, of a text that is kept with a road test.
const mostText = 1000

// Line makes a text one line that an address can hold. One that is too long is
// cut, and says so.
func Line(text string) string {
	text = strings.TrimSpace(spaced(text))
	if letters := []rune(text); len(letters) > mostText {
		text = string(letters[:mostText-len([]rune(cut))]) + cut
	}
	return text
}

const cut = " ... (shortened)"

// spaced writes line ends, tabs and other control characters as spaces.
func spaced(text string) string {
	return strings.Map(func(r rune) rune {
		if control(r) {
			return ' '
		}
		return r
	}, text)
}

// readable returns a query without what is not text. Texts that people write may
// have lines and tabs, which become spaces.
func readable(q url.Values) (url.Values, error) {
	clean := url.Values{}
	var errs []error
	for _, key := range slices.Sorted(maps.Keys(q)) {
		for _, v := range q[key] {
			if key == "vehicle" || key == "complaint" {
				v = spaced(v)
			}
			if !utf8.ValidString(key) || !utf8.ValidString(v) || strings.ContainsFunc(v, control) {
				errs = append(errs, fmt.Errorf("the address holds bytes that are not text, at %s", kinematics.Quote(key)))
				continue
			}
			clean[key] = append(clean[key], v)
		}
	}
	return clean, errors.Join(errs...)
}

// sawIn gathers what was seen, by place: what was ticked, and what was typed. A
// place of which the form says that it was not tested has none; one of which more
// is said than can be seen is refused.
func sawIn(q url.Values) ([]Observed, error) {
	seen := map[string][]string{}
	add := func(q url.Values) {
		for key, values := range q {
			if place, ok := strings.CutPrefix(key, sawPrefix); ok {
				for _, v := range values {
					seen[place] = append(seen[place], Words(v)...)
				}
			}
		}
	}
	add(q)
	for _, note := range q["note"] { // of a button, which sends one field only
		if more, err := url.ParseQuery(note); err == nil {
			add(more)
		}
	}
	for _, typed := range typedKeys {
		for key := range q {
			place, ok := strings.CutPrefix(key, typed.prefix)
			if v := strings.TrimSpace(q.Get(key)); ok && v != "" {
				seen[place] = append(seen[place], string(typed.word)+" "+point(v))
			}
		}
	}
	var list []Observed
	var errs []error
	for _, place := range slices.Sorted(maps.Keys(seen)) {
		switch words := seen[place]; {
		case len(words) == 0 || slices.Contains(words, NotTested):
		case len(words) > MostWords:
			errs = append(errs, fmt.Errorf("%s: %d things cannot all be seen in one place", kinematics.Quote(place),
				len(words)))
		case len(list) == MostPlaces:
			errs = append(errs, fmt.Errorf("more than %d places are more than a road test has", MostPlaces))
			return list, errors.Join(errs...)
		default:
			list = append(list, Observed{place, strings.Join(Once(words), ", ")})
		}
	}
	return list, errors.Join(errs...)
}

// MostWords is how much can be said of one place, and MostPlaces of how many
// places something can be said.
const (
	MostWords  = 60
	MostPlaces = 400
)

// NotTested is the word by which a form takes back all that was seen in a place.
const NotTested = "not-tested"

// numberForm is a number as it may be written.
var numberForm = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`[\d.,]+`)
})

// Words are the words of what was seen, which have commas between them. A comma
// between digits is part of a number.
func Words(seen string) []string {
	var list []string
	start := 0
	add := func(end int) {
		if w := strings.TrimSpace(seen[start:end]); w != "" {
			list = append(list, point(w))
		}
		start = end + 1
	}
	digit := func(i int) bool { return i >= 0 && i < len(seen) && seen[i] >= '0' && seen[i] <= '9' }
	for i := range len(seen) {
		if seen[i] == ',' && !(digit(i-1) && digit(i+1)) {
			add(i)
		}
	}
	add(len(seen))
	return list
}

// point writes a decimal comma as a point. A comma before three digits stays, for
// 1,800 may as well be 1800.
func point(word string) string {
	return numberForm().ReplaceAllStringFunc(word, func(s string) string {
		if _, after, _ := strings.Cut(s, ","); strings.ContainsAny(after, ",") || strings.Contains(s, ".") ||
			len(after) == 3 {
			return s
		}
		return strings.Replace(s, ",", ".", 1)
	})
}

// Once leaves out what was there before.
func Once(words []string) []string {
	var list []string
	for _, w := range words {
		if !slices.Contains(list, w) {
			list = append(list, w)
		}
	}
	return list
}

func control(r rune) bool { return r < ' ' || r == 0x7f }

// ShortName is the last part of a file's path, as messages name it.
func ShortName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	if r := []rune(name); len(r) > 60 {
		name = string(r[:60])
	}
	if name == "" {
		name = "train.yaml"
	}
	return name
}

// Values returns the state as the query of an address.
func (s State) Values() url.Values {
	q := url.Values{}
	set := func(key, value string) {
		if value != "" {
			q.Set(key, value)
		}
	}
	for key, text := range s.texts() {
		set(key, *text)
	}
	for key, list := range s.lists() {
		if len(*list) > 0 {
			q[key] = *list
		}
	}
	for key, flag := range s.flags() {
		if *flag {
			q.Set(key, "1")
		}
	}
	number := func(key string, n, usual int) {
		if n != usual {
			q.Set(key, strconv.Itoa(n))
		}
	}
	number("turn", s.Turn, 0)
	number("pace", s.Pace, UsualPace)
	number("step", s.Step, 0)
	number("seed", s.Seed, 0)
	if s.Moment != 0 {
		q.Set("moment", strconv.FormatFloat(s.Moment, 'f', -1, 64))
	}
	for _, said := range s.Said {
		set(saidPrefix+said.Range, said.Verdict)
	}
	for _, saw := range s.Saw {
		set(sawPrefix+saw.Place, saw.Seen)
	}
	return q
}

// Link returns the address of the state on its server.
func (s State) Link() string {
	q := s.Values().Encode()
	if q == "" {
		return "/"
	}
	return "/?" + q
}

// A Field is one name and value of a form.
type Field struct{ Name, Value string }

// Fields returns the state as fields of a form, without those of the given
// names: a name that ends in '.' stands for all that begin with it.
func (s State) Fields(without ...string) []Field {
	var list []Field
	q := s.Values()
	for key := range q {
		left := slices.ContainsFunc(without, func(w string) bool {
			return key == w || strings.HasSuffix(w, ".") && strings.HasPrefix(key, w)
		})
		if left {
			continue
		}
		for _, v := range q[key] {
			list = append(list, Field{key, v})
		}
	}
	kinematics.Sort(list, func(a, b Field) int { return strings.Compare(a.Name, b.Name) })
	return list
}

// ForAnotherTrain are the fields that are kept when another train is chosen: how
// the page looks and what it is used for. All others are about the train.
func (s State) ForAnotherTrain() []Field {
	return State{Mode: s.Mode, Shade: s.Shade, Pace: s.Pace, Present: s.Present}.Fields()
}

// SaidOf returns what the learner said of a range, "" for nothing.
func (s State) SaidOf(rng string) string {
	for _, said := range s.Said {
		if said.Range == rng {
			return said.Verdict
		}
	}
	return ""
}
