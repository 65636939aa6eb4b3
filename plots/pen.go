package plots

import (
	"image/color"
	"math"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"tieup/kinematics"
)

// A point is a place on a drawing, in points of 1/72 inch at its natural size,
// from the upper left corner, y downwards.
type point struct{ x, y float64 }

// A box is an upright rectangle.
type box struct{ x, y, w, h float64 }

func (b box) right() float64  { return b.x + b.w }
func (b box) bottom() float64 { return b.y + b.h }

// overlaps says whether two boxes have more than an edge in common.
func (b box) overlaps(o box) bool {
	const touch = 0.01
	return b.x < o.right()-touch && o.x < b.right()-touch && b.y < o.bottom()-touch && o.y < b.bottom()-touch
}

// holds says whether o lies in b.
func (b box) holds(o box) bool {
	const touch = 0.01
	return o.x >= b.x-touch && o.y >= b.y-touch && o.right() <= b.right()+touch && o.bottom() <= b.bottom()+touch
}

// meets says whether a straight line goes through a box [Liang and Barsky 1984].
func meets(a, b point, o box) bool {
	from, to := 0.0, 1.0
	for _, x := range [][4]float64{{a.x, b.x - a.x, o.x, o.right()}, {a.y, b.y - a.y, o.y, o.bottom()}} {
		at, step, low, high := x[0], x[1], x[2], x[3]
		if step == 0 {
			if at <= low || at >= high {
				return false
			}
			continue
		}
		t, u := (low-at)/step, (high-at)/step
		from, to = max(from, min(t, u)), min(to, max(t, u))
	}
	return from < to
}

// A line is a style of stroke; dash gives lengths of strokes and gaps.
type line struct {
	color color.Color
	width float64
	dash  []float64
}

// A script is a style of text; size 0 is 9 points.
type script struct {
	size  float64
	bold  bool
	color color.Color // nil is the ink of the theme
	// anchor is the part of the text that lies at its point: 0 the left end,
	// 0.5 the middle, 1 the right end.
	anchor float64
}

func (s script) points() float64 {
	if s.size == 0 {
		return 9
	}
	return s.size
}

// Parts of the size of a script: the height of a capital letter, the depth of a
// descender, and the distance of lines.
const (
	capital   = 0.72
	descender = 0.21
	leading   = 1.22
)

// A ruler measures text in Liberation Sans.
type ruler struct {
	regular, bold font.Face
	widths        map[glyph]float64
	plain         [2][128]float64 // of the commonest letters, regular and bold
}

type glyph struct {
	letter rune
	bold   bool
}

func newRuler() *ruler {
	return &ruler{
		regular: newFace(xfont.WeightNormal, liberationsansregular.TTF),
		bold:    newFace(xfont.WeightBold, liberationsansbold.TTF),
		widths:  map[glyph]float64{},
	}
}

// newFace makes a face of Liberation Sans from its font file.
func newFace(w xfont.Weight, ttf []byte) font.Face {
	parsed, err := opentype.Parse(ttf)
	if err != nil {
		panic("plots: an embedded font is damaged: " + err.Error())
	}
	return font.Face{Font: font.Font{Typeface: "Liberation", Variant: "Sans", Weight: w, Size: em}, Face: parsed}
}

// em is the size at which letters are measured.
const em = 1000

func (r *ruler) face(bold bool) font.Face {
	if bold {
		return r.bold
	}
	return r.regular
}

// width returns the width of text.
func (r *ruler) width(s script, text string) float64 {
	sum := 0.0
	for _, letter := range text {
		sum += r.advance(letter, s.bold)
	}
	return sum * s.points()
}

// advance is the width of a letter as a share of the size.
func (r *ruler) advance(letter rune, bold bool) float64 {
	plain := &r.plain[0]
	if bold {
		plain = &r.plain[1]
	}
	if letter < rune(len(plain)) && plain[letter] > 0 {
		return plain[letter]
	}
	g := glyph{letter, bold}
	w, known := r.widths[g]
	if !known {
		face := r.face(bold)
		w = float64(face.Width(string(letter))) / em
		r.widths[g] = w
		if letter < rune(len(plain)) {
			plain[letter] = w
		}
	}
	return w
}

// widest returns the width of the widest of some texts.
func (r *ruler) widest(s script, texts ...string) float64 {
	return most(0, texts, func(t string) float64 { return r.width(s, t) })
}

// most is the greatest of what a list has, at least so much.
func most[T any](least float64, list []T, of func(T) float64) float64 {
	for _, x := range list {
		least = max(least, of(x))
	}
	return least
}

