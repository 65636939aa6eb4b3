package bench

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// Name writes a turn as [ParseTurn] reads it: "forward+direct held clockwise", "-" for
// no air.
func (x Turn) Name(t *kinematics.Train) string {
	air := "-"
	if len(x.Air) > 0 {
		air = strings.Join(t.CouplingNames(x.Air), "+")
	}
	return air + " " + x.Output.String() + " " + ways[x.Backward]
}

var ways = map[bool]string{false: "clockwise", true: "counterclockwise"}

// ParseTurn reads the name of a turn.
func ParseTurn(t *kinematics.Train, name string) (Turn, error) {
	var x Turn
	words := strings.Fields(name)
	if len(words) != 3 {
		return x, fmt.Errorf("%s is no turn by hand: write elements, output and way, such as \"forward held clockwise\"",
			kinematics.Quote(name))
	}
	for e := range strings.SplitSeq(words[0], "+") {
		if words[0] == "-" {
			break
		}
		i, err := t.FindElement(e)
		if err != nil {
			return x, err
		}
		if !Airable(&t.Couplings[i]) {
			return x, &AirError{e, NotApplied}
		}
		x.Air = append(x.Air, i)
	}
	slices.Sort(x.Air)
	x.Air = slices.Compact(x.Air)
	output := slices.Index(outputWords[:], words[1])
	if output < 0 {
		return x, fmt.Errorf("the output is %s, not %s", kinematics.Or(outputWords[:]), kinematics.Quote(words[1]))
	}
	x.Output = Output(output)
	switch words[2] {
	case ways[false]:
	case ways[true]:
		x.Backward = true
	default:
		return x, fmt.Errorf("the input is turned clockwise or counterclockwise, not %s", kinematics.Quote(words[2]))
	}
	return x, nil
}

// What can be written of a turn besides a number of turns.
const (
	AsItShould = "ok"
	Locked     = "locks"
	Turned     = "turns"
	IsFree     = "free"
)

// ParseSight reads what a turn showed: "ok", "locks", "turns", "free", or how many turns
// the output made for one of the input, - the other way.
func ParseSight(text string) (string, error) {
	text = strings.TrimSpace(text)
	if slices.Contains([]string{AsItShould, Locked, Turned, IsFree}, text) {
		return text, nil
	}
	if _, ok := number(text); ok {
		return text, nil
	}
	return "", fmt.Errorf("%s is nothing that a turn shows: write ok, locks, turns, free, or how many turns the "+
		"output makes "+
		"for one of the input, such as 0.41", kinematics.Quote(text))
}

func number(text string) (exact.Frac, bool) {
	r, ok := new(big.Rat).SetString(text)
	if !ok || len(text) > 20 || strings.ContainsAny(text, "eE_xXpP") {
		return exact.Frac{}, false
	}
	return exact.FromRat(r), true
}

// Agrees says whether what was written of a turn, as [ParseSight] reads it, is what was
// to be seen; a number of turns within 1/20 of a turn, which a mark shows.
func (s Seen) Agrees(text string) bool {
	switch text {
	case AsItShould:
		return true
	case Locked:
		return s.Locks()
	case Turned:
		return !s.Locks() && (s.Output != Free || !s.Any())
	case IsFree:
		return s.Any()
	}
	n, ok := number(text)
	if !ok || s.Locks() || s.Output != Free {
		return false
	}
	slack := exact.NewFrac(1, 20)
	return exact.Finite(n.Add(slack)).Cmp(s.Out.Min) >= 0 && exact.Finite(n.Sub(slack)).Cmp(s.Out.Max) <= 0
}
