//go:build unix

package cli

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"tieup/gearsets/roadtest"
)

// own returns the command that runs tieup as a process of its own.
func own(t *testing.T, dir string, args ...string) *exec.Cmd {
	t.Helper()
	program := filepath.Join(t.TempDir(), "tieup") // testscript takes the name for the command
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(self, program); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, args...)
	cmd.Dir = dir
	return cmd
}

func whole(t *testing.T, name string) bool {
	t.Helper()
	src, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	_, problems, err := roadtest.Parse(name, src)
	if err != nil {
		t.Errorf("after %d bytes: %v\n%s", len(src), err, problems.Excerpts())
	}
	return err == nil
}

// A save that is killed leaves the old case or the new one, whole.
func TestKilledSaves(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "bus.yaml")
	if out, err := own(t, dir, "sheet", "depot-shuttle-three-speed", "--save", "bus.yaml").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	begin := time.Now()
	if err := own(t, dir, "case", "bus.yaml", "--replaced", "seals").Run(); err != nil {
		t.Fatal(err)
	}
	takes := time.Since(begin)
	n := many(20, 200)
	for i := range n {
		cmd := own(t, dir, "case", "bus.yaml", "--replaced", strings.Repeat("plates ", i%50+1))
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(takes * time.Duration(i) / time.Duration(n))
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		if !whole(t, name) {
			return
		}
	}
}

// Where no more can be written the old file stays, and what is said says so; the
// answers of an interview are printed.
func TestSavesWithoutRoom(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "bus.yaml")
	if out, err := own(t, dir, "sheet", "depot-shuttle-three-speed", "--save", "bus.yaml").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	before, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	program := own(t, dir).Path
	for _, c := range []struct {
		command, in string
		want        []string
	}{
		{"sheet bus.yaml --save bus.yaml --force", "", []string{"file too large", "the file that was there is as it was"}},
		{"sheet bus.yaml --save new.yaml", "", []string{"file too large", "nothing was written"}},
		{"interview bus.yaml --save bus.yaml --force", "it binds\n\nR=bind\nstop\n",
			[]string{"file too large", "the file that was there is as it was", "complaint: it binds", "  R: bind"}},
		{"case bus.yaml --replaced plates", "", []string{"file too large", "the file that was there is as it was"}},
		{"plot chart depot-shuttle-three-speed -o chart.svg", "", []string{"file too large", "nothing was written"}},
		{"worksheet depot-shuttle-three-speed --save work.html", "", []string{"file too large", "nothing was written"}},
	} {
		// The limit is one block of 512 or 1024 bytes for a file.
		cmd := exec.Command("sh", "-c", "ulimit -f 1; exec "+program+" "+c.command)
		cmd.Dir = dir
		cmd.Stdin = strings.NewReader(c.in)
		out, err := cmd.CombinedOutput()
		if err == nil {
			t.Errorf("%s: saved", c.command)
		}
		for _, want := range c.want {
			if !strings.Contains(string(out), want) {
				t.Errorf("%s: does not say %q:\n%s", c.command, want, out)
			}
		}
		if after, _ := os.ReadFile(name); !bytes.Equal(before, after) {
			t.Fatalf("%s: the old sheet of %d bytes has %d", c.command, len(before), len(after))
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Name() != "bus.yaml" && e.Name() != "bus.yaml.unfinished" {
			t.Errorf("%s is left behind", e.Name())
		}
	}
}

// An interview that is killed at a question goes on there.
func TestKilledInterview(t *testing.T) {
	dir := t.TempDir()
	// Answers that leave much open, so that the interview goes on.
	answers := []string{"it slips", "sudden", "", "", "", "", ""}
	interview := func() *exec.Cmd {
		return own(t, dir, "interview", "depot-shuttle-three-speed", "--save", "bus.yaml")
	}
	cmd := interview()
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(in, strings.Join(answers, "\n")+"\n"); err != nil {
		t.Fatal(err)
	}
	reached := readUntil(out, "\n6. ")
	_ = cmd.Process.Signal(syscall.SIGKILL)
	_ = cmd.Wait()
	if !strings.Contains(reached, "\n6. ") {
		t.Fatalf("question 6 was not reached:\n%s", reached)
	}
	again := interview()
	again.Stdin = strings.NewReader("R=bind\nstop\n")
	text, err := again.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	_, asked, _ := strings.Cut(string(text), "What is the complaint")
	for _, want := range []string{"> it slips", "> sudden", "\n1. ", "\n6. ", "\n7. "} {
		if !strings.Contains(asked, want) {
			t.Errorf("the second interview does not have %q:\n%s", want, asked)
		}
	}
	src, err := os.ReadFile(filepath.Join(dir, "bus.yaml"))
	if err != nil || !strings.Contains(string(src), "complaint: it slips") || !strings.Contains(string(src), "R:  bind") {
		t.Errorf("%v\n%s", err, src)
	}
	if _, err := os.Stat(filepath.Join(dir, "bus.yaml.unfinished")); err == nil {
		t.Error("the journal is still there")
	}
}

// readUntil reads until a text was read.
func readUntil(r io.Reader, text string) string {
	var b strings.Builder
	part := make([]byte, 4096)
	for !strings.Contains(b.String(), text) {
		n, err := r.Read(part)
		b.Write(part[:n])
		if err != nil {
			break
		}
	}
	return b.String()
}
