package reading

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A Word is one of the things that can be said of a state. The table in the
// package comment says when each is said.
type Word string

// The words. Pulling comes first, then coasting.
const (
	DrivesForward  Word = "drives forward"
	DrivesBackward Word = "drives backward"
	NoDrive        Word = "no drive"
	OutputHeld     Word = "no drive, output held"
	InputHeld      Word = "input held"
	TiesUp         Word = "ties up"

	EngineBraking      Word = "engine braking"
	Freewheels         Word = "freewheels"
	RollsFreely        Word = "rolls freely"
	RollsForwardOnly   Word = "rolls forward only"
	RollsBackwardOnly  Word = "rolls backward only"
	DoesNotRoll        Word = "does not roll"
	HoldsAgainstRoll   Word = "does not roll back"
	CoastTurnsEngine   Word = "coasting turns the engine"
	CoastTurnsBackward Word = "coasting turns the engine backward"
)

// A Reading is a state in words.
type Reading struct {
	Words []Word // all that apply, pulling first
	Pull  string // "drives forward at 2.45", "no drive", "ties up"
	Coast string // "engine braking", "freewheels", "does not roll"

	at    string        // the ratio of Pull as it is printed, "" for none
	pulls string        // what follows the word of Pull: " at 2.45"
	rolls []rollingPart // of Coast
}

// speedsAlone puts an outcome of a state of t in words, by its speeds alone: it knows
// nothing of a pawl, of torque or of other ranges. A range is read by [Reader.Read].
func speedsAlone(t *kinematics.Train, o solve.Outcome) Reading {
	var r Reading
	r.pull(t, o)
	if o.Drives() {
		r.coastDriving(o)
	} else {
		r.coastIdle(o)
	}
	return r
}

// Passing is what a train does in a state that it passes through on the way between
// ranges: its speeds alone, without pawl or torque.
func Passing(t *kinematics.Train, o solve.Outcome) RangeReading {
	return RangeReading{Use: t.Use, Outcome: o, Reading: speedsAlone(t, o)}
}

// does are the verdicts as the verb of a sentence that begins with a range.
var does = [...]string{
	solve.Forward: string(DrivesForward), solve.Reverse: string(DrivesBackward), solve.Neutral: "does not drive",
	solve.OutputHeld: "holds the output", solve.InputHeld: "holds the input", solve.TieUp: string(TiesUp),
}

// Does says a verdict behind the name of a range: "does not drive", "ties up".
func Does(v solve.Verdict) string { return does[v] }

// DoesAt is Does with the ratio of what drives: "drives forward at 2.45".
func DoesAt(o solve.Outcome) string {
	if ratio, drives := o.Ratio(); drives {
		return fmt.Sprintf("%s at %.2f", Does(o.Verdict), math.Abs(ratio.Float()))
	}
	return Does(o.Verdict)
}

// PullsLike says whether two readings pull alike, with the same numbers in the places that
// are printed.
func (r Reading) PullsLike(s Reading) bool { return r.Words[0] == s.Words[0] && r.at == s.at }

// CoastsLike is PullsLike of coasting and pushing.
func (r Reading) CoastsLike(s Reading) bool { return slices.Equal(r.rolls, s.rolls) }

// Has says whether w applies.
func (r Reading) Has(w Word) bool {
	return slices.Contains(r.Words, w)
}

func (r *Reading) add(w Word) { r.Words = append(r.Words, w) }

func (r *Reading) pull(t *kinematics.Train, o solve.Outcome) {
	word := map[solve.Verdict]Word{
		solve.Forward: DrivesForward, solve.Reverse: DrivesBackward, solve.Neutral: NoDrive,
		solve.OutputHeld: OutputHeld, solve.InputHeld: InputHeld, solve.TieUp: TiesUp,
	}[o.Verdict]
	r.add(word)
	if ratio, ok := o.Ratio(); ok {
		r.at = Ratio(ratio)
		r.pulls = " at " + r.at
	}
	if word == InputHeld && t.Drive == kinematics.Converter {
		r.pulls = ": the engine is loaded as in a stall test"
	}
	r.Pull = string(word) + r.pulls
}

