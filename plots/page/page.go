package page

import (
	"bytes"
	"cmp"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
	"tieup/plots/stage"
	"tieup/plots/table"
)

//go:embed assets
var assets embed.FS

//go:embed parts
var parts embed.FS

// Assets returns the files that the page loads: its style, script and mark.
func Assets() fs.FS {
	sub, err := fs.Sub(assets, "assets")
	if err != nil {
		panic("page: " + err.Error())
	}
	return sub
}

// A View is what one state of the page shows.
type View struct {
	State State
	// Problem is what is wrong with the address or an uploaded file, "" if
	// nothing; Excerpts are the places in the file, as the command line prints
	// them, and Warnings those of a file that is usable.
	Problem  string
	Excerpts string
	Warnings string

	Trains  []Option
	Train   *kinematics.Train // nil if the train could not be read
	Tabs    []Tab
	Groups  []Group
	Faults  []Fault
	Choices []Alternatives // faults that can be added: those of one coupling, "forward, clutch"
	// Switches are those of the controls, none for a train whose file does not tell them.
	Switches []Switch

	// Of stage, road test and work one is set, unless there is a problem that leaves
	// nothing to say. A lesson is on the stage.
	Stage    *Stage
	Lesson   *Round
	RoadTest *RoadTest
	Answer   *Answer // the work
}

// An Option is an entry of a list to choose from.
type Option struct {
	Value, Text string
	Chosen      bool
}

// Alternatives are entries of a list under one label.
type Alternatives struct {
	Label   string
	Options []Option
}

// A Tab leads to a mode.
type Tab struct {
	ID, Name, Link string
	Here           bool
}

// A Group is a position of the selector with its ranges.
type Group struct {
	Position string // "" for a train without positions
	Ranges   []Place
}

// Named says whether the position has to be told beside its ranges: not where it
// has one range of the same name.
func (g Group) Named() bool {
	return g.Position != "" && (len(g.Ranges) != 1 || g.Ranges[0].Range != g.Position)
}

// Doubles says whether an earlier position has all its ranges.
func (g Group) Doubles() bool {
	return !slices.ContainsFunc(g.Ranges, func(p Place) bool { return !p.Again })
}

// A Place is a range that can be chosen in a position, marked with what it does.
type Place struct {
	Range, Value string
	Chosen       bool
	Again        bool   // an earlier position has it
	Danger       bool   // it can do harm
	Sign, Says   string // what it does, as a sign and in words; "" where that is not told
}

// A Fault is one of the faults in force.
type Fault struct {
	Text     string // as [kinematics.ParseFault] reads it
	Short    string // "forward is stuck on"
	Sentence string
}

// A Switch is a solenoid, a valve or the supply, with the faults that it can be put in.
type Switch struct {
	Name    string
	Presses []Press
}

// A Press is a fault that a switch puts in force, or takes away where it is On.
type Press struct {
	Value, Kind, Says string
	On                bool
}

// Short is the kind in words: "stuck on".
func (p Press) Short() string { return strings.ReplaceAll(p.Kind, "-", " ") }

// A Stage is the stage in one state: the words of the band and the notes, and the
// scene for the pictures.
type Stage struct {
	Range, Verdict string
	Danger         bool
	Head, Why      string   // of the frame that is shown
	Own            string   // the headline of the state as it is
	Words          []string // of a shift in time, in place of Why
	Aside          []string // the cautions, or what is said in their place
	Brief          string   // of the cautions, when presenting
	Notes          []reading.Note
	HasLines       bool
	Section, Lever string // addresses of drawings, for browsers without script; "" while a lesson asks
	Figure         *stage.Figure
	Scene          *stage.Scene
	InTime         *InTime // in the mode Time
}

const longestName = " longest"

// rangeSize is the class for the name of a range: longer ones are smaller.
func rangeSize(name string) string {
	switch n := utf8.RuneCountInString(name); {
	case n > 4:
		return longestName
	case n > 2:
		return " long"
	}
	return ""
}

// Size is how large the headline can be: 0, or 1 and 2 for longer ones, sooner beside the
// long name of a range. Those of a shift have one size.
func (s *Stage) Size() int {
	n := utf8.RuneCountInString(s.Head)
	for _, p := range s.Phases() {
		n = max(n, utf8.RuneCountInString(p.Says))
	}
	if rangeSize(s.Range) == longestName {
		n += 8
	}
	switch {
	case n > 40:
		return 2
	case n > 30:
		return 1
	}
	return 0
}

// WhySize is the class for a reason: longer ones are smaller; the words of a shift are shown
// as far as they have room whole.
func (s *Stage) WhySize() string {
	switch n := utf8.RuneCountInString(s.Why); {
	case len(s.Words) > 3:
		return " words more"
	case len(s.Words) > 2:
		return " words some"
	case s.Words != nil:
		return " words"
	case n > 240:
		return " most"
	case n > 150:
		return " much"
	}
	return ""
}

