package notices_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"tieup/cmd/internal/notices"
)

// What is linked in on this system has its licence among the notices, in the
// version that is linked: a module that is added or moved fails here until the
// notices are collected again.
func TestNoticesAreComplete(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{.Path}} {{.Version}}{{end}}", "tieup/cmd/tieup").Output()
	if err != nil {
		t.Fatal(err)
	}
	list, texts, _ := strings.Cut(notices.Text(), "\n===")
	seen := map[string]bool{}
	for line := range strings.Lines(string(out)) {
		path, version, _ := strings.Cut(strings.TrimSpace(line), " ")
		if version == "" || seen[path] {
			continue
		}
		seen[path] = true
		if !strings.Contains(list, "  "+path+" ") || !strings.Contains(texts, "\n"+path+"\n") {
			t.Errorf("%s is linked in, and its licence is not among the notices: go generate ./cmd/internal/notices", path)
		}
	}
	if len(seen) < 10 {
		t.Errorf("only %d modules found", len(seen))
	}
}

// Collecting anew gives what is embedded, for all systems.
func TestNoticesAreFresh(t *testing.T) {
	file := filepath.Join(t.TempDir(), "notices.txt")
	if out, err := exec.Command("go", "run", "./collect", file).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	fresh, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if string(fresh) != notices.Text() {
		t.Error("the notices are not those of what is linked in now: go generate ./cmd/internal/notices")
	}
}

// The texts that must be there word for word.
func TestTexts(t *testing.T) {
	for _, want := range []string{
		"SIL OPEN FONT LICENSE Version 1.1", "The FreeType Project (www.freetype.org)", "Creative Commons Attribution 4.0",
		"Apache License", "This is free and unencumbered software released into the public domain",
	} {
		if !strings.Contains(notices.Text(), want) {
			t.Errorf("the notices do not say %q", want)
		}
	}
}
