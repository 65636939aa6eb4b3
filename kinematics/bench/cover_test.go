package bench

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"
)

// The least cover costs what the best of all choices does, on sets for which the greedy
// choice is often not the best.
func TestLeastCover(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	better := 0
	for range 200 {
		const rows, n = 10, 9
		columns := make([]column, n)
		for c := range columns {
			columns[c] = column{newSet(rows), r.IntN(9), c}
			for row := range rows {
				if r.IntN(3) == 0 {
					columns[c].rows.add(row)
				}
			}
		}
		all := newSet(rows)
		for _, c := range columns {
			all = all.with(c.rows)
		}
		least := many * (n + 1)
		for choice := range 1 << n {
			had, cost := newSet(rows), 0
			for c := range columns {
				if choice>>c&1 != 0 {
					had, cost = had.with(columns[c].rows), cost+columns[c].cost()
				}
			}
			if had.count() == all.count() && cost < least {
				least = cost
			}
		}
		got := leastCover(context.Background(), columns, rows, 100_000)
		cost := 0
		for _, c := range got.columns {
			cost += columns[c].cost()
		}
		if cost != least || !got.closed || got.atLeast != len(got.columns) {
			t.Fatalf("cost %d (closed %v, at least %d), want %d", cost, got.closed, got.atLeast, least)
		}
		if greedyCost(columns, rows) > least {
			better++
		}
		if cut := leastCover(context.Background(), columns, rows, 1); cut.atLeast > len(got.columns) {
			t.Fatalf("cut, at least %d, but %d do", cut.atLeast, len(got.columns))
		}
	}
	if better == 0 {
		t.Error("the greedy choice was always the best: the test is too easy")
	}
}

func greedyCost(columns []column, rows int) int {
	x := &coverer{columns: slices.Clone(columns)}
	x.rows = x.essential(rows)
	cost := 0
	for _, c := range x.greedy() {
		cost += x.columns[c].cost()
	}
	return cost
}
