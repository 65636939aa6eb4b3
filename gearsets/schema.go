package gearsets

// Schema returns the JSON Schema of the train file, for editors that complete
// and check YAML by one. It knows the keys and the form of their values; what
// the names mean, and what the train does, only [Parse] checks.
func Schema() []byte { return fileTable.MarshalSchema("urn:tieup:train:1", "tieup train file") }
