package gearsets

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v4"

	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// A gearsetEntry is one gearset as decoded. Teeth that are not given are 0.
type gearsetEntry struct {
	name    scalar
	kind    kinematics.Kind
	object  *object
	teeth   map[string]int64 // by key: "sun", "ring", "pinion"
	ratio   fraction         // in place of teeth
	pinions int
	shifted bool
	mesh    kinematics.MeshKind
	carrier scalar // of a pair; not given = housing
	onShort bool   // the ring of a Ravigneaux set meshes the short pinions
	steps   []stepEntry
	bad     bool // not all could be used: its members are then not certain
}

type stepEntry struct {
	part        scalar
	teeth, step int64
	teethAt     problem.Place
	ring        bool
}

// gearsetKeys are the keys of each kind, besides kind itself.
var gearsetKeys = map[kinematics.Kind][]string{
	kinematics.Simple:       {"sun", "ring", "ring/sun", "pinion", "pinions", "profile-shifted"},
	kinematics.DoublePinion: {"sun", "ring", "ring/sun", "inner-pinion", "outer-pinion", "pinions", "profile-shifted"},
	kinematics.Ravigneaux:   {"sun-short", "sun-long", "ring", "ring-meshes", "short-pinion", "long-pinion", "pinions", "profile-shifted"},
	kinematics.Stepped:      {"suns", "rings", "pinions", "profile-shifted"},
	kinematics.Bevel:        {"left", "right", "right/left", "pinion", "pinions", "profile-shifted"},
	kinematics.Pair:         {"a", "b", "b/a", "mesh", "carrier", "pinions", "profile-shifted"},
}

// toothKeys are the keys whose value is a number of teeth.
var toothKeys = []string{"sun", "ring", "pinion", "inner-pinion", "outer-pinion", "sun-short", "sun-long",
	"short-pinion", "long-pinion", "left", "right", "a", "b"}

// gearsetForms shows how each kind is written.
var gearsetForms = map[kinematics.Kind]string{
	kinematics.Simple:       "{kind: simple, sun: 30, ring: 66, pinions: 4}",
	kinematics.DoublePinion: "{kind: double-pinion, sun: 27, ring: 60, pinions: 3}",
	kinematics.Ravigneaux:   "{kind: ravigneaux, sun-short: 26, sun-long: 34, ring: 74, ring-meshes: long, pinions: 3}",
	kinematics.Stepped:      "{kind: stepped, suns: {slow: [21, 33]}, rings: {ring: [90, 36]}}",
	kinematics.Bevel:        "{kind: bevel, left: 24, right: 24}",
	kinematics.Pair:         "{kind: pair, a: 24, b: 77, mesh: external}",
}

func kindWords() []string {
	var words []string
	for _, k := range kinematics.Kinds {
		words = append(words, string(k))
	}
	return words
}

func (r *report) gearset(e field) *gearsetEntry {
	g := &gearsetEntry{name: e.Key, bad: true, teeth: map[string]int64{}}
	o, ok := r.object(e.Value, e.Key, e.Key.Value, "write it as "+gearsetForms[kinematics.Simple])
	if !ok {
		return g
	}
	g.object = o
	if !o.Require("write one of: "+strings.Join(kindWords(), ", "), "kind") {
		return g
	}
	kind := o.Choice("kind", kindWords()...)
	if !kind.Given() {
		return g
	}
	g.kind = kinematics.Kind(kind.Value)
	o.Allow(append([]string{"kind"}, gearsetKeys[g.kind]...)...)
	for _, k := range toothKeys {
		g.teeth[k] = o.Whole(k, "teeth", 1, maxTeeth)
	}
	g.pinions = int(o.Whole("pinions", "pinions", 1, maxPinions))
	g.shifted = o.Flag("profile-shifted")
	switch g.kind {
	case kinematics.Simple:
		o.teethOrRatio(g, "sun", "ring", "ring/sun", "pinion")
	case kinematics.DoublePinion:
		o.teethOrRatio(g, "sun", "ring", "ring/sun", "inner-pinion", "outer-pinion")
		o.both("inner-pinion", "outer-pinion")
	case kinematics.Ravigneaux:
		o.ravigneaux(g)
	case kinematics.Stepped:
		o.stepped(g)
	case kinematics.Bevel:
		o.teethOrRatio(g, "left", "right", "right/left", "pinion")
	case kinematics.Pair:
		o.teethOrRatio(g, "a", "b", "b/a")
		o.pair(g)
	}
	if !o.Bad {
		o.fits(g)
	}
	g.bad = o.Bad
	return g
}

