package polyhedra_test

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"tieup/kinematics/exact"
	"tieup/kinematics/internal/polyhedra"
)

// wide returns a number of up to the given bits, all lengths being as likely.
func wide(r *rand.Rand, bits int) int64 {
	x := int64(r.Uint64() & (1<<62 - 1) >> (62 - r.IntN(bits+1)))
	if r.IntN(2) == 0 {
		return -x
	}
	return x
}

func same(a, b exact.Interval) bool {
	return a.Empty == b.Empty && (a.Empty || a.Min.Cmp(b.Min) == 0 && a.Max.Cmp(b.Max) == 0)
}

// TestConeOverflow compares the two ways to compute a cone on rows of all
// magnitudes: where the one in int64 claims to have an answer it must be the
// exact one, and it must give up neither always nor never.
func TestConeOverflow(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	var fast polyhedra.Cone
	var slow polyhedra.BigCone
	answers, overflows := 0, 0
	for n := range 60_000 {
		k, most := 1+r.IntN(5), 1+r.IntN(45)
		row := func() polyhedra.Row {
			c := make([]int64, k)
			for i := range c {
				if r.IntN(4) > 0 {
					c[i] = wide(r, most)
				}
			}
			return polyhedra.RowOf(c...)
		}
		fast.Reset(k)
		slow.Reset(k)
		ok := true
		for range r.IntN(k + 3) {
			row := row()
			if r.IntN(3) == 0 {
				ok = fast.Zero(row) && ok
				slow.Zero(row)
			} else {
				ok = fast.NonNegative(row) && ok
				slow.NonNegative(row)
			}
		}
		x, y := row(), row()
		ok = fast.Project(x, y) && ok
		slow.Project(x, y)
		if !ok {
			overflows++
			continue
		}
		answers++
		if !same(fast.Slice(1), slow.Slice(1)) || !same(fast.Slice(-1), slow.Slice(-1)) ||
			!same(fast.SliceOther(1), slow.SliceOther(1)) || !same(fast.SliceOther(-1), slow.SliceOther(-1)) ||
			!same(fast.Range(), slow.Range()) {
			t.Fatalf("cone %d: in int64 %v %v %v, exactly %v %v %v", n,
				fast.Slice(1), fast.SliceOther(1), fast.Range(), slow.Slice(1), slow.SliceOther(1), slow.Range())
		}
	}
	t.Logf("%d answers, %d overflows", answers, overflows)
	if answers < 10_000 || overflows < 10_000 {
		t.Errorf("%d answers and %d overflows: the magnitudes are too narrow", answers, overflows)
	}
}

// TestNullSpace: every vector solves every row, there are as many as unknowns
// less the rank, and they are independent. Ranks are counted modulo a prime.
func TestNullSpace(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 3000 {
		n, m := 1+r.IntN(7), r.IntN(8)
		var rows []polyhedra.Row
		for range m {
			c := make([]int64, n)
			for i := range c {
				if r.IntN(3) == 0 {
					c[i] = wide(r, 20)
				}
			}
			rows = append(rows, polyhedra.RowOf(c...))
		}
		if m > 1 && r.IntN(2) == 0 { // a dependent row
			rows[m-1] = polyhedra.Combine(big.NewInt(wide(r, 5)), rows[0], big.NewInt(wide(r, 5)), rows[m/2])
		}
		basis := polyhedra.NullSpace(rows, n)
		var a, b [][]*big.Int
		for _, row := range rows {
			a = append(a, row.Big)
			for _, v := range basis {
				if row.Of(v).Sign() != 0 {
					t.Fatalf("%v does not solve %v", v, row.Big)
				}
			}
		}
		b = append(b, basis...)
		if len(basis) != n-rank(a, n) || rank(b, n) != len(basis) {
			t.Fatalf("%d vectors of rank %d for %d unknowns and rank %d", len(basis), rank(b, n), n, rank(a, n))
		}
	}
}

// rank counts independent rows modulo the prime 2^61 - 1. It is too small for a
// matrix with a minor that the prime divides, which no seed above throws.
func rank(rows [][]*big.Int, n int) int {
	p := big.NewInt(1<<61 - 1)
	var base [][]*big.Int
	pivots := []int{}
	for _, row := range rows {
		v := make([]*big.Int, n)
		for i := range v {
			v[i] = new(big.Int).Mod(row[i], p)
		}
		for k, b := range base {
			f := new(big.Int).Set(v[pivots[k]])
			for i := range v {
				v[i].Sub(v[i], new(big.Int).Mul(f, b[i])).Mod(v[i], p)
			}
		}
		for i := range v {
			if v[i].Sign() != 0 {
				inv := new(big.Int).ModInverse(v[i], p)
				for j := range v {
					v[j].Mul(v[j], inv).Mod(v[j], p)
				}
				base, pivots = append(base, v), append(pivots, i)
				break
			}
		}
	}
	return len(base)
}
