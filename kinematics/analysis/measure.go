package analysis

import (
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
)

// A Quantity is an exact number in units of which one is By times it; in JSON it
// is their product. By is 0 where the number stands as it is.
type Quantity struct {
	exact.Frac
	By float64
}

// Float is the number in its unit.
func (q Quantity) Float() float64 { return inUnit(q.Frac, q.By) }

// MarshalJSON writes the number in its unit.
func (q Quantity) MarshalJSON() ([]byte, error) { return document.Marshal(q.Float()) }

// A Measure is what a quantity may be, exactly, in units as those of [Quantity].
// JSON writes one number, or an object with "min" and "max".
type Measure struct {
	exact.Interval
	By float64
}

// MarshalJSON writes the number or the bounds.
func (m Measure) MarshalJSON() ([]byte, error) {
	if one, ok := m.Point(); ok {
		return document.Marshal(inUnit(one, m.By))
	}
	bound := func(b exact.Bound) any {
		if b.Inf != 0 {
			return b.String()
		}
		return inUnit(b.Frac, m.By)
	}
	return document.Marshal(struct {
		Min any `json:"min"`
		Max any `json:"max"`
	}{bound(m.Min), bound(m.Max)})
}

// Words writes the one number, or both bounds where they are written differently.
func (m *Measure) Words(write func(f exact.Frac, by float64) string) string {
	low, high := write(m.Min.Frac, m.By), write(m.Max.Frac, m.By)
	if low == high {
		return low
	}
	return low + " to " + high
}

// Zero says whether the quantity is 0 and nothing else.
func (m Measure) Zero() bool { return m.IsZero() }

// Magnitude is the measure of the sizes, without sign.
func (m Measure) Magnitude() Measure {
	return Measure{m.Abs(), m.By}
}

// inUnit is f times a factor, f itself for 0, without the sign of 0.
func inUnit(f exact.Frac, by float64) float64 {
	if f.Sign() == 0 {
		return 0
	}
	if by == 0 {
		by = 1
	}
	return f.Float() * by
}
