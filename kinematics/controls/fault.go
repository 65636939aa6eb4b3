package controls

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
)

// A Kind is a way in which a part of the controls can be wrong.
type Kind string

// The kinds of fault, as they are written on the command line.
const (
	StuckOn   Kind = "stuck-on"      // a solenoid, mechanically
	StuckOff  Kind = "stuck-off"     // a solenoid, mechanically
	NoCurrent Kind = "no-current"    // a solenoid: open circuit, short to ground
	ShortOn   Kind = "short-on"      // a solenoid: its wire has current always
	Crossed   Kind = "crossed"       // a solenoid, with another one: two plugs
	Lost      Kind = "lost"          // the supply of all solenoids
	StuckUp   Kind = "stuck-up"      // a valve
	StuckDown Kind = "stuck-down"    // a valve
	Spring    Kind = "spring-broken" // a valve
	Blocked   Kind = "blocked"       // a circuit has no pressure
	Leaks     Kind = "leaks"         // a circuit has a share of the line's pressure
	Into      Kind = "leaks-into"    // a circuit, into a neighbour
	Gone      Kind = "missing"       // a check ball
	Between   Kind = "between"       // the lever stands between two positions
	NoLine    Kind = "none"          // there is no line pressure
	LowLine   Kind = "low"           // line pressure is a share of what it should be
)

var allKinds = []Kind{StuckOn, StuckOff, NoCurrent, ShortOn, Crossed, Lost, StuckUp, StuckDown, Spring,
	Blocked, Leaks, Into, Gone, Between, NoLine, LowLine}

// Electrical says whether the control can know of the fault by its wires.
func (k Kind) Electrical() bool { return k == NoCurrent || k == ShortOn || k == Lost }

// Switched says whether it is a fault of a solenoid, of a valve, or of the supply.
func (k Kind) Switched() bool { return slices.Index(allKinds, k) < slices.Index(allKinds, Blocked) }

// AssumedLow is the share of the line's pressure that is left in a leak, or in a
// line that is low, where none is given.
var AssumedLow = kinematics.Share{Num: 1, Den: 2}

// A Fault is what is wrong with one part of the controls. [Network.ParseFault] and
// [Network.SingleFaults] make them.
type Fault struct {
	Part   string // the name of the solenoid, valve, circuit or ball; supply, lever or line
	Kind   Kind
	With   string           // the other solenoid, the neighbour, or the two positions
	Share  kinematics.Share // of the line's pressure; the zero Share is AssumedLow
	Ranges []string         // commanded, before any fail-safe; none: all

	at, with int
	ranges   uint64 // bits of Ranges, 0 for all
	solenoid bool   // it changes which solenoids are on
	wires    uint64 // those that have no current without supply
}

// String writes the fault as [Network.ParseFault] reads it.
func (f Fault) String() string { return f.Part + "=" + f.What() }

// What writes what is wrong with the part, as [Fault.String] does behind its name.
func (f Fault) What() string {
	text := string(f.Kind)
	if f.With != "" {
		text += " " + f.With
	}
	if f.Share.IsSet() {
		text += " " + f.Share.String()
	}
	if len(f.Ranges) > 0 {
		text += "@" + strings.Join(f.Ranges, ",")
	}
	return text
}

// Alike says whether the same is wrong with the parts of two faults.
func (f Fault) Alike(g Fault) bool {
	return f.Kind == g.Kind && f.With == g.With && f.Share == g.Share && slices.Equal(f.Ranges, g.Ranges)
}

func (f Fault) actsIn(rng int) bool { return f.ranges == 0 || f.ranges>>rng&1 != 0 }

func (f Fault) share() kinematics.Share {
	if f.Share.IsSet() {
		return f.Share
	}
	return AssumedLow
}

