package kinematics

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// FaultKind is a way in which a coupling can be wrong.
type FaultKind string

// The kinds of fault, as they are written on the command line.
const (
	Stuck    FaultKind = "stuck"    // locked always: welded, or held at a share of its rating
	OpenF    FaultKind = "open"     // never holds
	Weak     FaultKind = "weak"     // holds with a share of its rating
	Dragging FaultKind = "dragging" // resists with a share of its rating when released
	Slips    FaultKind = "slips"    // a one-way clutch that holds neither way
	Seized   FaultKind = "seized"   // a one-way clutch that holds both ways
	Backward FaultKind = "reversed" // a one-way clutch fitted backwards
	Sheared  FaultKind = "sheared"  // a member that turns free of its joint
	Missing  FaultKind = "missing"  // a parking pawl that holds nothing
)

// AllFaultKinds are the kinds of fault of any coupling.
func AllFaultKinds() []FaultKind { return slices.Clone(allFaultKinds) }

var allFaultKinds = []FaultKind{Stuck, OpenF, Weak, Dragging, Slips, Seized, Backward, Sheared, Missing}

// A Fault is what is wrong with one coupling.
type Fault struct {
	Coupling int // index into Train.Couplings
	Kind     FaultKind
	Share    Share // of the rating, for weak, dragging and partly stuck ones
	Ranges   []string
	// Cause is what in the controls brings it about, as package controls writes it;
	// "" for a fault of the coupling itself.
	Cause string
}

// A Share is a part of an element's rating as an exact fraction, so that
// decisions that depend on it stay exact. The zero Share is none.
type Share struct{ Num, Den int64 }

// IsSet says whether there is a share.
func (s Share) IsSet() bool { return s.Den != 0 }

// String returns the share as [ParseShare] reads it, exactly: "0.6", a fraction
// where a decimal would not end soon, or "" if there is none.
func (s Share) String() string {
	if !s.IsSet() {
		return ""
	}
	r := big.NewRat(s.Num, s.Den)
	if places, exact := r.FloatPrec(); exact && places <= 18 {
		return r.FloatString(places)
	}
	return r.String()
}

// ParseShare reads a share such as 0.6 or 3/5; it must be above 0 and at most 10.
func ParseShare(text string) (Share, error) {
	r, ok := new(big.Rat).SetString(text)
	if !ok || strings.ContainsAny(text, "eE_xXpP") || len(text) > 20 {
		return Share{}, fmt.Errorf("%q is not a share of the rating: write a number such as 0.6", text)
	}
	if !r.Num().IsInt64() || !r.Denom().IsInt64() {
		return Share{}, notShare(text)
	}
	s := Share{r.Num().Int64(), r.Denom().Int64()}
	if s.Check() != nil {
		return Share{}, notShare(text)
	}
	return s, nil
}

// Check refuses what is no share: it must be above 0 and at most 10.
func (s Share) Check() error {
	if s.Num <= 0 || s.Den <= 0 || (s.Num-1)/10 >= s.Den {
		return notShare(s.String())
	}
	return nil
}

func notShare(text string) error {
	return fmt.Errorf("a share of the rating is above 0 and at most 10, not %s", cmp.Or(text, "none"))
}

// Times returns the share of a share.
func (s Share) Times(by Share) Share {
	r := new(big.Rat).Mul(big.NewRat(s.Num, s.Den), big.NewRat(by.Num, by.Den))
	return Share{r.Num().Int64(), r.Denom().Int64()}
}

// ActsIn says whether the fault acts in the range of that name: it does in all
// ranges unless it names some.
func (f Fault) ActsIn(name string) bool {
	return len(f.Ranges) == 0 || slices.Contains(f.Ranges, name)
}

// Acting returns the faults that act in a range.
func Acting(faults []Fault, r *Range) []Fault {
	var here []Fault
	for _, f := range faults {
		if f.ActsIn(r.Name) {
			here = append(here, f)
		}
	}
	return here
}

// apply changes the mode of the faulty coupling. One-way clutches that are
// switched out stay out unless they are seized.
func (f Fault) apply(modes []Mode) {
	m := &modes[f.Coupling]
	switch f.Kind {
	case Stuck:
		*m = Locked // with a share of the rating, up to the torque at which it slips
	case Seized:
		*m = Locked
	case OpenF, Slips, Sheared, Missing:
		*m = Open
	case Backward:
		if *m == Overruns {
			*m = Reversed
		}
	}
}

// SingleFaults returns every single fault that needs no torque to act, in the
// order of the couplings: stuck and open for what is applied, slips, seized and
// reversed for one-way clutches, missing for the pawl, sheared for each member
// of a joint (one of the two where a joint has only two: they part either way).
func (t *Train) SingleFaults() []Fault {
	var list []Fault
	for i := range t.Couplings {
		for _, k := range t.FaultKinds(i) {
			if k == Weak || k == Dragging {
				continue
			}
			if k == Sheared && t.Joints[t.Couplings[i].Joint].twin(i) {
				continue
			}
			list = append(list, Fault{Coupling: i, Kind: k})
		}
	}
	return list
}

// twin says whether spline i is the second of a joint with two splines and no
// housing: shearing it parts the same members as shearing the first.
func (j *Joint) twin(i int) bool {
	return len(j.Splines) == 2 && j.Hub != Housing && j.Splines[1] == i
}

// FaultKinds returns the kinds of fault that coupling i can have.
func (t *Train) FaultKinds(i int) []FaultKind {
	switch c := &t.Couplings[i]; c.Kind {
	case Spline:
		return []FaultKind{Sheared}
	case OneWay:
		return []FaultKind{Slips, Seized, Backward}
	case Pawl:
		return []FaultKind{Missing}
	case Dog:
		return []FaultKind{Stuck, OpenF}
	default:
		return []FaultKind{Stuck, OpenF, Weak, Dragging}
	}
}
