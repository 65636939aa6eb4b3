package diagnosis

import (
	"math"
	"slices"
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
}

// An Expectation is what some suspects predict of a test.
type Expectation struct {
	Reply
	Suspects []*Suspect
}

// worth is the least information, in bits, for which a test is proposed.
const worth = 0.005

// Next proposes tests that separate the suspects best for their effort, up to n
// of them, that allow lets pass (nil: all). Tests whose outcome has been seen
// already are not proposed.
//
// The suspects to be separated are those that nothing contradicts more than the
// first group; where no test can separate these, or there is one only, all that
// still count are, so that the tests confirm or refute what is in front.
func (a *Answer) Next(n int, allow func(*Test) bool) []Proposal {
	list := a.Split(n, allow)
	if len(list) == 0 {
		list = a.separate(n, 6, allow)
	}
	return list
}

// Split is Next without the tests that only confirm or refute what is in front.
func (a *Answer) Split(n int, allow func(*Test) bool) []Proposal { return a.separate(n, 1, allow) }

// separate proposes tests for the suspects with no more than some halves of a
// contradiction more than the first group.
func (a *Answer) separate(n, more int, allow func(*Test) bool) []Proposal {
	suspects, weight := a.live(more)
	if len(suspects) < 2 {
		return nil
	}
	var list []Proposal
	for _, x := range a.finder.tests(a.Case) {
		effort := a.finder.effort(&x)
		if effort == 0 || allow != nil && !allow(&x) {
			continue
		}
		p := Proposal{Test: x, Effort: effort}
		replies, shown := a.finder.ask(&x, suspects)
		if x.Kind == Coasting && a.locks(shown) {
			p.Effort += lockEffort
		}
		p.Bits = information(replies, weight, a.finder.a.ErrorRate)
		if p.Bits >= worth && slices.ContainsFunc(shown, a.possible) {
			list = append(list, p)
		}
	}
	slices.SortStableFunc(list, func(p, q Proposal) int {
		x, y := p.Bits/float64(p.Effort), q.Bits/float64(q.Effort)
		switch {
		case x > y+same:
			return -1
		case x < y-same:
			return 1
		}
		return p.Effort - q.Effort
	})
	list = list[:min(n, len(list))]
	for i := range list {
		a.expect(&list[i], suspects)
	}
	return list
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

// lockEffort is what coasting costs more where the wheels may lock.
const lockEffort = 4

// locks says whether one of the first group, whose suspects come first, lets the
// wheels lock in a test.
func (a *Answer) locks(shown []Reply) bool {
	n := min(len(shown), len(a.Groups[0].Suspects))
	return slices.ContainsFunc(shown[:n], func(r Reply) bool { return r.Key == string(Locks) })
}

// live are the suspects that still count, with their weights, which add up to 1.
func (a *Answer) live(more int) ([]*Suspect, []float64) {
	var suspects []*Suspect
	var weight []float64
	sum := 0.0
	least := math.MaxInt
	for _, g := range a.Groups {
		least = min(least, g.Halves())
	}
	best := a.Groups[0].Suspects[0].score
	for i, g := range a.Groups {
		if i > 0 && g.Halves() > least+more {
			continue
		}
		for _, s := range g.Suspects {
			w := math.Exp(s.score - best)
			suspects, weight = append(suspects, s), append(weight, w)
			sum += w
		}
	}
	for i := range weight {
		weight[i] /= sum
	}
	return suspects, weight
}

// information is how many bits an answer is expected to tell about the suspects:
// the mutual information of answer and suspect, if an answer is wrong at the
// error rate and then any of the others. replies number the answer that each
// suspect predicts; -1 is none, any answer being as likely then.
func information(replies []int, weight []float64, errorRate float64) float64 {
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
	p := make([]float64, count)
	noise := 0.0
	for i, r := range replies {
		if r < 0 {
			for a := range p {
				p[a] += weight[i] / k
			}
			noise += weight[i] * math.Log2(k)
			continue
		}
		for a := range p {
			if a == r {
				p[a] += weight[i] * (1 - errorRate)
			} else {
				p[a] += weight[i] * errorRate / (k - 1)
			}
		}
		noise += weight[i] * (entropy(1-errorRate) + (k-1)*entropy(errorRate/(k-1)))
	}
	bits := -noise
	for _, x := range p {
		bits += entropy(x)
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
	at := map[string]int{}
	_, replies := a.finder.ask(&p.Test, suspects)
	for i, s := range suspects {
		r := replies[i]
		if r.Key == "" {
			p.Unsure = append(p.Unsure, s)
			continue
		}
		n, known := at[r.Key]
		if !known && len(r.Seen) == 0 && r.Key == string(None) && !a.Tested(p.Range) {
			r.Seen = a.finder.saw(p.Range, None)
		}
		if !known {
			n = len(p.Expect)
			at[r.Key] = n
			p.Expect = append(p.Expect, Expectation{Reply: r})
		}
		p.Expect[n].Suspects = append(p.Expect[n].Suspects, s)
	}
}