// Kinds returns the kinds of fault that a part can have, none for what is no part.
func (n *Network) Kinds(part string) []Kind {
	switch {
	case slices.Contains(n.solenoids, part):
		switch wired := n.Wired(); {
		case !slices.Contains(wired, part):
			return []Kind{StuckOn, StuckOff}
		case len(wired) == 1:
			return []Kind{StuckOn, StuckOff, NoCurrent, ShortOn}
		}
		return []Kind{StuckOn, StuckOff, NoCurrent, ShortOn, Crossed}
	case slices.Contains(n.Valves(), part):
		return []Kind{StuckUp, StuckDown, Spring}
	case slices.Contains(n.Circuits(), part):
		if slices.ContainsFunc(n.pairs, func(p [2]int) bool { return n.circuits[p[0]].name == part }) {
			return []Kind{Blocked, Leaks, Into}
		}
		return []Kind{Blocked, Leaks}
	case slices.Contains(n.Balls(), part):
		return []Kind{Gone}
	case part == "supply" && len(n.Wired()) > 0:
		return []Kind{Lost}
	case part == "lever" && len(n.Train.Positions) > 1:
		return []Kind{Between}
	case part == "line":
		return []Kind{NoLine, LowLine}
	}
	return nil
}

// Parts returns the names of all parts that can have a fault.
func (n *Network) Parts() []string {
	list := slices.Concat(n.solenoids, n.Valves(), n.Circuits(), n.Balls())
	for _, p := range []string{"supply", "lever", "line"} {
		if n.Kinds(p) != nil {
			list = append(list, p)
		}
	}
	return list
}

// Knows says whether a text means a fault of the controls, and not of an element:
// a circuit may have the name of an element, but none of its kinds of fault.
func (n *Network) Knows(text string) bool {
	name, rest, _ := strings.Cut(text, "=")
	name = strings.TrimSpace(name)
	kinds := n.Kinds(name)
	if _, element := n.Train.Coupling(name); !element {
		return kinds != nil
	}
	what, _, _ := strings.Cut(rest, "@")
	kind, _, _ := strings.Cut(strings.TrimSpace(what), " ")
	return slices.Contains(kinds, Kind(kind))
}

// ParseFault reads a fault as users write it, NAME=KIND, with what else it needs
// behind the kind and the only ranges in which it acts behind an @:
//
//	S2=stuck-off
//	S1=crossed S2
//	drive=leaks 0.4@D2
//	drive=leaks-into second
//	lever=between D 2
//	supply=lost, or supply
func (n *Network) ParseFault(text string) (Fault, error) {
	name, rest, ok := strings.Cut(text, "=")
	name = strings.TrimSpace(name)
	kinds := n.Kinds(name)
	if kinds == nil {
		return Fault{}, n.Train.NoSuch("solenoid, valve, circuit or ball", name, n.Parts())
	}
	if !ok && name == "supply" {
		return n.fault(Fault{Part: name, Kind: Lost})
	}
	what, ranges, limited := strings.Cut(rest, "@")
	kind, more, _ := strings.Cut(strings.TrimSpace(what), " ")
	f := Fault{Part: name, Kind: Kind(kind)}
	if !slices.Contains(kinds, f.Kind) {
		return Fault{}, cannotBe(name, kind, kinds)
	}
	if err := f.argument(strings.TrimSpace(more)); err != nil {
		return Fault{}, err
	}
	if limited {
		for r := range strings.SplitSeq(ranges, ",") {
			f.Ranges = append(f.Ranges, strings.TrimSpace(r))
		}
	}
	return n.fault(f)
}

func cannotBe(name, kind string, kinds []Kind) error {
	words := kinematics.Map(kinds, func(k Kind) string { return string(k) })
	if near := kinematics.Nearest(kind, words); near != "" {
		return fmt.Errorf("no such fault %s of %s: did you mean %s?", kinematics.Quote(kind), name, near)
	}
	return fmt.Errorf("%s cannot be %s: write %s", name, kinematics.Quote(kind), kinematics.Or(words))
}

