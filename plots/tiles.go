package plots

import "math"

// A tiled drawing shows several states that may stand in a grid, so that it fills
// the paper instead of making a tower.
type tiled interface {
	tiles() *tiles
}

// Tiles arranges n states of given sizes in columns, row by row.
type tiles struct {
	n       int
	columns int // 0 stands for 1
}

func (t *tiles) perRow() int { return max(t.columns, 1) }

// size is the least size of a grid of states whose sizes are given by tile.
func (t *tiles) size(tile func(i int) (w, h float64)) (w, h float64) {
	wide := 0.0
	for i := range t.n {
		x, _ := tile(i)
		wide = max(wide, x)
	}
	for i := 0; i < t.n; i += t.perRow() {
		h += t.rowHeight(i, tile) + stateGap
	}
	c := float64(min(t.perRow(), max(t.n, 1)))
	return wide*c + stateGap*(c-1), max(h-stateGap, 0)
}

// rowHeight is the height of the row that begins with state i.
func (t *tiles) rowHeight(i int, tile func(i int) (w, h float64)) float64 {
	high := 0.0
	for k := i; k < min(i+t.perRow(), t.n); k++ {
		_, y := tile(k)
		high = max(high, y)
	}
	return high
}

// place calls put with the box of every state: the columns share the width of b, the
// rows what is left of its height.
func (t *tiles) place(b box, tile func(i int) (w, h float64), put func(i int, b box)) {
	c := float64(min(t.perRow(), max(t.n, 1)))
	wide := (b.w - stateGap*(c-1)) / c
	_, least := t.size(tile)
	rows := float64((t.n + t.perRow() - 1) / t.perRow())
	spare := (b.h - least) / max(rows, 1) // less than nothing where the states can be lower
	y := b.y
	for i := 0; i < t.n; i += t.perRow() {
		high := t.rowHeight(i, tile) + spare
		for k := i; k < min(i+t.perRow(), t.n); k++ {
			put(k, box{b.x + float64(k-i)*(wide+stateGap), y, wide, high})
		}
		y += high + stateGap
	}
}

// landscape is the shape of a sheet of A4 paper, width over height.
var landscape = math.Sqrt2

// arrange chooses the columns of a tiled drawing: on a size that is given those with
// which all is largest, else those that come nearest to a sheet of paper.
func arrange(r *ruler, d Drawing, s Style) {
	grid, ok := d.(tiled)
	if !ok {
		return
	}
	d.size(r) // counts the states
	t := grid.tiles()
	if t.n < 3 {
		return
	}
	best, most := 1, math.Inf(-1)
	for columns := 1; columns <= t.n; columns++ {
		t.columns = columns
		pg := measure(r, d, s)
		worth := -math.Abs(math.Log(pg.w / pg.h / landscape))
		if s.Size.Width > 0 {
			worth = pg.fit(r, s.Size)
		}
		if worth > most {
			best, most = columns, worth
		}
	}
	t.columns = best
}
