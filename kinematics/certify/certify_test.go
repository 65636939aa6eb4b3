package certify_test

import (
	"bytes"
	"encoding/json"
	"go/parser"
	"go/token"
	"maps"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/certify"
	"tieup/kinematics/certify/verify"
	"tieup/kinematics/solve"
)

// The checker is small and stands alone: at most 200 lines of code, and nothing of the
// project.
func TestSmall(t *testing.T) {
	source, err := os.ReadFile("certify.go")
	if err != nil {
		t.Fatal(err)
	}
	code := 0
	for line := range strings.Lines(string(source)) {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "//") {
			code++
		}
	}
	if code > 200 {
		t.Errorf("%d lines of code", code)
	}
	f, err := parser.ParseFile(token.NewFileSet(), "", source, parser.ImportsOnly)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range f.Imports {
		if strings.Contains(i.Path.Value, "tieup") || strings.Contains(i.Path.Value, ".") {
			t.Errorf("it imports %s", i.Path.Value)
		}
	}
}

// An instance is a certificate with the rows of its state and of its balances.
type instance struct {
	Rows        certify.Rows         `json:"rows"`
	Loaded      certify.Rows         `json:"loaded"`
	Certificate *certify.Certificate `json:"certificate"`
}

func (x *instance) check() error {
	return x.Rows.Check(x.Certificate, func(*certify.Balance) certify.Rows { return x.Loaded })
}

// instances proves outcomes, members, conflicts and loads of two trains under faults, and
// what gives first.
func instances(t *testing.T) (list []*instance) {
	for _, name := range []string{"simpson-three-speed", "ravigneaux-four-speed"} {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		sys := solve.Compile(train)
		ratings := sys.Ratings(solve.ScaleOf(train), solve.DefaultReserve(), nil)
		for n, f := range append([]kinematics.Fault{{Coupling: 0, Kind: kinematics.Stuck}}, train.SingleFaults()...) {
			for i := range train.Ranges {
				if (n+i)%6 > 0 {
					continue
				}
				st := train.In(&train.Ranges[i], f)
				p := sys.Prover(st)
				p.Outcome()
				if m := sys.Motion(st); i%2 == 0 {
					p.Members(m)
				}
				for _, demand := range []solve.Demand{solve.InputForward, solve.OutputBackward} {
					found, _ := sys.Conflicts(t.Context(), st, demand, solve.Usual)
					for _, c := range found {
						var parts [][]int
						for _, x := range c.Carry {
							parts = append(parts, []int{x})
						}
						p.Conflict(demand, parts)
					}
				}
				if l := sys.Pulling(t.Context(), st, solve.NoLosses(), solve.Usual); l != nil {
					p.Load(l, true)
				}
				rows := verify.RowsOf(train, st)
				list = append(list, &instance{rows, rows, &p.Certificate})

				g, err := sys.Capacities(&train.Ranges[i], []kinematics.Fault{f}, ratings)
				if err != nil {
					continue
				}
				q := sys.ProverOf(g)
				q.Rolling("rolling", g, sys.Rolling(g, true, solve.DefaultReserve()), true, solve.DefaultReserve())
				rows = verify.Slipping(train, rows, q.Capacities)
				list = append(list, &instance{rows, rows, &q.Certificate})
			}
		}
	}
	return list
}

// The checker in Python, written from the package comment, agrees, also on certificates
// with a number changed.
func TestPython(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no Python here")
	}
	list := instances(t)
	right := len(list)
	for _, x := range list[:right:right] {
		data, err := json.Marshal(x)
		if err != nil {
			t.Fatal(err)
		}
		var wrong instance
		if err := json.Unmarshal(data, &wrong); err != nil {
			t.Fatal(err)
		}
		motions := wrong.Certificate.Motions
		if len(motions) == 0 || len(motions[0]) == 0 {
			continue
		}
		name := slices.Min(slices.Collect(maps.Keys(motions[0])))
		w := motions[0][name]
		motions[0][name] = certify.Frac{Rat: *new(big.Rat).Add(&w.Rat, big.NewRat(1, 3))}
		list = append(list, &wrong)
	}
	in, err := json.Marshal(list)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, filepath.Join("..", "..", "testdata", "verify.py"))
	cmd.Stdin = bytes.NewReader(in)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != len(list) {
		t.Fatalf("%d verdicts of %d: %.300s", len(lines), len(list), out)
	}
	refused := 0
	for i, line := range lines {
		err := list[i].check()
		if (line == "proved") != (err == nil) || i < right && err != nil {
			t.Errorf("%d: in Python %s, in Go %v", i, line, err)
		}
		if err != nil {
			refused++
		}
	}
	if changed := len(list) - right; refused < changed*9/10 {
		t.Errorf("of %d changed only %d are refused", changed, refused)
	}
}

