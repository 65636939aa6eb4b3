package kinematics

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// MustFault is [ParseFault] for a text that is written in a program: it panics where the
// train has no such fault.
func (t *Train) MustFault(text string) Fault {
	f, err := ParseFault(t, text)
	if err != nil {
		panic(err)
	}
	return f
}

// ParseFault reads a fault as users write it, NAME=KIND, with a share of the
// rating behind the kind and the only ranges in which it acts behind an @, unless
// the part itself is wrong, as one that is sheared, missing or fitted backwards is:
//
//	forward=stuck
//	forward=weak 0.6
//	roller=seized@D2,D3
//	shell:front.sun=sheared
func ParseFault(t *Train, text string) (Fault, error) {
	name, rest, ok := strings.Cut(text, "=")
	if !ok {
		return Fault{}, fmt.Errorf("write NAME=KIND, such as %s", exampleFault(t))
	}
	i, err := t.FindCoupling(strings.TrimSpace(name))
	if err != nil {
		return Fault{}, err
	}
	what, ranges, limited := strings.Cut(rest, "@")
	kind, share, _ := strings.Cut(strings.TrimSpace(what), " ")
	f := Fault{Coupling: i, Kind: FaultKind(kind)}
	if err := t.checkKind(f); err != nil {
		return Fault{}, err
	}
	if share = strings.TrimSpace(share); share != "" {
		if err := t.takesShare(f, share); err != nil {
			return Fault{}, err
		}
		if f.Share, err = ParseShare(share); err != nil {
			return Fault{}, err
		}
	}
	if limited {
		for name := range strings.SplitSeq(ranges, ",") {
			f.Ranges = append(f.Ranges, strings.TrimSpace(name))
		}
	}
	return f, t.CheckFault(f)
}

// CheckFault refuses a fault that the train cannot have: of a coupling that is not there, of
// a kind that this cannot be, with a share that this cannot have or without one that it needs,
// or in ranges that are not there or named twice.
func (t *Train) CheckFault(f Fault) error {
	if err := t.checkKind(f); err != nil {
		return err
	}
	if err := t.checkShare(f); err != nil {
		return err
	}
	if len(f.Ranges) == 0 {
		return nil
	}
	if err := t.everywhere(f); err != nil {
		return err
	}
	for i, name := range f.Ranges {
		if _, err := t.FindRange(name); err != nil {
			return err
		}
		if slices.Contains(f.Ranges[:i], name) {
			return fmt.Errorf("%s is given twice behind @: name each range once", name)
		}
	}
	return nil
}

// checkKind refuses a coupling that is not there, and a kind that it cannot be.
func (t *Train) checkKind(f Fault) error {
	switch {
	case f.Coupling < 0 || f.Coupling >= len(t.Couplings):
		return fmt.Errorf("%s has no coupling number %d: they are 0 to %d", t.Name, f.Coupling, len(t.Couplings)-1)
	case !slices.Contains(t.FaultKinds(f.Coupling), f.Kind):
		return t.cannotBe(f.Coupling, string(f.Kind))
	}
	return nil
}

// CheckElements refuses what is no element of the train.
func (t *Train) CheckElements(elements ...int) error {
	for _, e := range elements {
		if e < 0 || e >= t.ElementCount {
			return fmt.Errorf("%s has no element number %d: they are 0 to %d", t.Name, e, t.ElementCount-1)
		}
	}
	return nil
}

// CheckRange refuses a range, or a combination without a name, that is none of the train: it
// applies what is no element, its ends are not two members that can turn, or it has the name of
// a range that applies other elements.
func (t *Train) CheckRange(r *Range) error {
	if err := t.CheckElements(r.Apply...); err != nil {
		return err
	}
	turns := func(m MemberID) bool { return m > 0 && int(m) < len(t.Members) }
	if !turns(r.Input) || !turns(r.Output) || r.Input == r.Output {
		return fmt.Errorf("give the range two members of %s, other than the housing, as input and output", t.Name)
	}
	if i, known := t.Range(r.Name); known && !slices.Equal(r.Apply, t.Ranges[i].Apply) {
		return fmt.Errorf("%s of %s applies other elements: leave out the name of a combination", r.Name, t.Name)
	}
	return nil
}

// everywhere refuses to limit a fault to ranges that is one of the parts: these
// are the same in every range.
func (t *Train) everywhere(f Fault) error {
	is := map[FaultKind]string{Sheared: "sheared", Missing: "missing", Backward: "fitted backwards"}[f.Kind]
	if is == "" {
		return nil
	}
	return fmt.Errorf("what is %s is so in every range: write %s", is, t.FaultText(Fault{Coupling: f.Coupling,
		Kind: f.Kind}))
}

