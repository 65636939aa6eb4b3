package analysis

import "math"

// A Number is a number that may be infinite: JSON writes "inf" and "-inf".
type Number float64

// MarshalJSON writes the number.
func (n Number) MarshalJSON() ([]byte, error) {
	if math.IsInf(float64(n), 0) {
		word := "inf"
		if n < 0 {
			word = "-inf"
		}
		return marshal(word)
	}
	return marshal(float64(n))
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
		return marshal(s.Min)
	}
	return marshal(Extent(s))
}