// argument reads what stands behind the kind.
func (f *Fault) argument(text string) (err error) {
	switch f.Kind {
	case Crossed, Into, Between:
		f.With = strings.Join(strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ',' }), " ")
		if f.With == "" {
			example := map[Kind]string{Crossed: "S2", Into: "second", Between: "D 2"}[f.Kind]
			return fmt.Errorf("%s %s what? Write such as %s=%s %s", f.Part, f.Kind, f.Part, f.Kind, example)
		}
	case Leaks, LowLine:
		if text == "" {
			return nil
		}
		if f.Share, err = kinematics.ParseShare(text); err == nil && f.Share.Num >= f.Share.Den {
			return errors.New("what is low is less than the line's pressure: write a share below 1")
		}
	default:
		if text != "" {
			return fmt.Errorf("%s takes nothing behind it: leave %s out", f.Kind, kinematics.Quote(text))
		}
	}
	return err
}

// fault resolves the names of a fault.
func (n *Network) fault(f Fault) (Fault, error) {
	f.at, f.with, f.ranges = n.partAt(f.Part), 0, 0
	f.solenoid = f.Part == "supply" || slices.Contains(n.solenoids, f.Part)
	switch f.Kind {
	case Lost:
		for i, s := range n.Spec.Solenoids {
			if !s.Hydraulic {
				f.wires |= 1 << i
			}
		}
	case Crossed:
		wired := kinematics.Without(n.Wired(), []string{f.Part})
		if f.with = slices.Index(n.solenoids, f.With); !slices.Contains(wired, f.With) {
			return f, fmt.Errorf("%s is crossed with another solenoid: %s", f.Part, kinematics.Or(wired))
		}
	case Into:
		f.with = slices.IndexFunc(n.pairs, func(p [2]int) bool {
			return n.circuits[p[0]].name == f.Part && n.circuits[p[1]].name == f.With
		})
		if f.with < 0 {
			return f, fmt.Errorf("%s is no neighbour of %s in the file: see neighbours", kinematics.Quote(f.With), f.Part)
		}
	case Between:
		return n.between(f)
	}
	return n.limit(f)
}

// between resolves the two positions of a lever.
func (n *Network) between(f Fault) (Fault, error) {
	words := strings.Fields(f.With)
	if len(words) != 2 || words[0] == words[1] {
		return f, errors.New("the lever stands between two positions: write such as lever=between D 2")
	}
	var at [2]int
	all := kinematics.Map(n.Train.Positions, func(p kinematics.Position) string { return p.Name })
	for i, w := range words {
		if at[i] = slices.Index(all, w); at[i] < 0 {
			return f, n.Train.NoSuch("position", w, all)
		}
	}
	if at[0]-at[1] != 1 && at[1]-at[0] != 1 {
		return f, fmt.Errorf("%s and %s are not beside each other: the positions are %s", words[0], words[1],
			strings.Join(all, ", "))
	}
	f.at, f.with = min(at[0], at[1]), max(at[0], at[1])
	return n.limit(f)
}

func (n *Network) limit(f Fault) (Fault, error) {
	for _, name := range f.Ranges {
		r, err := n.Train.FindRange(name)
		if err != nil {
			return f, err
		}
		if r >= 64 {
			return f, fmt.Errorf("only the first 64 ranges can be named behind @")
		}
		f.ranges |= 1 << r
	}
	return f, nil
}

// partAt is the index of a part among its like.
func (n *Network) partAt(part string) int {
	for _, list := range [][]string{n.solenoids, n.Valves(), n.Circuits(), n.Balls()} {
		if i := slices.Index(list, part); i >= 0 {
			return i
		}
	}
	return 0
}

