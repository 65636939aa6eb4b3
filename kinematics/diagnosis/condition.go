package diagnosis

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"tieup/kinematics"
)

// A Condition says when something was seen.
type Condition uint8

// The conditions. What is wrong need not show in all of them: see [Hypothesis.in].
const (
	WhenCold Condition = 1 << iota // before the fluid is warm
	WhenHot                        // with the fluid hot
	Raced                          // with the engine raced
	Unloaded                       // with the driven wheels off the ground, nearly no load
	WhenLoad                       // under load: uphill, towing, full throttle
	Pulling                        // the engine pulling, of a measured ratio
)

var conditionWords = []struct {
	when Condition
	word string
}{
	{WhenCold, "cold"}, {WhenHot, "hot"}, {Raced, "raced"}, {Unloaded, "stands"}, {WhenLoad, "loaded"},
	{Pulling, "pulling"},
}

// Has says whether the conditions hold one.
func (c Condition) Has(x Condition) bool { return c&x != 0 }

// String writes the conditions as [ParseSeen] reads them behind a word: " hot raced".
func (c Condition) String() string {
	text := ""
	for _, w := range conditionWords {
		if c.Has(w.when) {
			text += " " + w.word
		}
	}
	return text
}

// against lists conditions that cannot both be.
var against = [][2]Condition{{WhenCold, WhenHot}, {Unloaded, WhenLoad}}

// timesForm is how often something was seen: 3 of 10.
var timesForm = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(.*\S)\s+(\d{1,4}) of (\d{1,4})$`)
})

// cutConditions reads the conditions behind a word, and how often it was so: "slips hot 3
// of 10".
func cutConditions(o *Observation, word string) (string, error) {
	if m := timesForm().FindStringSubmatch(word); m != nil && !strings.HasPrefix(word, stallWord+" ") {
		o.Times, _ = strconv.Atoi(m[2])
		o.Tries, _ = strconv.Atoi(m[3])
		switch {
		case o.Tries < 2, o.Times > o.Tries:
			return "", fmt.Errorf("%s of %s: so often of so many tries, such as 3 of 10", m[2], m[3])
		case o.Times == 0:
			return "", fmt.Errorf("0 of %s: then it was not seen: leave it out, or write ok", m[3])
		}
		word = m[1]
	}
next:
	for {
		for _, w := range conditionWords {
			rest, ok := strings.CutSuffix(word, " "+w.word)
			if !ok || strings.TrimSpace(rest) == "" {
				continue
			}
			if o.When.Has(w.when) {
				return "", fmt.Errorf("%s is given twice", w.word)
			}
			o.When |= w.when
			word = strings.TrimSuffix(strings.TrimSpace(rest), " on")
			continue next
		}
		break
	}
	for _, p := range against {
		if o.When.Has(p[0]) && o.When.Has(p[1]) {
			return "", fmt.Errorf("%s and%s cannot both be: write them as two observations",
				strings.TrimSpace(p[0].String()), p[1])
		}
	}
	return strings.TrimSpace(word), nil
}

// sometimes says whether it was seen in some tries only.
func (o *Observation) sometimes() bool { return o.Times < o.Tries }

// relieved says whether a fault may be gone under the conditions of an observation. A leak
// opens hot, so that cold it may hold; what drags by thick fluid does so cold; a weak
// element holds while nothing loads it. A broken joint, a welded plate, a one-way clutch
// do not care: common practice, no source, but for the load, which follows from torque.
func relieved(t *kinematics.Train, f kinematics.Fault, when Condition) bool {
	friction := t.Couplings[f.Coupling].Kind.Friction()
	switch f.Kind {
	case kinematics.Weak:
		return when.Has(WhenCold | Unloaded)
	case kinematics.OpenF:
		return friction && when.Has(WhenCold)
	case kinematics.Dragging:
		return when.Has(WhenHot)
	}
	return local(f) && fed(t, f.Coupling) && when.Has(WhenCold)
}

// in lists what a hypothesis can be under the conditions of an observation: itself, and
// where some of its faults may be gone, what is left. Trapped oil, whose pressure grows
// with the square of speed, acts only in an engine that is raced.
func (h *Hypothesis) in(t *kinematics.Train, when Condition) []*Hypothesis {
	healthy := &Hypothesis{Kind: Healthy}
	if h.Raced {
		if when.Has(Raced) {
			return []*Hypothesis{h}
		}
		return []*Hypothesis{healthy}
	}
	if when&(WhenCold|WhenHot|Unloaded) == 0 || h.Faults == nil || h.Kind == Torn {
		return []*Hypothesis{h}
	}
	left := *h
	left.Faults = nil
	for _, f := range h.Faults {
		if !relieved(t, f, when) {
			left.Faults = append(left.Faults, f)
		}
	}
	switch len(left.Faults) {
	case len(h.Faults):
		return []*Hypothesis{h}
	case 0:
		return []*Hypothesis{h, healthy}
	}
	return []*Hypothesis{h, &left}
}

// comesAndGoes says whether what is wrong may show in some tries only: a command, a feed,
// a leak, pressure, what is weak, timing, a one-way clutch that misses; not what is broken
// or welded.
func (h *Hypothesis) comesAndGoes(t *kinematics.Train) bool {
	if h.Kind != Faulty {
		return h.Kind != Healthy && h.Kind != Torn
	}
	for _, f := range h.Faults {
		friction := t.Couplings[f.Coupling].Kind.Friction()
		if local(f) || f.Kind == kinematics.Weak || f.Kind == kinematics.Slips || friction && f.Kind == kinematics.OpenF {
			return true
		}
	}
	return h.Raced
}
