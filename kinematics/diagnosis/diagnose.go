package diagnosis

import (
	"cmp"
	"context"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/solve"
)

// A Suspect is a hypothesis with what speaks for and against it.
type Suspect struct {
	Hypothesis
	Fits []Fit // parallel to Case.Seen
	// Halves counts contradictions, halves for what fits partly.
	Halves int
	// Steps counts the classes that it stands behind the first, on an average of
	// its faults; -1 is what the circumstances put before the first.
	Steps float64
	score float64
	// partial says that it acts in some of the ranges in which it could, further how many
	// beside the first count against it.
	partial bool
	further int
	cells   []cellID // parallel to Train.Ranges; nil until they are needed
}

// A Group is a set of suspects that nothing seen so far can tell apart: every
// observation fits each of them alike.
type Group struct {
	Rank     int // 1 and the number of groups that are strictly better
	Suspects []*Suspect
}

// Halves counts the contradictions of the group, halves for what fits partly.
func (g *Group) Halves() int { return g.Suspects[0].Halves }

// Fits are those of every suspect in the group.
func (g *Group) Fits() []Fit { return g.Suspects[0].Fits }

// An Answer is what a diagnosis comes to.
type Answer struct {
	*Case
	// Groups are all suspects, the best group first, the likeliest suspect of a
	// group first.
	Groups []Group
	// Searched is the largest number of faults at once that was looked for.
	Searched int
	finder   *Finder
	danger   *dangers // nil until it is needed
}

// suspects yields all suspects, those of the best group first.
func (a *Answer) suspects(yield func(*Suspect) bool) {
	for _, g := range a.Groups {
		for _, s := range g.Suspects {
			if !yield(s) {
				return
			}
		}
	}
}

// A Finder diagnoses vehicles with one train. It reuses its memory, so it must
// not be used by two goroutines at once.
type Finder struct {
	t       *kinematics.Train
	sys     *solve.System
	a       Assumptions
	engine  *engine
	road    road
	singles []Hypothesis
	cells   [][]cellID // of the singles
	kin     []family
	joint   [][]int // ranges in which one thing can be wrong
	shifts  *shiftFinder
	answers map[string]*controls.Answer // of the controls, by faults
}

// New returns a finder for a compiled train under the given assumptions. Its error is that of
// the context, if it ends before.
func New(ctx context.Context, sys *solve.System, a Assumptions) (*Finder, error) {
	f := &Finder{t: sys.Train, sys: sys, a: a}
	if _, err := sys.FindPeaks(ctx); err != nil {
		return nil, err
	}
	f.engine = newEngine(sys, &f.a)
	f.singles = f.ofOne()
	err := solve.Each(ctx, "suspects", len(f.singles), func(i int) {
		f.cells = append(f.cells, f.engine.all(&f.singles[i]))
	})
	if err != nil {
		return nil, err
	}
	f.road = road{t: f.t, tolerance: a.Tolerance}
	f.road.healthy = kinematics.Map(f.cells[0], func(id cellID) Behaviour { return f.engine.cells[id] })
	f.shifts = newShiftFinder(f)
	f.kin, f.joint = f.families(), f.together()
	return f, nil
}

// all returns what every range does under h.
func (e *engine) all(h *Hypothesis) []cellID {
	ids := make([]cellID, len(e.t.Ranges))
	for r := range ids {
		ids[r] = e.cell(h, r)
	}
	return ids
}

// Options of a search.
type Options struct {
	Faults  int // most faults at once: 1, 2 or 3; 0 is 2
	Workers int // 0 is 1
}

// Diagnose ranks all hypotheses by what was seen. Single faults come first; more
// faults at once are looked for only as long as fewer do not explain everything,
// and are kept only where they explain more than any fewer do. Its error is that of the
// context, if it ends before.
func (f *Finder) Diagnose(ctx context.Context, c *Case, o Options) (*Answer, error) {
	ans := &Answer{Case: c, finder: f, Searched: 1}
	order := f.ranking(c)
	j := f.judge(c.Seen)
	list, err := f.alone(ctx, j)
	if err != nil {
		return nil, err
	}
	best := math.MaxInt
	for _, s := range list {
		s.weigh(f, &order)
		if float64(s.further)*perRange <= perFault {
			best = min(best, s.Halves)
		}
	}
	capped(list)
	most := cmp.Or(o.Faults, 2)
	for n := 2; n <= most && best > 0; n++ {
		ans.Searched = n
		found := f.several(ctx, c, n, best, o.Workers)
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if n == 2 {
			found = append(found, f.beside(j, best)...)
			if least := fewest(found, best); least > 0 {
				found = append(found, j.partialBeside(least)...)
			}
			if least := fewest(found, best); least > 0 {
				found = append(found, j.partialPairs(list[0].Fits, least)...)
			}
		}
		for _, s := range found {
			s.weigh(f, &order)
			best = min(best, s.Halves)
		}
		list = append(list, found...)
	}
	ans.Groups = grouped(list)
	return ans, nil
}

