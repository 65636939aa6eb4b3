package table

import (
	"strings"
	"testing"

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
