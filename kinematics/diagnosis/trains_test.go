package diagnosis_test

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

func library(t testing.TB, name string) *kinematics.Train {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	return train
}

// withFriction returns the trains of the library that have a clutch, brake or band.
func withFriction(t testing.TB) []*kinematics.Train {
	t.Helper()
	var list []*kinematics.Train
	for _, name := range gearsets.Names() {
		train := library(t, name)
		for _, c := range train.Couplings {
			if c.Kind.Friction() {
				list = append(list, train)
				break
			}
		}
	}
	if len(list) < 15 {
		t.Fatalf("only %d trains with friction elements", len(list))
	}
	return list
}

// sampled returns those of them that a long test goes through: one in twenty, and all
// of them with TIEUP_EXHAUSTIVE or when files are written anew.
func sampled(t testing.TB) []*kinematics.Train {
	t.Helper()
	list := withFriction(t)
	if whole() {
		return list
	}
	var some []*kinematics.Train
	for i := 0; i < len(list); i += 20 {
		some = append(some, list[i])
	}
	return some
}

// whole says whether long tests go through the whole library.
func whole() bool { return os.Getenv("TIEUP_EXHAUSTIVE") != "" || *update }

// upToDate compares a table with its committed file, or writes it. Of a table that does
// not go through the whole library the rows alone are compared, those of the trains named.
func upToDate(t *testing.T, file, table string, trains []string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(file, []byte(table), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	want := string(text)
	if !whole() {
		want, table = rows(want, trains), rows(table, trains)
	}
	if diff := cmp.Diff(want, table); diff != "" {
		t.Errorf("%s is stale: run this test with -update\n%s", file, diff)
	}
}

// rows are the lines of a table that begin with one of the names.
func rows(table string, names []string) string {
	var list []string
	for line := range strings.Lines(table) {
		if name, _, _ := strings.Cut(line, " "); slices.Contains(names, name) {
			list = append(list, line)
		}
	}
	return strings.Join(list, "")
}

// exactly are the default assumptions with ratios measured without error.
func exactly() diagnosis.Assumptions {
	a := diagnosis.Default()
	a.Tolerance = exact.NewFrac(0, 1)
	return a
}

// A bench is a finder with the answer to nothing seen, which holds every single
// hypothesis.
type bench struct {
	t      *kinematics.Train
	sys    *solve.System
	a      diagnosis.Assumptions
	finder *diagnosis.Finder
	all    *diagnosis.Answer
}

func newBench(t *kinematics.Train, a diagnosis.Assumptions) *bench {
	b := &bench{t: t, sys: solve.Compile(t), a: a}
	b.finder = must(diagnosis.New(context.Background(), b.sys, a))
	b.all = b.diagnose()
	return b
}

func (b *bench) diagnose(seen ...diagnosis.Observation) *diagnosis.Answer {
	c := &diagnosis.Case{Train: b.t, Assume: b.a, Seen: seen}
	return must(b.finder.Diagnose(context.Background(), c, diagnosis.Options{}))
}

// must is what comes of something whose context does not end.
func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

// singles are all hypotheses of one fault, and those of wrong command.
func (b *bench) singles() []*diagnosis.Suspect { return b.all.Groups[0].Suspects }

// suspect makes a suspect of faults.
func suspect(faults ...kinematics.Fault) *diagnosis.Suspect {
	return &diagnosis.Suspect{Hypothesis: diagnosis.Hypothesis{Kind: diagnosis.Faulty, Faults: faults}}
}

// id tells hypotheses apart.
func id(h *diagnosis.Hypothesis) string {
	return fmt.Sprint(h.Kind, h.Faults, h.Command, h.Shift, h.Late)
}

// rank returns the rank of the group that holds h, 0 if none does.
func rank(a *diagnosis.Answer, h *diagnosis.Hypothesis) int {
	for _, g := range a.Groups {
		for _, s := range g.Suspects {
			if id(&s.Hypothesis) == id(h) {
				return g.Rank
			}
		}
	}
	return 0
}

// see reads observations, written as on the command line: "R=bind".
func see(t testing.TB, train *kinematics.Train, places ...string) []diagnosis.Observation {
	t.Helper()
	var seen []diagnosis.Observation
	for i := 0; i+1 < len(places); i += 2 {
		list, err := diagnosis.Parse(train, places[i], places[i+1])
		if err != nil {
			t.Fatal(err)
		}
		seen = append(seen, list...)
	}
	return seen
}

// fault reads a fault, written as on the command line.
func fault(t testing.TB, train *kinematics.Train, text string) kinematics.Fault {
	t.Helper()
	f, err := kinematics.ParseFault(train, text)
	if err != nil {
		t.Fatal(err)
	}
	return f
}
