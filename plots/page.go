package plots

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// A heading is the words around a picture.
type heading struct {
	train    *kinematics.Train
	title    string // of the train
	subtitle string // kind of drawing, ranges and faults
	notes    []string
	cautions []string // what must be said to whoever runs the vehicle
}

// headed is the heading of a kind of drawing of some ranges under faults.
func headed(kind string, t *kinematics.Train, q analysis.Question, cautions []string) heading {
	return heading{train: t, title: titleOf(t), subtitle: subtitle(kind, t, q.Ranges, q.Faults), cautions: cautions}
}

// SignNote is the sign convention that every drawing with speeds states.
const SignNote = "+ is the sense in which the input turns"

// name is the whole heading in one line.
func (h heading) name() string { return h.title + ": " + h.subtitle }

// footer says how the drawing is to be read and where the train comes from.
func (h heading) footer() []string {
	lines := append(slices.Clone(h.notes), "Source of the train: "+strings.Join(h.train.Sources, "; "))
	return append(lines, h.cautions...)
}

// titleOf is the title of a train, or its name.
func titleOf(t *kinematics.Train) string {
	if t.Title != "" {
		return t.Title
	}
	return t.Name
}

// The scripts of a page, its margin, and the gap around the picture.
var (
	titleScript    = script{size: 15, bold: true}
	subtitleScript = script{size: 10.5}
	footerScript   = script{size: 8}
)

const (
	margin = 24
	gap    = 12
)

// A page is a drawing with its heading and footer laid out.
type page struct {
	heading  heading
	bare     bool // without its words
	drawing  Drawing
	w, h     float64 // at the natural size
	scale    float64
	picture  box
	title    []string
	subtitle []string
	footer   []string
}

// A lowered drawing can do with less than its natural height, so that on a wide sheet
// all of it can be larger.
type lowered interface {
	slack(r *ruler) float64
}

// compose lays a drawing out. A size that is given scales the natural page until
// it fits, and the picture may fill what is left over of one side.
func compose(r *ruler, d Drawing, s Style) *page {
	arrange(r, d, s)
	pg := measure(r, d, s)
	if s.Size.Width > 0 {
		pg.scale = pg.fit(r, s.Size)
		pg.w, pg.h = s.Size.Width/pg.scale, s.Size.Height/pg.scale
		pg.words(r)
	}
	pg.picture = box{margin, pg.top(), pg.w - 2*margin, pg.h - pg.top() - pg.below()}
	return pg
}

// fit is the largest scale at which the page fits a size.
func (pg *page) fit(r *ruler, s Size) float64 {
	h := pg.h
	if low, ok := pg.drawing.(lowered); ok {
		h -= low.slack(r)
	}
	return min(s.Width/pg.w, s.Height/h)
}

// measure is the page at its natural size.
func measure(r *ruler, d Drawing, s Style) *page {
	pg := &page{heading: d.heading(), drawing: d, scale: 1, bare: s.Bare}
	if s.Title != "" {
		pg.heading.title = s.Title
	}
	w, h := d.size(r)
	pg.w = w + 2*margin
	pg.words(r)
	pg.h = h + pg.top() + pg.below()
	return pg
}

// words breaks heading and footer into lines.
func (pg *page) words(r *ruler) {
	if pg.bare {
		return
	}
	width := pg.w - 2*margin
	pg.title = r.wrap(titleScript, pg.heading.title, width)
	pg.subtitle = r.wrap(subtitleScript, pg.heading.subtitle, width)
	pg.footer = nil
	for _, note := range pg.heading.footer() {
		pg.footer = append(pg.footer, r.wrap(footerScript, note, width)...)
	}
}

func (pg *page) top() float64 {
	return margin + leading*(titleScript.size*float64(len(pg.title))+subtitleScript.size*float64(len(pg.subtitle))) + gap
}

func (pg *page) below() float64 {
	return gap + leading*footerScript.size*float64(len(pg.footer)) + margin*0.75
}

func (pg *page) draw(p *pen) {
	p.fill(p.paper, box{-1, -1, pg.w + 2, pg.h + 2}.corners()...) // over the edge: a last pixel may be cut
	y := p.lines(titleScript, point{margin, margin}, pg.title)
	soft := subtitleScript
	soft.color = p.soft
	p.lines(soft, point{margin, y}, pg.subtitle)
	pg.drawing.draw(p, pg.picture)
	foot := footerScript
	foot.color = p.soft
	p.lines(foot, point{margin, pg.picture.bottom() + gap}, pg.footer)
}

// readable refuses text that a format has no letters for. All other words of a
// drawing are names, which are plain letters, and our own.
func (pg *page) readable(format Format) error {
	what := "the title"
	texts := append([]string{pg.heading.title, pg.heading.subtitle}, pg.heading.footer()...)
	for i, text := range texts {
		if i > 0 {
			what = "the note at the foot"
		}
		if letter, bad := unreadable(newRuler(), format, text); bad {
			hint := "write .svg"
			if i == 0 {
				hint += " or another --title"
			}
			return fmt.Errorf("%s has the letter %q, which a .%s drawing cannot show: %s", what, letter, format, hint)
		}
	}
	return nil
}