// fewest is the least number of halves of some suspects, and of most.
func fewest(list []*Suspect, most int) int {
	for _, s := range list {
		most = min(most, halves(s.Fits))
	}
	return most
}

// alone lists the suspects of one cause, each in the degree and in the ranges that fit best.
func (f *Finder) alone(ctx context.Context, j *judge) ([]*Suspect, error) {
	var list []*Suspect
	add := func(h Hypothesis, cells []cellID) {
		s := &Suspect{Hypothesis: h, cells: cells}
		s.Fits = j.fits(&s.Hypothesis, cells)
		if len(list) > 0 { // the healthy train is the first
			s = f.degree(j, s, list[0].Fits)
		}
		list = append(list, s)
	}
	err := solve.Each(ctx, "suspects judged", len(f.singles), func(i int) { add(f.singles[i], f.cells[i]) })
	if err != nil {
		return nil, err
	}
	for _, h := range slices.Concat(f.raced(j.seen), f.high(j.seen), f.timings(j.seen)) {
		add(h, f.cells[0])
	}
	for _, h := range f.otherRanges(j.seen) {
		add(h, nil)
	}
	list = append(list, j.mixed(list)...)
	return append(list, j.partial(f.kin, list[0].Fits, list)...), nil
}

// ranking orders hypotheses by what is known of a case besides what fits.
func (f *Finder) ranking(c *Case) ranking {
	r := ranking{t: f.t, lost: f.lost(c.Seen)}
	for i, class := range f.a.Classes {
		r.place[class] = i
	}
	for _, x := range c.Circumstances {
		r.has[x] = true
	}
	return r
}

// weigh sets what the fits and the classes come to, in contradictions: each makes a suspect less
// likely by the error rate.
func (s *Suspect) weigh(f *Finder, order *ranking) {
	s.Halves = halves(s.Fits)
	s.Steps = order.steps(&s.Hypothesis)
	weight := float64(cost(s.Fits))/20 + s.Steps*classStep + float64(s.further)*perRange
	switch {
	case s.Kind == Faulty:
		weight += float64(len(s.Faults)-1) * perFault
	case s.Kind == Controlled:
		weight += float64(len(s.Own)) * perFault
	case s.Unfounded:
		weight += noMechanism
	}
	s.score = weight * math.Log(f.a.ErrorRate)
}

func halves(fits []Fit) int { return sum(fits, Fit.Halves) }

// same is what two scores may differ by through rounding.
const same = 1e-9

// grouped puts suspects with equal fits together, orders suspects and groups by
// their scores, and ranks the groups by their best suspects.
func grouped(list []*Suspect) []Group {
	slices.SortStableFunc(list, func(a, b *Suspect) int {
		if math.Abs(a.score-b.score) < same {
			return 0
		}
		return cmp.Compare(b.score, a.score)
	})
	alike := kinematics.GroupBy(list, func(s *Suspect) string {
		return string(kinematics.Map(s.Fits, func(x Fit) byte { return byte(x) }))
	})
	groups := make([]Group, len(alike))
	for n := range groups {
		groups[n] = Group{Rank: n + 1, Suspects: alike[n]}
		if n > 0 && groups[n-1].Suspects[0].score-groups[n].Suspects[0].score < same {
			groups[n].Rank = groups[n-1].Rank
		}
	}
	return groups
}

// A judge fits hypotheses to observations, remembering every fit of a behaviour.
type judge struct {
	f    *Finder
	seen []Observation
	memo [][]Fit // by observation and cellID, one more than the fit; 0 is not known
}

func (f *Finder) judge(seen []Observation) *judge {
	return &judge{f: f, seen: seen, memo: make([][]Fit, len(seen))}
}

// fits returns how every observation fits h. cells are its behaviours, if known.
func (j *judge) fits(h *Hypothesis, cells []cellID) []Fit {
	fits := make([]Fit, len(j.seen))
	for i := range j.seen {
		fits[i] = j.fit(i, h, cells)
	}
	return fits
}

