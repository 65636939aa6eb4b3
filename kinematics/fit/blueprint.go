package fit

import (
	"slices"

	"tieup/kinematics"
)

// A blueprint is a train by names, to be changed and built again.
type blueprint struct {
	train    kinematics.Train // what is not listed below
	shafts   []string
	sets     []setPlan
	joints   []jointPlan
	elements []elementPlan
	ranges   []rangePlan
	output   string // in place of that of the train, where set
}

type setPlan struct {
	name    string
	kind    kinematics.Kind
	spec    kinematics.GearsetSpec
	pinions int
	shifted bool
	bevels  bool
}

type jointPlan struct {
	name    string
	members []string
}

type elementPlan struct {
	kinematics.Coupling
	a, b string
}

type rangePlan struct {
	kinematics.Range
	apply         []string
	input, output string
}

// blueprintOf writes a train down.
func blueprintOf(t *kinematics.Train) *blueprint {
	b := &blueprint{train: *t}
	for _, m := range t.Members {
		if m.Kind == kinematics.ShaftMember {
			b.shafts = append(b.shafts, m.Name)
		}
	}
	for i := range t.Gearsets {
		g := &t.Gearsets[i]
		b.sets = append(b.sets, setPlan{g.Name, g.Kind, specOf(t, g), g.PinionCount, g.ProfileShifted, g.Bevels})
	}
	for _, j := range t.Joints {
		b.joints = append(b.joints, jointPlan{j.Name, t.NamesOf(j.Members)})
	}
	for _, c := range t.Couplings[:t.ElementCount] {
		b.elements = append(b.elements, elementPlan{c, t.Members[c.A].Name, t.Members[c.B].Name})
	}
	for _, r := range t.Ranges {
		b.ranges = append(b.ranges, rangePlan{r, t.CouplingNames(r.Apply), t.Members[r.Input].Name,
			t.Members[r.Output].Name})
	}
	return b
}

// specOf is a gearset by its teeth.
func specOf(t *kinematics.Train, g *kinematics.Gearset) kinematics.GearsetSpec {
	spec := kinematics.GearsetSpec{Teeth: map[string]int64{}, On: map[string]int{}, RatioOnly: g.RatioOnly}
	facts := g.Kind.Facts()
	for _, x := range g.Gears {
		if g.Steps() {
			spec.Steps = append(spec.Steps, kinematics.Step{Part: x.Part, Teeth: x.Teeth, PinionTeeth: x.PinionTeeth,
				Ring:  x.Internal,
				Right: x.Far})
			continue
		}
		spec.Teeth[x.Part] = x.Teeth
		if i := slices.IndexFunc(facts.Gears, func(c kinematics.CentralGear) bool { return c.Part == x.Part }); i >= 0 &&
			facts.Gears[i].Which != "" {
			spec.On[x.Part] = x.Pinion
		}
	}
	for _, p := range g.Pinions {
		if !p.Derived && p.Teeth > 0 {
			spec.Teeth[p.Part] = p.Teeth
		}
	}
	if len(g.Pinions) == 0 {
		spec.Carrier = t.Members[g.Carrier].Name
		spec.Mesh = t.Meshes[g.Meshes[0]].Kind
	}
	return spec
}

// build makes the train.
func (b *blueprint) build() (*kinematics.Train, error) {
	builder := kinematics.NewBuilder(b.train.Name)
	t := builder.Train()
	t.Title, t.Sources, t.Note = b.train.Title, b.train.Sources, b.train.Note
	t.Drive, t.Use, t.Forward = b.train.Drive, b.train.Use, b.train.Forward
	builder.Shaft(b.shafts...)
	for _, s := range b.sets {
		set := builder.Gearset(s.name, s.kind, s.spec)
		set.PinionCount, set.ProfileShifted, set.Bevels = s.pinions, s.shifted, s.bevels
	}
	for _, j := range b.joints {
		builder.Join(j.name, j.members...)
	}
	for _, e := range b.elements {
		c := builder.Element(e.Name, e.Kind, e.a, e.b)
		c.Switched, c.Also, c.Note = e.Switched, e.Also, e.Note
	}
	output := b.train.Members[b.train.Output].Name
	if b.output != "" {
		output = b.output
	}
	builder.Ports(b.train.Members[b.train.Input].Name, output)
	for _, r := range b.ranges {
		x := builder.Range(r.Name, r.apply...)
		x.Published, x.Intended, x.Note = r.Published, r.Intended, r.Note
		if r.input != "" {
			x.Input, _ = builder.Train().Member(r.input)
			x.Output, _ = builder.Train().Member(r.output)
		}
	}
	return builder.Build()
}

// element returns the element of that name.
func (b *blueprint) element(name string) *elementPlan {
	for i := range b.elements {
		if b.elements[i].Name == name {
			return &b.elements[i]
		}
	}
	return nil
}

// drop takes elements out, and out of all ranges.
func (b *blueprint) drop(names ...string) {
	gone := func(n string) bool { return slices.Contains(names, n) }
	b.elements = slices.DeleteFunc(b.elements, func(e elementPlan) bool { return gone(e.Name) })
	for i := range b.ranges {
		b.ranges[i].apply = slices.DeleteFunc(slices.Clone(b.ranges[i].apply), gone)
	}
}