// teethOrRatio sees that either the teeth of both gears or their ratio is
// given, and nothing that means nothing beside a ratio.
func (o *object) teethOrRatio(g *gearsetEntry, small, large, ratio string, pinions ...string) {
	form := gearsetForms[g.kind]
	if !o.Has(ratio) {
		o.Require(fmt.Sprintf("write it as %s, or %s: 2.20 where only the ratio is known", form, ratio), small, large)
		return
	}
	g.ratio = o.ratio(ratio)
	for _, k := range append([]string{small, large}, pinions...) {
		if o.Has(k) {
			p := o.Errorf(o.Key(k), fmt.Sprintf("write %s and %s, or %s alone", small, large, ratio), "%s cannot stand beside %s", k, ratio)
			o.Report.See(p, o.Key(ratio), "here")
		}
	}
}

// both sees that two keys are given together or not at all.
func (o *object) both(a, b string) {
	if o.Has(a) != o.Has(b) {
		if !o.Has(a) {
			a, b = b, a
		}
		o.Errorf(o.Key(a), "give both or neither", "%s is given without %s", a, b)
	}
}

func (o *object) ravigneaux(g *gearsetEntry) {
	n := 0
	for _, k := range []string{"sun-short", "sun-long", "ring"} {
		if o.Has(k) {
			n++
		}
	}
	if n < 2 {
		o.Errorf(o.At, "write it as "+gearsetForms[g.kind], "two of sun-short, sun-long and ring are needed")
	}
	o.both("short-pinion", "long-pinion")
	meshes := o.Choice("ring-meshes", "long", "short")
	g.onShort = meshes.Value == "short"
	switch {
	case o.Has("ring") && !o.Has("ring-meshes"):
		o.Errorf(o.Key("ring"), "write ring-meshes: long or ring-meshes: short", "which pinions the ring meshes is missing")
	case !o.Has("ring") && o.Has("ring-meshes"):
		o.Errorf(o.Key("ring-meshes"), "leave it out, or give the ring", "ring-meshes says nothing without a ring")
	}
}

func (o *object) pair(g *gearsetEntry) {
	o.Require("write mesh: external, mesh: internal or mesh: chain", "mesh")
	switch o.Choice("mesh", "external", "internal", "chain").Value {
	case "internal":
		g.mesh = kinematics.Internal
	case "chain":
		g.mesh = kinematics.Chain
	}
	g.carrier = o.Line("carrier", "write the member that carries both gears, or leave the key out for the housing")
}

// stepped reads the central gears of a stepped set: name: [teeth, teeth of the
// pinion step that it meshes].
func (o *object) stepped(g *gearsetEntry) {
	first := map[string]problem.Place{}
	for _, key := range []string{"suns", "rings"} {
		for _, e := range o.Named(key, "a gear", "write a gear as slow: [21, 33]: its teeth, then those of the pinion step it meshes") {
			s := stepEntry{part: e.Key, ring: key == "rings"}
			if before, twice := first[e.Key.Value]; twice {
				o.Report.See(o.Errorf(e.Key.Place, "choose another name", "gear %s is given twice", e.Key.Value), before, "first here")
				continue
			}
			first[e.Key.Value] = e.Key.Place
			if e.Key.Value == "carrier" || e.Key.Value == "pinion" {
				o.Errorf(e.Key.Place, "choose another name", "a gear cannot be named %s: the set has one already", e.Key.Value)
				continue
			}
			if n := e.Value; n.Kind != yaml.SequenceNode || len(n.Content) != 2 {
				if n.Kind != yaml.AliasNode {
					o.Errorf(o.Report.Where(n, e.Key), "write its teeth and those of the pinion step it meshes: [21, 33]",
						"%s is not a list of two tooth counts", e.Key.Value)
				}
				o.Bad = true
				continue
			}
			s.teeth = o.Number(e.Value.Content[0], e.Key, e.Key.Value, "teeth", 1, maxTeeth)
			s.step = o.Number(e.Value.Content[1], e.Key, "the pinion step of "+e.Key.Value, "teeth", 1, maxTeeth)
			s.teethAt = o.Report.Place(e.Value.Content[0])
			g.steps = append(g.steps, s)
		}
	}
	if !o.Bad && len(g.steps) < 2 {
		o.Errorf(o.At, "write it as "+gearsetForms[g.kind], "it has %s: suns and rings together are at least two", plural(len(g.steps), "gear"))
	}
}

