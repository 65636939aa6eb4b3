package plots

import (
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// A Ladder draws what turns how fast while a vehicle accelerates through its
// forward ranges: input, members and slips against output speed.
type Ladder struct {
	*analysis.Ladder

	slipsAlone bool // only the lower scale is drawn
	hues       map[kinematics.MemberID]int
}

// ShiftLadder draws a ladder.
func ShiftLadder(x *analysis.Ladder) *Ladder {
	return &Ladder{Ladder: x, hues: hues(x.Train.Bodies(x.Question.Faults), x.Train.Input, x.Train.Output)}
}

func (l *Ladder) heading() heading {
	h := headed("Shift ladder", l.Train, l.Question, l.Cautions, l.Outcomes...)
	note := reading.SignNote + ". The output speed counts as the vehicle moves forward. " +
		"Numbers at the steps: the ratio left by the ratio entered."
	if !l.RPM {
		note += " Speeds are shares of the input speed at which every range is left."
	}
	h.notes = []string{note, "Slips: how fast released elements and overrunning one-way clutches slip, without sign."}
	if undriven := l.Undriven(); undriven != "" {
		h.notes = append(h.notes, undriven)
	}
	return h
}
