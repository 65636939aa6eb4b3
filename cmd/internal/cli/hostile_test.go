package cli

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/gearsets/problem"
)

// hostile is what a terminal must never be sent: escapes that clear the screen and
// set the title, a bell, a mark that turns the direction of writing, a byte that is
// not text.
const hostile = "x\x1b[2J\x1b]0;title\x07\u202e\xff\u009by"

// TestNothingSteersTheTerminal gives hostile text wherever a command takes text from
// others, and looks at all that is printed: one time in three unless TIEUP_EXHAUSTIVE is set.
func TestNothingSteersTheTerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("runs every command with every flag")
	}
	t.Chdir(t.TempDir())
	const train = "depot-shuttle-three-speed"
	files := map[string]string{
		"large.yaml":   hostile + strings.Repeat("#", gearsets.MaxSize),
		"lines.yaml":   "tieup: 1\n" + hostile + "\n",
		"escaped.yaml": "tieup: 1\nname: \"x\\e[2J\\x07\"\nsource: s\n",
		"sheet.yaml":   "sheet: 1\ntrain: \"x\\e[2J\"\n",
		"sheet2.yaml":  "sheet: 1\ntrain: " + train + "\nseen: {\"R\\e[2J\": \"bind\\x07\"}\ncircumstances: [\"a\\e[2J\"]\n",
		"good.yaml":    string(gearsets.Source(train)),
	}
	for name, src := range files {
		if err := os.WriteFile(name, []byte(src), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(hostile+".yaml", []byte("tieup: 1\n"), 0o600); err != nil {
		t.Skipf("no such file names here: %v", err)
	}
	if err := os.Mkdir(hostile, 0o700); err != nil {
		t.Fatal(err)
	}
	asked, refused := 0, 0
	check := func(args ...string) {
		t.Helper()
		if asked++; asked%3 != 0 && !thorough() {
			return
		}
		// What would serve or wait is broken off at once.
		ctx, stop := context.WithTimeout(t.Context(), time.Second)
		defer stop()
		root := Command()
		root.SetContext(ctx)
		var out bytes.Buffer
		root.SetOut(&out)
		root.SetErr(&out)
		root.SetIn(strings.NewReader(hostile + "\nstop\n"))
		if run(root, args, &out) == exitWrong {
			refused++
		}
		if i := strings.IndexFunc(out.String(), problem.Hidden); i >= 0 {
			t.Errorf("%q prints %q", args, out.String()[max(0, i-40):min(out.Len(), i+20)])
		}
		if !utf8.Valid(out.Bytes()) {
			t.Errorf("%q prints bytes that are not text", args)
		}
	}
	check(hostile)
	check("--" + hostile)
	check("solve", train, "--"+hostile)
	var visit func(path []string, cmd *cobra.Command)
	visit = func(path []string, cmd *cobra.Command) {
		for _, c := range cmd.Commands() {
			visit(append(path[:len(path):len(path)], c.Name()), c)
		}
		if len(path) == 0 || path[0] == "completion" || path[0] == "help" {
			return
		}
		with := func(args ...string) { check(append(path[:len(path):len(path)], args...)...) }
		with(hostile)
		with(train, hostile)
		with(train, "D1", hostile)
		for name := range files {
			if name != "good.yaml" {
				with(name)
				with("./"+name, "D1", "D2")
			}
		}
		with(hostile + ".yaml")
		for _, flag := range strings.Fields(cmd.Flags().FlagUsages()) {
			if !strings.HasPrefix(flag, "--") || strings.ContainsAny(flag, ";,.:)") {
				continue
			}
			with(train, flag, hostile)
			with(train, "D1", "D2", flag, "forward="+hostile)
			with("good.yaml", "D1", flag, filepath.Join(hostile, "no", hostile+".svg"))
		}
	}
	visit(nil, Command())
	least := 300
	if !thorough() {
		least /= 3
	}
	if refused < least {
		t.Errorf("only %d commands were refused", refused)
	}
}

// A fullDisk takes nothing.
type fullDisk struct{}

var errNoRoom = errors.New("no room")

func (fullDisk) Write([]byte) (int, error) { return 0, errNoRoom }

// Help is an answer: where it cannot be written the exit code says so.
func TestHelpThatCannotBeWritten(t *testing.T) {
	for _, args := range [][]string{{"--help"}, {"solve", "--help"}, {"help", "plot"}, {}} {
		root := Command()
		var errs bytes.Buffer
		root.SetOut(fullDisk{})
		root.SetErr(&errs)
		if code := run(root, args, &errs); code != exitWrong || !strings.Contains(errs.String(), "no room") {
			t.Errorf("%q: exit %d, %s", args, code, errs.String())
		}
	}
}
