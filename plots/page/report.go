package page

import (
	"html/template"
	"io"
	"math"
	"strconv"

	"tieup/kinematics/analysis"
	"tieup/plots"
)

// WriteReport writes a report of a case as a file of HTML to print on one sheet.
func WriteReport(w io.Writer, x *analysis.Report) error {
	view := struct {
		*analysis.Report
		Style   template.CSS
		Picture template.HTML
		Points  string // size of its letters, so that all goes onto one sheet of A4
	}{
		x, worksheetStyle(), inline(plots.ReportSection(x), plots.Style{Bare: true}),
		strconv.FormatFloat(pointsFor(x), 'f', 1, 64),
	}
	return write(w, "report.html", view)
}

// Letters of a report: the largest size, how many of it go into a line of A4, and how
// many lines of it below the drawing.
const (
	largestLetters = 9.0
	lettersInLine  = 115
	linesOnSheet   = 34.0
)

// pointsFor is the size of letters at which a report goes onto one sheet. Smaller ones
// make both more lines and more letters in each.
func pointsFor(x *analysis.Report) float64 {
	lines := 0.0
	count := func(text string) { lines += float64(1 + len(text)/lettersInLine) }
	for _, s := range x.Sections {
		lines += 2 // heading and the space above it
		for _, l := range s.Lines {
			count(l.Text)
			for _, f := range l.Further {
				count(f)
			}
		}
	}
	for _, c := range x.Cautions {
		count(c)
	}
	return largestLetters * min(1, math.Sqrt(linesOnSheet/lines))
}
