package table

import (
	"bytes"
	"encoding/json"
	"io"
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
