package diagnosis

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
)

// maxWays bounds how many of the things that a fault of the controls can come to are
// hypotheses of their own.
const maxWays = 4

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
	ways := make([][][]kinematics.Fault, len(t.Ranges))
	most := 1
	for r := range t.Ranges {
		ways[r] = a.Ways(r, a.Of(-1, r).List)
		most = max(most, len(ways[r]))
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
		h.Way, h.Ways = k, min(most, maxWays)
		for r := range t.Ranges {
			if len(ways[r]) > 0 {
				h.Faults = append(h.Faults, ways[r][min(k, len(ways[r])-1)]...)
			}
		}
		if len(h.Faults) > 0 {
			list = append(list, h)
		}
	}
	return list
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
		h.comesTo(" (before the fail-safe acts)", " (with the fail-safe)", " things that can come of it")
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
func (h *Hypothesis) outcome() string { return h.comesTo(" (before)", " (after)", "") }

func (h *Hypothesis) comesTo(before, after, things string) string {
	text := [...]string{"", before, after}[h.failSafe]
	if h.Ways > 1 {
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
