package gearsets

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
)

// TestLibrary sees that every train of the library is usable and says what it is.
func TestLibrary(t *testing.T) {
	names := Names()
	if !slices.IsSorted(names) || len(names) == 0 {
		t.Errorf("names: %v", names)
	}
	for _, name := range names {
		f, err := Open(name, nil)
		if err != nil {
			t.Errorf("%s is refused:\n%s", name, f.Problems.Excerpts())
			continue
		}
		if f.Train.Name != name {
			t.Errorf("%s.yaml names its train %s", name, f.Train.Name)
		}
		if f.Train.Title == "" || len(f.Train.Sources) == 0 {
			t.Errorf("%s: title %q, sources %q", name, f.Train.Title, f.Train.Sources)
		}
		if !bytes.Equal(f.Source, Source(name)) {
			t.Errorf("%s: Open and Source disagree", name)
		}
		if train, err := Library(name); err != nil || train.Name != name {
			t.Errorf("Library(%s): %v", name, err)
		}
	}
}

// TestOpen opens trains in every way, and in every wrong way.
func TestOpen(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	good, bad := write("good.yaml", small), write("bad.yaml", "tieup: 3\n")
	noSuffix := write("tug", small)
	for _, c := range []struct{ name, arg, stdin, want string }{
		{"library", "depot-shuttle-three-speed", "", ""},
		{"file", good, "", ""},
		{"file without suffix", noSuffix, "", ""},
		{"standard input", "-", small, ""},
		{"refused file", bad, "", bad + `:1:8: format version "3" is not known: this program reads version 1`},
		{"refused input", "-", "", "standard input:1:1: the file is empty"},
		{"too much input", "-", strings.Repeat("#", 2*MaxSize), "standard input:1:1: the file is larger than 1 MiB"},
		{"misspelt", "depot-shutle-three-speed", "", `there is no train "depot-shutle-three-speed": did you mean "depot-shuttle-three-speed"?`},
		{"words", "eight-speed", "", `there is no train "eight-speed": did you mean "four-carrier-eight-speed" or "lepelletier-eight-speed"?`},
		{"beginning", "depot", "", `there is no train "depot": did you mean "depot-shuttle-three-speed"?`},
		{"unknown", "zzz", "", `there is no train "zzz", and no file: "tieup trains" lists the trains; a file is given by its path`},
		{"nothing", "", "", `there is no train "", and no file: "tieup trains" lists the trains; a file is given by its path`},
		{"no such file", filepath.Join(dir, "none.yaml"), "", filepath.Join(dir, "none.yaml") + ": no such file or directory"},
		{"below a file", filepath.Join(good, "x"), "", filepath.Join(good, "x") + ": not a directory"},
		{"directory", dir, "", dir + " is a directory: name a file in it"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Open(c.arg, strings.NewReader(c.stdin))
			switch {
			case c.want == "" && (err != nil || f.Train == nil || len(f.Source) == 0):
				t.Errorf("refused: %v", err)
			case c.want != "" && (err == nil || err.Error() != c.want):
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
	if _, err := Open("-", iotest.ErrReader(errors.New("broken pipe"))); err == nil || err.Error() != "standard input: broken pipe" {
		t.Errorf("unreadable input: %v", err)
	}
	if _, err := Library("none"); err == nil {
		t.Error("Library has a train none")
	}
}
