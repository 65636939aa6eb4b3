package diagnosis

import (
	"cmp"
	"context"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Proposal is a test that would tell suspects apart.
type Proposal struct {
	Test
	// Bits is how much the test is expected to tell, Effort what it costs; the
	// proposals with the most bits per effort come first.
	Bits   float64
	Effort int
	// Expect lists what can come out, and which suspects predict it. Unsure are
	// those that predict nothing.
	Expect []Expectation
	Unsure []*Suspect

	split []int // the number of the reply that each suspect predicts
}

// An Expectation is what some suspects predict of a test.
type Expectation struct {
	Reply
	Suspects []*Suspect
}

// worth is the least information, in bits, for which a test is proposed.
const worth = 0.005

// A Plan is which tests are proposed, and which would tell something but are
// refused, since no set-up carries what can happen in them.
type Plan struct {
	Proposals []Proposal
	Refused   []Refusal
}

// Plan proposes tests that separate the suspects best for their effort, up to n
// of them, that allow lets pass (nil: all). Tests whose outcome has been seen
// already are not proposed. Its error is that of the context, if it ends before.
//
// The suspects to be separated are those that nothing contradicts more than the
// first group; where no test can separate these, or there is one only, all that
// still count are, so that the tests confirm or refute what is in front.
func (a *Answer) Plan(ctx context.Context, n int, allow func(*Test) bool) (Plan, error) {
	plan, err := a.separate(ctx, n, 1, allow)
	if err == nil && len(plan.Proposals) == 0 {
		plan, err = a.separate(ctx, n, 6, allow)
	}
	return plan, err
}

// Split is Plan without the tests that only confirm or refute what is in front.
func (a *Answer) Split(ctx context.Context, n int, allow func(*Test) bool) ([]Proposal, error) {
	plan, err := a.separate(ctx, n, 1, allow)
	return plan.Proposals, err
}

// separate proposes tests for the suspects with no more than some halves of a
// contradiction more than the first group. Every test is judged before: a set-up
// that carries what can happen in it, or none.
func (a *Answer) separate(ctx context.Context, n, more int, allow func(*Test) bool) (Plan, error) {
	suspects, weight, faults := a.live(more)
	var plan Plan
	if len(suspects) < 2 {
		return plan, nil
	}
	tests := a.finder.tests(a.Case)
	err := solve.Each(ctx, "tests weighed", len(tests), func(i int) {
		x := tests[i]
		if a.finder.effort(&x) == 0 || allow != nil && !allow(&x) || x.Kind == Line && x.stalls() && !a.ofPressure(x.Range) {
			return
		}
		allowed, refusal := a.judge(&x)
		if refusal != nil {
			if p := a.propose(refusal.Test, suspects, weight, faults); p != nil {
				plan.Refused = append(plan.Refused, *refusal)
			}
			return
		}
		for _, s := range allowed {
			x.SetUp = s
			if p := a.propose(x, suspects, weight, faults); p != nil {
				plan.Proposals = append(plan.Proposals, *p)
			}
		}
	})
	if err != nil {
		return plan, err
	}
	plan.sort(n, a.finder.lost(a.Seen))
	for i := range plan.Proposals {
		a.expect(&plan.Proposals[i], suspects)
	}
	return plan, nil
}

// propose returns a test with what it is worth, nil if it tells too little.
func (a *Answer) propose(x Test, suspects []*Suspect, weight []float64, faults []int) *Proposal {
	p := &Proposal{Test: x, Effort: a.finder.effort(&x)}
	var shown []Reply
	p.split, shown = a.finder.ask(&x, suspects)
	p.Bits = information(p.split, weight, faults, a.finder.a.ErrorRate)
	if p.Bits < worth || !slices.ContainsFunc(shown, a.possible) {
		return nil
	}
	return p
}

// anyTest is the effort of making one more test, whichever it is: without it many that tell
// little come before one that tells much.
const anyTest = 1

// sort puts the tests that tell most for their effort first, each in its best
// set-up, and keeps n of them; those of one kind that tell the same apart as one before come behind
// all others. Where nothing at all drives, fluid and line pressure at idle
// come before all others: they are cheap, and all else hangs on them.
func (p *Plan) sort(n int, lost bool) {
	first := func(p *Proposal) bool { return lost && (p.Kind == Fluid || p.Kind == Line && p.When == 0) }
	kinematics.Sort(p.Proposals, func(p, q Proposal) int {
		x, y := p.Bits/float64(p.Effort+anyTest), q.Bits/float64(q.Effort+anyTest)
		switch a, b := first(&p), first(&q); {
		case a && !b:
			return -1
		case b && !a:
			return 1
		case !a && math.Abs(x-y) > same:
			return cmp.Compare(y, x)
		}
		return p.Effort - q.Effort
	})
	var kept, repeats []Proposal
	for _, x := range p.Proposals {
		switch {
		case slices.ContainsFunc(kept, func(y Proposal) bool { return y.Same(x.Test) }):
		case slices.ContainsFunc(kept, func(y Proposal) bool { return y.Kind == x.Kind && slices.Equal(y.split, x.split) }):
			repeats = append(repeats, x)
		default:
			kept = append(kept, x)
		}
	}
	for _, x := range repeats {
		if len(kept) < n && !slices.ContainsFunc(kept, func(y Proposal) bool { return y.Same(x.Test) }) {
			kept = append(kept, x)
		}
	}
	p.Proposals = kept[:min(n, len(kept))]
}

// possible says whether something that a test shows could be noted beside what was
// seen already: where a range binds there is no ratio to measure.
func (a *Answer) possible(r Reply) bool {
	for _, o := range r.Seen {
		if Compatible(a.Train, a.Seen, o) != nil {
			return false
		}
	}
	return len(r.Seen) > 0
}

// live are the suspects that still count, with their weights, which add up to 1, and the
// number of the fault that each is of. Those of one fault of the controls, which can come to
// several things, share the weight of one.
func (a *Answer) live(more int) (suspects []*Suspect, weight []float64, fault []int) {
	least := math.MaxInt
	for _, g := range a.Groups {
		least = min(least, g.Halves())
	}
	best := a.Groups[0].Suspects[0].score
	var first []*Suspect // of each fault
	var ways []int
	for i, g := range a.Groups {
		if i > 0 && g.Halves() > least+more {
			continue
		}
		for _, s := range g.Suspects {
			n := slices.IndexFunc(first, func(o *Suspect) bool { return s.Kind == Controlled && s.sameControls(&o.Hypothesis) })
			if n < 0 {
				n, first, ways = len(first), append(first, s), append(ways, 0)
			}
			ways[n]++
			suspects, weight, fault = append(suspects, s), append(weight, math.Exp(s.score-best)), append(fault, n)
		}
	}
	sum := 0.0
	for i, n := range fault {
		weight[i] /= float64(ways[n])
		sum += weight[i]
	}
	for i := range weight {
		weight[i] /= sum
	}
	return suspects, weight, fault
}

// information is how many bits an answer is expected to tell about the faults: the mutual
// information of answer and fault, if an answer is wrong at the error rate and then any of
// the others. replies number the answer that each suspect predicts; -1 is none, any answer
// being as likely then. faults number what each is a suspect of.
func information(replies []int, weight []float64, faults []int, errorRate float64) float64 {
	count := 1
	for _, r := range replies {
		count = max(count, r+1)
	}
	if slices.Contains(replies, -1) {
		count = max(count, 2)
	}
	if count == 1 {
		return 0
	}
	k := float64(count)
	all, each := make([]float64, count), make([]float64, count*(1+slices.Max(faults)))
	sure := entropy(1-errorRate) + (k-1)*entropy(errorRate/(k-1)) // of an answer that is predicted
	// Whether suspects of one fault predict different answers; first is 2 more than the first one's.
	first, differ := make([]int, 1+slices.Max(faults)), false
	for i, r := range replies {
		f := &first[faults[i]]
		if *f == 0 {
			*f = r + 2
		}
		differ = differ || *f != r+2
	}
	// The entropy of the answer, less that which is left if the fault is known.
	bits := 0.0
	for i, r := range replies {
		of := each[count*faults[i]:][:count]
		for a := range all {
			p := 1 / k
			switch {
			case r == a:
				p = 1 - errorRate
			case r >= 0:
				p = errorRate / (k - 1)
			}
			all[a] += weight[i] * p
			if differ {
				of[a] += weight[i] * p
			}
		}
		switch {
		case differ:
		case r < 0:
			bits -= weight[i] * math.Log2(k)
		default:
			bits -= weight[i] * sure
		}
	}
	for _, x := range all {
		bits += entropy(x)
	}
	if !differ {
		return bits
	}
	for of := range slices.Chunk(each, count) {
		whole := 0.0
		for _, x := range of {
			bits -= entropy(x)
			whole += x
		}
		bits += entropy(whole)
	}
	return bits
}

// entropy is -x log2 x.
func entropy(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return -x * math.Log2(x)
}

// expect fills in what suspects predict of a test.
func (a *Answer) expect(p *Proposal, suspects []*Suspect) {
	numbers, replies := a.finder.ask(&p.Test, suspects)
	for i, s := range suspects {
		n := numbers[i]
		if n < 0 {
			p.Unsure = append(p.Unsure, s)
			continue
		}
		if n == len(p.Expect) {
			r := replies[i]
			if len(r.Seen) == 0 && r.Key == string(None) && !a.Tested(p.Range) {
				r.Seen = a.finder.saw(p.Range, None)
			}
			p.Expect = append(p.Expect, Expectation{Reply: r})
		}
		p.Expect[n].Suspects = append(p.Expect[n].Suspects, s)
	}
}
