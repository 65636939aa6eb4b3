package polyhedra

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"
)

// oneOf is a vector without its common factor and, where no sign holds it, with
// its first unknown that is not 0 positive.
func oneOf(v []*big.Int, signed []bool) string {
	g, held := new(big.Int), false
	for i, x := range v {
		g.GCD(nil, nil, g, new(big.Int).Abs(x))
		held = held || signed[i] && x.Sign() != 0
	}
	first := slices.IndexFunc(v, func(x *big.Int) bool { return x.Sign() != 0 })
	if !held && first >= 0 && v[first].Sign() < 0 {
		g.Neg(g)
	}
	w := make([]*big.Int, len(v))
	for i, x := range v {
		w[i] = new(big.Int).Quo(x, g)
	}
	return fmt.Sprint(w)
}

// Elementary calls yield with every elementary vector of the null space of rows over n
// unknowns: see [Search].
func Elementary(rows []Row, n int, signed []bool, yield func(v []*big.Int)) {
	s := Search{Signed: signed, Through: -1}
	s.NullSpace(rows, n, func(v []*big.Int) bool {
		yield(v)
		return true
	})
}

// bruteElementary tries every support: a vector is elementary if its unknowns
// alone leave one line, on which none of them is 0.
func bruteElementary(rows []Row, n int, signed []bool) []string {
	var list []string
	subsets(n, n, func(support []int) {
		if len(support) == 0 {
			return
		}
		var equations []ratRow
		for _, r := range rows {
			c := make(ratRow, len(support)+1)
			for k, j := range support {
				c[k] = new(big.Rat).SetInt(r.Big[j])
			}
			c[len(support)] = new(big.Rat)
			equations = append(equations, c)
		}
		q, ok := direction(equations, len(support))
		if !ok || slices.ContainsFunc(q, func(x *big.Rat) bool { return x.Sign() == 0 }) {
			return
		}
		lcm := big.NewInt(1)
		for _, x := range q {
			g := new(big.Int).GCD(nil, nil, lcm, x.Denom())
			lcm.Mul(lcm, new(big.Int).Quo(x.Denom(), g))
		}
		v := make([]*big.Int, n)
		for j := range v {
			v[j] = new(big.Int)
		}
		plus, minus := false, false
		for k, j := range support {
			v[j].Quo(v[j].Mul(q[k].Num(), lcm), q[k].Denom())
			if signed[j] {
				plus, minus = plus || v[j].Sign() > 0, minus || v[j].Sign() < 0
			}
		}
		if plus && minus {
			return
		}
		if minus {
			for _, x := range v {
				x.Neg(x)
			}
		}
		list = append(list, oneOf(v, signed))
	})
	slices.Sort(list)
	return list
}

// entry is an entry of a vector as [oneOf] writes it.
func entry(v string, k int) string { return strings.Fields(strings.Trim(v, "[]"))[k] }

// checkCover compares what covers the unknowns with all vectors through one of them: each
// is one of those and covers more, and without signs none is missed.
func checkCover(t *testing.T, seed uint64, rows []Row, through int, signed []bool, all []string) {
	t.Helper()
	n := len(signed)
	covered, marked := make([]bool, n), make([]bool, n)
	s := Search{Signed: signed, Through: through}
	s.Cover(rows, n, covered, func(v []*big.Int) {
		more := false
		for k, x := range v {
			more = more || k != through && x.Sign() != 0 && !marked[k]
			marked[k] = marked[k] || x.Sign() != 0
		}
		if !slices.Contains(all, oneOf(v, signed)) || !more {
			t.Fatalf("seed %d: %v covers through %d, of %v", seed, v, through, all)
		}
	})
	if !slices.Equal(covered, marked) {
		t.Errorf("seed %d: covered %v, marked %v", seed, marked, covered)
	}
	for k := range n {
		some := slices.ContainsFunc(all, func(v string) bool { return k != through && entry(v, k) != "0" })
		if some && !covered[k] && !slices.Contains(signed, true) {
			t.Fatalf("seed %d: %d is in a vector through %d, and not found", seed, k, through)
		}
	}
}

func TestElementary(t *testing.T) {
	found := 0
	for seed := range uint64(500) {
		d := seeded(seed)
		n := 1 + d.IntN(7)
		rows := d.rows(d.IntN(5), n, 9)
		signed := make([]bool, n)
		for j := range signed {
			signed[j] = d.IntN(2) == 0
		}
		var got []string
		Elementary(rows, n, signed, func(v []*big.Int) {
			for _, r := range rows {
				if r.Of(v).Sign() != 0 {
					t.Errorf("seed %d: %v is not in the null space", seed, v)
				}
			}
			for j, x := range v {
				if signed[j] && x.Sign() < 0 {
					t.Errorf("seed %d: %v breaks a sign", seed, v)
				}
			}
			if fmt.Sprint(v) != oneOf(v, signed) {
				t.Errorf("seed %d: %v has a common factor, or begins with a minus", seed, v)
			}
			got = append(got, oneOf(v, signed))
		})
		slices.Sort(got)
		want := bruteElementary(rows, n, signed)
		if !slices.Equal(got, want) {
			t.Fatalf("seed %d: got %v, want %v", seed, got, want)
		}
		through := d.IntN(n)
		var passing []string
		search := Search{Signed: signed, Through: through}
		search.NullSpace(rows, n, func(v []*big.Int) bool {
			if v[through].Sign() == 0 {
				t.Errorf("seed %d: %v does not pass through %d", seed, v, through)
			}
			passing = append(passing, oneOf(v, signed))
			return true
		})
		want = slices.DeleteFunc(want, func(v string) bool {
			return entry(v, through) == "0"
		})
		if slices.Sort(passing); !slices.Equal(passing, want) {
			t.Fatalf("seed %d: got %v through %d, want %v", seed, passing, through, want)
		}
		found += len(got)
		checkCover(t, seed, rows, through, signed, want)
		free := make([]bool, n)
		unsigned := slices.DeleteFunc(bruteElementary(rows, n, free), func(v string) bool { return entry(v, through) == "0" })
		checkCover(t, seed, rows, through, free, unsigned)
	}
	if found < 1500 {
		t.Errorf("only %d vectors", found)
	}
}
