package gearsets

import (
	"tieup/gearsets/internal/yamlfile"
	"tieup/kinematics"
)

// Limits of the format. They are far above what is built, and keep a mistyped
// file from keeping the machine busy.
const (
	maxTeeth    = 100_000
	maxPinions  = 100
	maxGearsets = 50
	maxNames    = 100  // shafts, joints, elements, ranges, positions, gears of a set, entries of a list
	maxMembers  = 1000 // inertias
)

// The forms of values that several keys have.
var (
	member = yamlfile.Pattern{Pattern: "^" + yamlfile.NamePattern + "([.]" + yamlfile.NamePattern + ")?$",
		Types: []string{"string", "integer"}}
	members = yamlfile.List{Of: member, Max: maxNames}
	names   = yamlfile.List{Of: yamlfile.Name, Max: maxNames}
	torque  = yamlfile.Decimal{What: "a torque", Unit: "N m", Example: "250", Most: 1e6}
	teeth   = yamlfile.Whole{Unit: "teeth", Lo: 1, Hi: maxTeeth}
	ramp    = yamlfile.Pattern{Pattern: "^[0-9]*[.]?[0-9]*[.][.][0-9]*[.]?[0-9]*(:(line|smooth))?$"}
	ratio   = yamlfile.Either{yamlfile.Decimal{Most: maxFraction},
		yamlfile.Pattern{Pattern: "^[0-9]+([.][0-9]+|/0*[1-9][0-9]*)?$"}}

	publishedRatio = yamlfile.Either{
		yamlfile.Other{As: yamlfile.Schema{"type": "number"}},
		yamlfile.Pattern{Pattern: "^-?[0-9]+([.][0-9]+)?$"},
	}
	oneOrTexts = yamlfile.Either{yamlfile.Line{},
		yamlfile.List{Of: yamlfile.Line{}, Min: 1, Max: maxNames, Repeats: true}}
)

const (
	noteDoc      = "free text"
	noteHint     = "write the remark, or leave the key out"
	ratioHint    = "write a decimal as printed (2.20) or a fraction of tooth counts (73/35)"
	inputHint    = "write input: and the member that the engine turns"
	outputHint   = "write output: and the member that turns the wheels"
	gearsetsHint = "write gearsets: and below it a line such as front: {kind: simple, sun: 30, ring: 66}"
	rangesHint   = "write ranges: and below it a line such as D1: {apply: [forward]}"
)

// byName are values by new names.
func byName(what string, of yamlfile.Type, most int) yamlfile.Map {
	return yamlfile.Map{What: what, Of: of, Min: 1, Max: most}
}

