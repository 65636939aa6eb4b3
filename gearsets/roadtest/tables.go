package roadtest

import (
	"fmt"
	"strings"
	"sync"

	"tieup/gearsets/internal/yamlfile"
	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
)

// The most entries of a list of what was seen in one place, and the most places.
const (
	maxSeen   = 100
	maxPlaces = 1000
)

// A part is a part of the whole: 2% or 0.02.
type part struct{ least, most string }

// Schema is the form as a JSON Schema.
func (part) Schema() yamlfile.Schema {
	return yamlfile.Either{yamlfile.Decimal{Most: 1, OrZero: true}, yamlfile.Pattern{Pattern: "^[0-9.]+ *%?$"}}.Schema()
}

// Hint is what to write as a part.
func (p part) Hint() string { return fmt.Sprintf("write a part from %s to %s", p.least, p.most) }

// A share is a share above 0: 0.6, 3/5 or 60%.
type share struct{ below1 bool }

// Schema is the form as a JSON Schema.
func (share) Schema() yamlfile.Schema {
	return yamlfile.Either{
		yamlfile.Other{As: yamlfile.Schema{"type": "number", "exclusiveMinimum": 0}},
		yamlfile.Pattern{Pattern: "^[0-9.]+(/[0-9]+|%)?$"},
	}.Schema()
}

// Hint is what to write as a share.
func (s share) Hint() string {
	if s.below1 {
		return "write a share below 1, such as 0.6"
	}
	return "write a share such as 0.6"
}

// word is a word for what was seen, or a measured ratio.
func word() yamlfile.Other {
	return yamlfile.Other{As: yamlfile.Schema{"type": []string{"string", "number"}, "minLength": 1}}
}

// shiftWord is a word for what was seen of a shift, with the conditions behind it.
var shiftWord = yamlfile.Pattern{Pattern: "^(not tested|note .+|(ok|bind|flare|late|harsh|shudder|no-shift)( " +
	"(hot|cold|raced|(on )?stands|loaded|[0-9]+ of [0-9]+))*)$"}

// seen is what was seen by place: a word, a list of words, or nothing.
func seen(keys string, of yamlfile.Type) yamlfile.Map {
	return yamlfile.Map{Max: maxPlaces, Keys: yamlfile.Pattern{Pattern: keys},
		Of: yamlfile.Other{As: yamlfile.Schema{"anyOf": []yamlfile.Schema{
			{"type": "null"}, of.Schema(), yamlfile.List{Of: of, Min: 1, Max: maxSeen, Repeats: true}.Schema(),
		}}}}
}

// A sheet that has the key ends with the mark on a line of its own, which is how
// YAML ends a document.
const (
	endsKey = "ends"
	endMark = "..."
)

const (
	name      = "[A-Za-z0-9][A-Za-z0-9_-]*"
	trainHint = "write train: and the name of a train, or the path of its file"
)

