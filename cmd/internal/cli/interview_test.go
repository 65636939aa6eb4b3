package cli

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tieup/gearsets/roadtest"
)

// Whatever is answered, the sheet that is saved can be read.
func TestInterviewsSaveReadableSheets(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	answers := []string{"1", "2", "3", "", "yes", "no", "back", "locks", "turns", "0.41", "bind", "none", "ok", "forward", "2.45", "R=none", "N=creeps-forward", "air:direct=good",
		"D1=forward, engine-braking", "?", "D2=as D1", "\x1b[A", "element:direct = stuck", "nonsense"}
	for i := range 24 {
		train := []string{"depot-shuttle-three-speed", "simpson-three-speed", "ravigneaux-four-speed"}[i%3]
		var in strings.Builder
		in.WriteString("does \"it\" \xe4 not: \x1b[A\n\n")
		for range 4 + rng.IntN(14) {
			in.WriteString(answers[rng.IntN(len(answers))] + "\n")
		}
		file := filepath.Join(t.TempDir(), "bus.yaml")
		cmd := newRootCmd()
		var out bytes.Buffer
		cmd.SetArgs([]string{"interview", train, "--save", file})
		cmd.SetIn(strings.NewReader(in.String()))
		cmd.SetOut(&out)
		cmd.SetErr(&out)
		if err := cmd.Execute(); err != nil {
			t.Fatalf("%v\n%s", err, in.String())
		}
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if _, problems, err := roadtest.Parse(file, src); err != nil {
			t.Fatalf("%v\n%s\nafter\n%s\n%s", err, problems.Excerpts(), in.String(), out.String())
		}
	}
}
