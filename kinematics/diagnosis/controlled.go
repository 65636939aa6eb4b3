package diagnosis

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
)

// maxWays bounds how many of the things that a fault of the controls can come to are
// hypotheses of their own: see [judge.mix] for the others.
const maxWays = 4

// mostOpen bounds the elements of which it is tried whether they are fed in all ranges or in none;
// what others get may then differ from range to range.
const mostOpen = 8

// controlled lists every single fault of the controls that changes what is fed: what it
// brings about, before any fail-safe and after it, and where it can come to several
// things each of these. Those that change nothing are not seen on the road; low and lost
// line pressure is [Pressure], at every degree.
func controlled(t *kinematics.Train) []Hypothesis {
	n := controls.Of(t)
	if n == nil {
		return nil
	}
	var list []Hypothesis
	for _, f := range n.SingleFaults() {
		if f.Kind == controls.NoLine || f.Kind == controls.LowLine {
			continue
		}
		before, after := n.Evaluate(f)
		for _, a := range []*controls.Answer{before, after} {
			if a != nil {
				list = append(list, outcomes(t, a, after != nil)...)
			}
		}
	}
	return list
}

// outcomes are the hypotheses of one fault of the controls: the k-th takes in every
// range the k-th thing that it can come to.
func outcomes(t *kinematics.Train, a *controls.Answer, safe bool) []Hypothesis {
	comes := make([]coming, len(t.Ranges))
	most := 1
	for r := range t.Ranges {
		of := a.Of(-1, r)
		comes[r] = coming{a.Ways(r, of.List), of.Depends == controls.OnOrder || of.Depends == controls.OnHistory}
		most = max(most, len(comes[r].ways))
	}
	var list []Hypothesis
	for k := range min(most, maxWays) {
		h := Hypothesis{Kind: Controlled, Controls: a.Faults, Class: Control}
		switch {
		case a.Known:
			h.failSafe = afterFailSafe
		case safe:
			h.failSafe = beforeFailSafe
		}
		h.Way, h.Ways = k, most
		if most > 1 {
			h.comes = comes
		}
		for r := range t.Ranges {
			if ways := comes[r].ways; len(ways) > 0 {
				h.Faults = append(h.Faults, ways[min(k, len(ways)-1)]...)
			}
		}
		if len(h.Faults) > 0 {
			list = append(list, h)
		}
	}
	return list
}

// A coming is what faults of the controls can come to in a range: the faults of elements, in
// several ways. free says that what decides, such as what was driven before, can be another in
// every range; else it is an element that may be fed or not, the same in all ranges.
type coming struct {
	ways [][]kinematics.Fault
	free bool
}

// feeds says of elements whether they are fed in one way in a range: those that the range
// applies, but for the faults.
func feeds(r *kinematics.Range, way []kinematics.Fault, elements []int) []bool {
	return kinematics.Map(elements, func(e int) bool {
		changed := slices.ContainsFunc(way, func(f kinematics.Fault) bool { return f.Coupling == e })
		return r.Applies(e) != changed
	})
}

// open are the elements that are fed in one way of a range and not in another.
func (c *coming) open() (list []int) {
	for _, way := range c.ways {
		for _, f := range way {
			lacks := func(w []kinematics.Fault) bool {
				return !slices.ContainsFunc(w, func(g kinematics.Fault) bool { return g.Coupling == f.Coupling })
			}
			if slices.ContainsFunc(c.ways, lacks) {
				list = kinematics.Union(list, f.Coupling)
			}
		}
	}
	return list
}

