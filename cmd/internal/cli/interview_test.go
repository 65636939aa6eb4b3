package cli

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"tieup/gearsets/roadtest"
)

// Whatever is answered, the sheet that is saved can be read.
func TestInterviewsSaveReadableSheets(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	answers := []string{"1", "2", "3", "", "yes", "no", "back", "locks", "turns", "0.41", "bind", "none", "ok", "forward", "2.45", "R=none", "N=creeps-forward", "air:direct=good",
		"D1=forward, engine-braking", "?", "D2=as D1", "\x1b[A", "element:direct = stuck", "nonsense"}
	many := 6
	if thorough() {
		many = 24
	}
	for i := range many {
		train := []string{"depot-shuttle-three-speed", "simpson-three-speed", "ravigneaux-four-speed"}[i%3]
		var in strings.Builder
		in.WriteString("does \"it\" \xe4 not: \x1b[A\n\n")
		for range 4 + rng.IntN(14) {
			in.WriteString(answers[rng.IntN(len(answers))] + "\n")
		}
		file := filepath.Join(t.TempDir(), "bus.yaml")
		cmd := Command()
		var out bytes.Buffer
		cmd.SetArgs([]string{"interview", train, "--save", file})
		cmd.SetIn(strings.NewReader(in.String()))
		cmd.SetOut(&out)
		cmd.SetErr(&out)
		if err := cmd.Execute(); err != nil {
			t.Fatalf("%v\n%s", err, in.String())
		}
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if _, problems, err := roadtest.Parse(file, src); err != nil {
			t.Fatalf("%v\n%s\nafter\n%s\n%s", err, problems.Excerpts(), in.String(), out.String())
		}
	}
}

// What an interview says at once fits a terminal of 80 columns and 24 lines, and no
// caution is said twice.
func TestInterviewFitsATerminal(t *testing.T) {
	t.Setenv("COLUMNS", "80")
	for _, train := range []string{"depot-shuttle-three-speed", "overdrive-simpson-four-speed", "four-carrier-eight-speed", "hub-three-speed", "stepped-pinion-winch"} {
		cmd := Command()
		var out bytes.Buffer
		cmd.SetArgs([]string{"interview", train, "--save", filepath.Join(t.TempDir(), "bus.yaml")})
		cmd.SetIn(strings.NewReader("it is not right\nsudden\n1\n?\n2\nbound\n1\n\n2\n1\n2\nyes\n1\n2\n"))
		cmd.SetOut(&out)
		cmd.SetErr(&out)
		if err := cmd.Execute(); err != nil {
			t.Fatal(err)
		}
		blocks := strings.Split(out.String(), "\n> ")
		if len(blocks) < 3 {
			t.Fatalf("%s: only %d questions\n%s", train, len(blocks)-1, out.String())
		}
		for i, block := range blocks {
			lines := strings.Split(block, "\n")
			if i == len(blocks)-1 { // the answer, which a pager shows
				lines = nil
			}
			if len(lines) > 23 {
				t.Errorf("%s: %d lines at once\n%s", train, len(lines), block)
			}
			for _, line := range lines {
				if n := utf8.RuneCountInString(line); n > 80 {
					t.Errorf("%s: a line of %d columns: %s", train, n, line)
				}
			}
		}
		for _, caution := range []string{"Caution: The vehicle can move", "Caution: The wheels can lock", "tieup reasons about the ideal gear train only."} {
			if n := strings.Count(out.String(), caution); n > 1 {
				t.Errorf("%s: %q is said %d times", train, caution, n)
			}
		}
	}
}

// What a terminal sends for keys and answers is taken out of what was typed, whole.
func TestClean(t *testing.T) {
	for _, c := range [][2]string{
		{"D1=\x1b[Aok", "D1=ok"}, {"\x1b[1;5Cok\x1b[38;2;1;2;3m", "ok"}, {"\x1bOPok", "ok"}, {"\u009b2Jok", "ok"},
		{"\x1b]0;title\x07ok", "ok"}, {"\x1b]0;title\x1b\\ok", "ok"}, {"\x1bPq#0\x1b\\ok", "ok"}, {"\x1b(Bok", "ok"},
		{"ok\x1b", "ok"}, {"ok\x1b[", "ok"}, {" [A] ok \x7f", "[A] ok"}, {"o\xffk", "o?k"},
	} {
		if got := clean(c[0]); got != c[1] {
			t.Errorf("%q is cleaned to %q, want %q", c[0], got, c[1])
		}
	}
}

// A canceler cancels once a text is written.
type canceler struct {
	bytes.Buffer
	at     string
	cancel func()
}

func (c *canceler) Write(b []byte) (int, error) {
	if bytes.Contains(b, []byte(c.at)) {
		c.cancel()
	}
	return c.Buffer.Write(b)
}

// Once the sheet is saved Ctrl-C ends an interview as any command.
func TestInterviewSavedCanBeEnded(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	out := &canceler{at: "Saved as", cancel: cancel}
	var errs bytes.Buffer
	ctx, w := withWatcher(ctx, &errs)
	root := Command()
	root.SetContext(ctx)
	root.SetOut(out)
	root.SetIn(strings.NewReader(""))
	name := filepath.Join(t.TempDir(), "bus.yaml")
	code := execute(root, []string{"interview", "depot-shuttle-three-speed", "--save", name}, &errs, w)
	_, err := os.Stat(name)
	if code != exitInterrupted || err != nil || !strings.Contains(errs.String(), "the sheet is saved") || w.keeps() {
		t.Errorf("exit %d, keeps %t: %v: %s", code, w.keeps(), err, errs.String())
	}
}
