package plots

import (
	"bytes"
	"context"
	"testing"

	"gonum.org/v1/plot/vg/vgsvg"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
)

// Each report is one sheet of A4 that stands, with all its words on the paper.
func TestReportPage(t *testing.T) {
	for _, name := range []string{"depot-shuttle-three-speed", "ravigneaux-three-speed"} {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		c := analysis.NewCase(train)
		if err := c.See("R", "bind"); err != nil {
			t.Fatal(err)
		}
		if err := c.Find(train.Couplings[0].Name, "burnt"); err != nil {
			t.Fatal(err)
		}
		for _, kind := range analysis.ReportKinds() {
			x, err := analysis.Open(train).Report(context.Background(), analysis.ReportQuestion{Kind: analysis.ReportKind(kind), Case: c})
			if err != nil {
				t.Fatal(err)
			}
			if x.Title == "" {
				t.Errorf("%s of %s has no title", kind, name)
			}
			var b bytes.Buffer
			if err := Write(&b, PDF, ReportPage(x), Style{Size: Upright()}); err != nil {
				t.Fatal(err)
			}
			if n := bytes.Count(b.Bytes(), []byte("/Type /Page\n")); n != 1 {
				t.Errorf("%s of %s: %d sheets", kind, name, n)
			}
			r := newRuler()
			pg := compose(r, ReportPage(x), Style{Size: Upright()})
			p := pg.pen(vgsvg.New(pg.measures()), r, Style{})
			pg.draw(p)
			for _, text := range p.texts {
				if !(box{0, 0, pg.w, pg.h}).holds(text.box) {
					t.Errorf("%s of %s: %q is off the paper", kind, name, text.text)
				}
			}
			if len(p.texts) < 10 {
				t.Errorf("%s of %s: only %d texts", kind, name, len(p.texts))
			}
		}
	}
}
