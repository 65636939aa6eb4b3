package gearsets

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v4"

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
	teethAt     Place
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
	g := &gearsetEntry{name: e.key, bad: true, teeth: map[string]int64{}}
	o, ok := r.object(e.value, e.key, e.key.value, "write it as "+gearsetForms[kinematics.Simple])
	if !ok {
		return g
	}
	g.object = o
	if !o.require("write one of: "+strings.Join(kindWords(), ", "), "kind") {
		return g
	}
	kind := o.choice("kind", kindWords()...)
	if !kind.given() {
		return g
	}
	g.kind = kinematics.Kind(kind.value)
	o.allow(append([]string{"kind"}, gearsetKeys[g.kind]...)...)
	for _, k := range toothKeys {
		g.teeth[k] = o.whole(k, "teeth", 1, maxTeeth)
	}
	g.pinions = int(o.whole("pinions", "pinions", 1, maxPinions))
	g.shifted = o.flag("profile-shifted")
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
	if !o.bad {
		o.fits(g)
	}
	g.bad = o.bad
	return g
}

// teethOrRatio sees that either the teeth of both gears or their ratio is
// given, and nothing that means nothing beside a ratio.
func (o *object) teethOrRatio(g *gearsetEntry, small, large, ratio string, pinions ...string) {
	form := gearsetForms[g.kind]
	if !o.has(ratio) {
		o.require(fmt.Sprintf("write it as %s, or %s: 2.20 where only the ratio is known", form, ratio), small, large)
		return
	}
	g.ratio = o.ratio(ratio)
	for _, k := range append([]string{small, large}, pinions...) {
		if o.has(k) {
			p := o.errorf(o.key(k), fmt.Sprintf("write %s and %s, or %s alone", small, large, ratio), "%s cannot stand beside %s", k, ratio)
			o.r.see(p, o.key(ratio), "here")
		}
	}
}

// both sees that two keys are given together or not at all.
func (o *object) both(a, b string) {
	if o.has(a) != o.has(b) {
		if !o.has(a) {
			a, b = b, a
		}
		o.errorf(o.key(a), "give both or neither", "%s is given without %s", a, b)
	}
}

func (o *object) ravigneaux(g *gearsetEntry) {
	n := 0
	for _, k := range []string{"sun-short", "sun-long", "ring"} {
		if o.has(k) {
			n++
		}
	}
	if n < 2 {
		o.errorf(o.at, "write it as "+gearsetForms[g.kind], "two of sun-short, sun-long and ring are needed")
	}
	o.both("short-pinion", "long-pinion")
	meshes := o.choice("ring-meshes", "long", "short")
	g.onShort = meshes.value == "short"
	switch {
	case o.has("ring") && !o.has("ring-meshes"):
		o.errorf(o.key("ring"), "write ring-meshes: long or ring-meshes: short", "which pinions the ring meshes is missing")
	case !o.has("ring") && o.has("ring-meshes"):
		o.errorf(o.key("ring-meshes"), "leave it out, or give the ring", "ring-meshes says nothing without a ring")
	}
}

func (o *object) pair(g *gearsetEntry) {
	o.require("write mesh: external, mesh: internal or mesh: chain", "mesh")
	switch o.choice("mesh", "external", "internal", "chain").value {
	case "internal":
		g.mesh = kinematics.Internal
	case "chain":
		g.mesh = kinematics.Chain
	}
	g.carrier = o.line("carrier", "write the member that carries both gears, or leave the key out for the housing")
}

// stepped reads the central gears of a stepped set: name: [teeth, teeth of the
// pinion step that it meshes].
func (o *object) stepped(g *gearsetEntry) {
	first := map[string]Place{}
	for _, key := range []string{"suns", "rings"} {
		for _, e := range o.named(key, "a gear", "write a gear as slow: [21, 33]: its teeth, then those of the pinion step it meshes") {
			s := stepEntry{part: e.key, ring: key == "rings"}
			if before, twice := first[e.key.value]; twice {
				o.r.see(o.errorf(e.key.Place, "choose another name", "gear %s is given twice", e.key.value), before, "first here")
				continue
			}
			first[e.key.value] = e.key.Place
			if e.key.value == "carrier" || e.key.value == "pinion" {
				o.errorf(e.key.Place, "choose another name", "a gear cannot be named %s: the set has one already", e.key.value)
				continue
			}
			if n := e.value; n.Kind != yaml.SequenceNode || len(n.Content) != 2 {
				if n.Kind != yaml.AliasNode {
					o.errorf(at(o.r.place(n), e.key, n), "write its teeth and those of the pinion step it meshes: [21, 33]",
						"%s is not a list of two tooth counts", e.key.value)
				}
				o.bad = true
				continue
			}
			s.teeth = o.number(e.value.Content[0], e.key, e.key.value, "teeth", 1, maxTeeth)
			s.step = o.number(e.value.Content[1], e.key, "the pinion step of "+e.key.value, "teeth", 1, maxTeeth)
			s.teethAt = o.r.place(e.value.Content[0])
			g.steps = append(g.steps, s)
		}
	}
	if !o.bad && len(g.steps) < 2 {
		o.errorf(o.at, "write it as "+gearsetForms[g.kind], "it has %s: suns and rings together are at least two", plural(len(g.steps), "gear"))
	}
}

// fits reports gears that cannot mesh at all: a ring has more teeth than what
// turns inside it.
func (o *object) fits(g *gearsetEntry) {
	inside := func(ring, inner string) {
		if zr, zi := g.teeth[ring], g.teeth[inner]; zr > 0 && zi >= zr {
			o.r.see(o.errorf(o.value(ring), "a ring has more teeth than the gears inside it", "%s %d is too small for %s %d", ring, zr, inner, zi),
				o.value(inner), "inside it")
		}
	}
	switch g.kind {
	case kinematics.Simple, kinematics.DoublePinion:
		for _, k := range []string{"sun", "pinion", "inner-pinion", "outer-pinion"} {
			inside("ring", k)
		}
		if g.ratio.Line > 0 && g.ratio.num <= g.ratio.den {
			o.errorf(g.ratio.Place, "write teeth of the ring / teeth of the sun", "ring/sun must be above 1: the ring is outside the sun")
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
				o.errorf(s.teethAt, "a ring has more teeth than the gears inside it", "the ring %q of %d teeth is too small for a pinion step of %d", s.part.value, s.teeth, s.step)
			}
		}
	case kinematics.Pair:
		if g.mesh == kinematics.Internal {
			if z := g.teeth["a"]; z > 0 && z == g.teeth["b"] || g.ratio.Line > 0 && g.ratio.num == g.ratio.den {
				o.errorf(o.key("mesh"), "a ring has more teeth than the gear inside it; two wheels on a chain are mesh: chain",
					"a gear and a ring of equal teeth do not mesh")
			}
		}
	}
}

// value is where the value of a key stands.
func (o *object) value(key string) Place {
	f, ok := o.get(key)
	if !ok {
		return o.at
	}
	return at(o.r.place(f.value), f.key, f.value)
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
			add(s.part.value, "")
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
