package fit

import (
	"cmp"
	"math"
	"slices"

	"tieup/kinematics"
)

// MostCells is how many cells of a chart may differ from a layout that it matches.
const MostCells = 2

// MostMatches bounds how many ways to match one layout with so many cells that differ are
// kept: the first in the order in which a matcher decides, columns that can be one-way
// clutches first, then those with most marks, elements as the train lists them.
const MostMatches = 400

// With columns read as one-way clutches so many are kept of each layout, and so many tried in all.
const (
	mostMatchesRead = 12
	mostTriedRead   = 2000
)

// A match says which element of a layout each column of a chart is.
type match struct {
	layout *Layout
	// columns holds, for each column of the chart, an index into Layout.columns, or -1
	// for none.
	columns []int
	// beside marks columns that are one-way clutches which the layout does not have,
	// beside the element that columns names.
	beside []bool
	// behind marks those among them that stand behind the element, not parallel to it: it
	// acts only while they hold.
	behind []bool
	gears  []int // of each row of the chart, an index into Layout.ranges, or -1
	cells  int
	extra  int // columns beside elements: of two matches the one with fewer is better
}

// A matcher matches a chart to a layout.
type matcher struct {
	match // as far as it is decided
	chart *Chart
	most  int // matches that are kept

	order   []int   // columns in the order in which they are decided
	twin    []int   // of each column, the one before it that has the same marks and kind, or -1
	options [][]int // gears that each row can be, nil for a row that is not compared
	taken   []bool
	counts  [][]int  // cells that differ, by row and option
	undo    [][3]int // what was added to counts, the last in the end
	found   []match
	more    bool // there are more than most
}

// matches returns the ways to match a chart to a layout in which so many cells differ, and
// whether there are more.
func matches(c *Chart, l *Layout, cells int) (found []match, more bool) {
	m := &matcher{match: match{layout: l, cells: cells}, chart: c, most: MostMatches}
	if len(c.read) > 0 {
		m.most = mostMatchesRead
	}
	for i, col := range c.Columns {
		if col.Kind != OutsideColumn {
			m.order = append(m.order, i)
		}
	}
	// Columns that can be one-way clutches beside something come first: what they hold
	// counts for the others.
	slices.SortStableFunc(m.order, func(a, b int) int { return m.rank(a) - m.rank(b) })
	m.twin = none(len(c.Columns))
	for i, k := range m.order {
		for _, before := range m.order[:i] {
			if c.twins(before, k) {
				m.twin[k] = before
			}
		}
	}
	for _, options := range alignments(c, l) {
		m.options = options
		m.columns, m.beside = none(len(c.Columns)), make([]bool, len(c.Columns))
		m.behind = make([]bool, len(c.Columns))
		m.taken = make([]bool, len(l.columns))
		m.counts = make([][]int, len(c.Rows))
		for r := range options {
			m.counts[r] = make([]int, len(options[r]))
		}
		m.decide(0)
	}
	return m.found, m.more
}

// none is nothing for each of n things: -1.
func none(n int) []int { return slices.Repeat([]int{-1}, n) }

// rank orders columns: those that can be clutches beside something, then by marks.
func (m *matcher) rank(column int) int {
	if m.chart.Columns[column].Kind == OneWayColumn {
		return -1000
	}
	return -count(m.chart.Rows, func(r Row) bool { return r.Marks[column] == On })
}

// twins says whether nothing tells two columns apart.
func (c *Chart) twins(a, b int) bool {
	return c.Columns[a].Kind == c.Columns[b].Kind && slices.Contains(c.read, a) == slices.Contains(c.read, b) &&
		!slices.ContainsFunc(c.Rows, func(r Row) bool { return r.Marks[a] != r.Marks[b] })
}

// behindTwin says whether a column comes behind its twin, in some order of what columns can be:
// the other way round would be the same match.
func (m *matcher) behindTwin(c int) bool {
	place := func(c int) int {
		switch e := m.columns[c]; {
		case e < 0:
			return 3 * len(m.layout.columns)
		case m.behind[c]:
			return 2*len(m.layout.columns) + e
		case m.beside[c]:
			return len(m.layout.columns) + e
		default:
			return e
		}
	}
	return m.twin[c] < 0 || place(m.twin[c]) <= place(c)
}

// tells says whether a column has a mark that is known.
func (c *Chart) tells(column int) bool {
	return slices.ContainsFunc(c.Rows, func(r Row) bool { return r.Marks[column] != Unknown })
}

