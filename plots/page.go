package plots

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// A heading is the words around a picture.
type heading struct {
	train    *kinematics.Train
	title    string   // of the train
	subtitle string   // kind of drawing, ranges and faults
	others   []string // what else ranges can come to
	notes    []string
	cautions []string // what must be said to whoever runs the vehicle
}

// headed is the heading of a kind of drawing of some ranges under faults, and of what else
// ranges can come to.
func headed(kind string, t *kinematics.Train, q analysis.Question, cautions []string,
	outcomes ...analysis.RangeOutcomes,
) heading {
	return heading{train: t, title: titleOf(t), subtitle: subtitle(kind, t, q.Ranges, q.Faults), cautions: cautions,
		others: kinematics.Map(outcomes, analysis.RangeOutcomes.Says)}
}

// name is the whole heading in one line.
func (h heading) name() string { return h.title + ": " + h.subtitle }

// footer says how the drawing is to be read and where the train comes from.
func (h heading) footer() []string {
	lines := slices.Concat(h.others, h.notes, []string{"Source of the train: " + strings.Join(h.train.Sources, "; ")})
	if _, standing := reading.Apart(h.cautions); standing != "" {
		lines = append(lines, standing)
	}
	return lines
}

// warnings are the cautions without the standing line, which is for the foot.
func (h heading) warnings() []string {
	own, _ := reading.Apart(h.cautions)
	return own
}

// titleOf is the title of a train, or its name.
func titleOf(t *kinematics.Train) string { return cmp.Or(t.Title, t.Name) }

// A frame is the type of the words around a picture, the margin, and the gap between
// them. On a slide the words of the picture need the room: what is to be read there is
// as large as they are, and the foot, which says where the train comes from, is small.
type frame struct {
	title, subtitle, caution, footer script
	margin, gap                      float64
}

var (
	paperFrame = frame{script{size: 15, bold: true}, script{size: 10.5}, script{size: 8}, script{size: 8}, 24, 12}
	slideFrame = frame{script{size: 10, bold: true}, script{size: 8}, script{size: smallest},
		script{size: smallest * footShown / leastShown}, 12, 6}
)

// A page is a drawing with its heading and footer laid out.
type page struct {
	frame
	heading  heading
	bare     bool // without its words
	drawing  Drawing
	w, h     float64 // at the natural size
	scale    float64
	picture  box
	title    []string
	subtitle []string
	cautions []string
	footer   []string
}

// A slid drawing has another form on a slide and on small paper, with larger letters.
type slid interface {
	slide() Drawing
}

// A lowered drawing can do with less than its natural height, so that on a wide sheet
// all of it can be larger.
type lowered interface {
	slack(r *ruler) float64
}

// A small drawing has a least size on a slide, below its natural one, with room for its
// words.
type small interface {
	least(r *ruler) (w, h float64)
}

// compose lays a drawing out. A size that is given scales the natural page until
// it fits, and the picture may fill what is left over of one side.
func compose(r *ruler, d Drawing, s Style) *page {
	x, ok := d.(slid)
	if ok && s.Size.pixels {
		return composed(r, x.slide(), s)
	}
	pg := composed(r, d, s)
	if ok && pg.scale < 1 { // on paper that is too small for it
		if larger := composed(r, x.slide(), s); larger.scale > pg.scale {
			return larger
		}
	}
	return pg
}

func composed(r *ruler, d Drawing, s Style) *page {
	arrange(r, d, s)
	pg := measure(r, d, s)
	if s.Size.Width > 0 {
		pg.scale = pg.fit(r, s.Size)
		pg.w, pg.h = s.Size.Width/pg.scale, s.Size.Height/pg.scale
		pg.words(r)
	}
	pg.picture = box{pg.margin, pg.top(), pg.w - 2*pg.margin, pg.h - pg.top() - pg.below()}
	return pg
}

// fit is the largest scale at which the page fits a size.
func (pg *page) fit(r *ruler, s Size) float64 {
	h := pg.h
	if low, ok := pg.drawing.(lowered); ok && !s.pixels {
		h -= low.slack(r)
	}
	return min(s.Width/pg.w, s.Height/h)
}

// measure is the page at its natural size.
func measure(r *ruler, d Drawing, s Style) *page {
	pg := &page{heading: d.heading(), drawing: d, scale: 1, bare: s.Bare, frame: paperFrame}
	w, h := d.size(r)
	if s.Size.pixels && !onWall(d) {
		pg.frame = slideFrame
		if x, ok := d.(small); ok {
			w, h = x.least(r)
		}
	}
	if s.Title != "" {
		pg.heading.title = s.Title
	}
	pg.w = w + 2*pg.margin
	pg.words(r)
	pg.h = h + pg.top() + pg.below()
	return pg
}

// words breaks heading and footer into lines.
func (pg *page) words(r *ruler) {
	if pg.bare {
		return
	}
	width := pg.w - 2*pg.margin
	wrapped := func(s script, texts ...string) (lines []string) {
		for _, text := range texts {
			lines = append(lines, r.wrap(s, text, width)...)
		}
		return lines
	}
	pg.title, pg.subtitle = wrapped(pg.frame.title, pg.heading.title), wrapped(pg.frame.subtitle, pg.heading.subtitle)
	pg.cautions = wrapped(pg.caution, pg.heading.warnings()...)
	pg.footer = wrapped(pg.frame.footer, pg.heading.footer()...)
}

func (pg *page) top() float64 {
	f := pg.frame
	return f.margin + leading*(f.title.size*float64(len(pg.title))+f.subtitle.size*float64(len(pg.subtitle))) + f.gap
}

func (pg *page) below() float64 {
	f := pg.frame
	lines := f.caution.size*float64(len(pg.cautions)) + f.footer.size*float64(len(pg.footer))
	return f.gap + leading*lines + f.margin*0.75
}

func (pg *page) draw(p *pen) {
	p.fill(p.paper, box{-1, -1, pg.w + 2, pg.h + 2}.corners()...) // over the edge: a last pixel may be cut
	soft := func(s script) script {
		s.color = p.soft
		return s
	}
	y := p.lines(pg.frame.title, point{pg.margin, pg.margin}, pg.title)
	p.lines(soft(pg.frame.subtitle), point{pg.margin, y}, pg.subtitle)
	pg.drawing.draw(p, pg.picture)
	y = p.lines(soft(pg.caution), point{pg.margin, pg.picture.bottom() + pg.gap}, pg.cautions)
	p.lines(soft(pg.frame.footer), point{pg.margin, y}, pg.footer)
}

// readable refuses text that a format has no letters for. All other words of a
// drawing are names, which are plain letters, and our own.
func (pg *page) readable(format Format) error {
	what := "the title"
	texts := slices.Concat([]string{pg.heading.title, pg.heading.subtitle}, pg.heading.footer(), pg.heading.warnings())
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
