package table

import (
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
