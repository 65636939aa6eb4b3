package kinematics

// Mode is what a coupling does in a state, whatever the reason.
type Mode uint8

// The modes of a coupling with slip s = wA - wB.
const (
	Open     Mode = iota // carries no torque; s is anything
	Locked               // s = 0
	Overruns             // one-way: s >= 0, holds against s < 0
	Reversed             // one-way fitted backwards: s <= 0, holds against s > 0
)

// A State says what every coupling of a train does, and which members are its
// input and output.
type State struct {
	Input, Output MemberID
	Modes         []Mode // parallel to Train.Couplings
}

// Clone returns a state that shares nothing with s.
func (s State) Clone() State {
	s.Modes = append([]Mode(nil), s.Modes...)
	return s
}

// Applying returns the healthy state in which exactly the given elements are
// applied: splines locked, one-way clutches acting unless they are switched
// and not applied.
func (t *Train) Applying(elements ...int) State {
	s := State{Input: t.Input, Output: t.Output, Modes: make([]Mode, len(t.Couplings))}
	t.ApplyTo(s.Modes, elements...)
	return s
}

// ApplyTo writes the modes of [Train.Applying] into modes, one per coupling.
func (t *Train) ApplyTo(modes []Mode, elements ...int) {
	for i := range t.Couplings {
		c := &t.Couplings[i]
		switch {
		case c.Kind == Spline:
			modes[i] = Locked
		case c.Kind == OneWay && !c.Switched:
			modes[i] = Overruns
		default:
			modes[i] = Open
		}
	}
	for _, e := range elements {
		if t.Couplings[e].Kind == OneWay {
			modes[e] = Overruns
		} else {
			modes[e] = Locked
		}
	}
}

// In returns the state of a range under faults. A fault that is limited to
// ranges acts only if r is one of them. Faults that need torques (weak,
// dragging, held at a share of the rating) do not change the state here.
func (t *Train) In(r *Range, faults ...Fault) State {
	s := t.Applying(r.Apply...)
	s.Input, s.Output = r.Input, r.Output
	for _, f := range faults {
		if f.ActsIn(r.Name) {
			f.apply(s.Modes)
		}
	}
	return s
}
