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

	"golang.org/x/text/encoding/charmap"

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
	trains   []*kinematics.Train
	problems problem.List
	chart    *fit.Chart

	elements []int // index into the cells of a row of each element
	others   []int // of columns that are no elements
	name     int   // of the range
	ratio    int   // of the ratio
	head     []cell
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

// Read reads a chart. The name of the file is used in messages only; trains are those whose names
// a chart may give as its layout, and whose members it may name. The chart is nil if any of the
// problems is an error.
func Read(file string, src []byte, trains []*kinematics.Train) (*fit.Chart, problem.List) {
	r := &reader{file: file, trains: trains, chart: &fit.Chart{}, seen: map[string]problem.Place{}}
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
		text, _ = charmap.Windows1252.NewDecoder().String(text) // as spreadsheets write CSV without a mark
	}
	for i, line := range strings.Split(text, "\n") {
		if strings.ContainsRune(line, utf8.RuneError) {
			r.errorf(problem.At(i+1, 1, 1), "save it as CSV UTF-8", "the text is not UTF-8")
			return "", false
		}
	}
	text = strings.TrimPrefix(text, "\ufeff")
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	r.lines = strings.Split(text, "\n")
	for i, line := range r.lines {
		if at := strings.IndexByte(line, 0); at >= 0 {
			r.errorf(problem.At(i+1, utf8.RuneCountInString(line[:at])+1, 1), "save the table as CSV", "this is not text")
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

// separator is what stands between the cells: the first of semicolon, tab and comma that half
// of the rows have. A first row may say it: sep=;
func separator(text string) rune {
	if sep, ok := strings.CutPrefix(text, "sep="); ok && sep != "" && strings.ContainsRune(";\t,", rune(sep[0])) {
		return rune(sep[0])
	}
	rows, with := 0, map[rune]int{}
	for line := range strings.SplitSeq(text, "\n") {
		if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
			continue
		}
		rows++
		for _, sep := range ";\t," {
			if strings.ContainsRune(line, sep) {
				with[sep]++
			}
		}
	}
	for _, sep := range ";\t" {
		if 2*with[sep] >= max(rows, 1) {
			return sep
		}
	}
	return ','
}

func (r *reader) read(text string) {
	rows := csv.NewReader(strings.NewReader(text))
	rows.Comma, rows.FieldsPerRecord, rows.TrimLeadingSpace = separator(text), -1, false
	var table [][]cell
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
		cells := r.cells(rows, record)
		if !blank(cells) && !strings.HasPrefix(cells[0].text, "#") && !strings.HasPrefix(record[0], "sep=") {
			table = append(table, cells)
		}
	}
	r.rows(table)
	r.finish()
}

// rows reads the rows from the one that names the columns on; what stands above it is a title.
// A table with the ranges in its first row is turned about.
func (r *reader) rows(table [][]cell) {
	head := slices.IndexFunc(table, heads)
	if head < 0 {
		if turned := transposed(table); heads(turned[0]) {
			table, head = turned, 0
		}
	}
	// Rows with a word that stand above it are read behind it.
	for _, cells := range table[:max(0, head)] {
		if wordOf(heading(cells[0].text)) != nil {
			table = append(table, cells)
		} else {
			r.passOver(cells)
		}
	}
	for i, cells := range table[max(0, head):] {
		switch {
		case !r.header:
			r.headerRow(cells)
		case i == 1 && r.lettersBelow(cells):
		default:
			r.row(cells)
		}
		if r.ratio < 0 {
			return // the columns are not known: what follows would be judged wrongly
		}
	}
}

// heads says whether a row names the columns: one of them is that of the ratios.
func heads(cells []cell) bool {
	return len(cells) > 1 && slices.ContainsFunc(cells[1:], func(c cell) bool {
		return slices.Contains(ratioHeads, heading(c.text))
	})
}

// transposed turns a table about; it has at least one row.
func transposed(table [][]cell) [][]cell {
	turned := [][]cell{nil}
	for i, row := range table {
		for k, c := range row {
			for len(turned) <= k {
				turned = append(turned, nil)
			}
			for len(turned[k]) < i {
				turned[k] = append(turned[k], cell{Place: problem.At(c.Line, 1, 1)})
			}
			turned[k] = append(turned[k], c)
		}
	}
	return slices.DeleteFunc(turned, func(row []cell) bool { return len(turned) > 1 && blank(row) })
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
	word := strings.ToLower(strings.Join(strings.FieldsFunc(cells[0].text, func(c rune) bool {
		return c == ' ' ||
			c == '-' || c == ':' || c == '_'
	}), " "))
	w := wordOf(word)
	switch {
	case footnote(cells) || w != nil && w.read == nil:
		r.passOver(cells)
	case w == nil:
		r.rangeRow(cells)
	default:
		if !w.repeats {
			r.once(word, cells)
		}
		w.read(r, cells, w.hint)
	}
}