// Phases are those of a shift in time.
func (s *Stage) Phases() []stage.Phase {
	if s.Scene.Course == nil {
		return nil
	}
	return s.Scene.Course.Phases
}

// CautionSize is 1 for cautions that need small type.
func (s *Stage) CautionSize() int {
	n := 0
	for _, c := range s.Aside {
		n += utf8.RuneCountInString(c)
	}
	if n > 170 {
		return 1
	}
	return 0
}

// An Answer is the work behind a range: the reasons in full, the numbers, all ranges.
type Answer struct {
	Range         *kinematics.Range
	Cell, Healthy reading.RangeReading
	Changes       []string
	Why           *reading.Why
	Remark        string   // that torque decides more than the reasons tell
	Cautions      []string // without the standing line

	Chart  table.Chart
	Shifts table.Shifts
	// NoShifts says why there is nothing to say of shifts, "" if there is.
	NoShifts string
	Solved   table.Solved // of the range alone
	Plan     *Plan
	Other    []Drawing
	Command  []string // the same on the command line
}

// A Plan is the turns by hand that prove the assembly, one of them beside the half-section.
type Plan struct {
	Open    string            // the address with the plan, where it is not shown
	Close   string            // the address without it, where it is
	Planned *analysis.Planned // nil where it is not shown
	Refused string            // why there is none, "" if there is one
	Turns   []Tab             // one for each turn
	Turn    *analysis.PlannedTurn
	Air     []Option // elements that air can be put to
	Without []Option // what may not be fitted
	Picture Drawing  // the half-section, with what the turn applies framed
}

// Box is the box of a turn, as on the command line.
func (p *Plan) Box() string { return table.Box(p.Turn.Saw, p.Turn.Agrees) }

// InTime is what can be played of the shifts from a range, and the one that is.
type InTime struct {
	Shifts  []Tab  // the shifts that can be played
	Refused string // why the chosen one cannot be, "" if it can or none is chosen
	Played  *analysis.Played
	Drawing Drawing
}

// A Drawing is a picture that the server draws.
type Drawing struct {
	Title   string
	Link    string // of the SVG
	PDF     string
	Refused string // why it cannot be drawn, "" if it can
}

// Verdict is the word for the kind of answer, for its sign.
func (a *Answer) Verdict() string { return VerdictOf(a.Cell) }

// VerdictOf is the word for the kind of answer of a cell, for its sign.
func VerdictOf(c reading.RangeReading) string {
	if c.Lurch != "" {
		return "lurch"
	}
	return c.Outcome.Verdict.String()
}

// Sections are the reasons in words.
func (a *Answer) Sections() []reading.Section { return a.Why.Sections() }

// templates are read when first needed: most commands draw no page.
var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"head":  func(h string) string { return strings.TrimSuffix(h, ">") },
		"right": func(h string) bool { return strings.HasSuffix(h, ">") },
		"join":  func(words []string) string { return strings.Join(words, ", ") },
		"minus": stage.TrueMinus,
		"plus":  func(a, b int) int { return a + b },
		"word": func(place string, o any, kind string) sheetWord {
			if p, ok := o.(*Option); ok {
				return sheetWord{place, *p, kind}
			}
			return sheetWord{place, o.(Option), kind}
		},
		"rangeSize":  rangeSize,
		"standing":   says(reading.StandingLine),
		"viewed":     says(reading.Viewed),
		"ratioNote":  says(table.RatioNote),
		"slipNote":   says(reading.SlipNote),
		"earlyLate":  says(analysis.EarlyLate),
		"lookFor":    says(table.LookFor),
		"lessLikely": says(table.LessLikely),
		"matrixNote": says(analysis.NotTestedMark),
		"cell":       func(c string) string { return strings.TrimPrefix(c, table.WriteHere) }, // paper is written on
	}).ParseFS(parts, "parts/*.html"))
})

// says is what always says the same.
func says(text string) func() string { return func() string { return text } }

