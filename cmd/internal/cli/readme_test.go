package cli

import (
	"bytes"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// updateReadme writes the outputs of the README's session into it.
var updateReadme = flag.Bool("update-readme", false, "write the output of the commands in README.md into it")

// TestReadme runs every command that README.md shows in a console block and
// compares its output with what stands below it.
func TestReadme(t *testing.T) {
	path := filepath.Join("..", "..", "..", "README.md")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const open, end = "```console\n", "```\n"
	parts := strings.Split(string(text), open)
	if len(parts) < 2 {
		t.Fatal("README.md shows no session")
	}
	for i, part := range parts[1:] {
		block, rest, ok := strings.Cut(part, end)
		if !ok {
			t.Fatalf("console block %d does not end", i+1)
		}
		var want strings.Builder
		for line := range strings.Lines(block) {
			command, isCommand := strings.CutPrefix(line, "$ tieup ")
			if !isCommand {
				continue
			}
			want.WriteString(line)
			var out, errs bytes.Buffer
			root := Command()
			root.SetOut(&out)
			root.SetErr(&errs)
			if code := run(root, strings.Fields(command), &errs); code != exitAnswered {
				t.Errorf("$ tieup %s: exit %d: %s", strings.TrimSpace(command), code, errs.String())
			}
			want.Write(out.Bytes())
		}
		if want.String() != block && !*updateReadme {
			t.Errorf("console block %d is stale (go test ./cmd/internal/cli -run Readme -update-readme):\n got\n%s\nwant\n%s", i+1, block, want.String())
		}
		parts[i+1] = want.String() + end + rest
	}
	if *updateReadme {
		if err := os.WriteFile(path, []byte(strings.Join(parts, open)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestReadmeCommands runs every command of the table of questions in README.md.
func TestReadmeCommands(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir()) // an interview keeps its answers in a file
	ran := 0
	for line := range strings.Lines(string(text)) {
		_, command, inTable := strings.Cut(line, "| `tieup ")
		if !inTable {
			continue
		}
		command, _, _ = strings.Cut(command, "`")
		var errs bytes.Buffer
		root := Command()
		root.SetIn(strings.NewReader("")) // an interview ends at once
		root.SetOut(io.Discard)
		root.SetErr(&errs)
		if code := run(root, strings.Fields(command), &errs); code != exitAnswered {
			t.Errorf("tieup %s: exit %d: %s", command, code, errs.String())
		}
		ran++
	}
	if ran < 5 {
		t.Errorf("only %d commands found", ran)
	}
}