// fits reports gears that cannot mesh at all: a ring has more teeth than what
// turns inside it.
func (o *object) fits(g *gearsetEntry) {
	inside := func(ring, inner string) {
		if zr, zi := g.teeth[ring], g.teeth[inner]; zr > 0 && zi >= zr {
			o.Report.See(o.Errorf(o.value(ring), "a ring has more teeth than the gears inside it", "%s %d is too small for %s %d", ring, zr, inner, zi),
				o.value(inner), "inside it")
		}
	}
	switch g.kind {
	case kinematics.Simple, kinematics.DoublePinion:
		for _, k := range []string{"sun", "pinion", "inner-pinion", "outer-pinion"} {
			inside("ring", k)
		}
		if g.ratio.Line > 0 && g.ratio.num <= g.ratio.den {
			o.Errorf(g.ratio.Place, "write teeth of the ring / teeth of the sun", "ring/sun must be above 1: the ring is outside the sun")
		}
	case kinematics.Ravigneaux:
		around := []string{"sun-short", "sun-long", "long-pinion"}
		if g.onShort {
			around = []string{"sun-short", "short-pinion"}
		}
		for _, k := range around {
			inside("ring", k)
		}
	case kinematics.Stepped:
		for _, s := range g.steps {
			if s.ring && s.step >= s.teeth {
				o.Errorf(s.teethAt, "a ring has more teeth than the gears inside it", "the ring %q of %d teeth is too small for a pinion step of %d", s.part.Value, s.teeth, s.step)
			}
		}
	case kinematics.Pair:
		if g.mesh == kinematics.Internal {
			if z := g.teeth["a"]; z > 0 && z == g.teeth["b"] || g.ratio.Line > 0 && g.ratio.num == g.ratio.den {
				o.Errorf(o.Key("mesh"), "a ring has more teeth than the gear inside it; two wheels on a chain are mesh: chain",
					"a gear and a ring of equal teeth do not mesh")
			}
		}
	}
}

// value is where the value of a key stands.
func (o *object) value(key string) problem.Place {
	f, ok := o.Get(key)
	if !ok {
		return o.At
	}
	return o.Report.Where(f.Value, f.Key)
}

// ratioOnly says whether a ratio stands in place of the teeth.
func (g *gearsetEntry) ratioOnly() bool { return g.ratio.Line > 0 }

// A part is a member of a gearset. Why is set if no equation gives its speed.
type part struct{ name, why string }

// parts returns the members of a gearset that could be decoded.
func (g *gearsetEntry) parts() []part {
	const noTeeth = "its teeth are not given"
	unless := func(known bool, why string) string {
		if known {
			return ""
		}
		return why
	}
	t := g.teeth
	var list []part
	add := func(name, why string) { list = append(list, part{name, why}) }
	switch g.kind {
	case kinematics.Simple:
		known := t["pinion"] > 0 || !g.ratioOnly() && (t["ring"]-t["sun"])%2 == 0
		add("sun", "")
		add("ring", "")
		add("carrier", "")
		add("pinion", unless(known, noTeeth))
	case kinematics.DoublePinion:
		add("sun", "")
		add("ring", "")
		add("carrier", "")
		add("inner-pinion", unless(t["inner-pinion"] > 0, noTeeth))
		add("outer-pinion", unless(t["outer-pinion"] > 0, noTeeth))
	case kinematics.Ravigneaux:
		for _, k := range []string{"sun-short", "sun-long", "ring"} {
			if t[k] > 0 {
				add(k, "")
			}
		}
		add("carrier", "")
		add("short-pinion", unless(t["short-pinion"] > 0, noTeeth))
		add("long-pinion", unless(t["long-pinion"] > 0, noTeeth))
	case kinematics.Stepped:
		for _, s := range g.steps {
			add(s.part.Value, "")
		}
		add("carrier", "")
		add("pinion", "")
	case kinematics.Bevel:
		add("left", "")
		add("right", "")
		add("carrier", "")
		add("pinion", "the pinion of a bevel set only spins on the carrier")
	case kinematics.Pair:
		add("a", "")
		add("b", "")
	}
	return list
}