// A pen draws on a page.
type pen struct {
	*ruler
	*theme
	canvas canvas
	scale  float64 // of the page to its natural size
	height float64 // of the page at its natural size
	texts  []inked
	solids []box // what no text may cover or be covered by
	of     []int // the bodies that words name, nil for any
	wires  []run // the lines of bodies
}

// A canvas is what a pen needs of [vg.Canvas].
type canvas interface {
	SetLineWidth(vg.Length)
	SetLineDash(pattern []vg.Length, offset vg.Length)
	SetColor(color.Color)
	Stroke(vg.Path)
	Fill(vg.Path)
	FillString(f font.Face, at vg.Point, text string)
}

// An inked text remembers where it was drawn.
type inked struct {
	text string
	box  box
	of   []int // the bodies on whose lines it may lie, nil for any
}

func (p *pen) at(q point) vg.Point {
	return vg.Point{X: vg.Length(q.x * p.scale), Y: vg.Length((p.height - q.y) * p.scale)}
}

func (p *pen) path(points []point) vg.Path {
	var path vg.Path
	for i, q := range points {
		if i == 0 {
			path.Move(p.at(q))
		} else {
			path.Line(p.at(q))
		}
	}
	return path
}

func (p *pen) use(l line) {
	p.canvas.SetColor(l.color)
	p.canvas.SetLineWidth(vg.Length(l.width * p.scale))
	p.canvas.SetLineDash(kinematics.Map(l.dash, func(d float64) vg.Length { return vg.Length(d * p.scale) }), 0)
}

// stroke draws a line through points.
func (p *pen) stroke(l line, points ...point) {
	if len(points) < 2 {
		return
	}
	p.use(l)
	p.canvas.Stroke(p.path(points))
}

// strokes draws separate lines, from the first to the second point of each pair.
func (p *pen) strokes(l line, pairs ...[2]point) {
	var path vg.Path
	for _, q := range pairs {
		path.Move(p.at(q[0]))
		path.Line(p.at(q[1]))
	}
	p.use(l)
	p.canvas.Stroke(path)
}

// outline draws a closed line through points.
func (p *pen) outline(l line, points ...point) {
	p.use(l)
	path := p.path(points)
	path.Close()
	p.canvas.Stroke(path)
}

// fill fills a polygon.
func (p *pen) fill(c color.Color, points ...point) {
	p.canvas.SetColor(c)
	path := p.path(points)
	path.Close()
	p.canvas.Fill(path)
}

func (b box) corners() []point {
	return []point{{b.x, b.y}, {b.right(), b.y}, {b.right(), b.bottom()}, {b.x, b.bottom()}}
}

// round is the path of a circle, as four cubic curves.
func (p *pen) round(c point, r float64) vg.Path {
	const k = 0.5523 // puts the middle of a cubic quarter on the circle
	var path vg.Path
	path.Move(p.at(point{c.x + r, c.y}))
	dx, dy := r, 0.0
	for range 4 {
		nx, ny := -dy, dx // a quarter further
		path.CubeTo(p.at(point{c.x + dx + k*nx, c.y + dy + k*ny}), p.at(point{c.x + nx + k*dx, c.y + ny + k*dy}),
			p.at(point{c.x + nx, c.y + ny}))
		dx, dy = nx, ny
	}
	path.Close()
	return path
}

// disc fills a circle.
func (p *pen) disc(c color.Color, center point, r float64) {
	p.canvas.SetColor(c)
	p.canvas.Fill(p.round(center, r))
}

// circle draws a circle.
func (p *pen) circle(l line, center point, r float64) {
	p.use(l)
	p.canvas.Stroke(p.round(center, r))
}

// text draws one line of text with its base line at q and returns its box.
func (p *pen) text(s script, q point, text string) box {
	w := p.width(s, text)
	x := q.x - s.anchor*w
	b := box{x, q.y - capital*s.points(), w, (capital + descender) * s.points()}
	if text == "" {
		return b
	}
	if s.color == nil {
		s.color = p.ink
	}
	face := p.face(s.bold)
	face.Font.Size = vg.Length(s.points() * p.scale)
	p.canvas.SetColor(s.color)
	p.canvas.FillString(face, p.at(point{x, q.y}), text)
	p.texts = append(p.texts, inked{text, b, p.of})
	return b
}

// middle draws one line of text whose capitals are centred on the height q.y.
func (p *pen) middle(s script, q point, text string) box {
	return p.text(s, point{q.x, q.y + capital/2*s.points()}, text)
}

// masked is middle on a ground of paper, so that lines behind do not cross it.
func (p *pen) masked(s script, q point, text string) box {
	w := p.width(s, text)
	const rim = 1.5
	h := s.points() * (capital + 0.24)
	p.fill(p.paper, box{q.x - s.anchor*w - rim, q.y - h/2, w + 2*rim, h}.corners()...)
	return p.middle(s, q, text)
}

