package cli

import (
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
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
	scripts, err := filepath.Glob("testdata/*.txtar")
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts (%v)", err)
	}
	if testing.Short() {
		scripts = nil
		for _, name := range []string{"batch", "identify", "interview", "page", "states"} {
			scripts = append(scripts, filepath.Join("testdata", name+".txtar"))
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
		Setup: func(e *testscript.Env) error {
			// Nothing of the tester's own terminal may shape the output.
			e.Setenv("COLUMNS", "")
			e.Setenv("SOURCE_DATE_EPOCH", "")
			return nil
		},
	})
}
