package cli

import (
	"bytes"
	"encoding/json"
	"math"
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

// What is nothing is 0 in the JSON of a played shift, not what rounding left of it: only
// the accuracy says how much that is.
func TestTransientLeavesOutRounding(t *testing.T) {
	var out, remarks bytes.Buffer
	root := newRootCmd()
	root.SetOut(&out)
	if code := run(root, strings.Fields("transient simpson-three-speed D2 D3 --format json"), &remarks); code != exitAnswered {
		t.Fatal(remarks.String())
	}
	var answer any
	if err := json.Unmarshal(out.Bytes(), &answer); err != nil {
		t.Fatal(err)
	}
	numbers := 0
	var look func(at string, x any)
	look = func(at string, x any) {
		switch x := x.(type) {
		case map[string]any:
			for key, value := range x {
				if key != "accuracy" && key != "error" {
					look(at+"/"+key, value)
				}
			}
		case []any:
			for _, value := range x {
				look(at+"[]", value)
			}
		case float64:
			if numbers++; x != 0 && math.Abs(x) < 1e-9 {
				t.Errorf("%s is %v", at, x)
			}
		}
	}
	look("", answer)
	if numbers < 100 {
		t.Errorf("%d numbers", numbers)
	}
}
