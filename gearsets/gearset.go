package gearsets

import (
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// A gearsetEntry is one gearset as decoded. Teeth that are not given are 0.
type gearsetEntry struct {
	name    scalar
	facts   *kinematics.KindFacts // of its kind, nil if that is not known
	object  *object
	teeth   map[string]int64 // by key: "sun", "ring", "pinion"
	ratios  []fraction       // in place of teeth, as the kind lists them
	pinions int
	shifted bool
	bevels  bool // of a pair
	mesh    kinematics.MeshKind
	carrier scalar         // of a pair; not given = housing
	on      map[string]int // the pinion that a gear meshes, where the file says it
	steps   []stepEntry
	bad     bool // not all could be used: its members are then not certain
}

type stepEntry struct {
	part        scalar
	teeth, step int64
	teethAt     problem.Place
	key         kinematics.StepKey
}

func (r *report) gearset(e field) *gearsetEntry {
	g := &gearsetEntry{name: e.Key, bad: true, teeth: map[string]int64{}, on: map[string]int{}}
	o, ok := r.Mapping(e.Value, e.Key, e.Key.Value, kindTable.Form)
	if !ok {
		return g
	}
	g.object = o
	o.Expect(kindTable)
	if !o.Require(kindTable.Keys[0].Hint, "kind") {
		return g
	}
	kind := o.Choice("kind")
	if !kind.Given() {
		return g
	}
	g.facts = kinematics.Kind(kind.Value).Facts()
	o.Is(setTables[g.facts.Kind])
	g.read()
	if !o.Bad {
		g.fits()
	}
	g.bad = o.Bad
	return g
}

// read reads what the keys of the kind give.
func (g *gearsetEntry) read() {
	o, f := g.object, g.facts
	for _, part := range g.toothKeys() {
		g.teeth[part] = o.Whole(part)
	}
	g.pinions = int(o.Whole("pinions"))
	g.shifted = o.Flag("profile-shifted")
	switch {
	case len(f.Steps) > 0:
		g.stepped()
	default:
		g.teethOrRatio()
	}
	if len(f.Pinions) == 2 {
		g.both(f.Pinions[0], f.Pinions[1])
	}
	for _, gear := range f.Gears {
		if gear.Which != "" {
			g.which(gear)
		}
	}
	if len(f.Pinions) == 0 {
		g.pair()
	}
}

// toothKeys are the keys whose value is a number of teeth.
func (g *gearsetEntry) toothKeys() []string {
	if len(g.facts.Steps) > 0 {
		return nil
	}
	return append(g.facts.GearParts(), g.facts.Pinions...)
}

// teethOrRatio sees that either the teeth of the gears or their ratios are
// given, and nothing that means nothing beside a ratio.
func (g *gearsetEntry) teethOrRatio() {
	o, f := g.object, g.facts
	ratios := strings.Join(f.Ratios, " and ")
	first := slices.IndexFunc(f.Ratios, o.Has)
	switch {
	case first < 0 && f.Least > 0:
		g.enough()
		return
	case first < 0:
		o.Require(fmt.Sprintf("write it as %s, or %s: 2.20 where only the ratio is known", f.Form, ratios), f.GearParts()...)
		return
	}
	o.Require(fmt.Sprintf("write %s, each as a decimal or a fraction", ratios), f.Ratios...)
	g.ratios = kinematics.Map(f.Ratios, func(key string) fraction { return readRatio(o, key) })
	for _, k := range g.toothKeys() {
		if o.Has(k) {
			p := o.Errorf(o.Key(k), fmt.Sprintf("write %s, or %s alone", f.GearList(), ratios), "%s cannot stand beside %s", k,
				f.Ratios[first])
			o.See(p, o.Key(f.Ratios[first]), "here")
		}
	}
}

// enough sees that so many gears are given as are needed.
func (g *gearsetEntry) enough() {
	n := 0
	for _, part := range g.facts.GearParts() {
		if g.object.Has(part) {
			n++
		}
	}
	if n < g.facts.Least {
		g.object.Errorf(g.object.At, "write it as "+g.facts.Form, "two of %s are needed", g.facts.GearList())
	}
}

// both sees that two keys are given together or not at all.
func (g *gearsetEntry) both(a, b string) {
	o := g.object
	if o.Has(a) != o.Has(b) {
		if !o.Has(a) {
			a, b = b, a
		}
		o.Errorf(o.Key(a), "give both or neither", "%s is given without %s", a, b)
	}
}

// which reads which pinions a gear meshes.
func (g *gearsetEntry) which(gear kinematics.CentralGear) {
	o := g.object
	there := o.Has(gear.Part) || len(g.ratios) > 0
	at := gear.Part
	if !o.Has(at) {
		at = g.facts.Ratios[0]
	}
	word := o.Choice(gear.Which)
	if word.Given() {
		g.on[gear.Part] = g.facts.PinionNamed(word.Value)
	}
	switch {
	case there && !o.Has(gear.Which):
		o.Errorf(o.Key(at), fmt.Sprintf("write %s", strings.Join(keyed(gear.Which, whichPinion(g.facts)), " or ")),
			"which pinions the %s meshes is missing", gear.Part)
	case !there && o.Has(gear.Which):
		o.Errorf(o.Key(gear.Which), "leave it out, or give the "+gear.Part, "%s says nothing without a %s", gear.Which,
			gear.Part)
	}
}

// keyed writes a key with each of some values.
func keyed(key string, values []string) []string {
	return kinematics.Map(values, func(v string) string { return key + ": " + v })
}

func (g *gearsetEntry) pair() {
	o := g.object
	o.Require("write mesh: external, mesh: internal or mesh: chain", "mesh")
	switch o.Choice("mesh").Value {
	case kinematics.Internal.String():
		g.mesh = kinematics.Internal
	case kinematics.Chain.String():
		g.mesh = kinematics.Chain
	}
	g.carrier = o.Line("carrier")
	if g.bevels = o.Flag("bevel"); g.bevels && g.mesh == kinematics.Chain {
		o.Errorf(o.Key("bevel"), "leave the key out", "two wheels on a chain are no bevel gears")
	}
}

// stepped reads the central gears of a stepped set: name: [teeth, teeth of the
// pinion step that it meshes].
func (g *gearsetEntry) stepped() {
	o := g.object
	first := map[string]problem.Place{}
	taken := append([]string{"carrier"}, g.facts.Pinions...)
	for _, key := range g.facts.Steps {
		for _, e := range o.Entries(key.Key) {
			name := e.Key.Value
			if before, twice := first[name]; twice {
				o.See(o.Errorf(e.Key.Place, "choose another name", "gear %s is given twice", name), before, "first here")
				continue
			}
			first[name] = e.Key.Place
			if slices.Contains(taken, name) {
				o.Errorf(e.Key.Place, "choose another name", "a gear cannot be named %s: the set has one already", name)
				continue
			}
			g.step(e, key)
		}
	}
	if !o.Bad && len(g.steps) < g.facts.Least {
		o.Errorf(o.At, "write it as "+g.facts.Form, "it has %s: %s and %s together are at least two",
			plural(len(g.steps), "gear"), g.facts.Steps[0].Key, g.facts.Steps[1].Key)
	}
}

func (g *gearsetEntry) step(e field, key kinematics.StepKey) {
	o, n, name := g.object, e.Value, e.Key.Value
	if n.Kind != yaml.SequenceNode || len(n.Content) != 2 {
		if n.Kind != yaml.AliasNode {
			o.Errorf(o.Where(n, e.Key), "write its teeth and those of the pinion step it meshes: [21, 33]",
				"%s is not a list of two tooth counts", name)
		}
		o.Bad = true
		return
	}
	g.steps = append(g.steps, stepEntry{
		part: e.Key, key: key, teethAt: o.Place(n.Content[0]),
		teeth: o.Number(n.Content[0], e.Key, name, teeth),
		step:  o.Number(n.Content[1], e.Key, "the pinion step of "+name, teeth),
	})
}

// fits reports gears that cannot mesh at all: a ring has more teeth than what
// turns inside it.
func (g *gearsetEntry) fits() {
	const hint = "a ring has more teeth than the gears inside it"
	o, f := g.object, g.facts
	for _, gear := range f.Gears {
		if gear.Kind != kinematics.RingMember || g.teeth[gear.Part] == 0 {
			continue
		}
		ring := gear.Part
		for _, inner := range g.inside(gear) {
			if zr, zi := g.teeth[ring], g.teeth[inner]; zi >= zr {
				o.See(o.Errorf(g.value(ring), hint, "%s %d is too small for %s %d", ring, zr, inner, zi), g.value(inner),
					"inside it")
			}
		}
	}
	for _, s := range g.steps {
		if s.key.Kind == kinematics.RingMember && s.step >= s.teeth {
			o.Errorf(s.teethAt, hint, "the ring %q of %d teeth is too small for a pinion step of %d", s.part.Value, s.teeth,
				s.step)
		}
	}
	for i, x := range g.ratios {
		outer, inner := f.RatioOf(i)
		if outer.Kind == kinematics.RingMember && x.num <= x.den && slices.Contains(g.inside(*outer), inner.Part) {
			o.Errorf(x.Place, "write teeth of the ring / teeth of the sun",
				"%s must be above 1: the ring is outside the sun", f.Ratios[i])
		}
	}
	if len(f.Pinions) == 0 && g.mesh == kinematics.Internal && !g.bevels {
		a, b := g.teeth[f.Gears[0].Part], g.teeth[f.Gears[1].Part]
		if a > 0 && a == b || g.ratioOnly() && g.ratios[0].num == g.ratios[0].den {
			o.Errorf(o.Key("mesh"), "a ring has more teeth than the gear inside it; two wheels on a chain are mesh: chain",
				"a gear and a ring of equal teeth do not mesh")
		}
	}
}

// inside returns the parts that turn inside a ring: the suns whose pinions lie
// within those that it meshes, these, and others in the same plane.
func (g *gearsetEntry) inside(ring kinematics.CentralGear) []string {
	on := g.pinionOf(ring)
	var parts []string
	for _, gear := range g.facts.Gears {
		if gear.Kind != kinematics.RingMember && g.pinionOf(gear) <= on {
			parts = append(parts, gear.Part)
		}
	}
	for i, p := range g.facts.Pinions {
		if i == on || i < on && g.facts.InOnePlane {
			parts = append(parts, p)
		}
	}
	return parts
}

// pinionOf is the index of the pinion that a gear meshes.
func (g *gearsetEntry) pinionOf(gear kinematics.CentralGear) int {
	if p, given := g.on[gear.Part]; given {
		return p
	}
	return gear.Pinion
}

// value is where the value of a key stands.
func (g *gearsetEntry) value(key string) problem.Place {
	f, ok := g.object.Get(key)
	if !ok {
		return g.object.At
	}
	return g.object.Where(f.Value, f.Key)
}

// ratioOnly says whether a ratio stands in place of the teeth.
func (g *gearsetEntry) ratioOnly() bool { return len(g.ratios) > 0 }

// A part is a member of a gearset. Why is set if no equation gives its speed.
type part struct{ name, why string }

// parts returns the members of a gearset that could be decoded.
func (g *gearsetEntry) parts() []part {
	if g.facts == nil {
		return nil
	}
	var list []part
	for _, gear := range g.facts.Gears {
		if g.facts.Least == 0 || g.teeth[gear.Part] > 0 || g.ratioOnly() {
			list = append(list, part{gear.Part, ""})
		}
	}
	for _, s := range g.steps {
		list = append(list, part{s.part.Value, ""})
	}
	if len(g.facts.Pinions) > 0 {
		list = append(list, part{"carrier", ""})
	}
	for _, p := range g.facts.Pinions {
		list = append(list, part{p, g.whyUnknown(p)})
	}
	return list
}

// whyUnknown says why no equation gives the speed of a pinion, "" if one does.
func (g *gearsetEntry) whyUnknown(pinion string) string {
	switch {
	case g.facts.Across:
		return "the pinion of a bevel set only spins on the carrier"
	case len(g.facts.Steps) > 0 || g.teeth[pinion] > 0 || g.derives():
		return ""
	}
	return "its teeth are not given"
}

// derives says whether the teeth of the only pinion follow from those of sun and ring.
func (g *gearsetEntry) derives() bool {
	gears := g.facts.Gears
	return len(g.facts.Pinions) == 1 && !g.ratioOnly() && (g.teeth[gears[1].Part]-g.teeth[gears[0].Part])%2 == 0
}

// build adds the gearset to a train.
func (g *gearsetEntry) build(b *kinematics.Builder) {
	spec := kinematics.GearsetSpec{Teeth: g.teeth, On: g.on, RatioOnly: g.ratioOnly(), Mesh: g.mesh,
		Carrier: kinematics.HousingName}
	if g.ratioOnly() {
		spec.Teeth = g.fromRatios()
	}
	if g.carrier.Given() {
		spec.Carrier = g.carrier.Value
	}
	for _, s := range g.steps {
		spec.Steps = append(spec.Steps, kinematics.Step{Part: s.part.Value, Teeth: s.teeth, PinionTeeth: s.step,
			Ring: s.key.Kind == kinematics.RingMember, Right: s.key.Far})
	}
	set := b.Gearset(g.name.Value, g.facts.Kind, spec)
	set.PinionCount, set.ProfileShifted, set.Bevels = g.pinions, g.shifted, g.bevels
}

// fromRatios returns the least teeth that have the ratios.
func (g *gearsetEntry) fromRatios() map[string]int64 {
	common := int64(1)
	for _, x := range g.ratios {
		common *= x.num / gcd(common, x.num)
	}
	teeth := map[string]int64{}
	for i, x := range g.ratios {
		outer, inner := g.facts.RatioOf(i)
		teeth[outer.Part], teeth[inner.Part] = common, common/x.num*x.den
	}
	return teeth
}
