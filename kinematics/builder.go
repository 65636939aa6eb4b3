package kinematics

import (
	"fmt"
	"slices"
)

// maxTeeth is far above any gear, and keeps sums of teeth within int64.
const maxTeeth = 1_000_000_000_000

// A Builder puts a train together. Its methods record the first mistake, which
// [Builder.Build] returns, so that calls need no error check of their own.
// Package gearsets finds the same mistakes with their place in the file before
// it calls a Builder.
type Builder struct {
	t        Train
	ids      map[string]MemberID
	carriers map[int]string // of pairs, by gearset: looked up in Build
	err      error
}

// NewBuilder starts a train that has only a housing.
func NewBuilder(name string) *Builder {
	b := &Builder{t: Train{Name: name, Drive: Converter, Use: InVehicle, Forward: 1}, ids: map[string]MemberID{},
		carriers: map[int]string{}}
	b.member(HousingName, HousingMember, -1)
	return b
}

func (b *Builder) fail(format string, args ...any) {
	if b.err == nil {
		b.err = fmt.Errorf("%s: "+format, append([]any{b.t.Name}, args...)...)
	}
}

func (b *Builder) member(name string, kind MemberKind, gearset int) MemberID {
	if _, twice := b.ids[name]; twice {
		b.fail("member %s is declared twice", name)
	}
	id := MemberID(len(b.t.Members))
	b.ids[name] = id
	b.t.Members = append(b.t.Members, Member{Name: name, Kind: kind, Gearset: gearset})
	return id
}

// id looks up a member by name.
func (b *Builder) id(name string) MemberID {
	m, ok := b.ids[name]
	if !ok {
		b.fail("no member %s", name)
	} else if b.t.Members[m].Unknown {
		b.fail("the speed of %s is not known: its teeth are not given", name)
	}
	return m
}

// Train gives access to the properties that the methods below do not set:
// title, sources, drive and so on. It must not be used after Build.
func (b *Builder) Train() *Train { return &b.t }

// Shaft declares members that carry no gear.
func (b *Builder) Shaft(names ...string) {
	for _, n := range names {
		b.member(n, ShaftMember, -1)
	}
}

// set starts a gearset with a carrier of its own and returns its index.
func (b *Builder) set(name string, f *KindFacts) *setBuilder {
	s := &setBuilder{b: b, index: len(b.t.Gearsets), name: name}
	b.t.Gearsets = append(b.t.Gearsets, Gearset{Name: name, Kind: f.Kind})
	if len(f.Pinions) > 0 {
		s.set().Carrier = b.member(name+".carrier", CarrierMember, s.index)
	}
	return s
}

// A setBuilder adds gears, pinions and meshes to one gearset.
type setBuilder struct {
	b     *Builder
	index int
	name  string
}

func (s *setBuilder) set() *Gearset { return &s.b.t.Gearsets[s.index] }

func (s *setBuilder) gear(part string, kind MemberKind, teeth int64) int {
	if teeth <= 0 || teeth > maxTeeth {
		s.b.fail("%s.%s has %d teeth", s.name, part, teeth)
	}
	id := s.b.member(s.name+"."+part, kind, s.index)
	s.set().Gears = append(s.set().Gears, Gear{Part: part, Member: id, Teeth: teeth, Internal: kind == RingMember,
		Pinion: -1})
	return len(s.set().Gears) - 1
}

// pinion adds a pinion. Unless known, no mesh will give its speed.
func (s *setBuilder) pinion(part string, teeth int64, known bool) int {
	if teeth < 0 || teeth > maxTeeth {
		s.b.fail("%s.%s has %d teeth", s.name, part, teeth)
	}
	id := s.b.member(s.name+"."+part, PinionMember, s.index)
	s.b.t.Members[id].Unknown = !known
	s.set().Pinions = append(s.set().Pinions, Pinion{Part: part, Member: id, Teeth: teeth})
	return len(s.set().Pinions) - 1
}

func (s *setBuilder) mesh(kind MeshKind, a MemberID, za int64, b MemberID, zb int64, path bool) {
	s.set().Meshes = append(s.set().Meshes, len(s.b.t.Meshes))
	s.b.t.Meshes = append(s.b.t.Meshes, Mesh{Gearset: s.index, A: a, B: b, Carrier: s.set().Carrier, ZA: za, ZB: zb,
		Kind: kind, Path: path})
}

// onPinion meshes central gear g with a step of zp teeth of pinion p.
func (s *setBuilder) onPinion(g, p int, zp int64) {
	gear := &s.set().Gears[g]
	gear.Pinion, gear.PinionTeeth = p, zp
	kind := External
	if gear.Internal {
		kind = Internal
	}
	s.mesh(kind, gear.Member, gear.Teeth, s.set().Pinions[p].Member, zp, false)
}

