package gearsets

import (
	"fmt"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

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
	at                  Place
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
	intendedAt          Place
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
	f := &trainFile{at: r.place(root), unsure: map[string]bool{}}
	if !r.version(o) {
		return nil
	}
	o.allow(fileKeys...)
	for _, k := range o.meant {
		f.unsure[k] = true
	}
	for _, k := range []struct {
		key  string
		kind yaml.Kind
	}{{"shafts", yaml.SequenceNode}, {"gearsets", yaml.MappingNode}, {"elements", yaml.MappingNode}, {"ranges", yaml.MappingNode}} {
		if x, ok := o.get(k.key); ok && x.value.Kind != k.kind {
			f.unsure[k.key] = true
		}
	}
	for _, k := range requiredKeys {
		o.require(k.hint, k.key)
	}
	f.name = o.line("name", requiredKeys[0].hint)
	if f.name.given() {
		r.valid(f.name, "a train")
	}
	f.title = o.line("title", "write a line that says what the train is, or leave the key out")
	f.note = o.text("note", "write the remark, or leave the key out")
	f.sources = o.texts("source")
	f.shafts = o.shafts()
	f.input = o.line("input", requiredKeys[3].hint)
	f.output = o.line("output", requiredKeys[4].hint)
	f.drive = o.choice("drive", string(kinematics.Converter), string(kinematics.Direct))
	f.use, f.taps, f.tapsKnown = o.use(), o.taps(), o.has("taps")
	f.forward = o.choice("forward", "same", "opposite")
	if o.has("rated-torque") {
		f.ratedTorque = o.torque("rated-torque", "write the input torque that the train is made for in N m, such as 250")
	}
	f.publishedAs = o.choice("published-as", "in/out", "out/in")
	f.rounds = o.choice("rounding", "rounded", "truncated")
	for _, e := range o.some("gearsets", "a gearset", requiredKeys[2].hint, maxGearsets) {
		f.gearsets = append(f.gearsets, r.gearset(e))
	}
	for _, e := range o.some("joined", "a joint", "write a line such as shell: [sun-shell, front.sun] below it, or leave the key out", maxNames) {
		f.joints = append(f.joints, r.joint(e))
	}
	for _, e := range o.some("elements", "an element", "write a line such as forward: {clutch: [turbine, front.ring]} below it, or leave the key out", maxNames) {
		f.elements = append(f.elements, r.element(e))
	}
	for _, e := range o.some("ranges", "a range", requiredKeys[5].hint, maxNames) {
		f.ranges = append(f.ranges, r.rangeEntry(e))
	}
	for _, e := range o.some("positions", "a position", "write a line such as D: [D1, D2, D3] below it, or leave the key out", maxNames) {
		f.positions = append(f.positions, r.position(e))
	}
	f.inertias, f.vehicle = r.inertias(o), r.vehicle(o)
	for _, e := range o.some("shift", "an element", "write a line such as direct: {release: 0.35..0.50} below it, or leave the key out", maxNames) {
		f.shifts = append(f.shifts, r.shiftTiming(e))
	}
	return f
}

// version checks the first key of the format. Of another version nothing else
// is read: its keys may mean something else.
func (r *report) version(o *object) bool {
	const hint = `write "tieup: 1" as the first line of a train file`
	f, ok := o.get("tieup")
	switch {
	case !ok:
		o.errorf(Place{o.at.Line, o.at.Column, 1}, hint, "the key tieup is missing: is this a train file?")
		return false
	case f.value.Kind != yaml.ScalarNode || f.value.Value != "1" || f.value.Tag != "!!int":
		o.errorf(at(r.place(f.value), f.key, f.value), hint, "format version %s is not known: this program reads version 1", describe(f.value))
		return false
	}
	return true
}

