package gearsets

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"tieup/kinematics/controls"
)

// FuzzControls puts any text below controls: of a train. It is refused with a place, or
// means something: then every single fault brings about what the engine takes.
func FuzzControls(f *testing.F) {
	head, block, ok := bytes.Cut(Source("depot-shuttle-three-speed"), []byte("\ncontrols:\n"))
	if !ok {
		f.Fatal("the train has no controls")
	}
	f.Add(block)
	files, _ := filepath.Glob("../testdata/controls/*.yaml")
	for _, name := range files {
		src, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		if _, block, ok := bytes.Cut(src, []byte("\ncontrols:\n")); ok {
			f.Add(block)
		}
	}
	f.Fuzz(func(t *testing.T, block []byte) {
		train, ps := Parse("f", append(append(bytes.Clone(head), "\ncontrols:\n"...), block...))
		if (train == nil) != ps.Refuse() {
			t.Fatalf("train: %t, refused: %t", train != nil, ps.Refuse())
		}
		if train == nil {
			return
		}
		n := controls.Of(train)
		if n == nil {
			return
		}
		for _, fault := range n.SingleFaults() {
			for _, way := range n.Bring([]controls.Fault{fault}).Ways() {
				for _, e := range way {
					if e.Cause == "" || len(e.Ranges) != 1 {
						t.Fatalf("%s brings about %+v", fault, e)
					}
				}
			}
		}
	})
}
