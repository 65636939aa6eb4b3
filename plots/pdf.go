package plots

import (
	"bytes"
	"image/color"
	"time"

	"codeberg.org/go-pdf/fpdf"
	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"tieup/kinematics"
)

// A pdf is a canvas on a page of PDF. That of gonum/plot itself writes UTF-8 into
// fonts of code page 1252, so that other letters come out, and embeds only one of
// two fonts of a page.
type pdf struct {
	doc    *fpdf.Fpdf
	height float64
}

// newPDF returns a document of pages of a size with the fonts of a ruler.
func newPDF(r *ruler, w, h vg.Length) (pdf, error) {
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: w.Points(), Ht: h.Points()}})
	// A PDF carries the time at which it was made; ours must not depend on it.
	fixed := time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC)
	doc.SetCreationDate(fixed)
	doc.SetModificationDate(fixed)
	doc.SetCatalogSort(true)
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	for style, face := range map[string]font.Face{"": r.regular, "B": r.bold} {
		var file bytes.Buffer
		if _, err := face.Face.WriteSourceTo(nil, &file); err != nil {
			return pdf{}, err
		}
		doc.AddUTF8FontFromBytes(pdfFont, style, file.Bytes())
	}
	return pdf{doc, h.Points()}, doc.Error()
}

const pdfFont = "Liberation Sans"

// SetLineWidth sets the width of lines.
func (c pdf) SetLineWidth(w vg.Length) { c.doc.SetLineWidth(w.Points()) }

// SetLineDash sets the lengths of strokes and gaps.
func (c pdf) SetLineDash(pattern []vg.Length, offset vg.Length) {
	c.doc.SetDashPattern(kinematics.Map(pattern, vg.Length.Points), offset.Points())
}

// SetColor sets the colour of lines, areas and text.
func (c pdf) SetColor(ink color.Color) {
	r, g, b, _ := ink.RGBA()
	red, green, blue := int(r>>8), int(g>>8), int(b>>8)
	c.doc.SetDrawColor(red, green, blue)
	c.doc.SetFillColor(red, green, blue)
	c.doc.SetTextColor(red, green, blue)
}

// Stroke draws a path, Fill fills it.
func (c pdf) Stroke(path vg.Path) { c.path(path, "D") }

// Fill fills a path.
func (c pdf) Fill(path vg.Path) { c.path(path, "F") }

func (c pdf) at(p vg.Point) (x, y float64) { return p.X.Points(), c.height - p.Y.Points() }

// path draws what a pen makes: lines and cubic curves.
func (c pdf) path(path vg.Path, style string) {
	for _, comp := range path {
		x, y := c.at(comp.Pos)
		switch comp.Type {
		case vg.MoveComp:
			c.doc.MoveTo(x, y)
		case vg.LineComp:
			c.doc.LineTo(x, y)
		case vg.CurveComp:
			x1, y1 := c.at(comp.Control[0])
			x2, y2 := c.at(comp.Control[1])
			c.doc.CurveBezierCubicTo(x1, y1, x2, y2, x, y)
		case vg.CloseComp:
			c.doc.ClosePath()
		}
	}
	c.doc.DrawPath(style)
}

// FillString draws text from a point on its base line.
func (c pdf) FillString(f font.Face, at vg.Point, text string) {
	style := ""
	if f.Font.Weight == xfont.WeightBold {
		style = "B"
	}
	c.doc.SetFont(pdfFont, style, f.Font.Size.Points())
	x, y := c.at(at)
	c.doc.Text(x, y, text)
}
