package page

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"strings"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/reading"
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
	Choices []Choice

	// Of the modes one is set, unless there is a problem that leaves nothing to say.
	Answer *Answer
	Lesson *Round
	Bench  *RoadTest
}

// An Option is an entry of a list to choose from.
type Option struct {
	Value, Text string
	Chosen      bool
}

// A Tab leads to a mode.
type Tab struct {
	Name, Link string
	Here       bool
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

// A Place is a range that can be chosen in a position.
type Place struct {
	Range, Value string
	Chosen       bool
}

// A Fault is one of the faults in force.
type Fault struct {
	Text     string // as [kinematics.ParseFault] reads it
	Sentence string
}

// A Choice is a group of faults that can be added: those of one coupling.
type Choice struct {
	Name   string // "forward, clutch"
	Faults []Option
}

// An Answer is all that is said about a range under faults.
type Answer struct {
	Range         *kinematics.Range
	Applied       string // "forward, direct", or "nothing"
	Cell, Healthy reading.RangeReading
	Changes       []string
	Faulty        bool // the faults act in the range
	Why           *reading.Why
	Remark        string // that torque decides more than the reasons tell
	Cautions      []string

	Chart  table.Chart
	Shifts table.Shifts
	// NoShifts says why there is nothing to say of shifts, "" if there is.
	NoShifts string
	Solved   table.Solved // of the range alone
	Speeds   Drawing
	Path     Drawing
	Other    []Drawing
	EndOn    []EndOn
	InTime   *InTime  // nil where no shift can be played
	Command  []string // the same on the command line
}

// InTime is what can be played of the shifts from a range, and the one that is.
type InTime struct {
	Shifts  []Tab  // the shifts that can be played
	Refused string // why the chosen one cannot be, "" if it can or none is chosen
	Played  *table.Played
	Drawing Drawing
}

// A Drawing is a picture that the server draws.
type Drawing struct {
	Title      string
	Link, Dark string // of the SVG on light and dark paper
	PDF        string
	Refused    string // why it cannot be drawn, "" if it can
	Text       string // what it shows, for those who do not see it
}

// Verdict is the word for the kind of answer, for its colour and sign.
func (a *Answer) Verdict() string {
	if a.Cell.Lurch != "" {
		return "lurch"
	}
	return a.Cell.Outcome.Verdict.String()
}

// Turns says whether anything in the end-on views turns.
func (a *Answer) Turns() bool {
	for _, v := range a.EndOn {
		if v.Turns {
			return true
		}
	}
	return false
}

// Pulls says whether the end-on views show what is pulled which way.
func (a *Answer) Pulls() bool { return a.Why.Pulling() != nil }

// Broad says whether the speed plan needs the whole width: with more gearsets than
// two.
func (a *Answer) Broad() bool { return len(a.Why.Train.Gearsets) > 2 }

// Sections are the reasons in words.
func (a *Answer) Sections() []reading.Section { return a.Why.Sections() }

// Drives says whether the range drives.
func (a *Answer) Drives() bool { return a.Cell.Outcome.Drives() }

// templates are read when first needed: most commands draw no page.
var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"head":   func(h string) string { return strings.TrimSuffix(h, ">") },
		"right":  func(h string) bool { return strings.HasSuffix(h, ">") },
		"join":   func(words []string) string { return strings.Join(words, ", ") },
		"parts":  func(name string) []string { return strings.Split(name, ".") },
		"plus":   func(a, b int) int { return a + b },
		"number": func(x float64) string { return number(x) },
		"half":   func(x float64) string { return number(-x / 2) },
		"speed":  func(x float64) string { return fmt.Sprintf("%.9g", x) },
		"word":   func(place string, o Option, kind string) sheetWord { return sheetWord{place, o, kind} },
		"left":   newLeftOut,
		"cell":   func(c string) string { return strings.TrimPrefix(c, table.WriteHere) }, // paper is written on anywhere
	}).ParseFS(parts, "parts/*.html"))
})

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
	case v.Answer != nil:
		return v.Answer.Range.Name + ": " + v.Answer.Cell.Text() + " - " + v.Train.Name
	}
	return string(v.State.Mode) + ": " + v.Train.Name
}

// TrainTitle is the title of the train, or its name.
func (v *View) TrainTitle() string {
	if v.Train.Title != "" {
		return v.Train.Title
	}
	return v.Train.Name
}

// UploadLink is where a train file or a road-test sheet is sent to, with the
// state it leaves.
func (v *View) UploadLink() string { return "/file" + strings.TrimPrefix(v.State.Link(), "/") }

// ShowsSelector says whether the selector is among the controls: a lesson and a
// road test go through all ranges.
func (v *View) ShowsSelector() bool { return v.State.Mode == Look }

// ShowsFaults says whether the faults are among the controls: in a road test
// they are what is looked for.
func (v *View) ShowsFaults() bool { return v.State.Mode != Bench }

// Head is the heading with which the answer begins.
func (v *View) Head() string {
	switch {
	case v.Problem != "":
		return "problem-head"
	case v.Lesson != nil:
		return "lesson-head"
	case v.Bench != nil:
		return "sheet-head"
	}
	return "verdict"
}

// Practice is what must be said to whoever tries what a lesson asks.
func (v *View) Practice() []string {
	lines := reading.Cautions(v.Train.Use, append(reading.Practice(), reading.Jumps))
	return lines[:len(lines)-1] // the page says the standing line
}

// StandingLine says what tieup is not.
func (v *View) StandingLine() string { return reading.StandingLine }

// RatioNote says what a ratio is.
func (v *View) RatioNote() string { return table.RatioNote }

// EarlyLate says what is early and late in a shift.
func (v *View) EarlyLate() string { return table.EarlyLate }

// Write writes the page.
func Write(w io.Writer, v *View) error {
	var b bytes.Buffer
	if err := templates().ExecuteTemplate(&b, "page.html", v); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}
