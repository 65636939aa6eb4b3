package appchart

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"tieup/gearsets/problem"
	"tieup/kinematics"
	"tieup/kinematics/fit"
)

// Bounds of a chart.
const (
	MaxSize    = 1 << 20 // bytes
	maxRows    = 60
	maxColumns = 24
)

// A cell is one cell with its place.
type cell struct {
	problem.Place
	text string
}

// A reader reads one chart.
type reader struct {
	file     string
	lines    []string
	layouts  []string
	problems problem.List
	chart    *fit.Chart

	elements []int // index into the cells of a row of each element
	ratio    int   // that of the ratio
	header   bool
	seen     map[string]problem.Place // names of ranges, and words that stand once
	speeds   []speedRow
}

// A speedRow is a speed whose range may come further down.
type speedRow struct {
	rng    cell
	member string
	speed  fit.Printed
}

// Read reads a chart. The name of the file is used in messages only; layouts are the names
// that a chart may give as its layout. The chart is nil if any of the problems is an error.
func Read(file string, src []byte, layouts []string) (*fit.Chart, problem.List) {
	r := &reader{file: file, layouts: layouts, chart: &fit.Chart{}, seen: map[string]problem.Place{}}
	if text, ok := r.decode(src); ok {
		r.read(text)
	}
	r.problems.Sort()
	if r.problems.Refuse() {
		return nil, r.problems
	}
	return r.chart, r.problems
}

func (r *reader) errorf(at problem.Place, hint, format string, args ...any) {
	p := problem.Problem{File: r.file, Place: at, Message: fmt.Sprintf(format, args...), Hint: hint}
	if at.Line > 0 && at.Line <= len(r.lines) {
		p.Text = r.lines[at.Line-1]
	}
	r.problems = append(r.problems, p)
}

var top = problem.At(1, 1, 1)

// decode turns the bytes into text.
func (r *reader) decode(src []byte) (string, bool) {
	if len(src) > MaxSize {
		r.errorf(top, "a chart has a row for each range", "the file has more than %d bytes", MaxSize)
		return "", false
	}
	text := string(src)
	switch {
	case strings.HasPrefix(text, "\xff\xfe"), strings.HasPrefix(text, "\xfe\xff"):
		text = wide(src)
	case !utf8.ValidString(text):
		at := top
		for i, line := range strings.Split(text, "\n") {
			if !utf8.ValidString(line) {
				at = problem.At(i+1, 1, 1)
				break
			}
		}
		r.errorf(at, "save it as CSV UTF-8", "the text is not UTF-8")
		return "", false
	}
	text = strings.TrimPrefix(text, "\ufeff")
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	r.lines = strings.Split(text, "\n")
	for i, line := range r.lines {
		if at := strings.IndexByte(line, 0); at >= 0 {
			r.errorf(problem.At(i+1, utf8.RuneCountInString(line[:at])+1, 1), "save the table as CSV", "this is no text")
			return "", false
		}
	}
	return text, true
}

// wide decodes UTF-16, as spreadsheets write "Unicode text".
func wide(src []byte) string {
	var units []uint16
	high := 0
	if src[0] == 0xff {
		high = 1
	}
	for i := 2; i+1 < len(src); i += 2 {
		units = append(units, uint16(src[i+high])<<8|uint16(src[i+1-high]))
	}
	return string(utf16.Decode(units))
}

// separator is what stands between the cells: that of the first row with any.
func separator(text string) rune {
	for line := range strings.SplitSeq(text, "\n") {
		if strings.HasPrefix(strings.TrimSpace(line), "#") {
			continue
		}
		for _, sep := range []rune{';', '\t', ','} {
			if strings.ContainsRune(line, sep) {
				return sep
			}
		}
	}
	return ','
}

func (r *reader) read(text string) {
	rows := csv.NewReader(strings.NewReader(text))
	rows.Comma, rows.FieldsPerRecord, rows.TrimLeadingSpace = separator(text), -1, false
	for {
		record, err := rows.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			r.errorf(problem.At(bad.StartLine, 1, 1), "close it in the row where it begins, or leave it out",
				"a quotation mark stands alone")
			return
		}
		r.row(r.cells(rows, record))
		if r.header && r.ratio < 0 {
			return // the columns are not known: what follows would be judged wrongly
		}
	}
	r.finish()
}

