package plots

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// An arrangement says in which order the parts of a half-section stand: the
// columns from left to right, sets first in number and then elements, and the
// lines of the bodies above and below the gearsets, the nearest first.
type arrangement struct {
	columns      []int
	above, below []int
}

func (a arrangement) clone() arrangement {
	return arrangement{slices.Clone(a.columns), slices.Clone(a.above), slices.Clone(a.below)}
}

// A placement is an arrangement with lengths, in points from the upper left
// corner of the picture.
type placement struct {
	width, height float64
	housing       float64 // y of the housing
	top, bottom   float64 // of the gearsets
	axis          float64 // y of the centre line
	setX          []float64
	elementX      []float64
	level         []float64 // y of the line of each body
	from, to      []float64 // its ends
	taps          []tap
	tracks        int
	lanes         int
}

// A tap leads from a gearset to the line of a body, or to the housing near by.
type tap struct {
	set, exit int
	body      int // -1 for the housing
	points    []point
}

// A run is a straight piece of a body's lines.
type run struct {
	body    int
	a, b    point
	upward  bool
	element int // to which it leads, -1 for none
}

// start is the arrangement to begin with: the order of the file, elements behind
// the set they touch first, bodies with suns below.
func (a *anatomy) start() arrangement {
	var ar arrangement
	for i := range len(a.sets) + len(a.elements) {
		ar.columns = append(ar.columns, i)
	}
	sun := make([]bool, len(a.list))
	for _, s := range a.sets {
		for _, e := range s.exits {
			if e.body >= 0 && e.down {
				sun[e.body] = true
			}
		}
	}
	for i := range a.list {
		if sun[i] || i == a.input || i == a.output {
			ar.below = append(ar.below, i)
		} else {
			ar.above = append(ar.above, i)
		}
	}
	return ar
}

// Effort of the search: how often it starts anew, and how many changes it tries
// each time.
const (
	searchStarts = 3
	searchTries  = 2000
)

// arrange searches for an arrangement with few crossings and short lines. The
// search is random but begins the same way every time, and counts in whole
// numbers, so that the same train always gives the same picture.
func (a *anatomy) arrange() arrangement {
	var best arrangement
	bestCost := -1
	for start := range searchStarts {
		dice := rand.New(rand.NewPCG(uint64(start), 7))
		current := a.start()
		if start > 0 {
			dice.Shuffle(len(current.columns), func(i, k int) {
				current.columns[i], current.columns[k] = current.columns[k], current.columns[i]
			})
		}
		cost := a.cost(current)
		for try := range searchTries {
			next := current.clone()
			next.change(dice)
			// At first a change for the worse is taken too, later none.
			allowed := 120 * (searchTries - try - searchTries/4) / searchTries
			if c := a.cost(next); c <= cost+max(allowed, 0) {
				current, cost = next, c
			}
			if bestCost < 0 || cost < bestCost {
				best, bestCost = current.clone(), cost
			}
		}
	}
	return best
}

// change makes one random change.
func (ar *arrangement) change(dice *rand.Rand) {
	move := func(list []int) {
		if len(list) < 2 {
			return
		}
		from, to := dice.IntN(len(list)), dice.IntN(len(list))
		x := list[from]
		copy(list[from:], list[from+1:])
		copy(list[to+1:], list[to:len(list)-1])
		list[to] = x
	}
	switch dice.IntN(5) {
	case 0:
		i, k := dice.IntN(len(ar.columns)), dice.IntN(len(ar.columns))
		ar.columns[i], ar.columns[k] = ar.columns[k], ar.columns[i]
	case 1:
		move(ar.columns)
	case 2:
		move(ar.above)
	case 3:
		move(ar.below)
	default: // to the other side
		from, to := &ar.above, &ar.below
		if dice.IntN(2) == 0 {
			from, to = to, from
		}
		if len(*from) > 0 {
			i := dice.IntN(len(*from))
			at := dice.IntN(len(*to) + 1)
			*to = slices.Insert(*to, at, (*from)[i])
			*from = slices.Delete(*from, i, i+1)
		}
	}
}

// Weights of the cost of an arrangement, against a point of length.
const (
	costCrossing = 90
	costTrack    = 60
	costLane     = 25
	costPort     = 150 // input or output away from the axis
	costOrder    = 40  // sets out of the order of the file
)

