package gearsets

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// Severity says whether a problem makes a train file unusable.
type Severity uint8

// The severities.
const (
	Error   Severity = iota // the file is refused
	Warning                 // the train is usable, but something in it looks wrong
)

// String returns the word that is printed.
func (s Severity) String() string { return [...]string{"error", "warning"}[s] }

// A Place is a stretch of one line of a train file.
type Place struct {
	Line   int // from 1
	Column int // from 1, counted in characters as an editor does
	Width  int // characters to underline, at least 1
}

// A Problem is one thing that is wrong with a train file.
type Problem struct {
	Severity Severity
	File     string // as the file was named
	Place
	Message string // what is wrong
	Hint    string // what to write instead, or ""
	Text    string // the whole line at Place

	// Other is a second place that belongs to the problem, such as the first of
	// two equal keys; its Line is 0 if there is none. OtherText is its line and
	// OtherNote says what is there.
	Other     Place
	OtherNote string
	OtherText string
}

// Error returns the problem as one line, "file:line:column: message"; the
// message of a warning begins with "warning: ".
func (p Problem) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Column, p.message())
}

func (p Problem) message() string {
	if p.Severity == Warning {
		return "warning: " + p.Message
	}
	return p.Message
}

// Excerpt returns the problem with the lines it is about, what to underline in
// them, and the hint:
//
//	mine.yaml:7:40: warning: front: ring 62 does not close on sun 30 and pinion 18
//	    7 |   front: {kind: simple, sun: 30, ring: 62, pinion: 18}
//	      |                                        ^^
//	  hint: ring = sun + 2 pinion (66) for unmodified teeth; write "profile-shifted: true" if 62 is meant
//
// It ends in a newline.
func (p Problem) Excerpt() string {
	var b strings.Builder
	b.WriteString(p.Error() + "\n")
	if p.Other.Line > 0 && p.Other.Line < p.Line {
		underline(&b, p.Other, p.OtherText, " "+p.OtherNote)
	}
	underline(&b, p.Place, p.Text, "")
	if p.Other.Line > 0 && p.Other.Line >= p.Line {
		underline(&b, p.Other, p.OtherText, " "+p.OtherNote)
	}
	if p.Hint != "" {
		b.WriteString("  hint: " + p.Hint + "\n")
	}
	return b.String()
}

// Lines longer than this are cut on both sides of the place that is underlined.
const maxExcerpt = 110

// underline writes a line of the file and carets below the place. Tabs are kept
// in the line below, so that the carets stand right whatever a tab is wide.
func underline(b *strings.Builder, at Place, text, note string) {
	runes := []rune(text)
	from, to := at.Column-1, at.Column-1+max(1, at.Width)
	from = min(max(from, 0), len(runes))
	to = max(from+1, min(to, len(runes)))
	left, right := "", ""
	if len(runes) > maxExcerpt {
		start := min(max(0, from-maxExcerpt/2), len(runes)-maxExcerpt)
		end := start + maxExcerpt
		if start > 0 {
			left = "…"
		}
		if end < len(runes) {
			right = "…"
		}
		runes, from, to = runes[start:end], from-start, min(to, end)-start
	}
	pad := make([]rune, utf8.RuneCountInString(left)+from)
	for i := range pad {
		pad[i] = ' '
		if k := i - utf8.RuneCountInString(left); k >= 0 && runes[k] == '\t' {
			pad[i] = '\t'
		}
	}
	fmt.Fprintf(b, "%5d | %s%s%s\n", at.Line, left, string(runes), right)
	fmt.Fprintf(b, "      | %s%s%s\n", string(pad), strings.Repeat("^", to-from), note)
}

// Problems are all that is wrong with one train file, in the order of the file.
type Problems []Problem

// Error returns the problems, one line each.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Excerpts returns every problem in the form of [Problem.Excerpt].
func (ps Problems) Excerpts() string {
	var b strings.Builder
	for _, p := range ps {
		b.WriteString(p.Excerpt())
	}
	return b.String()
}

// Refuse says whether any of the problems is an error.
func (ps Problems) Refuse() bool {
	return slices.ContainsFunc(ps, func(p Problem) bool { return p.Severity == Error })
}

// Err returns the problems as an error if any of them is one, else nil.
func (ps Problems) Err() error {
	if ps.Refuse() {
		return ps
	}
	return nil
}

func (ps Problems) sort() {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// A report collects the problems of one file.
type report struct {
	file     string
	noun     string // what the file is, where it is no train file
	lines    []string
	problems Problems
}

func newReport(file string, src []byte) *report {
	s := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(string(src))
	return &report{file: file, lines: strings.Split(s, "\n")}
}

// text returns a line of the file, "" behind its end.
func (r *report) text(line int) string {
	if line < 1 || line > len(r.lines) {
		return ""
	}
	return r.lines[line-1]
}

// add records a problem and returns it, to set its second place.
func (r *report) add(s Severity, at Place, hint, message string) *Problem {
	if at.Line < 1 {
		at = Place{1, 1, 1}
	}
	if last := len(r.lines); at.Line > last { // noticed at the end of the file
		at = Place{last, utf8.RuneCountInString(r.lines[last-1]) + 1, 1}
	}
	at.Width = max(1, at.Width)
	if r.noun != "" {
		message, hint = strings.ReplaceAll(message, "train file", r.noun), strings.ReplaceAll(hint, "train file", r.noun)
	}
	r.problems = append(r.problems, Problem{
		Severity: s, File: r.file, Place: at, Message: message, Hint: hint, Text: r.text(at.Line),
	})
	return &r.problems[len(r.problems)-1]
}

// errorf records an error.
func (r *report) errorf(at Place, hint, format string, args ...any) *Problem {
	return r.add(Error, at, hint, fmt.Sprintf(format, args...))
}

// see sets the second place of a problem.
func (r *report) see(p *Problem, at Place, note string) {
	if at.Line < 1 || at == p.Place {
		return
	}
	p.Other, p.OtherNote, p.OtherText = at, note, r.text(at.Line)
}

// Refusal sums up why the file is refused: "mine.yaml is refused for this error".
func (ps Problems) Refusal() string {
	errs := 0
	for _, p := range ps {
		if p.Severity == Error {
			errs++
		}
	}
	if errs == 1 {
		return ps[0].File + " is refused for this error"
	}
	return fmt.Sprintf("%s is refused for these %d errors", ps[0].File, errs)
}
