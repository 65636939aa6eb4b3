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

// ParseWhole reads a claim that is no fault of a coupling or of the controls: the kind of a
// suspect with the gear, the way of the lever, or what elements then hold, a weak fault without
// a share for the degree of the list. It is nil for a text that is no such claim.
func ParseWhole(t *kinematics.Train, text string) (*Hypothesis, error) {
	part, what, _ := strings.Cut(text, "=")
	part, what = strings.TrimSpace(part), strings.TrimSpace(what)
	_, element := t.Coupling(part)
	switch {
	case element:
		return nil, nil
	case what == tornName:
		gear, _ := t.Member(part)
		return &Hypothesis{Kind: Torn, Gear: gear}, tearable(t, part)
	case part == pressureName && hydraulic(t):
		return parsePressure(what)
	case part == leverName && what == "back":
		return &Hypothesis{Kind: WrongWay, Lever: -1}, nil
	case part == leverName && what == "further":
		return &Hypothesis{Kind: WrongWay, Lever: 1}, nil
	}
	return nil, nil
}

// parsePressure reads what is wrong with line pressure: none, high, or low with the share of
// their rating with which all elements hold.
func parsePressure(what string) (*Hypothesis, error) {
	kind, share, low := strings.Cut(what, " ")
	fault := kinematics.Fault{Kind: kinematics.Weak}
	var err error
	switch {
	case what == string(High):
		return &Hypothesis{Kind: HighPressure, Class: Control}, nil
	case what == string(NotFed):
		fault.Kind = kinematics.OpenF
	case what == string(Low):
	case low && kind == string(Low):
		fault.Share, err = kinematics.ParseShare(strings.TrimSpace(share))
		if err == nil && fault.Share.Num >= fault.Share.Den {
			err = fmt.Errorf("%s of their rating is not low: write a share below 1, such as %s=%s 0.4", fault.Share,
				pressureName, Low)
		}
	default:
		err = fmt.Errorf("line pressure is none, high, or low: write %s=%s, or %s=%s 0.4 for the share of their "+
			"rating with which elements hold", pressureName, NotFed, pressureName, Low)
	}
	return &Hypothesis{Kind: Pressure, Faults: []kinematics.Fault{fault}}, err
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
func (a *Answer) ClaimWhole(whole *Hypothesis) Claim {
	for s := range a.suspects {
		if !s.isSame(&Suspect{Hypothesis: *whole}) {
			continue
		}
		h := s.Hypothesis
		if h.Kind == Pressure && len(whole.Faults) > 0 && whole.Faults[0].Share.IsSet() {
			h.Faults = sharing(h.Faults, kinematics.Weak, whole.Faults[0].Share)
		}
		return a.claim(&h)
	}
	if whole.Kind == HighPressure {
		return a.claim(whole)
	}
	return a.claim(&Hypothesis{Kind: Healthy}) // the lever changes nothing
}
