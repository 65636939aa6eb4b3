package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tieup/kinematics"
)

// faultFlags are the flags by which every command that solves takes faults.
type faultFlags struct {
	stuck, open, faults []string
}

func (f *faultFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringArrayVar(&f.stuck, "stuck", nil, "`NAME` holds in all ranges (a one-way clutch: is seized); repeatable")
	flags.StringArrayVar(&f.open, "open", nil, "`NAME` never holds (a one-way clutch: slips; the pawl: is missing); repeatable")
	flags.StringArrayVar(&f.faults, "fault", nil, "`NAME=KIND` or NAME=KIND@RANGE,RANGE: stuck, open; slips, seized, reversed for a one-way clutch; sheared for JOINT:MEMBER; missing for the pawl; repeatable")
	complete(cmd, "stuck", completeElements)
	complete(cmd, "open", completeElements)
	complete(cmd, "fault", completeFault)
}

// parse reads all faults for t and refuses two of one coupling in one range.
func (f *faultFlags) parse(t *kinematics.Train) ([]kinematics.Fault, error) {
	var faults []kinematics.Fault
	read := func(flag string, words []string, parse func(*kinematics.Train, string) (kinematics.Fault, error)) error {
		for _, w := range words {
			fault, err := parse(t, w)
			if err == nil {
				err = contradicts(t, faults, fault)
			}
			if err != nil {
				return fmt.Errorf("--%s %s: %w", flag, w, err)
			}
			faults = append(faults, fault)
		}
		return nil
	}
	short := func(kind kinematics.FaultKind) func(*kinematics.Train, string) (kinematics.Fault, error) {
		return func(t *kinematics.Train, name string) (kinematics.Fault, error) { return shortFault(t, name, kind) }
	}
	if err := read("stuck", f.stuck, short(kinematics.Stuck)); err != nil {
		return nil, err
	}
	if err := read("open", f.open, short(kinematics.OpenF)); err != nil {
		return nil, err
	}
	if err := read("fault", f.faults, parseFault); err != nil {
		return nil, err
	}
	return faults, nil
}

// contradicts refuses a second fault of a coupling in the same range.
func contradicts(t *kinematics.Train, faults []kinematics.Fault, f kinematics.Fault) error {
	for _, o := range faults {
		if o.Coupling != f.Coupling {
			continue
		}
		shared := len(o.Ranges) == 0 || len(f.Ranges) == 0
		for _, r := range f.Ranges {
			shared = shared || slices.Contains(o.Ranges, r)
		}
		if !shared {
			continue
		}
		name := t.Couplings[f.Coupling].Name
		if o.Kind == f.Kind {
			return fmt.Errorf("%s is %s already", name, f.Kind)
		}
		return fmt.Errorf("%s cannot be both %s and %s in the same range", name, o.Kind, f.Kind)
	}
	return nil
}

// kindsOf lists the kinds of fault that a coupling can have and that speeds
// alone can tell.
func kindsOf(c *kinematics.Coupling) []kinematics.FaultKind {
	switch c.Kind {
	case kinematics.OneWay:
		return []kinematics.FaultKind{kinematics.Slips, kinematics.Seized, kinematics.Backward}
	case kinematics.Spline:
		return []kinematics.FaultKind{kinematics.Sheared}
	case kinematics.Pawl:
		return []kinematics.FaultKind{kinematics.Missing}
	}
	return []kinematics.FaultKind{kinematics.Stuck, kinematics.OpenF}
}

// shortFault reads --stuck NAME and --open NAME: for couplings that have other
// words for it, those are taken.
func shortFault(t *kinematics.Train, name string, kind kinematics.FaultKind) (kinematics.Fault, error) {
	i, err := findCoupling(t, name)
	if err != nil {
		return kinematics.Fault{}, err
	}
	c := &t.Couplings[i]
	switch {
	case c.Kind == kinematics.OneWay && kind == kinematics.Stuck:
		kind = kinematics.Seized
	case c.Kind == kinematics.OneWay:
		kind = kinematics.Slips
	case c.Kind == kinematics.Spline && kind == kinematics.OpenF:
		kind = kinematics.Sheared
	case c.Kind == kinematics.Pawl && kind == kinematics.OpenF:
		kind = kinematics.Missing
	case !slices.Contains(kindsOf(c), kind):
		return kinematics.Fault{}, cannotBe(c, string(kind))
	}
	return kinematics.Fault{Coupling: i, Kind: kind}, nil
}