// mix turns a hypothesis of the controls into the one that comes in every range to what fits
// best what was seen of it, of all that it can come to there beside the other ranges. Where
// nothing was seen it is as it was, if it can be. costs are those of [judge.costs].
func (j *judge) mix(h Hypothesis, costs [][]int) Hypothesis {
	t := j.f.t
	var open []int
	for r := range h.comes {
		if c := &h.comes[r]; !c.free {
			open = kinematics.Union(open, c.open()...)
		}
	}
	open = open[:min(len(open), mostOpen)]
	best, least := []int(nil), math.MaxInt
	for fed := range 1 << len(open) {
		chosen, sum := make([]int, len(t.Ranges)), 0
		for r := range h.comes {
			chosen[r] = h.comes[r].choose(&t.Ranges[r], open, fed, costs[r], h.Way)
			switch ways := h.comes[r].ways; {
			case costs[r] == nil && chosen[r] < 0:
				chosen[r] = min(h.Way, len(ways)-1)
			case chosen[r] < 0:
				sum = math.MaxInt / 2 // no way of the range is beside the others
			case costs[r] != nil:
				sum += costs[r][chosen[r]]
			}
		}
		if sum < least {
			best, least = chosen, sum
		}
	}
	var faults []kinematics.Fault
	for r, k := range best {
		if k >= 0 {
			faults = append(faults, h.comes[r].ways[k]...)
		}
	}
	h.mixed, h.Faults = true, controls.Merge(h.Own, faults)
	return h
}

// choose is the way of a range that costs least of those in which open elements are fed as the
// bits of fed say; -1 for none. Of equals it is the given one.
func (c *coming) choose(r *kinematics.Range, open []int, fed int, costs []int, given int) int {
	best := -1
	own := c.open()
	for k, way := range c.ways {
		beside := true
		for i, is := range feeds(r, way, open) {
			beside = beside && (c.free || !slices.Contains(own, open[i]) || is == (fed>>i&1 != 0))
		}
		if beside && (best < 0 || costs != nil && costs[k] < costs[best] ||
			k == given && (costs == nil || costs[k] == costs[best])) {
			best = k
		}
	}
	return best
}

// costs are what each way of a hypothesis costs in each range by what was seen of that alone;
// nil of ranges where nothing was, or which come to one thing.
func (j *judge) costs(h *Hypothesis) [][]int {
	costs := make([][]int, len(h.comes))
	for i := range j.seen {
		r := j.seen[i].placeRange()
		if r < 0 || len(h.comes[r].ways) < 2 {
			continue
		}
		if costs[r] == nil {
			costs[r] = make([]int, len(h.comes[r].ways))
		}
		for k, way := range h.comes[r].ways {
			one := *h
			one.Faults = controls.Merge(h.Own, way)
			costs[r][k] += j.fit(i, &one, nil).cost()
		}
	}
	return costs
}

// mixed are the suspects that [judge.mix] makes of those in a list: as far as they fit better
// than all of their faults that come to the same everywhere, or as well as anything does, so
// that what they can come to where nothing was seen is not left out.
func (j *judge) mixed(list []*Suspect) []*Suspect {
	if len(j.seen) == 0 {
		return nil
	}
	best := math.MaxInt
	for _, s := range list {
		best = min(best, cost(s.Fits))
	}
	var more []*Suspect
	for len(list) > 0 {
		n := 1
		for n < len(list) && list[n].comes != nil && list[n].sameControls(&list[0].Hypothesis) &&
			list[n].failSafe == list[0].failSafe {
			n++
		}
		if list[0].comes != nil {
			more = append(more, j.mixes(list[:n], best)...)
		}
		list = list[n:]
	}
	return more
}

// mixes is mixed for the suspects of one fault. best is the least that any suspect costs.
func (j *judge) mixes(list []*Suspect, best int) []*Suspect {
	least := slices.MinFunc(list, func(a, b *Suspect) int { return cost(a.Fits) - cost(b.Fits) })
	limit := cost(least.Fits) // and below it
	if limit > best {
		limit--
	}
	costs, less := j.costs(&least.Hypothesis), 0
	for r := range costs {
		if costs[r] != nil {
			less += costs[r][min(least.Way, len(costs[r])-1)] - slices.Min(costs[r])
		}
	}
	if less == 0 && limit < cost(least.Fits) {
		return nil
	}
	var more []*Suspect
	for k := range min(least.Ways, maxWays) {
		h := least.Hypothesis
		h.Way = k
		h = j.mix(h, costs)
		same := func(o *Suspect) bool { return slices.EqualFunc(o.Faults, h.Faults, sameFault) }
		if len(h.Faults) == 0 || slices.ContainsFunc(list, same) || slices.ContainsFunc(more, same) {
			continue
		}
		if fits := j.fits(&h, nil); cost(fits) <= limit {
			more = append(more, &Suspect{Hypothesis: h, Fits: fits})
		}
	}
	return more
}

