package table

import (
	"strings"

	"tieup/kinematics"
)

// Element says in words what an element does: what it grounds or joins, and
// which way a one-way clutch holds.
func Element(t *kinematics.Train, c *kinematics.Coupling) string {
	a, b := t.Members[c.A].Name, t.Members[c.B].Name
	if c.Kind == kinematics.OneWay {
		words := "one-way clutch: "
		switch {
		case c.B == kinematics.Housing:
			words += a + " may turn forward, is held against turning backward"
		case c.A == kinematics.Housing:
			words += b + " may turn backward, is held against turning forward"
		default:
			words += a + " may turn forward faster than " + b + ", never slower"
		}
		if c.Switched {
			words += "; acts only in the ranges that apply it"
		}
		return words
	}
	kind := c.Kind.String()
	if c.Kind == kinematics.Pawl {
		kind = "parking pawl"
	}
	switch {
	case c.B == kinematics.Housing:
		return kind + ", holds " + a
	case c.A == kinematics.Housing:
		return kind + ", holds " + b
	}
	return kind + ", joins " + a + " and " + b
}

// names returns the names of elements, "nothing" for none.
func names(t *kinematics.Train, elements []int) string { return applied(t.CouplingNames(elements)) }

// applied lists the elements that are applied, "nothing" for none.
func applied(elements []string) string {
	if len(elements) == 0 {
		return "nothing"
	}
	return list(elements)
}

// rangeOrCombination names a range, or a combination that has no name.
func rangeOrCombination(name string) string {
	if name == "" {
		return "combination"
	}
	return "range " + name
}

func list(words []string) string { return strings.Join(words, ", ") }
