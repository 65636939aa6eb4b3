package table

import (
	"strings"
	"testing"
)

func sample() *Grid {
	g := &Grid{Columns: columns("range", "reads", "ratio>", "never")}
	g.Add("D1", "drives forward at 2.45, coasting turns nothing", "2.4545", "")
	g.Add("N", "no drive", "", "")
	g.Add("R", "drives backward at 12.20", "-12.2000", "")
	return g
}

func text(t *testing.T, g *Grid, width int) string {
	t.Helper()
	var b strings.Builder
	if err := g.Text(&b, width); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestGridText(t *testing.T) {
	want := `range  reads                                              ratio
────────────────────────────────────────────────────────────────
D1     drives forward at 2.45, coasting turns nothing    2.4545
N      no drive
R      drives backward at 12.20                        -12.2000
`
	// The rule is drawn over the width of the columns.
	got := text(t, sample(), 0)
	if strings.ReplaceAll(got, "─", "") != strings.ReplaceAll(want, "─", "") {
		t.Errorf("got:\n%s\nwant:\n%s", got, want)
	}
	if strings.Contains(got, "never") {
		t.Error("an empty column was written")
	}
}

// Whatever the width, no line is wider as long as the longest word fits, no
// word is broken, and no line ends in blanks.
func TestGridWidths(t *testing.T) {
	for width := 25; width <= 90; width++ {
		got := text(t, sample(), width)
		for line := range strings.SplitSeq(got, "\n") {
			if columnsOf(line) > width {
				t.Errorf("width %d: line of %d: %q", width, columnsOf(line), line)
			}
			if strings.HasSuffix(line, " ") || strings.Contains(line, "\x1b") {
				t.Errorf("width %d: blanks or escape codes in %q", width, line)
			}
		}
		for _, word := range []string{"coasting", "nothing", "-12.2000", "backward", "ratio"} {
			if !strings.Contains(got, word) {
				t.Errorf("width %d: %q is broken or lost:\n%s", width, word, got)
			}
		}
	}
}

func TestGridBlocks(t *testing.T) {
	want := `D1
  reads  drives forward at
         2.45, coasting
         turns nothing
  ratio  2.4545
N
  reads  no drive
R
  reads  drives backward at
         12.20
  ratio  -12.2000
`
	g := sample().withoutEmptyColumns()
	var b strings.Builder
	if err := g.blocks(&b, 28); err != nil {
		t.Fatal(err)
	}
	if b.String() != want {
		t.Errorf("got:\n%s\nwant:\n%s", b.String(), want)
	}
}

func TestGridCSV(t *testing.T) {
	g := &Grid{Columns: columns("name", "ratio>")}
	g.Add(`a "b", c`, "1")
	var b strings.Builder
	if err := g.CSV(&b); err != nil {
		t.Fatal(err)
	}
	if want := "name,ratio\n\"a \"\"b\"\", c\",1\n"; b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
}

func TestWrap(t *testing.T) {
	tests := []struct {
		text  string
		width int
		want  string
	}{
		{"one two three", 0, "one two three"},
		{"one two three", 7, "one two\nthree"},
		{"one two three", 3, "one\ntwo\nthree"},
		{"output-shaft is never-broken", 5, "output-shaft\nis\nnever-broken"},
		{"", 5, ""},
		{"two\nlines", 20, "two\nlines"},
	}
	for _, tt := range tests {
		if got := Wrap(tt.text, tt.width); got != tt.want {
			t.Errorf("Wrap(%q, %d) = %q, want %q", tt.text, tt.width, got, tt.want)
		}
	}
}
