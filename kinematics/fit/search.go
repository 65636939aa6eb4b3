package fit

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// A search looks for all values of some unknowns at which every band holds.
type search struct {
	bands []band
	start box // what can be built, or is known
	s     *scratch

	// tight are sums of bounds, each above or equal to 0 at every solution in a box in
	// which no denominator changes its sign: near a solution they bound one unknown.
	tight []form
	signs []float64 // of the denominators that tight was made for
	hulls []box     // of points that are solutions
	boxes int
	most  int
}

// mostBoxes bounds a search.
const (
	mostBoxes     = 60_000
	mostBoxesOpen = 2_000 // where fewer ratios are independent than there are unknowns
)

// A region is what a search found.
type region struct {
	// Boxes contain all solutions; none lies outside. They are as tight as a fiftieth of
	// their width, unless the search was cut.
	Boxes []box
	Found bool // there is a solution: At
	At    []float64
	Cut   bool
	Count int // boxes looked at
}

func newSearch(bands []band, start box) *search {
	for i := range bands {
		c := &bands[i]
		nl, dl, _ := c.low.Small()
		nh, dh, _ := c.high.Small()
		c.below, c.above = formOf(c.num, dl, c.den, nl), formOf(c.num, dh, c.den, nh)
		c.under = formOf(c.den, 1, c.den, 0)
	}
	return &search{bands: bands, start: start, s: newScratch(len(start.lo)), most: mostBoxes}
}

// possible says whether there can be a solution, by a short search: it can where that is cut.
func (s *search) possible(ctx context.Context, most int) bool {
	stack := []box{s.start.clone()}
	for n := 0; len(stack) > 0; n++ {
		if n == most || ctx.Err() != nil {
			return true
		}
		b := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if !s.contract(b) {
			continue
		}
		if s.holdsAt(b.middle()) || narrow(b) {
			return true
		}
		left, right := halves(b, widest(b))
		stack = append(stack, left, right)
	}
	return false
}

// narrow says that a box is as good as a point for floats.
func narrow(b box) bool {
	for v := range b.lo {
		if b.hi[v]-b.lo[v] > 1e-9*b.hi[v] {
			return false
		}
	}
	return true
}

// widest is the unknown with the widest interval, by its size.
func widest(b box) int {
	best, width := 0, -1.0
	for v := range b.lo {
		if w := (b.hi[v] - b.lo[v]) / b.hi[v]; w > width {
			best, width = v, w
		}
	}
	return best
}

func halves(b box, v int) (left, right box) {
	left, right = b.clone(), b
	mid := (b.lo[v] + b.hi[v]) / 2
	left.hi[v], right.lo[v] = mid, mid
	return left, right
}

// contract shrinks a box to what its solutions may need. It is false if it has none.
func (s *search) contract(b box) bool {
	for range 6 {
		before := width(b)
		for i := range s.bands {
			c := &s.bands[i]
			d := s.s.sign(c.under, b)
			if d == 0 {
				if s.s.misses(c, b) {
					return false
				}
				continue
			}
			if !s.s.shrink(c.below, float64(d), b) || !s.s.shrink(c.above, -float64(d), b) {
				return false
			}
		}
		if len(s.tight) > 0 && s.sameSigns(b) {
			for _, f := range s.tight {
				if !s.s.shrink(f, 1, b) {
					return false
				}
			}
		}
		if width(b) > 0.8*before {
			break
		}
	}
	return true
}

// width is the sum of the widths of a box, each by its size.
func width(b box) float64 {
	sum := 0.0
	for v := range b.lo {
		sum += (b.hi[v] - b.lo[v]) / b.hi[v]
	}
	return sum
}

func (s *search) sameSigns(b box) bool {
	for i := range s.bands {
		if float64(s.s.sign(s.bands[i].under, b)) != s.signs[i] {
			return false
		}
	}
	return true
}

// holdsAt says whether a point certainly is a solution.
func (s *search) holdsAt(x []float64) bool { return s.holdsIn(box{x, x}) }