// fileTable is the keys of a train file.
var fileTable = &yamlfile.Table{
	Form: `begin with "tieup: 1"`,
	Doc: "A planetary gear train: gearsets, joints, elements and ranges. Names, ways from input to output and " +
		"tie-ups are checked by tieup itself.",
	Keys: []yamlfile.Key{
		{Name: "tieup", Type: yamlfile.Version{}, Need: true, Doc: "version of the format: 1",
			Hint: `write "tieup: 1" as the first line of a train file`},
		{Name: "name", Type: yamlfile.Name, Need: true, Doc: "name of the train",
			Hint: "write name: and a short name such as depot-shuttle-three-speed"},
		{Name: "title", Type: yamlfile.Line{}, Doc: "what the train is, on one line",
			Hint: "write a line that says what the train is, or leave the key out"},
		{Name: "source", Type: oneOrTexts, Need: true,
			Hint: "say where the figures come from, or: source: invented for demonstration",
			Doc: `where the figures come from: a text or a list of texts; of figures that come from nowhere, ` +
				`"invented for demonstration"`},
		{Name: "note", Type: yamlfile.Text{}, Doc: noteDoc, Hint: noteHint},
		{Name: "shafts", Type: names, Hint: "write a list: shafts: [turbine, output-shaft]",
			Doc: "list of members that carry no gear: shafts, shells, drums, and the race between a one-way clutch and its " +
				"brake"},
		{Name: "gearsets", Type: byName("a gearset", gearsetForm{}, maxGearsets), Need: true, Hint: gearsetsHint,
			Doc: "gearsets by name, up to 50: see below"},
		{Name: "joined", Type: byName("a joint", yamlfile.List{Of: member, Min: 2, Max: maxNames}, maxNames),
			Hint: "write a line such as shell: [sun-shell, front.sun] below it, or leave the key out",
			Doc: "joints by name: lists of members that turn as one for good; may contain housing. " +
				"Each member sits on its joint by a spline that can fail"},
		{Name: "input", Type: member, Need: true, Hint: inputHint, Doc: "the member that is turned"},
		{Name: "output", Type: member, Need: true, Hint: outputHint, Doc: "the member that turns the load"},
		{Name: "drive", Type: yamlfile.Choice{string(kinematics.Converter), string(kinematics.Direct)},
			Doc: "converter (default) or direct: what turns the input. Behind a converter a held input loads the engine but " +
				"does not stop it"},
		{Name: "use", Type: uses(),
			Doc: "vehicle (default), cycle, hoist or machine: what the train is built into. Cautions and tests follow from it"},
		{Name: "forward", Type: yamlfile.Choice{"same", "opposite"},
			Doc: "same (default) or opposite: with opposite the vehicle moves backward when the output turns in the sense " +
				"of the input"},
		{Name: "rated-torque", Type: torque, Hint: "write the input torque that the train is made for in N m, such as 250",
			Doc: "the input torque that the train is made for, N m. Where it is left out torques are given as multiples of it"},
		{Name: "published-as", Type: yamlfile.Choice{"in/out", "out/in"},
			Doc: "in/out (default) or out/in: what published ratios divide by what"},
		{Name: "rounding", Type: yamlfile.Choice{"rounded", "truncated"},
			Doc: "rounded (default) or truncated: how published ratios were cut"},
		{Name: "elements", Type: byName("an element", elementTable, maxNames),
			Hint: "write a line such as forward: {clutch: [turbine, front.ring]} below it, or leave the key out",
			Doc:  "elements by name: see below"},
		{Name: "ranges", Type: byName("a range", rangeTable, maxNames), Need: true, Hint: rangesHint,
			Doc: "ranges by name: see below"},
		{Name: "positions", Type: byName("a position", yamlfile.List{Of: yamlfile.Name, Min: 1, Max: maxNames}, maxNames),
			Hint: "write a line such as D: [D1, D2, D3] below it, or leave the key out",
			Doc:  "places of the selector by name: lists of the ranges they offer, lowest first"},
		{Name: "taps", Type: names,
			Hint: "write a list of elements, taps: [forward, direct], [] where none has a tap, or leave the key out",
			Doc: "list of the elements that have a pressure tap of their own, [] for none. Line pressure has one always; " +
				"where the key is left out a tap of an element is there or not"},
		{Name: "inertia", Type: yamlfile.Map{Keys: member, Of: inertia, Min: 1, Max: maxMembers},
			Hint: "write a line such as turbine: 0.12 below it, in kg m², or leave the key out", Doc: "inertias of members, " +
				"kg m²: see below"},
		{Name: "vehicle", Type: vehicleTable(), Doc: "what the output moves: see below"},
		{Name: "shift", Type: byName("an element", timingTable, maxNames),
			Hint: "write a line such as direct: {release: 0.35..0.50} below it, or leave the key out",
			Doc:  "when elements let go and take hold: see below"},
		{Name: "controls", Type: controlsTable, Doc: "what feeds the elements: see below"},
	},
}

func uses() yamlfile.Choice {
	return kinematics.Map(kinematics.Uses(), func(u kinematics.Use) string { return string(u) })
}

var (
	oneMember  = yamlfile.Either{member, yamlfile.List{Of: member, Min: 1, Max: 1}}
	twoMembers = yamlfile.List{Of: member, Min: 2, Max: 2, Repeats: true}
	anyMembers = yamlfile.Either{member, yamlfile.List{Of: member, Min: 1, Max: 2, Repeats: true}}
)

// An elementKind is a kind of element with what it joins.
type elementKind struct {
	kind     kinematics.CouplingKind
	called   string
	one, two bool // may name one member (to the housing), or two
	hint     string
	doc      string
}

var elementKinds = []elementKind{
	{kinematics.Clutch, "a clutch", false, true,
		"a clutch joins two members: {clutch: [turbine, front.ring]}; to hold one to the housing write brake or band",
		"[a, b]: a clutch between two members"},
	{kinematics.Brake, "a brake", true, false,
		"a brake holds one member to the housing: {brake: rear.carrier}; to join two write clutch", "a: a disc brake to " +
			"the housing"},
	{kinematics.Band, "a band", true, false,
		"a band holds one member to the housing: {band: sun-shell}; to join two write clutch", "a: a band brake to the " +
			"housing"},
	{kinematics.Dog, "a dog", true, true,
		"a dog joins two members or holds one to the housing: {dog: [input-shaft, low.gear]} or {dog: rear.carrier}",
		"a or [a, b]: positive, it does not slip"},
	{kinematics.OneWay, "a one-way clutch", true, true,
		"write {one-way: rear.carrier, overruns: forward}, or [a, b] where a may turn faster than b",
		"[a, b]: a may turn faster than b in the sense of the input; a: to the housing, " +
			"overruns: forward lets a turn in the sense of the input, overruns: backward against it"},
	{kinematics.Pawl, "a parking pawl", true, false,
		"a parking pawl holds one member to the housing: {pawl: output-shaft}", "a: the parking pawl"},
}

