package plots

import (
	"math"
	"slices"
)

// On a slide the words of a half-section have no columns of their own. Each stands where
// it covers least: first what is faulty, contradicts or takes part, then the bodies, then
// what takes no part and the names of the gearsets, which are left out where there is no
// room.

// A spot is where words can stand, at a price.
type spot struct {
	box
	price float64
}

// What a spot costs more: for a line that it covers, its own and another, for text and
// signs, and beyond the edge. From dear on, words that are not needed are left out.
const (
	ownLine   = 8
	otherLine = 20

	// Of the name of an element: its own line, the line of another, whose name it would seem
	// to be, and any other line.
	ownName   = 20
	otherName = 45
	lineName  = 25
	leadText  = 60 // for text and signs that its leader crosses, also
	overText  = 1000
	overEdge  = 2000
	dear      = 100
)

// put finds the best of some spots, or none that is worth it. lead is the leader to words
// in a box.
func (v *sectionView) put(list []spot, cost func(r run) float64, lead func(words box) leader, needed bool) (
	best box, ok bool,
) {
	least := math.Inf(1)
	if !needed {
		least = dear
	}
	runs := v.runs(v.l)
	for _, s := range list {
		price := s.price
		if !v.area.holds(s.box) {
			price += overEdge
		}
		for _, o := range v.taken {
			if o.overlaps(s.box) {
				price += overText
			}
		}
		if l := lead(s.box); l.drawn {
			for _, o := range v.taken {
				if !o.holds(box{l.of.x, l.of.y, 0, 0}) && meets(l.from, l.to, o) {
					price += leadText
				}
			}
		}
		for _, r := range runs {
			if price >= least {
				break
			}
			if across(run{r.body, v.on(r.a), v.on(r.b), r.upward}, s.box) {
				price += cost(r)
			}
		}
		if price < least {
			best, least, ok = s.box, price, true
		}
	}
	return best, ok
}

func (v *sectionView) words() {
	elements := func(needed bool) {
		for i, e := range v.s.Elements {
			if (e.Text() != "" || e.Contradicts || e.Loaded) == needed {
				v.elementWords(i, e, needed)
			}
		}
	}
	bodies := func(off bool) {
		for b := range v.list {
			if text, sheared := v.s.bodyLabel(v.list[b]); sheared == off {
				v.bodyWords(b, text, sheared)
			}
		}
	}
	bodies(true)
	elements(true)
	bodies(false)
	elements(false)
	for i := range v.sets {
		v.setWords(i)
	}
}

// elementWords writes name and state of an element beside its sign.
func (v *sectionView) elementWords(i int, e SectionElement, needed bool) {
	name, state := v.d.Explained.Train.Couplings[i].Name, e.Text()
	bold := stateScript
	bold.bold = e.Faulty()
	w, h := max(v.ruler.width(elementScript, name), v.ruler.width(bold, state))+4, 10.0
	if state != "" {
		h = 18
	}
	_, _, at := v.signAt(i)
	q := v.on(at)
	var list []spot
	for k, dy := range []float64{0, 6, -6, 12, -12, 20, -20, 30, -30, 42, -42, 56, -56, 70, -70} {
		for _, dx := range []float64{12, 30, 60, 110} {
			price := 0.4*math.Abs(dy) + 0.8*(dx-12)
			if dx > 30 {
				price += 60
			}
			if k > 6 {
				price += 25
			}
			list = append(list, spot{box{q.x + dx, q.y + dy - h/2, w, h}, price},
				spot{box{q.x - dx - w, q.y + dy - h/2, w, h}, price + 1})
		}
	}
	for _, dy := range []float64{9 + h/2, -9 - h/2} {
		list = append(list, spot{box{q.x - w/2, q.y + dy - h/2, w, h}, 5}, spot{box{q.x + 3, q.y + dy - h/2, w, h}, 3},
			spot{box{q.x - 3 - w, q.y + dy - h/2, w, h}, 4})
	}
	lead := func(words box) leader { return leaderTo(words, q, 10, 20) }
	cost := func(r run) float64 {
		switch {
		case r.upward && r.a.x == at.x:
			return ownName
		case r.upward && slices.Contains(v.l.elementX, r.a.x):
			return otherName
		}
		return lineName
	}
	if b, ok := v.put(list, cost, lead, needed); ok {
		v.lead(lead(b))
		v.named(name, state, e, point{b.x + 2, b.y + h/2})
	}
}

