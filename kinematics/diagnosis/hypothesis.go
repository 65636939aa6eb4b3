package diagnosis

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/solve"
)

// A Kind is a kind of hypothesis.
type Kind uint8

// The kinds of hypothesis.
const (
	Healthy      Kind = iota // nothing is wrong in the gear train or with its command
	Faulty                   // some couplings have faults, in all ranges or in the ranges they name
	WrongWay                 // the selector or the control asks for other ranges than the lever says
	Pressure                 // every friction element holds with a share of its rating only
	Timing                   // one shift is badly timed; every range is as when healthy
	Controlled               // something that feeds the elements has a fault
	Torn                     // a gear turns free of its shell or hub
	HighPressure             // line pressure is above what it should be
)

var hypothesisNames = [...]string{Healthy: "healthy", Faulty: "faults", WrongWay: "wrong-command",
	Pressure: "low-pressure", Timing: "shift-timing", Controlled: "controls", Torn: "torn-gear",
	HighPressure: "high-pressure"}

// MarshalText writes the word of machine output.
func (k Kind) MarshalText() ([]byte, error) { return []byte(hypothesisNames[k]), nil }

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
	Gear  kinematics.MemberID // that is torn off
	// Raced says that the fault, trapped oil that holds a clutch on, acts only while the
	// engine is raced.
	Raced bool
	// Class is that of the likeliest of its causes.
	Class Class
	// Controls are the faults of what feeds the elements; Faults then holds what they
	// bring about, together with Own, the faults of couplings beside them. Way says
	// which of several things that the faults can come to it is, of Ways; 0 of 1 where there
	// is one. mixed says that it is another in ranges of which something was seen.
	Controls  []controls.Fault
	Own       []kinematics.Fault
	failSafe  failSafe
	Way, Ways int
	comes     []coming // by range; nil where Ways is 1
	mixed     bool
	// Unfounded marks a wrong command that only repeats what was seen.
	Unfounded bool
}

// commands returns the range that is really commanded when the lever says r.
func (h *Hypothesis) commands(r int) int {
	if h.Command == nil {
		return r
	}
	return h.Command[r]
}

// commanded is the range that is really commanded when the lever says r, by the name of that:
// faults name the place of the lever.
func (h *Hypothesis) commanded(t *kinematics.Train, r int) *kinematics.Range {
	rng := t.Ranges[h.commands(r)]
	rng.Name = t.Ranges[r].Name
	return &rng
}

// local says whether the fault is one of command or hydraulics: it acts in some
// ranges only.
func local(f kinematics.Fault) bool { return len(f.Ranges) > 0 }

// ofOne lists every hypothesis of one fault in all ranges, the healthy train first, and
// wrong commands.
func (f *Finder) ofOne() []Hypothesis {
	t := f.t
	list := []Hypothesis{{Kind: Healthy}}
	add := func(class func(*kinematics.Train, kinematics.Fault) Class, faults ...kinematics.Fault) {
		for _, x := range faults {
			list = append(list, Hypothesis{Kind: Faulty, Faults: []kinematics.Fault{x}, Class: class(t, x)})
		}
	}
	add(classOf, t.SingleFaults()...)
	add(classOf, frictionFaults(t, &f.a, f.engine.ratings)...)
	add(classOf, feedFaults(t)...)
	list = append(list, torn(t)...)
	list = append(list, f.pressures()...)
	return slices.Concat(list, controlled(t), commands(t))
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

// feedFaults lists elements that pressure applies and that are fed in no range, or in
// every one: on the road that is as if they never held or were stuck, but the element is
// good.
func feedFaults(t *kinematics.Train) []kinematics.Fault {
	var list []kinematics.Fault
	for i := range t.ElementCount {
		if t.Drive != kinematics.Converter || !t.Couplings[i].Kind.Friction() {
			continue
		}
		on, off := t.AppliedIn(i)
		if len(on) > 0 {
			list = append(list, kinematics.Fault{Coupling: i, Kind: kinematics.OpenF, Ranges: t.NamesOfRanges(on)})
		}
		if len(off) > 0 {
			list = append(list, kinematics.Fault{Coupling: i, Kind: kinematics.Stuck, Ranges: t.NamesOfRanges(off)})
		}
	}
	return list
}

// everywhere says whether a fault of command or hydraulics acts in every range
// in which it can: an element that is fed in all, or in none.
func everywhere(t *kinematics.Train, f kinematics.Fault) bool {
	if !local(f) || f.Share.IsSet() || !t.Couplings[f.Coupling].Kind.Friction() {
		return false
	}
	on, off := t.AppliedIn(f.Coupling)
	return t.Drive == kinematics.Converter && (f.Kind == kinematics.OpenF && len(f.Ranges) == len(on) ||
		f.Kind == kinematics.Stuck && len(f.Ranges) == len(off))
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
		if slices.ContainsFunc(seen, func(c []int) bool { return slices.Equal(c, h.Command) }) {
			return
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
