package gearsets

import (
	"strings"

	"tieup/kinematics"
)

// build makes a train of a file that was found right, with the first of its
// joints only.
func (f *trainFile) build(joints int) (*kinematics.Train, error) {
	b := kinematics.NewBuilder(f.name.Value)
	t := b.Train()
	t.Title, t.Note = f.title.Value, f.note.Value
	for _, s := range f.sources {
		t.Sources = append(t.Sources, s.Value)
	}
	if f.drive.Given() {
		t.Drive = kinematics.Drive(f.drive.Value)
	}
	if f.forward.Value == "opposite" {
		t.Forward = -1
	}
	t.RatedTorque = f.ratedTorque
	for _, s := range f.shafts {
		b.Shaft(s.Value)
	}
	for _, g := range f.gearsets {
		g.build(b)
	}
	for _, j := range f.joints[:joints] {
		var members []string
		for _, m := range j.members {
			members = append(members, m.Value)
		}
		b.Join(j.name.Value, members...)
	}
	for _, e := range f.elements {
		e.build(b)
	}
	b.Ports(f.input.Value, f.output.Value)
	for _, r := range f.ranges {
		f.buildRange(b, r)
	}
	for _, p := range f.positions {
		b.Position(p.name.Value, values(p.ranges)...)
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
		v[i] = s.Value
	}
	return v
}

func (g *gearsetEntry) build(b *kinematics.Builder) {
	name, z, known := g.name.Value, g.teeth, !g.ratioOnly()
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
			steps = append(steps, kinematics.Step{Part: s.part.Value, Teeth: s.teeth, PinionTeeth: s.step, Ring: s.ring})
		}
		b.StepPinions(name, steps...)
	case kinematics.Bevel:
		left, right := teeth("left", "right")
		b.Bevel(name, left, right, z["pinion"], !known)
	case kinematics.Pair:
		carrier := kinematics.HousingName
		if g.carrier.Given() {
			carrier = g.carrier.Value
		}
		a, z := teeth("a", "b")
		b.Pair(name, a, z, g.mesh, carrier, !known)
	}
	b.Last().PinionCount, b.Last().ProfileShifted = g.pinions, g.shifted
}

func (e *elementEntry) build(b *kinematics.Builder) {
	// With one member the other is the housing; a member that overruns backward
	// lets the housing be the faster one.
	x, y := e.members[0].Value, kinematics.HousingName
	if len(e.members) == 2 {
		y = e.members[1].Value
	} else if e.overruns.Value == "backward" {
		x, y = y, x
	}
	c := b.Element(e.name.Value, e.kind, x, y)
	c.Switched, c.Capacity, c.Also, c.Note = e.switched, e.capacity, e.also, e.note
}

func (f *trainFile) buildRange(b *kinematics.Builder, r *rangeEntry) {
	x := b.Range(r.name.Value, values(r.apply)...)
	if r.input.Given() {
		x.Input, _ = b.Train().Member(r.input.Value)
	}
	if r.output.Given() {
		x.Output, _ = b.Train().Member(r.output.Value)
	}
	x.Intended, x.Note = r.intended, r.note.Value
	if !r.published.Given() {
		return
	}
	or := func(own, all scalar) string {
		if own.Given() {
			return own.Value
		}
		return all.Value
	}
	x.Published = &kinematics.Published{
		Text:      r.published.Value,
		OutIn:     or(r.publishedAs, f.publishedAs) == "out/in",
		Truncated: or(r.rounds, f.rounds) == "truncated",
		Source:    r.source.Value,
	}
	if !r.source.Given() {
		x.Published.Source = strings.Join(values(f.sources), "; ")
	}
}