// some returns the entries of a mapping of names, of which there must be one at
// least and not more than most.
func (o *object) some(key, what, hint string, most int) []field {
	bad := len(o.r.problems)
	list := o.named(key, what, hint)
	if o.has(key) && len(list) == 0 && bad == len(o.r.problems) {
		o.errorf(o.key(key), hint, "%s is empty", key)
	}
	if len(list) > most {
		o.errorf(list[most].key.Place, "", "more than %d %s", most, key)
		return list[:most]
	}
	return list
}

// texts reads a text or a list of texts.
func (o *object) texts(key string) []scalar {
	const hint = "write a text, or a list of texts"
	if f, ok := o.get(key); ok && f.value.Kind == yaml.SequenceNode {
		list := o.names(key, hint)
		if len(f.value.Content) == 0 {
			o.errorf(f.key.Place, hint, "%s is empty", key)
		}
		return list
	}
	if s := o.line(key, hint); s.given() {
		return []scalar{s}
	}
	return nil
}

func (o *object) shafts() []scalar {
	var good []scalar
	list := o.names("shafts", "write a list: shafts: [turbine, output-shaft]")
	first := map[string]Place{}
	for _, s := range list {
		if before, twice := first[s.value]; twice {
			o.r.see(o.errorf(s.Place, "leave it out", "shaft %s is declared twice", clip(s.value)), before, "first here")
			continue
		}
		first[s.value] = s.Place
		if o.r.valid(s, "a shaft") {
			good = append(good, s)
		}
	}
	if len(good) > maxNames {
		o.errorf(good[maxNames].Place, "", "more than %d shafts", maxNames)
	}
	return good
}