// passOver keeps the text of a row that is not read.
func (r *reader) passOver(cells []cell) {
	var texts []string
	for _, c := range cells {
		if c.text != "" {
			texts = append(texts, problem.Plain(c.text))
		}
	}
	r.chart.Passed = append(r.chart.Passed, fit.Passed{Line: cells[0].Line, Text: strings.Join(texts, " ")})
}

// ratioHeads are the headings of the column of ratios.
var ratioHeads = []string{
	"ratio", "ratios", "gear ratio", "gear ratios", "overall ratio", "total ratio", "transmission ratio", "speed ratio",
	"i", "übersetzung", "gesamtübersetzung", "verhältnis", "rapport", "rapport de démultiplication",
	"démultiplication", "rapport de transmission", "rapporto", "rapporto di trasmissione", "relación",
	"relación de transmisión",
}

// gearHeads are the headings of the column of ranges where another stands before it, and
// leverHeads what that may be.
var (
	gearHeads  = []string{"gear", "gang", "rapport", "vitesse", "speed", "range"}
	leverHeads = []string{
		"position", "selector", "selector position", "lever", "lever position", "range", "mode", "wählhebel",
	}
)

// otherHeads are headings of columns that are no elements.
var otherHeads = []string{
	"step", "steps", "ratio step", "stufensprung", "sprung", "note", "notes", "remark", "remarks", "comment", "comments",
	"bemerkung", "bemerkungen", "remarque", "remarques",
}

// outsideHeads are the names of clutches that are no part of the train.
var outsideHeads = []string{
	"tcc", "lu", "lock-up", "lockup", "lock up", "lock-up clutch", "lockup clutch", "converter clutch",
	"torque converter clutch", "converter lock-up", "wk", "wandlerkupplung", "überbrückungskupplung", "pontage",
}

// heading is a heading without what stands behind it in brackets, in lower case.
func heading(text string) string {
	text, _, _ = strings.Cut(strings.ToLower(text), "(")
	text, _, _ = strings.Cut(text, "[")
	return strings.TrimSuffix(strings.Join(strings.Fields(text), " "), ":")
}

// lettersBelow takes the names of columns from a second row below groups of them, which has
// neither a range nor a ratio.
func (r *reader) lettersBelow(cells []cell) bool {
	marked := func(c cell) bool { _, ok := markOf(c.text); return c.text != "" && ok }
	if at(cells, r.name).text != "" || at(cells, r.ratio).text != "" || slices.ContainsFunc(cells, marked) {
		return false
	}
	r.elements, r.chart.Columns = nil, nil
	names := map[string]problem.Place{}
	for i, c := range cells {
		if c.text == "" {
			c = at(r.head, i)
		}
		r.column(i, c, names)
	}
	return true
}

// footnote says that a row has text that is no range: longer, or with a sign before it.
func footnote(cells []cell) bool {
	first := cells[0].text
	return first != "" && blank(cells[1:]) && (utf8.RuneCountInString(first) > 20 || strings.Contains(first, ": ") ||
		validName(first[:1]) == "" && validName(first) != "")
}

// once sees that a row stands once.
func (r *reader) once(word string, cells []cell) {
	if before, twice := r.seen["\x00"+word]; twice {
		r.errorf(cells[0].Place, "leave one of them out", "%s stands twice, first in line %d", word, before.Line)
	}
	r.seen["\x00"+word] = cells[0].Place
}

const headHint = "write the first row as: range; A; B; C; ratio, with a column for each element"

func (r *reader) headerRow(cells []cell) {
	r.header, r.head = true, cells
	r.ratio, r.name = -1, 0
	if slices.Contains(leverHeads, heading(cells[0].text)) && slices.Contains(gearHeads, heading(at(cells, 1).text)) {
		r.name = 1
	}
	names := map[string]problem.Place{}
	for i, c := range cells {
		if i > r.name && slices.Contains(ratioHeads, heading(c.text)) {
			if r.ratio >= 0 {
				r.errorf(c.Place, "leave one of them out", "there are two columns of ratios")
			}
			r.ratio = i
		}
	}
	for i, c := range cells {
		r.column(i, c, names)
	}
	if r.ratio < 0 && wordOf(strings.ToLower(cells[0].text)) != nil {
		r.errorf(cells[0].Place, headHint+"; what begins with "+cells[0].text+" goes below it",
			"no column is headed ratio")
	} else if r.ratio < 0 {
		r.errorf(cells[0].Place, headHint, "no column is headed ratio")
	}
	if len(r.elements) == 0 && r.ratio >= 0 {
		r.errorf(cells[0].Place, headHint, "no column is headed by an element")
	}
	if len(r.elements) > maxColumns {
		r.errorf(cells[0].Place, "leave out what is no element", "there are %d elements: more than %d are not taken",
			len(r.elements), maxColumns)
	}
}

