package cli

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
)

// TestHelp reads the help of every command: it fits a terminal, and has examples.
func TestHelp(t *testing.T) {
	for _, cmd := range everyCommand(Command()) {
		if strings.HasPrefix(cmd.CommandPath(), "tieup completion ") {
			continue // its text is the library's
		}
		var out bytes.Buffer
		cmd.SetOut(&out)
		if err := cmd.Help(); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(out.String()) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > helpWidth {
				t.Errorf("%s: a line of %d columns: %s", cmd.CommandPath(), n, line)
			}
		}
		if !cmd.HasSubCommands() && cmd.Example == "" {
			t.Errorf("%s has no example", cmd.CommandPath())
		}
	}
}

// TestExamples runs the examples in the help of every command but those that wait for
// somebody, in one folder, where the files lie that they take as written.
func TestExamples(t *testing.T) {
	if !thorough() {
		t.Skip("runs some 70 programs: set TIEUP_EXHAUSTIVE")
	}
	// New Actyon Sports service manual, SsangYong Motor, 2013, pages 451 and 473 to 493.
	chart := []byte(`range;C1;C2;C3;B1;B2;OWC;ratio
1;;x;;;;x;3.53
2;;x;;x;;;2.14
3;;x;x;;;;1.48
4;?;?;?;?;?;;1.16
5;?;?;?;?;?;;0.87
6;?;?;?;?;?;;0.68
R;;;x;;x;;3.09
`)
	t.Chdir(t.TempDir())
	sh := func(line string) {
		if out, err := exec.Command("sh", "-c", line).CombinedOutput(); err != nil {
			t.Errorf("%s: %v: %s", line, err, out)
		}
	}
	sh("tieup sheet depot-shuttle-three-speed > bus-14.yaml")
	if err := os.WriteFile("questions.jsonl", []byte(`{"train": "simpson-three-speed", "ranges": ["R"]}`), 0o644); err != nil {
		t.Fatal(err)
	}
	count, made := 0, regexp.MustCompile(` (?:-o|--save|>) (\S+)`)
	for _, cmd := range everyCommand(Command()) {
		if cmd.Name() == "page" || cmd.Name() == "interview" {
			continue
		}
		for line := range strings.Lines(cmd.Example) {
			if err := os.WriteFile("mine.csv", chart, 0o644); err != nil {
				t.Fatal(err)
			}
			if m := made.FindStringSubmatch(line); m != nil {
				os.Remove(m[1]) // another example made one of that name
			}
			count++
			sh(strings.TrimSpace(line))
		}
	}
	if count < 60 {
		t.Errorf("%d examples were run", count)
	}
}

func everyCommand(cmd *cobra.Command) []*cobra.Command {
	list := []*cobra.Command{cmd}
	for _, c := range cmd.Commands() {
		list = append(list, everyCommand(c)...)
	}
	return list
}

// Too few and too many arguments are refused in words.
func TestArgumentsThatAreNot(t *testing.T) {
	for _, cmd := range everyCommand(Command()) {
		if cmd.Args == nil {
			continue
		}
		for _, args := range [][]string{nil, strings.Fields("a b c d e")} {
			if err := cmd.Args(cmd, args); err != nil && (err.Error() == "" || strings.HasPrefix(err.Error(), ":")) {
				t.Errorf("%s %q: %q says nothing", cmd.CommandPath(), args, err)
			}
		}
	}
}

// What is nothing is 0 in the JSON of a played shift, not what rounding left of it: only
// the accuracy says how much that is.
func TestTransientLeavesOutRounding(t *testing.T) {
	var out, remarks bytes.Buffer
	root := Command()
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