func (r *report) joint(e field) jointEntry {
	const hint = "write the members that turn as one: [sun-shell, front.sun, rear.sun]"
	o := &object{r: r, owner: "joint " + e.key.value, at: e.key.Place, fields: []field{{e.key, e.value}}}
	j := jointEntry{name: e.key, members: o.names(e.key.value, hint)}
	if !o.bad && len(j.members) < 2 {
		o.errorf(e.key.Place, hint, "a joint has at least two members")
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
	x := &elementEntry{name: e.key, bad: true}
	const form = "write what it is and what it joins: {clutch: [turbine, front.ring]} or {brake: rear.carrier}"
	o, ok := r.object(e.value, e.key, e.key.value, form, append(words, "overruns", "switched", "capacity", "also", "note")...)
	if !ok {
		return x
	}
	found := -1
	for i, k := range elementKinds {
		switch f, has := o.get(k.kind.String()); {
		case has && found >= 0:
			p := o.errorf(f.key.Place, "write two elements", "an element cannot be %s and %s", elementKinds[found].called, k.called)
			r.see(p, o.key(elementKinds[found].kind.String()), "and here")
		case has:
			found = i
		}
	}
	if found < 0 {
		if !o.bad {
			o.errorf(e.key.Place, form, "what it is is missing: one of %s", strings.Join(words, ", "))
		}
		return x
	}
	k := elementKinds[found]
	x.kind = k.kind
	o.joins(x, k.called, k.one, k.two, k.hint)
	o.oneWay(x, k.called)
	if f, has := o.get("capacity"); has {
		if !x.kind.Friction() {
			o.errorf(f.key.Place, "only clutches, brakes and bands have a capacity: leave it out", "%s does not slip", k.called)
		} else {
			x.capacity = o.torque("capacity", "write the torque it can hold in N m, such as 400")
		}
	}
	x.also = o.line("also", "write the name that the source gives it, or leave the key out").value
	x.note = o.text("note", "write the remark, or leave the key out").value
	x.bad = o.bad
	return x
}

// joins reads the members of an element.
func (o *object) joins(x *elementEntry, called string, one, two bool, hint string) {
	key := x.kind.String()
	f, _ := o.get(key)
	if f.value.Kind != yaml.SequenceNode {
		s := o.text(key, hint)
		if s.given() && !one {
			o.errorf(s.Place, hint, "%s joins two members, not %s alone", called, clip(s.value))
		}
		x.members = []scalar{s}
		return
	}
	x.members = o.names(key, hint)
	n := len(f.value.Content)
	switch {
	case n == 1 && one && !o.bad: // [x] is as good as x
	case n != 2:
		o.errorf(o.r.place(f.value), hint, "%s cannot join %s", called, plural(n, "member"))
	case !two:
		o.errorf(o.r.place(f.value), hint, "%s holds one member, not two", called)
	}
}

// oneWay reads the keys that only a one-way clutch has.
func (o *object) oneWay(x *elementEntry, called string) {
	if x.kind != kinematics.OneWay {
		for _, k := range []string{"overruns", "switched"} {
			if o.has(k) {
				o.errorf(o.key(k), "leave it out", "%s belongs to a one-way clutch, not to %s", k, called)
			}
		}
		return
	}
	x.overruns = o.choice("overruns", "forward", "backward")
	x.switched = o.flag("switched")
	switch {
	case o.bad:
	case len(x.members) == 1 && !o.has("overruns"):
		o.errorf(o.at, "write overruns: forward if the member may turn in the sense of the input, else overruns: backward",
			"which way the member may turn is missing")
	case len(x.members) == 2 && o.has("overruns"):
		o.errorf(o.key("overruns"), "leave it out: of [a, b], a may turn faster than b in the sense of the input",
			"overruns says nothing beside two members")
	}
}

// torque reads a torque in N m.
func (o *object) torque(key, hint string) float64 {
	s := o.text(key, hint)
	if !s.given() {
		return 0
	}
	whole, places, _ := strings.Cut(s.value, ".")
	c, err := strconv.ParseFloat(s.value, 64)
	if err != nil || !digits(whole) || places != "" && !digits(places) {
		o.errorf(s.Place, hint, "%s is %q, not a torque", key, clip(s.value))
		return 0
	}
	if c <= 0 || c > maxTorque {
		o.errorf(s.Place, hint, "%s cannot be %s N m", key, clip(s.value))
		return 0
	}
	return c
}

func (r *report) rangeEntry(e field) *rangeEntry {
	x := &rangeEntry{name: e.key}
	const form = "write the elements that are applied, {apply: [forward]}, or {} for none"
	o, ok := r.object(e.value, e.key, e.key.value, form,
		"apply", "input", "output", "published", "published-as", "rounding", "source", "intended", "note")
	if !ok {
		return x
	}
	x.apply = o.names("apply", "write a list of elements: apply: [forward]")
	x.input = o.line("input", "write a member, or leave the key out")
	x.output = o.line("output", "write a member, or leave the key out")
	x.published = o.line("published", "write the ratio as the source prints it, such as 2.40")
	x.publishedAs = o.choice("published-as", "in/out", "out/in")
	x.rounds = o.choice("rounding", "rounded", "truncated")
	x.source = o.line("source", "write where the ratio was read, or leave the key out")
	x.note = o.text("note", "write the remark, or leave the key out")
	x.intended = o.flag("intended")
	x.intendedAt = o.key("intended")
	if x.published.given() {
		num, _, ok := parseRatio(strings.TrimPrefix(x.published.value, "-"))
		if !ok || num == 0 || strings.Contains(x.published.value, "/") {
			o.errorf(x.published.Place, "write it as the source prints it, such as 2.40 or -1.93", "published is %q, not a ratio", clip(x.published.value))
		}
	} else if !o.has("published") {
		for _, k := range []string{"published-as", "rounding", "source"} {
			if o.has(k) {
				o.errorf(o.key(k), "write published: and the ratio, or use note: for a remark", "%s says nothing without a published ratio", k)
			}
		}
	}
	return x
}

func (r *report) position(e field) positionEntry {
	const hint = "write the ranges it offers, lowest first: [D1, D2, D3]"
	o := &object{r: r, owner: "position " + e.key.value, at: e.key.Place, fields: []field{{e.key, e.value}}}
	p := positionEntry{name: e.key, ranges: o.names(e.key.value, hint)}
	if !o.bad && len(p.ranges) == 0 {
		o.errorf(e.key.Place, hint, "it offers no range")
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