// key is the key by which a file says that an element is of the kind.
func (k *elementKind) key() yamlfile.Key {
	form := yamlfile.Type(twoMembers)
	switch {
	case k.one && k.two:
		form = anyMembers
	case k.one:
		form = oneMember
	}
	return yamlfile.Key{Name: k.kind.String(), Type: form, Hint: k.hint, Doc: k.doc}
}

func elementWords() []string {
	return kinematics.Map(elementKinds, func(k elementKind) string { return k.kind.String() })
}

// elementTable is the keys of an element.
var elementTable = func() *yamlfile.Table {
	t := &yamlfile.Table{Form: "write what it is and what it joins: {clutch: [turbine, front.ring]} or {brake: " +
		"rear.carrier}"}
	var friction []string
	for _, k := range elementKinds {
		t.Keys = append(t.Keys, k.key())
		if k.kind.Friction() {
			friction = append(friction, k.kind.String())
		}
	}
	t.Keys = append(t.Keys,
		yamlfile.Key{Name: "overruns", Type: yamlfile.Choice{"forward", "backward"},
			Doc: "forward or backward, of a one-way clutch with one member: which way it turns freely"},
		yamlfile.Key{Name: "switched", Type: yamlfile.Flag{},
			Doc: "true, of a one-way clutch: it acts only in ranges that apply it. All others act always, and no range may " +
				"apply them"},
		yamlfile.Key{Name: "capacity", Type: torque, Hint: "write the torque it can hold in N m, such as 400",
			Doc: "of a clutch, brake or band: the torque it can hold, N m; assumed from the loads of the healthy ranges " +
				"where it is left out"},
		yamlfile.Key{Name: "also", Type: yamlfile.Line{},
			Hint: "write the name that the source gives it, or leave the key out",
			Doc:  "other names, such as the letter that a source gives it"},
		yamlfile.Key{Name: "note", Type: yamlfile.Text{}, Doc: noteDoc, Hint: noteHint})
	t.Together = func() yamlfile.Schema { return elementTogether(friction) }
	return t
}()

// elementTogether is what the schema says of several keys of an element at once.
func elementTogether(friction []string) yamlfile.Schema {
	oneWay := kinematics.OneWay.String()
	return yamlfile.Schema{
		"oneOf":             each(elementWords()),
		"dependentRequired": yamlfile.Schema{"overruns": []string{oneWay}, "switched": []string{oneWay}},
		"dependentSchemas": yamlfile.Schema{
			"capacity": yamlfile.Schema{"anyOf": each(friction)},
			oneWay: yamlfile.Schema{
				"if":   yamlfile.Schema{"properties": yamlfile.Schema{oneWay: twoMembers.Schema()}},
				"then": yamlfile.Schema{"properties": yamlfile.Schema{"overruns": false}},
				"else": required("overruns"),
			},
		},
	}
}

// one says that a key at least must be there.
func one() yamlfile.Schema { return yamlfile.Schema{"minProperties": 1} }

func required(keys ...string) yamlfile.Schema { return yamlfile.Schema{"required": keys} }

// each is a schema for each key, that it must be there.
func each(keys []string) []yamlfile.Schema {
	return kinematics.Map(keys, func(k string) yamlfile.Schema { return required(k) })
}

// publishedKeys say something of a published ratio alone.
var publishedKeys = []string{"published-as", "rounding", "source"}