// parseFault reads NAME=KIND or NAME=KIND@RANGE,RANGE.
func parseFault(t *kinematics.Train, text string) (kinematics.Fault, error) {
	var f kinematics.Fault
	name, rest, ok := strings.Cut(text, "=")
	if !ok {
		return f, fmt.Errorf("write NAME=KIND, such as %s", exampleFault(t))
	}
	word, ranges, limited := strings.Cut(rest, "@")
	i, err := findCoupling(t, strings.TrimSpace(name))
	if err != nil {
		return f, err
	}
	c := &t.Couplings[i]
	kind, share, shared := strings.Cut(strings.TrimSpace(word), " ")
	f = kinematics.Fault{Coupling: i, Kind: kinematics.FaultKind(kind)}
	allowed := kindsOf(c)
	switch {
	case f.Kind == kinematics.Weak || f.Kind == kinematics.Dragging:
		return f, fmt.Errorf("%s acts through torque, and only speeds are computed here: use open or stuck for its two ends", kind)
	case !slices.Contains(allowed, f.Kind):
		return f, cannotBe(c, kind)
	case shared:
		return f, fmt.Errorf("a share of the rating (%s) acts through torque, and only speeds are computed here: leave it out", strings.TrimSpace(share))
	}
	if limited {
		for r := range strings.SplitSeq(ranges, ",") {
			found, err := findRange(t, strings.TrimSpace(r))
			if err != nil {
				return f, err
			}
			f.Ranges = append(f.Ranges, found.Name)
		}
	}
	return f, nil
}

// cannotBe says what can be wrong with c instead of kind.
func cannotBe(c *kinematics.Coupling, kind string) error {
	what := map[kinematics.CouplingKind]string{
		kinematics.OneWay: "a one-way clutch", kinematics.Spline: "a member of a joint", kinematics.Pawl: "the parking pawl",
	}[c.Kind]
	if what == "" {
		what = "a " + c.Kind.String()
	}
	var words []string
	for _, k := range kindsOf(c) {
		words = append(words, string(k))
	}
	all := append(words, string(kinematics.Weak), string(kinematics.Dragging), string(kinematics.Stuck), string(kinematics.OpenF),
		string(kinematics.Slips), string(kinematics.Seized), string(kinematics.Backward), string(kinematics.Sheared), string(kinematics.Missing))
	if near := kinematics.Nearest(kind, all); near != "" && slices.Contains(words, near) {
		return fmt.Errorf("no such fault %s: did you mean %s?", quote(kind), near)
	}
	return fmt.Errorf("%s is %s and cannot be %s: write %s", c.Name, what, quote(kind), strings.Join(words, " or "))
}

func exampleFault(t *kinematics.Train) string {
	if t.Elements == 0 {
		return "forward=stuck"
	}
	c := &t.Couplings[0]
	return c.Name + "=" + string(kindsOf(c)[0])
}

// findCoupling looks up an element or a member of a joint ("shell:front.sun").
func findCoupling(t *kinematics.Train, name string) (int, error) {
	if i, ok := t.Coupling(name); ok {
		return i, nil
	}
	for _, j := range t.Joints {
		if j.Name != name {
			continue
		}
		var splines []string
		for _, s := range j.Splines {
			if s >= 0 {
				splines = append(splines, t.Couplings[s].Name)
			}
		}
		return 0, fmt.Errorf("%s is a joint: say which of its members shears: %s", name, strings.Join(splines, ", "))
	}
	if strings.Contains(name, ":") {
		var splines []string
		for _, c := range t.Couplings[t.Elements:] {
			splines = append(splines, c.Name)
		}
		return 0, unknown(t, "joint with member", name, splines)
	}
	return 0, unknown(t, "element", name, t.ElementNames())
}
