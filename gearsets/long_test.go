package gearsets

import (
	"fmt"
	"strings"
	"testing"
)

// longFiles are files with far more of something than makes sense: the work for
// them grows with their length alone, and what is said of them is short.
func longFiles() map[string]string {
	list := func(n int, entry string) string { return "[" + strings.Repeat(entry+", ", n) + entry + "]" }
	var keys, mapping strings.Builder
	for i := range 60_000 {
		fmt.Fprintf(&keys, "k%d: 1\n", i)
		fmt.Fprintf(&mapping, "k%d: [D1], ", i)
	}
	return map[string]string{
		"entries of an unknown key": small + "x: " + list(200_000, "a") + "\n",
		"repeated entries":          strings.Replace(small, "[turbine, output-shaft]", list(200_000, "a"), 1),
		"a joint of one member":     strings.Replace(small, "[turbine, front.ring]", list(10_000, "turbine"), 1),
		"unknown keys":              small + keys.String(),
		"positions":                 strings.Replace(small, "{N: [N], D: [D1, D2]}", "{"+mapping.String()+"N: [N]}", 1),
		"anchors":                   small + "x:\n" + strings.Repeat("- &a b\n", 60_000),
	}
}

func TestLongFiles(t *testing.T) {
	for name, src := range longFiles() {
		_, ps := Parse("f", []byte(src))
		if !ps.Refuse() {
			t.Errorf("%s: not refused", name)
		}
		if n := strings.Count(ps.Excerpts(), "\n  hint: "); n > 20 {
			t.Errorf("%s: %d problems are shown", name, n)
		}
		if n := len(ps.Excerpts()); n > 10_000 {
			t.Errorf("%s: excerpts of %d bytes", name, n)
		}
	}
	var keys strings.Builder
	for i := range 1223 {
		fmt.Fprintf(&keys, "k%d: 1\n", i)
	}
	_, ps := Parse("f", []byte(small+keys.String()))
	if !strings.HasSuffix(ps.Excerpts(), "\nand 1,203 more\n") || !strings.HasSuffix(ps.Error(), "\nand 1,203 more") {
		t.Errorf("the end is %q", ps.Excerpts()[len(ps.Excerpts())-40:])
	}
	if got := ps.Refusal(); got != "f is refused for these 1,223 errors" {
		t.Error(got)
	}
}

func BenchmarkLongFiles(b *testing.B) {
	for name, src := range longFiles() {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				Parse("f", []byte(src))
			}
		})
	}
}
