package gearsets

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v4"

	"tieup/gearsets/internal/yamlfile"
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

// TestDocumentation sees that the lists of keys in the package comment are those of
// the tables; go test -update writes them there.
func TestDocumentation(t *testing.T) {
	src, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	doc := string(src)
	for _, c := range []struct {
		heading string
		table   *yamlfile.Table
	}{
		{"Keys of the file", fileTable},
		{"Gearsets", kindDocumentation()},
		{"Keys of every kind of gearset", &yamlfile.Table{Keys: setKeys}},
		{"Elements", elementTable},
		{"Ranges", rangeTable},
		{"Vehicle", vehicleTable()},
		{"Shifts in time", timingTable},
		{"Controls", controlsTable},
		{"Solenoids", solenoidTable},
		{"Valves", valveTable},
		{"Feeds", feedTable},
		{"Apply areas", areaTable},
		{"Patterns", patternTable},
		{"Rows of a table", rowTable},
		{"Fail-safes", failSafeKeys},
		{"Expected failures", expectTable},
	} {
		if doc, err = yamlfile.Documented(doc, c.heading, c.table); err != nil {
			t.Fatal(err)
		}
	}
	if *update {
		if err := os.WriteFile("doc.go", []byte(doc), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(src), doc); diff != "" {
		t.Errorf("run go test ./gearsets -update\n%s", diff)
	}
}