// A leader is a dotted line to words that stand away from what they name: it says whose
// they are.
type leader struct {
	of, from, to point
	drawn        bool
}

// leaderTo leads from a point, or from so far off it, to words that stand farther away
// than near.
func leaderTo(words box, q point, off, near float64) leader {
	end := point{min(max(q.x, words.x), words.right()), min(max(q.y, words.y), words.bottom())}
	gap := math.Hypot(end.x-q.x, end.y-q.y)
	return leader{q, point{q.x + (end.x-q.x)*off/gap, q.y + (end.y-q.y)*off/gap}, end, gap > near}
}

func (v *sectionView) lead(l leader) {
	if l.drawn {
		v.stroke(line{v.soft, 0.7, []float64{1.5, 1.5}}, l.from, l.to)
	}
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

// bodyWords writes name and speed of a body at its line.
func (v *sectionView) bodyWords(b int, text string, sheared bool) {
	style, mark := bodyScript, 0.0
	if sheared {
		style.bold, style.color, mark = true, v.alarm, 12
	}
	w, h := v.ruler.width(style, text)+mark+4, 10.0
	from, to := v.on(point{v.l.from[b], v.l.level[b]}), v.on(point{v.l.to[b], v.l.level[b]})
	var list []spot
	for _, dy := range []float64{-7, 7, -17, 17, -27, 27} {
		add := func(x, price float64) {
			list = append(list, spot{box{x, from.y + dy - h/2, w, h}, price + 0.1*math.Abs(dy)})
		}
		for x := from.x + 4; x <= max(to.x-w, from.x+4); x += 5 {
			add(x, 0.02*(x-from.x))
		}
		add(to.x-w, 3)
		for _, x := range []float64{from.x - w - 4, to.x + 4, from.x - w/2} {
			add(x, 9)
		}
	}
	list = append(list, spot{box{from.x - w - 5, from.y - h/2, w, h}, 7}, spot{box{to.x + 5, to.y - h/2, w, h}, 7})
	lead := func(words box) leader {
		return leaderTo(words, point{min(max(from.x, words.x+words.w/2), to.x), from.y}, 0, 7)
	}
	at, ok := v.put(list, func(r run) float64 {
		if r.body == b {
			return ownLine
		}
		return otherLine
	}, lead, sheared)
	if !ok {
		return
	}
	v.lead(lead(at))
	v.taken = append(v.taken, v.masked(style, point{at.x + 2 + mark, at.y + h/2}, text))
	if sheared {
		v.sign(bigCross, line{color: v.alarm}, point{at.x + 6, at.y + h/2})
	}
}

// setWords writes the name of a gearset beside or below its boxes.
func (v *sectionView) setWords(i int) {
	name := v.d.Explained.Train.Gearsets[i].Name
	style := script{size: 8, bold: true, color: v.soft}
	w, h := v.ruler.width(style, name)+4, 10.0
	all := v.boxOf(i, v.sets[i].boxes[0])
	for _, g := range v.sets[i].boxes {
		b := v.boxOf(i, g)
		right, bottom := max(all.right(), b.right()), max(all.bottom(), b.bottom())
		all.x, all.y = min(all.x, b.x), min(all.y, b.y)
		all.w, all.h = right-all.x, bottom-all.y
	}
	at, ok := v.put([]spot{
		{box{all.x - w - 3, all.bottom() - h, w, h}, 0}, {box{all.right() + 3, all.bottom() - h, w, h}, 1},
		{box{all.x + all.w/2 - w/2, all.bottom() + 3, w, h}, 2}, {box{all.x - w - 3, all.y + all.h/2 - h/2, w, h}, 2},
		{box{all.x + all.w/2 - w/2, all.y - h - 2, w, h}, 3},
	}, func(run) float64 { return otherLine }, func(box) leader { return leader{} }, false)
	if ok {
		v.taken = append(v.taken, v.masked(style, point{at.x + 2, at.y + h/2}, name))
	}
}