// holdsIn says whether every point of a box certainly is a solution.
func (s *search) holdsIn(b box) bool {
	for i := range s.bands {
		c := &s.bands[i]
		if s.s.sign(c.below, b)*s.s.sign(c.above, b) != -1 {
			return false
		}
	}
	return true
}

// run finds the boxes of all solutions. starts are points to look from.
func (s *search) run(ctx context.Context, starts [][]float64) region {
	var r region
	for _, x := range starts {
		if x = s.center(x); x != nil && !s.covered(box{x, x}, 3) {
			s.open(x)
		}
	}
	stack := []box{s.start.clone()}
	outer := slices.Clone(s.hulls)
	for i := range outer {
		outer[i] = outer[i].clone()
	}
	for len(stack) > 0 {
		if s.boxes++; s.boxes > s.most || ctx.Err() != nil {
			r.Cut = true
			for _, b := range stack {
				outer = widen(outer, b)
			}
			break
		}
		b := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if !s.contract(b) {
			continue
		}
		if s.covered(b, 0.02) {
			outer = widen(outer, b)
			continue
		}
		if x := b.middle(); s.holdsAt(x) {
			s.include(x)
		}
		if narrow(b) {
			outer = widen(outer, b)
			continue
		}
		left, right := halves(b, s.split(b))
		stack = append(stack, left, right)
	}
	r.Boxes, r.Count = outer, s.boxes
	if len(s.hulls) > 0 {
		r.Found = true
		r.At = s.hulls[0].middle()
		if !s.holdsAt(r.At) {
			if x := s.center(r.At); x != nil {
				r.At = x
			}
		}
	}
	return r
}

// split is the unknown in which a box sticks out farthest of the nearest hull, by the
// width of that hull.
func (s *search) split(b box) int {
	best, out := widest(b), 0.0
	if len(s.hulls) == 0 || (b.hi[best]-b.lo[best])/b.hi[best] > 0.05 {
		return best
	}
	for v := range b.lo {
		least := math.Inf(1)
		for _, h := range s.hulls {
			w := h.hi[v] - h.lo[v] + 1e-9
			least = min(least, max(h.lo[v]-b.lo[v], b.hi[v]-h.hi[v])/w)
		}
		if o := min(least, (b.hi[v]-b.lo[v])/b.hi[v]*1e3); o > out {
			best, out = v, o
		}
	}
	return best
}

// covered says whether a box lies within a hull, widened by a part of its width.
func (s *search) covered(b box, part float64) bool {
	return slices.ContainsFunc(s.hulls, func(h box) bool { return inside(b, h, part) })
}

func inside(b, h box, part float64) bool {
	for v := range b.lo {
		e := part*(h.hi[v]-h.lo[v]) + 1e-9*h.hi[v]
		if b.lo[v] < h.lo[v]-e || b.hi[v] > h.hi[v]+e {
			return false
		}
	}
	return true
}

// widen adds a box to the list of boxes that contain all solutions: to the one that it
// touches, or as one of its own.
func widen(list []box, b box) []box {
	b = b.clone()
	for i := 0; i < len(list); i++ {
		if !touch(list[i], b) {
			continue
		}
		for v := range b.lo {
			b.lo[v], b.hi[v] = min(b.lo[v], list[i].lo[v]), max(b.hi[v], list[i].hi[v])
		}
		list = slices.Delete(list, i, i+1)
		i = -1
	}
	return append(list, b)
}

func touch(a, b box) bool {
	for v := range a.lo {
		e := 1e-7 * a.hi[v]
		if a.lo[v] > b.hi[v]+e || b.lo[v] > a.hi[v]+e {
			return false
		}
	}
	return true
}

// include adds a solution to the hull that it is near, or opens one.
func (s *search) include(x []float64) {
	for i := range s.hulls {
		if inside(box{x, x}, s.hulls[i], 3) {
			for v := range x {
				s.hulls[i].lo[v], s.hulls[i].hi[v] = min(s.hulls[i].lo[v], x[v]), max(s.hulls[i].hi[v], x[v])
			}
			return
		}
	}
	s.open(x)
}

