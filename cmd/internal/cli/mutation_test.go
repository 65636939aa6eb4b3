package cli

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"tieup/gearsets"
	"tieup/gearsets/problem"
)

// mutate changes a train file in one to three places as people, editors and bad
// copies do: letters, numbers, words of the format, whole lines.
func mutate(rng *rand.Rand, src string) string {
	words := []string{"sun", "ring", "carrier", "housing", "clutch", "brake", "band", "one-way", "dog", "pawl", "apply", "ranges", "joined", "input",
		"simple", "ravigneaux", "stepped", "pair", "chain", "[]", "{}", "~", "0", "1", "-1", "99999999999", "1/0", "2.0", "true", "\"", ": ", "- ", "&a", "*a", "!!str"}
	for range 1 + rng.IntN(3) {
		lines := strings.SplitAfter(src, "\n")
		i := rng.IntN(len(lines))
		at := rng.IntN(len(src) + 1)
		to := min(len(src), at+1+rng.IntN(6))
		switch rng.IntN(9) {
		case 0: // a letter or two are gone
			src = src[:at] + src[to:]
		case 1: // or doubled
			src = src[:to] + src[at:]
		case 2: // or other ones
			src = src[:at] + string(rune(32+rng.IntN(95))) + src[to:]
		case 3:
			src = src[:at] + words[rng.IntN(len(words))] + src[to:]
		case 4: // a line is gone
			src = strings.Join(append(lines[:i:i], lines[i+1:]...), "")
		case 5: // doubled
			src = strings.Join(append(lines[:i+1:i+1], lines[i:]...), "")
		case 6: // or elsewhere
			k := rng.IntN(len(lines))
			lines[i], lines[k] = lines[k], lines[i]
			src = strings.Join(lines, "")
		case 7: // the copy ends too early
			src = src[:at]
		case 8: // a word stands for another
			fields := strings.Fields(lines[i])
			if len(fields) > 0 {
				old := strings.Trim(fields[rng.IntN(len(fields))], "[]{},:")
				src = strings.Replace(src, old, words[rng.IntN(len(words))], 1)
			}
		}
	}
	return src
}

// many is how often something is tried: all of it with TIEUP_EXHAUSTIVE=1, a third of few
// where it is not set, a tenth in a short run.
func many(few, all int) int {
	switch {
	case os.Getenv("TIEUP_EXHAUSTIVE") == "1":
		return all
	case testing.Short():
		return few / 10
	case !thorough():
		return few / 3
	}
	return few
}

// TestMutatedTrains reads mutated train files, and asks about those that are still
// trains: no panic, nothing that hangs, an exit code as documented, and with every
// refusal a place and what to write instead.
func TestMutatedTrains(t *testing.T) {
	const seed = 20
	rng := rand.New(rand.NewPCG(seed, 1))
	names := gearsets.Names()
	accepted, refused := 0, 0
	for n := range many(300, 10_000) {
		src := mutate(rng, string(gearsets.Source(names[n%len(names)])))
		watched(t, src, func() {
			train, problems := gearsets.Parse("mine.yaml", []byte(src))
			for _, p := range problems {
				if p.Severity == problem.Error && (p.Line < 1 || p.Column < 1 || !tellsWhatToDo(p)) {
					t.Errorf("no place or no fix:\n%s", p.Excerpt())
				}
			}
			if (train == nil) != problems.Refuse() {
				t.Errorf("train %t, refused %t:\n%s", train != nil, problems.Refuse(), src)
			}
			if train == nil {
				refused++
				return
			}
			accepted++
			commands := []string{"show -", "chart -", "check -"}
			if len(train.Ranges) > 0 {
				r := train.Ranges[rng.IntN(len(train.Ranges))].Name
				commands = append(commands, "solve - "+r, "why - "+r+" --format json")
			}
			askMutant(t, src, commands[rng.IntN(len(commands))])
		})
	}
	if tried := accepted + refused; accepted*15 < tried || refused*3 < tried {
		t.Errorf("%d trains and %d refusals: the mutations are too mild or too wild", accepted, refused)
	}
}

// askMutant runs a command on a train file on standard input.
func askMutant(t *testing.T, src, command string) {
	t.Helper()
	root := Command()
	var out, errs bytes.Buffer
	root.SetIn(strings.NewReader(src))
	root.SetOut(&out)
	root.SetErr(&errs)
	switch code := run(root, strings.Fields(command), &errs); {
	case code == exitDiffers && strings.HasPrefix(command, "check"):
	case code != exitAnswered:
		t.Errorf("%s: exit %d: %s\n%s", command, code, errs.String(), src)
	case out.Len() == 0:
		t.Errorf("%s: no answer\n%s", command, src)
	}
}

// tellsWhatToDo says whether a problem says what to write instead: in its hint, or
// in the message itself.
func tellsWhatToDo(p problem.Problem) bool {
	return p.Hint != "" || strings.Contains(p.Message, "did you mean") || strings.Contains(p.Message, "write ")
}

// watched stops the test where something neither ends nor panics. The limit is far
// above what the work takes, as other work may go on meanwhile.
func watched(t *testing.T, src string, f func()) {
	t.Helper()
	const limit = 30 * time.Second
	watch := time.AfterFunc(limit, func() {
		fmt.Fprintf(os.Stderr, "nothing came in %s of\n%s\n", limit, src)
		os.Exit(1)
	})
	defer watch.Stop()
	f()
}
