package plots

import (
	"math"
	"slices"
)

// The words of a half-section stand where they cover least: first what is faulty,
// contradicts or takes part, then the bodies, then what takes no part and the names of the
// gearsets, which are left out where there is no room.

// A spot is where words can stand, at a price: of the spot alone until it is weighed. Lead
// is the leader to what they name, lines are the words where there is more than one way to
// write them.
type spot struct {
	box
	price   float64
	weighed bool
	lead    leader
	lines   []string
}

// A label is words that are looked for a place. Write writes them there.
type label struct {
	of     point   // what the words name,
	off    float64 // and how far from there leaders begin
	spots  []spot
	cost   func(run) float64 // of a line that is covered
	needed bool
	write  func(spot)
}

// What a spot costs more: for a line that it covers, of its own body and of another, for
// text and signs. From dear on, words that are not needed are left out.
const (
	ownLine   = 8
	ownBody   = 45 // of an element: the line of a body that it joins
	otherLine = 45
	idleLine  = 110 // of words that are not needed
	overText  = 1000
	leadText  = 60 // for what a leader crosses
	leadLine  = 15
	dear      = 100
	rounds    = 3 // in which words look for a better place among the others
)

// weigh adds to the price of a spot what it covers and what its leader crosses.
func (v *sectionView) weigh(s *spot, cost func(run) float64) {
	s.weighed = true
	if !v.area.holds(s.box) || slices.ContainsFunc(v.taken, s.overlaps) {
		s.price += overText
		return
	}
	rim := s.wide(1)
	for _, r := range v.traces {
		if across(r, rim) {
			s.price += cost(r)
		}
	}
	if !s.lead.drawn {
		return
	}
	for _, r := range v.traces {
		if cost(r) > ownLine && meets(s.lead.from, s.lead.to, r.around()) {
			s.price += leadLine
		}
	}
	for _, o := range v.taken {
		if !o.holds(box{s.lead.of.x, s.lead.of.y, 0, 0}) && meets(s.lead.from, s.lead.to, o) {
			s.price += leadText
		}
	}
}

// wide is the box with a rim.
func (b box) wide(rim float64) box { return box{b.x - rim, b.y - rim, b.w + 2*rim, b.h + 2*rim} }

// around is a narrow box around a line that is level or upright.
func (r run) around() box {
	x, y := min(r.a.x, r.b.x), min(r.a.y, r.b.y)
	return box{x - 0.5, y - 0.5, max(r.a.x, r.b.x) - x + 1, max(r.a.y, r.b.y) - y + 1}
}

// settle writes each label at the best spot that the others leave; what stands first
// chooses first.
func (v *sectionView) settle(list []label) {
	h := held{v, list, make([]*spot, len(list))}
	for range rounds {
		for k := range list {
			h.at[k], _ = h.best(k)
		}
	}
	for k := range list {
		h.improve(k)
		if l := &h.labels[k]; l.needed && h.price(k, h.at[k]) >= otherLine {
			l.spots = append(l.spots, v.anywhere(l)...)
			h.at[k], _ = h.best(k)
		}
	}
	for k, s := range h.at {
		if s != nil {
			v.lead(s.lead)
			list[k].write(*s)
		}
	}
}

// anywhere are the places of a label in all of the picture, with a leader.
func (v *sectionView) anywhere(l *label) []spot {
	var list []spot
	w, h := l.spots[0].w, l.spots[0].h
	for y := v.area.y; y <= v.area.bottom()-h; y += 5 {
		for x := v.area.x; x <= v.area.right()-w; x += 6 {
			s := spot{box: box{x, y, w, h}, lines: l.spots[0].lines}
			s.lead = leaderTo(s.box, l.of, l.off, l.off+10)
			if s.price = 15 + 0.1*s.lead.length(); s.lead.drawn && s.price < otherLine {
				list = append(list, s)
			}
		}
	}
	return list
}

