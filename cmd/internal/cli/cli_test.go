package cli

import (
	"flag"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what the commands print into the scripts")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tieup": func() { os.Exit(Main()) }})
}

// TestScripts runs the scripts of testdata, one for each command.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata",
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
