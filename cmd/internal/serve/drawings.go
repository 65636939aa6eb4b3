package serve

import (
	"bytes"
	"context"
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
	draw        func(ctx context.Context, sub *request) (plots.Drawing, error)
}

// here asks about the range of a request, all about every range.
func (sub *request) here() analysis.Question {
	return analysis.Question{Ranges: []kinematics.Range{sub.train.Ranges[sub.rng]}, Condition: sub.wrong}
}

func (sub *request) all() analysis.Question {
	return analysis.Question{Ranges: sub.train.Ranges, Condition: sub.wrong}
}

// drawn draws an answer, if there is one.
func drawn[A any, D plots.Drawing](draw func(A) D) func(A, error) (plots.Drawing, error) {
	return func(answer A, err error) (plots.Drawing, error) {
		if err != nil {
			return nil, err
		}
		return draw(answer), nil
	}
}

var pictures = []picture{
	{"speeds", "Speed plan", true, func(ctx context.Context, s *request) (plots.Drawing, error) {
		plan := func(c *analysis.Chart) *plots.Speeds { return plots.SpeedPlan(c, plots.SpeedOptions{}) }
		return drawn(plan)(s.answers.Chart(ctx, s.here()))
	}},
	{"path", "Half-section", true, func(ctx context.Context, s *request) (plots.Drawing, error) {
		return drawn(s.layouts.HalfSection)(s.answers.Explain(ctx, s.here()))
	}},
	{"lever", "Lever diagram", true, func(ctx context.Context, s *request) (plots.Drawing, error) {
		return drawn(plots.LeverDiagram)(s.answers.Levers(ctx, s.here()))
	}},
	{"chart", "Application chart", false, func(ctx context.Context, s *request) (plots.Drawing, error) {
		return drawn(plots.ApplicationChart)(s.answers.Chart(ctx, s.all()))
	}},
	{"faults", "Wall chart of single faults", false, func(ctx context.Context, s *request) (plots.Drawing, error) {
		return drawn(plots.FaultChart)(s.answers.WallChart(ctx, analysis.WallQuestion{Question: s.all()}))
	}},
	{"plan", "Turns by hand that prove the assembly", false,
		func(ctx context.Context, s *request) (plots.Drawing, error) {
			q := analysis.ReportQuestion{Kind: analysis.ForBench, Case: s.sheet, Plan: s.plan}
			return drawn(plots.ReportPage)(s.answers.Report(ctx, q))
		}},
}

// byHand is the half-section with what the chosen turn by hand applies framed.
var byHand = picture{"turn", "Half-section", false, func(ctx context.Context, s *request) (plots.Drawing, error) {
	plan, err := s.answers.Plan(ctx, s.plan)
	if err != nil {
		return nil, err
	}
	if s.state.Turn < 1 || s.state.Turn > len(plan.Turns) {
		return nil, fmt.Errorf("the plan has %s", kinematics.Count(len(plan.Turns), "turn"))
	}
	return drawn(plots.ReportSection)(s.answers.TurnDrawn(ctx, plan, s.state.Turn-1))
}}

// inTime is the picture of the shift that is played.
var inTime = picture{"shift", "Shift in time", false, func(ctx context.Context, s *request) (plots.Drawing, error) {
	answer, err := s.play(ctx)
	if err != nil {
		return nil, err
	}
	return plots.ShiftInTime([]*analysis.Played{answer}, []string{""})
}}

// drawings returns what can be taken away.
func (sub *request) drawings() (list []page.Drawing) {
	for _, p := range pictures {
		d := page.Drawing{Title: p.title, Link: sub.drawing(p.name, "svg"), PDF: sub.drawing(p.name, "pdf")}
		if err := sub.refuse(p); err != nil {
			d.Refused = err.Error()
		}
		list = append(list, d)
	}
	return list
}

// refuse says why a picture cannot be drawn.
func (sub *request) refuse(p picture) error {
	if !p.speeds {
		return nil
	}
	return plots.SpeedsAlone(sub.train, sub.here().Ranges, sub.wrong.Faults)
}

// drawing is the address of a drawing of the subject.
func (sub *request) drawing(name, format string) string {
	st := page.State{
		Train: sub.state.Train, File: sub.state.File, FileName: sub.state.FileName,
		Range: sub.state.Range, Faults: sub.state.Faults, Pace: page.UsualPace,
	}
	switch name {
	case inTime.name:
		st.To = sub.state.To
	case byHand.name:
		st.Turn = sub.state.Turn
		fallthrough
	case "plan":
		st.Air, st.Without, st.NoHold = sub.state.Air, sub.state.Without, sub.state.NoHold
	}
	q := st.Values()
	return "/drawing/" + name + "." + format + "?" + q.Encode()
}

var mediaTypes = map[plots.Format]string{plots.SVG: "image/svg+xml", plots.PNG: "image/png",
	plots.PDF: "application/pdf"}

// serveDrawing answers /drawing/NAME.FORMAT.
func (s *Server) serveDrawing(w http.ResponseWriter, r *http.Request) {
	file := r.PathValue("file")
	name, _, _ := strings.Cut(file, ".")
	format, err := plots.FormatOf(file)
	var p picture
	for _, x := range append(pictures[:len(pictures):len(pictures)], inTime, byHand) {
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
	sub, err := s.look(r.Context(), st)
	if r.Context().Err() != nil {
		return
	}
	if err != nil {
		s.refuse(w, http.StatusBadRequest, err.Error())
		return
	}
	end, ok := s.begin(r.Context(), sub.state)
	if !ok {
		return
	}
	defer end()
	var b bytes.Buffer
	var d plots.Drawing
	if err = sub.refuse(p); err == nil {
		d, err = p.draw(r.Context(), sub)
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