// cells gives each cell its place.
func (r *reader) cells(rows *csv.Reader, record []string) []cell {
	list := make([]cell, len(record))
	for i, text := range record {
		line, column := rows.FieldPos(i)
		whole := r.lines[line-1]
		before := whole[:min(column-1, len(whole))]
		first, _, _ := strings.Cut(text, "\n")
		list[i] = cell{problem.At(line, utf8.RuneCountInString(before)+1, max(1, utf8.RuneCountInString(first))),
			strings.TrimSpace(text)}
		if lead := len(first) - len(strings.TrimLeft(first, " \t\u00a0")); lead > 0 && list[i].text != "" {
			list[i].Column += utf8.RuneCountInString(first[:lead])
			list[i].Width = max(1, utf8.RuneCountInString(strings.TrimSpace(first)))
		}
	}
	return list
}

func blank(cells []cell) bool {
	return !slices.ContainsFunc(cells, func(c cell) bool { return c.text != "" })
}

// row reads one row.
func (r *reader) row(cells []cell) {
	if blank(cells) || strings.HasPrefix(cells[0].text, "#") {
		return
	}
	if !r.header {
		r.headerRow(cells)
		return
	}
	word := strings.ToLower(strings.Join(strings.FieldsFunc(cells[0].text, func(c rune) bool {
		return c == ' ' ||
			c == '-' || c == ':' || c == '_'
	}), " "))
	if read, ok := words[word]; ok {
		r.once(word, cells)
		read(r, cells)
		return
	}
	r.rangeRow(cells)
}

// words begin rows that are no ranges.
var words = map[string]func(*reader, []cell){
	"kind": (*reader).kindRow, "kinds": (*reader).kindRow, "layout": (*reader).layoutRow,
	"final drive": (*reader).finalRow, "teeth": (*reader).teethRow, "speed": (*reader).speedRow,
	"ratio as": (*reader).senseRow, "rounding": (*reader).roundingRow, "name": (*reader).nameRow,
}

// once sees that a row stands once, where it must.
func (r *reader) once(word string, cells []cell) {
	if word == "teeth" || word == "speed" {
		return
	}
	if before, twice := r.seen["\x00"+word]; twice {
		r.errorf(cells[0].Place, "leave one of them out", "%s stands twice, first in line %d", word, before.Line)
	}
	r.seen["\x00"+word] = cells[0].Place
}

const headHint = "write the first row as: range; A; B; C; ratio, with a column for each element"

func (r *reader) headerRow(cells []cell) {
	r.header = true
	r.ratio = -1
	names := map[string]problem.Place{}
	for i, c := range cells {
		switch name := strings.ToLower(c.text); {
		case i == 0:
		case name == "ratio", name == "gear ratio", name == "ratios":
			if r.ratio >= 0 {
				r.errorf(c.Place, "leave one of them out", "there are two columns of ratios")
			}
			r.ratio = i
		case c.text == "":
		default:
			if utf8.RuneCountInString(c.text) > 40 {
				r.errorf(c.Place, "write its letter or a short name", "the name of the column is longer than 40 characters")
			}
			if before, twice := names[name]; twice {
				r.errorf(c.Place, fmt.Sprintf("give it another name than that in column %d", before.Column),
					"there are two columns %s",
					kinematics.Quote(c.text))
			}
			names[name] = c.Place
			r.elements = append(r.elements, i)
			r.chart.Columns = append(r.chart.Columns, fit.Column{Name: c.text, Kind: oneWayByName(name)})
		}
	}
	if _, early := words[strings.ToLower(cells[0].text)]; early && r.ratio < 0 {
		r.errorf(cells[0].Place, headHint+"; what begins with "+cells[0].text+" goes below it",
			"no column is headed ratio")
	} else if r.ratio < 0 {
		r.errorf(cells[0].Place, headHint, "no column is headed ratio")
	}
	if len(r.elements) == 0 {
		r.errorf(cells[0].Place, headHint, "no column is headed by an element")
	}
	if len(r.elements) > maxColumns {
		r.errorf(cells[0].Place, "leave out what is no element", "there are %d elements: more than %d are not taken",
			len(r.elements), maxColumns)
	}
}

// oneWayByName is the kind of a column whose name says that it is a one-way clutch.
func oneWayByName(name string) fit.ColumnKind {
	for _, w := range []string{"owc", "one-way", "one way", "oneway", "sprag", "roller", "freewheel"} {
		if strings.Contains(name, w) {
			return fit.OneWayColumn
		}
	}
	return fit.AnyKind
}

// at is a cell of a row, empty where the row is too short.
func at(cells []cell, i int) cell {
	if i < len(cells) {
		return cells[i]
	}
	last := cells[len(cells)-1]
	return cell{Place: problem.At(last.Line, last.Column+last.Width, 1)}
}

