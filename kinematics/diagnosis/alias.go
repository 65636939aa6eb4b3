package diagnosis

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// aliases are other ways to say a word: those of this program's own readings, and of
// customers.
var aliases = map[string]Word{
	"drives forward": Forward, "forwards": Forward, "backward": Reverse, "backwards": Reverse,
	"drives backward": Reverse, "drives backwards": Reverse,
	"no drive": None, "no-drive": None, "does not drive": None, "binds": Bind, "ties up": Bind, "tie-up": Bind,
	"creeps forward":  CreepsForward,
	"creeps backward": CreepsBackward, "lurches": Lurch, "no engine braking": NoEngineBraking,
	"engine braking": EngineBraking,
	"stall-high":     StallRuns, "rolls with drag": RollsDrag, "rolls freely": Rolls, "flares": Slips, "flare": Slips,
}

// shiftAliases are those of a shift.
var shiftAliases = map[string]Word{
	"no shift": NoShift, "no upshift": NoShift, "no-upshift": NoShift, "no downshift": NoShift, "no-downshift": NoShift,
	"binds": Bind, "flares": Flare, "delayed": Late, "hard": Harsh, "shudders": Shudder,
}

// sameAs puts another way to say a word into that word. "no reverse" and "no forward" say
// that a range does not drive which should that way; of others they say nothing.
func sameAs(t *kinematics.Train, o *Observation, word string) (string, error) {
	list := aliases
	if o.IsShift() {
		list = shiftAliases
	}
	if w, ok := list[strings.ToLower(word)]; ok {
		return string(w), nil
	}
	want, ok := map[string]solve.Verdict{"no reverse": solve.Reverse, "no-reverse": solve.Reverse,
		"no forward": solve.Forward, "no-forward": solve.Forward}[word]
	if !ok || o.IsShift() {
		return word, nil
	}
	k := solve.Compile(t).Kernel()
	meant := func(r int) bool { return k.Outcome(t.In(&t.Ranges[r])).Verdict == want }
	r := o.Range
	if o.Position != nil {
		r = o.Position.Ranges[0]
	}
	if meant(r) {
		return string(None), nil
	}
	for q := range t.Ranges {
		if meant(q) {
			return "", fmt.Errorf("%s is not meant to drive that way, so %s says nothing of it: "+
				"write %s=none if %s does not drive, %s=none if %s does not",
				t.Ranges[r].Name, kinematics.Quote(word), t.Ranges[q].Name, t.Ranges[q].Name, t.Ranges[r].Name, t.Ranges[r].Name)
		}
	}
	return "", fmt.Errorf("no range is meant to drive that way, so %s says nothing: write none if %s does not drive",
		kinematics.Quote(word), t.Ranges[r].Name)
}

// stallWord stands before the engine speed of a stall test.
const stallWord = "stall"

// stallForm is an engine speed with its limits, or the upper one alone: 2750 of 2100-2400.
var stallForm = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(\d{2,5})\s+of\s+(?:(\d{2,5})\s*-\s*)?(\d{2,5})$`)
})

// parseStall reads the engine speed of a stall test against the limits of the service
// information.
func parseStall(o Observation, text string) (Observation, error) {
	m := stallForm().FindStringSubmatch(text)
	if m == nil {
		return o, fmt.Errorf("a stall speed is judged by the limits of the service information: " +
			"write stall 2750 of 2100-2400, or stall 2750 of 2400 where it gives only the highest")
	}
	speed, _ := strconv.Atoi(m[1])
	low, _ := strconv.Atoi(m[2])
	high, _ := strconv.Atoi(m[3])
	if low > high {
		return o, fmt.Errorf("%d-%d: the lower limit comes first", low, high)
	}
	o.Text = text
	switch {
	case speed > high:
		o.Word = StallRuns
	case speed < low:
		o.Word = StallLow
	default:
		o.Word = StallHolds
	}
	return o, nil
}
