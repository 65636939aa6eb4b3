package page

import (
	"bytes"
	"html/template"
	"io"

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
	type exercise struct {
		Task      string
		Chart     *table.Grid // nil if there is none
		Seen      *table.Grid
		Suspected []string
		Answers   []string
		Lines     []struct{}
	}
	view := struct {
		Style     template.CSS
		Heading   string
		Key       bool
		Sources   []string
		Faults    string
		Ends      string
		Legend    []string
		About     []table.Part
		Drawing   template.HTML // the half-section; "" if it cannot be drawn
		Exercises []exercise
		Cautions  []string
	}{
		Style: worksheetStyle(), Heading: s.Heading(), Key: s.Key, Sources: s.Train.Sources,
		Faults: analysis.FaultWords(s.Faults), Cautions: s.Cautions,
	}
	if len(view.Cautions) == 0 {
		view.Cautions = []string{reading.StandingLine}
	}
	if !s.Key {
		view.Ends, view.Legend, view.About, view.Drawing = s.Ends(), s.Legend(), s.About(), unloaded(s.Unloaded)
	}
	for i := range s.Exercises {
		e := &s.Exercises[i]
		x := exercise{Task: e.Task, Suspected: e.Given, Lines: make([]struct{}, s.Lines(e))}
		if len(e.Rows) > 0 {
			x.Chart = s.Chart(e)
		}
		if len(e.Seen) > 0 {
			x.Seen = s.Complaint(e)
		}
		if s.Key {
			x.Answers = e.Answers
		}
		view.Exercises = append(view.Exercises, x)
	}
	return write(w, "worksheet.html", view)
}