// rangeTable is the keys of a range.
var rangeTable = &yamlfile.Table{
	Form: "write the elements that are applied, {apply: [forward]}, or {} for none",
	Keys: []yamlfile.Key{
		{Name: "apply", Type: names, Hint: "write a list of elements: apply: [forward]",
			Doc: "list of the elements that are applied"},
		{Name: "input", Type: member, Hint: "write a member, or leave the key out",
			Doc: "the member that is turned, where it is not that of the train"},
		{Name: "output", Type: member, Hint: "write a member, or leave the key out",
			Doc: "the member that turns the load, where it is not that of the train"},
		{Name: "published", Type: publishedRatio, Hint: "write the ratio as the source prints it, such as 2.40",
			Doc: "the ratio as the source prints it: 2.40 has two places"},
		{Name: "published-as", Type: yamlfile.Choice{"in/out", "out/in"},
			Doc: "what that ratio divides by what, where not as the train's"},
		{Name: "rounding", Type: yamlfile.Choice{"rounded", "truncated"},
			Doc: "how that ratio was cut, where not as the train's"},
		{Name: "source", Type: yamlfile.Line{}, Hint: "write where the ratio was read, or leave the key out",
			Doc: "where that ratio was read, where not in the train's sources"},
		{Name: "gear", Type: yamlfile.Pattern{Pattern: "^([1-9]|10|R)$", Types: []string{"string", "integer"}},
			Hint: "write 1 to 10, or R, or leave the key out",
			Doc: "the gear that trouble codes of ratios mean by it: 1 to 10, or R; left out: numbered by the ratios, the " +
				"highest being gear 1"},
		{Name: "intended", Type: yamlfile.Flag{},
			Doc: "true: the range is meant to tie up. A range that ties up without it is refused, " +
				"and so is one that has it and does not"},
		{Name: "note", Type: yamlfile.Text{}, Doc: noteDoc, Hint: noteHint},
	},
	Together: func() yamlfile.Schema {
		s := yamlfile.Schema{}
		for _, k := range publishedKeys {
			s[k] = []string{"published"}
		}
		return yamlfile.Schema{"dependentRequired": s}
	},
}

var (
	inertia = yamlfile.Decimal{What: "an inertia", Unit: "kg m²", Example: "0.02", Most: 1e6}
	area    = yamlfile.Decimal{What: "an area", Unit: "cm²", Example: "450", Most: 1e6}
)

// A vehicleKey is a key of the vehicle with where its value goes.
type vehicleKey struct {
	yamlfile.Key
	set func(*kinematics.Vehicle, float64)
}

// vehicleKeys are the keys of the vehicle; those without a default must be there.
var vehicleKeys = []vehicleKey{
	{yamlfile.Key{Name: "mass", Type: yamlfile.Decimal{What: "a mass", Unit: "kg", Example: "4200", Most: 1e6},
		Need: true, Doc: "kg"},
		func(v *kinematics.Vehicle, x float64) { v.Mass = x }},
	{yamlfile.Key{Name: "final-drive", Type: yamlfile.Decimal{What: "a ratio", Example: "4.3", Most: 100}, Need: true,
		Doc: "turns of the output per turn of the wheels"},
		func(v *kinematics.Vehicle, x float64) { v.FinalDrive = x }},
	{yamlfile.Key{Name: "tyre-radius", Type: yamlfile.Decimal{What: "a radius", Unit: "m", Example: "0.38", Most: 10},
		Need: true, Doc: "m"},
		func(v *kinematics.Vehicle, x float64) { v.TyreRadius = x }},
	{yamlfile.Key{Name: "rolling", Type: yamlfile.Decimal{What: "a share of the weight", Example: "0.012", Most: 1,
		OrZero: true},
		Doc: "the rolling resistance as a share of the weight, 0 if left out"},
		func(v *kinematics.Vehicle, x float64) { v.Rolling = x }},
	{yamlfile.Key{Name: "drag", Type: yamlfile.Decimal{What: "an area", Unit: "m²", Example: "4.8", Most: 1000,
		OrZero: true},
		Doc: "the drag area, m², 0 if left out"},
		func(v *kinematics.Vehicle, x float64) { v.Drag = x }},
}

func vehicleTable() *yamlfile.Table {
	t := &yamlfile.Table{Form: "write {mass: 4200, final-drive: 4.3, tyre-radius: 0.38, rolling: 0.012, drag: 4.8}"}
	t.Keys = kinematics.Map(vehicleKeys, func(k vehicleKey) yamlfile.Key { return k.Key })
	return t
}

const rampHint = "write the start and end in seconds after the command, such as 0.35..0.50, or 0.35..0.50:smooth"

// timingTable is the keys of an element in a shift.
var timingTable = &yamlfile.Table{
	Form: "write when it lets go and takes hold, in seconds after the command: {release: 0.35..0.50, apply: 0.40..0.70}",
	Keys: []yamlfile.Key{
		{Name: "release", Type: ramp, Hint: rampHint,
			Doc: "the span of time in which it lets go, s after the command: 0.35..0.50, at an even rate; " +
				"0.35..0.50:smooth, slowly at both ends"},
		{Name: "apply", Type: ramp, Hint: rampHint, Doc: "the span in which it takes hold"},
		{Name: "area", Type: area, Doc: "friction area of all its plates, or of its band, cm²"},
	},
	Together: one,
}
