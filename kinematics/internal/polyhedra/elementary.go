package polyhedra

import "math/big"

// Elementary calls yield with every elementary vector of the null space of
// rows over n unknowns whose first signed unknowns are not negative: the
// vectors with a support (set of unknowns that are not 0) that contains no
// smaller one. Each is given once, in whole numbers without a common factor,
// and with its first unknown that is not 0 positive unless the signs ask for
// the opposite; a vector that may be turned over is given one way only.
//
// Any vector of the null space that obeys the signs is a sum of elementary ones
// that obey them, none of whose supports leaves its own [Rockafellar 1969, The
// elementary vectors of a subspace of R^N]. Supports therefore say which sets
// of rows can balance by themselves: by Farkas' lemma the smallest sets of
// constraints that contradict each other [Gleeson and Ryan 1990], and the
// statically determinate ways to carry a load.
//
// The null space has few dimensions d even where n is large. An elementary
// vector is fixed, up to a factor, by d - 1 independent unknowns that are 0;
// unknowns that vanish together are one choice.
func Elementary(rows []Row, n int, signed []bool, yield func(v []*big.Int)) {
	ElementaryUpTo(rows, n, signed, 0, func(v []*big.Int) bool {
		yield(v)
		return true
	})
}

// ElementaryUpTo is [Elementary] with a limit to its work, as there can be
// exponentially many elementary vectors: it ends after so many planes are chosen,
// 0 for any number, or when yield returns false, and says whether it came to the
// end of them all.
func ElementaryUpTo(rows []Row, n int, signed []bool, work int, yield func(v []*big.Int) bool) bool {
	basis := NullSpace(rows, n)
	planes := make([]Row, n)
	for i := range n {
		c := make([]*big.Int, len(basis))
		for j := range basis {
			c[j] = basis[j][i]
		}
		planes[i] = NewRow(c)
	}
	return elementary(planes, len(basis), signed, work, yield)
}

// ElementaryOf is [Elementary] for the space of the values that functions, one
// row each over d coordinates, can take together.
func ElementaryOf(functions []Row, d int, signed []bool, yield func(v []*big.Int)) {
	// Keep coordinates on which the functions depend independently.
	var keep []int
	restrict := func(coords []int) []Row {
		rows := make([]Row, len(functions))
		for i, f := range functions {
			c := make([]*big.Int, len(coords))
			for k, j := range coords {
				c[k] = f.Big[j]
			}
			rows[i] = NewRow(c)
		}
		return rows
	}
	for j := range d {
		with := append(keep[:len(keep):len(keep)], j)
		if len(NullSpace(restrict(with), len(with))) == 0 {
			keep = with
		}
	}
	elementary(restrict(keep), len(keep), signed, 0, func(v []*big.Int) bool {
		yield(v)
		return true
	})
}

// elementary enumerates the elementary vectors of the image of planes, which
// are independent functions: no point but 0 is in all of them. See
// [ElementaryUpTo] for work, yield and what it returns.
func elementary(values []Row, d int, signed []bool, work int, yield func(v []*big.Int) bool) bool {
	if d == 0 {
		return true
	}
	planes := make([]Row, len(values))
	var distinct []int // one function for each different plane
	for i := range values {
		planes[i] = values[i].Primitive()
		if planes[i].IsZero() {
			continue
		}
		seen := false
		for _, k := range distinct {
			seen = seen || planes[k].Equal(planes[i]) || planes[k].Opposite(planes[i])
		}
		if !seen {
			distinct = append(distinct, i)
		}
	}
	found := map[string]bool{}
	emit := func(q []*big.Int) bool {
		v := make([]*big.Int, len(values))
		for i := range v {
			v[i] = values[i].Of(q)
		}
		if orient(v, signed) && !found[support(v)] {
			found[support(v)] = true
			return yield(NewRow(v).Primitive().Big)
		}
		return true
	}
	chosen := 0
	// Choose d - 1 planes, keeping the space they leave as a cone of lines.
	var choose func(c *BigCone, from int) bool
	choose = func(c *BigCone, from int) bool {
		if len(c.lines) == 1 {
			return emit(c.lines[0].v)
		}
		for i := from; i < len(distinct); i++ {
			if len(distinct)-i < len(c.lines)-1 {
				return true
			}
			if chosen++; work > 0 && chosen > work {
				return false
			}
			next := c.copyLines()
			next.Zero(planes[distinct[i]])
			if len(next.lines) < len(c.lines) && !choose(next, i+1) {
				return false
			}
		}
		return true
	}
	var all BigCone
	all.Reset(d)
	return choose(&all, 0)
}

// orient turns v over if that is needed to obey the signs, and says whether
// it then does. Without signs its first unknown that is not 0 becomes positive.
func orient(v []*big.Int, signed []bool) bool {
	plus, minus, first := false, false, 0
	for i, x := range v {
		if first == 0 {
			first = x.Sign()
		}
		if signed[i] {
			plus = plus || x.Sign() > 0
			minus = minus || x.Sign() < 0
		}
	}
	if plus && minus {
		return false
	}
	if minus || !plus && first < 0 {
		for _, x := range v {
			x.Neg(x)
		}
	}
	return true
}

// support is the set of unknowns that are not 0, as a map key.
func support(v []*big.Int) string {
	s := make([]byte, len(v))
	for i, x := range v {
		s[i] = byte(x.Sign() & 1)
	}
	return string(s)
}

// copyLines returns a cone with copies of the lines of c.
func (c *BigCone) copyLines() *BigCone {
	var n BigCone
	for _, l := range c.lines {
		v := make([]*big.Int, len(l.v))
		for i, x := range l.v {
			v[i] = new(big.Int).Set(x)
		}
		n.lines = append(n.lines, bigRay{v, new(big.Int)})
	}
	return &n
}