// write writes a template, or nothing where it cannot be.
func write(w io.Writer, name string, view any) error {
	var b bytes.Buffer
	if err := templates().ExecuteTemplate(&b, name, view); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

// excerpted is an error that can show the places it is about.
type excerpted interface {
	Refusal() string
	Excerpts() string
}

// Refuse puts what is wrong on top of the page.
func (v *View) Refuse(err error) {
	if err == nil {
		return
	}
	v.Problem = few(err.Error())
	var places excerpted
	if errors.As(err, &places) {
		v.Problem, v.Excerpts = places.Refusal(), places.Excerpts()
	}
}

// few shortens a list of problems, one a line.
func few(problems string) string {
	lines := strings.Split(problems, "\n")
	if more := len(lines) - mostProblems; more > 1 {
		lines = append(lines[:mostProblems], fmt.Sprintf("and %d more", more))
	}
	return strings.Join(lines, "\n")
}

const mostProblems = 8

// Title names the view.
func (v *View) Title() string {
	switch {
	case v.Problem != "" || v.Train == nil:
		return "tieup"
	case v.Lesson != nil:
		return "lesson: " + v.Train.Name
	case v.Stage != nil:
		return v.Stage.Range + ": " + v.Stage.Head + " - " + v.Train.Name
	case v.Answer != nil:
		return v.Answer.Range.Name + ": the work - " + v.Train.Name
	}
	return "road test: " + v.Train.Name
}

// TrainTitle is the title of the train, or its name.
func (v *View) TrainTitle() string { return cmp.Or(v.Train.Title, v.Train.Name) }

// UploadLink is where a train file or a road-test sheet is sent to, with the
// state it leaves.
func (v *View) UploadLink() string { return "/file" + strings.TrimPrefix(v.State.Link(), "/") }

// WorkLink leads to the work and back.
func (v *View) WorkLink() string {
	st := v.State
	if st.Mode == Work {
		st.Mode = Look
	} else {
		st.Mode = Work
	}
	return st.Link()
}

// Head is the heading with which the answer begins.
func (v *View) Head() string {
	switch {
	case v.Problem != "":
		return "problem-head"
	case v.RoadTest != nil:
		return "sheet-head"
	}
	return "verdict"
}

// Classes are those by which the style knows the mode and its tone.
func (v *View) Classes() string {
	words := []string{"page", "mode-" + string(v.mode())}
	if v.Stage != nil && v.Stage.Danger || v.Answer != nil && len(v.Answer.Cautions) > 0 {
		words = append(words, "danger")
	}
	if v.Problem != "" {
		words = append(words, "wrong")
	}
	if v.State.Present && v.Stage != nil {
		words = append(words, "present")
	}
	return strings.Join(words, " ")
}

func (v *View) mode() Mode {
	switch {
	case v.Problem != "":
		return "problem"
	case v.State.Mode == Look:
		return "look"
	}
	return v.State.Mode
}

// Shell names what holds the pictures, which stays from state to state; "" where there
// are none.
func (v *View) Shell() string {
	switch {
	case v.Stage == nil:
		return ""
	case v.Stage.InTime != nil:
		return "time"
	}
	return "stage"
}

// Large is the view of the stage: on that of a shift there is no half-section.
func (v *View) Large() string {
	if v.State.View == "section" && v.Stage != nil && v.Stage.InTime != nil {
		return ""
	}
	return v.State.View
}

// Data is what the script shows in pictures; nil where there are none.
type Data struct {
	Figure *stage.Figure `json:"figure"`
	Scene  *stage.Scene  `json:"scene"`
	Step   int           `json:"step"`
	Moment float64       `json:"moment"` // of a shift, s
	Pace   int           `json:"pace"`   // turns of the input per minute
}

// First is the data that the page comes with.
func (v *View) First() *Data {
	if v.Stage == nil {
		return nil
	}
	return &Data{v.Stage.Figure, v.Stage.Scene, v.State.Step, v.State.Moment, v.State.Pace}
}

// An Update is a state for a page that is there already: the parts of the page as
// HTML, and numbers for pictures that it has drawn.
type Update struct {
	Title   string            `json:"title"`
	Classes string            `json:"classes"`
	Shade   Shade             `json:"shade"`
	View    string            `json:"view"`
	Shell   string            `json:"shell"`
	Parts   map[string]string `json:"parts"`
	Data    *Data             `json:"data"`
}

// NewUpdate writes the parts of a view. The figure is left out if the page has one
// of that key.
func NewUpdate(v *View, key string) (*Update, error) {
	u := &Update{Title: v.Title(), Classes: v.Classes(), Shade: v.State.Shade, View: v.Large(), Shell: v.Shell(),
		Parts: map[string]string{}, Data: v.First()}
	if u.Data != nil && key == v.FigureKey() {
		u.Data.Figure = nil
	}
	for id, part := range map[string]string{"top": "top", "tabs": "tabs", "band": "band", "stage": "main", "ways": "ways",
		"console": "console", "drawer": "drawer"} {
		var b bytes.Buffer
		if err := templates().ExecuteTemplate(&b, part, v); err != nil {
			return nil, err
		}
		u.Parts[id] = string(bytes.TrimSpace(trueMinus(b.Bytes())))
	}
	// The trains to choose from are most of the top, the faults of the console: both seldom
	// change.
	u.Parts["top"] = strings.Replace(u.Parts["top"], u.Parts["tabs"], "", 1)
	u.Parts["console"] = strings.Replace(u.Parts["console"], u.Parts["drawer"], "", 1)
	return u, nil
}

// FigureKey names the train and its figure.
func (v *View) FigureKey() string { return v.Stage.Figure.Key }

// Write writes the page.
func Write(w io.Writer, v *View) error {
	var b bytes.Buffer
	if err := write(&b, "page.html", v); err != nil {
		return err
	}
	_, err := w.Write(trueMinus(b.Bytes()))
	return err
}
