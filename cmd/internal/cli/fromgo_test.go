package cli

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestReadmeFromGo builds the program of README.md as a module of its own and
// compares its output with what stands below it.
func TestReadmeFromGo(t *testing.T) {
	root, err := filepath.Abs(filepath.Join("..", "..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	readme := filepath.Join(root, "README.md")
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(text), "```go\n")
	program, rest, ok2 := strings.Cut(rest, "```\n\n```text\n")
	shown, rest, ok3 := strings.Cut(rest, "```\n")
	if !ok || !ok2 || !ok3 {
		t.Fatal("README.md shows no program with its output")
	}
	dir := t.TempDir()
	read := func(name string) string {
		src, err := os.ReadFile(filepath.Join(root, name))
		if err != nil {
			t.Fatal(err)
		}
		return string(src)
	}
	// The requirements of the module are those of the program that uses it.
	mod := "module outside\n" + strings.TrimPrefix(read("go.mod"), "module tieup\n") +
		"\nrequire tieup v0.0.0\nreplace tieup => " + root + "\n"
	for name, src := range map[string]string{"go.mod": mod, "go.sum": read("go.sum"), "main.go": program} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(src), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	run := exec.Command("go", "run", "-mod=mod", ".")
	run.Dir = dir
	run.Env = append(os.Environ(), "GOWORK=off", "GOPROXY=off")
	out, err := run.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if *updateReadme {
		text := before + "```go\n" + program + "```\n\n```text\n" + string(out) + "```\n" + rest
		if err := os.WriteFile(readme, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if string(out) != shown {
		t.Errorf("README.md is stale (go test ./cmd/internal/cli -run Readme -update-readme):\n got\n%s\nwant\n%s", out, shown)
	}
}