// held are labels and where they stand, nil for nowhere.
type held struct {
	view   *sectionView
	labels []label
	at     []*spot
}

// meet says whether two spots, or one and the leader of the other, are in each other's way.
func (s *spot) meet(o *spot) bool {
	return o.overlaps(s.box) || s.lead.drawn && meets(s.lead.from, s.lead.to, o.box) ||
		o.lead.drawn && meets(o.lead.from, o.lead.to, s.box)
}

// price is what a spot of label k costs among the others.
func (h *held) price(k int, s *spot) float64 {
	if s == nil {
		return dear
	}
	if !s.weighed {
		h.view.weigh(s, h.labels[k].cost)
	}
	price := s.price
	for i, o := range h.at {
		if i == k || o == nil || !s.meet(o) {
			continue
		}
		if o.overlaps(s.box) {
			price += overText
		} else {
			price += leadText
		}
	}
	return price
}

// best is the cheapest spot of label k among the others, and its price; none if it is dear
// and not needed.
func (h *held) best(k int) (best *spot, least float64) {
	least = math.Inf(1)
	if !h.labels[k].needed {
		least = dear
	}
	for i := range h.labels[k].spots {
		s := &h.labels[k].spots[i]
		if s.price >= least {
			continue
		}
		if price := h.price(k, s); price < least {
			best, least = s, price
		}
	}
	return best, least
}

// improve tries the best places of label k, whatever stands there: that looks for another.
func (h *held) improve(k int) {
	for i := range h.labels[k].spots {
		s := &h.labels[k].spots[i]
		before := h.price(k, h.at[k])
		if s.price < before {
			h.price(k, s) // weighs it
		}
		if s.price >= before {
			continue
		}
		was := slices.Clone(h.at)
		var moved []int
		for j, o := range h.at {
			if j != k && o != nil && s.meet(o) {
				moved = append(moved, j)
				before += h.price(j, o)
			}
		}
		h.at[k] = s
		for _, j := range moved {
			h.at[j] = nil
		}
		after := 0.0
		for _, j := range moved {
			var price float64
			h.at[j], price = h.best(j)
			after += price
		}
		if after+h.price(k, s) >= before {
			h.at = was
		}
	}
}

func (v *sectionView) words() {
	v.traces = v.runs(v.l)
	for i, r := range v.traces {
		v.traces[i].a, v.traces[i].b = v.on(r.a), v.on(r.b)
	}
	v.wires = append(v.wires, v.traces...)
	var list []label
	elements := func(needed bool) {
		for i, e := range v.s.Elements {
			if (e.Text() != "" || e.Contradicts || e.Loaded) == needed {
				list = append(list, v.elementWords(i, e, needed || !v.d.slim))
			}
		}
	}
	bodies := func(off bool) {
		for b := range v.list {
			if name, speed, sheared := v.s.bodyLabel(v.list[b]); sheared == off {
				list = append(list, v.bodyWords(b, name, speed, sheared))
			}
		}
	}
	bodies(true)
	elements(true)
	bodies(false)
	elements(false)
	for i := range v.sets {
		list = append(list, v.setWords(i))
	}
	v.settle(list)
}

