package kinematics

import (
	"iter"
	"slices"
	"strings"
)

// Kind is a kind of gearset: the shorthand of a train file that expands to
// meshes.
type Kind string

// The kinds of gearset, as they are written in train files.
const (
	Simple       Kind = "simple"
	DoublePinion Kind = "double-pinion"
	Ravigneaux   Kind = "ravigneaux"
	Stepped      Kind = "stepped"
	Bevel        Kind = "bevel"
	SteppedBevel Kind = "stepped-bevel"
	Pair         Kind = "pair"
)

// KindFacts is all that sets one kind of gearset apart from the others: the train
// file, the meshes, the audit of tooth counts, drawings and tables take what they
// need from it.
type KindFacts struct {
	Kind Kind
	// Noun is what sentences call a set of the kind, Nouns several.
	Noun, Nouns string
	Form        string // an example, as a train file writes it
	Doc         string // how its keys are written, for the documentation of the train file

	// Gears are the central gears in their order. Where there are none, the file
	// names its own, under the keys of Steps.
	Gears []CentralGear
	// Least is how many of the gears must be there; the others may be left out.
	// 0 means that all must.
	Least int
	// Ratios are the keys of the ratios, one gear by another, that may stand
	// together in place of all teeth: "ring/sun". They share the first gear.
	Ratios []string
	// Pinions are the parts on the carrier. Two pinions mesh each other; with none
	// the two gears mesh each other and sit on a carrier that the file names.
	Pinions []string

	// Steps says that the pinion has steps of different teeth, each gear meshing one
	// of them, and under which keys the file names these gears.
	Steps  []StepKey
	Across bool // the axis of the pinion lies across the others: it has a spin, and no speed
	// InOnePlane says that both pinions are as long as the teeth of all gears, and
	// so must clear the gears that they pass.
	InOnePlane bool
	Layout     Layout
}

// SunAndRing says that one pinion stands between a sun and a ring, as in a simple set.
func (f *KindFacts) SunAndRing() bool { return len(f.Gears) == 2 && len(f.Pinions) == 1 && !f.Across }

// A CentralGear is a central gear of a kind of gearset.
type CentralGear struct {
	Part   string // "sun"
	Kind   MemberKind
	Pinion int // index into Pinions of the one that it meshes, -1 for none
	// Which is the key that says which pinion the gear meshes, where the file does;
	// its words are the names of the pinions up to their dash.
	Which string
	Far   bool // see [Gear]
}

// A StepKey is a key under which the file names the gears on the steps of a pinion.
type StepKey struct {
	Key  string // "suns"
	Kind MemberKind
	Far  bool // see [Gear]
}

// A Layout is how the half-section of a set is drawn.
type Layout uint8

// The layouts.
const (
	// Beside puts pinions, or their steps, side by side, suns below, rings above.
	Beside Layout = iota
	// Nested puts two pinions one above the other between sun and ring.
	Nested
	// Facing puts the pinion, or its steps one above the other, between side gears.
	Facing
	// Axles puts two gears one above the other, without a pinion.
	Axles
)