func sameFault(f, g kinematics.Fault) bool {
	return f.Coupling == g.Coupling && f.Kind == g.Kind && f.Share == g.Share && slices.Equal(f.Ranges, g.Ranges)
}

// A failSafe says of what time a hypothesis of the controls is.
type failSafe uint8

const (
	noFailSafe failSafe = iota // none acts
	beforeFailSafe
	afterFailSafe
)

// beside lists the hypotheses of a fault of the controls and one of a coupling at once,
// as far as they fit better than limit halves.
func (f *Finder) beside(j *judge, limit int) []*Suspect {
	var list []*Suspect
	faults := f.t.SingleFaults()
	for i := range f.singles {
		if f.singles[i].Kind != Controlled || slices.ContainsFunc(f.singles[i].Faults,
			func(f kinematics.Fault) bool { return f.Share.IsSet() }) {
			continue // what acts through torque is not combined
		}
		for _, own := range faults {
			h := f.singles[i]
			h.Own = []kinematics.Fault{own}
			h.Faults = controls.Merge(h.Own, h.Faults)
			if fits := j.below(&h, limit); fits != nil {
				list = append(list, &Suspect{Hypothesis: h, Fits: fits})
			}
		}
	}
	return list
}

// otherRanges is the one hypothesis about ranges that read as other ranges where the
// file says nothing of the controls: the map is that of something that is stuck (what it
// leads to leads to itself) or crossed (it leads back), and nothing else is. It is no
// mechanism, and stands below any.
func (f *Finder) otherRanges(seen []Observation) []Hypothesis {
	if controls.Of(f.t) != nil {
		return nil
	}
	to := identity(f.t)
	told := map[int]bool{}
	for _, o := range seen {
		switch {
		case o.Shop != nil || o.IsShift() || o.Position != nil || o.Range < 0:
		case o.Word == As && sameEnds(f.t, o.Range, o.Other):
			to[o.Range] = o.Other
			told[o.Range] = true
		case o.Word == OK:
			told[o.Range] = true
		}
	}
	stuck, crossed, changed := true, true, 0
	for r, q := range to {
		if r != q {
			changed++
		}
		stuck = stuck && to[q] == q
		crossed = crossed && to[q] == r
	}
	same := func(h Hypothesis) bool { return h.Kind == WrongWay && slices.Equal(h.Command, to) }
	if changed < 2 || !stuck && !crossed || slices.ContainsFunc(f.singles, same) {
		return nil
	}
	return []Hypothesis{{Kind: WrongWay, Command: to, Class: Control, Unfounded: true}}
}

// noMechanism is what an unfounded hypothesis weighs, in contradictions: more than two
// faults beside the first, less than three observations that do not fit.
const noMechanism = 2.5 * perFault

// Count is how many faults at once a hypothesis supposes.
func (h *Hypothesis) Count() int {
	switch h.Kind {
	case Faulty:
		return len(h.Faults)
	case Controlled:
		return len(h.Controls) + len(h.Own)
	}
	return 1
}

// controlText says a fault of the controls in words, with what else is wrong.
func (h *Hypothesis) controlText(t *kinematics.Train) string {
	text := strings.Join(kinematics.Map(h.Controls, reading.ControlFault), ", and ") +
		h.comesTo(" (before the fail-safe acts)", " (with the fail-safe)", "in each range one",
			" things that can come of it")
	for _, f := range h.Own {
		text += ", and " + faultText(t, f)
	}
	return text
}

// controlShort says it in as few words as a table has room for.
func (h *Hypothesis) controlShort(t *kinematics.Train) string {
	text := controls.Text(h.Controls) + h.outcome()
	for _, f := range h.Own {
		text += " + " + shortFault(t, f)
	}
	return text
}

