package gearsets

import (
	"strings"

	"tieup/kinematics"
)

// build makes a train of a file that was found right, with the first of its
// joints only.
func (f *trainFile) build(joints int) (*kinematics.Train, error) {
	b := kinematics.NewBuilder(f.name.value)
	t := b.Train()
	t.Title, t.Note = f.title.value, f.note.value
	for _, s := range f.sources {
		t.Sources = append(t.Sources, s.value)
	}
	if f.drive.given() {
		t.Drive = kinematics.Drive(f.drive.value)
	}
	if f.forward.value == "opposite" {
		t.Forward = -1
	}
	t.RatedTorque = f.ratedTorque
	for _, s := range f.shafts {
		b.Shaft(s.value)
	}
	for _, g := range f.gearsets {
		g.build(b)
	}
	for _, j := range f.joints[:joints] {
		var members []string
		for _, m := range j.members {
			members = append(members, m.value)
		}
		b.Join(j.name.value, members...)
	}
	for _, e := range f.elements {
		e.build(b)
	}
	b.Ports(f.input.value, f.output.value)
	for _, r := range f.ranges {
		f.buildRange(b, r)
	}
	for _, p := range f.positions {
		b.Position(p.name.value, values(p.ranges)...)
	}
	train, err := b.Build()
	if err == nil {
		f.buildDynamics(train)
		f.buildUse(train)
	}
	return train, err
}

func values(list []scalar) []string {
	v := make([]string, len(list))
	for i, s := range list {
		v[i] = s.value
	}
	return v
}

func (g *gearsetEntry) build(b *kinematics.Builder) {
	name, z, known := g.name.value, g.teeth, !g.ratioOnly()
	// A ratio num/den is that of the second gear to the first.
	teeth := func(first, second string) (int64, int64) {
		if !known {
			return g.ratio.den, g.ratio.num
		}
		return z[first], z[second]
	}
	switch g.kind {
	case kinematics.Simple:
		sun, ring := teeth("sun", "ring")
		b.Simple(name, sun, ring, z["pinion"], !known)
	case kinematics.DoublePinion:
		sun, ring := teeth("sun", "ring")
		b.DoublePinion(name, sun, ring, z["inner-pinion"], z["outer-pinion"], !known)
	case kinematics.Ravigneaux:
		b.Ravigneaux(name, kinematics.RavigneauxSet{SunShort: z["sun-short"], SunLong: z["sun-long"], Ring: z["ring"],
			RingOnShort: g.onShort, ShortPinion: z["short-pinion"], LongPinion: z["long-pinion"]})
	case kinematics.Stepped:
		var steps []kinematics.Step
		for _, s := range g.steps {
			steps = append(steps, kinematics.Step{Part: s.part.value, Teeth: s.teeth, PinionTeeth: s.step, Ring: s.ring})
		}
		b.StepPinions(name, steps...)
	case kinematics.Bevel:
		left, right := teeth("left", "right")
		b.Bevel(name, left, right, z["pinion"], !known)
	case kinematics.Pair:
		carrier := kinematics.HousingName
		if g.carrier.given() {
			carrier = g.carrier.value
		}
		a, z := teeth("a", "b")
		b.Pair(name, a, z, g.mesh, carrier, !known)
	}
	b.Last().PinionCount, b.Last().ProfileShifted = g.pinions, g.shifted
}

func (e *elementEntry) build(b *kinematics.Builder) {
	// With one member the other is the housing; a member that overruns backward
	// lets the housing be the faster one.
	x, y := e.members[0].value, kinematics.HousingName
	if len(e.members) == 2 {
		y = e.members[1].value
	} else if e.overruns.value == "backward" {
		x, y = y, x
	}
	c := b.Element(e.name.value, e.kind, x, y)
	c.Switched, c.Capacity, c.Also, c.Note = e.switched, e.capacity, e.also, e.note
}

func (f *trainFile) buildRange(b *kinematics.Builder, r *rangeEntry) {
	x := b.Range(r.name.value, values(r.apply)...)
	if r.input.given() {
		x.Input, _ = b.Train().Member(r.input.value)
	}
	if r.output.given() {
		x.Output, _ = b.Train().Member(r.output.value)
	}
	x.Intended, x.Note = r.intended, r.note.value
	if !r.published.given() {
		return
	}
	or := func(own, all scalar) string {
		if own.given() {
			return own.value
		}
		return all.value
	}
	x.Published = &kinematics.Published{
		Text:      r.published.value,
		OutIn:     or(r.publishedAs, f.publishedAs) == "out/in",
		Truncated: or(r.rounds, f.rounds) == "truncated",
		Source:    r.source.value,
	}
	if !r.source.given() {
		x.Published.Source = strings.Join(values(f.sources), "; ")
	}
}
