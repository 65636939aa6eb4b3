package table

import (
	"bytes"
	"encoding/json"
	"io"

	"tieup/kinematics/exact"
)

// WriteJSON writes an answer as one indented object.
func WriteJSON(w io.Writer, answer any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(answer)
}

// A named value of an [ordered] object.
type named struct {
	name  string
	value any
}

// ordered is a JSON object that keeps the order of its fields.
type ordered []named

// MarshalJSON writes the fields in order.
func (o ordered) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, f := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(f.name)
		if err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		value, err := json.Marshal(f.value)
		if err != nil {
			return nil, err
		}
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// jsonBound is a number, "-inf" or "inf".
func jsonBound(b exact.Bound, scale float64) any {
	if b.Inf != 0 {
		return b.String()
	}
	return scaled(b.Frac, scale)
}

// scaled is f times scale without a negative zero.
func scaled(f exact.Frac, scale float64) float64 {
	if f.Sign() == 0 {
		return 0
	}
	if scale == 1 {
		return f.Float()
	}
	return f.Float() * scale
}

// minMax is a set of speeds; both ends are null when it is empty.
type minMax struct {
	Min any `json:"min"`
	Max any `json:"max"`
}

func jsonInterval(i exact.Interval, scale float64) minMax {
	if i.Empty {
		return minMax{}
	}
	return minMax{jsonBound(i.Min, scale), jsonBound(i.Max, scale)}
}

// ratioJSON is a ratio that may not apply.
type ratioJSON struct {
	Ratio *float64 `json:"ratio"`
	Exact *string  `json:"ratio_exact"`
}

func jsonRatio(f exact.Frac, applies bool) ratioJSON {
	if !applies {
		return ratioJSON{}
	}
	x, s := f.Float(), f.String()
	return ratioJSON{&x, &s}
}

type coastJSON struct {
	Forward  coastWay `json:"forward"`
	Backward coastWay `json:"backward"`
}

type coastWay struct {
	Rolls    bool `json:"rolls"`
	InputMin any  `json:"input_min"`
	InputMax any  `json:"input_max"`
}

func jsonCoast(i exact.Interval) coastWay {
	b := jsonInterval(i, 1)
	return coastWay{!i.Empty, b.Min, b.Max}
}
