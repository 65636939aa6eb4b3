package table

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// Fitted writes the answer of fit to a chart.
type Fitted struct{ *analysis.FittedChart }

// text writes the classes with their layouts, the fit of the first, and its train file.
func (f Fitted) text(p *page) {
	if !f.Fits {
		f.refused(p)
		return
	}
	for i, c := range f.Classes {
		if i > 0 {
			p.line("")
		}
		f.class(p, i, &c)
	}
	first := &f.Classes[0].Layouts[0]
	p.apart("The fit as " + first.Name() + ":")
	p.hanging(0, 2, "columns: "+columnsText(first))
	p.line("")
	fitTable(p, first)
	f.notes(p, slices.Concat(f.Notes, first.Differences, first.Settling, first.Remarks))
	teethText(p, first)
	p.apart("The train file (tieup fit CHART -o FILE writes it):")
	p.line("")
	p.print(strings.TrimSuffix(string(f.File), "\n"))
}

func (f Fitted) class(p *page, i int, c *analysis.FitClass) {
	p.line(fmt.Sprintf("Class %d: %s:", i+1, c.Says()))
	p.line("")
	g := &Grid{Columns: columns("layout", "cells that differ>", "basic ratios", "what tells it apart")}
	for k := range c.Layouts {
		t := &c.Layouts[k]
		ratios := kinematics.Map(t.Ratios, func(r analysis.FittedRatio) string { return r.Name + " " + ratioText(r) })
		cells := ""
		if t.Cells > 0 {
			cells = strconv.Itoa(t.Cells)
		}
		if t.OwnTeeth {
			ratios = append(ratios, "(its own teeth fit)")
		}
		if t.Independent < len(t.Ratios) {
			ratios = append(ratios, fmt.Sprintf("(family: %d of %d settled)", t.Independent, len(t.Ratios)))
		}
		name := strings.Replace(t.Name(), " without", "\nwithout", 1)
		apart := t.Apart
		if twice(c, t) {
			apart += "; " + columnsText(t)
		}
		if p.width == 0 {
			apart = Wrap(apart, apartWidth)
		}
		g.Add(name, cells, strings.Join(ratios, "\n"), apart)
	}
	p.grid(g)
}

// twice says whether a layout fits in several ways, which only its columns tell apart.
func twice(c *analysis.FitClass, t *analysis.FittedTrain) bool {
	n := 0
	for k := range c.Layouts {
		if c.Layouts[k].Layout == t.Layout && c.Layouts[k].Plain == t.Plain {
			n++
		}
	}
	return n > 1
}

// apartWidth is how wide what tells a layout apart is written beside its basic ratios where the
// text may be of any width.
const apartWidth = 28

// ratioText is the value of a basic ratio with four figures.
func ratioText(r analysis.FittedRatio) string {
	return strconv.FormatFloat(r.Value.Float(), 'g', 4, 64)
}

// columnsText says which element each column is.
func columnsText(t *analysis.FittedTrain) string {
	var list []string
	for name, element := range t.Columns.All() {
		if element == "" {
			element = "none"
		}
		list = append(list, name+" = "+string(element))
	}
	return strings.Join(list, ", ")
}

// fitTable writes the figures and the basic ratios of a fit.
func fitTable(p *page, t *analysis.FittedTrain) {
	g := &Grid{Columns: columns("range", "printed>", "fitted>", "exact>", "off by last places>", "matched range", "")}
	for _, r := range t.Rows {
		fitted, fraction, off, verdict := "", "", "", "fits"
		if r.Fitted != nil {
			fitted, fraction, off = places(*r.Fitted), r.Exact.String(), offText(*r.Off)
		}
		if !r.Fits {
			verdict = "does not fit"
		}
		name := r.Range
		if r.Member != "" {
			name += ": " + string(r.Member)
		}
		g.Add(name, r.Printed, fitted, fraction, off, string(r.Matched), verdict)
	}
	p.grid(g)
	p.line("")
	if t.Truncated {
		p.line("The figures are cut off, not rounded.")
	}
	if len(t.Ratios) == 0 {
		return
	}
	b := &Grid{Columns: columns("basic ratio", "value>", "least>", "most>")}
	for _, r := range t.Ratios {
		b.Add(r.Name, ratioText(r), fixed(r.Min.Float(), 4), fixed(r.Max.Float(), 4))
	}
	p.grid(b)
	p.line("")
	p.line(t.Decided()...)
}

// offText writes how far a figure is off, without a sign where that is nothing.
func offText(off float64) string {
	if text := fmt.Sprintf("%+.2f", off); text != "+0.00" && text != "-0.00" {
		return text
	}
	return "0.00"
}

func teethText(p *page, t *analysis.FittedTrain) {
	x := t.Teeth
	if x == nil || len(t.Ratios) == 0 {
		return
	}
	p.line("")
	p.line(t.TeethFound()...)
	if len(x.First) == 0 {
		return
	}
	p.line("")
	g := &Grid{Columns: columns(append(headsOf(x.First[0].Teeth, "", ">"), "audit of standard teeth")...)}
	for _, c := range x.First {
		g.Add(append(counts(c.Teeth), c.Audit())...)
	}
	p.grid(g)
}

// headsOf are the heads of columns of what is named, with something before and behind each name.
func headsOf[T any](list analysis.Named[T], before, behind string) []string {
	return kinematics.Map(list, func(e analysis.Entry[T]) string { return before + e.Name + behind })
}

// counts are numbers of teeth.
func counts(teeth analysis.Named[int64]) []string {
	return kinematics.Map(teeth, func(e analysis.Entry[int64]) string { return strconv.FormatInt(e.Value, 10) })
}

// notes writes notes, and which layouts were not tried in all ways.
func (f Fitted) notes(p *page, list []string) {
	if f.Cut != nil {
		list = append(list, f.Cut.Text)
	}
	for _, text := range list {
		p.hanging(0, 2, "- "+text)
	}
}

func (f Fitted) refused(p *page) {
	p.line(analysis.NoLayout)
	f.notes(p, slices.Clone(f.Notes))
	if len(f.Nearest) == 0 {
		return
	}
	p.line("")
	g := &Grid{Columns: columns("nearest layout", "why not")}
	for _, n := range f.Nearest {
		g.Add(n.Layout, n.Text)
	}
	p.grid(g)
}

// CSV writes a line for each figure of each layout.
func (f Fitted) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("class", "layout", "range", "member", "printed", "fitted", "fitted_exact",
		"off_last_places",
		"fits")}
	for i, c := range f.Classes {
		for k := range c.Layouts {
			t := &c.Layouts[k]
			for _, r := range t.Rows {
				fitted, fraction, off := "", "", ""
				if r.Fitted != nil {
					fitted, fraction = shortest(*r.Fitted), r.Exact.String()
					off = strconv.FormatFloat(*r.Off, 'g', 4, 64)
				}
				g.Add(strconv.Itoa(i+1), t.Name(), r.Range, string(r.Member), r.Printed,
					fitted, fraction, off, strconv.FormatBool(r.Fits))
			}
		}
	}
	var cautions []string
	if f.Cut != nil {
		cautions = append(cautions, f.Cut.Text)
	}
	return g.CSV(w, cautions...)
}
