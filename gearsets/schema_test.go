package gearsets

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v4"
)

func compileSchema(t *testing.T, src []byte) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(src))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("schema.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestSchema sees that the schema and the parser agree on form: every train of
// the library and every file with warnings only is valid, and every file of
// testdata/broken/structure is not.
func TestSchema(t *testing.T) {
	s := compileSchema(t, Schema())
	validate := func(t *testing.T, src []byte) error {
		var v any
		if err := yaml.Load(src, &v); err != nil {
			t.Fatal(err)
		}
		return s.Validate(v)
	}
	for _, name := range Names() {
		if err := validate(t, Source(name)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	brokenFiles(t, func(path string, src []byte) {
		path = filepath.ToSlash(path)
		switch {
		case strings.Contains(path, "/structure/"):
			if validate(t, src) == nil {
				t.Errorf("%s: valid by the schema", path)
			}
		case strings.Contains(path, "/warning/"):
			if err := validate(t, src); err != nil {
				t.Errorf("%s: %v", path, err)
			}
		}
	})
}

// TestSchemaKeys sees that the schema knows the keys that the parser knows.
func TestSchemaKeys(t *testing.T) {
	s := compileSchema(t, Schema())
	if len(s.Properties) != len(fileKeys) {
		t.Errorf("schema has %d keys, the parser %d", len(s.Properties), len(fileKeys))
	}
	for _, k := range fileKeys {
		if s.Properties[k] == nil {
			t.Errorf("the schema does not know the key %s", k)
		}
	}
	text := string(Schema())
	for kind, keys := range gearsetKeys {
		_, after, ok := strings.Cut(text, `"`+string(kind)+`": {`)
		if !ok {
			t.Errorf("the schema does not know the kind %s", kind)
			continue
		}
		own, _, _ := strings.Cut(after, "\n    },")
		for _, k := range keys {
			if !strings.Contains(own, `"`+k+`":`) {
				t.Errorf("%s: the schema does not know the key %s", kind, k)
			}
		}
	}
}
