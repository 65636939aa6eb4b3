package reading

import (
	"cmp"
	"context"
	"math/bits"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// MostElements is the largest number of elements whose combinations
// [Combinations.States] can hold: 2^22 are 4,194,304.
const MostElements = 22

// A Combination is a set of applied elements: bit n stands for
// Combinations.Elements[n].
type Combination uint32

// Size is the number of applied elements.
func (c Combination) Size() int { return bits.OnesCount32(uint32(c)) }

// compare orders combinations: few elements first, then those with the first
// elements first.
func (c Combination) compare(d Combination) int {
	if n := cmp.Compare(c.Size(), d.Size()); n != 0 || c == d {
		return n
	}
	differ := c ^ d
	if c&(differ&-differ) != 0 {
		return -1
	}
	return 1
}

// Combinations are all ways to apply the elements of a train under faults.
// One-way clutches act in all of them unless they are switched. The pawl is left
// out: it holds the output, whatever else is applied.
type Combinations struct {
	Train  *kinematics.Train
	Faults []kinematics.Fault
	// Elements can be applied or not. Fixed are the elements that a fault keeps
	// the same either way, so that they are in no combination.
	Elements, Fixed []int

	sys  *solve.System
	none kinematics.State // with nothing applied
	on   []kinematics.Mode
}

// CombinationsOf finds which elements of a train can be combined under faults.
// Faults limited to ranges are left out: combinations are no ranges.
func CombinationsOf(sys *solve.System, faults ...kinematics.Fault) *Combinations {
	t := sys.Train
	faults = slices.DeleteFunc(slices.Clone(faults), func(f kinematics.Fault) bool { return len(f.Ranges) > 0 })
	c := &Combinations{Train: t, Faults: faults, sys: sys}
	applying := func(elements ...int) kinematics.State {
		return t.In(&kinematics.Range{Apply: elements, Input: t.Input, Output: t.Output}, faults...)
	}
	c.none = applying()
	for i, k := range t.Couplings[:t.ElementCount] {
		if k.Kind == kinematics.Pawl || k.Kind == kinematics.OneWay && !k.Switched {
			continue
		}
		if on := applying(i).Modes[i]; on != c.none.Modes[i] {
			c.Elements, c.on = append(c.Elements, i), append(c.on, on)
		} else {
			c.Fixed = append(c.Fixed, i)
		}
	}
	return c
}

// Apply returns the elements of a combination in the order of the file.
func (c *Combinations) Apply(x Combination) []int {
	apply := []int{}
	for n, e := range c.Elements {
		if x>>n&1 != 0 {
			apply = append(apply, e)
		}
	}
	return apply
}

// A States is all combinations, grouped by what they do.
type States struct {
	*Combinations
	// Groups are the ratios forward, the largest first, then those in reverse,
	// then the combinations that do not drive, one group a verdict, tie-ups last.
	Groups []Group

	at map[groupKey]int // places in Groups
}

// A groupKey is what the combinations of a group have in common.
type groupKey struct {
	verdict solve.Verdict
	ratio   string // "" if they do not drive
}

// A Group is the combinations that drive at one ratio, or have one verdict.
type Group struct {
	Verdict solve.Verdict
	Ratio   exact.Frac // input speed / output speed, if they drive
	Ways    []Way
}

// A Way is what combinations of a group do alike when coasting.
type Way struct {
	Outcome      solve.Outcome // of the first combination
	Reading      Reading
	Combinations []Combination // the smallest first
	// Ranges do the same under the faults; those that apply the pawl are left out.
	Ranges []string
}

// Drives says whether the combinations of the group drive.
func (g *Group) Drives() bool { return g.Verdict == solve.Forward || g.Verdict == solve.Reverse }

func (g *Group) key() groupKey {
	if !g.Drives() {
		return groupKey{verdict: g.Verdict}
	}
	return groupKey{g.Verdict, g.Ratio.String()}
}

// Used says whether a range of the train does what the group does.
func (g *Group) Used() bool {
	return slices.ContainsFunc(g.Ways, func(w Way) bool { return len(w.Ranges) > 0 })
}

// Count is the number of combinations in the group.
func (g *Group) Count() int {
	n := 0
	for _, w := range g.Ways {
		n += len(w.Combinations)
	}
	return n
}

// LeastTieUps returns the tie-ups that contain no other tie-up. They say
// everything: a cone only shrinks with more elements applied, so whatever
// contains one of them ties up too.
func (s *States) LeastTieUps() []Combination {
	in := map[Combination]bool{}
	var all, least []Combination
	for _, g := range s.Groups {
		if g.Verdict != solve.TieUp {
			continue
		}
		for _, w := range g.Ways {
			for _, c := range w.Combinations {
				in[c] = true
				all = append(all, c)
			}
		}
	}
	slices.SortFunc(all, Combination.compare)
	for _, c := range all {
		contained := false
		for rest := c; rest != 0 && !contained; rest &= rest - 1 {
			contained = in[c&^(rest&-rest)]
		}
		if !contained {
			least = append(least, c)
		}
	}
	return least
}

// block is the number of combinations that a worker takes at a time: those of one
// sweep, a power of 2.
const block = 128

// States evaluates every combination, with a kernel for each processor, and tells ctx how
// many are done. It ends with ctx, with its error. It panics if there are more than
// [MostElements].
func (c *Combinations) States(ctx context.Context) (*States, error) {
	if len(c.Elements) > MostElements {
		panic("reading: too many combinations")
	}
	total := 1 << len(c.Elements)
	workers := min(runtime.GOMAXPROCS(0), (total+block-1)/block)
	found := make([]map[solve.Outcome][]Combination, workers)
	var next atomic.Int64
	var wait sync.WaitGroup
	var told sync.Mutex
	done := 0
	for w := range workers {
		wait.Go(func() {
			found[w] = map[solve.Outcome][]Combination{}
			kernel, st := c.sys.Kernel(), c.none.Clone()
			low := c.choices(bits.Len(block - 1))
			for {
				first := int(next.Add(block)) - block
				if first >= total || ctx.Err() != nil {
					return
				}
				c.apply(st.Modes, Combination(first))
				kernel.Sweep(st, low, func(x uint32, o solve.Outcome) {
					found[w][o] = append(found[w][o], Combination(first)|Combination(x))
				})
				told.Lock()
				done += min(block, total)
				solve.Report(ctx, "combinations", done, total)
				told.Unlock()
			}
		})
	}
	wait.Wait()
	s := &States{Combinations: c, at: map[groupKey]int{}}
	outcomes := 0
	for _, f := range found {
		outcomes += len(f)
	}
	grouped := 0
	for _, f := range found {
		for o, list := range f {
			if grouped++; grouped%block == 0 && ctx.Err() != nil {
				return nil, ctx.Err()
			}
			if grouped%block == 0 {
				solve.Report(ctx, "outcomes grouped", grouped, outcomes+1)
			}
			s.add(o, list)
		}
	}
	s.sort()
	s.ranges()
	solve.Report(ctx, "outcomes grouped", outcomes+1, outcomes+1)
	return s, ctx.Err()
}

// choices are what the first n bits of a combination apply, at most.
func (c *Combinations) choices(n int) []solve.Choice {
	var list []solve.Choice
	for i, e := range c.Elements[:min(n, len(c.Elements))] {
		list = append(list, solve.Choice{Coupling: e, On: c.on[i]})
	}
	return list
}

// apply writes the modes of a combination.
func (c *Combinations) apply(modes []kinematics.Mode, x Combination) {
	for n, e := range c.Elements {
		if x>>n&1 != 0 {
			modes[e] = c.on[n]
		} else {
			modes[e] = c.none.Modes[e]
		}
	}
}

// add puts combinations of one outcome where they belong.
func (s *States) add(o solve.Outcome, list []Combination) {
	w := s.way(o)
	w.Combinations = append(w.Combinations, list...)
}

// way returns the way of an outcome, new if there is none yet.
func (s *States) way(o solve.Outcome) *Way {
	read := speedsAlone(s.Train, o)
	g := s.group(o)
	braking, brakes, _ := o.EngineBraking()
	for i := range g.Ways {
		w := &g.Ways[i]
		other, alike, _ := w.Outcome.EngineBraking()
		if w.Reading.CoastsLike(read) && alike == brakes && (!brakes || other.Cmp(braking) == 0) {
			return w
		}
	}
	g.Ways = append(g.Ways, Way{Outcome: o, Reading: read})
	return &g.Ways[len(g.Ways)-1]
}

// group returns the group of an outcome, new if there is none yet.
func (s *States) group(o solve.Outcome) *Group {
	g := Group{Verdict: o.Verdict}
	g.Ratio, _ = o.Ratio()
	i, known := s.at[g.key()]
	if !known {
		i = len(s.Groups)
		s.at[g.key()] = i
		s.Groups = append(s.Groups, g)
	}
	return &s.Groups[i]
}

// sort brings groups, ways and combinations into their order.
func (s *States) sort() {
	place := []solve.Verdict{solve.Forward, solve.Reverse, solve.Neutral, solve.OutputHeld, solve.InputHeld, solve.TieUp}
	kernel, st := s.sys.Kernel(), s.none.Clone()
	for _, g := range s.Groups {
		for i := range g.Ways {
			w := &g.Ways[i]
			slices.SortFunc(w.Combinations, Combination.compare)
			s.apply(st.Modes, w.Combinations[0])
			w.Outcome = kernel.Outcome(st)
		}
		slices.SortFunc(g.Ways, func(a, b Way) int { return a.Combinations[0].compare(b.Combinations[0]) })
	}
	slices.SortFunc(s.Groups, func(a, b Group) int {
		if n := cmp.Compare(slices.Index(place, a.Verdict), slices.Index(place, b.Verdict)); n != 0 || !a.Drives() {
			return n
		}
		return b.Ratio.Abs().Cmp(a.Ratio.Abs())
	})
	for i := range s.Groups {
		s.at[s.Groups[i].key()] = i
	}
}

// ranges notes which ranges do what the combinations do.
func (s *States) ranges() {
	t := s.Train
	kernel := s.sys.Kernel()
	for i := range t.Ranges {
		r := &t.Ranges[i]
		pawl := slices.ContainsFunc(r.Apply, func(e int) bool { return t.Couplings[e].Kind == kinematics.Pawl })
		if pawl || r.Input != t.Input || r.Output != t.Output {
			continue
		}
		w := s.way(kernel.Outcome(t.In(r, s.Faults...)))
		w.Ranges = append(w.Ranges, r.Name)
	}
}
