package cmd_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"
)

// No line of code has 120 characters or more; tests, with their tables, may.
func TestWidth(t *testing.T) {
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir():
			if name := d.Name(); name != root && strings.HasPrefix(name, ".") || name == "node_modules" {
				return fs.SkipDir
			}
			return nil
		case filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go"):
			return nil
		}
		src, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for n, line := range strings.Split(string(src), "\n") {
			if utf8.RuneCountInString(line) >= 120 {
				t.Errorf("%s:%d has %d characters", path, n+1, utf8.RuneCountInString(line))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
