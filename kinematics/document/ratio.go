package document

import "tieup/kinematics/exact"

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

// RatioOf is a ratio, or none.
func RatioOf(f exact.Frac, applies bool) Ratio {
	if !applies {
		return Ratio{}
	}
	return Ratio{&f, &exact.Text{Frac: f}}
}

// If returns a pointer to a value that applies, else nil.
func If[T any](value T, applies bool) *T {
	if !applies {
		return nil
	}
	return &value
}

// An Amount is one number, or bounds where a speed is free or a load shared. JSON
// writes a number, or an object with "min" and "max".
type Amount exact.Interval

// MarshalJSON writes the number or the bounds.
func (a Amount) MarshalJSON() ([]byte, error) {
	if one, ok := exact.Interval(a).Point(); ok {
		return Marshal(one)
	}
	return Marshal(exact.Interval(a))
}

// An ExactAmount is an Amount that JSON writes exactly, as texts.
type ExactAmount exact.Interval

// MarshalJSON writes the fraction or the bounds as text.
func (a ExactAmount) MarshalJSON() ([]byte, error) {
	if one, ok := exact.Interval(a).Point(); ok {
		return Marshal(one.String())
	}
	return Marshal(struct {
		Min string `json:"min"`
		Max string `json:"max"`
	}{a.Min.String(), a.Max.String()})
}
