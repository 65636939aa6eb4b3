package bench

import (
	"context"
	"math/bits"
	"slices"

	"tieup/kinematics/solve"
)

// A set is a set of small numbers.
type set []uint64

func newSet(n int) set { return make(set, (n+63)/64) }

func (s set) add(i int)      { s[i/64] |= 1 << (i % 64) }
func (s set) has(i int) bool { return s[i/64]>>(i%64)&1 != 0 }

func (s set) count() int {
	n := 0
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

// without counts the members that are not in o.
func (s set) without(o set) int {
	n := 0
	for i, w := range s {
		n += bits.OnesCount64(w &^ o[i])
	}
	return n
}

func (s set) within(o set) bool { return s.without(o) == 0 }

func (s set) meets(o set) bool {
	for i, w := range s {
		if w&o[i] != 0 {
			return true
		}
	}
	return false
}

func (s set) with(o set) set {
	u := slices.Clone(s)
	for i, w := range o {
		u[i] |= w
	}
	return u
}

// A cover is a choice of columns that has every row, of least cost: fewest columns
// first, then least effort.
type cover struct {
	columns []int
	closed  bool // no other is better
	atLeast int  // as many columns are needed, whatever they cost
}

// column is what one turn shows, at what effort.
type column struct {
	rows   set
	effort int
	number int // of the turn
}

// many is more than all efforts together can be.
const many = 1 << 20

func (c *column) cost() int { return many + c.effort }

// A coverer searches the least cover.
type coverer struct {
	columns []column
	rows    []set // of each row the columns that have it
	best    []int
	cost    int
	nodes   int // left, of all
	all     int
	cut     bool
	ctx     context.Context
}

// leastCover finds the least cover of n rows, each of which some column has. At most
// so many nodes are searched.
func leastCover(ctx context.Context, columns []column, n, nodes int) cover {
	x := &coverer{columns: undominated(columns), nodes: nodes, all: nodes, ctx: ctx}
	x.rows = x.essential(n)
	if len(x.rows) == 0 {
		return cover{closed: true}
	}
	x.best = x.greedy()
	for _, c := range x.best {
		x.cost += x.columns[c].cost()
	}
	all := newSet(len(x.rows))
	atLeast := x.bound(all) / many
	x.search(nil, 0, all)
	solve.Report(ctx, "plans compared", x.all+1, x.all+1)
	if !x.cut {
		atLeast = len(x.best)
	}
	r := cover{closed: !x.cut, atLeast: atLeast}
	for _, c := range x.best {
		r.columns = append(r.columns, x.columns[c].number)
	}
	return r
}

// undominated leaves out columns that another one has at no more cost, the cheapest
// and fullest first.
func undominated(columns []column) []column {
	columns = slices.Clone(columns)
	slices.SortStableFunc(columns, func(a, b column) int {
		if d := b.rows.count() - a.rows.count(); d != 0 {
			return d
		}
		return a.effort - b.effort
	})
	var kept []column
	for _, c := range columns {
		if !slices.ContainsFunc(kept, func(k column) bool { return c.rows.within(k.rows) && k.effort <= c.effort }) {
			kept = append(kept, c)
		}
	}
	return kept
}

// essential returns the rows by their columns, without those that are had whenever
// another one is, and renumbers the columns' rows.
func (x *coverer) essential(n int) []set {
	rows := make([]set, n)
	for r := range rows {
		rows[r] = newSet(len(x.columns))
		for c := range x.columns {
			if x.columns[c].rows.has(r) {
				rows[r].add(c)
			}
		}
	}
	slices.SortStableFunc(rows, func(a, b set) int { return a.count() - b.count() })
	var kept []set
	for _, r := range rows {
		if r.count() > 0 && !slices.ContainsFunc(kept, func(k set) bool { return k.within(r) }) {
			kept = append(kept, r)
		}
	}
	for c := range x.columns {
		x.columns[c].rows = newSet(len(kept))
		for r := range kept {
			if kept[r].has(c) {
				x.columns[c].rows.add(r)
			}
		}
	}
	return kept
}

// greedy covers by what has most for its cost.
func (x *coverer) greedy() []int {
	var chosen []int
	had := newSet(len(x.rows))
	for had.count() < len(x.rows) {
		best, most := -1, 0.0
		for c := range x.columns {
			if worth := float64(x.columns[c].rows.without(had)) / float64(x.columns[c].cost()); worth > most {
				best, most = c, worth
			}
		}
		chosen = append(chosen, best)
		had = had.with(x.columns[best].rows)
	}
	return chosen
}

// bound is a cost that is needed to have the rows that are missing: no two of the rows
// it counts are in one column.
func (x *coverer) bound(had set) int {
	need := 0
	used := newSet(len(x.columns))
	for r, columns := range x.rows { // those in fewest columns first
		if had.has(r) || columns.meets(used) {
			continue
		}
		used = used.with(columns)
		least := 0
		for c := range x.columns {
			if cost := x.columns[c].cost(); columns.has(c) && (least == 0 || cost < least) {
				least = cost
			}
		}
		need += least
	}
	return need
}

// search tries every column that has the row that fewest columns have.
func (x *coverer) search(chosen []int, cost int, had set) {
	if x.nodes--; x.nodes < 0 || x.ctx.Err() != nil {
		x.cut = true
		return
	}
	if x.nodes%1024 == 0 {
		solve.Report(x.ctx, "plans compared", x.all-x.nodes, x.all+1)
	}
	row := -1
	for r := range x.rows {
		if !had.has(r) {
			row = r
			break
		}
	}
	if row < 0 {
		if cost < x.cost {
			x.best, x.cost = slices.Clone(chosen), cost
		}
		return
	}
	if cost+x.bound(had) >= x.cost {
		return
	}
	var next []int
	for c := range x.columns {
		if x.rows[row].has(c) {
			next = append(next, c)
		}
	}
	slices.SortStableFunc(next, func(a, b int) int {
		return x.columns[b].rows.without(had) - x.columns[a].rows.without(had)
	})
	for _, c := range next {
		x.search(append(chosen[:len(chosen):len(chosen)], c), cost+x.columns[c].cost(), had.with(x.columns[c].rows))
	}
}
