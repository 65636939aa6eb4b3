package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Kind is a kind of hypothesis.
type Kind uint8

// The kinds of hypothesis.
const (
	Healthy  Kind = iota // nothing is wrong in the gear train or with its command
	Faulty               // some couplings have faults, in all ranges or in the ranges they name
	WrongWay             // the selector or the control asks for other ranges than the lever says
	Pressure             // every friction element holds with a share of its rating only
	Timing               // one shift is badly timed; every range is as when healthy
)

// A Hypothesis is one way in which a train could be what was seen.
type Hypothesis struct {
	Kind   Kind
	Faults []kinematics.Fault
	// Command gives for every range of the lever the range that is really
	// commanded; nil where they are the same.
	Command []int
	// Lever is -1 or +1 when the selector stands that many places off its
	// position, which is a special case of Command.
	Lever int
	// Shift is the badly timed shift, as indices of ranges, and Late says which
	// way: the on-coming elements hold too late, so that it flares, or too early.
	Shift [2]int
	Late  bool
	// Class is that of the likeliest of its causes.
	Class Class
}

// commands returns the range that is really commanded when the lever says r.
func (h *Hypothesis) commands(r int) int {
	if h.Command == nil {
		return r
	}
	return h.Command[r]
}

// local says whether the fault is one of command or hydraulics: it acts in some
// ranges only.
func local(f kinematics.Fault) bool { return len(f.Ranges) > 0 }

// singles lists every hypothesis of one fault, the healthy train first.
func singles(t *kinematics.Train, a *Assumptions, ratings []solve.Rating) []Hypothesis {
	list := []Hypothesis{{Kind: Healthy}}
	for _, f := range t.SingleFaults() {
		list = append(list, Hypothesis{Kind: Faulty, Faults: []kinematics.Fault{f}, Class: classOf(t, f)})
	}
	for _, f := range frictionFaults(t, a, ratings) {
		list = append(list, Hypothesis{Kind: Faulty, Faults: []kinematics.Fault{f}, Class: classOf(t, f)})
	}
	for _, f := range localFaults(t) {
		list = append(list, Hypothesis{Kind: Faulty, Faults: []kinematics.Fault{f}, Class: Control})
	}
	if f := lowPressure(t, a, ratings); len(f) > 1 {
		list = append(list, Hypothesis{Kind: Pressure, Faults: f, Class: Linkage})
	}
	return append(list, commands(t)...)
}

// lowPressure makes every friction element with a rating weak.
func lowPressure(t *kinematics.Train, a *Assumptions, ratings []solve.Rating) []kinematics.Fault {
	var list []kinematics.Fault
	for i := range t.ElementCount {
		if t.Couplings[i].Kind.Friction() && ratings[i].Known() {
			list = append(list, kinematics.Fault{Coupling: i, Kind: kinematics.Weak, Share: a.Weak})
		}
	}
	return list
}

// frictionFaults lists weak and dragging elements. One without a rating has
// neither: nothing says at what torque it would slip.
func frictionFaults(t *kinematics.Train, a *Assumptions, ratings []solve.Rating) []kinematics.Fault {
	var list []kinematics.Fault
	for i := range t.ElementCount {
		if !t.Couplings[i].Kind.Friction() || !ratings[i].Known() {
			continue
		}
		list = append(list,
			kinematics.Fault{Coupling: i, Kind: kinematics.Weak, Share: a.Weak},
			kinematics.Fault{Coupling: i, Kind: kinematics.Dragging, Share: a.Dragging})
	}
	return list
}

// localFaults lists elements that are not applied in one range that should
// apply them, and that are applied in one that should not; where there is only
// one such range, that is left out. Elements that pressure applies can also be fed
// in no range, or in every one: on the road that is as if they never held or were
// stuck, but the element is good.
func localFaults(t *kinematics.Train) []kinematics.Fault {
	var list []kinematics.Fault
	for i := range t.ElementCount {
		c := &t.Couplings[i]
		if c.Kind == kinematics.Pawl || c.Kind == kinematics.OneWay && !c.Switched {
			continue
		}
		var on, off []int
		for r := range t.Ranges {
			if slices.Contains(t.Ranges[r].Apply, i) {
				on = append(on, r)
			} else {
				off = append(off, r)
			}
		}
		never := kinematics.OpenF
		if c.Kind == kinematics.OneWay {
			never = kinematics.Slips
		}
		fed := t.Drive == kinematics.Converter && c.Kind.Friction()
		for _, r := range on {
			if len(on) > 1 {
				list = append(list, kinematics.Fault{Coupling: i, Kind: never, Ranges: []string{t.Ranges[r].Name}})
			}
		}
		if fed && len(on) > 0 {
			list = append(list, kinematics.Fault{Coupling: i, Kind: kinematics.OpenF, Ranges: rangeNames(t, on)})
		}
		if c.Kind == kinematics.OneWay {
			continue // engaged where it should not be is no fault that the model has
		}
		for _, r := range off {
			if len(off) > 1 {
				list = append(list, kinematics.Fault{Coupling: i, Kind: kinematics.Stuck, Ranges: []string{t.Ranges[r].Name}})
			}
		}
		if fed && len(off) > 0 {
			list = append(list, kinematics.Fault{Coupling: i, Kind: kinematics.Stuck, Ranges: rangeNames(t, off)})
		}
	}
	return list
}