// kindTable holds the kinds in the order in which they are listed everywhere. A new
// kind is a row here, with its constant above.
var kindTable = []*KindFacts{
	{
		Kind: Simple, Noun: "simple set", Nouns: "simple sets",
		Form:    "{kind: simple, sun: 30, ring: 66, pinions: 4}",
		Doc:     "sun, ring, or ring/sun; pinion if not (ring - sun) / 2",
		Gears:   []CentralGear{{Part: "sun", Kind: SunMember}, {Part: "ring", Kind: RingMember}},
		Ratios:  []string{"ring/sun"},
		Pinions: []string{"pinion"},
	},
	{
		Kind: DoublePinion, Noun: "double-pinion set", Nouns: "double-pinion sets",
		Form: "{kind: double-pinion, sun: 27, ring: 60, pinions: 3}",
		Doc: "sun, ring, or ring/sun; inner-pinion and outer-pinion, both or neither. The sun meshes the inner pinions, " +
			"the ring the outer",
		Gears:      []CentralGear{{Part: "sun", Kind: SunMember}, {Part: "ring", Kind: RingMember, Pinion: 1}},
		Ratios:     []string{"ring/sun"},
		Pinions:    []string{"inner-pinion", "outer-pinion"},
		InOnePlane: true,
		Layout:     Nested,
	},
	{
		Kind: Ravigneaux, Noun: "Ravigneaux set", Nouns: "Ravigneaux sets",
		Form: "{kind: ravigneaux, sun-short: 26, sun-long: 34, ring: 74, ring-meshes: long, pinions: 3}",
		Doc: "two or three of sun-short (the sun on the short pinions), sun-long (the sun on the long pinions) and ring, " +
			"or ring/sun-short with ring/sun-long; " +
			"ring-meshes: long or short, the pinions that the ring meshes; short-pinion and long-pinion, both or neither",
		Gears: []CentralGear{{Part: "sun-short", Kind: SunMember}, {Part: "sun-long", Kind: SunMember, Pinion: 1},
			{Part: "ring", Kind: RingMember, Pinion: 1, Which: "ring-meshes"}},
		Least:   2,
		Ratios:  []string{"ring/sun-short", "ring/sun-long"},
		Pinions: []string{"short-pinion", "long-pinion"},
	},
	{
		Kind: Stepped, Noun: "set with stepped pinions", Nouns: "sets with stepped pinions",
		Form: "{kind: stepped, suns: {slow: [21, 33]}, rings: {ring: [90, 36]}}",
		Doc: "suns and rings: gears by name, each a list of its own teeth and those of the pinion step it meshes: " +
			"{slow: [21, 33]}",
		Least:   2,
		Pinions: []string{"pinion"},
		Steps:   []StepKey{{Key: "suns", Kind: SunMember}, {Key: "rings", Kind: RingMember}},
	},
	{
		Kind: Bevel, Noun: "bevel set", Nouns: "bevel sets",
		Form:    "{kind: bevel, left: 24, right: 24}",
		Doc:     "left, right, or right/left; pinion",
		Gears:   []CentralGear{{Part: "left", Kind: GearMember}, {Part: "right", Kind: GearMember, Far: true}},
		Ratios:  []string{"right/left"},
		Pinions: []string{"pinion"},
		Across:  true,
		Layout:  Facing,
	},
	{
		Kind: SteppedBevel, Noun: "bevel set with stepped pinions", Nouns: "bevel sets with stepped pinions",
		Form: "{kind: stepped-bevel, left: {input: [20, 56]}, right: {held: [76, 56], output: [35, 24]}}",
		Doc: "left and right: gears by name on either side of the pinion, each a list of its own teeth and those of the " +
			"pinion step it meshes: {held: [76, 56]}",
		Least:   2,
		Pinions: []string{"pinion"},
		Steps:   []StepKey{{Key: "left", Kind: GearMember}, {Key: "right", Kind: GearMember, Far: true}},
		Across:  true,
		Layout:  Facing,
	},
	{
		Kind: Pair, Noun: "pair of gears", Nouns: "pairs of gears",
		Form: "{kind: pair, a: 24, b: 77, mesh: external}",
		Doc: "a, b, or b/a; mesh: external, internal or chain, which must be there; " +
			"bevel: true where the axes cross, so that " +
			"the mesh only says which way b turns; carrier: the member that carries both axes, housing if it is left out",
		Gears:  []CentralGear{{Part: "a", Kind: GearMember, Pinion: -1}, {Part: "b", Kind: GearMember, Pinion: -1}},
		Ratios: []string{"b/a"},
		Layout: Axles,
	},
}

// Kinds lists every kind of gearset.
var Kinds = func() []Kind {
	var list []Kind
	for _, f := range kindTable {
		list = append(list, f.Kind)
	}
	return list
}()

// Facts returns what sets the kind apart, nil for no kind of gearset.
func (k Kind) Facts() *KindFacts {
	for _, f := range kindTable {
		if f.Kind == k {
			return f
		}
	}
	return nil
}

