// Package yamlfile reads files of keys and values, key by key, and reports all
// that is wrong with one at once, each problem at its place.
//
// It reads one YAML document with none of what these files do without: anchors,
// aliases, tags and merge keys are refused.
package yamlfile

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"tieup/gearsets/problem"
)

// A Format says how messages speak of a kind of file.
type Format struct {
	Noun   string // "train file"
	Begin  string // what to do about an empty file
	Second string // and about a second document in one file
}

// A Report collects the problems of one file.
type Report struct {
	File     string // as messages name it
	Format   *Format
	Problems problem.List
	lines    []string
	width    map[int]int // of a line, by its number, in characters
}

// New returns the report of a file that nothing is wrong with so far, and its
// text without a byte order mark.
func New(f *Format, file string, src []byte) (*Report, []byte) {
	src = bytes.TrimPrefix(src, []byte("\ufeff"))
	s := strings.ReplaceAll(string(src[:min(len(src), MaxSize)]), "\r\n", "\n")
	s = strings.ReplaceAll(s, "\r", "\n")
	return &Report{File: file, Format: f, lines: strings.Split(s, "\n"), width: map[int]int{}}, src
}

// line returns a line of the file, "" behind its end.
func (r *Report) line(n int) string {
	if n < 1 || n > len(r.lines) {
		return ""
	}
	return r.lines[n-1]
}

// chars is how many characters a line has.
func (r *Report) chars(n int) int {
	w, known := r.width[n]
	if !known {
		w = utf8.RuneCountInString(r.line(n))
		r.width[n] = w
	}
	return w
}

// Add records a problem and returns it, to set its second place.
func (r *Report) Add(s problem.Severity, at problem.Place, hint, message string) *problem.Problem {
	if at.Line < 1 {
		at = problem.At(1, 1, 1)
	}
	if last := len(r.lines); at.Line > last { // noticed at the end of the file
		at = problem.At(last, r.chars(last)+1, 1)
	}
	at.Width = max(1, at.Width)
	r.Problems = append(r.Problems, problem.Problem{
		Severity: s, File: r.File, Place: at, Message: message, Hint: hint, Text: r.line(at.Line),
	})
	return &r.Problems[len(r.Problems)-1]
}

// Errorf records an error.
func (r *Report) Errorf(at problem.Place, hint, format string, args ...any) *problem.Problem {
	return r.Add(problem.Error, at, hint, fmt.Sprintf(format, args...))
}

// See sets the second place of a problem.
func (r *Report) See(p *problem.Problem, at problem.Place, note string) {
	if at.Line < 1 || at == p.Place {
		return
	}
	p.Other, p.OtherNote, p.OtherText = at, note, r.line(at.Line)
}

// a is the kind of file with its article.
func (f *Format) a() string { return "a " + f.Noun }
