package lesson

import (
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/reading"
)

// Given is what is wrong with a train in every exercise, besides what is wrong in one.
type Given struct {
	Faults []kinematics.Fault
	// Brought is what brought some of them about, nil without faults of the controls.
	Brought *controls.Brought
	// Unsettled says in words which ranges can come to more than one thing.
	Unsettled []string
}

// Told are the faults that a learner is told: without those of ranges that can come to more
// than one thing, where they are of one of the things.
func (g Given) Told() []kinematics.Fault { return g.Brought.Settled(g.Faults) }

// Words say what a learner is told, and some faults of an exercise besides.
func (g Given) Words(t *kinematics.Train, besides ...kinematics.Fault) []string {
	words := kinematics.Map(append(slices.Clone(g.Told()), besides...), func(f kinematics.Fault) string {
		return reading.Fault(t, f)
	})
	return append(words, g.Unsettled...)
}

// settled are the ranges that come to one thing, as indices.
func (g Given) settled(t *kinematics.Train) (list []int) {
	for i := range t.Ranges {
		if g.Brought == nil || !slices.Contains(g.Brought.Open, i) {
			list = append(list, i)
		}
	}
	return list
}
