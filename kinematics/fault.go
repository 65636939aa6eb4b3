package kinematics

import "slices"

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

// A Fault is what is wrong with one coupling.
type Fault struct {
	Coupling int // index into Train.Couplings
	Kind     FaultKind
	Share    float64 // of the rating, for weak, dragging and partly stuck ones; 0 = not given
	Ranges   []string
}

// ActsIn says whether the fault acts in the range of that name: it does in all
// ranges unless it names some.
func (f Fault) ActsIn(name string) bool {
	return len(f.Ranges) == 0 || slices.Contains(f.Ranges, name)
}

// apply changes the mode of the faulty coupling. One-way clutches that are
// switched out stay out unless they are seized.
func (f Fault) apply(modes []Mode) {
	m := &modes[f.Coupling]
	switch f.Kind {
	case Stuck:
		if f.Share == 0 {
			*m = Locked
		}
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