// over adds the row of two central gears over pinions that are not known or have no
// speed: with the carrier at rest each tooth of a step of zp teeth turns the pinion by
// 1/zp, so that teeth count by those of the step.
func (s *setBuilder) over(kind MeshKind, g, h int) {
	a, b := s.set().Gears[g], s.set().Gears[h]
	za, zb := a.Teeth, b.Teeth
	if s.set().Steps() {
		za, zb = s.times(za, b.PinionTeeth), s.times(zb, a.PinionTeeth)
	}
	if s.set().RatioOnly || s.set().Steps() {
		common := gcd(za, zb)
		za, zb = za/common, zb/common
	}
	s.mesh(kind, a.Member, za, b.Member, zb, true)
}

// times multiplies tooth counts.
func (s *setBuilder) times(a, b int64) int64 {
	if b > 0 && a > maxTeeth/b {
		s.b.fail("%s: %d x %d teeth are too many", s.name, a, b)
		return 1
	}
	return max(a*b, 1)
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return max(a, 1)
}

// Simple adds a simple planetary set: name.sun, name.ring, name.carrier and
// name.pinion. Pinion teeth of 0 are derived as (ring - sun) / 2 when whole,
// unless ratioOnly, and otherwise stay unknown.
func (b *Builder) Simple(name string, sun, ring, pinion int64, ratioOnly bool) {
	b.Gearset(name, Simple, GearsetSpec{Teeth: map[string]int64{"sun": sun, "ring": ring, "pinion": pinion},
		RatioOnly: ratioOnly})
}

// DoublePinion adds a set whose sun meshes an inner pinion, that an outer one,
// and that the ring: with the carrier held, ring and sun turn the same way.
// Pinion teeth are given both, or both 0 for unknown.
func (b *Builder) DoublePinion(name string, sun, ring, inner, outer int64, ratioOnly bool) {
	b.Gearset(name, DoublePinion, GearsetSpec{RatioOnly: ratioOnly,
		Teeth: map[string]int64{"sun": sun, "ring": ring, "inner-pinion": inner, "outer-pinion": outer}})
}

// A RavigneauxSet gives the teeth of a Ravigneaux set. Suns and ring that are
// not there have 0 teeth; at least two of the three are needed. Pinion teeth
// are given both, or both 0 for unknown.
type RavigneauxSet struct {
	SunShort, SunLong       int64 // the suns on the short and on the long pinions
	Ring                    int64
	RingOnShort             bool // the ring meshes the short pinions, not the long ones
	ShortPinion, LongPinion int64
}

// Ravigneaux adds a Ravigneaux set: name.sun-short, name.sun-long, name.ring,
// name.carrier, name.short-pinion and name.long-pinion, where present.
func (b *Builder) Ravigneaux(name string, r RavigneauxSet) {
	spec := GearsetSpec{Teeth: map[string]int64{"sun-short": r.SunShort, "sun-long": r.SunLong, "ring": r.Ring,
		"short-pinion": r.ShortPinion, "long-pinion": r.LongPinion}}
	if r.RingOnShort {
		spec.On = map[string]int{"ring": 0}
	}
	b.Gearset(name, Ravigneaux, spec)
}

// A Step is a central gear of a stepped set and the pinion step it meshes.
type Step struct {
	Part        string
	Teeth       int64
	PinionTeeth int64
	Ring        bool // of spur gears
	Right       bool // of bevel gears
}

// key is the key of the file that the gear stands under.
func (s *Step) key(f *KindFacts) StepKey {
	if s.Ring || s.Right {
		return f.Steps[1]
	}
	return f.Steps[0]
}

// StepPinions adds a set whose pinions have steps of different teeth, each
// central gear meshing one of them: name.carrier, name.pinion and a member per step.
func (b *Builder) StepPinions(name string, steps ...Step) {
	b.Gearset(name, Stepped, GearsetSpec{Steps: steps})
}

// Bevel adds a bevel set: name.left, name.right, name.carrier and a pinion that
// only spins. Pinion teeth of 0 are unknown.
func (b *Builder) Bevel(name string, left, right, pinion int64, ratioOnly bool) {
	b.Gearset(name, Bevel, GearsetSpec{Teeth: map[string]int64{"left": left, "right": right, "pinion": pinion},
		RatioOnly: ratioOnly})
}

// StepBevels adds a bevel set whose pinions have steps: name.carrier, a member per
// step, and a pinion that only spins.
func (b *Builder) StepBevels(name string, steps ...Step) {
	b.Gearset(name, SteppedBevel, GearsetSpec{Steps: steps})
}

// Pair adds two gears, or two wheels of a chain, on a carrier: name.a and
// name.b. The carrier may be any member, also one declared later, so that a pinion can
// carry a train of its own; "housing" makes a fixed-axis pair.
func (b *Builder) Pair(name string, a, z int64, kind MeshKind, carrier string, ratioOnly bool) {
	b.Gearset(name, Pair, GearsetSpec{Teeth: map[string]int64{"a": a, "b": z}, Mesh: kind, Carrier: carrier,
		RatioOnly: ratioOnly})
}