// lines draws lines of text one below the other and returns the y below them.
func (p *pen) lines(s script, q point, texts []string) float64 {
	for _, t := range texts {
		p.text(s, point{q.x, q.y + capital*s.points()}, t)
		q.y += leading * s.points()
	}
	return q.y
}

// wrap breaks text between words into lines of at most width; a word that is
// wider is broken behind a hyphen, dot or slash where it has one.
func (r *ruler) wrap(s script, text string, width float64) []string {
	var lines []string
	current, used := "", 0.0
	for _, piece := range pieces(text) {
		word := piece.text
		if piece.spaced && current != "" {
			word = " " + word
		}
		w := r.width(s, word)
		if current != "" && used+w > width {
			lines = append(lines, current)
			current, used = piece.text, r.width(s, piece.text)
			continue
		}
		current, used = current+word, used+w
	}
	if current != "" || len(lines) == 0 {
		lines = append(lines, current)
	}
	return lines
}

// A piece of text is what a line may end behind.
type piece struct {
	text   string
	spaced bool // a space stands before it
}

func pieces(text string) []piece {
	var list []piece
	spaced := false
	word := []rune{}
	flush := func() {
		if len(word) > 0 {
			list = append(list, piece{string(word), spaced})
			spaced = false
		}
		word = word[:0]
	}
	for _, r := range text {
		if r == ' ' || r == '\n' {
			flush()
			spaced = true
			continue
		}
		word = append(word, r)
		// Not behind the first letter: "-2.4" and "a-b" stay whole.
		if (r == '-' || r == '.' || r == '/') && len(word) > 3 {
			flush()
		}
	}
	flush()
	return list
}

// clip shortens text to a width, with an ellipsis.
func (r *ruler) clip(s script, text string, width float64) string {
	if r.width(s, text) <= width {
		return text
	}
	letters := []rune(text)
	for len(letters) > 0 && r.width(s, string(letters)+"…") > width {
		letters = letters[:len(letters)-1]
	}
	return string(letters) + "…"
}

// arrow draws an arrowhead with its tip at q that points along (dx, dy), a unit vector.
func (p *pen) arrow(c color.Color, q point, dx, dy, size float64) {
	back := point{q.x - dx*size, q.y - dy*size}
	p.fill(c, q, point{back.x - dy*size*0.4, back.y + dx*size*0.4}, point{back.x + dy*size*0.4, back.y - dx*size*0.4})
}

// hatch draws the housing: a line from a to b with short strokes on the side
// that lies to the right of the way from a to b, as seen on the page.
func (p *pen) hatch(l line, a, b point) {
	p.stroke(l, a, b)
	length := math.Hypot(b.x-a.x, b.y-a.y)
	ux, uy := (b.x-a.x)/length, (b.y-a.y)/length
	const step, depth = 4.0, 4.5
	n := max(int(length/step), 2)
	var short [][2]point
	for i := range n {
		d := (float64(i) + 0.8) * length / float64(n)
		from := point{a.x + ux*d, a.y + uy*d}
		short = append(short, [2]point{from, {from.x - uy*depth - ux*depth*0.7, from.y + ux*depth - uy*depth*0.7}})
	}
	p.strokes(line{color: l.color, width: l.width * 0.6}, short...)
}

// A mark is the shape of the points of a series.
type mark int

// The marks, told apart without colour.
const (
	disc mark = iota
	square
	diamond
	triangle
	ring
	cross
	marks // their number
)

// mark draws the mark m with its centre at q.
func (p *pen) mark(m mark, c color.Color, q point, r float64) {
	rim := line{color: p.paper, width: 0.8}
	shape := func(points ...point) {
		p.fill(c, points...)
		p.outline(rim, points...)
	}
	switch m {
	case disc:
		p.disc(c, q, r)
		p.circle(rim, q, r)
	case square:
		shape(box{q.x - r*0.9, q.y - r*0.9, 1.8 * r, 1.8 * r}.corners()...)
	case diamond:
		d := 1.25 * r
		shape(point{q.x, q.y - d}, point{q.x + d, q.y}, point{q.x, q.y + d}, point{q.x - d, q.y})
	case triangle:
		shape(point{q.x, q.y - 1.2*r}, point{q.x + 1.1*r, q.y + 0.8*r}, point{q.x - 1.1*r, q.y + 0.8*r})
	case ring:
		p.disc(p.paper, q, r)
		p.circle(line{color: c, width: 1.3}, q, r)
	case cross:
		for _, s := range []float64{-1, 1} {
			p.stroke(line{color: c, width: 1.6}, point{q.x - r, q.y - s*r}, point{q.x + r, q.y + s*r})
		}
	}
}
