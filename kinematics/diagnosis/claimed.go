package diagnosis

import (
	"fmt"
	"strings"

	"tieup/kinematics"
)

// Names of suspects that are no faults of couplings or of the controls, as a claim writes
// them: a part and what is wrong with it.
const (
	pressureName = "pressure"
	leverName    = "lever"
	tornName     = "torn"
)

// whole writes a hypothesis that is no fault of a coupling or of the controls as a claim
// takes it: "front.sun=torn", "pressure=low 0.4", "lever=back"; "" for the others.
func (h *Hypothesis) whole(t *kinematics.Train) string {
	switch {
	case h.Kind == Torn:
		return t.Members[h.Gear].Name + "=" + tornName
	case h.noPressure():
		return pressureName + "=" + string(NotFed)
	case h.Kind == Pressure:
		return pressureName + "=" + string(Low) + " " + h.Faults[0].Share.String()
	case h.Kind == HighPressure:
		return pressureName + "=" + string(High)
	case h.Lever < 0:
		return leverName + "=back"
	case h.Lever > 0:
		return leverName + "=further"
	}
	return ""
}

// ParseWhole reads a claim that is no fault of a coupling or of the controls, as a suspect
// of the list writes it in its name. ok says whether the text is one.
func ParseWhole(t *kinematics.Train, text string) (name string, ok bool, err error) {
	part, what, _ := strings.Cut(text, "=")
	part, what = strings.TrimSpace(part), strings.TrimSpace(what)
	if _, element := t.Coupling(part); element {
		return "", false, nil
	}
	name = part + "=" + what
	switch {
	case what == tornName:
		return name, true, tearable(t, part)
	case part == pressureName && hydraulic(t):
		return parsePressure(what)
	case part == leverName && (what == "back" || what == "further"):
		return name, true, nil
	}
	return "", false, nil
}

// parsePressure reads what is wrong with line pressure: none, high, or low with the share of
// their rating with which all elements hold, in the degree of the list if it is left out.
func parsePressure(what string) (string, bool, error) {
	kind, share, low := strings.Cut(what, " ")
	switch {
	case what == string(NotFed), what == string(High), what == string(Low):
		return pressureName + "=" + what, true, nil
	case low && kind == string(Low):
		s, err := kinematics.ParseShare(strings.TrimSpace(share))
		if err == nil && s.Num >= s.Den {
			err = fmt.Errorf("%s of their rating is not low: write a share below 1, such as %s=%s 0.4", s, pressureName, Low)
		}
		return pressureName + "=" + string(Low) + " " + s.String(), true, err
	}
	return "", true, fmt.Errorf("line pressure is none, high, or low: write %s=%s, or %s=%s 0.4 for the share of their "+
		"rating with which elements hold", pressureName, NotFed, pressureName, Low)
}

// tearable says why a gear cannot be claimed to be torn off.
func tearable(t *kinematics.Train, name string) error {
	var can []string
	for _, h := range torn(t) {
		gear := t.Members[h.Gear].Name
		if gear == name {
			return nil
		}
		can = append(can, gear)
	}
	if m, ok := t.Member(name); ok {
		if isEnd(t, m) {
			return fmt.Errorf("%s is the input or the output: claim the element or the joint that lets go of it", name)
		}
		for i, c := range t.Couplings {
			if (c.A == m || c.B == m) && i < t.ElementCount {
				return fmt.Errorf("%s torn off is as if %s never held: claim %s=%s", name, c.Name, c.Name, letsGo(t, i))
			}
		}
		return fmt.Errorf("no two elements name %s: claim the joint that it sits in", name)
	}
	return t.NoSuch("gear or carrier that two elements name", name, can)
}

// ClaimWhole tests whether a suspect that [ParseWhole] read could be what was seen.
func (a *Answer) ClaimWhole(name string) Claim {
	part, what, _ := strings.Cut(name, "=")
	_, text, low := strings.Cut(what, " ")
	if part == pressureName && what == string(High) {
		return a.claim(&Hypothesis{Kind: HighPressure, Class: Control})
	}
	for s := range a.suspects {
		h := s.Hypothesis
		weak := h.Kind == Pressure && !h.noPressure() && part == pressureName
		switch {
		case weak && low:
			share, _ := kinematics.ParseShare(text) // ParseWhole has read it before
			h.Faults = sharing(h.Faults, kinematics.Weak, share)
			return a.claim(&h)
		case weak && what == string(Low), h.whole(a.Train) == name:
			return a.claim(&h)
		}
	}
	return a.claim(&Hypothesis{Kind: Healthy}) // the lever changes nothing
}
