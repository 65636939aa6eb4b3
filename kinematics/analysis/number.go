package analysis

import (
	"math"

	"tieup/kinematics/document"
)

// A Number is a number that may be infinite: JSON writes "inf" and "-inf".
type Number float64

// MarshalJSON writes the number.
func (n Number) MarshalJSON() ([]byte, error) {
	if math.IsInf(float64(n), 0) {
		word := "inf"
		if n < 0 {
			word = "-inf"
		}
		return document.Marshal(word)
	}
	return document.Marshal(float64(n))
}

// An Extent is what a number may be. JSON writes both ends.
type Extent struct {
	Min float64 `json:"min"`
	Max float64 `json:"max"`
}

// A Spread is an extent that JSON writes as one number where its ends are equal.
type Spread Extent

// MarshalJSON writes the number, or both ends.
func (s Spread) MarshalJSON() ([]byte, error) {
	if s.Min == s.Max {
		return document.Marshal(s.Min)
	}
	return document.Marshal(Extent(s))
}
