package gearsets

import (
	_ "embed"
	"slices"
)

//go:embed train.schema.json
var trainSchema []byte

// Schema returns the JSON Schema of the train file, for editors that complete
// and check YAML by one. It knows the keys and the form of their values; what
// the names mean, and what the train does, only [Parse] checks.
func Schema() []byte { return slices.Clone(trainSchema) }