// open starts a hull at a solution and reaches out from it in the sense of each unknown.
func (s *search) open(x []float64) {
	s.hulls = append(s.hulls, box{slices.Clone(x), slices.Clone(x)})
	own := len(s.hulls) - 1
	s.signs = s.signs[:0]
	for i := range s.bands {
		s.signs = append(s.signs, float64(s.s.sign(s.bands[i].under, box{x, x})))
	}
	for v := range x {
		for _, sense := range []float64{-1, 1} {
			if s.start.lo[v] == s.start.hi[v] {
				continue
			}
			s.reach(own, x, v, sense)
		}
	}
}

// reach goes from a solution as far as it can in one unknown, and keeps what bounds it.
func (s *search) reach(own int, center []float64, v int, sense float64) {
	x := slices.Clone(center)
	for range 3 {
		lp := s.linear(x, 0)
		lp.c[v] = sense
		y, dual, ok := lp.solve()
		if !ok {
			return
		}
		s.bound(dual)
		next, found := s.back(center, x, y)
		if !found {
			return
		}
		h := &s.hulls[own]
		for i := range next {
			h.lo[i], h.hi[i] = min(h.lo[i], next[i]), max(h.hi[i], next[i])
		}
		if math.Abs(next[v]-x[v]) < 1e-3*(h.hi[v]-h.lo[v]) {
			return
		}
		x = next
	}
}

// back steps back from x + y towards the center until it finds a solution.
func (s *search) back(center, x, y []float64) ([]float64, bool) {
	for _, part := range []float64{1e-6, 1e-4, 1e-3, 1e-2, 0.03, 0.1, 0.3, 0.6} {
		next := make([]float64, len(x))
		for i := range x {
			next[i] = (x[i]+y[i])*(1-part) + center[i]*part
			next[i] = min(max(next[i], s.start.lo[i]), s.start.hi[i])
		}
		if s.holdsAt(next) {
			return next, true
		}
	}
	return nil, false
}

// bound adds the sum of bounds with the weights of a dual solution.
func (s *search) bound(dual []float64) {
	k := len(s.start.lo)
	f := form{make([]float64, 1<<k), make([]float64, 1<<k)}
	any := false
	for i := range s.bands {
		for side, g := range []form{s.bands[i].below, s.bands[i].above} {
			w := dual[2*i+side]
			if !(w > 0) {
				continue
			}
			any = true
			w *= s.signs[i] * float64(1-2*side)
			for m := range f.c {
				// Summed up with errors that are far below those that rounding counts.
				f.c[m] += w * g.c[m]
				f.size[m] += math.Abs(w) * g.size[m] * 4
			}
		}
	}
	if any && len(s.tight) < 8*k {
		s.tight = append(s.tight, f)
	}
}

// center returns a solution near x that is well inside its intervals, nil if there is none.
func (s *search) center(x []float64) []float64 {
	x = slices.Clone(x)
	var best []float64
	for range 6 {
		lp := s.linear(x, s.worst(x))
		lp.c[len(x)] = 1
		y, _, ok := lp.solve()
		if !ok {
			break
		}
		for i := range x {
			x[i] = min(max(x[i]+y[i], s.start.lo[i]), s.start.hi[i])
		}
		if s.holdsAt(x) {
			best = slices.Clone(x)
		} else if best != nil {
			break
		}
	}
	return best
}

// worst is how far the worst ratio is outside its interval at x, in half widths.
func (s *search) worst(x []float64) float64 {
	worst := 0.0
	for i := range s.bands {
		c := &s.bands[i]
		lo, hi := c.low.Float(), c.high.Float()
		r := c.at(x, nil)
		worst = max(worst, (lo-r)/((hi-lo)/2), (r-hi)/((hi-lo)/2))
	}
	return worst
}