// sheetTable is the keys of a road-test sheet.
var sheetTable = sync.OnceValue(func() *yamlfile.Table {
	return &yamlfile.Table{
		Form: `begin with "sheet: 1"`,
		Doc: "What was seen of a vehicle. Whether ranges, elements and words are those of the train is checked by tieup " +
			"itself.",
		Keys: []yamlfile.Key{
			{Name: "sheet", Type: yamlfile.Version{}, Need: true, Doc: "version of the format: 1",
				Hint: `write "sheet: 1" as the first line of a road-test sheet`},
			{Name: endsKey, Type: yamlfile.Choice{endMark},
				Doc: "\"...\": the last line of the sheet is three dots, and without it the sheet is refused " +
					"as cut short. A sheet may do without the key"},
			{Name: "train", Need: true, Hint: trainHint,
				Type: yamlfile.Other{As: yamlfile.Schema{"type": "string", "minLength": 1, "not": yamlfile.Schema{"const": "-"}}},
				Doc:  "name of a train of the library, or the path of a train file, from the folder of the sheet"},
			{Name: "vehicle", Type: yamlfile.Text{}, Doc: "free text: which vehicle, mileage, date",
				Hint: "write what the vehicle is, or leave the key out"},
			{Name: "complaint", Type: yamlfile.Text{}, Doc: "free text, in the customer's words",
				Hint: "write the complaint in the customer's words, or leave the key out"},
			{Name: "circumstances", Type: yamlfile.List{Of: yamlfile.Choice(circumstances()), Max: maxSeen},
				Hint: "write a list, such as [sudden, clean]",
				Doc:  "list of sudden or gradual, clean or burnt (the fluid), cold or hot (only then), rebuilt (lately)"},
			{Name: "seen", Type: seen("^"+name+"$", word()),
				Hint: "write ranges and what was seen in them: R: bind, or D1: [forward, no-engine-braking], or N: not tested",
				Doc: "what was seen by range: a word or a list of words. The words are those of package diagnosis; not tested " +
					"is the default"},
			{Name: "shifts", Type: seen("^"+name+"-"+name+"$", shiftWord),
				Hint: "write shifts and what was seen in them: D1-D2: flare",
				Doc: "what was seen by shift, D1-D2, or by selecting a range, N-R: ok, bind, flare, late, harsh, shudder, " +
					"no-shift"},
			{Name: "workshop", Type: seen("^(fluid|pressure:line(@.+)?|pressure:[^@]+@.+|(air|element|bench):.+)$", word()),
				Hint: "write tests and what they showed: air:direct: good, or pressure:direct@R: fed",
				Doc:  "what tests showed: pressure:NAME@RANGE, air:NAME, element:NAME, bench:NAME+NAME"},
			{Name: "found", Hint: "write parts and what they were found to be: {intermediate: burnt, shell: stripped}",
				Type: yamlfile.Map{Keys: yamlfile.Pattern{Pattern: "^" + name + "(:.+)?$"},
					Of: yamlfile.Choice(diagnosis.FoundWords()), Max: maxPlaces},
				Doc: "what elements and joints were found to be on opening, by name: " +
					strings.Join(diagnosis.FoundWords(), ", ")},
			{Name: "replaced", Type: yamlfile.List{Of: yamlfile.Text{}, Max: maxPlaces, Repeats: true},
				Hint: "write a list of what was replaced, such as [direct plates, seal kit]",
				Doc:  "list of what was replaced, in free text"},
			{Name: "proved", Hint: `write turns by hand and what they showed: {"forward free clockwise": locks}`,
				Type: yamlfile.Map{Keys: yamlfile.Pattern{Pattern: "^(-|" + name + "(\\+" + name +
					")*) (free|held|pawled) (clockwise|counterclockwise)$"},
					Of: word(), Max: maxPlaces},
				Doc: "turns by hand that were made once the unit was together again, and what they showed: ok, locks, turns, " +
					"free, or " +
					"how many turns the output makes for one of the input, - the other way. A turn names the elements with air, " +
					"joined by +, " +
					"or - for none, what is done with the output and which way the input is turned"},
			{Name: "assume", Type: assumeTable(), Doc: "what the diagnosis takes for granted: see below"},
		},
	}
})

func circumstances() []string {
	return kinematics.Map(diagnosis.Circumstances(), diagnosis.Circumstance.Name)
}

var effort = yamlfile.Whole{Unit: "effort", Lo: 0, Hi: 1000}

// assumeTable is the keys of what the diagnosis takes for granted.
var assumeTable = sync.OnceValue(func() *yamlfile.Table {
	return &yamlfile.Table{
		Form: "write settings such as tolerance: 2%, or leave the key out",
		Keys: []yamlfile.Key{
			{Name: "error-rate", Type: part{"1%", "49%"}, Doc: "how often something is seen wrongly, as a part: 5% or 0.05"},
			{Name: "tolerance", Type: part{"0%", "20%"}, Doc: "how far a measured ratio may be off, as a part"},
			{Name: "weak", Type: share{below1: true}, Doc: "the share of its rating with which a weak element holds"},
			{Name: "dragging", Type: share{below1: true}, Doc: "the share with which one drags that is released"},
			{Name: "light-throttle", Type: share{}, Doc: "as a share of the rated input torque"},
			{Name: "full-throttle", Type: share{}, Doc: "as a share of the rated input torque"},
			{Name: "classes", Type: yamlfile.List{Of: yamlfile.Choice(classes()), Max: maxSeen},
				Hint: "write a list, likeliest first, such as [joint, friction]",
				Doc:  "list of classes of causes, likeliest first"},
			{Name: "effort", Type: yamlfile.Map{Keys: yamlfile.Choice(testKinds()), Of: effort, Max: maxSeen},
				Hint: "write kinds of test and their effort: {stall: 0, bench: 16}",
				Doc:  "whole numbers by kind of test, 0 for one that is not to be proposed"},
		},
	}
})

func classes() []string {
	return kinematics.Map(diagnosis.DefaultClasses(), diagnosis.Class.Name)
}

func testKinds() []string {
	return kinematics.Map(diagnosis.TestKinds(), diagnosis.TestKind.Name)
}

// A sheetPart is a key under which observations of one sort stand.
type sheetPart struct{ key, noun string }

var sheetParts = []sheetPart{{"seen", "a range"}, {"shifts", "a shift"}, {"workshop", "a test in the workshop"}}
