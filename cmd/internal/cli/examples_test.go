package cli

import (
	"bytes"
	"strings"
	"testing"
)

// TestTransientExamples runs the examples in the help of what plays shifts in time.
func TestTransientExamples(t *testing.T) {
	t.Chdir(t.TempDir())
	count := 0
	for _, name := range [][]string{{"transient"}, {"plot", "transient"}} {
		cmd, _, err := newRootCmd().Find(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(cmd.Example, "\n") {
			words := strings.Fields(line)
			if len(words) == 0 || words[0] != "tieup" {
				t.Errorf("%s: an example is no command: %q", cmd.CommandPath(), line)
				continue
			}
			count++
			var out, remarks bytes.Buffer
			root := newRootCmd()
			root.SetOut(&out)
			root.SetErr(&remarks)
			if code := run(root, words[1:], &remarks); code != exitAnswered {
				t.Errorf("%s: %d: %s", strings.TrimSpace(line), code, remarks.String())
			}
		}
	}
	if count < 4 {
		t.Errorf("%d examples were run", count)
	}
}
