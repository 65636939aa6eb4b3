package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// The same source and date give the same pages, one for every command.
func TestPages(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "1700000000")
	first, again := t.TempDir(), t.TempDir()
	for _, dir := range []string{first, again} {
		if err := run([]string{dir}); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"tieup.1", "tieup-solve.1", "tieup-check.1", "tieup-plot-path.1"} {
		page, err := os.ReadFile(filepath.Join(first, name))
		if err != nil {
			t.Fatal(err)
		}
		same, err := os.ReadFile(filepath.Join(again, name))
		if err != nil || !bytes.Equal(page, same) {
			t.Errorf("%s: a second run gives another page (%v)", name, err)
		}
	}
	solve, _ := os.ReadFile(filepath.Join(first, "tieup-solve.1"))
	for _, want := range []string{"--stuck", "EXAMPLE", "Nov 2023"} {
		if !bytes.Contains(solve, []byte(want)) {
			t.Errorf("tieup-solve.1 does not say %s", want)
		}
	}
}

// Without a directory the program says what to write.
func TestNoDirectory(t *testing.T) {
	if err := run(nil); err == nil {
		t.Error("no directory: no error")
	}
	if err := run([]string{filepath.Join(t.TempDir(), "none")}); err == nil {
		t.Error("a directory that is not there: no error")
	}
}
