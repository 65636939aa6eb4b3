package plots

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

// Ranges stand in a grid: on a slide all is larger than in one column, and without a
// size the drawing has about the shape of a sheet of paper, no tower.
func TestRangesStandInAGrid(t *testing.T) {
	sys := library(t, "simpson-three-speed")
	r := newRuler()
	slide := Style{Size: Size{Width: 1200, Height: 675}}
	column := func(d Drawing) float64 {
		d.(tiled).tiles().columns = 1
		pg := measure(r, d, slide)
		return min(slide.Size.Width/pg.w, slide.Size.Height/pg.h)
	}
	for kind, d := range map[string]Drawing{
		"half-section": new(Layouts).HalfSection(explained(t, sys, sys.Train.Ranges, nil)),
		"levers":       leverDiagram(t, sys, sys.Train.Ranges, nil),
	} {
		one := column(d)
		if grid := compose(r, d, slide).scale; grid < 1.8*one {
			t.Errorf("%s: on a slide the scale is %.2f, in one column %.2f", kind, grid, one)
		}
		pg := compose(r, d, Style{})
		if shape := pg.w / pg.h; shape < 0.9 || shape > 2.2 {
			t.Errorf("%s: without a size it is %.0f x %.0f", kind, pg.w, pg.h)
		}
	}
}

// A state of a grid lies in a box of its own, whatever the number of columns.
func TestTilesDoNotOverlap(t *testing.T) {
	for n := 1; n <= 9; n++ {
		for columns := 0; columns <= n; columns++ {
			g := tiles{n: n, columns: columns}
			tile := func(i int) (w, h float64) { return 100 + 7*float64(i%3), 50 + 11*float64(i%4) }
			w, h := g.size(tile)
			var boxes []box
			g.place(box{5, 9, w, h}, tile, func(i int, b box) {
				if x, y := tile(i); b.w < x-1e-9 || b.h < y-1e-9 {
					t.Errorf("%d in %d columns: state %d has %v", n, columns, i, b)
				}
				for _, o := range boxes {
					if b.overlaps(o) {
						t.Errorf("%d in %d columns: %v overlaps %v", n, columns, b, o)
					}
				}
				if !(box{5, 9, w, h}).holds(b) {
					t.Errorf("%d in %d columns: %v is beyond %g x %g", n, columns, b, w, h)
				}
				boxes = append(boxes, b)
			})
			if len(boxes) != n {
				t.Errorf("%d of %d states are placed", len(boxes), n)
			}
		}
	}
}

// A PDF without a size is a sheet of A4 [ISO 216: 210 mm x 297 mm].
func TestPDFIsA4(t *testing.T) {
	sys := library(t, "simpson-three-speed")
	var out bytes.Buffer
	if err := Write(&out, PDF, leverDiagram(t, sys, sys.Train.Ranges, nil), Style{}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), "/MediaBox [0 0 841.89 595.28]") && !strings.Contains(out.String(), "/MediaBox [0 0 595.28 841.89]") {
		t.Error("the PDF is no sheet of A4")
	}
	if math.Abs(longA4-841.89) > 0.01 || math.Abs(shortA4-595.28) > 0.01 {
		t.Errorf("A4 is %g x %g points", longA4, shortA4)
	}
}
