package analysis

import (
	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
)

// The forms of values in JSON.
type (
	// A List is written as [], never as null, when it is empty.
	List[T any] = document.List[T]
	// Named is values by name, in the order of the train.
	Named[T any] = document.Named[T]
	// An Entry is one named value.
	Entry[T any] = document.Entry[T]
	// A Name may not apply: "" is null.
	Name = document.Name
	// A Ratio is input speed / output speed.
	Ratio = document.Ratio
	// An Amount is one number, or bounds; an ExactAmount the same as texts.
	Amount      = document.Amount
	ExactAmount = document.ExactAmount
)

// A Settled speed is one number, or "free" in JSON.
type Settled struct {
	exact.Frac
	Free bool
}

// MarshalJSON writes the number or "free".
func (s Settled) MarshalJSON() ([]byte, error) {
	if s.Free {
		return document.Marshal("free")
	}
	return document.Marshal(s.Frac)
}

// scaled multiplies a speed, or its bounds, with a factor above 0.
func scaled(i exact.Interval, by exact.Frac) exact.Interval {
	scale := func(b exact.Bound) exact.Bound {
		if b.Inf != 0 {
			return b
		}
		return exact.Finite(b.Frac.Mul(by))
	}
	if i.Empty {
		return i
	}
	return exact.Interval{Min: scale(i.Min), Max: scale(i.Max)}
}

// named is what one makes of each of a list, with the names of a train.
func named[T, U any](t *kinematics.Train, list []T, one func(*kinematics.Train, *T) U) []U {
	return kinematics.Map(list, func(x T) U { return one(t, &x) })
}
