package lesson

import (
	"math/rand/v2"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// Faults returns the single faults that are worth an exercise, those that change
// what some range does when pulling, in an order that depends on the seed alone.
func Faults(c *reading.Charter, t *kinematics.Train, seed uint64) []kinematics.Fault {
	var list []kinematics.Fault
	for _, f := range t.SingleFaults() {
		for i := range t.Ranges {
			if c.Cell(i).Text() != c.Cell(i, f).Text() {
				list = append(list, f)
				break
			}
		}
	}
	// The generator belongs to the seed, so the order is that of any machine.
	r := rand.New(rand.NewPCG(seed, 0))
	r.Shuffle(len(list), func(i, k int) { list[i], list[k] = list[k], list[i] })
	return list
}

// After returns the fault that follows f in a list, the first for any other.
func After(list []kinematics.Fault, f kinematics.Fault) (kinematics.Fault, bool) {
	if len(list) == 0 {
		return kinematics.Fault{}, false
	}
	same := func(g kinematics.Fault) bool { return g.Coupling == f.Coupling && g.Kind == f.Kind }
	return list[(slices.IndexFunc(list, same)+1)%len(list)], true
}

// Brief returns the reason for what a range does in a few sentences: the first
// that each part of the explanation says.
func Brief(why *reading.Why) []string {
	var lines []string
	for _, s := range why.Sections() {
		if len(s.Text) == 0 || len(lines) == 2 {
			continue
		}
		lines = append(lines, s.Title+": "+s.Text[0])
	}
	return lines
}