// cost counts what makes a picture hard to read.
func (a *anatomy) cost(ar arrangement) int {
	p := a.place(ar)
	runs := a.runs(p)
	crossings, length := 0, 0.0
	sorted, upright, level := make([]run, len(runs)), 0, len(runs) // upright ones first
	for _, r := range runs {
		length += max(r.a.x-r.b.x, r.b.x-r.a.x) + max(r.a.y-r.b.y, r.b.y-r.a.y)
		if r.upward {
			sorted[upright] = r
			upright++
		} else {
			level--
			sorted[level] = r
		}
	}
	for i := range sorted[:upright] {
		for k := range sorted[level:] {
			if r, o := &sorted[i], &sorted[level+k]; r.body != o.body && crosses(r, o) {
				crossings++
			}
		}
	}
	cost := costCrossing*crossings + costTrack*p.tracks + costLane*p.lanes + int(length)
	for _, port := range []int{a.input, a.output} {
		if slices.Contains(ar.above, port) {
			cost += costPort
		}
	}
	last := -1
	for _, c := range ar.columns {
		if c >= len(a.sets) {
			continue
		}
		if c < last {
			cost += costOrder
		}
		last = c
	}
	return cost
}

// crosses says whether an upright run and a level one cross or touch.
func crosses(r, o *run) bool {
	x, y := r.a.x, o.a.y
	return x >= min(o.a.x, o.b.x) && x <= max(o.a.x, o.b.x) && y >= min(r.a.y, r.b.y) && y <= max(r.a.y, r.b.y)
}

// place gives an arrangement its lengths.
func (a *anatomy) place(ar arrangement) *placement {
	p := &placement{
		setX: make([]float64, len(a.sets)), elementX: make([]float64, len(a.elements)),
		level: make([]float64, len(a.list)), from: make([]float64, len(a.list)), to: make([]float64, len(a.list)),
	}
	above := make([]bool, len(a.list))
	for _, b := range ar.above {
		above[b] = true
	}
	lanes := a.lanes(ar, above)
	x := float64(portRoom)
	for _, c := range ar.columns {
		if c >= len(a.sets) {
			p.elementX[c-len(a.sets)] = x + elementLeft
			x += a.elements[c-len(a.sets)].width
			continue
		}
		left, right := lanes[c].count(-1), lanes[c].count(1)
		p.lanes += left + right
		p.setX[c] = x + setPad + float64(left)*laneStep
		x = p.setX[c] + float64(a.sets[c].columns)*a.sets[c].column + float64(right)*laneStep + setPad
	}
	p.width = x + portRoom
	a.levels(p, ar, a.spans(p, lanes))
	a.tap(p, lanes)
	return p
}

// Room at the ends of the picture for input and output, to the left of the line
// of an element, and around the lines.
const (
	portRoom    = 46
	elementLeft = 14
	housingRoom = 34 // between the housing and the nearest line
	bandRoom    = 18 // between the gearsets and the nearest line
)

// setLanes are the ways by which the terminals of a set go around it: for each
// terminal -1 or +1 for the side and which lane counted from the set, or 0 where
// it leaves straight.
type setLanes struct {
	side, lane []int
}

func (s setLanes) count(side int) int {
	return countFunc(s.side, func(x int) bool { return x == side })
}

// lanes chooses the sides of all terminals.
func (a *anatomy) lanes(ar arrangement, above []bool) []setLanes {
	place := make([]int, len(ar.columns))
	for i, c := range ar.columns {
		place[c] = i
	}
	// The middle of the places at which each body is wanted, times their number.
	sum, n := make([]int, len(a.list)), make([]int, len(a.list))
	want := func(body, at int) {
		if body >= 0 {
			sum[body] += at
			n[body]++
		}
	}
	for i, s := range a.sets {
		for _, e := range s.exits {
			want(e.body, place[i])
		}
	}
	for i, e := range a.elements {
		want(e.a, place[len(a.sets)+i])
		want(e.b, place[len(a.sets)+i])
	}
	want(a.input, -1)
	want(a.output, len(ar.columns))

	lanes := make([]setLanes, len(a.sets))
	for i, s := range a.sets {
		l := setLanes{make([]int, len(s.exits)), make([]int, len(s.exits))}
		for k, e := range s.exits {
			straight := e.body < 0 && (e.up || e.down) || e.body >= 0 && (e.up && above[e.body] || e.down && !above[e.body])
			if straight {
				continue
			}
			l.side[k] = 1
			if e.body >= 0 && (sum[e.body]-place[i])-place[i]*(n[e.body]-1) < 0 {
				l.side[k] = -1
			}
		}
		a.order(&l, s, above)
		lanes[i] = l
	}
	return lanes
}

