package solve

import (
	"math/big"
	"slices"

	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// few are the corners of the program of [System.Standing] where they are so few that they
// are listed and not sought: nothing is one-way, and the slips of the friction elements, but
// for one at most, are coordinates of the motions. In a corner then all of these stand still
// but for one, or two.
type few struct {
	x         *gripped
	capacity  []exact.Frac // parallel to gripped.friction
	free      []int        // places in friction of the slips that are coordinates
	dependent []dependent  // what the coordinates decide: the output, and the slip of one element at most
	other     int          // place in friction of that element
	corners   []fewCorner
}

// A dependent is what depends on the coordinates: its value per turn of the input where none
// of them slips, and per unit of each slip.
type dependent struct {
	still exact.Frac
	per   []exact.Frac
}

// A fewCorner is a motion at input speed 1, with what it costs over the resistance.
type fewCorner struct {
	line
	moves []int // places in few.free, the others stand still
	by    []exact.Frac
}

// few lists the corners; nil where there can be others.
func (x *gripped) few() *few {
	l := &few{x: x}
	for _, i := range x.friction {
		l.capacity = append(l.capacity, exact.FromRat(x.g.Capacity[i]))
	}
	if len(x.oneWay) > 0 || slices.ContainsFunc(l.capacity, func(c exact.Frac) bool { return c.Sign() == 0 }) ||
		!l.coordinates() {
		return nil
	}
	l.add(nil, nil)
	for i := range l.free {
		for _, d := range l.dependent {
			if d.per[i].Sign() != 0 {
				l.add([]int{i}, []exact.Frac{d.still.Mul(d.per[i].Inv()).Neg()})
			}
		}
		for j := 0; len(l.dependent) == 2 && j < i; j++ {
			d, g := &l.dependent[0], &l.dependent[1]
			if det := d.per[i].Mul(g.per[j]).Sub(d.per[j].Mul(g.per[i])); det.Sign() != 0 {
				l.add([]int{i, j}, []exact.Frac{
					d.per[j].Mul(g.still).Sub(g.per[j].Mul(d.still)).Mul(det.Inv()),
					g.per[i].Mul(d.still).Sub(d.per[i].Mul(g.still)).Mul(det.Inv())})
			}
		}
	}
	return l
}

// coordinates finds the slips that are coordinates, and what depends on them. It returns
// false if the input cannot turn, the output can by itself, or the slips of two elements
// depend on the others.
func (l *few) coordinates() bool {
	e, x := newEchelon(nil), l.x
	for _, row := range x.locks {
		e = e.with(fractions(row))
	}
	adds := func(row polyhedra.Row) bool {
		n := len(e.rows)
		e = e.with(fractions(row))
		return len(e.rows) > n
	}
	input := e.n
	if !adds(x.member[x.g.State.Input]) {
		return false
	}
	depend := []polyhedra.Row{x.member[x.g.State.Output]}
	var at []int
	for k, i := range x.friction {
		if adds(x.slip[i]) {
			l.free, at = append(l.free, k), append(at, e.n-1)
		} else {
			l.other, depend = k, append(depend, x.slip[i])
		}
	}
	if len(depend) > 2 {
		return false
	}
	for _, row := range depend {
		rest, taken := e.reduce(fractions(row))
		if slices.ContainsFunc(rest, func(v exact.Frac) bool { return v.Sign() != 0 }) {
			return false
		}
		d := dependent{still: taken[input]}
		for _, n := range at {
			d.per = append(d.per, taken[n])
		}
		l.dependent = append(l.dependent, d)
	}
	return true
}

// fractions are the coefficients of a row.
func fractions(row polyhedra.Row) []exact.Frac {
	list := make([]exact.Frac, len(row.Big))
	for i, c := range row.Big {
		list[i] = exact.FromRat(new(big.Rat).SetInt(c))
	}
	return list
}

// add adds the corner in which some slips move.
func (l *few) add(moves []int, by []exact.Frac) {
	c := fewCorner{line: line{cost: exact.Int(0)}}
	for n, i := range moves {
		if by[n].Sign() != 0 {
			c.moves, c.by = append(c.moves, i), append(c.by, by[n])
			c.cost = c.cost.Add(l.capacity[l.free[i]].Mul(by[n].Abs()))
		}
	}
	c.slope = l.value(0, &c).Abs()
	if len(l.dependent) > 1 {
		c.cost = c.cost.Add(l.capacity[l.other].Mul(l.value(1, &c).Abs()))
	}
	l.corners = append(l.corners, c)
}

// value is what a dependent has in a corner.
func (l *few) value(n int, c *fewCorner) exact.Frac {
	v := l.dependent[n].still
	for n2, i := range c.moves {
		v = v.Add(l.dependent[n].per[i].Mul(c.by[n2]))
	}
	return v
}

// cheapest returns a corner that costs least at a resistance, and whether it is the only one.
func (l *few) cheapest(resistance exact.Frac) (best *fewCorner, only bool) {
	var least exact.Frac
	for i := range l.corners {
		c := &l.corners[i]
		cost := c.at(resistance)
		order := -1
		if best != nil {
			order = cost.Cmp(least)
		}
		switch {
		case order < 0:
			best, least, only = c, cost, true
		case order == 0:
			only = only && slices.Equal(c.moves, best.moves) &&
				slices.EqualFunc(c.by, best.by, func(a, b exact.Frac) bool { return a.Cmp(b) == 0 })
		}
	}
	return best, only
}

// motion describes a corner.
func (l *few) motion(f forced, c *fewCorner) MechanismMotion {
	slip := zeros(len(l.capacity))
	for n, i := range c.moves {
		slip[l.free[i]] = c.by[n]
	}
	if len(l.dependent) > 1 {
		slip[l.other] = l.value(1, c)
	}
	return l.x.described(f, l.value(0, c), func(k int) exact.Frac { return slip[k] }, nil)
}
