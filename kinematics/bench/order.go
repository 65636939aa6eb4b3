package bench

import (
	"math"
	"slices"
)

// exactOrder is up to how many turns the best order is searched.
const exactOrder = 12

// order sorts the turns so that lines of air are moved least, from none fitted; where
// that is equal, so that the output and the way of turning change least.
func (p *Plan) order() {
	n := len(p.Turns)
	if n == 0 {
		return
	}
	if n > exactOrder {
		p.orderNearest()
		return
	}
	// Shortest path through all turns [Held and Karp 1962].
	cost := make([][]int, 1<<n)
	before := make([][]int8, 1<<n)
	for s := range cost {
		cost[s], before[s] = make([]int, n), make([]int8, n)
		for k := range n {
			cost[s][k] = math.MaxInt
		}
	}
	for k, x := range p.Turns {
		cost[1<<k][k] = moves(Turn{}, x)
	}
	for s := 1; s < 1<<n; s++ {
		for k := range n {
			if cost[s][k] == math.MaxInt {
				continue
			}
			for next, x := range p.Turns {
				to := s | 1<<next
				if c := cost[s][k] + moves(p.Turns[k], x); to != s && c < cost[to][next] {
					cost[to][next], before[to][next] = c, int8(k)
				}
			}
		}
	}
	s, k := 1<<n-1, 0
	for i := range n {
		if cost[s][i] < cost[s][k] {
			k = i
		}
	}
	sorted := make([]Turn, n)
	for i := n - 1; i >= 0; i-- {
		sorted[i] = p.Turns[k]
		s, k = s&^(1<<k), int(before[s][k])
	}
	p.Turns = sorted
}

// orderNearest takes the nearest turn each time.
func (p *Plan) orderNearest() {
	at := Turn{}
	for i := range p.Turns {
		best := i
		for k := i + 1; k < len(p.Turns); k++ {
			if moves(at, p.Turns[k]) < moves(at, p.Turns[best]) {
				best = k
			}
		}
		p.Turns[i], p.Turns[best] = p.Turns[best], p.Turns[i]
		at = p.Turns[i]
	}
}

// moves is what is to be done between two turns: lines of air first.
func moves(a, b Turn) int {
	n := 0
	if a.Output != b.Output {
		n += 2
	}
	if a.Backward != b.Backward {
		n++
	}
	return n + 100*Lines(a, b)
}

// Lines is how many lines of air are put on or taken off between two turns.
func Lines(a, b Turn) int {
	n := 0
	for _, x := range [][2][]int{{a.Air, b.Air}, {b.Air, a.Air}} {
		for _, e := range x[0] {
			if !slices.Contains(x[1], e) {
				n++
			}
		}
	}
	return n
}
