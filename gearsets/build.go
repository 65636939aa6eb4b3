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
	t.Sources = values(f.sources)
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
		b.Join(j.name.Value, values(j.members)...)
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

// values are those of a list, not nil where there are none.
func values(list []scalar) []string {
	return append([]string{}, kinematics.Map(list, func(s scalar) string { return s.Value })...)
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
	x.Intended, x.Note, x.Gear = r.intended, r.note.Value, r.gear.Value
	if !r.published.Given() {
		return
	}
	x.Published = &kinematics.Published{
		Text:      r.published.Value,
		OutIn:     r.publishedAs.Or(f.publishedAs) == "out/in",
		Truncated: r.rounds.Or(f.rounds) == "truncated",
		Source:    r.source.Value,
	}
	if !r.source.Given() {
		x.Published.Source = strings.Join(values(f.sources), "; ")
	}
}
