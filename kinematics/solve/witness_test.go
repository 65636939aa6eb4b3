package solve_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A block is one linear program for the independent solver, written from the
// meshes and couplings alone: the speeds of all members, then a positive and a
// negative part for what costs. Entries are row, column, value.
type block struct {
	Cost    []float64    `json:"cost"`
	Free    int          `json:"free"` // the first so many unknowns may be negative
	Equal   [][3]float64 `json:"equal"`
	Right   []float64    `json:"right"`
	AtLeast [][3]float64 `json:"at_least"` // rows >= 0
	Rows    int          `json:"rows"`     // of AtLeast
	// Push is the row of Equal that forces the motion. Where the engine says that
	// it jams, the solver is asked for the largest part of the motion that is
	// possible, which must be 0.
	Push int  `json:"push"`
	Jams bool `json:"jams"`
}

func (b *block) equal(right float64, terms ...float64) {
	for i := 0; i < len(terms); i += 2 {
		b.Equal = append(b.Equal, [3]float64{float64(len(b.Right)), terms[i], terms[i+1]})
	}
	b.Right = append(b.Right, right)
}

// costs adds a cost on both sides of a speed, or of the difference of two.
func (b *block) costs(cost float64, terms ...float64) {
	plus := float64(len(b.Cost))
	b.Cost = append(b.Cost, cost, cost)
	b.equal(0, append(terms, plus, -1, plus+1, 1)...)
}

// held says how a coupling holds in a range under one fault: rigidly, one way
// (+1 or -1, for slips that may not be negative or positive), or by friction. It
// is written from the words of the faults alone.
func held(t *kinematics.Train, r *kinematics.Range, f *kinematics.Fault, i int, rating float64) (rigid bool,
	way int, capacity float64) {
	c := &t.Couplings[i]
	applied := false
	for _, e := range r.Apply {
		applied = applied || e == i
	}
	var kind kinematics.FaultKind
	share := 1.0
	if f != nil && f.Coupling == i {
		kind = f.Kind
		if f.Share.IsSet() {
			share = float64(f.Share.Num) / float64(f.Share.Den)
		}
	}
	switch kind {
	case kinematics.OpenF, kinematics.Slips, kinematics.Sheared, kinematics.Missing:
		return false, 0, 0
	case kinematics.Seized:
		return true, 0, 0
	case kinematics.Stuck:
		if f.Share.IsSet() {
			return false, 0, share * rating
		}
		return true, 0, 0
	}
	switch c.Kind {
	case kinematics.Spline:
		return true, 0, 0
	case kinematics.OneWay:
		switch {
		case c.Switched && !applied:
			return false, 0, 0
		case kind == kinematics.Backward:
			return false, -1, 0
		}
		return false, 1, 0
	case kinematics.Dog, kinematics.Pawl:
		return applied, 0, 0
	}
	switch {
	case applied && kind == kinematics.Weak:
		return false, 0, share * rating
	case applied:
		return false, 0, rating
	case kind == kinematics.Dragging:
		return false, 0, share * rating
	}
	return false, 0, 0
}

// newBlock writes the program that forces member unit to turn at v and costs
// against at member other.
func newBlock(t *kinematics.Train, r *kinematics.Range, f *kinematics.Fault, ratings []solve.Rating,
	unit kinematics.MemberID, v float64, other kinematics.MemberID, against float64) *block {
	b := &block{Cost: make([]float64, len(t.Members)), Free: len(t.Members)}
	b.equal(v, float64(unit), 1)
	b.equal(0, 0, 1) // the housing
	for _, m := range t.Meshes {
		za, zb := float64(m.ZA), float64(m.ZB)
		if m.Kind != kinematics.External {
			zb = -zb
		}
		b.equal(0, float64(m.A), za, float64(m.B), zb, float64(m.Carrier), -za-zb)
	}
	if against != 0 {
		b.costs(against, float64(other), 1)
	}
	for i, c := range t.Couplings {
		rigid, way, capacity := held(t, r, f, i, ratings[i].Torque.Float())
		x, y := float64(c.A), float64(c.B)
		switch {
		case rigid:
			b.equal(0, x, 1, y, -1)
		case way != 0:
			b.AtLeast = append(b.AtLeast, [3]float64{float64(b.Rows), x, float64(way)},
				[3]float64{float64(b.Rows), y, -float64(way)})
			b.Rows++
		case capacity > 0:
			b.costs(capacity, x, 1, y, -1)
		}
	}
	return b
}

