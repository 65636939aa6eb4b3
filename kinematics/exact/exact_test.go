package exact_test

import (
	"encoding/json"
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"

	"tieup/kinematics/exact"
)

// wide returns a number of up to the given bits, all lengths being as likely.
func wide(r *rand.Rand, bits int) int64 {
	x := int64(r.Uint64() & (1<<62 - 1) >> (62 - r.IntN(bits+1)))
	if r.IntN(2) == 0 {
		return -x
	}
	return x
}

// TestFrac compares fractions with big.Rat at the edges of int64.
func TestFrac(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	edges := []int64{0, 1, -1, 2, 1<<62 - 1, 1 << 62, -1 << 62, 1<<63 - 1, -1<<63 + 1, -1 << 63}
	number := func() int64 {
		if r.IntN(3) == 0 {
			return edges[r.IntN(len(edges))]
		}
		return wide(r, 62)
	}
	for range 20_000 {
		a, b, c, d := number(), number(), number(), number()
		if b == 0 || d == 0 {
			continue
		}
		f, g := exact.NewFrac(a, b), exact.NewFrac(c, d)
		x, y := big.NewRat(a, b), big.NewRat(c, d)
		check := func(what string, got exact.Frac, want *big.Rat) {
			t.Helper()
			wantFloat, _ := want.Float64()
			if got.Rat().Cmp(want) != 0 || got.String() != want.RatString() || got.Sign() != want.Sign() ||
				got.IsInt() != want.IsInt() || got.Float() != wantFloat {
				t.Fatalf("%s of %v and %v is %v (%g), want %v", what, x, y, got, got.Float(), want)
			}
		}
		check("first", f, x)
		check("sum", f.Add(g), new(big.Rat).Add(x, y))
		check("difference", f.Sub(g), new(big.Rat).Sub(x, y))
		check("product", f.Mul(g), new(big.Rat).Mul(x, y))
		check("negative", f.Neg(), new(big.Rat).Neg(x))
		if a != 0 {
			check("inverse", f.Inv(), new(big.Rat).Inv(x))
		}
		if f.Cmp(g) != x.Cmp(y) {
			t.Fatalf("%v compared with %v: %d, want %d", x, y, f.Cmp(g), x.Cmp(y))
		}
	}
}

// What is written is read again as the same, and nothing is written that JSON does
// not allow.
func TestEncoding(t *testing.T) {
	huge := exact.FromRat(new(big.Rat).SetFrac(new(big.Int).Lsh(big.NewInt(3), 1200), big.NewInt(7)))
	for _, c := range []struct {
		value any
		want  string
	}{
		{exact.NewFrac(27, 11), "2.4545454545454546"},
		{exact.NewFrac(0, -5), "0"},
		{exact.Int(0).Neg(), "0"},
		{exact.Frac{}, "null"},
		{exact.Text{Frac: exact.NewFrac(-27, 11)}, `"-27/11"`},
		{exact.Text{}, "null"},
		{exact.Finite(exact.NewFrac(1, 4)), "0.25"},
		{exact.Infinite(1), `"inf"`},
		{exact.Infinite(-1), `"-inf"`},
		{exact.None, `{"min":null,"max":null}`},
		{exact.Between(exact.Int(-1), exact.NewFrac(1, 2)), `{"min":-1,"max":0.5}`},
		{exact.Interval{Min: exact.Infinite(-1), Max: exact.Infinite(1)}, `{"min":"-inf","max":"inf"}`},
		// 3 2^1200 / 7 and its inverse, by Python's decimal.
		{huge, "7.3793483384510360e+360"},
		{huge.Inv(), "1.3551332097840841e-361"},
		{huge.Neg(), "-7.3793483384510360e+360"},
	} {
		got, err := json.Marshal(c.value)
		if err != nil || string(got) != c.want || !json.Valid(got) {
			t.Errorf("%v is written %s (%v), want %s", c.value, got, err, c.want)
		}
	}
}

func TestDecoding(t *testing.T) {
	for text, want := range map[string]string{
		"27/11": "27/11", "-3": "-3", "2.50": "5/2", "1e-3": "1/1000", "6/4": "3/2", "-0": "0",
		"1e400": "1" + strings.Repeat("0", 400),
	} {
		f, err := exact.Parse(text)
		if err != nil || f.String() != want {
			t.Errorf("%s is read as %v (%v), want %s", text, f, err, want)
		}
	}
	for _, text := range []string{"", "x", "1/0", "0x10", "1_000", "1e99999", "1p3", "inf", "NaN", "1 "} {
		if f, err := exact.Parse(text); err == nil {
			t.Errorf("%q is read as %v", text, f)
		}
	}
	r := rand.New(rand.NewPCG(7, 8))
	for range 2000 {
		i := exact.None.Include(exact.NewFrac(wide(r, 62), wide(r, 60)|1)).Include(exact.NewFrac(wide(r, 62),
			wide(r, 60)|1))
		for _, b := range []exact.Bound{i.Min, i.Max, exact.Infinite(1), exact.Infinite(-1)} {
			text, _ := b.MarshalText()
			var back exact.Bound
			if err := back.UnmarshalText(text); err != nil || back.Cmp(b) != 0 {
				t.Fatalf("%v is read back as %v (%v)", b, back, err)
			}
			if b.Inf != 0 {
				continue
			}
			data, _ := json.Marshal(exact.Text{Frac: b.Frac})
			var f exact.Frac
			if err := json.Unmarshal(data, &f); err != nil || f.Cmp(b.Frac) != 0 {
				t.Fatalf("%s is read back as %v (%v)", data, f, err)
			}
		}
		if i.Min.Cmp(i.Max) > 0 {
			t.Fatalf("an interval %v", i)
		}
	}
	for _, data := range []string{`{"min":null,"max":null}`, `{"min":-1,"max":"1/3"}`, `{"min":"-inf","max":"inf"}`} {
		var i exact.Interval
		if err := json.Unmarshal([]byte(data), &i); err != nil {
			t.Errorf("%s: %v", data, err)
		}
		if i.Empty != strings.Contains(data, "null") {
			t.Errorf("%s is read as %v", data, i)
		}
	}
	var i exact.Interval
	if err := json.Unmarshal([]byte(`{"min":1,"max":null}`), &i); err == nil {
		t.Errorf("half an interval is read as %v", i)
	}
}