func rangeNames(t *kinematics.Train, ranges []int) []string {
	names := make([]string, len(ranges))
	for i, r := range ranges {
		names[i] = t.Ranges[r].Name
	}
	return names
}

// everywhere says whether a fault of command or hydraulics acts in every range
// in which it can: an element that is fed in all, or in none.
func everywhere(t *kinematics.Train, f kinematics.Fault) bool {
	if !local(f) || f.Share.IsSet() || !t.Couplings[f.Coupling].Kind.Friction() {
		return false
	}
	n := 0
	for i := range t.Ranges {
		if slices.Contains(t.Ranges[i].Apply, f.Coupling) == (f.Kind == kinematics.OpenF) {
			n++
		}
	}
	return t.Drive == kinematics.Converter && len(f.Ranges) == n && (f.Kind == kinematics.OpenF || f.Kind == kinematics.Stuck)
}

// degrees lists a hypothesis with the other shares at which its elements may be
// weak or drag: a third and two thirds of what is assumed of weak ones, a half and
// a quarter of what is assumed of dragging ones.
func (h *Hypothesis) degrees() []Hypothesis {
	var list []Hypothesis
	for _, part := range [][2]kinematics.Share{{{Num: 2, Den: 3}, {Num: 1, Den: 2}}, {{Num: 1, Den: 3}, {Num: 1, Den: 4}}} {
		other := *h
		other.Faults = slices.Clone(h.Faults)
		changed := false
		for i := range other.Faults {
			f := &other.Faults[i]
			by := part[0]
			switch f.Kind {
			case kinematics.Weak:
			case kinematics.Dragging:
				by = part[1]
			default:
				continue
			}
			changed = true
			f.Share = f.Share.Times(by)
		}
		if changed {
			list = append(list, other)
		}
	}
	return list
}

// commands lists wrong commands: the selector one place off; a position that
// gives one of its ranges in place of another, or always the same.
func commands(t *kinematics.Train) []Hypothesis {
	var list []Hypothesis
	seen := [][]int{identity(t)}
	add := func(h Hypothesis) {
		for r, q := range h.Command {
			if !sameEnds(t, r, q) {
				return
			}
		}
		for _, c := range seen {
			if slices.Equal(c, h.Command) {
				return
			}
		}
		seen = append(seen, h.Command)
		h.Kind = WrongWay
		list = append(list, h)
	}
	for _, off := range []int{-1, +1} {
		add(Hypothesis{Command: leverOff(t, off), Lever: off, Class: Linkage})
	}
	for _, p := range t.Positions {
		for _, q := range p.Ranges {
			always := identity(t)
			for _, r := range p.Ranges {
				always[r] = q
			}
			add(Hypothesis{Command: always, Class: Control})
		}
		for _, r := range p.Ranges {
			for _, q := range p.Ranges {
				once := identity(t)
				once[r] = q
				add(Hypothesis{Command: once, Class: Control})
			}
		}
	}
	return list
}

func identity(t *kinematics.Train) []int {
	c := make([]int, len(t.Ranges))
	for r := range c {
		c[r] = r
	}
	return c
}

// leverOff is what is commanded when the selector stands off places away from
// its position: the n-th range of that place for the n-th of the position, or
// its last. At the ends of the selector nothing changes.
func leverOff(t *kinematics.Train, off int) []int {
	c := identity(t)
	done := make([]bool, len(c))
	for i, p := range t.Positions {
		if i+off < 0 || i+off >= len(t.Positions) {
			continue
		}
		to := t.Positions[i+off].Ranges
		for n, r := range p.Ranges {
			if len(to) > 0 && !done[r] {
				c[r], done[r] = to[min(n, len(to)-1)], true
			}
		}
	}
	return c
}

// sameEnds says whether two ranges have the same input and output.
func sameEnds(t *kinematics.Train, r, q int) bool {
	a, b := &t.Ranges[r], &t.Ranges[q]
	return a.Input == b.Input && a.Output == b.Output
}