// column takes a cell of the first row as the name of an element, if it is one.
func (r *reader) column(i int, c cell, names map[string]problem.Place) {
	name := strings.ToLower(c.text)
	if i <= r.name || i == r.ratio || c.text == "" {
		return
	}
	if slices.Contains(otherHeads, heading(c.text)) {
		r.others = append(r.others, i)
		return
	}
	if utf8.RuneCountInString(c.text) > 40 {
		r.errorf(c.Place, "write its letter or a short name", "the name of the column is longer than 40 characters")
	}
	if before, twice := names[name]; twice {
		r.errorf(c.Place, fmt.Sprintf("give it another name than that in column %d", before.Column),
			"there are two columns %s", kinematics.Quote(c.text))
	}
	names[name] = c.Place
	r.elements = append(r.elements, i)
	r.chart.Columns = append(r.chart.Columns, fit.Column{Name: c.text, Kind: kindByName(name)})
}

// kindByName is the kind of a column whose name says it.
func kindByName(name string) fit.ColumnKind {
	if slices.Contains(outsideHeads, heading(name)) {
		return fit.OutsideColumn
	}
	for _, w := range []string{"owc", "one-way", "one way", "oneway", "sprag", "roller", "freewheel", "freilauf",
		"roue libre"} {
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
	name := at(cells, r.name)
	if name.text == "" {
		name = cells[0]
	}
	row := fit.Row{Name: validName(name.text), Line: name.Line}
	if _, twice := r.seen[row.Name]; twice && r.name > 0 {
		row.Name = validName(cells[0].text + "-" + name.text)
	}
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
	if r.cellsMissing(cells) {
		return
	}
	row.Marks = kinematics.Map(r.elements, func(i int) fit.Mark { return r.mark(at(cells, i)) })
	r.beyond(cells)
	c := cell{}
	if r.ratio >= 0 {
		c = at(cells, r.ratio)
	}
	if m, none := marked(strings.ToLower(c.text)); !none || m == fit.On {
		row.Ratio = r.number(c, "the ratio")
		if p := row.Ratio; p != nil && fit.Reversing(name.text) && p.Value.Sign() > 0 {
			p.Value = p.Value.Neg()
		}
	}
	r.chart.Rows = append(r.chart.Rows, row)
}

// cellsMissing reports a row that ends before the column of ratios with what is no mark: some
// cell between is missing.
func (r *reader) cellsMissing(cells []cell) bool {
	from := min(r.name+1, len(cells))
	last := from + slices.IndexFunc(cells[from:], func(c cell) bool { _, ok := markOf(c.text); return !ok })
	if last < from || last != len(cells)-1 || last >= r.ratio || !slices.Contains(r.elements, last) ||
		!strings.ContainsAny(cells[last].text, "0123456789") {
		return false
	}
	r.errorf(cells[last].Place, "write an empty cell for each element that is not applied",
		"the ratio %s stands in column %d, not %d: a cell of the row is missing", kinematics.Quote(cells[last].text),
		last+1, r.ratio+1)
	return true
}

// beyond reports cells that stand under no name.
func (r *reader) beyond(cells []cell) {
	for i, c := range cells[1:] {
		i++
		named := i <= r.name || i == r.ratio || slices.Contains(r.elements, i) || slices.Contains(r.others, i)
		if c.text != "" && !named {
			r.errorf(c.Place, "name the column in the first row, or empty the cell", "%s stands in a column without a name",
				kinematics.Quote(c.text))
		}
	}
}

// marks are what cells can hold, in lower case.
var marks = [...]struct {
	mark  fit.Mark
	words []string
}{
	{fit.Off, []string{
		"", "-", "--", "---", "–", "—", ".", "0", "off", "no", "n", "n/a", "na", "none", "released", "overrunning",
		"overruns", "freewheels", "aus", "nein", "non",
	}},
	{fit.On, []string{
		"x", "×", "✓", "✔", "√", "●", "•", "■", "⬤", "*", "+", "1", "on", "yes", "y", "o", "○", "◯", "〇", "◎",
		"applied", "apply", "engaged", "holds", "holding", "hold", "held", "locked", "ein", "ja", "oui",
	}},
	{fit.Unknown, []string{"?", "unknown", "△", "▲"}},
}

// marked is the mark that a word stands for, false if it stands for none.
func marked(word string) (fit.Mark, bool) {
	for _, m := range marks {
		if slices.Contains(m.words, word) {
			return m.mark, true
		}
	}
	return fit.Off, false
}

// notes are signs of footnotes, which may stand behind a mark or a number.
const notes = "*†‡¹²³⁴⁵⁶"

// markOf is the mark that a cell holds, false if it is none.
func markOf(text string) (m fit.Mark, ok bool) {
	text = strings.ToLower(text)
	if bare := strings.TrimRight(text, notes+" "); bare != "" {
		text = bare
	}
	if m, ok = marked(text); ok {
		return m, true
	}
	for _, brackets := range []string{"()", "[]"} {
		in, ok := strings.CutPrefix(text, brackets[:1])
		in, closed := strings.CutSuffix(in, brackets[1:])
		if m, _ := marked(strings.TrimSpace(in)); ok && closed && m == fit.On {
			return fit.Unknown, true
		}
	}
	return fit.Unknown, false
}

func (r *reader) mark(c cell) fit.Mark {
	if m, ok := markOf(c.text); ok {
		return m
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
