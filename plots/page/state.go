package page

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"tieup/kinematics"
)

// A Mode is what the page is used for.
type Mode string

// The modes.
const (
	Look   Mode = ""       // move the selector and watch the train
	Lesson Mode = "lesson" // say what each range does, then see
	Bench  Mode = "bench"  // fill in a road test
)

// Modes lists the modes.
var Modes = []Mode{Look, Lesson, Bench}

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
	Faults   []string // as [kinematics.ParseFault] reads them

	Mode  Mode
	Shade Shade
	Pace  int // of the turning gears: input turns per minute

	// Said are the answers of a lesson, in the order of the ranges, and Reveal
	// says that the right ones are shown.
	Said   []Said
	Reveal bool

	// What a road test showed, by place, and what else is known of the vehicle.
	// Assume is a packed sheet with what the diagnosis takes for granted, "" for
	// the usual, and All says that every suspect is shown.
	Saw                []Saw
	When               []string
	Vehicle, Complaint string
	Assume             string
	All                bool
	// Test is the place of a test in the workshop that the form asks about though
	// nothing was seen of it yet, "" for none.
	Test string
}

// Saw is what was seen in a place, a range or a shift: "forward, engine-braking".
type Saw struct {
	Place, Seen string
}

// Said is what a learner said of a range.
type Said struct {
	Range, Verdict string
}

// Paces of the turning gears.
const (
	LeastPace = 1
	UsualPace = 8
	GreatPace = 60
)

// Keys that begin so have the name of a range or of another place behind them.
// Coasts and turns are parts of what was seen that a form asks for by themselves.
const (
	saidPrefix   = "say."
	sawPrefix    = "saw."
	coastsPrefix = "coasts."
	turnsPrefix  = "turns."
)

// MostFaults is the largest number of faults at once.
const MostFaults = 8

// ParseState reads a state from the query of an address. Names are not looked
// up, as the train is not known here. Keys that mean nothing are left out.
func ParseState(q url.Values) (State, error) {
	s := State{
		Train: q.Get("train"), File: q.Get("file"), FileName: q.Get("name"),
		Position: q.Get("position"), Range: q.Get("range"), To: q.Get("to"), Faults: q["fault"],
		Mode: Mode(q.Get("mode")), Shade: Shade(q.Get("shade")), Pace: UsualPace,
		Reveal:  q.Get("reveal") == "1",
		When:    slices.DeleteFunc(slices.Clone(q["when"]), func(w string) bool { return w == "" }),
		Vehicle: q.Get("vehicle"), Complaint: q.Get("complaint"), Assume: q.Get("assume"), All: q.Get("all") == "1",
		Test: q.Get("test"),
	}
	var errs []error
	refuse := func(format string, args ...any) { errs = append(errs, fmt.Errorf(format, args...)) }
	for key, values := range q {
		for _, v := range values {
			if !utf8.ValidString(key) || !utf8.ValidString(v) || strings.ContainsFunc(v, control) {
				refuse("the address holds bytes that are no text, at %s", kinematics.Quote(key))
				return State{Pace: UsualPace}, errors.Join(errs...)
			}
		}
	}
	if s.File == "" {
		s.FileName = ""
	} else {
		s.Train = ""
		s.FileName = ShortName(s.FileName)
	}
	if !slices.Contains(Modes, s.Mode) {
		refuse("there is no mode %s: write %s or %s, or leave it out", kinematics.Quote(string(s.Mode)), Lesson, Bench)
		s.Mode = Look
	}
	if s.Shade != AsSystem && s.Shade != Light && s.Shade != Dark {
		refuse("there is no shade %s: write %s or %s, or leave it out", kinematics.Quote(string(s.Shade)), Light, Dark)
		s.Shade = AsSystem
	}
	if pace := q.Get("pace"); pace != "" {
		n, err := strconv.Atoi(pace)
		if err != nil || n < LeastPace || n > GreatPace {
			refuse("the pace is %d to %d turns of the input per minute, not %s", LeastPace, GreatPace, kinematics.Quote(pace))
		} else {
			s.Pace = n
		}
	}
	if n := len(s.Faults); n > MostFaults {
		refuse("%d faults at once are too many: up to %d can be shown", n, MostFaults)
		s.Faults = nil
	}
	seen := map[string]string{}
	for key, values := range q {
		if r, ok := strings.CutPrefix(key, saidPrefix); ok {
			s.Said = append(s.Said, Said{r, q.Get(key)})
		}
		if place, ok := strings.CutPrefix(key, sawPrefix); ok {
			for _, v := range values {
				seen[place] = join(seen[place], v)
			}
		}
	}
	for key := range q {
		if place, ok := strings.CutPrefix(key, coastsPrefix); ok && q.Get(key) != "" {
			seen[place] = join(seen[place], "coasts "+q.Get(key))
		}
		if place, ok := strings.CutPrefix(key, turnsPrefix); ok && q.Get(key) != "" {
			seen[place] = join(seen[place], "turns "+q.Get(key))
		}
	}
	for place, words := range seen {
		if words != "" {
			s.Saw = append(s.Saw, Saw{place, words})
		}
	}
	slices.SortFunc(s.Said, func(a, b Said) int { return strings.Compare(a.Range, b.Range) })
	slices.SortFunc(s.Saw, func(a, b Saw) int { return strings.Compare(a.Place, b.Place) })
	for what, text := range map[string]string{"vehicle": s.Vehicle, "complaint": s.Complaint} {
		if len(text) > mostText {
			refuse("the %s is longer than %d letters", what, mostText)
			s.Vehicle, s.Complaint = "", ""
		}
	}
	return s, errors.Join(errs...)
}

// mostText is the length of a text that is kept with a road test.
const mostText = 1000

// join puts words of one place together, each once.
func join(words, more string) string {
	for w := range strings.SplitSeq(more, ",") {
		w = strings.TrimSpace(w)
		switch {
		case w == "" || slices.Contains(strings.Split(words, ", "), w):
		case words == "":
			words = w
		default:
			words += ", " + w
		}
	}
	return words
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
	set("train", s.Train)
	set("file", s.File)
	set("name", s.FileName)
	set("position", s.Position)
	set("range", s.Range)
	set("to", s.To)
	set("mode", string(s.Mode))
	set("shade", string(s.Shade))
	set("vehicle", s.Vehicle)
	set("complaint", s.Complaint)
	set("assume", s.Assume)
	set("test", s.Test)
	if s.Pace != UsualPace {
		set("pace", strconv.Itoa(s.Pace))
	}
	if len(s.Faults) > 0 {
		q["fault"] = s.Faults
	}
	for _, said := range s.Said {
		set(saidPrefix+said.Range, said.Verdict)
	}
	for _, saw := range s.Saw {
		set(sawPrefix+saw.Place, saw.Seen)
	}
	if len(s.When) > 0 {
		q["when"] = s.When
	}
	if s.Reveal {
		q.Set("reveal", "1")
	}
	if s.All {
		q.Set("all", "1")
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
	slices.SortStableFunc(list, func(a, b Field) int { return strings.Compare(a.Name, b.Name) })
	return list
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
