package reading

import (
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
)

// AboutGearset says what a gearset is: "front: planetary gearset, 4 pinions".
func AboutGearset(t *kinematics.Train, set *kinematics.Gearset) string {
	words := set.Kind.Facts().Noun
	switch {
	case set.Bevels:
		words = "a pair of bevels, whose axes cross"
	case t.Meshes[set.Meshes[0]].Kind == kinematics.Chain:
		words = "two wheels and a chain"
	}
	if n := set.PinionCount; n > 0 {
		words += fmt.Sprintf(", %d pinions", n)
		if len(set.Pinions) > 1 {
			words += " of each kind"
		}
	}
	return set.Name + ": " + words
}

// GearsetNotes say how the gears of a pair mesh and what carries them, and that teeth are
// modified.
func GearsetNotes(t *kinematics.Train, set *kinematics.Gearset) (notes []string) {
	if !set.Planetary() {
		switch m := t.Meshes[set.Meshes[0]]; {
		case m.Kind == kinematics.Chain:
			notes = append(notes, "linked by a chain")
		case set.Bevels:
			notes = append(notes, "bevels, turning as at an "+m.Kind.String()+" mesh")
		default:
			notes = append(notes, m.Kind.String()+" mesh")
		}
		if set.Carrier != kinematics.Housing {
			notes = append(notes, "carried by "+t.Members[set.Carrier].Name)
		}
	}
	if set.ProfileShifted {
		notes = append(notes, "profile-shifted")
	}
	return notes
}

// AssumedPinions says how many pinions are drawn where the file does not tell, "" where it
// tells of all. Some are those assumed, "rear 3"; counts are the pinions of all gearsets.
func AssumedPinions(some []string, counts []int) string {
	if len(some) == 0 {
		return ""
	}
	same := !slices.ContainsFunc(counts, func(n int) bool { return n != counts[0] })
	if len(some) < len(counts) || !same {
		return "Pinions are assumed: " + strings.Join(some, ", ") + "."
	}
	words := map[int]string{1: "One pinion", 3: "Three pinions", 4: "Four pinions", 5: "Five pinions"}[counts[0]]
	if len(counts) > 1 {
		words += " a set"
	}
	return words + " " + kinematics.Plural(counts[0], "is", "are") + " assumed."
}