// ParseShortFault reads a fault of which only the name is written, the kind
// being [Stuck] or [OpenF]: couplings that have another word for it get that.
func ParseShortFault(t *Train, name string, kind FaultKind) (Fault, error) {
	i, err := t.FindCoupling(name)
	if err != nil {
		return Fault{}, err
	}
	switch c := &t.Couplings[i]; {
	case c.Kind == OneWay && kind == Stuck:
		kind = Seized
	case c.Kind == OneWay:
		kind = Slips
	case c.Kind == Spline && kind == OpenF:
		kind = Sheared
	case c.Kind == Pawl && kind == OpenF:
		kind = Missing
	case !slices.Contains(t.FaultKinds(i), kind):
		return Fault{}, t.cannotBe(i, string(kind))
	}
	return Fault{Coupling: i, Kind: kind}, nil
}

// FaultText writes a fault as [ParseFault] reads it.
func (t *Train) FaultText(f Fault) string {
	text := t.Couplings[f.Coupling].Name + "=" + string(f.Kind)
	if f.Share.IsSet() {
		text += " " + f.Share.String()
	}
	if len(f.Ranges) > 0 {
		text += "@" + strings.Join(f.Ranges, ",")
	}
	return text
}

// Contradicts says why f cannot be beside the others: they are of the same
// coupling in the same range. An element may be weak when applied and dragging
// when released.
func (t *Train) Contradicts(others []Fault, f Fault) error {
	for _, o := range others {
		shared := len(o.Ranges) == 0 || len(f.Ranges) == 0 ||
			slices.ContainsFunc(f.Ranges, func(r string) bool { return slices.Contains(o.Ranges, r) })
		if o.Coupling != f.Coupling || !shared {
			continue
		}
		name := t.Couplings[f.Coupling].Name
		switch {
		case o.Kind == f.Kind:
			return fmt.Errorf("%s is %s already", name, f.Kind)
		case o.Kind == Weak && f.Kind == Dragging, o.Kind == Dragging && f.Kind == Weak:
		default:
			return fmt.Errorf("%s cannot be both %s and %s in the same range", name, o.Kind, f.Kind)
		}
	}
	return nil
}

// checkShare refuses a share of the rating that a fault cannot have, or needs and has not.
func (t *Train) checkShare(f Fault) error {
	needs := f.Kind == Weak || f.Kind == Dragging
	switch {
	case needs && !f.Share.IsSet():
		example := map[FaultKind]string{Weak: "0.6", Dragging: "0.1"}[f.Kind]
		return fmt.Errorf("%s with what share of its rating? Write %s=%s %s", f.Kind, t.Couplings[f.Coupling].Name, f.Kind,
			example)
	case !f.Share.IsSet():
		return nil
	}
	if err := t.takesShare(f, f.Share.String()); err != nil {
		return err
	}
	if err := f.Share.Check(); err != nil {
		return err
	}
	if f.Kind == Weak && f.Share.Num >= f.Share.Den {
		return errors.New("what is weak holds with less than its rating: write a share below 1")
	}
	return nil
}

// takesShare refuses a share, as it is written, of a fault that has none.
func (t *Train) takesShare(f Fault, share string) error {
	switch c := &t.Couplings[f.Coupling]; {
	case f.Kind == Stuck && !c.Kind.Friction():
		return fmt.Errorf("%s does not slip, so it is stuck whole: leave %s out", c.Name, Quote(share))
	case f.Kind != Weak && f.Kind != Dragging && f.Kind != Stuck:
		return fmt.Errorf("%s takes no share of the rating: leave %s out", f.Kind, Quote(share))
	}
	return nil
}

// cannotBe says what can be wrong with coupling i instead of kind.
func (t *Train) cannotBe(i int, kind string) error {
	c := &t.Couplings[i]
	what := map[CouplingKind]string{OneWay: "a one-way clutch", Spline: "a member of a joint",
		Pawl: "the parking pawl"}[c.Kind]
	if what == "" {
		what = "a " + c.Kind.String()
	}
	var words, all []string
	for _, k := range t.FaultKinds(i) {
		words = append(words, string(k))
	}
	for _, k := range allFaultKinds {
		all = append(all, string(k))
	}
	if near := Nearest(kind, append(slices.Clip(words), all...)); near != "" && slices.Contains(words, near) {
		return fmt.Errorf("no such fault %s: did you mean %s?", Quote(kind), near)
	}
	return fmt.Errorf("%s is %s and cannot be %s: write %s", c.Name, what, Quote(kind), Or(words))
}

func exampleFault(t *Train) string {
	if t.ElementCount == 0 {
		return "forward=stuck"
	}
	return t.Couplings[0].Name + "=" + string(t.FaultKinds(0)[0])
}
