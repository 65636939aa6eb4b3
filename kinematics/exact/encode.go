package exact

import (
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"strings"
)

// Parse reads "27/11", "-3" or a decimal such as "2.45" or "1e-3", exactly.
func Parse(text string) (Frac, error) {
	r, ok := new(big.Rat).SetString(text)
	if !ok || strings.ContainsAny(text, "_xXbBoOpP") || tooLong(text) {
		return Frac{}, fmt.Errorf("%.40q is not a fraction: write 27/11, -3 or 2.45", text)
	}
	return FromRat(r), nil
}

// tooLong keeps an exponent from asking for a number that fills the memory.
func tooLong(text string) bool {
	_, exponent, found := strings.Cut(strings.ToLower(text), "e")
	return found && len(strings.TrimLeft(exponent, "+-0")) > 3
}

// MarshalJSON writes the nearest float64; beyond its range, or where it would be 0
// and f is not, 17 digits and an exponent. The zero Frac, which is no number, is null.
func (f Frac) MarshalJSON() ([]byte, error) {
	if f.isNone() {
		return []byte("null"), nil
	}
	x := f.Float()
	if math.IsInf(x, 0) || x == 0 && f.Sign() != 0 {
		return new(big.Float).SetPrec(200).SetRat(f.big).Append(nil, 'e', 16), nil
	}
	return json.Marshal(x)
}

// UnmarshalJSON reads a number, as the decimal that it is, or a string as [Parse]
// does. null leaves f as it is.
func (f *Frac) UnmarshalJSON(data []byte) error {
	text := string(data)
	if text == "null" {
		return nil
	}
	if text != "" && text[0] == '"' {
		if err := json.Unmarshal(data, &text); err != nil {
			return err
		}
	}
	return f.UnmarshalText([]byte(text))
}

// MarshalText writes f exactly: 27/11.
func (f Frac) MarshalText() ([]byte, error) {
	if f.isNone() {
		return nil, nil
	}
	return []byte(f.String()), nil
}

// UnmarshalText reads what [Parse] does.
func (f *Frac) UnmarshalText(text []byte) error {
	g, err := Parse(string(text))
	if err == nil {
		*f = g
	}
	return err
}

// isNone says whether f is the zero Frac.
func (f Frac) isNone() bool { return f.d == 0 && f.big == nil }

// Text is a fraction that JSON writes exactly, as the string "27/11".
type Text struct{ Frac }

// MarshalJSON writes the string; null for the zero Frac.
func (t Text) MarshalJSON() ([]byte, error) {
	if t.isNone() {
		return []byte("null"), nil
	}
	return json.Marshal(t.String())
}

// MarshalJSON writes the number, "inf" or "-inf".
func (b Bound) MarshalJSON() ([]byte, error) {
	if b.Inf != 0 {
		return json.Marshal(b.String())
	}
	return b.Frac.MarshalJSON()
}

// UnmarshalJSON reads what MarshalJSON writes, and fractions as strings.
func (b *Bound) UnmarshalJSON(data []byte) error {
	switch string(data) {
	case `"inf"`:
		*b = Infinite(1)
	case `"-inf"`:
		*b = Infinite(-1)
	default:
		b.Inf = 0
		return b.Frac.UnmarshalJSON(data)
	}
	return nil
}

// MarshalText writes the fraction exactly, inf or -inf.
func (b Bound) MarshalText() ([]byte, error) {
	if b.Inf != 0 {
		return []byte(b.String()), nil
	}
	return b.Frac.MarshalText()
}

// UnmarshalText reads what MarshalText writes.
func (b *Bound) UnmarshalText(text []byte) error {
	switch string(text) {
	case "inf":
		*b = Infinite(1)
	case "-inf":
		*b = Infinite(-1)
	default:
		b.Inf = 0
		return b.Frac.UnmarshalText(text)
	}
	return nil
}

// ends is an interval in JSON.
type ends struct {
	Min *Bound `json:"min"`
	Max *Bound `json:"max"`
}

// MarshalJSON writes {"min": .., "max": ..}, both null when the interval is empty.
func (i Interval) MarshalJSON() ([]byte, error) {
	if i.Empty {
		return json.Marshal(ends{})
	}
	return json.Marshal(ends{&i.Min, &i.Max})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (i *Interval) UnmarshalJSON(data []byte) error {
	var e ends
	if err := json.Unmarshal(data, &e); err != nil {
		return err
	}
	switch {
	case e.Min == nil && e.Max == nil:
		*i = None
	case e.Min == nil || e.Max == nil:
		return fmt.Errorf("an interval has both ends, min and max, or neither")
	default:
		*i = Interval{Min: *e.Min, Max: *e.Max}
	}
	return nil
}
