package gearsets

import (
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets/problem"
)

var update = flag.Bool("update", false, "write what the parser says into testdata/broken; read the diff")

const broken = "../testdata/broken"

// brokenFiles calls f for every file of testdata/broken.
func brokenFiles(t testing.TB, f func(path string, src []byte)) {
	t.Helper()
	err := filepath.WalkDir(broken, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".yaml" {
			return err
		}
		src, err := os.ReadFile(path)
		if err == nil {
			f(path, src)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// expectation writes problems as the comments at the top of a broken file:
//
//	# reads: 9:31: front: sun cannot be 0 teeth
//	#  hint: write a whole number of teeth from 1 to 100000
func expectation(ps problem.List) string {
	var b strings.Builder
	for _, p := range ps {
		fmt.Fprintf(&b, "# reads: %s\n", strings.TrimPrefix(p.Error(), p.File+":"))
		if p.Other.Line > 0 {
			fmt.Fprintf(&b, "#   see: %d:%d: %s\n", p.Other.Line, p.Other.Column, p.OtherNote)
		}
		if p.Hint != "" {
			fmt.Fprintf(&b, "#  hint: %s\n", p.Hint)
		}
	}
	return b.String()
}

// split divides a broken file into its expectation and the rest.
func split(src []byte) (head, rest string) {
	lines := strings.SplitAfter(string(src), "\n")
	n := 0
	for n < len(lines) && (strings.HasPrefix(lines[n], "# reads: ") || strings.HasPrefix(lines[n], "#   see: ") || strings.HasPrefix(lines[n], "#  hint: ")) {
		n++
	}
	return strings.Join(lines[:n], ""), strings.Join(lines[n:], "")
}

// TestBroken parses every file of testdata/broken and compares all that is said
// about it with the comments at its top. The lines count from the first one, of
// the comments.
func TestBroken(t *testing.T) {
	files := 0
	brokenFiles(t, func(path string, src []byte) {
		files++
		t.Run(strings.TrimSuffix(filepath.ToSlash(path[len(broken)+1:]), ".yaml"), func(t *testing.T) {
			head, rest := split(src)
			train, ps := Parse("f", src)
			if *update {
				for range 3 { // the head moves the lines it speaks of
					_, ps = Parse("f", []byte(expectation(ps)+rest))
				}
				if err := os.WriteFile(path, []byte(expectation(ps)+rest), 0o666); err != nil {
					t.Fatal(err)
				}
				return
			}
			if d := cmp.Diff(head, expectation(ps)); d != "" {
				t.Errorf("-want +got\n%s", d)
			}
			if len(ps) == 0 {
				t.Error("nothing is wrong with it")
			}
			warning := strings.HasPrefix(t.Name(), "TestBroken/warning/")
			if ps.Refuse() == warning || (train == nil) == warning {
				t.Errorf("refused: %t, train: %t", ps.Refuse(), train != nil)
			}
		})
	})
	if files < 100 {
		t.Errorf("only %d broken files: is %s complete?", files, broken)
	}
}
