package table

import (
	"encoding/csv"
	"io"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// A Column of a [Grid].
type Column struct {
	Head  string
	Right bool // align to the right, for numbers
}

// A Grid is a table of text: what all text and CSV answers are made of.
type Grid struct {
	Columns []Column
	Rows    [][]string
}

// columns makes columns from their heads; a head that ends in '>' is aligned
// to the right.
func columns(heads ...string) []Column {
	cs := make([]Column, len(heads))
	for i, h := range heads {
		cs[i] = Column{Head: strings.TrimSuffix(h, ">"), Right: strings.HasSuffix(h, ">")}
	}
	return cs
}

// Add appends a row.
func (g *Grid) Add(cells ...string) { g.Rows = append(g.Rows, cells) }

func (g *Grid) heads() []string {
	return kinematics.Map(g.Columns, func(c Column) string { return c.Head })
}

// gap is the space between two columns.
const gap = 2

// Text writes the grid in at most width columns, 0 for any number. Cells that
// are too wide are wrapped between words; a grid that is too wide even so is
// written as one block a row.
func (g *Grid) Text(w io.Writer, width int) error {
	g = g.withoutEmptyColumns()
	natural, least := g.widths()
	if width > 0 && total(natural) > width {
		if total(least) > width {
			return g.blocks(w, width)
		}
		natural = shrink(natural, least, width)
		g = g.wrapped(natural)
		natural, _ = g.widths()
	}
	var b strings.Builder
	g.row(&b, g.heads(), natural, bold)
	b.WriteString(strings.Repeat("─", total(natural)) + "\n")
	for _, row := range g.Rows {
		g.row(&b, row, natural, undecorated)
	}
	return print(w, strings.TrimSuffix(b.String(), "\n"))
}

// row writes cells beside one another, in as many lines as the highest has.
func (g *Grid) row(b *strings.Builder, cells []string, widths []int, style func(string) string) {
	lines := make([][]string, len(cells))
	most := 1
	for i, cell := range cells {
		lines[i] = strings.Split(cell, "\n")
		most = max(most, len(lines[i]))
	}
	for l := range most {
		for i, c := range g.Columns {
			text := ""
			if l < len(lines[i]) {
				text = lines[i][l]
			}
			blanks := strings.Repeat(" ", widths[i]-columnsOf(text))
			if c.Right {
				b.WriteString(blanks + style(text))
			} else {
				b.WriteString(style(text) + blanks)
			}
			if i < len(g.Columns)-1 {
				b.WriteString(strings.Repeat(" ", gap))
			}
		}
		b.WriteByte('\n')
	}
}

// CSV writes the grid with a line of heads, and what must be said as comments
// behind it: lines that begin with "# ".
func (g *Grid) CSV(w io.Writer, cautions ...string) error {
	c := csv.NewWriter(w)
	if err := c.Write(g.heads()); err != nil {
		return err
	}
	if err := c.WriteAll(g.Rows); err != nil {
		return err
	}
	for _, line := range cautions {
		if _, err := io.WriteString(w, "# "+line+"\n"); err != nil {
			return err
		}
	}
	return nil
}

// said is what stands behind the rows: which ranges can come to more than these show, a
// remark, "" for none, and cautions.
func said(others []string, remark string, cautions []string) []string {
	if remark != "" {
		others = append(others, remark)
	}
	return append(others, cautions...)
}

// besides says which ranges can come to more than is shown, and how to ask for that.
func besides(list []analysis.RangeOutcomes) []string {
	return kinematics.Map(list, analysis.RangeOutcomes.Words)
}

// several says which ranges can come to more than one thing, where all are shown.
func several(list []analysis.RangeOutcomes) []string {
	return kinematics.Map(list, analysis.RangeOutcomes.Several)
}

// withoutEmptyColumns leaves out columns in which no row says anything.
func (g *Grid) withoutEmptyColumns() *Grid {
	used := make([]bool, len(g.Columns))
	for _, row := range g.Rows {
		for i, cell := range row {
			used[i] = used[i] || cell != ""
		}
	}
	pick := &Grid{Rows: make([][]string, len(g.Rows))}
	for i, c := range g.Columns {
		if !used[i] {
			continue
		}
		pick.Columns = append(pick.Columns, c)
		for r, row := range g.Rows {
			pick.Rows[r] = append(pick.Rows[r], row[i])
		}
	}
	return pick
}

// widths returns for each column the width of its widest cell and of its
// longest word; heads are not broken.
func (g *Grid) widths() (natural, least []int) {
	natural, least = make([]int, len(g.Columns)), make([]int, len(g.Columns))
	for i, c := range g.Columns {
		natural[i] = columnsOf(c.Head)
		least[i] = natural[i]
		for _, row := range g.Rows {
			for line := range strings.SplitSeq(row[i], "\n") {
				natural[i] = max(natural[i], columnsOf(line))
			}
			for word := range strings.FieldsSeq(row[i]) {
				least[i] = max(least[i], columnsOf(word))
			}
		}
	}
	return natural, least
}

// total is the width of a grid with columns of the given widths.
func total(widths []int) int {
	sum := gap * (len(widths) - 1)
	for _, w := range widths {
		sum += w
	}
	return sum
}

// shrink takes from the widest column that still can give until the grid fits.
func shrink(natural, least []int, width int) []int {
	widths := slices.Clone(natural)
	for total(widths) > width {
		widest := -1
		for i := range widths {
			if widths[i] > least[i] && (widest < 0 || widths[i] > widths[widest]) {
				widest = i
			}
		}
		widths[widest]--
	}
	return widths
}

func (g *Grid) wrapped(widths []int) *Grid {
	out := &Grid{Columns: g.Columns, Rows: make([][]string, len(g.Rows))}
	for r, row := range g.Rows {
		for i, cell := range row {
			out.Rows[r] = append(out.Rows[r], Wrap(cell, widths[i]))
		}
	}
	return out
}

// blocks writes every row as a block: its first cell, and below it the other
// cells that say something, each with its head.
func (g *Grid) blocks(w io.Writer, width int) error {
	label := 0
	for _, c := range g.Columns[1:] {
		label = max(label, columnsOf(c.Head))
	}
	var b strings.Builder
	for _, row := range g.Rows {
		b.WriteString(bold(row[0]) + "\n")
		for i, cell := range row[1:] {
			if cell == "" {
				continue
			}
			head := g.Columns[i+1].Head
			lead := "  " + head + strings.Repeat(" ", label-columnsOf(head)+gap)
			text := Wrap(cell, max(width-label-2-gap, 10))
			b.WriteString(lead + strings.ReplaceAll(text, "\n", "\n"+strings.Repeat(" ", label+2+gap)) + "\n")
		}
	}
	return print(w, strings.TrimSuffix(b.String(), "\n"))
}

// Wrap breaks text between words into lines of at most width columns, 0 for any
// number. Names are never broken, even where one is wider than that.
func Wrap(text string, width int) string {
	if width <= 0 {
		return text
	}
	var lines []string
	for para := range strings.SplitSeq(text, "\n") {
		line := ""
		for word := range strings.FieldsSeq(para) {
			switch {
			case line == "":
				line = word
			case columnsOf(line)+1+columnsOf(word) <= width:
				line += " " + word
			default:
				lines = append(lines, line)
				line = word
			}
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

// An Answer is an answer that this package writes.
type Answer interface {
	text(p *page)
}

// Text writes an answer for people, in at most width columns, 0 for any number.
func Text(w io.Writer, width int, a Answer) error {
	p := &page{w: w, width: width}
	a.text(p)
	return p.err
}

// A page puts headings, lines and grids below one another, and keeps the first error.
type page struct {
	w     io.Writer
	width int
	err   error
}

// print writes text as it is.
func (p *page) print(text string) {
	if p.err == nil {
		p.err = print(p.w, text)
	}
}

// line writes lines of words, each wrapped.
func (p *page) line(texts ...string) { p.lines("", texts) }

// said writes a line of words, nothing for none.
func (p *page) said(text string) {
	if text != "" {
		p.line(text)
	}
}

// heading writes a heading with an empty line above it.
func (p *page) heading(text string) { p.headline(0, text) }

// headline is a heading whose further lines have blanks before them.
func (p *page) headline(blanks int, text string) {
	width := p.width
	if width > 0 {
		width = max(width-blanks, 20)
	}
	p.print("\n" + strings.ReplaceAll(bold(Wrap(text, width)), "\n", "\n"+strings.Repeat(" ", blanks)))
}

// lines writes lines, each with something before it.
func (p *page) lines(before string, list []string) {
	for _, text := range list {
		p.print(Wrap(before+text, p.width))
	}
}

// list writes lines, none with more than some blanks before it, likewise the further ones.
func (p *page) list(blanks, further int, lines []string) {
	for _, text := range lines {
		p.hanging(blanks, further, text)
	}
}

// section writes lines under a heading, nothing if there are none.
func (p *page) section(heading string, blanks, further int, lines []string) {
	if len(lines) > 0 {
		p.heading(heading)
		p.list(blanks, further, lines)
	}
}

// part writes a grid under a heading, nothing if it has no rows.
func (p *page) part(heading string, g *Grid) {
	if len(g.Rows) > 0 {
		p.heading(heading)
		p.grid(g)
	}
}

// faults says what is wrong with the train.
func (p *page) faults(list []analysis.Fault) {
	p.lines("fault: ", kinematics.Map(list, analysis.Fault.Words))
}

// faulted says what is wrong with it, and which ranges can come to more than is shown.
func (p *page) faulted(f analysis.Faulted) {
	p.faults(f.Faults)
	p.line(besides(f.Outcomes)...)
}

// apart writes lines with an empty one above them, nothing if there are none.
func (p *page) apart(lines ...string) {
	if len(lines) > 0 {
		p.line("")
		p.line(lines...)
	}
}

// below writes a grid with an empty line above it.
func (p *page) below(g *Grid) {
	p.line("")
	p.grid(g)
}

func (p *page) grid(g *Grid) {
	if p.err == nil && len(g.Rows) > 0 {
		p.err = g.Text(p.w, p.width)
	}
}
