package lesson

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// An Answer is what a learner can say that a range does.
type Answer string

// The answers: the verdicts of package solve, and what a range does in which
// the pawl alone keeps the vehicle from driving.
var (
	forward    = Answer(solve.Forward.String())
	reverse    = Answer(solve.Reverse.String())
	neutral    = Answer(solve.Neutral.String())
	outputHeld = Answer(solve.OutputHeld.String())
	inputHeld  = Answer(solve.InputHeld.String())
	tieUp      = Answer(solve.TieUp.String())
)

const lurches Answer = "lurch"

var answers = []Answer{forward, reverse, neutral, outputHeld, inputHeld, tieUp}

var words = map[Answer]string{
	forward: string(reading.DrivesForward), reverse: string(reading.DrivesBackward), neutral: string(reading.NoDrive),
	outputHeld: string(reading.OutputHeld), inputHeld: string(reading.InputHeld), tieUp: string(reading.TiesUp),
	lurches: "lurches against the pawl",
}

// String returns the answer in the words of package reading.
func (a Answer) String() string { return words[a] }

var meanings = map[Answer]string{
	forward: "turning the input drives it forward", reverse: "turning the input drives it backward",
	neutral: "the input turns and drives nothing", outputHeld: "the input turns, the output is held",
	inputHeld: "the input cannot turn, the output still can", tieUp: "neither input nor output can turn",
	lurches: "it would drive, but the pawl alone holds it",
}

// Meaning says in a line what the answer stands for.
func (a Answer) Meaning() string { return meanings[a] }

// Code returns the answer as addresses and files hold it.
func (a Answer) Code() string { return string(a) }

// Answers returns what can be said of a range: one that applies a pawl can also
// lurch.
func Answers(t *kinematics.Train, r *kinematics.Range) []Answer {
	pawl := func(e int) bool { return t.Couplings[e].Kind == kinematics.Pawl }
	if slices.ContainsFunc(r.Apply, pawl) {
		return append(slices.Clone(answers), lurches)
	}
	return answers
}

// Right returns the right answer for what a range does with the rated torque at
// its input: a drag that is stronger holds the input, whatever the speeds allow, and
// where something gives way first, that decides.
func Right(c reading.RangeReading) Answer {
	switch f := c.Friction; {
	case c.Lurch != "":
		return lurches
	case f != nil && f.Held:
		return inputHeld
	case f != nil && f.Gives && c.Outcome.Drives():
		return map[int]Answer{1: forward, -1: reverse, 0: neutral}[f.GivenWay()]
	}
	return Answer(c.Outcome.Verdict.String())
}