// order numbers the lanes on each side so that they do not cross where they need
// not: of those that turn down the highest terminal is outermost, of those that
// turn up the lowest.
func (a *anatomy) order(l *setLanes, s setShape, above []bool) {
	for _, side := range []int{-1, 1} {
		var ks []int
		for k := range s.exits {
			if l.side[k] == side {
				ks = append(ks, k)
			}
		}
		slices.SortStableFunc(ks, func(x, y int) int {
			up := func(k int) bool { return s.exits[k].body >= 0 && above[s.exits[k].body] }
			switch {
			case up(x) != up(y):
				if up(x) {
					return -1
				}
				return 1
			case up(x):
				return cmp.Compare(s.exits[y].row, s.exits[x].row)
			}
			return cmp.Compare(s.exits[x].row, s.exits[y].row)
		})
		for n, k := range ks {
			l.lane[k] = n + 1
		}
	}
}

// tapX is where terminal k of set i reaches the line of its body.
func (a *anatomy) tapX(p *placement, i, k int, l setLanes) float64 {
	s := a.sets[i]
	switch l.side[k] {
	case -1:
		return p.setX[i] - laneStep*(float64(l.lane[k])-0.5) - 4
	case 1:
		return p.setX[i] + float64(s.columns)*s.column + laneStep*(float64(l.lane[k])-0.5) + 4
	}
	return p.setX[i] + (float64(s.exits[k].column)+0.5)*s.column
}

// spans finds how far the line of each body reaches.
func (a *anatomy) spans(p *placement, lanes []setLanes) []bool {
	used := make([]bool, len(a.list))
	reach := func(body int, x float64) {
		switch {
		case body < 0:
		case !used[body]:
			p.from[body], p.to[body], used[body] = x, x, true
		default:
			p.from[body], p.to[body] = min(p.from[body], x), max(p.to[body], x)
		}
	}
	for i, s := range a.sets {
		for k, e := range s.exits {
			reach(e.body, a.tapX(p, i, k, lanes[i]))
		}
	}
	for i, e := range a.elements {
		reach(e.a, p.elementX[i])
		reach(e.b, p.elementX[i])
	}
	reach(a.input, 20)
	reach(a.output, p.width-20)
	return used
}

// levels gives each body the nearest track on its side that is free over its span.
func (a *anatomy) levels(p *placement, ar arrangement, used []bool) {
	const apart = 8
	assign := func(bodies []int) (track []int, tracks int) {
		track = make([]int, len(bodies))
		for i, b := range bodies {
			for hit := used[b]; hit; {
				hit = false
				for k, o := range bodies[:i] {
					if used[o] && track[k] == track[i] && p.from[b] < p.to[o]+apart && p.from[o] < p.to[b]+apart {
						track[i]++
						hit = true
					}
				}
			}
			if used[b] {
				tracks = max(tracks, track[i]+1)
			}
		}
		return track, tracks
	}
	upTrack, up := assign(ar.above)
	downTrack, down := assign(ar.below)
	p.tracks = up + down
	p.housing = 8
	p.top = p.housing + housingRoom + trackStep*float64(max(up-1, 0)) + bandRoom
	p.bottom = p.top + rowStep*float64(a.rows)
	for i, b := range ar.above {
		p.level[b] = p.top - bandRoom - trackStep*float64(upTrack[i])
	}
	for i, b := range ar.below {
		p.level[b] = p.bottom + bandRoom + 4 + trackStep*float64(downTrack[i])
	}
	p.axis = p.bottom + bandRoom + 4 + trackStep*float64(down)
	p.height = p.axis + 8
}

// y is the height of a row in the picture.
func (p *placement) y(row float64) float64 { return p.bottom - row*rowStep }