// elementWords are name and state of an element beside its sign.
func (v *sectionView) elementWords(i int, e SectionElement, needed bool) label {
	name, state := v.d.Explained.Train.Couplings[i].Name, e.Text()
	if !v.d.slim {
		state = v.d.elementWords(e, i)
	}
	bold := stateScript
	bold.bold = e.Faulty()
	_, _, at := v.signAt(i)
	q := v.on(at)
	var list []spot
	around := func(state string, more float64) {
		w, h := max(v.ruler.width(elementScript, name), v.ruler.width(bold, state))+4, 10.0
		if state != "" {
			h = 18
		}
		add := func(x, y, price float64, lead leader) {
			list = append(list, spot{box: box{x, y - h/2, w, h}, price: price + more, lead: lead, lines: []string{state}})
		}
		for _, dy := range []float64{0, 6, -6, 12, -12, 20, -20} {
			add(q.x+12, q.y+dy, 0.4*math.Abs(dy), leader{})
			add(q.x-12-w, q.y+dy, 0.4*math.Abs(dy)+1, leader{})
		}
		for _, dy := range []float64{9 + h/2, -9 - h/2} {
			add(q.x-w/2, q.y+dy, 5, leader{})
			add(q.x+3, q.y+dy, 3, leader{})
			add(q.x-3-w, q.y+dy, 4, leader{})
		}
		for _, dy := range []float64{-70, -56, -42, -30, -20, 0, 20, 30, 42, 56, 70} {
			for _, dx := range []float64{4, 16, 30, 48, 70, 100, 130} {
				for _, x := range []float64{q.x + dx, q.x - dx - w} {
					if lead := leaderTo(box{x, q.y + dy - h/2, w, h}, q, 10, 20); lead.drawn {
						add(x, q.y+dy, 10+lead.length(), lead)
					}
				}
			}
		}
	}
	around(state, 0)
	if state != "" && !e.Faulty() && !e.Contradicts {
		around("", 20) // the sign tells it
	}
	shape := v.elements[i]
	return label{of: q, off: 10, needed: needed, spots: list, cost: func(r run) float64 {
		switch {
		case r.element == i:
			return ownLine
		case needed && (r.body == shape.a || r.body == shape.b):
			return ownBody
		case needed || r.body == shape.a || r.body == shape.b:
			return otherLine
		}
		return idleLine
	}, write: func(s spot) {
		v.naming([]int{shape.a, shape.b}, func() { v.named(name, s.lines[0], e, point{s.x + 2, s.y + s.h/2}) })
	}}
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

func (l leader) length() float64 { return math.Hypot(l.to.x-l.from.x, l.to.y-l.from.y) }

// bodyWords are name and speed of a body at its line, below each other where that is narrow.
func (v *sectionView) bodyWords(b int, name, speed string, sheared bool) label {
	style, mark := bodyScript, 0.0
	var list []spot
	add := func(price float64, lines ...string) {
		for _, s := range v.beside(b, v.ruler.widest(style, lines...)+mark+4, float64(2+8*len(lines))) {
			s.price, s.lines = s.price+price, lines
			list = append(list, s)
		}
	}
	if sheared {
		style.bold, style.color, mark = true, v.alarm, 12
		add(0, name+", sheared off  "+speed)
	} else {
		add(0, name+"  "+speed)
	}
	if v.d.slim {
		if sheared {
			add(7, name, "sheared off  "+speed)
			add(12, name, speed) // the cross says what it is
		} else {
			add(7, name, speed)
		}
	}
	cost := func(r run) float64 {
		switch {
		case r.body == b:
			return ownLine
		case sheared || !v.d.slim:
			return otherLine
		}
		return idleLine
	}
	write := func(s spot) {
		v.fill(v.paper, s.corners()...)
		y := s.y + s.h/2 - 4.4*float64(len(s.lines)-1)
		for i, l := range s.lines {
			v.middle(style, point{s.x + 2 + mark, y + 8.8*float64(i)}, l)
		}
		if sheared {
			v.sign(bigCross, line{color: v.alarm}, point{s.x + 6, s.y + s.h/2})
		}
	}
	of := v.on(point{(v.l.from[b] + v.l.to[b]) / 2, v.l.level[b]})
	return label{of: of, needed: sheared || !v.d.slim, spots: list, cost: cost, write: func(s spot) {
		v.naming([]int{b}, func() { write(s) })
	}}
}

// beside are the places of words along the lines of a body, and farther off with a leader.
func (v *sectionView) beside(b int, w, h float64) []spot {
	var list []spot
	level := v.on(point{0, v.l.level[b]}).y
	add := func(x, y, price float64) { list = append(list, spot{box: box{x, y, w, h}, price: price}) }
	led := func(x, y float64, q point) {
		at := box{x, y, w, h}
		if lead := leaderTo(at, q, 0, 7); lead.drawn {
			list = append(list, spot{box: at, price: 12 + 0.7*lead.length(), lead: lead})
		}
	}
	if v.l.from[b] >= v.l.to[b] { // a line without length
		q := v.on(point{v.l.from[b], v.l.level[b]})
		add(q.x+5, q.y-h/2, 0)
		add(q.x-w-5, q.y-h/2, 0)
	}
	for _, r := range v.traces {
		if r.body != b {
			continue
		}
		left, right := min(r.a.x, r.b.x), max(r.a.x, r.b.x)
		top, bottom := min(r.a.y, r.b.y), max(r.a.y, r.b.y)
		if !r.upward {
			price := 2.0
			if math.Abs(top-level) < 0.5 {
				price = 0
			}
			for x := left - w/2; x <= right-w/2; x += 4 {
				beyond := max(0, left-x, x+w-right)
				dear := price + 0.01*max(0, x-left) + beyond/10
				if beyond > 0 {
					dear += 2
				}
				add(x, top-2-h, dear)
				add(x, top+2, dear+1.5)
			}
			add(left+4, top-2-h, price)
			add(left-w-5, top-h/2, price+6)
			add(right+5, top-h/2, price+6)
		} else {
			for y := top; y <= bottom-h; y += 4 {
				add(left+4, y, 5)
				add(left-w-4, y, 6)
			}
			for _, dx := range []float64{-w / 2, 2 - w, -2} {
				add(left+dx, top-h-2, 6)
				add(left+dx, bottom+2, 7)
			}
		}
		for _, far := range []float64{4, 9, 18, 28, 40, 54, 70} {
			for x := left - w - far; x <= right+far; x += 6 {
				from := min(max(left, x+w/2), right)
				led(x, top-h-far, point{from, top})
				led(x, bottom+far, point{from, bottom})
			}
			for y := top; r.upward && y <= bottom-h; y += 6 {
				led(left-w-far, y, point{left, y + h/2})
				led(left+far, y, point{left, y + h/2})
			}
		}
	}
	return list
}

// setWords are the name of a gearset beside, above or below its boxes.
func (v *sectionView) setWords(i int) label {
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
	var list []spot
	add := func(x, y, price float64) { list = append(list, spot{box: box{x, y, w, h}, price: price}) }
	for y := all.bottom() - h; y >= all.y; y -= 4 {
		price := (all.bottom() - h - y) / 20
		add(all.x-w-3, y, price)
		add(all.right()+3, y, price+1)
	}
	for _, dx := range []float64{0, -w / 2, w / 2} {
		x := all.x + all.w/2 - w/2 + dx
		add(x, all.bottom()+3, 2+math.Abs(dx)/20)
		add(x, all.y-h-2, 3+math.Abs(dx)/20)
	}
	for _, far := range []float64{8, 16, 26, 40} {
		for y := all.y - h - far; y <= all.bottom()+far; y += 5 {
			q := point{y: min(max(all.y, y+h/2), all.bottom())}
			for _, x := range []float64{all.x - w - far, all.right() + far, all.x, all.right() - w} {
				q.x = min(max(all.x, x+w/2), all.right())
				at := box{x, y, w, h}
				if lead := leaderTo(at, q, 0, 5); lead.drawn && !at.overlaps(all) {
					list = append(list, spot{box: at, price: 10 + lead.length(), lead: lead})
				}
			}
		}
	}
	cost := func(run) float64 { return idleLine }
	of := point{all.x + all.w/2, all.bottom()}
	return label{of: of, spots: list, cost: cost, needed: !v.d.slim, write: func(s spot) {
		v.naming([]int{}, func() { v.masked(style, point{s.x + 2, s.y + h/2}, name) })
	}}
}

// naming marks what is written as the words of some bodies: they may lie on lines of these alone.
func (v *sectionView) naming(bodies []int, write func()) {
	v.of = bodies
	write()
	v.of = nil
}
