package gearsets

import (
	"fmt"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

	"tieup/gearsets/internal/yamlfile"
	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// Limits of the format. They are far above what is built, and keep a mistyped
// file from keeping the machine busy.
const (
	maxTeeth    = 100_000
	maxPinions  = 100
	maxTorque   = 1e6 // N m
	maxGearsets = 50
	maxNames    = 100 // shafts, joints, elements, ranges or positions
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

type rangeEntry struct {
	name                scalar
	apply               []scalar
	input, output       scalar
	published           scalar
	publishedAs, rounds scalar
	source, note        scalar
	intended            bool
	intendedAt          problem.Place
}

type positionEntry struct {
	name   scalar
	ranges []scalar
}

var fileKeys = []string{"tieup", "name", "title", "source", "note", "shafts", "gearsets", "joined", "input", "output",
	"drive", "forward", "rated-torque", "published-as", "rounding", "elements", "ranges", "positions",
	"inertia", "vehicle", "shift", "use", "taps"}

// requiredKeys are the keys without which there is no train, each with what to write.
var requiredKeys = []struct{ key, hint string }{
	{"name", "write name: and a short name such as depot-shuttle-three-speed"},
	{"source", "say where the figures come from, or: source: invented for demonstration"},
	{"gearsets", "write gearsets: and below it a line such as front: {kind: simple, sun: 30, ring: 66}"},
	{"input", "write input: and the member that the engine turns"},
	{"output", "write output: and the member that turns the wheels"},
	{"ranges", "write ranges: and below it a line such as D1: {apply: [forward]}"},
}

// decode reads the whole file. What it cannot use it reports.
func (r *report) decode(root *yaml.Node) *trainFile {
	o, ok := r.object(root, scalar{}, "", `begin with "tieup: 1"`)
	if !ok {
		return nil
	}
	f := &trainFile{at: r.Place(root), unsure: map[string]bool{}}
	if !r.version(o) {
		return nil
	}
	o.Allow(fileKeys...)
	for _, k := range o.Meant {
		f.unsure[k] = true
	}
	for _, k := range []struct {
		key  string
		kind yaml.Kind
	}{{"shafts", yaml.SequenceNode}, {"gearsets", yaml.MappingNode}, {"elements", yaml.MappingNode}, {"ranges", yaml.MappingNode}} {
		if x, ok := o.Get(k.key); ok && x.Value.Kind != k.kind {
			f.unsure[k.key] = true
		}
	}
	for _, k := range requiredKeys {
		o.Require(k.hint, k.key)
	}
	f.name = o.Line("name", requiredKeys[0].hint)
	if f.name.Given() {
		r.Valid(f.name, "a train")
	}
	f.title = o.Line("title", "write a line that says what the train is, or leave the key out")
	f.note = o.Text("note", "write the remark, or leave the key out")
	f.sources = o.texts("source")
	f.shafts = o.shafts()
	f.input = o.Line("input", requiredKeys[3].hint)
	f.output = o.Line("output", requiredKeys[4].hint)
	f.drive = o.Choice("drive", string(kinematics.Converter), string(kinematics.Direct))
	f.use, f.taps, f.tapsKnown = o.use(), o.taps(), o.Has("taps")
	f.forward = o.Choice("forward", "same", "opposite")
	if o.Has("rated-torque") {
		f.ratedTorque = o.torque("rated-torque", "write the input torque that the train is made for in N m, such as 250")
	}
	f.publishedAs = o.Choice("published-as", "in/out", "out/in")
	f.rounds = o.Choice("rounding", "rounded", "truncated")
	for _, e := range o.Some("gearsets", "a gearset", requiredKeys[2].hint, maxGearsets) {
		f.gearsets = append(f.gearsets, r.gearset(e))
	}
	for _, e := range o.Some("joined", "a joint", "write a line such as shell: [sun-shell, front.sun] below it, or leave the key out", maxNames) {
		f.joints = append(f.joints, r.joint(e))
	}
	for _, e := range o.Some("elements", "an element", "write a line such as forward: {clutch: [turbine, front.ring]} below it, or leave the key out", maxNames) {
		f.elements = append(f.elements, r.element(e))
	}
	for _, e := range o.Some("ranges", "a range", requiredKeys[5].hint, maxNames) {
		f.ranges = append(f.ranges, r.rangeEntry(e))
	}
	for _, e := range o.Some("positions", "a position", "write a line such as D: [D1, D2, D3] below it, or leave the key out", maxNames) {
		f.positions = append(f.positions, r.position(e))
	}
	f.inertias, f.vehicle = r.inertias(o), r.vehicle(o)
	for _, e := range o.Some("shift", "an element", "write a line such as direct: {release: 0.35..0.50} below it, or leave the key out", maxNames) {
		f.shifts = append(f.shifts, r.shiftTiming(e))
	}
	return f
}

// version checks the first key of the format. Of another version nothing else
// is read: its keys may mean something else.
func (r *report) version(o *object) bool {
	const hint = `write "tieup: 1" as the first line of a train file`
	f, ok := o.Get("tieup")
	switch {
	case !ok:
		o.Errorf(problem.At(o.At.Line, o.At.Column, 1), hint, "the key tieup is missing: is this a train file?")
		return false
	case f.Value.Kind != yaml.ScalarNode || f.Value.Value != "1" || f.Value.Tag != "!!int":
		o.Errorf(r.Where(f.Value, f.Key), hint, "format version %s is not known: this program reads version 1", yamlfile.Describe(f.Value))
		return false
	}
	return true
}

// texts reads a text or a list of texts.
func (o *object) texts(key string) []scalar {
	const hint = "write a text, or a list of texts"
	if f, ok := o.Get(key); ok && f.Value.Kind == yaml.SequenceNode {
		list := o.Names(key, hint)
		if len(f.Value.Content) == 0 {
			o.Errorf(f.Key.Place, hint, "%s is empty", key)
		}
		return list
	}
	if s := o.Line(key, hint); s.Given() {
		return []scalar{s}
	}
	return nil
}

func (o *object) shafts() []scalar {
	var good []scalar
	list := o.Names("shafts", "write a list: shafts: [turbine, output-shaft]")
	first := map[string]problem.Place{}
	for _, s := range list {
		if before, twice := first[s.Value]; twice {
			o.Report.See(o.Errorf(s.Place, "leave it out", "shaft %s is declared twice", yamlfile.Clip(s.Value)), before, "first here")
			continue
		}
		first[s.Value] = s.Place
		if o.Report.Valid(s, "a shaft") {
			good = append(good, s)
		}
	}
	if len(good) > maxNames {
		o.Errorf(good[maxNames].Place, "", "more than %d shafts", maxNames)
	}
	return good
}

func (r *report) joint(e field) jointEntry {
	const hint = "write the members that turn as one: [sun-shell, front.sun, rear.sun]"
	o := r.alone("joint "+e.Key.Value, e)
	j := jointEntry{name: e.Key, members: o.Names(e.Key.Value, hint)}
	if !o.Bad && len(j.members) < 2 {
		o.Errorf(e.Key.Place, hint, "a joint has at least two members")
	}
	return j
}

// elementKinds are the kinds of element with what each of them joins.
var elementKinds = []struct {
	kind     kinematics.CouplingKind
	called   string
	one, two bool // may name one member (to the housing), or two
	hint     string
}{
	{kinematics.Clutch, "a clutch", false, true, "a clutch joins two members: {clutch: [turbine, front.ring]}; to hold one to the housing write brake or band"},
	{kinematics.Brake, "a brake", true, false, "a brake holds one member to the housing: {brake: rear.carrier}; to join two write clutch"},
	{kinematics.Band, "a band", true, false, "a band holds one member to the housing: {band: sun-shell}; to join two write clutch"},
	{kinematics.Dog, "a dog", true, true, "a dog joins two members or holds one to the housing: {dog: [input-shaft, low.gear]} or {dog: rear.carrier}"},
	{kinematics.OneWay, "a one-way clutch", true, true, "write {one-way: rear.carrier, overruns: forward}, or [a, b] where a may turn faster than b"},
	{kinematics.Pawl, "a parking pawl", true, false, "a parking pawl holds one member to the housing: {pawl: output-shaft}"},
}

func elementWords() []string {
	var words []string
	for _, k := range elementKinds {
		words = append(words, k.kind.String())
	}
	return words
}

func (r *report) element(e field) *elementEntry {
	words := elementWords()
	x := &elementEntry{name: e.Key, bad: true}
	const form = "write what it is and what it joins: {clutch: [turbine, front.ring]} or {brake: rear.carrier}"
	o, ok := r.object(e.Value, e.Key, e.Key.Value, form, append(words, "overruns", "switched", "capacity", "also", "note")...)
	if !ok {
		return x
	}
	found := -1
	for i, k := range elementKinds {
		switch f, has := o.Get(k.kind.String()); {
		case has && found >= 0:
			p := o.Errorf(f.Key.Place, "write two elements", "an element cannot be %s and %s", elementKinds[found].called, k.called)
			r.See(p, o.Key(elementKinds[found].kind.String()), "and here")
		case has:
			found = i
		}
	}
	if found < 0 {
		if !o.Bad {
			o.Errorf(e.Key.Place, form, "what it is is missing: one of %s", strings.Join(words, ", "))
		}
		return x
	}
	k := elementKinds[found]
	x.kind = k.kind
	o.joins(x, k.called, k.one, k.two, k.hint)
	o.oneWay(x, k.called)
	if f, has := o.Get("capacity"); has {
		if !x.kind.Friction() {
			o.Errorf(f.Key.Place, "only clutches, brakes and bands have a capacity: leave it out", "%s does not slip", k.called)
		} else {
			x.capacity = o.torque("capacity", "write the torque it can hold in N m, such as 400")
		}
	}
	x.also = o.Line("also", "write the name that the source gives it, or leave the key out").Value
	x.note = o.Text("note", "write the remark, or leave the key out").Value
	x.bad = o.Bad
	return x
}

// joins reads the members of an element.
func (o *object) joins(x *elementEntry, called string, one, two bool, hint string) {
	key := x.kind.String()
	f, _ := o.Get(key)
	if f.Value.Kind != yaml.SequenceNode {
		s := o.Text(key, hint)
		if s.Given() && !one {
			o.Errorf(s.Place, hint, "%s joins two members, not %s alone", called, yamlfile.Clip(s.Value))
		}
		x.members = []scalar{s}
		return
	}
	x.members = o.Names(key, hint)
	n := len(f.Value.Content)
	switch {
	case n == 1 && one && !o.Bad: // [x] is as good as x
	case n != 2:
		o.Errorf(o.Report.Place(f.Value), hint, "%s cannot join %s", called, plural(n, "member"))
	case !two:
		o.Errorf(o.Report.Place(f.Value), hint, "%s holds one member, not two", called)
	}
}

// oneWay reads the keys that only a one-way clutch has.
func (o *object) oneWay(x *elementEntry, called string) {
	if x.kind != kinematics.OneWay {
		for _, k := range []string{"overruns", "switched"} {
			if o.Has(k) {
				o.Errorf(o.Key(k), "leave it out", "%s belongs to a one-way clutch, not to %s", k, called)
			}
		}
		return
	}
	x.overruns = o.Choice("overruns", "forward", "backward")
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

// torque reads a torque in N m.
func (o *object) torque(key, hint string) float64 {
	s := o.Text(key, hint)
	if !s.Given() {
		return 0
	}
	whole, places, _ := strings.Cut(s.Value, ".")
	c, err := strconv.ParseFloat(s.Value, 64)
	if err != nil || !yamlfile.Digits(whole) || places != "" && !yamlfile.Digits(places) {
		o.Errorf(s.Place, hint, "%s is %q, not a torque", key, yamlfile.Clip(s.Value))
		return 0
	}
	if c <= 0 || c > maxTorque {
		o.Errorf(s.Place, hint, "%s cannot be %s N m", key, yamlfile.Clip(s.Value))
		return 0
	}
	return c
}

func (r *report) rangeEntry(e field) *rangeEntry {
	x := &rangeEntry{name: e.Key}
	const form = "write the elements that are applied, {apply: [forward]}, or {} for none"
	o, ok := r.object(e.Value, e.Key, e.Key.Value, form,
		"apply", "input", "output", "published", "published-as", "rounding", "source", "intended", "note")
	if !ok {
		return x
	}
	x.apply = o.Names("apply", "write a list of elements: apply: [forward]")
	x.input = o.Line("input", "write a member, or leave the key out")
	x.output = o.Line("output", "write a member, or leave the key out")
	x.published = o.Line("published", "write the ratio as the source prints it, such as 2.40")
	x.publishedAs = o.Choice("published-as", "in/out", "out/in")
	x.rounds = o.Choice("rounding", "rounded", "truncated")
	x.source = o.Line("source", "write where the ratio was read, or leave the key out")
	x.note = o.Text("note", "write the remark, or leave the key out")
	x.intended = o.Flag("intended")
	x.intendedAt = o.Key("intended")
	if x.published.Given() {
		num, _, ok := parseRatio(strings.TrimPrefix(x.published.Value, "-"))
		if !ok || num == 0 || strings.Contains(x.published.Value, "/") {
			o.Errorf(x.published.Place, "write it as the source prints it, such as 2.40 or -1.93", "published is %q, not a ratio", yamlfile.Clip(x.published.Value))
		}
	} else if !o.Has("published") {
		for _, k := range []string{"published-as", "rounding", "source"} {
			if o.Has(k) {
				o.Errorf(o.Key(k), "write published: and the ratio, or use note: for a remark", "%s says nothing without a published ratio", k)
			}
		}
	}
	return x
}

func (r *report) position(e field) positionEntry {
	const hint = "write the ranges it offers, lowest first: [D1, D2, D3]"
	o := r.alone("position "+e.Key.Value, e)
	p := positionEntry{name: e.Key, ranges: o.Names(e.Key.Value, hint)}
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
