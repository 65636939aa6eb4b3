package polyhedra

import "math/big"

// NullSpace returns a basis of {v : row v = 0 for all rows}, as vectors of n
// whole coordinates without a common factor.
func NullSpace(rows []Row, n int) [][]*big.Int {
	var c Cone
	c.Reset(n)
	fits := true
	for _, r := range rows {
		if fits = c.Zero(r); !fits {
			break
		}
	}
	if !fits {
		return bigNullSpace(rows, n)
	}
	basis := make([][]*big.Int, c.lines.n)
	for i := range basis {
		basis[i] = RowOf(c.lines.at(i, n)...).Primitive().Big
	}
	return basis
}

// bigNullSpace is NullSpace over math/big.
func bigNullSpace(rows []Row, n int) [][]*big.Int {
	var c BigCone
	c.Reset(n)
	for _, r := range rows {
		c.Zero(r)
	}
	lines, _ := c.Generators()
	return lines
}