// RatioOf returns the gears of a ratio: "ring/sun" is the teeth of the ring by those
// of the sun.
func (f *KindFacts) RatioOf(i int) (outer, inner *CentralGear) {
	a, b, _ := strings.Cut(f.Ratios[i], "/")
	for k := range f.Gears {
		switch f.Gears[k].Part {
		case a:
			outer = &f.Gears[k]
		case b:
			inner = &f.Gears[k]
		}
	}
	return outer, inner
}

// Ratios gives the ratios that the kind may have in place of teeth: their keys with
// numerator and denominator.
func (g *Gearset) Ratios() iter.Seq2[string, [2]int64] {
	return func(yield func(string, [2]int64) bool) {
		f := g.Kind.Facts()
		for i, key := range f.Ratios {
			outer, inner := f.RatioOf(i)
			a, b := g.Gear(outer.Part), g.Gear(inner.Part)
			if a != nil && b != nil && !yield(key, [2]int64{a.Teeth, b.Teeth}) {
				return
			}
		}
	}
}

// PinionNamed returns the pinion that a word of [CentralGear.Which] names, -1 for none.
func (f *KindFacts) PinionNamed(word string) int {
	for i := range f.Pinions {
		if f.PinionWord(i) == word {
			return i
		}
	}
	return -1
}

// PinionWord is the word of [CentralGear.Which] for a pinion: "long".
func (f *KindFacts) PinionWord(i int) string {
	word, _, _ := strings.Cut(f.Pinions[i], "-")
	return word
}

// Planetary says whether the set has pinions on a carrier, as all have but pairs.
func (g *Gearset) Planetary() bool { return len(g.Kind.Facts().Pinions) > 0 }

// Steps says whether the pinion has steps, each meshed by a gear of its own.
func (g *Gearset) Steps() bool { return len(g.Kind.Facts().Steps) > 0 }

// Across says whether the axis of the pinion lies across the others, so that it has
// a spin against the carrier and no speed of its own.
func (g *Gearset) Across() bool { return g.Kind.Facts().Across }

// Layout is how the half-section of the set is drawn.
func (g *Gearset) Layout() Layout { return g.Kind.Facts().Layout }

// A GearsetSpec is a gearset by its teeth.
type GearsetSpec struct {
	Teeth map[string]int64 // by part; pinions that are not there have unknown teeth
	// On says which pinion a gear meshes, by part, where the kind leaves it open.
	On map[string]int
	// RatioOnly says that a ratio was given: the teeth are its fraction.
	RatioOnly bool
	Steps     []Step   // of a kind whose pinions have steps, in place of Teeth
	Mesh      MeshKind // of a pair
	Carrier   string   // of a pair
}

// Gearset adds a gearset of a kind: its central gears, carrier and pinions as
// members name.part, and a mesh for each engagement. Pinion teeth of 0 are derived
// as (ring - sun) / 2 for one pinion between a sun and a ring, when whole; otherwise
// they stay unknown, and a mesh over the pinions stands for those on them.
func (b *Builder) Gearset(name string, kind Kind, spec GearsetSpec) *Gearset {
	f := kind.Facts()
	if f == nil {
		b.fail("%s: no kind of gearset %q", name, kind)
		return &Gearset{}
	}
	s := b.set(name, f)
	s.set().RatioOnly = spec.RatioOnly
	for _, g := range f.Gears {
		if z := spec.Teeth[g.Part]; z != 0 || f.Least == 0 {
			s.set().Gears[s.gear(g.Part, g.Kind, z)].Far = g.Far
		}
	}
	switch {
	case len(f.Steps) > 0:
		s.steps(f, spec.Steps)
	case len(s.set().Gears) < f.Least:
		b.fail("%s needs two of %s", name, f.GearList())
	case len(f.Pinions) == 0:
		b.carriers[s.index] = spec.Carrier
		s.over(spec.Mesh, 0, 1)
		b.t.Meshes[len(b.t.Meshes)-1].Path = false
	default:
		s.planetary(f, spec)
	}
	return s.set()
}

