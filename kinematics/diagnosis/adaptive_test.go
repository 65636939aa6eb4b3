package diagnosis_test

import (
	"bytes"
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"

	"tieup/kinematics/diagnosis"
)

var update = flag.Bool("update", false, "write the table of testdata/tests-needed.txt anew")

// A course is what it took to isolate a fault.
type course struct{ faults, tests, effort, ranges int }

func (c *course) add(d course) {
	c.faults, c.tests, c.effort, c.ranges = c.faults+1, c.tests+d.tests, c.effort+d.effort, c.ranges+d.ranges
}

// String gives the means.
func (c course) String() string {
	mean := func(x int) float64 { return float64(x) / float64(max(c.faults, 1)) }
	return fmt.Sprintf("%7.1f %7.1f %7.1f", mean(c.tests), mean(c.effort), mean(c.ranges))
}

// A chooser picks the next test from those that would tell something, best first.
type chooser func(a *diagnosis.Answer, useful []diagnosis.Proposal) diagnosis.Proposal

// follow makes tests on the road from a complaint on until none is left that
// could tell the first suspects apart.
func (b *bench) follow(t *testing.T, truth *diagnosis.Suspect, choose chooser) course {
	seen := b.all.FirstComplaint(truth)
	var c course
	var asked []diagnosis.Test
	ranges := map[int]bool{}
	for {
		a := b.diagnose(seen...)
		useful := must(a.Split(t.Context(), 1000, func(x *diagnosis.Test) bool { return x.Kind.OnTheRoad() && !slices.ContainsFunc(asked, x.Same) }))
		if len(useful) == 0 {
			if r := rank(a, &truth.Hypothesis); r != 1 {
				t.Errorf("%s: %s ends with rank %d", b.t.Name, truth.Text(b.t), r)
			}
			c.ranges = len(ranges)
			return c
		}
		p := choose(a, useful)
		asked = append(asked, p.Test)
		c.tests++
		c.effort += p.Effort
		ranges[p.Range] = true
		seen = append(seen, a.Reply(&p.Test, truth).Seen...)
	}
}

// best takes the proposed test.
func best(_ *diagnosis.Answer, useful []diagnosis.Proposal) diagnosis.Proposal { return useful[0] }

// firstUseful goes through the ranges in order and leaves out tests that could
// tell nothing.
func firstUseful(a *diagnosis.Answer, useful []diagnosis.Proposal) diagnosis.Proposal {
	for _, p := range a.RoadTests() {
		if i := slices.IndexFunc(useful, func(u diagnosis.Proposal) bool { return p.Test.Same(u.Test) }); i >= 0 {
			return useful[i]
		}
	}
	return useful[0] // a shift
}

// inOrder makes every test of every range in order, useful or not.
func inOrder() chooser {
	next := 0
	return func(a *diagnosis.Answer, useful []diagnosis.Proposal) diagnosis.Proposal {
		tests := a.RoadTests()
		if next == len(tests) {
			return useful[0] // only a shift is left
		}
		next++
		return tests[next-1]
	}
}

// Following the next test from the complaint alone isolates the fault, and takes
// fewer tests than asking range after range. The table is committed; run the
// test with -update to write it anew.
func TestTestsNeeded(t *testing.T) {
	var table bytes.Buffer
	fmt.Fprint(&table, `Tests on the road that isolate a fault, from the complaint until no other test can tell the first suspects apart.
The complaint is what the first range does that is not as it should be. Means over all single faults that change
something: tests, their effort, and ranges that are driven.

  next     the proposed test each time
  useful   range after range in the order of the chart, but only tests that can tell something
  order    every test, range after range in the order of the chart

`)
	fmt.Fprintf(&table, "%-34s %6s  %-24s %-24s %-24s\n", "", "", "next", "useful", "order")
	fmt.Fprintf(&table, "%-34s %6s %s %s %s\n", "train", "faults", heads, heads, heads)
	var all [3]course
	var names []string
	for _, train := range sampled(t) {
		names = append(names, train.Name)
		b := newBench(train, diagnosis.Default())
		var here [3]course
		for _, f := range train.SingleFaults() {
			truth := suspect(f)
			if b.all.FirstComplaint(truth) == nil {
				continue
			}
			for i, choose := range []chooser{best, firstUseful, inOrder()} {
				c := b.follow(t, truth, choose)
				here[i].add(c)
				all[i].add(c)
			}
		}
		fmt.Fprintf(&table, "%-34s %6d %s %s %s\n", train.Name, here[0].faults, here[0], here[1], here[2])
		if here[0].effort > here[1].effort || here[0].effort > here[2].effort {
			t.Errorf("%s: the proposed tests cost more than tests in order", train.Name)
		}
	}
	fmt.Fprintf(&table, "%-34s %6d %s %s %s\n", "all", all[0].faults, all[0], all[1], all[2])
	upToDate(t, "testdata/tests-needed.txt", trimmed(table.String()), names)
}

const heads = "  tests  effort  ranges"

// trimmed is a table without blanks at the ends of its lines.
func trimmed(text string) string {
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " ")
	}
	return strings.Join(lines, "\n")
}