func (r *reader) rangeRow(cells []cell) {
	name := cells[0]
	row := fit.Row{Name: validName(name.text), Line: name.Line}
	switch before, twice := r.seen[row.Name]; {
	case name.text == "":
		r.errorf(name.Place, "write the name of the range in the first column: 1, 2, R", "the row has no name")
		return
	case row.Name == "":
		r.errorf(name.Place, "write a name of letters and digits: 1, D2, R", "%s cannot name a range",
			kinematics.Quote(name.text))
		return
	case twice:
		r.errorf(name.Place, "give it another name, or leave it out", "range %s stands twice, first in line %d", row.Name,
			before.Line)
	}
	r.seen[row.Name] = name.Place
	for _, i := range r.elements {
		row.Marks = append(row.Marks, r.mark(at(cells, i)))
	}
	r.beyond(cells)
	c := cell{}
	if r.ratio >= 0 {
		c = at(cells, r.ratio)
	}
	if c.text != "" && c.text != "?" && c.text != "-" && c.text != "–" {
		row.Ratio = r.number(c, "the ratio")
		if p := row.Ratio; p != nil && fit.Reversing(name.text) && p.Value.Sign() > 0 {
			p.Value = p.Value.Neg()
		}
	}
	r.chart.Rows = append(r.chart.Rows, row)
}

// beyond reports cells that stand under no name.
func (r *reader) beyond(cells []cell) {
	for i, c := range cells[1:] {
		if c.text != "" && i+1 != r.ratio && !slices.Contains(r.elements, i+1) {
			r.errorf(c.Place, "name the column in the first row, or empty the cell", "%s stands in a column without a name",
				kinematics.Quote(c.text))
		}
	}
}

// marks are what cells can hold, in lower case.
var marks = map[string]fit.Mark{
	"": fit.Off, "-": fit.Off, "–": fit.Off, "—": fit.Off, ".": fit.Off, "0": fit.Off, "off": fit.Off, "no": fit.Off,
	"n": fit.Off,
	"x": fit.On, "×": fit.On, "✓": fit.On, "✔": fit.On, "●": fit.On, "•": fit.On, "■": fit.On, "⬤": fit.On,
	"*":  fit.On,
	"1":  fit.On,
	"on": fit.On, "yes": fit.On, "y": fit.On, "o": fit.On, "○": fit.On, "◯": fit.On, "〇": fit.On, "applied": fit.On,
	"holds": fit.On,
	"?":     fit.Unknown, "unknown": fit.Unknown,
}

func (r *reader) mark(c cell) fit.Mark {
	text := strings.ToLower(c.text)
	if m, ok := marks[text]; ok {
		return m
	}
	if in, ok := strings.CutPrefix(text, "("); ok {
		if in, ok = strings.CutSuffix(in, ")"); ok && marks[strings.TrimSpace(in)] == fit.On {
			return fit.Unknown
		}
	}
	r.errorf(c.Place, "write x where the element is applied, nothing where it is not, ? where the chart does not tell",
		"%s is no mark", kinematics.Quote(c.text))
	return fit.Unknown
}

// validName makes a name of a train file of what a chart has.
func validName(text string) string {
	name := strings.Map(func(c rune) rune {
		if c < utf8.RuneSelf && kinematics.ValidName("a"+string(c)) {
			return c
		}
		return ' '
	}, text)
	name = strings.Join(strings.Fields(strings.TrimLeft(name, "-_ ")), "-")
	if !kinematics.ValidName(name) {
		return ""
	}
	return name
}

func (r *reader) finish() {
	switch {
	case r.problems.Refuse():
	case !r.header:
		r.errorf(top, "tieup fit --blank prints an empty form", "the file is empty")
	case len(r.chart.Rows) > maxRows:
		r.errorf(top, "leave out what is no range", "there are %d ranges: more than %d are not taken", len(r.chart.Rows),
			maxRows)
	case !slices.ContainsFunc(r.chart.Rows, func(x fit.Row) bool { return x.Ratio != nil }):
		r.errorf(top, "write the printed ratios in the column headed ratio", "no range has a ratio")
	default:
		r.joinSpeeds()
	}
}

// joinSpeeds finds the ranges of the speeds.
func (r *reader) joinSpeeds() {
	for _, s := range r.speeds {
		name := validName(s.rng.text)
		i := slices.IndexFunc(r.chart.Rows, func(x fit.Row) bool { return x.Name == name })
		if i < 0 || r.chart.Rows[i].Ratio == nil {
			r.errorf(s.rng.Place, "write speed; RANGE; MEMBER; SPEED with a range of the chart that has a ratio",
				"no range %s has a ratio", kinematics.Quote(s.rng.text))
			continue
		}
		r.chart.Speeds = append(r.chart.Speeds, fit.MemberSpeed{Row: i, Member: s.member, Speed: s.speed})
	}
}
