package gearsets

import (
	"reflect"
	"strings"
	"testing"

	"tieup/kinematics"
)

// What Write writes of a train of the library Parse reads again as the same train, as far
// as it is written.
func TestWriteIsRead(t *testing.T) {
	for _, name := range Names() {
		train, err := Library(name)
		if err != nil {
			t.Fatal(err)
		}
		src := Write(train)
		again, problems := Parse(name+".yaml", src)
		if again == nil {
			t.Errorf("%s is not read again:\n%s\n%s", name, problems.Excerpts(), src)
			continue
		}
		for _, x := range []struct{ a, b any }{{train.Gearsets, again.Gearsets}, {train.Meshes, again.Meshes},
			{bodies(train), bodies(again)}, {train.Joints, again.Joints}, {elements(train), elements(again)},
			{ranges(train), ranges(again)}, {train.Positions, again.Positions}, {train.Forward, again.Forward},
			{train.Drive, again.Drive}, {train.Use, again.Use}, {train.Sources, again.Sources}} {
			if !reflect.DeepEqual(x.a, x.b) {
				t.Errorf("%s: %v, not %v", name, x.b, x.a)
			}
		}
	}
}

func elements(t *kinematics.Train) []kinematics.Coupling {
	var list []kinematics.Coupling
	for _, c := range t.Couplings {
		c.Area, c.Release, c.Apply = 0, nil, nil
		list = append(list, c)
	}
	return list
}

func ranges(t *kinematics.Train) []kinematics.Range {
	var list []kinematics.Range
	for _, r := range t.Ranges {
		if r.Published != nil {
			p := *r.Published
			p.Source = ""
			r.Published = &p
		}
		list = append(list, r)
	}
	return list
}

func bodies(t *kinematics.Train) []kinematics.Member {
	var list []kinematics.Member
	for _, m := range t.Members {
		m.Inertia = 0
		list = append(list, m)
	}
	return list
}

// A pair of bevels turns as its mesh says, and needs no ring around a smaller gear; two wheels
// on a chain are none.
func TestBevelPair(t *testing.T) {
	file := func(pair string) []byte {
		return []byte("tieup: 1\nname: angle\nsource: [invented for demonstration]\nshafts: [in, out]\n" +
			"gearsets:\n  drive: " + pair + "\njoined:\n  first: [in, drive.a]\n  second: [out, drive.b]\n" +
			"input: in\noutput: out\nranges:\n  run: {}\n")
	}
	train, problems := Parse("angle.yaml", file("{kind: pair, a: 20, b: 20, mesh: internal, bevel: true}"))
	if train == nil {
		t.Fatal(problems)
	}
	if !train.Gearsets[0].Bevels || train.Meshes[0].Kind != kinematics.Internal {
		t.Errorf("%+v", train.Gearsets[0])
	}
	if text := string(Write(train)); !strings.Contains(text, "mesh: internal, bevel: true") {
		t.Errorf("written as\n%s", text)
	}
	if _, problems := Parse("angle.yaml", file("{kind: pair, a: 20, b: 20, mesh: chain, bevel: true}")); !strings.Contains(problems.Error(),
		"two wheels on a chain are no bevel gears") {
		t.Errorf("a chain of bevels: %v", problems)
	}
	if _, problems := Parse("angle.yaml", file("{kind: pair, a: 20, b: 20, mesh: internal}")); !strings.Contains(problems.Error(),
		"a gear and a ring of equal teeth do not mesh") {
		t.Errorf("equal teeth: %v", problems)
	}
}
