package kinematics_test

import (
	"strings"
	"testing"

	"tieup/kinematics"
)

func TestValidName(t *testing.T) {
	for name, want := range map[string]bool{
		"front": true, "low-reverse": true, "D1": true, "2": true, "a_b": true, "P": true, strings.Repeat("x", 64): true,
		"": false, "-low": false, "_low": false, "front.sun": false, "a b": false, "a:b": false, "a=b": false,
		"a,b": false, "a@b": false, "!a": false, "größe": false, "a\n": false, strings.Repeat("x", 65): false,
	} {
		if kinematics.ValidName(name) != want {
			t.Errorf("%q is a name: %v", name, !want)
		}
	}
}

func TestNearest(t *testing.T) {
	names := []string{"forward", "direct", "intermediate", "low-reverse", "D1", "front.sun", "front.ring"}
	for misspelt, want := range map[string]string{
		"foward":                   "forward",     // missing
		"forwrad":                  "forward",     // swapped
		"forwward":                 "forward",     // one too many
		"Forward":                  "forward",     // case
		"dirext":                   "direct",      // wrong
		"low_reverse":              "low-reverse", // wrong
		"front-sun":                "front.sun",
		"d1":                       "D1",
		"D2":                       "D1",
		"reverse":                  "", // four letters are missing from low-reverse: more than a third
		"banana":                   "",
		"":                         "",
		strings.Repeat("long", 50): "",
	} {
		if got := kinematics.Nearest(misspelt, names); got != want {
			t.Errorf("nearest to %q is %q, want %q", misspelt, got, want)
		}
	}
	if got := kinematics.Nearest("x", nil); got != "" {
		t.Errorf("nearest of no names is %q", got)
	}
	// Of two that are as near, the first.
	if got := kinematics.Nearest("C0", []string{"C1", "C2"}); got != "C1" {
		t.Errorf("nearest to C0 is %q", got)
	}
}
