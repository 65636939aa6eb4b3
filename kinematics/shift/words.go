package shift

import (
	"strings"

	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

func (s *Shift) from() string { return s.Train.Ranges[s.From].Name }
func (s *Shift) to() string   { return s.Train.Ranges[s.To].Name }

// PullingText says in a line what the shift risks while pulling, or at a
// standstill: "timed: early ties up, late flares to 2.45 (as D1)".
func (s *Shift) PullingText() string {
	if s.Standing {
		return s.standingText()
	}
	return s.text(&s.Pulling, &s.First.Pulling, &s.Second.Pulling)
}

// CoastingText says in a line what the shift risks while coasting; nothing at a
// standstill.
func (s *Shift) CoastingText() string {
	if s.Standing {
		return ""
	}
	return s.text(&s.Coasting, &s.First.Coasting, &s.Second.Coasting)
}

func (s *Shift) text(v *View, first, second *Effect) string {
	switch v.Verdict {
	case Same:
		if first.Speed.Sign() == 0 {
			return "nothing changes: it freewheels before and after"
		}
		return "nothing changes: " + reading.Ratio(first.Speed.Frac) + " before and after"
	case SafeEitherWay:
		text := v.Verdict.String() + v.freewheelText(s)
		switch {
		case v == &s.Coasting && first.Speed.Sign() == 0:
			text += "; engine braking begins"
		case v == &s.Coasting && second.Speed.Sign() == 0:
			text += "; engine braking ends"
		}
		return text
	case SafeIfEarly:
		return v.Verdict.String() + v.freewheelText(s) + "; late " + v.Late.Text()
	case SafeIfLate:
		return v.Verdict.String() + v.freewheelText(s) + "; early " + v.Early.Text()
	case Timed:
		text := v.Verdict.String() + ": early " + v.Early.Text() + ", late " + v.Late.Text()
		if v.Order != nil {
			text += "; safe in this order: " + s.orderText(v.Order)
		}
		return text
	case BoundAnyway:
		return s.to() + " " + second.Text() + " whatever the timing"
	case BoundThroughout:
		if !first.alike(second) {
			return s.from() + " " + first.Text() + "; " + s.to() + " " + second.Text()
		}
		return s.from() + " " + first.Text() + ", and so does " + s.to()
	case BoundBefore:
		return s.from() + " " + first.Text() + "; " + s.to() + " does not"
	case LosesDrive:
		return s.to() + " does not drive: neutral whatever the timing"
	case TakesHold:
		return s.from() + " does not drive; " + s.to() + " takes hold"
	case NeitherDrives:
		return "neither range drives"
	}
	return s.to() + " " + second.Text() + " whatever the timing" // WrongWay
}

// freewheelText names the one-way clutches that make a shift safe.
func (v *View) freewheelText(s *Shift) string {
	var words []string
	add := func(couplings []int, verb string) {
		for _, i := range couplings {
			words = append(words, s.Train.Couplings[i].Name+" "+verb)
		}
	}
	add(v.Overruns, "overruns")
	add(v.Catches, "catches")
	if words == nil {
		return ""
	}
	text := strings.Join(words, ", ")
	if v == &s.Pulling {
		text = "freewheel shift: " + text
	}
	return " (" + text + ")"
}

// orderText is "A on, B off, C on".
func (s *Shift) orderText(order []int) string {
	var words []string
	for _, i := range order {
		word := " off"
		for _, c := range s.Changes {
			if c.Coupling == i && c.OnComing() {
				word = " on"
			}
		}
		words = append(words, s.Train.Couplings[i].Name+word)
	}
	return strings.Join(words, ", ")
}

func (s *Shift) standingText() string {
	first, second := does(s.from(), &s.First), does(s.to(), &s.Second)
	switch s.Pulling.Verdict {
	case BoundAnyway:
		if s.Second.Lurch != "" {
			return second
		}
		return second + " whatever the timing"
	case BoundBefore, BoundThroughout:
		return first + "; " + second
	case StillDrives:
		return second + ", where it must not drive"
	case NeitherDrives:
		return "neither range drives"
	case WrongWay:
		return second + ": the wrong way"
	case EngagesNothing:
		return "nothing engages: " + s.Second.Text()
	case AlreadyDrives:
		if s.First.Reading.PullsLike(s.Second.Reading) {
			return s.from() + " already " + s.First.Text() + ": nothing is left to engage"
		}
		return s.from() + " already " + s.First.Text() + "; then " + second
	}
	text := "engages: " + s.Second.Text()
	if !s.Second.Outcome.Drives() {
		text = "lets go"
	}
	if s.Pulling.Verdict == Lurches {
		return text + "; on the way it " + s.Pulling.Harm()[0].Text()
	}
	return text
}

// does is a sentence of what a range does: "N drives forward at 2.45 (as D1)",
// "N: no drive".
func does(name string, x *State) string {
	switch x.Outcome.Verdict {
	case solve.Neutral, solve.OutputHeld, solve.InputHeld:
		if x.Lurch == "" {
			return name + ": " + x.Text()
		}
	}
	return name + " " + x.Text()
}
