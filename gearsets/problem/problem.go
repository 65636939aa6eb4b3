// Package problem holds what is wrong with a file: each problem with its place, the
// line it is about, and what to write instead.
package problem

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Severity says whether a problem makes a file unusable.
type Severity uint8

// The severities.
const (
	Error   Severity = iota // the file is refused
	Warning                 // the file is usable, but something in it looks wrong
)

// String returns the word that is printed.
func (s Severity) String() string { return [...]string{"error", "warning"}[s] }

// A Place is a stretch of one line of a file.
type Place struct {
	Line   int // from 1
	Column int // from 1, counted in characters as an editor does
	Width  int // characters to underline, at least 1
}

// At is the place of so many characters at a line and column.
func At(line, column, width int) Place { return Place{line, column, width} }

// A Problem is one thing that is wrong with a file.
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

// Hidden says whether a character is no part of a text that people read: a control
// character, which could steer the terminal that shows it, or a mark that turns the
// direction of writing.
func Hidden(c rune) bool {
	return unicode.IsControl(c) && c != '\t' && c != '\n' || c == '\u2028' || c == '\u2029' || c == '\ufeff' ||
		unicode.Is(unicode.Bidi_Control, c)
}

// Plain is a text of others as it can be shown: what is hidden in it, and bytes that
// are not text, become the replacement character. All that comes from files, file
// names and arguments goes through it before it is printed.
func Plain(text string) string {
	if text = strings.ToValidUTF8(text, "\ufffd"); strings.IndexFunc(text, Hidden) < 0 {
		return text
	}
	return strings.Map(func(c rune) rune {
		if Hidden(c) {
			return utf8.RuneError
		}
		return c
	}, text)
}

// Error returns the problem as one line, "file:line:column: message"; the
// message of a warning begins with "warning: ".
func (p Problem) Error() string {
	file := strings.ReplaceAll(p.File, "\n", "\ufffd")
	return Plain(fmt.Sprintf("%s:%d:%d: %s", file, p.Line, p.Column, p.message()))
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
		b.WriteString("  hint: " + Plain(p.Hint) + "\n")
	}
	return b.String()
}

// Lines longer than this are cut on both sides of the place that is underlined.
const maxExcerpt = 110

// underline writes a line of the file and carets below the place. Tabs are kept
// in the line below, so that the carets stand right whatever a tab is wide.
func underline(b *strings.Builder, at Place, text, note string) {
	runes := []rune(Plain(text))
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

// A List is all that is wrong with one file, in the order of the file.
type List []Problem

// Shown is how many problems of one file are shown; of the others only the number is.
const Shown = 20

// more says how many problems are not shown, "" if all are.
func (ps List) more() string {
	n := len(ps) - Shown
	if n <= 0 {
		return ""
	}
	return "and " + grouped(n) + " more"
}

// grouped writes a number above 0 with commas between its thousands.
func grouped(n int) string {
	digits := strconv.Itoa(n)
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + "," + digits[i:]
	}
	return digits
}

// Error returns the problems, one line each, the first of them if there are many.
func (ps List) Error() string {
	var lines []string
	for _, p := range ps[:min(len(ps), Shown)] {
		lines = append(lines, p.Error())
	}
	if more := ps.more(); more != "" {
		lines = append(lines, more)
	}
	return strings.Join(lines, "\n")
}

// Excerpts returns the problems in the form of [Problem.Excerpt], the first of them
// if there are many.
func (ps List) Excerpts() string {
	var b strings.Builder
	for _, p := range ps[:min(len(ps), Shown)] {
		b.WriteString(p.Excerpt())
	}
	if more := ps.more(); more != "" {
		b.WriteString(more + "\n")
	}
	return b.String()
}

// Refuse says whether any of the problems is an error.
func (ps List) Refuse() bool {
	return slices.ContainsFunc(ps, func(p Problem) bool { return p.Severity == Error })
}

// Err returns the problems as an error if any of them is one, else nil.
func (ps List) Err() error {
	if ps.Refuse() {
		return ps
	}
	return nil
}

// Sort puts the problems in the order of the file.
func (ps List) Sort() {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// Refusal sums up why the file is refused: "mine.yaml is refused for this error".
func (ps List) Refusal() string {
	errs := 0
	for _, p := range ps {
		if p.Severity == Error {
			errs++
		}
	}
	if errs == 1 {
		return Plain(ps[0].File) + " is refused for this error"
	}
	return fmt.Sprintf("%s is refused for these %s errors", Plain(ps[0].File), grouped(errs))
}