// tap finds the ways from the terminals to the lines.
func (a *anatomy) tap(p *placement, lanes []setLanes) {
	for i, s := range a.sets {
		left, right := p.setX[i], p.setX[i]+float64(s.columns)*s.column
		for k, e := range s.exits {
			t := tap{set: i, exit: k, body: e.body}
			x := a.tapX(p, i, k, lanes[i])
			column := left + (float64(e.column)+0.5)*s.column
			// The end: the line of the body, or the housing close by.
			end := 0.0
			if e.body >= 0 {
				end = p.level[e.body]
			}
			side := lanes[i].side[k]
			row := p.y(e.row)
			switch {
			case side == 0 && e.up:
				if e.body < 0 {
					end = p.top - 10
				}
				t.points = []point{{column, p.y(float64(e.high)) + boxGap/2}, {column, end}}
			case side == 0:
				if e.body < 0 {
					end = p.bottom + 10
				}
				t.points = []point{{column, p.bottom - boxGap/2}, {column, end}}
			default:
				edge := left
				outermost := e.column == 0
				if side > 0 {
					edge, outermost = right, e.column == s.columns-1
				}
				edge -= float64(side) * 3
				switch {
				case e.box < 0: // the arm reaches both edges
					t.points = []point{{edge, row}}
				case outermost:
					t.points = []point{{edge, row}}
				case e.up:
					row = p.top - 6
					t.points = []point{{column, p.y(float64(e.high)) + boxGap/2}, {column, row}}
				default:
					row = p.bottom + 7
					t.points = []point{{column, p.bottom - boxGap/2}, {column, row}}
				}
				if e.body < 0 {
					t.points = append(t.points, point{x, row}) // to the housing beside the set
				} else {
					t.points = append(t.points, point{x, row}, point{x, end})
				}
			}
			p.taps = append(p.taps, t)
		}
	}
}

// runs lists the straight pieces of all lines.
func (a *anatomy) runs(p *placement) []run {
	runs := make([]run, 0, len(a.list)+3*len(p.taps)+2*len(a.elements))
	add := func(body int, q, r point, element int) { runs = append(runs, run{body, q, r, q.x == r.x, element}) }
	for b := range a.list {
		if p.from[b] < p.to[b] {
			add(b, point{p.from[b], p.level[b]}, point{p.to[b], p.level[b]}, -1)
		}
	}
	for _, t := range p.taps {
		for i := 1; i < len(t.points); i++ {
			add(t.body, t.points[i-1], t.points[i], -1)
		}
	}
	for i, e := range a.elements {
		x := p.elementX[i]
		low, high := a.ends(p, e)
		middle := (low + high) / 2
		top, bottom := a.upright(p, e) // the halves belong to different bodies
		add(top, point{x, low}, point{x, middle}, i)
		add(bottom, point{x, middle}, point{x, high}, i)
	}
	return runs
}

// levelOf is the height of a body's line or of the housing.
func (a *anatomy) levelOf(p *placement, body int) float64 {
	if body < 0 {
		return p.housing
	}
	return p.level[body]
}

// ends are the upper and lower end of the line of an element.
func (a *anatomy) ends(p *placement, e elementShape) (low, high float64) {
	x, y := a.levelOf(p, e.a), a.levelOf(p, e.b)
	return min(x, y), max(x, y)
}

// upright are the bodies at the upper and the lower end of the line of an element.
func (a *anatomy) upright(p *placement, e elementShape) (top, bottom int) {
	if a.levelOf(p, e.a) > a.levelOf(p, e.b) {
		return e.b, e.a
	}
	return e.a, e.b
}

// signY is the height of the sign of an element: a brake sits so far below the housing,
// what passes the gearsets in their middle.
func (a *anatomy) signY(p *placement, e elementShape, brake float64) float64 {
	low, high := a.ends(p, e)
	switch {
	case e.a < 0 || e.b < 0:
		return min(p.housing+brake, (low+high)/2)
	case low < p.top && high > p.bottom:
		return (p.top + p.bottom) / 2
	}
	return (low + high) / 2
}

// armsOf are the lines of the carrier of a set: its arms from left to right, what makes
// them one, and the stem of a bevel pinion.
func (a *anatomy) armsOf(p *placement, i int, left, right float64) [][]point {
	var lines [][]point
	s := &a.sets[i]
	for _, row := range s.arms {
		lines = append(lines, []point{{left, p.y(row)}, {right, p.y(row)}})
	}
	if n := len(s.arms); n > 1 {
		lines = append(lines, []point{{right, p.y(s.arms[0])}, {right, p.y(s.arms[n-1])}})
	}
	if s.stem > 0 {
		x := p.setX[i] + s.stem*s.column
		lines = append(lines, []point{{x, p.y(s.arms[0])}, {x, p.y(s.arms[0] - 0.5)}})
	}
	return lines
}

func countFunc[T any](list []T, f func(T) bool) int {
	n := 0
	for _, x := range list {
		if f(x) {
			n++
		}
	}
	return n
}
