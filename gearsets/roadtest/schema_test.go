package roadtest

import (
	"bytes"
	"flag"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v4"

	"tieup/gearsets/internal/yamlfile"
)

var update = flag.Bool("update", false, "write the keys into the package comment; read the diff")

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

// TestSchema sees that the schema of sheets and their parser agree on form: a
// sheet that is read is valid, and one whose form is broken is not.
func TestSchema(t *testing.T) {
	s := compileSchema(t, Schema())
	validate := func(src string) error {
		var v any
		if err := yaml.Load([]byte(src), &v); err != nil {
			t.Fatal(err)
		}
		return s.Validate(v)
	}
	const head = "sheet: 1\ntrain: depot-shuttle-three-speed\n"
	for _, body := range []string{
		"", "vehicle: 14\ncomplaint: drives in neutral\n", "circumstances: [sudden, clean]\n",
		"seen: {R: bind, D1: [forward, no-engine-braking], N: 2.45, D2: 1800/735, P: not tested, D3: }\n",
		"shifts: {D1-D2: flare, D2-D3: [bind, flare], D3-D2: not tested}\n",
		"workshop: {air:direct: good, pressure:direct@R: fed, \"element:shell:front.sun\": sheared, bench:-: turns free, \"bench:forward+direct\": [held-locks, turns 1]}\n",
		"assume: {error-rate: 10%, tolerance: 0.03, weak: 1/2, dragging: 0.05, classes: [joint], effort: {stall: 0, element: 9}}\n",
	} {
		if _, problems, err := Parse("s.yaml", []byte(head+body)); err != nil {
			t.Errorf("%s%v\n%s", body, err, problems.Excerpts())
		}
		if err := validate(head + body); err != nil {
			t.Errorf("%s%v", body, err)
		}
	}
	for _, src := range []string{
		"sheet: 2\ntrain: x\n", "train: x\n", "sheet: 1\n", "sheet: 1\ntrain: \"-\"\n", head + "sen: {}\n", head + "seen: [R]\n", head + "seen: {air:direct: good}\n",
		head + "shifts: {D1: ok}\n", head + "shifts: {D1-D2: none}\n", head + "workshop: {R: bind}\n", head + "workshop: {pressure:direct: fed}\n", head + "circumstances: [suden]\n",
		head + "circumstances: [hot, hot]\n", head + "assume: {classes: [joints]}\n", head + "assume: {effort: {stal: 1}}\n", head + "assume: {effort: {stall: low}}\n",
		head + "assume: {weak: some}\n", head + "assume: {tolerance: -1}\n",
	} {
		if _, _, err := Parse("s.yaml", []byte(src)); err == nil {
			t.Errorf("read though its form is broken:\n%s", src)
		}
		if validate(src) == nil {
			t.Errorf("valid by the schema:\n%s", src)
		}
	}
}

// TestDocumentation sees that the lists of keys in the package comment are those of
// the tables; go test -update writes them there.
func TestDocumentation(t *testing.T) {
	src, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	doc := string(src)
	if doc, err = yamlfile.Documented(doc, "Keys", sheetTable()); err != nil {
		t.Fatal(err)
	}
	if doc, err = yamlfile.Documented(doc, "What is taken for granted", assumeTable()); err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile("doc.go", []byte(doc), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(src), doc); diff != "" {
		t.Errorf("run go test ./gearsets/roadtest -update\n%s", diff)
	}
}
