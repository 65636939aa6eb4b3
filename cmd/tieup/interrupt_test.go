//go:build unix

package main_test

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestInterrupt builds the program, and sends it what Ctrl-C sends while it works, asks or
// waits: it ends within seconds, says how far it came, and keeps what there is to keep.
func TestInterrupt(t *testing.T) {
	if os.Getenv("TIEUP_EXHAUSTIVE") == "" {
		t.Skip("builds the program: set TIEUP_EXHAUSTIVE=1")
	}
	dir := t.TempDir()
	program := filepath.Join(dir, "tieup")
	build(t, program, ".")
	if err := os.WriteFile(filepath.Join(dir, "sets.yaml"), []byte(sets(50)), 0o600); err != nil {
		t.Fatal(err)
	}
	const killed = -1 // by the signal, as a shell that runs it in a loop wants it
	for _, x := range []struct {
		name, args string
		input      string
		ready      string // on standard output, before it is interrupted; "" waits a while
		code       int
		out, errs  string
		file, has  string // what the end leaves
	}{
		{name: "a diagnosis", args: "diagnose sets.yaml --saw D1=none", code: killed, errs: "tieup: interrupted at "},
		{name: "a plan", args: "plan sets.yaml --pairs", code: killed, errs: "tieup: interrupted at "},
		{name: "a drawing", args: "plot path sets.yaml D1 D2 -o sets.pdf", code: killed, errs: "tieup: interrupted"},
		{name: "wanted teeth", args: "fit --layout four-carrier-eight-speed --wanted", code: 0, out: "The search was cut: "},
		{name: "an interview that reckons", args: "interview sets.yaml --save early.yaml", code: killed,
			errs: "no question was asked, and nothing was saved"},
		{name: "an interview that asks", args: "interview depot-shuttle-three-speed --save asked.yaml", input: "no reverse\n\n1\n",
			ready: "2. ", code: 0, out: "Saved as asked.yaml", file: "asked.yaml", has: "no reverse"},
		{name: "questions", args: "batch", input: `{"train": "simpson-three-speed", "ranges": ["R"]}` + "\n", ready: "}",
			code: killed, errs: "the answers so far stand above"},
	} {
		args := strings.Fields(x.args)
		if args[0] == "fit" {
			args = append(args, "4.71 3.13 2.11 1.67 1.29 1 0.84 0.667 -3.29", "--within", "2%")
		}
		cmd := exec.Command(program, args...)
		cmd.Dir = dir
		in, err := cmd.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		printed := &awaited{text: x.ready, seen: make(chan struct{})}
		var errs bytes.Buffer
		cmd.Stdout, cmd.Stderr = printed, &errs
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(in, x.input); err != nil {
			t.Fatal(err)
		}
		select {
		case <-printed.seen:
		case <-time.After(map[bool]time.Duration{true: time.Second, false: time.Minute}[x.ready == ""]):
		}
		if err := cmd.Process.Signal(os.Interrupt); err != nil {
			t.Fatal(err)
		}
		late := time.AfterFunc(30*time.Second, func() { _ = cmd.Process.Kill() })
		_ = cmd.Wait()
		state := cmd.ProcessState
		if !late.Stop() {
			t.Errorf("%s does not end", x.name)
		}
		if by := state.Sys().(syscall.WaitStatus); state.ExitCode() != x.code || x.code == killed && by.Signal() != syscall.SIGINT {
			t.Errorf("%s: ended with %s\n%s\n%s", x.name, state, printed, &errs)
		}
		if !strings.Contains(printed.String(), x.out) || !strings.Contains(errs.String(), x.errs) {
			t.Errorf("%s: printed %q and %q; wanted %q and %q", x.name, printed, &errs, x.out, x.errs)
		}
		if x.file != "" {
			if left, err := os.ReadFile(filepath.Join(dir, x.file)); err != nil || !strings.Contains(string(left), x.has) {
				t.Errorf("%s: %s is %q, %v", x.name, x.file, left, err)
			}
		}
		left, err := filepath.Glob(filepath.Join(dir, "*"))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range left {
			switch filepath.Base(name) {
			case "tieup", "sets.yaml", "asked.yaml":
			default:
				t.Errorf("%s: %s is left", x.name, filepath.Base(name))
			}
		}
	}
}

// awaited is an output that tells when a text was written.
type awaited struct {
	bytes.Buffer
	text string
	seen chan struct{}
}

func (a *awaited) Write(b []byte) (int, error) {
	before := a.text != "" && strings.Contains(a.String(), a.text)
	n, err := a.Buffer.Write(b)
	if a.text != "" && !before && strings.Contains(a.String(), a.text) {
		close(a.seen)
	}
	return n, err
}

// sets is an invented train of n simple sets in a row, each turned by the one before.
func sets(n int) string {
	var sets, joints, elements strings.Builder
	var all []string
	last := "in"
	for i := range n {
		fmt.Fprintf(&sets, "  g%d: {kind: simple, sun: 30, ring: %d, pinion: %d}\n", i, 70+i%5*2, 20+i%5)
		fmt.Fprintf(&joints, "  j%d: [%s, g%d.sun]\n", i, last, i)
		fmt.Fprintf(&elements, "  b%d: {brake: g%d.ring}\n", i, i)
		last, all = fmt.Sprintf("g%d.carrier", i), append(all, fmt.Sprintf("b%d", i))
	}
	return fmt.Sprintf("tieup: 1\nname: sets\nsource: invented for a test\nrated-torque: 100\nshafts: [in, out]\ngearsets:\n%s"+
		"joined:\n%s  z: [%s, out]\ninput: in\noutput: out\nelements:\n%sranges:\n  D1: {apply: [%s]}\n  D2: {apply: [%s]}\n",
		&sets, &joints, last, &elements, strings.Join(all, ", "), strings.Join(all[1:], ", "))
}
