package table

import (
	"strings"
	"testing"

	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

func TestNumbers(t *testing.T) {
	tests := []struct {
		f                        exact.Frac
		decimal, signed, withFor string
	}{
		{exact.NewFrac(27, 11), "2.4545", "+2.4545", "2.4545 = 27/11"},
		{exact.NewFrac(-11, 5), "-2.2000", "-2.2000", "-2.2000 = -11/5"},
		{exact.NewFrac(3, 1), "3", "+3.0000", "3"},
		{exact.NewFrac(0, 1), "0", "0.0000", "0"},
		// Ferguson's paradox must not vanish in four places.
		{exact.NewFrac(1, 101), "0.009901", "+0.009901", "0.009901 = 1/101"},
		{exact.NewFrac(-1, 100000), "-1e-05", "-1e-05", "-1e-05 = -1/100000"},
	}
	for _, tt := range tests {
		if got := reading.Decimal(tt.f); got != tt.decimal {
			t.Errorf("Decimal(%s) = %q, want %q", tt.f, got, tt.decimal)
		}
		if got := signed(tt.f); got != tt.signed {
			t.Errorf("signed(%s) = %q, want %q", tt.f, got, tt.signed)
		}
		if got := withExact(tt.f); got != tt.withFor {
			t.Errorf("withExact(%s) = %q, want %q", tt.f, got, tt.withFor)
		}
	}
}

func TestBounds(t *testing.T) {
	at := func(n, d int64) exact.Bound { return exact.Bound{Frac: exact.NewFrac(n, d)} }
	down, up := exact.Bound{Inf: -1}, exact.Bound{Inf: 1}
	for want, i := range map[string]exact.Interval{
		"any speed":    {Min: down, Max: up},
		"0 or more":    {Min: at(0, 1), Max: up},
		"-1/2 or less": {Min: down, Max: at(-1, 2)},
		"0 to 0.3333":  {Min: at(0, 1), Max: at(1, 3)},
	} {
		want = strings.Replace(want, "-1/2", "-0.5000", 1)
		if got := bounds(i); got != want {
			t.Errorf("bounds(%v) = %q, want %q", i, got, want)
		}
	}
}

// What turns, or pushes, as the input turns has a plus sign, however little it is; what stands
// has none.
func TestPlusSigns(t *testing.T) {
	for _, f := range []exact.Frac{exact.NewFrac(1, 4), exact.NewFrac(3, 4), exact.Int(2)} {
		spin, _ := spinWords(analysis.Spin{Known: true, Speed: f}, false)
		for what, text := range map[string]string{"a speed": rpm(f, 1), "a torque": number(f, 1, 2, true), "a spin": spin} {
			if !strings.HasPrefix(text, "+") {
				t.Errorf("%s of %s is written %s", what, f, text)
			}
		}
		if text := number(f, 1, 2, false); strings.HasPrefix(text, "+") {
			t.Errorf("a size of %s is written %s", f, text)
		}
	}
	still, _ := spinWords(analysis.Spin{Known: true, Speed: exact.Int(0)}, false)
	for _, text := range []string{rpm(exact.Int(0), 1), number(exact.Int(0), 1, 2, true), still} {
		if strings.HasPrefix(text, "+") {
			t.Errorf("what stands is written %s", text)
		}
	}
}
