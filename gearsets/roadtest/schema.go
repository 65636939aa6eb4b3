package roadtest

// Schema returns the JSON Schema of the road-test sheet. Whether ranges, elements
// and words are those of the train only [Parse] checks.
func Schema() []byte { return sheetTable().MarshalSchema("urn:tieup:sheet:1", "tieup road-test sheet") }
