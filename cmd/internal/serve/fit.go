package serve

import (
	"context"
	"errors"
	"io"
	"log"
	"net/http"
	"path/filepath"
	"strings"

	"tieup/gearsets"
	"tieup/gearsets/appchart"
	"tieup/gearsets/problem"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/plots/page"
)

// serveFitForm shows the form for an application chart.
func (s *Server) serveFitForm(w http.ResponseWriter, _ *http.Request) {
	giveFit(w, http.StatusOK, &page.FitForm{Chart: appchart.Blank()})
}

// serveFit answers which train has the chart of the form.
func (s *Server) serveFit(w http.ResponseWriter, r *http.Request) {
	name, src, err := chartOf(r)
	// Forms send each end of a line as two signs.
	f := &page.FitForm{Chart: problem.Plain(strings.ReplaceAll(string(src), "\r\n", "\n")), Problem: err}
	if err == nil {
		if !enter(r.Context(), s.foreign) {
			return
		}
		f.Answer, f.Problem = fitChart(r.Context(), name, src)
		<-s.foreign
	}
	if f.Answer != nil && f.Answer.Fits {
		var st page.State
		if err := Put(&st, f.Answer.Name+".yaml", []byte(f.Answer.File)); err == nil {
			st.Pace = page.UsualPace
			f.Link = st.Link()
		}
	}
	status := http.StatusOK
	if f.Problem != nil {
		status = http.StatusUnprocessableEntity
	}
	giveFit(w, status, f)
}

func giveFit(w http.ResponseWriter, status int, f *page.FitForm) {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	// A form of the page itself says where it comes from, or the guard refuses it.
	h.Set("Referrer-Policy", "same-origin")
	w.WriteHeader(status)
	if err := page.WriteFit(w, f); err != nil {
		log.Printf("tieup page: %v", err)
	}
}

// chartOf reads the chart of a form: its file, or else its text.
func chartOf(r *http.Request) (name string, src []byte, err error) {
	if err := r.ParseMultipartForm(appchart.MaxSize); err != nil {
		return "", nil, errors.New("no chart came with the request")
	}
	if file, head, err := r.FormFile("file"); err == nil {
		defer file.Close()
		if src, err = io.ReadAll(io.LimitReader(file, appchart.MaxSize+1)); err == nil && len(src) > 0 {
			return page.ShortName(problem.Plain(head.Filename)), src, nil
		}
	}
	return "the chart", []byte(r.FormValue("chart")), nil
}

// fitChart reads a chart and fits it to the library.
func fitChart(ctx context.Context, name string, src []byte) (*analysis.FittedChart, error) {
	trains, err := gearsets.All()
	if err != nil {
		return nil, err
	}
	chart, problems := appchart.Read(name, src, trains)
	if chart == nil {
		return nil, problems
	}
	if own := strings.TrimSuffix(filepath.Base(name), filepath.Ext(name)); chart.Name == "" && kinematics.ValidName(own) {
		chart.Name = own
	}
	return analysis.Fit(ctx, analysis.FitQuestion{Chart: chart, Trains: trains, Audit: Audit, Write: gearsets.Write})
}

// Audit looks at the teeth of a train.
func Audit(t *kinematics.Train) []analysis.Finding {
	var findings []analysis.Finding
	for _, f := range gearsets.Audit(t) {
		findings = append(findings, analysis.Finding{
			Gearset: t.Gearsets[f.Gearset].Name, Condition: string(f.Condition), State: f.State.String(),
			Text: f.Text, Hint: f.Hint, Fails: f.State == gearsets.AuditWarning,
		})
	}
	return findings
}