// highs solves blocks by HiGHS, called through SciPy: all of them at once, as one
// program whose blocks have nothing in common. One value a block is printed.
const highs = `
import json, sys
import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_matrix

def solve(blocks):
    cost, low, eq, right, ub, spans = [], [], ([], [], []), [], ([], [], []), []
    rows = n = 0
    for b in blocks:
        first, m = len(right), len(b["cost"])
        spans.append(n)
        c = list(b["cost"])
        low += [-np.inf] * b["free"] + [0] * (m - b["free"])
        if b["jams"]:
            c = [0] * m + [1]       # the part of the motion that is missing
            low.append(0)
            eq[0].append(first + b["push"]); eq[1].append(n + m); eq[2].append(b["right"][b["push"]])
            m += 1
        cost += c
        for i, j, x in b["equal"]:
            eq[0].append(first + i); eq[1].append(n + j); eq[2].append(x)
        right += b["right"]
        for i, j, x in b["at_least"] or []:
            ub[0].append(rows + i); ub[1].append(n + j); ub[2].append(-x)
        rows += b["rows"]
        n += m
    spans.append(n)
    A = coo_matrix((eq[2], (eq[0], eq[1])), shape=(len(right), n)).tocsr()
    B = coo_matrix((ub[2], (ub[0], ub[1])), shape=(rows, n)).tocsr() if rows else None
    r = linprog(cost, A_ub=B, b_ub=np.zeros(rows) if rows else None, A_eq=A, b_eq=right,
                bounds=np.column_stack([low, np.full(n, np.inf)]), method="highs")
    if r.status != 0:
        if len(blocks) == 1:
            return [r.message]
        half = len(blocks) // 2
        return solve(blocks[:half]) + solve(blocks[half:])
    part = np.array(cost) * r.x
    return [float(part[spans[k]:spans[k+1]].sum()) for k in range(len(blocks))]

json.dump(solve(json.load(sys.stdin)), sys.stdout)
`

// pythonWithSciPy finds a Python that has SciPy. Without one the test is left out,
// but not on a machine that checks the whole repository.
func pythonWithSciPy(t *testing.T) string {
	t.Helper()
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(python, "-c", "import scipy.optimize").Run() == nil {
			return python
		}
	}
	const advice = "no Python with SciPy here: apt-get install python3-scipy"
	if os.Getenv("CI") != "" {
		t.Fatal(advice)
	}
	t.Skip(advice)
	return ""
}