// Last returns the gearset added last, to set its remaining properties.
func (b *Builder) Last() *Gearset { return &b.t.Gearsets[len(b.t.Gearsets)-1] }

// Join makes members turn as one. The joint's common body is a member of its
// own, named as the joint with an exclamation mark, which no file can write.
func (b *Builder) Join(name string, members ...string) {
	j := Joint{Name: name, Hub: -1}
	if slices.Contains(members, HousingName) {
		j.Hub = Housing
	} else {
		j.Hub = b.member("!"+name, JointHub, -1)
	}
	for _, m := range members {
		id := b.id(m)
		if slices.Contains(j.Members, id) {
			b.fail("joint %s lists %s twice", name, m)
		}
		j.Members = append(j.Members, id)
		if id == Housing {
			j.Splines = append(j.Splines, -1)
			continue
		}
		j.Splines = append(j.Splines, len(b.t.Couplings))
		b.t.Couplings = append(b.t.Couplings, Coupling{Name: name + ":" + m, Kind: Spline, A: id, B: j.Hub,
			Joint: len(b.t.Joints)})
	}
	b.t.Joints = append(b.t.Joints, j)
}

// Element adds a coupling other than a spline between members x and y and
// returns it, to set its remaining properties before the next is added.
func (b *Builder) Element(name string, kind CouplingKind, x, y string) *Coupling {
	if kind == Spline {
		b.fail("element %s is a spline: splines come of joints", name)
	}
	c := Coupling{Name: name, Kind: kind, A: b.id(x), B: b.id(y), Joint: -1}
	if c.A == c.B {
		b.fail("%s joins %s to itself", name, x)
	}
	if _, twice := b.t.Coupling(name); twice {
		b.fail("element %s is declared twice", name)
	}
	b.t.Couplings = append(b.t.Couplings, c)
	return &b.t.Couplings[len(b.t.Couplings)-1]
}

// Ports sets the input and output of the train.
func (b *Builder) Ports(input, output string) {
	b.t.Input, b.t.Output = b.id(input), b.id(output)
}

// Range adds a range that applies the named elements and returns it, to set
// its remaining properties. Its input and output are those of the train until
// set; call Range after [Builder.Ports] and after all elements.
func (b *Builder) Range(name string, apply ...string) *Range {
	r := Range{Name: name, Input: b.t.Input, Output: b.t.Output}
	for _, e := range apply {
		i, ok := b.t.Coupling(e)
		if !ok || b.t.Couplings[i].Kind == Spline {
			b.fail("range %s applies %s, which is no element", name, e)
		}
		r.Apply = append(r.Apply, i)
	}
	b.t.Ranges = append(b.t.Ranges, r)
	return &b.t.Ranges[len(b.t.Ranges)-1]
}

// Position adds a place of the selector that offers the named ranges.
func (b *Builder) Position(name string, ranges ...string) {
	p := Position{Name: name}
	for _, r := range ranges {
		i, ok := b.t.Range(r)
		if !ok {
			b.fail("position %s offers %s, which is no range", name, r)
		}
		p.Ranges = append(p.Ranges, i)
	}
	b.t.Positions = append(b.t.Positions, p)
}

// Build returns the train, or the first mistake made. The builder must not be
// used again.
func (b *Builder) Build() (*Train, error) {
	for i := range b.t.Gearsets {
		if carrier, ok := b.carriers[i]; ok {
			b.carry(&b.t.Gearsets[i], b.id(carrier))
		}
	}
	if b.err != nil {
		return nil, b.err
	}
	t := b.t
	t.ElementCount = sortElementsFirst(&t)
	return &t, nil
}

// carry puts a pair onto its carrier.
func (b *Builder) carry(g *Gearset, carrier MemberID) {
	g.Carrier = carrier
	for _, m := range g.Meshes {
		b.t.Meshes[m].Carrier = carrier
	}
}

// sortElementsFirst moves the splines behind the elements, keeps the order
// within both, and returns the number of elements.
func sortElementsFirst(t *Train) int {
	to := make([]int, len(t.Couplings))
	var elements, splines []Coupling
	for i, c := range t.Couplings {
		if c.Kind == Spline {
			splines = append(splines, c)
		} else {
			to[i] = len(elements)
			elements = append(elements, c)
		}
	}
	next := len(elements)
	for i, c := range t.Couplings {
		if c.Kind == Spline {
			to[i] = next
			next++
		}
	}
	t.Couplings = append(elements, splines...)
	for r := range t.Ranges {
		for k, e := range t.Ranges[r].Apply {
			t.Ranges[r].Apply[k] = to[e]
		}
	}
	for j := range t.Joints {
		for k, s := range t.Joints[j].Splines {
			if s >= 0 {
				t.Joints[j].Splines[k] = to[s]
			}
		}
	}
	return len(elements)
}