// coastDriving says what a driving state does when the vehicle rolls on the
// way it was driven, with the throttle closed.
func (r *Reading) coastDriving(o solve.Outcome) {
	back := o.CoastBackward
	if o.Verdict == solve.Reverse {
		back = o.CoastForward
	}
	if ratio, brakes, _ := o.EngineBraking(); brakes {
		part := rollingPart{word: EngineBraking}
		if pull, _ := o.Ratio(); pull.Cmp(ratio) != 0 {
			part.at = Ratio(ratio)
		}
		r.roll(part)
	} else {
		r.roll(rollingPart{word: Freewheels})
	}
	if back.Empty {
		r.roll(rollingPart{word: HoldsAgainstRoll})
	}
	r.Coast = rollingText(r.rolls)
}

// coastIdle says how the vehicle rolls in a state that does not drive it, and
// whether rolling turns the input.
func (r *Reading) coastIdle(o solve.Outcome) {
	f, b := o.CoastForward, o.CoastBackward
	switch {
	case f.Empty && b.Empty:
		r.roll(rollingPart{word: DoesNotRoll})
	case f.Empty:
		r.roll(rollingPart{word: RollsBackwardOnly})
	case b.Empty:
		r.roll(rollingPart{word: RollsForwardOnly})
	}
	r.coasting(f, false)
	r.coasting(b, !f.Empty)
	if len(r.rolls) == 0 {
		r.roll(rollingPart{word: RollsFreely})
	}
	r.Coast = rollingText(r.rolls)
}

// coasting says that rolling, with the input speeds i, must turn the input.
func (r *Reading) coasting(i exact.Interval, backward bool) {
	switch {
	case i.Empty:
	case i.Min.Sign() > 0:
		r.roll(rollingPart{CoastTurnsEngine, backward, Ratio(i.Min.Frac)})
	case i.Max.Sign() < 0:
		r.roll(rollingPart{CoastTurnsBackward, backward, Ratio(i.Max.Frac)})
	}
}

// roll says one thing of rolling.
func (r *Reading) roll(part rollingPart) {
	if !r.Has(part.word) {
		r.add(part.word)
	}
	r.rolls = append(r.rolls, part)
}

// The sign convention of speeds and torques, and with it what a slip is of.
const (
	SignNote = "+ is the sense in which the input turns"
	SlipNote = SignNote + "; slip is the first member seen from the second"
)

// Between writes the bounds of what is bounded at least on one side: "0 or more".
func Between(i exact.Interval, write func(exact.Frac) string) string {
	switch {
	case i.Max.Inf > 0:
		return write(i.Min.Frac) + " or more"
	case i.Min.Inf < 0:
		return write(i.Max.Frac) + " or less"
	}
	return write(i.Min.Frac) + " to " + write(i.Max.Frac)
}

// Rolling says how the input turns while the vehicle rolls, per turn of the output.
func Rolling(i exact.Interval, write func(exact.Frac) string) string {
	if i.Empty {
		return "does not roll"
	}
	if w, one := i.Point(); one {
		if w.Sign() == 0 {
			return "rolls; the input stays at rest"
		}
		return "rolls; the input turns " + write(w) + " per output turn"
	}
	if i.Min.Inf < 0 && i.Max.Inf > 0 {
		return "rolls; the input turns at any speed"
	}
	return "rolls; the input turns " + Between(i, write) + " per output turn"
}

// Ratio prints the size of a ratio as the trade does, with two places: "2.48".
// Ratios under a tenth get three significant figures. The direction is in the
// words beside it.
func Ratio(f exact.Frac) string {
	x := math.Abs(f.Float())
	if x != 0 && x < 0.1 {
		return fmt.Sprintf("%.3g", x)
	}
	return fmt.Sprintf("%.2f", x)
}

// Decimal writes a fraction for people: four places, or four figures for what
// would vanish in them; a whole number is written whole.
func Decimal(f exact.Frac) string {
	x := f.Float()
	switch {
	case f.IsInt():
		return f.String()
	case math.Abs(x) < 0.01:
		return fmt.Sprintf("%.4g", x)
	}
	return fmt.Sprintf("%.4f", x)
}

// AppliedText lists the elements that a range applies, "nothing" for none.
func AppliedText(t *kinematics.Train, r *kinematics.Range) string {
	if len(r.Apply) == 0 {
		return "nothing"
	}
	return strings.Join(t.CouplingNames(r.Apply), ", ")
}
