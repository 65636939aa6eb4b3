package roadtest

import (
	_ "embed"
	"slices"
)

//go:embed sheet.schema.json
var schema []byte

// Schema returns the JSON Schema of the road-test sheet. Whether ranges, elements
// and words are those of the train only [Parse] checks.
func Schema() []byte { return slices.Clone(schema) }
