package kinematics_test

import (
	"testing"

	"tieup/kinematics"
)

func TestWordLists(t *testing.T) {
	for _, c := range []struct {
		words   []string
		and, or string
	}{
		{nil, "", ""},
		{[]string{"sun"}, "sun", "sun"},
		{[]string{"sun", "ring"}, "sun and ring", "sun or ring"},
		{[]string{"sun", "ring", "carrier"}, "sun, ring and carrier", "sun, ring or carrier"},
	} {
		if got := kinematics.And(c.words); got != c.and {
			t.Errorf("And(%q) = %q, want %q", c.words, got, c.and)
		}
		if got := kinematics.Or(c.words); got != c.or {
			t.Errorf("Or(%q) = %q, want %q", c.words, got, c.or)
		}
	}
	for n, want := range []string{"gears", "gear", "gears"} {
		if got := kinematics.Plural(n, "gear", "gears"); got != want {
			t.Errorf("Plural(%d) = %q, want %q", n, got, want)
		}
	}
}
