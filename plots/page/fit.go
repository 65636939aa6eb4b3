package page

import (
	"bytes"
	"errors"
	"io"

	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
	"tieup/plots/table"
)

// A FitForm is the page on which an application chart with ratios is given, and what was
// found for it.
type FitForm struct {
	Chart    string                // the text of the form
	Answer   *analysis.FittedChart // nil before the form is sent
	Link     string                // to the stage with the fitted train, "" if there is none
	Problem  error                 // nil if there is none
	Standing string
}

// textWidth is how many columns of text go beside one another on the page.
const textWidth = 120

// Text is the answer as the command writes it.
func (f *FitForm) Text() (string, error) {
	var b bytes.Buffer
	err := table.Text(&b, textWidth, table.Fitted{FittedChart: f.Answer})
	return b.String(), err
}

// Excerpts are the places that the problem is about, "" if it has none.
func (f *FitForm) Excerpts() string {
	var e excerpted
	if errors.As(f.Problem, &e) {
		return e.Excerpts()
	}
	return ""
}

// WriteFit writes the page.
func WriteFit(w io.Writer, f *FitForm) error {
	f.Standing = reading.StandingLine
	return write(w, "fit.html", f)
}
