package reading

import (
	"fmt"
	"math"
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
}

// SpeedsAlone puts an outcome of a state of t in words, by its speeds alone: it knows
// nothing of a pawl, of torque or of other ranges. A range is read by [Reader.Read].
func SpeedsAlone(t *kinematics.Train, o solve.Outcome) Reading {
	var r Reading
	r.pull(t, o)
	if o.Drives() {
		r.coastDriving(o)
	} else {
		r.coastIdle(o)
	}
	return r
}

// Has says whether w applies.
func (r Reading) Has(w Word) bool {
	for _, x := range r.Words {
		if x == w {
			return true
		}
	}
	return false
}

func (r *Reading) add(w Word) { r.Words = append(r.Words, w) }

func (r *Reading) pull(t *kinematics.Train, o solve.Outcome) {
	word := map[solve.Verdict]Word{
		solve.Forward: DrivesForward, solve.Reverse: DrivesBackward, solve.Neutral: NoDrive,
		solve.OutputHeld: OutputHeld, solve.InputHeld: InputHeld, solve.TieUp: TiesUp,
	}[o.Verdict]
	r.add(word)
	r.Pull = string(word)
	if ratio, ok := o.Ratio(); ok {
		r.Pull += " at " + Ratio(ratio)
	}
	if word == InputHeld && t.Drive == kinematics.Converter {
		r.Pull += ": the engine is loaded as in a stall test"
	}
}

// coastDriving says what a driving state does when the vehicle rolls on the
// way it was driven, with the throttle closed.
func (r *Reading) coastDriving(o solve.Outcome) {
	back := o.CoastBackward
	if o.Verdict == solve.Reverse {
		back = o.CoastForward
	}
	if ratio, brakes, _ := o.EngineBraking(); brakes {
		r.add(EngineBraking)
		r.Coast = string(EngineBraking)
		if pull, _ := o.Ratio(); pull.Cmp(ratio) != 0 {
			r.Coast += " at " + Ratio(ratio)
		}
	} else {
		r.add(Freewheels)
		r.Coast = string(Freewheels)
	}
	if back.Empty {
		r.add(HoldsAgainstRoll)
		r.Coast += ", " + string(HoldsAgainstRoll)
	}
}

// coastIdle says how the vehicle rolls in a state that does not drive it, and
// whether rolling turns the input.
func (r *Reading) coastIdle(o solve.Outcome) {
	f, b := o.CoastForward, o.CoastBackward
	var parts []string
	say := func(w Word, text string) {
		if !r.Has(w) {
			r.add(w)
		}
		parts = append(parts, text)
	}
	switch {
	case f.Empty && b.Empty:
		say(DoesNotRoll, string(DoesNotRoll))
	case f.Empty:
		say(RollsBackwardOnly, string(RollsBackwardOnly))
	case b.Empty:
		say(RollsForwardOnly, string(RollsForwardOnly))
	}
	coasting := func(i exact.Interval, way string) {
		switch {
		case i.Empty:
		case i.Min.Sign() > 0:
			say(CoastTurnsEngine, way+" turns the engine at "+Ratio(i.Min.Frac))
		case i.Max.Sign() < 0:
			say(CoastTurnsBackward, way+" turns the engine backward at "+Ratio(i.Max.Frac))
		}
	}
	coasting(f, "coasting")
	if f.Empty {
		coasting(b, "coasting")
	} else {
		coasting(b, "coasting backward")
	}
	if len(parts) == 0 {
		say(RollsFreely, string(RollsFreely))
	}
	r.Coast = strings.Join(parts, ", ")
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
