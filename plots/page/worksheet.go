package page

import (
	"bytes"
	"html/template"
	"io"
	"strings"

	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
	"tieup/plots"
	"tieup/plots/table"
)

// worksheetStyle is written into a worksheet, which is a file of its own.
func worksheetStyle() template.CSS {
	css, err := parts.ReadFile("parts/worksheet.css")
	if err != nil {
		panic("page: " + err.Error())
	}
	return template.CSS(css)
}

// unloaded draws the half-section of the healthy train with nothing applied, "" if
// it cannot be drawn.
func unloaded(x *analysis.Explained) template.HTML {
	d := plots.HalfSection(x)
	for i := range d.States {
		d.States[i].Label = ""
	}
	return inline(d, plots.Style{})
}

// inline is a drawing to stand in a page, "" if it cannot be drawn.
func inline(d plots.Drawing, s plots.Style) template.HTML {
	var b bytes.Buffer
	if err := plots.Write(&b, plots.SVG, d, s); err != nil {
		return ""
	}
	_, svg, _ := bytes.Cut(b.Bytes(), []byte("<svg"))
	return template.HTML("<svg" + string(svg))
}

// WriteWorksheet writes a worksheet, or its key, as a file of HTML to print.
func WriteWorksheet(w io.Writer, s table.Worksheet) error {
	view := struct {
		table.Worksheet
		Style    template.CSS
		InEach   string        // what is wrong in every exercise
		Drawing  template.HTML // the half-section; "" if it cannot be drawn
		Cautions []string
	}{Worksheet: s, Style: worksheetStyle(), InEach: strings.Join(s.Given, "; "), Cautions: s.Cautions}
	if len(view.Cautions) == 0 {
		view.Cautions = []string{reading.StandingLine}
	}
	if !s.Key {
		view.Drawing = unloaded(s.Unloaded)
	}
	return write(w, "worksheet.html", view)
}
