package integer_test

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"tieup/kinematics/internal/integer"
)

// TestMulSubDiv compares the 128-bit step of the pivoting with math/big, at the
// ends of int64 too.
func TestMulSubDiv(t *testing.T) {
	d := rand.New(rand.NewPCG(1, 1))
	throw := func() int64 {
		x := d.Int64() >> d.IntN(63)
		if d.IntN(2) == 0 {
			x = -x
		}
		switch d.IntN(12) {
		case 0:
			x = 1<<63 - 1
		case 1:
			x = 1 - 1<<63
		}
		return x
	}
	fits, not := 0, 0
	for range 200_000 {
		a, p, q, r := throw(), throw(), throw(), throw()
		den := int64(1)
		want := new(big.Int).Sub(new(big.Int).Mul(big.NewInt(a), big.NewInt(p)),
			new(big.Int).Mul(big.NewInt(q), big.NewInt(r)))
		// A denominator that divides without remainder, as the last pivot does.
		if want.Sign() != 0 {
			g := new(big.Int).GCD(nil, nil, new(big.Int).Abs(want), big.NewInt(max(d.Int64()>>d.IntN(62), 1)))
			den = max(g.Int64(), 1)
		}
		want.Quo(want, big.NewInt(den))
		got, ok := integer.MulSubDiv(a, p, q, r, den)
		should := want.IsInt64() && want.Int64() != -1<<63
		if ok != should || ok && got != want.Int64() {
			t.Fatalf("(%d %d - %d %d)/%d = %v, got %d, %t", a, p, q, r, den, want, got, ok)
		}
		if ok {
			fits++
		} else {
			not++
		}
	}
	if fits < 1000 || not < 1000 {
		t.Errorf("%d fit, %d do not", fits, not)
	}
}

// TestInt128 compares sums of products over two denominators with math/big.
func TestInt128(t *testing.T) {
	d := rand.New(rand.NewPCG(2, 2))
	throw := func(bits int) int64 {
		x := d.Int64() >> (63 - 1 - d.IntN(bits))
		if d.IntN(2) == 0 {
			return -x
		}
		return x
	}
	small, large := 0, 0
	for range 50_000 {
		var s integer.Int128
		want := new(big.Int)
		for range d.IntN(5) {
			a, b := throw(48), throw(62)
			s.AddMul(a, b)
			want.Add(want, new(big.Int).Mul(big.NewInt(a), big.NewInt(b)))
		}
		a, b := 1+d.Int64N(1<<d.IntN(62)), 1+d.Int64N(1<<d.IntN(48))
		if d.IntN(2) == 0 { // often the sum has factors of the denominators
			s, want = integer.Int128{}, new(big.Int)
			s.AddMul(a, b%(1<<20))
			want.Mul(big.NewInt(a), big.NewInt(b%(1<<20)))
		}
		quotient := new(big.Rat).SetFrac(want, new(big.Int).Mul(big.NewInt(a), big.NewInt(b)))
		n, den, got := s.Over(a, b)
		fits := got == nil
		if fits {
			got = big.NewRat(n, den)
		}
		if s.Sign() != want.Sign() || got.Cmp(quotient) != 0 || fits && den != got.Denom().Int64() {
			t.Fatalf("%v / (%d %d) = %v, got %v", want, a, b, quotient, got)
		}
		if fits {
			small++
		} else {
			large++
		}
	}
	if small < 5000 || large < 5000 {
		t.Errorf("%d results fit into int64, %d do not", small, large)
	}
}

func TestParallel(t *testing.T) {
	for _, c := range []struct {
		a, b, c, d int64
		want       bool
	}{
		{1, 2, 3, 6, true}, {1, 2, -3, -6, true}, {1, 2, 3, -6, false}, {1, 2, 3, 7, false},
		{0, 5, 0, -3, true}, {5, 0, 0, 3, false}, {1 << 61, 1<<61 + 1, 1 << 60, 1 << 60, false}, {-1, 2, 1, -2, true},
	} {
		if got := integer.Parallel(c.a, c.b, c.c, c.d); got != c.want {
			t.Errorf("Parallel(%d, %d, %d, %d) = %v", c.a, c.b, c.c, c.d, got)
		}
	}
}
