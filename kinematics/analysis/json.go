package analysis

import (
	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A Ratio is input speed / output speed, as a number and exactly. Both are nil
// where a state has no ratio.
type Ratio struct {
	Ratio *exact.Frac `json:"ratio"`
	Exact *exact.Text `json:"ratio_exact"`
}

// RatioText is the exact ratio, "" if it does not apply.
func (r Ratio) RatioText() string {
	if r.Exact == nil {
		return ""
	}
	return r.Exact.String()
}

func ratioOf(f exact.Frac, applies bool) Ratio {
	if !applies {
		return Ratio{}
	}
	return Ratio{&f, &exact.Text{Frac: f}}
}

// An Amount is one number, or bounds where a speed is free or a load shared. JSON
// writes a number, or an object with "min" and "max".
type Amount exact.Interval

// MarshalJSON writes the number or the bounds.
func (a Amount) MarshalJSON() ([]byte, error) {
	if one, ok := exact.Interval(a).Point(); ok {
		return marshal(one)
	}
	return marshal(exact.Interval(a))
}

// An ExactAmount is an Amount that JSON writes exactly, as texts.
type ExactAmount exact.Interval

// MarshalJSON writes the fraction or the bounds as text.
func (a ExactAmount) MarshalJSON() ([]byte, error) {
	if one, ok := exact.Interval(a).Point(); ok {
		return marshal(one.String())
	}
	return marshal(struct {
		Min string `json:"min"`
		Max string `json:"max"`
	}{a.Min.String(), a.Max.String()})
}

// A Settled speed is one number, or "free" in JSON.
type Settled struct {
	exact.Frac
	Free bool
}

// MarshalJSON writes the number or "free".
func (s Settled) MarshalJSON() ([]byte, error) {
	if s.Free {
		return marshal("free")
	}
	return marshal(s.Frac)
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

// ptr returns a pointer to a value that applies, else nil.
func ptr[T any](value T, applies bool) *T {
	if !applies {
		return nil
	}
	return &value
}