// TestBreakawayWitness asks an independent solver, HiGHS in Debian's
// python3-scipy, for the optimum of every train of the library, range and single
// fault (one in 90 of them unless TIEUP_EXHAUSTIVE is set): standing with free wheels
// and against a resistance of 1, and rolling both ways with closed throttle. The programs are written from the meshes and
// couplings, in speeds of members, without the engine's free motions.
func TestBreakawayWitness(t *testing.T) {
	python := pythonWithSciPy(t)
	var blocks []*block
	var wants []float64
	var names []string
	index := map[string]int{} // of programs already there
	asked := 0
	for _, name := range gearsets.Names() {
		train := library(t, name)
		sys := solve.Compile(train)
		ratings := sys.Ratings(solve.ScaleOf(train), solve.DefaultReserve(), nil)
		for i := range ratings {
			if ratings[i].Origin == solve.Unloaded {
				ratings[i] = solve.Rating{Origin: solve.Stated, Torque: exact.NewFrac(1, 1)}
			}
		}
		for i := range train.Ranges {
			r := &train.Ranges[i]
			for n, f := range torqueFaults(train) {
				if !exhaustive() && (7*n+13*i)%90 != 0 {
					continue
				}
				var faults []kinematics.Fault
				text := "healthy"
				if f != nil {
					faults, text = []kinematics.Fault{*f}, train.FaultText(*f)
				}
				g, err := sys.Capacities(r, faults, ratings)
				if err != nil {
					t.Fatal(err)
				}
				zero, one, way := exact.NewFrac(0, 1), exact.NewFrac(1, 1), float64(train.Forward)
				for _, p := range []struct {
					push  string
					b     *solve.Mechanism
					block *block
				}{
					{"standing", sys.Standing(g, zero), newBlock(train, r, f, ratings, r.Input, 1, r.Output, 0)},
					{"standing against 1", sys.Standing(g, one),
						newBlock(train, r, f, ratings, r.Input, 1, r.Output, 1)},
					{"rolling forward", sys.Rolling(g, true, zero),
						newBlock(train, r, f, ratings, r.Output, way, r.Input, 0)},
					{"rolling backward", sys.Rolling(g, false, zero),
						newBlock(train, r, f, ratings, r.Output, -way, r.Input, 0)},
				} {
					asked++
					full := strings.Join([]string{name, r.Name, text, p.push}, " ")
					want := p.b.Torque.Float()
					if p.block.Jams = p.b.End == solve.Jams; p.block.Jams {
						want = 1 // all of the motion is missing
					} else if !p.b.Proved {
						t.Errorf("%s: not proved", full)
					}
					key, err := json.Marshal(p.block)
					if err != nil {
						t.Fatal(err)
					}
					if k, seen := index[string(key)]; seen {
						if wants[k] != want {
							t.Errorf("%s: %v, but %s, the same program, %v", full, want, names[k], wants[k])
						}
						continue
					}
					index[string(key)] = len(blocks)
					blocks, wants, names = append(blocks, p.block), append(wants, want), append(names, full)
				}
			}
		}
	}
	in, err := json.Marshal(blocks)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", highs)
	var errs bytes.Buffer
	cmd.Stdin, cmd.Stderr = bytes.NewReader(in), &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, errs.String())
	}
	var got []json.RawMessage
	if err := json.Unmarshal(out, &got); err != nil || len(got) != len(blocks) {
		t.Fatalf("%d answers to %d programs: %v", len(got), len(blocks), err)
	}
	worst, jams, slips := 0.0, 0, 0
	for k, raw := range got {
		x, err := strconv.ParseFloat(string(raw), 64)
		if err != nil {
			t.Errorf("%s: %s", names[k], raw)
			continue
		}
		e := math.Abs(x-wants[k]) / max(1, math.Abs(wants[k]))
		worst = max(worst, e)
		if e > 1e-7 {
			t.Errorf("%s: HiGHS finds %v, the engine %v", names[k], x, wants[k])
		}
		switch {
		case blocks[k].Jams:
			jams++
		case wants[k] > 0:
			slips++
		}
	}
	t.Logf("%d questions, %d different programs; %d jam, %d cost something; largest relative difference %.1e",
		asked, len(blocks), jams, slips, worst)
	if jams < asked/40 || slips < asked/8 {
		t.Errorf("only %d programs jam and %d cost something", jams, slips)
	}
}

// torqueFaults are no fault and every single fault of a train, those that act
// through torque among them.
func torqueFaults(t *kinematics.Train) []*kinematics.Fault {
	list := []*kinematics.Fault{nil}
	for _, f := range t.SingleFaults() {
		list = append(list, &f)
		if f.Kind == kinematics.Stuck && t.Couplings[f.Coupling].Kind.Friction() {
			for _, more := range []kinematics.Fault{
				{Kind: kinematics.Stuck, Share: kinematics.Share{Num: 2, Den: 5}},
				{Kind: kinematics.Weak, Share: kinematics.Share{Num: 3, Den: 5}},
				{Kind: kinematics.Dragging, Share: kinematics.Share{Num: 1, Den: 10}},
			} {
				more.Coupling = f.Coupling
				list = append(list, &more)
			}
		}
	}
	return list
}
