package bench

import (
	"context"
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Missing is what is not fitted yet.
type Missing uint8

// What may be missing.
const (
	Nothing   Missing = iota
	Case              // nothing holds against the housing: brakes, bands, the pawl
	ValveBody         // its passages are open, so that air reaches every element
)

var missingWords = [...]string{"", "case", "valve-body"}

// String names what is missing.
func (m Missing) String() string { return missingWords[m] }

// MarshalText writes the name.
func (m Missing) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// Parts lists what may be missing, by name.
func Parts() []string { return missingWords[1:] }

// UnmarshalText reads what is not fitted; "" is nothing.
func (m *Missing) UnmarshalText(text []byte) error {
	i := slices.Index(missingWords[:], string(text))
	if i < 0 {
		return fmt.Errorf("write %s", kinematics.Or(Parts()))
	}
	*m = Missing(i)
	return nil
}

// A Question asks for a plan.
type Question struct {
	Without Missing
	// Air are the elements that can be applied; nil is all that can be.
	Air   []int
	Pairs bool // pairs of faults shall show, too
	// NoHold says that the output cannot be held by hand.
	NoHold bool
	// Nodes is how many nodes the search for the least plan may take, 0 for a default.
	Nodes int
}

// A Plan is a list of turns that shows all that turning can show.
type Plan struct {
	Train  *kinematics.Train
	Air    []int                // that can be applied
	Most   int                  // so many at once
	Faults []kinematics.Fault   // single ones that are to show
	Unfit  []kinematics.Fault   // of what is not fitted
	Pairs  [][]kinematics.Fault // that are to show
	Turns  []Turn               // in the order of the work
	Tried  int                  // turns that are a test, of which those are chosen
	// Near says that air can be put to the elements in too many ways: what is tried is the
	// elements of a range, those without one of them, and each element alone.
	Near bool
	// Closed says that fewer turns are proved not to do, with no more effort;
	// AtLeast is how many are proved to be needed.
	Closed  bool
	AtLeast int

	turner *turner
	tests  []Turn // all that are a test
}

// New plans the turns.
func New(ctx context.Context, s *solve.System, q Question) (*Plan, error) {
	t := s.Train
	p := fitted(s, q.Without)
	if err := p.reach(q); err != nil {
		return nil, err
	}
	for _, r := range t.Ranges {
		n := 0
		for _, e := range r.Apply {
			if Airable(&t.Couplings[e]) {
				n++
			}
		}
		p.Most = max(p.Most, n)
	}
	p.Most = min(p.Most, len(p.Air))
	if q.Pairs {
		p.pair()
	}
	if err := p.candidates(ctx, q.NoHold); err != nil {
		return nil, err
	}
	if err := p.choose(ctx, q); err != nil {
		return nil, err
	}
	p.order()
	return p, ctx.Err()
}

// Sound is what a turn shows of a sound assembly, whether a plan has it or not.
func Sound(s *solve.System, x Turn, without Missing) Seen { return fitted(s, without).turner.seen(x) }

// fitted is a plan without turns: what is not there, and the faults of what is.
func fitted(s *solve.System, without Missing) *Plan {
	t := s.Train
	p := &Plan{Train: t, turner: &turner{t: t, kernel: s.Kernel(), states: map[string]solve.Outcome{}}}
	for i, c := range t.Couplings {
		if without == Case && (c.A == kinematics.Housing || c.B == kinematics.Housing) {
			p.turner.open = append(p.turner.open, i)
		} else if c.Kind == kinematics.Pawl {
			p.turner.pawl = append(p.turner.pawl, i)
		}
	}
	for _, f := range t.SingleFaults() {
		if slices.Contains(p.turner.open, f.Coupling) {
			p.Unfit = append(p.Unfit, f)
		} else {
			p.Faults = append(p.Faults, f)
		}
	}
	return p
}

// reach finds the elements that can be applied, and refuses what the question cannot name.
func (p *Plan) reach(q Question) error {
	reason := func(i int) (AirReason, bool) {
		c := &p.Train.Couplings[i]
		switch {
		case !Airable(c):
			return NotApplied, true
		case slices.Contains(p.turner.open, i):
			return NotFitted, true
		case q.Without == Nothing && p.Train.TapsKnown && c.Kind.Friction() && !slices.Contains(p.Train.Taps, i):
			return NoTap, true
		}
		return 0, false
	}
	if int(q.Without) >= len(missingWords) {
		return fmt.Errorf("what is not fitted cannot be number %d: write %s", q.Without, kinematics.Or(Parts()))
	}
	if err := p.Train.CheckElements(q.Air...); err != nil {
		return err
	}
	for _, i := range q.Air {
		if why, no := reason(i); no {
			return &AirError{p.Train.Couplings[i].Name, why}
		}
		p.Air = append(p.Air, i)
	}
	for i := range p.Train.ElementCount {
		if _, no := reason(i); q.Air == nil && !no {
			p.Air = append(p.Air, i)
		}
	}
	slices.Sort(p.Air)
	p.Air = slices.Compact(p.Air)
	return nil
}

// Bounds of what is tried: with more than mostChoices ways to put air to the elements
// only those near the ranges are, as long as they show no more than mostSights.
const (
	mostChoices = 1000
	mostSights  = 200_000
)

// candidates lists the turns that are a test: those whose sound outcome is something
// to see.
func (p *Plan) candidates(ctx context.Context, noHold bool) error {
	outputs := []Output{Free, Held}
	if noHold {
		outputs = outputs[:1]
	}
	if p.turner.pawl != nil {
		outputs = append(outputs, Pawled)
	}
	var choices [][]int
	if p.Near = choicesOf(len(p.Air), p.Most) > mostChoices; p.Near {
		choices = p.near(mostSights / (2 * len(outputs) * max(1, len(p.Faults)+len(p.Pairs))))
	} else {
		subsets(p.Air, p.Most, func(air []int) { choices = append(choices, slices.Clone(air)) })
	}
	return solve.Each(ctx, "choices of air", len(choices), func(i int) {
		if p.forked(choices[i]) {
			return
		}
		for _, output := range outputs {
			for _, back := range []bool{false, true} {
				if x := (Turn{choices[i], back, output}); !p.turner.seen(x).Any() {
					p.tests = append(p.tests, x)
				}
			}
		}
	})
}

// choicesOf counts the subsets of n things of at most so many; where they are more than
// mostChoices it stops.
func choicesOf(n, most int) int {
	sum, of := 0, 1
	for k := 0; k <= most && sum <= mostChoices; k++ {
		sum += of
		of = of * (n - k) / (k + 1)
	}
	return sum
}

// near lists choices of air near the ranges, the ranges' own first, then each element
// alone, then ranges without one: the ranges' own and as many others as make up most.
func (p *Plan) near(most int) [][]int {
	choices := [][]int{nil}
	known := map[string]bool{"[]": true}
	add := func(air []int) {
		if key := fmt.Sprint(air); !known[key] {
			known[key] = true
			choices = append(choices, air)
		}
	}
	for _, r := range p.Train.Ranges {
		air := slices.DeleteFunc(slices.Clone(p.Air), func(e int) bool { return !r.Applies(e) })
		if len(air) > 0 {
			add(air)
		}
	}
	ranges := slices.Clone(choices)
	for _, e := range p.Air {
		add([]int{e})
	}
	for _, air := range ranges {
		for i := range air {
			if len(choices) >= most {
				break
			}
			add(slices.Delete(slices.Clone(air), i, i+1))
		}
	}
	return choices[:min(len(choices), max(most, len(ranges)))]
}

// forked says whether two dogs are among the elements that no range puts in together:
// one fork moves both.
func (p *Plan) forked(air []int) bool {
	t := p.Train
	for i, a := range air {
		for _, b := range air[i+1:] {
			if t.Couplings[a].Kind == kinematics.Dog && t.Couplings[b].Kind == kinematics.Dog &&
				!slices.ContainsFunc(t.Ranges, func(r kinematics.Range) bool { return r.Applies(a) && r.Applies(b) }) {
				return true
			}
		}
	}
	return false
}

// subsets visits all subsets of at most so many, smaller ones first.
func subsets(all []int, most int, visit func([]int)) {
	var from func(chosen []int, start, left int)
	from = func(chosen []int, start, left int) {
		if left == 0 {
			visit(chosen)
			return
		}
		for i := start; i <= len(all)-left; i++ {
			from(append(chosen, all[i]), i+1, left-1)
		}
	}
	for n := 0; n <= most; n++ {
		from(nil, 0, n)
	}
}

// pair lists the pairs of faults of two parts.
func (p *Plan) pair() {
	for i, a := range p.Faults {
		for _, b := range p.Faults[i+1:] {
			if a.Coupling != b.Coupling {
				p.Pairs = append(p.Pairs, []kinematics.Fault{a, b})
			}
		}
	}
}

// choose finds the fewest turns.
func (p *Plan) choose(ctx context.Context, q Question) error {
	rows := p.rows()
	columns := make([]column, len(p.tests))
	sound := make([]Seen, len(p.tests))
	for c, x := range p.tests {
		columns[c] = column{newSet(len(rows)), x.Effort(), c}
		sound[c] = p.turner.seen(x)
	}
	err := solve.Each(ctx, "faults", len(rows), func(r int) {
		for c, x := range p.tests {
			if p.turner.seen(x, rows[r]...).Differs(sound[c]) {
				columns[c].rows.add(r)
			}
		}
	})
	if err != nil {
		return err
	}
	columns = slices.DeleteFunc(columns, func(c column) bool { return c.rows.count() == 0 })
	p.Tried = len(columns)
	if q.Nodes == 0 {
		q.Nodes = min(2_000_000, 20_000_000_000/(1+len(columns)*len(rows)))
	}
	least := leastCover(ctx, columns, len(rows), q.Nodes)
	p.Closed, p.AtLeast = least.closed && !p.Near, least.atLeast
	if p.Near {
		p.AtLeast = min(1, least.atLeast)
	}
	p.Turns = kinematics.Map(least.columns, func(c int) Turn { return p.tests[c] })
	return nil
}

// rows are all faults, and pairs, that are to show.
func (p *Plan) rows() [][]kinematics.Fault {
	rows := kinematics.Map(p.Faults, func(f kinematics.Fault) []kinematics.Fault { return []kinematics.Fault{f} })
	return append(rows, p.Pairs...)
}

// Sound is what a turn shows of a sound assembly.
func (p *Plan) Sound(x Turn) Seen { return p.turner.seen(x) }

// ShownBy is the first turn of the plan that shows the faults, -1 if none does.
func (p *Plan) ShownBy(faults ...kinematics.Fault) int {
	return slices.IndexFunc(p.Turns, func(x Turn) bool { return p.turner.seen(x, faults...).Differs(p.turner.seen(x)) })
}

// Alike sorts the single faults by what all turns that are a test show of them; faults
// that no turn shows are not among them. It ends with ctx.
func (p *Plan) Alike(ctx context.Context) ([][]kinematics.Fault, error) {
	keys := map[int]string{} // of the faults that some turn shows
	var shown []int
	err := solve.Each(ctx, "faults compared", len(p.Faults), func(i int) {
		var key []byte
		shows := false
		for _, x := range p.tests {
			s := p.turner.seen(x, p.Faults[i])
			shows = shows || s.Differs(p.turner.seen(x))
			key = append(append(key, s.Key()...), ';')
		}
		if shows {
			keys[i], shown = string(key), append(shown, i)
		}
	})
	groups := kinematics.GroupBy(shown, func(i int) string { return keys[i] })
	return kinematics.Map(groups, func(of []int) []kinematics.Fault {
		return kinematics.Map(of, func(i int) kinematics.Fault { return p.Faults[i] })
	}), err
}
