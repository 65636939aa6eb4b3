package reading_test

import (
	"fmt"
	"math/big"
	"os"
	"regexp"
	"slices"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A prover checks what an explanation claims, by the engine's verdicts on other
// states and by the oracle of this package.
type prover struct {
	t      *testing.T
	train  *kinematics.Train
	kernel *solve.Kernel
	state  kinematics.State
	w      *reading.Why
	wholes []whole
}

// A whole is what a conflict is made of: an element, or a joint with all of its
// splines that hold.
type whole struct {
	element, joint int // one of them -1
	couplings      []int
}

func newProver(t *testing.T, sys *solve.System, reader *reading.Reader, r *kinematics.Range, faults []kinematics.Fault) *prover {
	train := sys.Train
	p := &prover{t: t, train: train, kernel: sys.Kernel(), state: train.In(r, faults...)}
	p.w = reading.Explain(t.Context(), reader, r, faults...)
	joints := map[int]*whole{}
	for i, m := range p.state.Modes {
		if m == kinematics.Open {
			continue
		}
		if i < train.ElementCount {
			p.wholes = append(p.wholes, whole{i, -1, []int{i}})
			continue
		}
		j := train.Couplings[i].Joint
		if joints[j] == nil {
			joints[j] = &whole{element: -1, joint: j}
		}
		joints[j].couplings = append(joints[j].couplings, i)
	}
	for j := range train.Joints {
		if joints[j] != nil {
			p.wholes = append(p.wholes, *joints[j])
		}
	}
	return p
}

// only is the state in which nothing but a set of wholes holds.
func (p *prover) only(set int) kinematics.State {
	st := p.state.Clone()
	for k, w := range p.wholes {
		if set>>k&1 == 0 {
			for _, i := range w.couplings {
				st.Modes[i] = kinematics.Open
			}
		}
	}
	return st
}

// forbids says whether a state does not allow a motion.
func (p *prover) forbids(st kinematics.State, m solve.Demand) bool {
	o := p.kernel.Outcome(st)
	switch m {
	case solve.InputForward:
		return o.Pull.Empty
	case solve.OutputForward:
		return o.CoastForward.Empty
	}
	return o.CoastBackward.Empty
}

// setOf returns the wholes of a conflict as bits.
func (p *prover) setOf(c *reading.Conflict) int {
	set := 0
	for k, w := range p.wholes {
		if w.element >= 0 && slices.Contains(c.Elements, w.element) || w.joint >= 0 && slices.Contains(c.Joints, w.joint) {
			set |= 1 << k
		}
	}
	return set
}

// conflicts compares the conflicts of each motive with all smallest sets found by
// trying every set.
func (p *prover) conflicts() (several bool) {
	p.t.Helper()
	for _, m := range []solve.Demand{solve.InputForward, solve.OutputForward, solve.OutputBackward} {
		want := map[int]bool{}
		forbids := make([]bool, 1<<len(p.wholes))
		for set := range forbids {
			forbids[set] = p.forbids(p.only(set), m)
			smallest := forbids[set]
			for k := range p.wholes {
				smallest = smallest && (set>>k&1 == 0 || !forbids[set&^(1<<k)])
			}
			if smallest {
				want[set] = true
			}
		}
		got := map[int]bool{}
		for n := range p.w.Conflicts {
			if c := &p.w.Conflicts[n]; c.Demand == m {
				got[p.setOf(c)] = true
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			p.t.Errorf("motive %d: conflicts %v, by trying all sets %v", m, got, want)
		}
		several = several || len(got) > 1
	}
	return several
}

// minimal proves each conflict by itself: it forbids its motion, and without any
// of its parts the rest allows it.
func (p *prover) minimal() {
	p.t.Helper()
	for n := range p.w.Conflicts {
		c := &p.w.Conflicts[n]
		set := p.setOf(c)
		if !p.forbids(p.only(set), c.Demand) {
			p.t.Errorf("conflict %d (%v %v) allows its motion", n, c.Elements, c.Joints)
		}
		for k := range p.wholes {
			if set>>k&1 != 0 && p.forbids(p.only(set&^(1<<k)), c.Demand) {
				p.t.Errorf("conflict %d (%v %v) does not need %+v", n, c.Elements, c.Joints, p.wholes[k])
			}
		}
	}
}

// lettings checks what becomes of each conflict when one of its elements lets go.
func (p *prover) lettings() {
	p.t.Helper()
	for n := range p.w.Conflicts {
		c := &p.w.Conflicts[n]
		var asks []band
		for _, l := range c.Lettings {
			without := p.state.Clone()
			without.Modes[l.Element] = kinematics.Open
			if then := read(p.train, without); l.Then.Pull != then.pull || l.Then.Coast != then.coast {
				p.t.Errorf("without coupling %d: %q, %q; by the oracle %q, %q", l.Element, l.Then.Pull, l.Then.Coast, then.pull, then.coast)
			}
			within := map[solve.Demand]exact.Interval{
				solve.InputForward: l.Within.Pull, solve.OutputForward: l.Within.CoastForward, solve.OutputBackward: l.Within.CoastBackward,
			}[c.Demand]
			if within.Empty {
				p.t.Errorf("conflict %d without coupling %d: the rest of it forbids the motion too", n, l.Element)
			}
			for k := range p.w.Conflicts {
				if d := &p.w.Conflicts[k]; d.Demand == c.Demand {
					st := p.only(p.setOf(d))
					st.Modes[l.Element] = kinematics.Open
					if stays := p.forbids(st, c.Demand); stays != slices.Contains(l.Remain, k) {
						p.t.Errorf("without coupling %d conflict %d stays: %v, said to remain: %v", l.Element, k, stays, l.Remain)
					}
				}
			}
			if c.Witness >= 0 {
				asks = append(asks, p.asked(c, l.Element))
				if got := asks[len(asks)-1]; !sameBand(got, l.Asks) {
					p.t.Errorf("conflict %d without %d asks %s for %v, by the oracle %v to %v", n, l.Element, p.train.Members[c.Witness].Name, l.Asks, got.lo, got.hi)
				}
			}
		}
		if c.Witness >= 0 && !apart(asks) {
			p.t.Errorf("conflict %d: what is asked of %s has speeds in common", n, p.train.Members[c.Witness].Name)
		}
	}
}

// asked is what a conflict without one of its elements asks of its witness: with
// all joints, or with its own where the others make another conflict.
func (p *prover) asked(c *reading.Conflict, without int) band {
	set := p.setOf(c)
	for k, w := range p.wholes {
		if w.element == without {
			set &^= 1 << k
		}
	}
	all := set
	for k, w := range p.wholes {
		if w.joint >= 0 {
			all |= 1 << k
		}
	}
	if !p.forbids(p.only(all), c.Demand) {
		set = all
	}
	mo := motionsOf(p.train, p.only(set))
	at := given{mo.speed[p.state.Input], 1}
	if c.Demand != solve.InputForward {
		at = given{mo.speed[p.state.Output], int64(p.train.Forward)}
		if c.Demand == solve.OutputBackward {
			at.v = -at.v
		}
	}
	return mo.of(mo.speed[c.Witness], at)
}

func sameBand(b band, i exact.Interval) bool {
	end := func(r *big.Rat, x exact.Bound) bool {
		if r == nil || x.Inf != 0 {
			return r == nil && x.Inf != 0
		}
		return r.Cmp(x.Frac.Rat()) == 0
	}
	return b.empty == i.Empty && (b.empty || end(b.lo, i.Min) && end(b.hi, i.Max))
}

// apart says whether bands have no speed in common.
func apart(bands []band) bool {
	var lo, hi *big.Rat
	for _, b := range bands {
		if b.empty {
			return false
		}
		if b.lo != nil && (lo == nil || b.lo.Cmp(lo) > 0) {
			lo = b.lo
		}
		if b.hi != nil && (hi == nil || b.hi.Cmp(hi) < 0) {
			hi = b.hi
		}
	}
	return lo != nil && hi != nil && lo.Cmp(hi) > 0
}

// changes tries every set of changes, of at most twelve elements, and compares: none smaller drives, all of
// the size listed that drive are listed, and each gives what it says.
func (p *prover) changes() {
	p.t.Helper()
	type change struct {
		coupling int
		mode     kinematics.Mode
	}
	var can []change
	for i, c := range p.train.Couplings {
		mode := p.state.Modes[i]
		healthy := p.train.In(p.w.Range).Modes[i]
		switch {
		case c.Kind == kinematics.OneWay && mode != healthy, c.Kind == kinematics.Spline && mode != healthy:
			can = append(can, change{i, healthy}) // slips, is seized, fitted backwards or sheared
		case c.Kind == kinematics.OneWay && !c.Switched, c.Kind == kinematics.Spline:
		case mode != kinematics.Open:
			can = append(can, change{i, kinematics.Open})
		case c.Kind == kinematics.OneWay:
			can = append(can, change{i, kinematics.Overruns})
		case c.Kind != kinematics.Pawl:
			can = append(can, change{i, kinematics.Locked})
		}
	}
	want := map[string]string{}
	size := 0
	for n := 1; n <= len(can) && len(want) == 0; n++ {
		for set := range 1 << len(can) {
			st := p.state.Clone()
			var name []int
			for k, c := range can {
				if set>>k&1 != 0 {
					st.Modes[c.coupling] = c.mode
					name = append(name, c.coupling)
				}
			}
			if len(name) == n && p.kernel.Outcome(st).Drives() {
				want[fmt.Sprint(name)] = read(p.train, st).pull
				size = n
			}
		}
	}
	got := map[string]string{}
	for _, c := range p.w.Changes {
		name := slices.Sorted(slices.Values(slices.Concat(c.Apply, c.Release, c.Mend)))
		got[fmt.Sprint(name)] = c.Reading.Pull
		for _, i := range c.Apply {
			if p.state.Modes[i] != kinematics.Open {
				p.t.Errorf("to apply coupling %d, which holds already", i)
			}
		}
		for _, i := range c.Release {
			if p.state.Modes[i] == kinematics.Open {
				p.t.Errorf("to release coupling %d, which does not hold", i)
			}
		}
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		p.t.Errorf("changes %v, by trying all %v", got, want)
	}
	if size == 0 && p.w.Tried != len(can) {
		p.t.Errorf("%d changes tried of %d, nothing found", p.w.Tried, len(can))
	}
}

// agreements checks that what can be spared leaves every motion as it was, and
// that the rest of an agreement does not.
func (p *prover) agreements() {
	p.t.Helper()
	for _, a := range p.w.Redundancies {
		if len(a.Redundant) == 0 {
			p.t.Errorf("%v agree, but none can be spared", a.Couplings)
		}
		for _, i := range a.Elements {
			st := p.state.Clone()
			st.Modes[i] = kinematics.Open
			mo := motionsOf(p.train, st)
			slip := mo.slip(p.train, i)
			points := func(v int64) bool { f, _ := mo.faces(given{slip, v}); return len(f) > 0 }
			ahead, back := points(1), points(-1)
			same := !ahead && !back
			switch p.state.Modes[i] {
			case kinematics.Overruns:
				same = !back
			case kinematics.Reversed:
				same = !ahead
			}
			if same != slices.Contains(a.Redundant, i) {
				p.t.Errorf("without coupling %d the motions stay: %v; to be spared of %v: %v", i, same, a.Couplings, a.Redundant)
			}
		}
	}
}

// paths follows the power: every step is fed, what it yields is used, what reacts
// is at rest, and without any reaction the torque goes through unchanged.
func (p *prover) paths() {
	p.t.Helper()
	if !p.w.Motion.Drives() {
		if len(p.w.Paths) > 0 {
			p.t.Error("does not drive, and power has a way")
		}
		return
	}
	if len(p.w.Paths) == 0 {
		p.t.Error("drives, and power has no way")
	}
	for n := range p.w.Paths {
		p.path(&p.w.Paths[n])
	}
}

func (p *prover) path(path *reading.Path) {
	p.t.Helper()
	fed := map[kinematics.MemberID]bool{p.state.Input: true}
	later := func(k int, m kinematics.MemberID) bool {
		return slices.ContainsFunc(path.Steps[k+1:], func(s reading.Step) bool {
			return slices.Contains(s.To, m) && s.Back >= 0 && s.Back <= k
		})
	}
	atRest := func(m kinematics.MemberID) bool {
		v, one := p.w.Motion.Members[m].Point()
		return one && v.Sign() == 0
	}
	for k, s := range path.Steps {
		for _, m := range s.From {
			if !fed[m] && !later(k, m) {
				p.t.Errorf("step %d takes power from %s, which nothing feeds", k+1, p.train.Members[m].Name)
			}
		}
		for _, m := range s.To {
			fed[m] = true
			used := m == p.state.Output || s.Back >= 0 ||
				slices.ContainsFunc(path.Steps[k+1:], func(s reading.Step) bool { return slices.Contains(s.From, m) })
			if !used {
				p.t.Errorf("step %d feeds %s, which passes it to nothing", k+1, p.train.Members[m].Name)
			}
		}
		for _, m := range s.Held {
			if !atRest(m) {
				p.t.Errorf("%s is held, and turns", p.train.Members[m].Name)
			}
		}
		if (len(s.From) == 0) != (len(s.To) == 0) {
			p.t.Errorf("step %d from %v to %v", k+1, s.From, s.To)
		}
	}
	if !fed[p.state.Output] {
		p.t.Error("no step feeds the output")
	}
	for _, i := range path.Reaction {
		c := &p.train.Couplings[i]
		if !atRest(c.A) || !atRest(c.B) {
			p.t.Errorf("%s reacts, and turns", c.Name)
		}
		held := slices.ContainsFunc(path.Supports, func(s reading.Support) bool { return slices.Contains(s.By, i) })
		if !held {
			p.t.Errorf("%s reacts and holds nothing", c.Name)
		}
	}
	ratio, _ := p.w.Motion.Ratio()
	if len(path.Supports)+len(path.Bears) == 0 && ratio.Cmp(exact.NewFrac(1, 1)) != 0 {
		p.t.Errorf("nothing is held, but the ratio is %v", ratio)
	}
}

// wrong are marks of a sentence gone wrong: a list without words, a blank too many.
var wrong = regexp.MustCompile(`  |^ | $| [,.;:]|, (drives?|is|are) |drives? through|by (through|;)|by$|\(\)|%!`)

// words reads the explanation as a whole, so that no form of words panics, and
// looks for the marks of a sentence gone wrong.
func (p *prover) words() {
	p.t.Helper()
	texts := append([]string{p.w.Headline()}, p.w.Brief()...)
	if len(texts) < 2 {
		p.t.Error("no reason in brief")
	}
	for _, s := range p.w.Sections() {
		texts = append(texts, s.Title)
		texts = append(texts, s.Text...)
		texts = append(texts, s.After...)
		for _, r := range s.Rows {
			if len(r) != len(s.Heads) {
				p.t.Errorf("%d cells under %d heads", len(r), len(s.Heads))
			}
			texts = append(texts, r...)
		}
	}
	for _, s := range texts {
		if wrong.MatchString(s) {
			p.t.Errorf("clumsy: %q", s)
		}
	}
}

// TestExplainRandom proves the explanations of random trains: conflicts against
// every set, changes against every change.
func TestExplainRandom(t *testing.T) {
	const trains = 600
	several, drives, circulating, witnesses, conflicts, agree := 0, 0, 0, 0, 0, 0
	seeds := []uint64{1217} // a gear pair on a gear of another pair
	for seed := range uint64(trains) {
		seeds = append(seeds, seed)
	}
	for _, seed := range seeds {
		th := throw(t, seed)
		sys := solve.Compile(th.train)
		p := newProver(t, sys, reading.NewReader(sys), &th.train.Ranges[0], th.faults)
		if p.conflicts() {
			several++
		}
		p.minimal()
		p.lettings()
		p.agreements()
		p.paths()
		p.words()
		if !p.w.Motion.Drives() {
			p.changes()
		} else {
			drives++
		}
		for _, c := range p.w.Conflicts {
			if len(c.Lettings) > 1 {
				conflicts++
				if c.Witness >= 0 {
					witnesses++
				}
			}
		}
		agree += len(p.w.Redundancies)
		for _, path := range p.w.Paths {
			if slices.ContainsFunc(path.Steps, func(s reading.Step) bool { return s.Back >= 0 }) {
				circulating++
			}
		}
		if t.Failed() {
			t.Fatal(th.describe())
		}
	}
	t.Logf("%d drive, %d with circulating power; %d with several conflicts of one motion; %d of %d conflicts have a witness; %d agreements",
		drives, circulating, several, witnesses, conflicts, agree)
	if drives < trains/20 || several < trains/20 || circulating == 0 || agree < trains/20 {
		t.Error("the generator is too narrow")
	}
}

// TestExplainLibrary proves the explanations of every range of the library, healthy
// and under every single fault, but for what would take trying all sets of many
// couplings: one state in three unless TIEUP_EXHAUSTIVE is set.
func TestExplainLibrary(t *testing.T) {
	for _, name := range gearsets.Names() {
		train := libraryTrain(t, name)
		sys := solve.Compile(train)
		reader := reading.NewReader(sys)
		for n, f := range append([]kinematics.Fault{{}}, train.SingleFaults()...) {
			var faults []kinematics.Fault
			if n > 0 {
				faults = []kinematics.Fault{f}
			}
			for i := range train.Ranges {
				if (n+i)%3 != 0 && os.Getenv("TIEUP_EXHAUSTIVE") == "" {
					continue
				}
				p := newProver(t, sys, reader, &train.Ranges[i], faults)
				p.minimal()
				p.paths()
				p.words()
				if (n+i)%8 == 0 {
					p.lettings()
					p.agreements()
				}
				if !p.w.Motion.Drives() && (n+i)%8 == 0 {
					p.changes()
				}
				if t.Failed() {
					t.Fatalf("%s %s under %v", name, train.Ranges[i].Name, faults)
				}
			}
		}
	}
}
