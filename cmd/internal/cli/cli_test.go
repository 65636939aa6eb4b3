package cli

import (
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what the commands print into the scripts")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tieup": func() { os.Exit(Main()) }})
}

// thorough says whether what takes a test more than a few seconds is asked for.
func thorough() bool { return os.Getenv("TIEUP_EXHAUSTIVE") != "" }

// TestScripts runs the scripts of testdata, one for each command; with TIEUP_EXHAUSTIVE also
// those that are named for something else: what several commands share, and questions that
// take long. A short run, which the race detector makes, takes those whose commands start
// goroutines of their own: lines read ahead, questions answered at once, states and pairs of
// suspects swept.
func TestScripts(t *testing.T) {
	data, err := filepath.Abs("testdata") // the scripts change the working directory
	if err != nil {
		t.Fatal(err)
	}
	scripts, err := filepath.Glob(filepath.Join(data, "*.txtar"))
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts (%v)", err)
	}
	if testing.Short() {
		scripts = nil
		for _, name := range []string{"batch", "identify", "interview", "page", "states"} {
			scripts = append(scripts, filepath.Join(data, name+".txtar"))
		}
	}
	scripts = slices.DeleteFunc(scripts, func(s string) bool {
		command, _, _ := Command().Find([]string{strings.TrimSuffix(filepath.Base(s), ".txtar")})
		return !command.HasParent() && !thorough() && !*update
	})
	testscript.Run(t, testscript.Params{
		Files:               scripts,
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"run": runInScript},
		Setup: func(e *testscript.Env) error {
			// Nothing of the tester's own terminal may shape the output.
			e.Setenv("COLUMNS", "")
			e.Setenv("SOURCE_DATE_EPOCH", "")
			return nil
		},
	})
}

// Every command is run by a script.
func TestEveryCommandHasAScript(t *testing.T) {
	scripts, err := filepath.Glob(filepath.Join("testdata", "*.txtar"))
	if err != nil {
		t.Fatal(err)
	}
	run := map[string]bool{}
	for _, script := range scripts {
		b, err := os.ReadFile(script)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(b)) {
			line = strings.TrimPrefix(line, "! ")
			words := strings.Fields(strings.Replace(line, "exec tieup ", "run ", 1))
			if len(words) > 1 && words[0] == "run" {
				run[words[1]] = true
			}
		}
	}
	for _, c := range commands() {
		if !run[c.name] {
			t.Errorf("no script of testdata runs tieup %s", c.name)
		}
	}
}

// inProcess is held by the script whose command runs: a working directory and an
// environment belong to a whole process.
var inProcess sync.Mutex

// runInScript is "exec tieup" without the start of a process, which takes longer than most
// answers. With TIEUP_EXHAUSTIVE it is "exec tieup".
func runInScript(ts *testscript.TestScript, neg bool, args []string) {
	if thorough() {
		if (ts.Exec("tieup", args...) != nil) != neg {
			ts.Fatalf("unexpected end of the command")
		}
		return
	}
	inProcess.Lock()
	defer inProcess.Unlock()
	dir, err := os.Getwd()
	ts.Check(err)
	ts.Check(os.Chdir(ts.MkAbs(".")))
	columns := os.Getenv("COLUMNS")
	ts.Check(os.Setenv("COLUMNS", ts.Getenv("COLUMNS")))
	root := rootFor(args)
	root.SetIn(strings.NewReader(""))
	root.SetOut(ts.Stdout())
	root.SetErr(ts.Stderr())
	code := run(root, args, ts.Stderr())
	ts.Check(os.Setenv("COLUMNS", columns))
	ts.Check(os.Chdir(dir))
	if (code != exitAnswered) != neg {
		ts.Fatalf("exit code %d", code)
	}
}