// decide goes through what the column at a depth can be.
func (m *matcher) decide(depth int) {
	if m.cost() > m.cells || m.more {
		return
	}
	if depth == len(m.order) {
		m.keep()
		return
	}
	c := m.order[depth]
	read := slices.Contains(m.chart.read, c)
	for e := range m.layout.columns {
		if read || m.taken[e] || !m.fits(c, e) {
			continue
		}
		if m.columns[c] = e; m.behindTwin(c) {
			m.taken[e] = true
			before := m.add(c, e)
			m.decide(depth + 1)
			m.remove(before)
			m.taken[e] = false
		}
		m.columns[c] = -1
	}
	if m.chart.Columns[c].Kind == OneWayColumn && m.chart.tells(c) {
		m.beside[c] = true
		m.decideBeside(depth, c)
		if m.chart.cutsOut(c) {
			m.behind[c] = true
			m.decideBeside(depth, c)
			m.behind[c] = false
		}
		m.beside[c], m.columns[c] = false, -1
	}
	if read {
		return
	}
	// It is none of them.
	before := m.add(c, -1)
	m.decide(depth + 1)
	m.remove(before)
}

// decideBeside goes through the elements that a one-way clutch can be beside or behind.
func (m *matcher) decideBeside(depth, c int) {
	for e, i := range m.layout.columns {
		if m.columns[c] = e; m.layout.Train.Couplings[i].Kind != kinematics.OneWay && m.behindTwin(c) {
			before := m.add(c, e)
			m.decide(depth + 1)
			m.remove(before)
		}
	}
}

// cutsOut says whether a one-way clutch can stand behind another column: that is applied
// wherever the clutch holds.
func (c *Chart) cutsOut(column int) bool {
	for k := range c.Columns {
		if c.Columns[k].Kind == OneWayColumn || c.Columns[k].Kind == OutsideColumn {
			continue
		}
		holds, apart := 0, 0
		for _, r := range c.Rows {
			switch own, other := r.Marks[column], r.Marks[k]; {
			case own == On && other == On:
				holds++
			case own == On && other == Off:
				apart++
			}
		}
		if holds > 0 && apart == 0 {
			return true
		}
	}
	return false
}

// fits says whether a column can be an element by its kind.
func (m *matcher) fits(c, e int) bool {
	k := m.layout.Train.Couplings[m.layout.columns[e]].Kind
	grounded := m.layout.ends(m.layout.columns[e])[0] == 0
	switch m.chart.Columns[c].Kind {
	case ClutchColumn:
		return k != kinematics.OneWay && !grounded
	case BrakeColumn:
		return k != kinematics.OneWay && grounded
	case OneWayColumn:
		return k == kinematics.OneWay
	}
	return true
}

// add counts the cells of a column that differ, and returns up to where to take back.
func (m *matcher) add(c, e int) (before int) {
	before = len(m.undo)
	for r, options := range m.options {
		if m.chart.Rows[r].Marks[c] == Unknown {
			continue
		}
		for o, g := range options {
			if n := m.differs(c, e, r, g); n > 0 {
				m.count(r, o, n)
			}
		}
	}
	return before
}

// count counts cells of a row that differ from one of its options.
func (m *matcher) count(r, o, n int) {
	m.counts[r][o] += n
	m.undo = append(m.undo, [3]int{r, o, n})
}

// remove takes back what was counted since.
func (m *matcher) remove(before int) {
	for _, u := range m.undo[before:] {
		m.counts[u[0]][u[1]] -= u[2]
	}
	m.undo = m.undo[:before]
}

// differs says whether the cell of a row differs from what a gear asks of an element.
func (m *matcher) differs(c, e, r, g int) int {
	mark := m.chart.Rows[r].Marks[c]
	if mark == Unknown {
		return 0
	}
	asked := off
	if e >= 0 {
		asked = m.layout.ranges[g].marks[e]
	}
	switch {
	case mark == On && asked == off && (m.beside[c] || !m.cutOut(e, r)):
		return 1
	case mark == Off && asked == on && (!m.beside[c] || m.behind[c]) && !m.heldBeside(e, r):
		return 1
	}
	return 0
}

// heldBeside says whether a one-way clutch beside an element holds in a row.
func (m *matcher) heldBeside(e, r int) bool {
	for c := range m.columns {
		if m.beside[c] && !m.behind[c] && m.columns[c] == e && m.chart.Rows[r].Marks[c] != Off {
			return true
		}
	}
	return false
}

// cutOut says whether a one-way clutch behind an element overruns in a row.
func (m *matcher) cutOut(e, r int) bool {
	for c := range m.columns {
		if m.behind[c] && e >= 0 && m.columns[c] == e && m.chart.Rows[r].Marks[c] == Off {
			return true
		}
	}
	return false
}

// cost is how many cells differ so far, each row as the gear that suits it best.
func (m *matcher) cost() int {
	sum := 0
	for _, options := range m.counts {
		if len(options) > 0 {
			sum += slices.Min(options)
		}
	}
	return sum
}