// linear is the program of the bounds at x, each in half widths of its interval and
// loosened by slack. Its last variable tightens all of them at once.
func (s *search) linear(x []float64, slack float64) *program {
	k := len(x)
	p := &program{c: make([]float64, k+1)}
	slope := make([]float64, k)
	for i := range s.bands {
		c := &s.bands[i]
		lo, hi := c.low.Float(), c.high.Float()
		r := c.at(x, slope)
		half := (hi - lo) / 2
		d := c.den.float(x, nil)
		for side, sense := range []float64{-1, 1} {
			row := make([]float64, k+1)
			for v := range k {
				row[v] = sense * slope[v] / half
			}
			row[k] = 1
			room := (r - lo) / half
			if side == 1 {
				room = (hi - r) / half
			}
			// The dual is that of num - bound den, which is the ratio times den.
			den := c.low
			if side == 1 {
				den = c.high
			}
			_, q, _ := den.Small()
			p.add(row, max(0, room+slack), 1/(half*math.Abs(d)*float64(q)))
		}
	}
	for v := range k {
		for _, sense := range []float64{-1, 1} {
			row := make([]float64, k+1)
			row[v] = sense
			end := x[v] - s.start.lo[v]
			if sense > 0 {
				end = s.start.hi[v] - x[v]
			}
			p.add(row, max(0, end), 1)
		}
	}
	last, least := make([]float64, k+1), make([]float64, k+1)
	last[k], least[k] = 1, -1
	p.add(last, slack+1, 1)
	p.add(least, 0, 1)
	return p
}

// A program is: the greatest c y with rows y <= room, where y = 0 is allowed.
type program struct {
	c     []float64
	rows  [][]float64
	room  []float64
	scale []float64 // of the duals
}

func (p *program) add(row []float64, room, scale float64) {
	p.rows, p.room, p.scale = append(p.rows, row), append(p.room, room), append(p.scale, scale)
}

// solve returns a best y and the weights of the rows that prove it, by the simplex method
// in floats: nothing that is decided rests on it. It gives up after some steps.
func (p *program) solve() (y, dual []float64, ok bool) {
	n, m := len(p.c), len(p.rows)
	// Columns: y as the difference of two that are not negative, then the slacks.
	t := make([][]float64, m+1)
	for i := range t {
		t[i] = make([]float64, 2*n+m+1)
	}
	basis := make([]int, m)
	for i, row := range p.rows {
		for j, a := range row {
			t[i][j], t[i][n+j] = a, -a
		}
		t[i][2*n+i], t[i][2*n+m] = 1, p.room[i]
		basis[i] = 2*n + i
	}
	for j, c := range p.c {
		t[m][j], t[m][n+j] = -c, c
	}
	for step := range 200 {
		enter := entering(t[m][:2*n+m], step > 50)
		if enter < 0 {
			return p.result(t, basis)
		}
		leave := leaving(t[:m], basis, enter)
		if leave < 0 {
			return nil, nil, false
		}
		pivot(t, leave, enter)
		basis[leave] = enter
	}
	return nil, nil, false
}

func entering(costs []float64, first bool) int {
	best, least := -1, -1e-9
	for j, c := range costs {
		if c < least {
			best = j
			if first {
				return j
			}
			least = c
		}
	}
	return best
}

func leaving(rows [][]float64, basis []int, enter int) int {
	best, least := -1, math.Inf(1)
	for i, row := range rows {
		if row[enter] <= 1e-11 {
			continue
		}
		q := row[len(row)-1] / row[enter]
		if c := cmp.Compare(q, least); c < 0 || c == 0 && basis[i] < basis[best] {
			best, least = i, q
		}
	}
	return best
}

func pivot(t [][]float64, r, c int) {
	p := t[r][c]
	for j := range t[r] {
		t[r][j] /= p
	}
	for i := range t {
		if f := t[i][c]; i != r && f != 0 {
			for j := range t[i] {
				t[i][j] -= f * t[r][j]
			}
		}
	}
}

func (p *program) result(t [][]float64, basis []int) (y, dual []float64, ok bool) {
	n, m := len(p.c), len(p.rows)
	y, dual = make([]float64, n), make([]float64, m)
	for i, b := range basis {
		switch {
		case b < n:
			y[b] += t[i][2*n+m]
		case b < 2*n:
			y[b-n] -= t[i][2*n+m]
		}
	}
	for i := range dual {
		if w := t[m][2*n+i]; w > 1e-12 {
			dual[i] = w * p.scale[i]
		}
	}
	return y, dual, true
}
