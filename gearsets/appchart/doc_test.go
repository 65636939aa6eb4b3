package appchart

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the words of rows into the package comment; read the diff")

// The words that begin a row are those of the table, in the package comment, too; go test
// -update writes them there.
func TestDocumentation(t *testing.T) {
	src, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(src), "may stand above as well:\n//\n")
	_, tail, end := strings.Cut(rest, "//\n")
	if !ok || !end {
		t.Fatal("the list of words was not found")
	}
	var list strings.Builder
	entry := func(word, about string) {
		line := fmt.Sprintf("//\t%-12s", word)
		for _, next := range strings.Fields(about) {
			if len(line)+len(next) > 95 {
				list.WriteString(line + "\n")
				line = "//\t" + strings.Repeat(" ", 12)
			}
			line += " " + next
		}
		list.WriteString(line + "\n")
	}
	for _, w := range rowWords {
		if w.about != "" {
			entry(w.word, w.about)
		}
	}
	entry("#", "a remark")
	doc := head + "may stand above as well:\n//\n" + list.String() + "//\n" + tail
	if *update {
		if err := os.WriteFile("doc.go", []byte(doc), 0o666); err != nil {
			t.Fatal(err)
		}
	} else if diff := cmp.Diff(string(src), doc); diff != "" {
		t.Errorf("run go test ./gearsets/appchart -update\n%s", diff)
	}
}