// planetary adds pinions and the meshes on them.
func (s *setBuilder) planetary(f *KindFacts, spec GearsetSpec) {
	for i := range s.set().Gears {
		g := &s.set().Gears[i]
		g.Pinion = f.pinionOf(g.Part, spec.On)
	}
	teeth, derived := s.pinionTeeth(f, spec)
	known := !f.Across && !slices.Contains(teeth, 0)
	for i, part := range f.Pinions {
		p := s.pinion(part, teeth[i], known)
		s.set().Pinions[p].Derived = derived
	}
	switch {
	case known:
		s.onPinions(teeth)
	case f.Across:
		for i := range s.set().Gears {
			s.set().Gears[i].PinionTeeth = teeth[0]
		}
		s.overPinions()
	default:
		s.overPinions()
	}
}

// pinionTeeth returns the teeth of the pinions, 0 for those not known, and whether
// they follow from the teeth of the others.
func (s *setBuilder) pinionTeeth(f *KindFacts, spec GearsetSpec) (teeth []int64, derived bool) {
	for _, part := range f.Pinions {
		teeth = append(teeth, spec.Teeth[part])
	}
	gears := s.set().Gears
	if len(teeth) > 1 || teeth[0] != 0 || spec.RatioOnly || gears[0].Internal || !gears[1].Internal {
		return teeth, false
	}
	if twice := gears[1].Teeth - gears[0].Teeth; twice > 0 && twice%2 == 0 {
		return []int64{twice / 2}, true
	}
	return teeth, false
}

// onPinions meshes every gear with its pinion, and two pinions with each other.
func (s *setBuilder) onPinions(teeth []int64) {
	for i := range s.set().Gears {
		p := s.set().Gears[i].Pinion
		s.onPinion(i, p, teeth[p])
	}
	if p := s.set().Pinions; len(p) == 2 {
		s.mesh(External, p[0].Member, teeth[0], p[1].Member, teeth[1], false)
	}
}

// overPinions adds the row of the first gear with each of the others.
func (s *setBuilder) overPinions() {
	gears := s.set().Gears
	for k := 1; k < len(gears); k++ {
		kind := External
		if gears[0].TurnsAs(&gears[k]) {
			kind = Internal
		}
		s.over(kind, 0, k)
	}
}

// steps adds the gears of a set whose pinion has steps.
func (s *setBuilder) steps(f *KindFacts, steps []Step) {
	for _, st := range steps {
		key := st.key(f)
		s.set().Gears[s.gear(st.Part, key.Kind, st.Teeth)].Far = key.Far
		if st.PinionTeeth <= 0 || st.PinionTeeth > maxTeeth {
			s.b.fail("%s.%s meshes a pinion step of %d teeth", s.name, st.Part, st.PinionTeeth)
		}
	}
	p := s.pinion(f.Pinions[0], 0, !f.Across)
	for g, st := range steps {
		if !f.Across {
			s.onPinion(g, p, st.PinionTeeth)
			continue
		}
		gear := &s.set().Gears[g]
		gear.Pinion, gear.PinionTeeth = p, st.PinionTeeth
	}
	if f.Across {
		s.overPinions()
	}
}

// GearList names the central gears: "sun-short, sun-long and ring".
func (f *KindFacts) GearList() string {
	parts := f.GearParts()
	last := len(parts) - 1
	return strings.Join(parts[:last], ", ") + " and " + parts[last]
}

// GearParts returns the parts of the central gears in their order.
func (f *KindFacts) GearParts() []string {
	parts := make([]string, len(f.Gears))
	for i, g := range f.Gears {
		parts[i] = g.Part
	}
	return parts
}

func (f *KindFacts) pinionOf(part string, on map[string]int) int {
	if p, given := on[part]; given {
		return p
	}
	for _, g := range f.Gears {
		if g.Part == part {
			return g.Pinion
		}
	}
	return 0
}