// keep keeps a match.
func (m *matcher) keep() {
	// Elements that no column is count as off: one-way clutches are not missed, since
	// charts leave them out.
	before := len(m.undo)
	for e, i := range m.layout.columns {
		if m.taken[e] || m.layout.Train.Couplings[i].Kind == kinematics.OneWay {
			continue
		}
		for r, options := range m.options {
			for o, g := range options {
				if m.layout.ranges[g].marks[e] == on && !m.heldBeside(e, r) {
					m.count(r, o, 1)
				}
			}
		}
	}
	defer m.remove(before)
	if m.cost() != m.cells {
		return
	}
	if m.more = len(m.found) == m.most; m.more {
		return
	}
	x := m.match
	x.columns, x.beside, x.behind = slices.Clone(m.columns), slices.Clone(m.beside), slices.Clone(m.behind)
	x.gears = none(len(m.chart.Rows))
	x.extra = count(x.beside, func(b bool) bool { return b })
	for r, options := range m.options {
		if len(options) > 0 {
			x.gears[r] = options[slices.Index(m.counts[r], slices.Min(m.counts[r]))]
		}
	}
	m.found = append(m.found, x)
}

// alignments returns which gears of the layout each row can be: in the order of ratios,
// and in the order of the file where that is another.
func alignments(c *Chart, l *Layout) [][][]int {
	var list [][][]int
	for _, byRatio := range []bool{true, false} {
		forward, reverse := c.groups(false, byRatio), c.groups(true, byRatio)
		lf, lr := l.groups(false), l.groups(true)
		for _, f := range injections(len(forward), len(lf)) {
			for _, r := range injections(len(reverse), len(lr)) {
				options := make([][]int, len(c.Rows))
				place(options, forward, lf, f)
				place(options, reverse, lr, r)
				if !slices.ContainsFunc(list, func(o [][]int) bool { return slices.EqualFunc(o, options, slices.Equal) }) {
					list = append(list, options)
				}
			}
		}
	}
	return list
}

func place(options, rows, gears [][]int, to []int) {
	for i, g := range to {
		if g < 0 {
			continue
		}
		for _, r := range rows[i] {
			options[r] = gears[g]
		}
	}
}

// groups are the rows of one sense, those of one ratio together, the greatest first.
func (c *Chart) groups(reverse, byRatio bool) [][]int {
	var rows []int
	for r := range c.Rows {
		if c.Rows[r].Ratio != nil && c.Rows[r].reverse() == reverse {
			rows = append(rows, r)
		}
	}
	size := func(r int) float64 { return math.Abs(c.signed(&c.Rows[r])) }
	if byRatio {
		slices.SortStableFunc(rows, func(a, b int) int { return cmp.Compare(size(b), size(a)) })
	} else if len(rows) > 1 && size(rows[0]) < size(rows[len(rows)-1]) {
		slices.Reverse(rows)
	}
	return gather(rows, func(a, b int) bool { return c.Rows[a].Ratio.Text == c.Rows[b].Ratio.Text })
}

// groups are the gears of a layout of one sense, likewise.
func (l *Layout) groups(reverse bool) [][]int {
	var gears []int
	for g := range l.ranges {
		if l.ranges[g].ratio.Sign() < 0 == reverse {
			gears = append(gears, g)
		}
	}
	slices.SortStableFunc(gears, func(a, b int) int { return l.ranges[b].ratio.Abs().Cmp(l.ranges[a].ratio.Abs()) })
	return gather(gears, func(a, b int) bool { return l.ranges[a].ratio.Cmp(l.ranges[b].ratio) == 0 })
}

// gather puts neighbours together that are the same.
func gather(list []int, same func(a, b int) bool) [][]int {
	var groups [][]int
	for i, x := range list {
		if i == 0 || !same(list[i-1], x) {
			groups = append(groups, nil)
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], x)
	}
	return groups
}

// mostSkipped is how many gears may have no counterpart.
const mostSkipped = 3

// injections are the ways to place n things in order on m places, or as many of them as
// there are places: -1 for those without one.
func injections(n, m int) [][]int {
	if n-m > mostSkipped || m-n > mostSkipped {
		return nil
	}
	var list [][]int
	at := none(n)
	var next func(i, from, skipped int)
	next = func(i, from, skipped int) {
		if i == n {
			list = append(list, slices.Clone(at))
			return
		}
		for p := from; p <= m-(n-i-max(0, n-m-skipped)) && p < m; p++ {
			at[i] = p
			next(i+1, p+1, skipped)
		}
		if skipped < n-m {
			at[i] = -1
			next(i+1, from, skipped+1)
		}
	}
	next(0, 0, 0)
	return list
}
