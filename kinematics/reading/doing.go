package reading

import (
	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// A Doing is what a coupling does in a range, in a word of the application chart.
type Doing struct {
	Word DoingWord // "" for released
	// Fault is what is wrong with the coupling in the range, "" for nothing.
	Fault kinematics.FaultKind
	// Closed says that it joins what it lies between; a one-way clutch that idles does not.
	Closed bool
}

// A DoingWord is a word of the application chart.
type DoingWord string

// The words of an application chart.
const (
	Applied  DoingWord = "applied"
	Holds    DoingWord = "holds"    // a one-way clutch under drive
	Overruns DoingWord = "overruns" // the same
	Idle     DoingWord = "idle"     // a one-way clutch that neither holds nor overruns
)

// Doings says what each coupling does in a range, from its motion under faults.
func Doings(t *kinematics.Train, r *kinematics.Range, m *solve.Motion, faults []kinematics.Fault) []Doing {
	list := make([]Doing, len(t.Couplings))
	for i := range list {
		state := m.States[i]
		list[i].Closed = state == solve.StateLocked || state == solve.StateHolding
		switch {
		case t.Couplings[i].Kind != kinematics.OneWay:
			if r.Applies(i) {
				list[i].Word = Applied
			}
		case state == solve.StateHolding:
			list[i].Word = Holds
		case state == solve.StateOverrunning:
			list[i].Word = Overruns
		case state == solve.StateIdle || state == solve.StateFree:
			list[i].Word = Idle
		}
	}
	for _, f := range kinematics.Acting(faults, r) {
		list[f.Coupling].Fault = f.Kind
	}
	return list
}

// StateWord is what a coupling without a fault does in a state, "" where it is released or idle.
func StateWord(s solve.CouplingState) DoingWord {
	switch s {
	case solve.StateLocked:
		return Applied
	case solve.StateHolding:
		return Holds
	case solve.StateOverrunning:
		return Overruns
	}
	return ""
}

// Faulty says whether something is wrong with the coupling in the range.
func (d Doing) Faulty() bool { return d.Fault != "" }

// Text is the word with the fault: of a one-way clutch that is fitted backwards
// what it does then is worth knowing, too.
func (d Doing) Text() string {
	switch {
	case d.Fault == "":
		return string(d.Word)
	case d.Fault == kinematics.Backward && d.Word != "":
		return string(d.Fault) + ", " + string(d.Word)
	}
	return string(d.Fault)
}

// Mark is the word as the text of an application chart marks it, without faults:
// "on" for what is applied, nothing for what is idle.
func (d Doing) Mark() string {
	switch d.Word {
	case Applied:
		return "on"
	case Holds, Overruns:
		return string(d.Word)
	}
	return ""
}

// A Difference is the kind of what a faulty range does other than the healthy one.
type Difference int

// The differences, the worst last.
const (
	SameAsHealthy    Difference = iota
	OtherwiseRolling            // coasting, holding against rolling
	DriveLost
	WrongRatio
	TiedUp      // or what stood free is held
	MustNot     // drives where it must not, or the other way
	Differences // their number
)

// String says what a difference is.
func (d Difference) String() string {
	return [...]string{
		SameAsHealthy: "as when healthy", OtherwiseRolling: "coasting or rolling differs", DriveLost: "drive lost",
		WrongRatio: "wrong ratio", TiedUp: "ties up or is held", MustNot: "drives where it must not, or the wrong way",
	}[d]
}

// Difference returns the kind of what the faults change.
func (r Row) Difference() Difference {
	if len(r.Changes) == 0 {
		return SameAsHealthy
	}
	h, f := r.Healthy.Outcome, r.Faulty.Outcome
	hRatio, _ := h.Ratio()
	fRatio, _ := f.Ratio()
	switch {
	case r.Faulty.Lurch != r.Healthy.Lurch && r.Faulty.Lurch != "", f.Drives() && h.Verdict != f.Verdict:
		return MustNot
	case !f.Drives() && h.Verdict != f.Verdict && f.Verdict != solve.Neutral:
		return TiedUp
	case h.Drives() && !f.Drives():
		return DriveLost
	case h.Drives() && hRatio.Cmp(fRatio) != 0:
		return WrongRatio
	}
	return OtherwiseRolling
}
