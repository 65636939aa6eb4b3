package reading

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"tieup/kinematics"
)

// A rollingPart is one thing that is said of rolling: of the vehicle ("rolls forward
// only"), or of coasting ("turns the engine at 1.20").
type rollingPart struct {
	word     Word
	backward bool   // said of coasting backward
	at       string // the ratio as it is printed, "" for none
}

// coasting says whether it is said of coasting.
func (p rollingPart) coasting() bool {
	return p.word == CoastTurnsEngine || p.word == CoastTurnsBackward
}

func (p rollingPart) String() string {
	if p.coasting() {
		return "coasting " + p.text()
	}
	return p.text()
}

// text is what stands behind "the vehicle" or "coasting".
func (p rollingPart) text() string {
	text := string(p.word)
	switch p.word {
	case CoastTurnsEngine:
		text = "turns the engine"
	case CoastTurnsBackward:
		text = "turns the engine backward"
	}
	if p.backward {
		text = "backward " + text
	}
	if p.at != "" {
		text += " at " + p.at
	}
	return text
}

// rollingText is what is said of rolling, in a line.
func rollingText(parts []rollingPart) string {
	return strings.Join(kinematics.Map(parts, rollingPart.String), ", ")
}

// coastingThen is what is said of rolling behind "coasting: ".
func (r Reading) coastingThen() string {
	words := kinematics.Map(r.rolls, rollingPart.String)
	words[0] = r.rolls[0].text()
	return strings.Join(words, ", ")
}

// would is Pull as what would be: "would drive forward at 2.45".
func (r Reading) would() string {
	word := r.Words[0]
	infinitive := string(word)
	switch word {
	case DrivesForward:
		infinitive = "drive forward"
	case DrivesBackward:
		infinitive = "drive backward"
	}
	return "would " + infinitive + r.pulls
}

// vehicleRolls is what is said of rolling as a sentence without its end: "the vehicle
// rolls forward only, and coasting turns the engine at 1.20".
func (r Reading) vehicleRolls() string {
	var b strings.Builder
	linked := false
	for i, p := range r.rolls {
		switch {
		case i == 0 && !p.coasting():
			b.WriteString("the vehicle ")
		case i > 0 && p.coasting() && !linked:
			b.WriteString(", and ")
			linked = true
		case i > 0:
			b.WriteString(", ")
		}
		b.WriteString(p.String())
	}
	return b.String()
}

// clause is a reading as the end of a sentence that begins with a range. pull is its
// Pull, or what would be.
func (r Reading) clause(pull string) string {
	rolls := r.vehicleRolls()
	switch r.Words[0] {
	case NoDrive:
		if r.rolls[0].coasting() {
			return "has no drive, but " + rolls
		}
		return "has no drive; " + rolls
	case OutputHeld:
		return "has no drive: the output is held, and " + rolls
	case InputHeld:
		return "has its " + pull + "; " + rolls
	case TiesUp:
		return pull + "; " + rolls
	}
	link := ", and "
	if r.Has(EngineBraking) {
		link = ", with "
	}
	text := pull + link + r.rolls[0].text() + " on the overrun"
	if len(r.rolls) > 1 {
		text += "; the vehicle " + r.rolls[1].text()
	}
	return text
}

// capital writes words with a capital in front.
func capital(words string) string {
	first, size := utf8.DecodeRuneInString(words)
	return string(unicode.ToUpper(first)) + words[size:]
}
