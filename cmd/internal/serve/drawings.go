package serve

import (
	"bytes"
	"fmt"
	"net/http"
	"regexp"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/plots"
	"tieup/plots/page"
)

// A picture is a kind of drawing that the server makes.
type picture struct {
	name, title string
	draw        func(sub *subject) plots.Drawing
}

// here is the range of a subject as the list that drawings take.
func (sub *subject) here() []kinematics.Range {
	return []kinematics.Range{sub.train.Ranges[sub.rng]}
}

var pictures = []picture{
	{"speeds", "Speed plan", func(s *subject) plots.Drawing {
		return plots.SpeedPlan(s.system, s.here(), s.faults, plots.SpeedOptions{})
	}},
	{"path", "Half-section", func(s *subject) plots.Drawing { return plots.HalfSection(s.system, s.here(), s.faults) }},
	{"lever", "Lever diagram", func(s *subject) plots.Drawing { return plots.LeverDiagram(s.system, s.here(), s.faults) }},
	{"chart", "Application chart", func(s *subject) plots.Drawing {
		return plots.ApplicationChart(s.system, s.train.Ranges, s.faults)
	}},
	{"faults", "Wall chart of single faults", func(s *subject) plots.Drawing {
		return plots.FaultChart(s.system, s.train.Ranges, s.faults)
	}},
}

// drawings returns the drawings of an answer.
func (s *Server) drawings(sub *subject, a *page.Answer) (speeds, path page.Drawing, other []page.Drawing) {
	for _, p := range pictures {
		d := page.Drawing{Title: p.title, Link: sub.drawing(p.name, "svg", false), Dark: sub.drawing(p.name, "svg", true), PDF: sub.drawing(p.name, "pdf", false)}
		other = append(other, d)
		switch p.name {
		case "speeds":
			d.Title += " of " + a.Range.Name
			d.Text = "Speed plan of " + a.Range.Name + ": " + a.Cell.Text() + ". The numbers are in the table that follows."
			d.Width, d.Height = s.extent(sub, p)
			speeds = d
		case "path":
			d.Title += " in " + a.Range.Name
			d.Text = "Schematic half-section of the train in " + a.Range.Name + ": " + a.Cell.Text() + ". What carries the load is told under Why."
			d.Width, d.Height = s.extent(sub, p)
			path = d
		}
	}
	return speeds, path, other
}

// drawing is the address of a drawing of the subject.
func (sub *subject) drawing(name, format string, dark bool) string {
	st := page.State{
		Train: sub.state.Train, File: sub.state.File, FileName: sub.state.FileName,
		Range: sub.state.Range, Faults: sub.state.Faults, Pace: page.UsualPace,
	}
	q := st.Values()
	if dark {
		q.Set("shade", string(page.Dark))
	}
	return "/drawing/" + name + "." + format + "?" + q.Encode()
}

var svgSize = regexp.MustCompile(`<svg width="([0-9.]+)pt" height="([0-9.]+)pt"`)

// extent returns the size of a drawing in pixels of a style sheet, so that the
// page keeps its place while the drawing loads.
func (s *Server) extent(sub *subject, p picture) (width, height int) {
	svg, err := s.svg(sub, p, false)
	if err != nil {
		return 0, 0
	}
	m := svgSize.FindSubmatch(svg)
	if m == nil {
		return 0, 0
	}
	w, _ := strconv.ParseFloat(string(m[1]), 64)
	h, _ := strconv.ParseFloat(string(m[2]), 64)
	return int(w*96/72 + 0.5), int(h*96/72 + 0.5)
}

// svg draws an SVG, or takes it from those that were drawn last: the page asks
// for what it has just been measured for.
func (s *Server) svg(sub *subject, p picture, dark bool) ([]byte, error) {
	key := sub.drawing(p.name, "svg", dark)
	if b, ok := s.drawn.get(key); ok {
		return b, nil
	}
	var b bytes.Buffer
	if err := plots.Write(&b, plots.SVG, p.draw(sub), plots.Style{Dark: dark}); err != nil {
		return nil, err
	}
	s.drawn.put(key, b.Bytes())
	return b.Bytes(), nil
}

var mediaTypes = map[plots.Format]string{plots.SVG: "image/svg+xml", plots.PNG: "image/png", plots.PDF: "application/pdf"}

// serveDrawing answers /drawing/NAME.FORMAT.
func (s *Server) serveDrawing(w http.ResponseWriter, r *http.Request) {
	file := r.PathValue("file")
	name, _, _ := strings.Cut(file, ".")
	format, err := plots.FormatOf(file)
	var p picture
	for _, x := range pictures {
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
	dark := st.Shade == page.Dark
	var out []byte
	if format == plots.SVG {
		out, err = s.svg(sub, p, dark)
	} else {
		var b bytes.Buffer
		err = plots.Write(&b, format, p.draw(sub), plots.Style{Dark: dark})
		out = b.Bytes()
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
	w.Write(out)
}
