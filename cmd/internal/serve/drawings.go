package serve

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots"
	"tieup/plots/page"
)

// A picture is a kind of drawing that the server makes.
type picture struct {
	name, title string
	speeds      bool // it shows speeds alone
	draw        func(sub *request) (plots.Drawing, error)
}

// here is the range of a subject as the list that drawings take.
func (sub *request) here() []kinematics.Range {
	return []kinematics.Range{sub.train.Ranges[sub.rng]}
}

var pictures = []picture{
	{"speeds", "Speed plan", true, func(s *request) (plots.Drawing, error) {
		return plots.SpeedPlan(s.system, s.here(), s.faults, plots.SpeedOptions{}), nil
	}},
	{"path", "Half-section", true, func(s *request) (plots.Drawing, error) {
		return s.layouts.HalfSection(s.system, s.here(), s.faults), nil
	}},
	{"lever", "Lever diagram", true, func(s *request) (plots.Drawing, error) {
		return plots.LeverDiagram(s.system, s.here(), s.faults), nil
	}},
	{"chart", "Application chart", false, func(s *request) (plots.Drawing, error) {
		return plots.ApplicationChart(s.system, s.train.Ranges, s.faults), nil
	}},
	{"faults", "Wall chart of single faults", false, func(s *request) (plots.Drawing, error) {
		return plots.FaultChart(s.system, s.train.Ranges, s.faults), nil
	}},
}

// inTime is the picture of the shift that is played.
var inTime = picture{"shift", "Shift in time", false, func(s *request) (plots.Drawing, error) {
	answer, err := s.play()
	if err != nil {
		return nil, err
	}
	return plots.ShiftInTime([]*analysis.Played{answer}, []string{""})
}}

// drawings returns the drawings of an answer.
func (sub *request) drawings(a *page.Answer) (speeds, path page.Drawing, other []page.Drawing) {
	for _, p := range pictures {
		d := page.Drawing{Title: p.title, Link: sub.drawing(p.name, "svg", false), Dark: sub.drawing(p.name, "svg", true), PDF: sub.drawing(p.name, "pdf", false)}
		if err := sub.refuse(p); err != nil {
			d.Refused = err.Error()
		}
		other = append(other, d)
		switch p.name {
		case "speeds":
			d.Title += " of " + a.Range.Name
			d.Text = "Speed plan of " + a.Range.Name + ": " + a.Cell.Text() + ". The numbers are in the table that follows."
			speeds = d
		case "path":
			d.Title += " in " + a.Range.Name
			d.Text = "Schematic half-section of the train in " + a.Range.Name + ": " + a.Cell.Text() + ". What carries the load is told under Why."
			path = d
		}
	}
	return speeds, path, other
}

// refuse says why a picture cannot be drawn.
func (sub *request) refuse(p picture) error {
	if !p.speeds {
		return nil
	}
	return plots.SpeedsAlone(sub.train, sub.here(), sub.faults)
}

// drawing is the address of a drawing of the subject.
func (sub *request) drawing(name, format string, dark bool) string {
	st := page.State{
		Train: sub.state.Train, File: sub.state.File, FileName: sub.state.FileName,
		Range: sub.state.Range, Faults: sub.state.Faults, Pace: page.UsualPace,
	}
	if name == inTime.name {
		st.To = sub.state.To
	}
	q := st.Values()
	if dark {
		q.Set("shade", string(page.Dark))
	}
	return "/drawing/" + name + "." + format + "?" + q.Encode()
}

var mediaTypes = map[plots.Format]string{plots.SVG: "image/svg+xml", plots.PNG: "image/png", plots.PDF: "application/pdf"}

// serveDrawing answers /drawing/NAME.FORMAT.
func (s *Server) serveDrawing(w http.ResponseWriter, r *http.Request) {
	file := r.PathValue("file")
	name, _, _ := strings.Cut(file, ".")
	format, err := plots.FormatOf(file)
	var p picture
	for _, x := range append(pictures[:len(pictures):len(pictures)], inTime) {
		if x.name == name {
			p = x
		}
	}
	if p.draw == nil || err != nil || file != name+"."+string(format) {
		s.refuse(w, http.StatusNotFound, fmt.Sprintf("there is no drawing %s", kinematics.Quote(file)))
		return
	}
	st, err := page.ParseState(r.URL.Query())
	if err != nil {
		s.refuse(w, http.StatusBadRequest, err.Error())
		return
	}
	sub, err := s.look(st)
	if err != nil {
		s.refuse(w, http.StatusBadRequest, err.Error())
		return
	}
	if !s.begin(r.Context()) {
		return
	}
	defer s.end()
	var b bytes.Buffer
	var d plots.Drawing
	if err = sub.refuse(p); err == nil {
		d, err = p.draw(sub)
	}
	if err == nil {
		err = plots.Write(&b, format, d, plots.Style{Dark: st.Shade == page.Dark})
	}
	if err != nil {
		s.refuse(w, http.StatusBadRequest, err.Error())
		return
	}
	h := w.Header()
	h.Set("Content-Type", mediaTypes[format])
	// A drawing shown by itself may style itself, and nothing else.
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; sandbox")
	h.Set("Cache-Control", "private, max-age=600")
	if format == plots.PDF {
		h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", sub.train.Name+"-"+name+".pdf"))
	}
	w.Write(b.Bytes())
}