// Nothing that is not so passes: each atom with one number off, by hand. One gear pair,
// 2 to 1, whose wheel a one-way clutch keeps from turning backward.
func TestByHand(t *testing.T) {
	read := func(text string, x any) {
		if err := json.Unmarshal([]byte(text), x); err != nil {
			t.Fatal(err)
		}
	}
	var rows certify.Rows
	read(`{"mesh 0": {"form": {"in": "1", "out": "2"}, "sense": "="},
		"roller": {"form": {"out": "1"}, "sense": ">="}, "brake": {"form": {"out": "1"}, "sense": "friction", "capacity": "3"}}`, &rows)
	for _, x := range []struct{ text, want string }{
		// The input turns backward, or not at all: in <= 0, and -1 gives out = 1/2.
		{`{"motions": [{}, {"in": "-1", "out": "1/2"}], "slices": [{"field": "f", "quantity": {"in": "1"},
			"min": {"motion": 0, "ray": 1}, "max": {"value": "0", "motion": 0, "rows": {"mesh 0": "-1", "roller": "2"}}}]}`, ""},
		{`{"motions": [{}, {"in": "-1", "out": "1/2"}], "slices": [{"field": "f", "quantity": {"in": "1"},
			"min": {"motion": 0, "ray": 1}, "max": {"value": "1", "motion": 0, "rows": {"mesh 0": "-1", "roller": "2"}}}]}`, "not reached"},
		{`{"motions": [{}, {"in": "-1", "out": "1/2"}], "slices": [{"field": "f", "quantity": {"in": "1"},
			"min": {"motion": 0, "ray": 0}, "max": {"value": "0", "motion": 0, "rows": {"mesh 0": "-1", "roller": "2"}}}]}`, "elsewhere"},
		{`{"motions": [{}], "slices": [{"field": "f", "quantity": {"in": "1"},
			"min": {"value": "0", "motion": 0, "rows": {"mesh 0": "1", "roller": "-2"}}}]}`, "of that sign"},
		{`{"motions": [{"in": "1"}]}`, "mesh 0 forbids"},
		{`{"motions": [{"in": "2", "out": "-1"}]}`, "roller forbids"},
		{`{"slices": [{"field": "f", "min": {"motion": 7}}]}`, "f: runtime error"},
		// To turn the input forward is impossible, by the roller; without it is not.
		{`{"slices": [{"field": "f", "given": [{"in": "1"}], "is": ["1"], "parts": [["roller"]], "without": [{"in": "1", "out": "-1/2"}],
			"empty": {"motion": 0, "rows": {"mesh 0": "-1", "roller": "2"}, "at": ["-1"]}}]}`, ""},
		{`{"slices": [{"field": "f", "given": [{"in": "1"}], "is": ["1"], "parts": [["roller"], ["brake"]],
			"without": [{"in": "1", "out": "-1/2"}, {"in": "1", "out": "-1/2"}],
			"empty": {"motion": 0, "rows": {"mesh 0": "-1", "roller": "2"}, "at": ["-1"]}}]}`, "roller forbids"},
		{`{"slices": [{"field": "f", "given": [{"in": "-1"}], "is": ["1"],
			"empty": {"motion": 0, "rows": {"mesh 0": "1", "roller": "-2"}, "at": ["-1"]}}]}`, "of that sign"},
		{`{"slices": [{"field": "f", "given": [{"in": "1"}], "is": ["1"], "parts": [[]], "without": [{"in": "1", "out": "-1/2"}],
			"empty": {"motion": 0, "rows": {"mesh 0": "-1", "roller": "2"}, "at": ["-1"]}}]}`, "of that sign"},
		// Turned backward by 3/2 the brake slips, at its capacity; 1 does not move it.
		{`{"motions": [{"in": "-2", "out": "1"}], "balances": [{"field": "b", "outside": {"in": "-3/2"},
			"rows": {"mesh 0": "3/2", "brake": "-3"}, "motion": 0}]}`, ""},
		{`{"motions": [{"in": "-2", "out": "1"}], "balances": [{"field": "b", "outside": {"in": "-1"},
			"rows": {"mesh 0": "1", "brake": "-2"}, "motion": 0}]}`, "slips against another"},
		{`{"motions": [{}], "balances": [{"field": "b", "outside": {"in": "-2"},
			"rows": {"mesh 0": "2", "brake": "-4"}, "motion": 0}]}`, "cannot carry"},
		{`{"motions": [{}], "balances": [{"field": "b", "outside": {"in": "-1"},
			"rows": {"mesh 0": "1", "brake": "-3"}, "motion": 0}]}`, "no equilibrium"},
		// With brake and roller loaded, their torques do not follow: nothing moves one alone.
		{`{"motions": [{}], "balances": [{"field": "b", "outside": {"in": "-1"}, "rows": {"mesh 0": "1", "brake": "-2"}, "motion": 0,
			"unknown": "shaft", "alone": {"": {"shaft": "1"}, "mesh 0": {"in": "1"}, "brake": {"in": "-2", "out": "1"}}}]}`, ""},
		{`{"motions": [{}], "balances": [{"field": "b", "outside": {"in": "-1"}, "rows": {"mesh 0": "1", "brake": "-2"}, "motion": 0,
			"unknown": "out", "alone": {"": {"out": "1", "in": "-2"}, "mesh 0": {"in": "1"}, "brake": {"in": "-2", "out": "1"}}}]}`, "alone"},
	} {
		var c certify.Certificate
		read(x.text, &c)
		err := rows.Check(&c, func(*certify.Balance) certify.Rows { return rows })
		if (err == nil) != (x.want == "") || err != nil && !strings.Contains(err.Error(), x.want) {
			t.Errorf("%s: %v, want %q", x.text, err, x.want)
		}
	}
}
