package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
)

// askBatch runs the questions of a batch and returns the lines of answers.
func askBatch(t testing.TB, questions string) []string {
	t.Helper()
	var out, errs bytes.Buffer
	root := Command()
	root.SetIn(strings.NewReader(questions))
	root.SetOut(&out)
	if code := run(root, []string{"batch"}, &errs); code != exitAnswered {
		t.Fatalf("exit %d: %s", code, errs.String())
	}
	return strings.Split(strings.TrimSpace(out.String()), "\n")
}

// randomQuestions asks about random ranges of the library under random single
// faults; the command line that asks the same stands beside each.
func randomQuestions(t testing.TB, n int) (questions string, commands [][]string) {
	t.Helper()
	r := rand.New(rand.NewPCG(1, 2))
	var b strings.Builder
	for len(commands) < n {
		train, err := gearsets.Library(gearsets.Names()[r.IntN(len(gearsets.Names()))])
		if err != nil {
			t.Fatal(err)
		}
		if len(train.Ranges) == 0 {
			continue
		}
		e := r.IntN(train.ElementCount)
		fault := train.Couplings[e].Name + "=" + string(train.FaultKinds(e)[0])
		rng := train.Ranges[r.IntN(len(train.Ranges))].Name
		about := []string{"solve", "why"}[r.IntN(2)]
		fmt.Fprintf(&b, "{\"id\": %d, \"ask\": %q, \"train\": %q, \"ranges\": [%q], \"faults\": [%q]}\n", len(commands), about, train.Name, rng, fault)
		commands = append(commands, []string{about, train.Name, rng, "--fault", fault, "--format", "json"})
	}
	return b.String(), commands
}

// What comes out is JSON in UTF-8, whatever came in.
func TestBatchOfNoText(t *testing.T) {
	var out, errs bytes.Buffer
	root := Command()
	root.SetIn(strings.NewReader("{\"id\": \"\xff\", \"train\": \"simpson-three-speed\", \"ranges\": [\"N\"]}\n"))
	root.SetOut(&out)
	code := run(root, []string{"batch"}, &errs)
	if want := `{"line":1,"error":"the line is not text in UTF-8"}` + "\n"; code != exitWrong || out.String() != want {
		t.Errorf("exit %d: %q", code, out.String())
	}
}

// The answers of a batch are those of the commands, in the order of the questions.
func TestBatchAnswersAsCommands(t *testing.T) {
	n := 100
	switch {
	case thorough():
		n = 2000
	case testing.Short():
		n = 30
	}
	questions, commands := randomQuestions(t, n)
	for i, line := range askBatch(t, questions) {
		var got struct {
			Line, ID int
			Answer   json.RawMessage
		}
		if err := json.Unmarshal([]byte(line), &got); err != nil {
			t.Fatal(err)
		}
		var out, errs, want bytes.Buffer
		root := Command()
		root.SetOut(&out)
		if code := run(root, commands[i], &errs); code != exitAnswered {
			t.Fatalf("%v: exit %d: %s", commands[i], code, errs.String())
		}
		if err := json.Compact(&want, out.Bytes()); err != nil {
			t.Fatal(err)
		}
		if got.ID != i || got.Line != i+1 || !bytes.Equal(got.Answer, want.Bytes()) {
			t.Errorf("%v: answer %d of line %d is\n%s\nand the command says\n%s", commands[i], got.ID, got.Line, got.Answer, want.Bytes())
		}
	}
}

// The program in README.md that asks from Python runs and prints what stands there.
func TestPythonExample(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	readme, err := os.ReadFile(filepath.Join("..", "..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(readme), "```python\n")
	program, rest, _ := strings.Cut(rest, "```\n")
	_, rest, _ = strings.Cut(rest, "```text\n")
	want, _, ok := strings.Cut(rest, "```\n")
	if !ok {
		t.Fatal("README.md has no Python program with what it prints")
	}
	if lines := strings.Count(program, "\n"); lines > 20 {
		t.Errorf("the program has %d lines", lines)
	}
	cmd := exec.Command(python, "-c", program)
	cmd.Env = withTieup(t)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if string(out) != want {
		t.Errorf("the program prints\n%s\nREADME.md says\n%s", out, want)
	}
}

// withTieup is an environment in which tieup is found, which is this test.
func withTieup(t *testing.T) []string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.Symlink(self, filepath.Join(dir, "tieup")); err != nil {
		t.Fatal(err)
	}
	return append(os.Environ(), "PATH="+dir+string(os.PathListSeparator)+os.Getenv("PATH"))
}

// The two ways in the help to split a sweep give the answers of one batch, in order.
func TestBatchSplit(t *testing.T) {
	if !thorough() {
		t.Skip("runs the program many times: set TIEUP_EXHAUSTIVE")
	}
	questions, _ := randomQuestions(t, 24)
	want := askBatch(t, questions)
	_, long, _ := strings.Cut(newBatchCmd().Long, "splitting the lines.")
	ways := strings.Split(long, "\n\n")[1:]
	for i, needs := range []string{"xargs", "parallel"} {
		if _, err := exec.LookPath(needs); err != nil {
			t.Log(err)
			continue
		}
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "questions.jsonl"), []byte(questions), 0o644); err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command("sh", "-e", "-c", ways[i])
		cmd.Dir, cmd.Env = dir, withTieup(t)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", needs, err, out)
		}
		answers, err := os.ReadFile(filepath.Join(dir, "answers.jsonl"))
		if err != nil {
			t.Fatal(err)
		}
		got := strings.Split(strings.TrimSpace(string(answers)), "\n")
		if !slices.EqualFunc(got, want, func(a, b string) bool { return withoutLine(a) == withoutLine(b) }) {
			t.Errorf("%s: %d answers, not the %d of one batch", needs, len(got), len(want))
		}
	}
}

// withoutLine is an answer from its id on.
func withoutLine(answer string) string {
	_, rest, _ := strings.Cut(answer, ",")
	return rest
}

// BenchmarkBatch reports verdicts a second, questions and answers included.
func BenchmarkBatch(b *testing.B) {
	var questions strings.Builder
	const n = 10000
	for i := range n {
		rng := []string{"R", "N", "D1", "D2", "D3"}[i%5]
		fmt.Fprintf(&questions, "{\"id\": %d, \"train\": \"simpson-three-speed\", \"ranges\": [%q], \"faults\": [\"forward=stuck\"]}\n", i, rng)
	}
	for b.Loop() {
		root := Command()
		root.SetIn(strings.NewReader(questions.String()))
		root.SetOut(io.Discard)
		if code := run(root, []string{"batch"}, io.Discard); code != exitAnswered {
			b.Fatal(code)
		}
	}
	b.ReportMetric(float64(b.N)*n/b.Elapsed().Seconds(), "verdicts/s")
}
