package gearsets

import (
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"tieup/gearsets/internal/yamlfile"
	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// A trainFile is a file as decoded: every value with its place.
type trainFile struct {
	at                  problem.Place
	unsure              map[string]bool // keys whose entries are not known for certain
	name, title, note   scalar
	sources             []scalar
	shafts              []scalar
	gearsets            []*gearsetEntry
	joints              []jointEntry
	input, output       scalar
	drive, forward, use scalar
	taps                []scalar
	tapsKnown           bool
	publishedAs, rounds scalar
	ratedTorque         float64
	elements            []*elementEntry
	ranges              []*rangeEntry
	positions           []positionEntry
	inertias            []inertiaEntry
	vehicle             *kinematics.Vehicle
	shifts              []shiftEntry
	controls            *controlsBlock // nil if there is none
}

type jointEntry struct {
	name    scalar
	members []scalar
}

type elementEntry struct {
	name     scalar
	kind     kinematics.CouplingKind
	members  []scalar // one (to the housing) or two
	overruns scalar
	switched bool
	capacity float64
	also     string
	note     string
	bad      bool
}

// gears are the gears that trouble codes of ratios know.
var gears = []string{"1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "R"}

type rangeEntry struct {
	name                scalar
	apply               []scalar
	input, output       scalar
	published           scalar
	still               bool // 0 is published: the output stands still
	publishedAs, rounds scalar
	source, note, gear  scalar
	intended            bool
	intendedAt          problem.Place
}

type positionEntry struct {
	name   scalar
	ranges []scalar
}

// decode reads the whole file. What it cannot use it reports.
func (r *report) decode(root *yaml.Node) *trainFile {
	o, ok := r.Mapping(root, scalar{}, "", fileTable.Form)
	if !ok {
		return nil
	}
	f := &trainFile{at: r.Place(root), unsure: map[string]bool{}}
	if !o.Version(fileTable, "tieup") {
		return nil
	}
	o.Is(fileTable)
	for _, k := range []struct {
		key  string
		kind yaml.Kind
	}{{"shafts", yaml.SequenceNode}, {"gearsets", yaml.MappingNode}, {"elements", yaml.MappingNode}, {"ranges",
		yaml.MappingNode}} {
		x, ok := o.Get(k.key)
		f.unsure[k.key] = ok && x.Value.Kind != k.kind || o.Meant(k.key)
	}
	f.name = o.Line("name")
	if f.name.Given() {
		r.Valid(f.name, "a train")
	}
	f.title, f.note = o.Line("title"), o.Text("note")
	f.sources = texts(o, "source")
	f.shafts = shafts(o)
	f.input, f.output = o.Line("input"), o.Line("output")
	f.drive, f.use, f.forward = o.Choice("drive"), o.Choice("use"), o.Choice("forward")
	f.taps, f.tapsKnown = o.Names("taps"), o.Has("taps")
	f.ratedTorque, _ = o.Decimal("rated-torque")
	f.publishedAs, f.rounds = o.Choice("published-as"), o.Choice("rounding")
	f.gearsets = entries(o, "gearsets", r.gearset)
	f.joints = entries(o, "joined", r.joint)
	f.elements = entries(o, "elements", r.element)
	f.ranges = entries(o, "ranges", r.rangeEntry)
	for _, x := range f.ranges {
		if x.still && x.publishedAs.Or(f.publishedAs) != "out/in" {
			r.Errorf(x.published.Place, "write published-as: out/in, or leave published out where the range does not drive",
				"range %s: published is 0, which is no ratio of input to output", x.name.Value)
		}
	}
	f.positions = entries(o, "positions", r.position)
	f.inertias, f.vehicle = r.inertias(o), r.vehicle(o)
	f.shifts = entries(o, "shift", r.shiftTiming)
	f.controls = r.controls(o)
	return f
}

// entries reads the entries of a mapping by name.
func entries[T any](o *object, key string, read func(field) T) []T {
	return kinematics.Map(o.Entries(key), read)
}

// texts reads a text or a list of texts.
func texts(o *object, key string) []scalar {
	f, ok := o.Get(key)
	if ok && f.Value.Kind == yaml.SequenceNode {
		if len(f.Value.Content) == 0 {
			o.Errorf(f.Key.Place, "write a text, or a list of texts", "%s is empty", key)
		}
		return o.Names(key)
	}
	if s := o.Line(key); s.Given() {
		return []scalar{s}
	}
	return nil
}

func shafts(o *object) []scalar {
	var good []scalar
	first := map[string]problem.Place{}
	for _, s := range o.Names("shafts") {
		if before, twice := first[s.Value]; twice {
			o.See(o.Errorf(s.Place, "leave it out", "shaft %s is declared twice", yamlfile.Clip(s.Value)), before, "first here")
			continue
		}
		first[s.Value] = s.Place
		if o.Valid(s, "a shaft") {
			good = append(good, s)
		}
	}
	return good
}

func (r *report) joint(e field) jointEntry {
	const hint = "write the members that turn as one: [sun-shell, front.sun, rear.sun]"
	o := r.Entry("joint "+e.Key.Value, e, members, hint)
	j := jointEntry{name: e.Key, members: o.Names(e.Key.Value)}
	if !o.Bad && len(j.members) < 2 {
		o.Errorf(e.Key.Place, hint, "a joint has at least two members")
	}
	return j
}

func (r *report) element(e field) *elementEntry {
	x := &elementEntry{name: e.Key, bad: true}
	o, ok := r.Object(e.Value, e.Key, e.Key.Value, elementTable)
	if !ok {
		return x
	}
	found := -1
	for i, k := range elementKinds {
		switch f, has := o.Get(k.kind.String()); {
		case has && found >= 0:
			p := o.Errorf(f.Key.Place, "write two elements", "an element cannot be %s and %s", elementKinds[found].called,
				k.called)
			r.See(p, o.Key(elementKinds[found].kind.String()), "and here")
		case has:
			found = i
		}
	}
	if found < 0 {
		if !o.Bad {
			o.Errorf(e.Key.Place, elementTable.Form, "what it is is missing: one of %s", strings.Join(elementWords(), ", "))
		}
		return x
	}
	k := &elementKinds[found]
	x.kind = k.kind
	x.joins(o, k)
	x.oneWay(o, k.called)
	if o.Has("capacity") && !x.kind.Friction() {
		o.Errorf(o.Key("capacity"), "only clutches, brakes and bands have a capacity: leave it out", "%s does not slip",
			k.called)
	} else {
		x.capacity, _ = o.Decimal("capacity")
	}
	x.also, x.note = o.Line("also").Value, o.Text("note").Value
	x.bad = o.Bad
	return x
}

// joins reads the members of an element.
func (x *elementEntry) joins(o *object, k *elementKind) {
	key := x.kind.String()
	f, _ := o.Get(key)
	if f.Value.Kind != yaml.SequenceNode {
		s := o.Text(key)
		if s.Given() && !k.one {
			o.Errorf(s.Place, k.hint, "%s joins two members, not %s alone", k.called, yamlfile.Clip(s.Value))
		}
		x.members = []scalar{s}
		return
	}
	n := len(f.Value.Content)
	if n == 1 && k.one || n == 2 && k.two {
		x.members = o.Names(key)
	}
	switch {
	case n == 1 && k.one && !o.Bad: // [x] is as good as x
	case n != 2:
		o.Errorf(o.Place(f.Value), k.hint, "%s cannot join %s", k.called, plural(n, "member"))
	case !k.two:
		o.Errorf(o.Place(f.Value), k.hint, "%s holds one member, not two", k.called)
	}
}

// oneWay reads the keys that only a one-way clutch has.
func (x *elementEntry) oneWay(o *object, called string) {
	if x.kind != kinematics.OneWay {
		for _, k := range []string{"overruns", "switched"} {
			if o.Has(k) {
				o.Errorf(o.Key(k), "leave it out", "%s belongs to a one-way clutch, not to %s", k, called)
			}
		}
		return
	}
	x.overruns = o.Choice("overruns")
	x.switched = o.Flag("switched")
	switch {
	case o.Bad:
	case len(x.members) == 1 && !o.Has("overruns"):
		o.Errorf(o.At, "write overruns: forward if the member may turn in the sense of the input, else overruns: backward",
			"which way the member may turn is missing")
	case len(x.members) == 2 && o.Has("overruns"):
		o.Errorf(o.Key("overruns"), "leave it out: of [a, b], a may turn faster than b in the sense of the input",
			"overruns says nothing beside two members")
	}
}

func (r *report) rangeEntry(e field) *rangeEntry {
	x := &rangeEntry{name: e.Key}
	o, ok := r.Object(e.Value, e.Key, e.Key.Value, rangeTable)
	if !ok {
		return x
	}
	x.apply = o.Names("apply")
	x.input, x.output = o.Line("input"), o.Line("output")
	x.published, x.publishedAs, x.rounds = o.Line("published"), o.Choice("published-as"), o.Choice("rounding")
	x.source, x.note = o.Line("source"), o.Text("note")
	if x.gear = o.Line("gear"); x.gear.Given() && !slices.Contains(gears, x.gear.Value) {
		o.Errorf(x.gear.Place, "write 1 to 10, or R, or leave the key out", "gear is %q, which no trouble code means",
			yamlfile.Clip(x.gear.Value))
	}
	x.intended = o.Flag("intended")
	x.intendedAt = o.Key("intended")
	if x.published.Given() {
		num, _, ok := parseRatio(strings.TrimPrefix(x.published.Value, "-"))
		x.still = ok && num == 0
		if !ok || strings.Contains(x.published.Value, "/") {
			o.Errorf(x.published.Place, "write it as the source prints it, such as 2.40 or -1.93",
				"published is %q, not a ratio", yamlfile.Clip(x.published.Value))
		}
	} else if !o.Has("published") {
		for _, k := range publishedKeys {
			if o.Has(k) {
				o.Errorf(o.Key(k), "write published: and the ratio, or use note: for a remark",
					"%s says nothing without a published ratio", k)
			}
		}
	}
	return x
}

func (r *report) position(e field) positionEntry {
	const hint = "write the ranges it offers, lowest first: [D1, D2, D3]"
	o := r.Entry("position "+e.Key.Value, e, names, hint)
	p := positionEntry{name: e.Key, ranges: o.Names(e.Key.Value)}
	if !o.Bad && len(p.ranges) == 0 {
		o.Errorf(e.Key.Place, hint, "it offers no range")
	}
	return p
}

// plural is for messages that count: "1 member", "3 members".
func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