// SingleFaults returns every single fault of the controls, each in all ranges, in
// the order of the file.
func (n *Network) SingleFaults() []Fault {
	var list []Fault
	add := func(part string, kind Kind, with string) {
		f, err := n.fault(Fault{Part: part, Kind: kind, With: with})
		if err != nil {
			panic("controls: " + err.Error())
		}
		list = append(list, f)
	}
	wired := n.Wired()
	for _, s := range n.solenoids {
		for _, k := range n.Kinds(s) {
			if k != Crossed {
				add(s, k, "")
			}
		}
		for _, other := range wired[slices.Index(wired, s)+1:] {
			if slices.Contains(wired, s) {
				add(s, Crossed, other)
			}
		}
	}
	for _, part := range slices.Concat(n.Valves(), n.Circuits(), n.Balls(), []string{"supply", "line"}) {
		for _, k := range n.Kinds(part) {
			if k != Into {
				add(part, k, "")
			}
		}
	}
	for _, p := range n.pairs {
		add(n.circuits[p[0]].name, Into, n.circuits[p[1]].name)
	}
	for i := range n.Train.Positions[:max(0, len(n.Train.Positions)-1)] {
		add("lever", Between, n.Train.Positions[i].Name+" "+n.Train.Positions[i+1].Name)
	}
	return list
}

// Contradicts says why f cannot be beside the others.
func (n *Network) Contradicts(others []Fault, f Fault) error {
	for _, o := range others {
		shared := o.ranges == 0 || f.ranges == 0 || o.ranges&f.ranges != 0
		if o.Part != f.Part || !shared {
			continue
		}
		switch {
		case o.Kind == f.Kind && o.With == f.With:
			return fmt.Errorf("%s is %s already", f.Part, strings.TrimSpace(string(f.Kind)+" "+f.With))
		case f.Kind == Crossed || o.Kind == Crossed, f.Kind == Into || o.Kind == Into, f.Kind == Spring || o.Kind == Spring:
			continue
		}
		return fmt.Errorf("%s cannot be both %s and %s in the same range", f.Part, o.Kind, f.Kind)
	}
	return nil
}

// Check refuses faults that are none of these controls, or contradict one another; it returns
// them as [Network.ParseFault] makes them.
func (n *Network) Check(faults []Fault) ([]Fault, error) {
	var list []Fault
	for _, f := range faults {
		f, err := n.ParseFault(f.String())
		if err == nil {
			err = n.Contradicts(list, f)
		}
		if err != nil {
			return nil, err
		}
		list = append(list, f)
	}
	return list, nil
}

// switched is which solenoids are on when those of the set are commanded.
func switched(on uint64, rng int, faults []Fault) uint64 {
	for i := range faults {
		if f := &faults[i]; f.solenoid && f.Kind == Crossed && f.actsIn(rng) {
			if a, b := on>>f.at&1, on>>f.with&1; a != b {
				on ^= 1<<f.at | 1<<f.with
			}
		}
	}
	for _, mechanical := range []bool{false, true} {
		for i := range faults {
			f := &faults[i]
			if !f.solenoid || !f.actsIn(rng) || mechanical != (f.Kind == StuckOn || f.Kind == StuckOff) {
				continue
			}
			switch f.Kind {
			case StuckOn, ShortOn:
				on |= 1 << f.at
			case StuckOff, NoCurrent:
				on &^= 1 << f.at
			case Lost:
				on &^= f.wires
			}
		}
	}
	return on
}

// put sets some lanes to a command under faults.
func (b *bank) put(lanes uint64, node *Node, faults []Fault) {
	positions := uint64(0)
	if node.Position >= 0 {
		positions = 1 << node.Position
	}
	for i := range faults {
		f := &faults[i]
		if f.solenoid || !f.actsIn(node.Range) {
			continue
		}
		switch f.Kind {
		case StuckUp:
			b.up[f.at] |= lanes
		case StuckDown:
			b.down[f.at] |= lanes
		case Spring:
			b.spring[f.at] |= lanes
		case Blocked:
			b.blocked[f.at] |= lanes
		case Leaks:
			b.leaks[f.at] |= lanes
		case Into:
			b.into[f.with] |= lanes
			b.joins = true
		case Gone:
			b.missing[f.at] |= lanes
			b.joins = true
		case Between:
			if two := uint64(1)<<f.at | 1<<f.with; positions&two != 0 {
				positions |= two
			}
		case NoLine:
			b.lineNone |= lanes
		}
	}
	b.lever(lanes, positions)
	b.solenoids(lanes, switched(node.On, node.Range, faults))
}
