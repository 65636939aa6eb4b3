package diagnosis

import (
	"context"
	"slices"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// several finds all sets of n faults of different couplings that fit better
// than limit halves: of those that need no torque, in all ranges.
func (f *Finder) several(ctx context.Context, c *Case, n, limit, workers int) []*Suspect {
	faults := f.t.SingleFaults()
	firsts := make(chan int, len(faults))
	for i := range faults {
		firsts <- i
	}
	close(firsts)
	found := make([][]*Suspect, len(faults)) // by first fault, so that the order does not depend on the workers
	var mu sync.Mutex
	done := 0
	solve.Report(ctx, "first faults", done, len(faults))
	work := func(j *judge) {
		for i := range firsts {
			if ctx.Err() != nil {
				return
			}
			found[i] = j.extend(faults, []int{i}, n, limit)
			mu.Lock()
			done++
			solve.Report(ctx, "first faults", done, len(faults))
			mu.Unlock()
		}
	}
	var wg sync.WaitGroup
	for range max(1, workers) - 1 {
		own := *f
		own.engine = newEngine(f.sys, &f.a)
		own.shifts = newShiftFinder(&own)
		wg.Go(func() { work(own.judge(c.Seen)) })
	}
	work(f.judge(c.Seen))
	wg.Wait()
	return slices.Concat(found...)
}

// extend tries every set of n faults that begins with the chosen ones.
func (j *judge) extend(faults []kinematics.Fault, chosen []int, n, limit int) []*Suspect {
	if len(chosen) == n {
		own := kinematics.Map(chosen, func(i int) kinematics.Fault { return faults[i] })
		h := Hypothesis{Kind: Faulty, Faults: own, Class: classOf(j.f.t, own[0])}
		if fits := j.below(&h, limit); fits != nil {
			return []*Suspect{{Hypothesis: h, Fits: fits}}
		}
		return nil
	}
	var list []*Suspect
	last := chosen[len(chosen)-1]
next:
	for i := last + 1; i < len(faults); i++ {
		for _, k := range chosen {
			if faults[k].Coupling == faults[i].Coupling {
				continue next
			}
		}
		list = append(list, j.extend(faults, append(chosen[:len(chosen):len(chosen)], i), n, limit)...)
	}
	return list
}

// below returns how every observation fits h if that comes to less than limit halves, else nil.
func (j *judge) below(h *Hypothesis, limit int) []Fit {
	fits := make([]Fit, len(j.seen))
	sum := 0
	for i := range j.seen {
		fits[i] = j.fit(i, h, nil)
		if sum += fits[i].Halves(); sum >= limit {
			return nil
		}
	}
	return fits
}

// partialPairs lists the hypotheses of two faults that both act in some ranges only: the
// least set that the observations demand of the first, and of the second beside it, as far
// as they fit better than limit halves. Neither needs torque. healthy are the fits of a
// train in which nothing is wrong.
func (j *judge) partialPairs(healthy []Fit, limit int) []*Suspect {
	var list []*Suspect
	for i := range j.f.kin {
		x := &j.f.kin[i]
		if x.fault.Share.IsSet() {
			continue
		}
		first := j.least(x, x.fault, nil, healthy)
		if first == nil || cost(first.Fits) == cost(healthy) {
			continue
		}
		for k := range j.f.kin {
			y := &j.f.kin[k]
			if y.fault.Coupling == x.fault.Coupling || y.fault.Share.IsSet() {
				continue
			}
			s := j.least(y, y.fault, first.Faults, first.Fits)
			if s == nil || halves(s.Fits) >= limit || slices.ContainsFunc(list, s.isSame) {
				continue
			}
			s.Class = first.Class
			s.further += first.further
			list = append(list, s)
		}
	}
	return list
}

// partialBeside lists the hypotheses of a fault in all ranges and one in some, the least set
// of ranges that the observations demand beside it, as far as they fit better than limit
// halves. Neither needs torque.
func (j *judge) partialBeside(limit int) []*Suspect {
	var list []*Suspect
	for _, fault := range j.f.t.SingleFaults() {
		beside := []kinematics.Fault{fault}
		fits := j.fits(&Hypothesis{Kind: Faulty, Faults: beside}, nil)
		for i := range j.f.kin {
			x := &j.f.kin[i]
			if x.fault.Coupling == fault.Coupling || x.fault.Share.IsSet() {
				continue
			}
			if s := j.least(x, x.fault, beside, fits); s != nil && halves(s.Fits) < limit {
				s.Class = classOf(j.f.t, fault)
				list = append(list, s)
			}
		}
	}
	return list
}