// outcome tells which of the things that can come of a fault of the controls it is.
func (h *Hypothesis) outcome() string { return h.comesTo(" (before)", " (after)", "one", "") }

func (h *Hypothesis) comesTo(before, after, one, things string) string {
	text := [...]string{"", before, after}[h.failSafe]
	switch {
	case h.mixed:
		text += fmt.Sprintf(" (%s of %d%s)", one, h.Ways, things)
	case h.Ways > 1:
		text += fmt.Sprintf(" (%d of %d%s)", h.Way+1, h.Ways, things)
	}
	return text
}

// causesOf a fault of the controls: what to look for.
func (h *Hypothesis) controlCauses(t *kinematics.Train) []Cause {
	f := h.Controls[0]
	list := []Cause{controlCause()[f.Kind]}
	if n := controls.Of(t); slices.Contains(n.Solenoids(), f.Part) && !slices.Contains(n.Wired(), f.Part) {
		list[0] = Cause{Hydraulic: Items{"sticks: debris, bore or spring"}} // a governor or the like
	}
	for _, f := range h.Own {
		list = append(list, causeOf(t.Couplings[f.Coupling].Kind, f))
	}
	return list
}

// controlCause is what to look for under each kind of fault; common practice, no source.
var controlCause = sync.OnceValue(func() map[controls.Kind]Cause {
	return map[controls.Kind]Cause{
		controls.StuckOn:  {Hydraulic: Items{"solenoid sticks", "its seat is dirty"}},
		controls.StuckOff: {Hydraulic: Items{"solenoid sticks", "its seat is dirty"}},
		controls.NoCurrent: {Electrical: Items{"coil, plug, wire or driver open", "wire shorted to ground"},
			Sign: Items{"a circuit code"}},
		controls.ShortOn: {Electrical: Items{"wire shorted to supply", "wire shorted to ground", "driver failed"},
			Sign: Items{"a circuit code"}},
		controls.Crossed: {Electrical: Items{"two plugs crossed"}, Sign: Items{"since a repair"}},
		controls.Lost: {Electrical: Items{"fuse, relay, ground or main plug"},
			Sign: Items{"circuit codes of all solenoids"}},
		controls.StuckUp:   {Hydraulic: Items{"valve stuck: debris, bore or plug"}},
		controls.StuckDown: {Hydraulic: Items{"valve stuck: debris, bore or plug"}},
		controls.Spring:    {Hydraulic: Items{"spring of the valve broken or left out"}},
		controls.Blocked:   {Hydraulic: Items{"passage, screen or gasket: blocked or misplaced"}},
		controls.Leaks:     {Hydraulic: Items{"gasket, casting, plug or seal leaks"}, Sign: Items{"often when hot only"}},
		controls.Into:      {Hydraulic: Items{"cross leak: gasket or casting between the two"}},
		controls.Gone:      {Mechanical: Items{"check ball left out or in the wrong place"}, Sign: Items{"since a repair"}},
		controls.Between:   causeLever,
		controls.NoLine:    causeNoPressure,
		controls.LowLine:   causePressure,
	}
})

// pressureAt is the level that a circuit has in a range under a suspect.
func (f *Finder) pressureAt(circuit string, r int, s *Suspect) controls.Level {
	n := controls.Of(f.t)
	var faults []controls.Fault
	after := s.failSafe == afterFailSafe
	if s.Kind == Controlled {
		faults = s.Controls
	}
	a := f.answer(n, faults, after)
	i := slices.Index(n.Circuits(), circuit)
	level := controls.Level(0)
	for _, o := range a.Of(-1, s.commands(r)).List {
		level |= o.Circuits[i]
	}
	return level
}

// answer remembers what the controls do.
func (f *Finder) answer(n *controls.Network, faults []controls.Fault, after bool) *controls.Answer {
	key := controls.Text(faults)
	if after {
		key += " after"
	}
	if a := f.answers[key]; a != nil {
		return a
	}
	before, known := n.Evaluate(faults...)
	if after && known != nil {
		before = known
	}
	if f.answers == nil {
		f.answers = map[string]*controls.Answer{}
	}
	f.answers[key] = before
	return before
}