// degree returns a suspect whose elements are weak, or drag, to another degree where that
// fits better, and better than nothing wrong does; else the suspect itself.
func (f *Finder) degree(j *judge, s *Suspect, healthy []Fit) *Suspect {
	if cost(s.Fits) == 0 || s.Kind != Faulty && s.Kind != Pressure || len(s.Faults) == 0 {
		return s
	}
	best := s
	for _, share := range j.shares(&s.Hypothesis) {
		h := s.Hypothesis
		h.Faults = slices.Clone(h.Faults)
		for i := range h.Faults {
			h.Faults[i].Share = share
		}
		if fits := j.better(&h, best.Fits); fits != nil && cost(fits) < cost(healthy) {
			best = &Suspect{Hypothesis: h, Fits: fits}
		}
	}
	return best
}

// ranges lists the ranges of which something was seen, those that shifts join, too.
func (j *judge) ranges() []int {
	var list []int
	for i := range j.seen {
		o := &j.seen[i]
		list = kinematics.Union(list, o.placeRange())
		switch {
		case o.Shop != nil:
		case o.IsShift():
			list = kinematics.Union(list, o.Range, o.To)
		case o.Position != nil:
			list = kinematics.Union(list, o.Position.Ranges...)
		}
	}
	return kinematics.Without(list, []int{-1})
}

// better returns how every observation fits h if that is better than some fits,
// else nil. What did not fit is asked first, as most is known by that.
func (j *judge) better(h *Hypothesis, than []Fit) []Fit {
	limit, sum := cost(than), 0
	fits := make([]Fit, len(than))
	for _, fitted := range []bool{false, true} {
		for i := range than {
			if (than[i] == Fully) == fitted {
				fits[i] = j.fit(i, h, nil)
				if sum += fits[i].cost(); sum >= limit {
					return nil
				}
			}
		}
	}
	return fits
}

// fit returns how the i-th observation fits h, under the conditions in which it was made.
// cells are its behaviours, if known.
func (j *judge) fit(i int, h *Hypothesis, cells []cellID) Fit {
	o := &j.seen[i]
	if o.When == 0 && !o.sometimes() && !h.Raced {
		return j.plain(i, h, cells)
	}
	best := Not
	for _, x := range h.in(j.f.t, o.When) {
		best = min(best, j.plain(i, x, nil))
	}
	if o.sometimes() && !h.comesAndGoes(j.f.t) {
		best = max(best, Partly)
	}
	return best
}

// plain is fit without regard to conditions.
func (j *judge) plain(i int, h *Hypothesis, cells []cellID) Fit {
	o := &j.seen[i]
	switch {
	case o.Shop != nil && o.Shop.Kind == CodeRead:
		return j.f.codeFit(o.Shop, h)
	case o.Word == Note:
		return Fully
	case o.Shop != nil:
		return j.f.road.shop(o, j.f.inShop(o.Shop, &Suspect{Hypothesis: *h}))
	case o.IsShift():
		return j.f.shifts.fit(o, h)
	case o.Word == RollsDrag:
		return j.f.rollsWithDrag(o, h)
	case o.Position == nil:
		return j.inRange(i, o.Range, h, cells)
	case o.ofAll():
		worst := Fully
		for _, r := range o.Position.Ranges {
			worst = max(worst, j.inRange(i, r, h, cells))
		}
		return worst
	case o.standing():
		return j.inRange(i, o.Position.Ranges[0], h, cells)
	}
	best := Not
	for _, r := range o.Position.Ranges {
		best = min(best, j.inRange(i, r, h, cells))
	}
	return best
}

// inRange returns how the i-th observation fits what range r does.
func (j *judge) inRange(i, r int, h *Hypothesis, cells []cellID) Fit {
	o, e := &j.seen[i], j.f.engine
	var id cellID
	if cells != nil {
		id = cells[r]
	} else {
		id = e.cell(h, r)
	}
	if o.Position != nil || o.When.Has(WhenLoad) {
		return j.f.road.fit(o.at(r), e.cells[id].under(o.When))
	}
	for int(id) >= len(j.memo[i]) {
		j.memo[i] = append(j.memo[i], 0)
	}
	if j.memo[i][id] == 0 {
		j.memo[i][id] = 1 + j.f.road.fit(o, &e.cells[id])
	}
	return j.memo[i][id] - 1
}

// Behaviour returns what range r does under a suspect.
func (a *Answer) Behaviour(s *Suspect, r int) *Behaviour {
	if s.cells == nil {
		s.cells = a.finder.engine.all(&s.Hypothesis)
	}
	return &a.finder.engine.cells[s.cells[r]]
}

// Healthy returns what range r does when nothing is wrong.
func (a *Answer) Healthy(r int) *Behaviour { return &a.finder.road.healthy[r] }

// Tested says whether anything was seen in range r.
func (c *Case) Tested(r int) bool {
	return slices.ContainsFunc(c.Seen, func(o Observation) bool { return o.Range == r && !o.IsShift() && o.Word != Note })
}
