package gearsets

import (
	"tieup/gearsets/internal/yamlfile"
	"tieup/kinematics/controls"
)

// The forms of values of the controls.
var (
	expression = yamlfile.Line{}
	seconds    = yamlfile.Decimal{What: "a time", Unit: "s", Example: "0.35", Most: 60}
	share      = yamlfile.Decimal{What: "a share of the capacity", Example: "0.6", Most: 1}
	onePattern = yamlfile.Either{names, patternTable}
	patterns   = yamlfile.Either{names, yamlfile.List{Of: onePattern, Min: 1, Max: maxNames, Repeats: true}, patternTable}
	routes     = yamlfile.Either{seconds, yamlfile.List{Of: routeTable, Min: 1, Max: maxNames, Repeats: true}}
	place      = yamlfile.Pattern{Pattern: "^(" + yamlfile.NamePattern + "/)?" + yamlfile.NamePattern + "$"}
	oneOrNames = yamlfile.Either{yamlfile.Name, yamlfile.List{Of: yamlfile.Name, Min: 1, Max: maxNames}}
)

const (
	expressionHint = `write names with and, or, not, lever(D 2) and parentheses: "drive and not valve-12"; ` +
		`what the source does not tell: unknown`
	patternHint = "write the solenoids that are on: [S1, S2], [] for none; several patterns: [[S1], [S2]]"
	routeHint   = "write the time in s, or routes of which the first that holds counts: " +
		"[{when: valve-23, take: 0.15}, {take: 0.6}]"
)

// controlsTable is the keys of the controls.
var controlsTable = &yamlfile.Table{
	Form: "write solenoids, circuits, valves, feeds and command below it, or solenoids and a table",
	Doc:  "What feeds the elements: solenoids, valves and circuits, or the table that a manual prints.",
	Keys: []yamlfile.Key{
		{Name: "source", Type: oneOrTexts, Need: true,
			Hint: "say where the controls come from: a source, from memory, or invented",
			Doc:  "where the controls come from: a text or a list of texts; from memory, or invented, where that is so"},
		{Name: "note", Type: yamlfile.Text{}, Doc: noteDoc, Hint: noteHint},
		{Name: "solenoids", Type: byName("a solenoid", solenoidTable, 32),
			Hint: "write a line such as S1: {} below it, or leave the key out",
			Doc:  "solenoids by name, on or off as charts print them: see below"},
		{Name: "circuits", Type: byName("a circuit", expression, 200),
			Hint: "write a line such as drive: lever(D 2 L) below it, or leave the key out",
			Doc:  "circuits by name, each with its route: an expression. The circuit line is always there"},
		{Name: "valves", Type: byName("a valve", valveTable, 24),
			Hint: "write a line such as valve-12: {up: S2} below it, or leave the key out",
			Doc:  "valves by name: see below"},
		{Name: "balls", Type: byName("a check ball", ballTable, 50),
			Hint: "write a line such as rev-1: {from: [reverse, low]} below it, or leave the key out",
			Doc:  "check balls by name, each with the circuits it lies between; whichever has pressure goes through"},
		{Name: "feeds", Type: yamlfile.Map{Keys: yamlfile.Name, Of: yamlfile.Either{expression, feedTable}, Min: 1, Max: 64},
			Hint: "write a line such as forward: drive below it, or leave the key out",
			Doc:  "elements, each with the expression of what applies it, or with the keys below"},
		{Name: "neighbours", Type: yamlfile.List{Of: yamlfile.List{Of: yamlfile.Name, Min: 2, Max: 2}, Max: maxNames},
			Hint: "write pairs of circuits: [[drive, second]]", Doc: "pairs of circuits between which a leak is possible"},
		{Name: "command", Type: yamlfile.Map{Keys: place, Of: patterns, Min: 1, Max: 1000},
			Hint: "write a line such as D1: [S1] below it, or leave the key out",
			Doc: "ranges, or position/range, each with the solenoids that the control switches on: a list, " +
				"a list of such lists, or the keys of a pattern"},
		{Name: "table", Type: yamlfile.List{Of: rowTable, Min: 1, Max: maxNames, Repeats: true},
			Hint: "write rows: [{lever: D, on: [S1], gives: D1}]",
			Doc:  "in place of feeds, the rows that a manual prints: see below. What no row tells is unknown"},
		{Name: "fail-safe", Type: yamlfile.Map{
			Keys: yamlfile.Pattern{Pattern: "^" + yamlfile.NamePattern + "([+]" + yamlfile.NamePattern + ")*$"},
			Of:   failSafeForm{}, Min: 1, Max: maxNames},
			Hint: "write a line such as S1: {when: [no-current], D1: [S2]} below it, or leave the key out",
			Doc: "what the control commands instead when it knows of a failure, by solenoid, S1+S2 for several, " +
				"valve or supply: see below"},
		{Name: "expect", Type: yamlfile.List{Of: expectTable, Min: 1, Max: maxNames, Repeats: true},
			Hint: `write rows: [{lever: "2", fault: supply, gives: D3}]`,
			Doc:  "printed failure results, which tieup check compares: see below"},
	},
}

var solenoidTable = &yamlfile.Table{
	Form: "write {}, or what trouble codes call it: {code: shift A}",
	Keys: []yamlfile.Key{
		{Name: "code", Type: yamlfile.Line{},
			Doc: "what the open trouble codes call it: shift A to shift H, pressure control A to F"},
		{Name: "hydraulic", Type: yamlfile.Flag{},
			Doc: "true for what is no solenoid: a pressure that comes and goes by itself, " +
				"such as a governor's. It has no wires"},
		{Name: "note", Type: yamlfile.Text{}, Doc: noteDoc, Hint: noteHint},
	},
}

var valveTable = &yamlfile.Table{
	Form: "write what lifts it: {up: S2 or valve-23}",
	Keys: []yamlfile.Key{
		{Name: "up", Type: expression, Hint: expressionHint, Doc: "the pressures against its spring"},
		{Name: "down", Type: expression, Hint: expressionHint, Doc: "the pressures with its spring; down wins"},
		{Name: "note", Type: yamlfile.Text{}, Doc: noteDoc, Hint: noteHint},
	},
	Together: one,
}

var ballTable = &yamlfile.Table{
	Form: "write the circuits it lies between: {from: [reverse, low]}",
	Keys: []yamlfile.Key{{Name: "from", Type: yamlfile.List{Of: yamlfile.Name, Min: 2, Max: maxNames}, Need: true,
		Hint: "from: [reverse, low]", Doc: "the circuits it lies between"}},
}

var feedTable = &yamlfile.Table{
	Form: "write the circuit that applies it, or {apply: second, release: third}",
	Keys: []yamlfile.Key{
		{Name: "apply", Type: yamlfile.Either{expression, yamlfile.List{Of: areaTable, Min: 1, Max: 8, Repeats: true}},
			Need: true, Hint: expressionHint,
			Doc: "the expression of what applies it, or a list of apply areas, each with from and its share of the capacity"},
		{Name: "release", Type: expression, Hint: expressionHint, Doc: "the expression of what releases it against that"},
		{Name: "fill", Type: routes, Hint: routeHint,
			Doc: "how long it takes to fill, s: a time, or routes with when and take; " +
				"the first that holds after the shift counts"},
		{Name: "exhaust", Type: routes, Hint: routeHint, Doc: "how long it takes to exhaust, likewise"},
	},
}

var areaTable = &yamlfile.Table{
	Form: "write {from: second, share: 0.6}",
	Keys: []yamlfile.Key{
		{Name: "from", Type: expression, Need: true, Hint: expressionHint, Doc: "the expression of what acts on the area"},
		{Name: "share", Type: share, Doc: "its share of the capacity of the element, 1 if left out"},
	},
}

var routeTable = &yamlfile.Table{
	Form: "write {when: valve-23, take: 0.15}",
	Keys: []yamlfile.Key{
		{Name: "when", Type: expression, Hint: expressionHint, Doc: "the expression that opens the route; left out: always"},
		{Name: "take", Type: seconds, Need: true, Doc: "the time it takes, s"},
	},
}

var patternTable = &yamlfile.Table{
	Form: patternHint,
	Keys: []yamlfile.Key{
		{Name: "on", Type: names, Hint: patternHint, Doc: "solenoids that are on"},
		{Name: "either", Type: names, Hint: "write the solenoids that may be on or off: [S2]",
			Doc: "solenoids that may be on or off"},
		{Name: "apply", Type: names, Hint: "write the elements of this pattern: [forward]",
			Doc: "the elements of this pattern, where they are not those of the range"},
	},
}

var rowTable = &yamlfile.Table{
	Form: "write {lever: D, on: [S1], gives: D1}",
	Keys: []yamlfile.Key{
		{Name: "lever", Type: oneOrNames, Hint: "write a position, or a list of them",
			Doc: "positions of the lever; left out: any"},
		{Name: "on", Type: names, Hint: patternHint, Doc: "the solenoids that are on; left out: any pattern"},
		{Name: "either", Type: names, Hint: "write the solenoids that may be on or off: [S2]",
			Doc: "solenoids that may be on or off"},
		{Name: "gives", Type: yamlfile.Name, Hint: "write a range",
			Doc: "the range that the unit is in; a pattern that no range commands may have a row, too"},
		{Name: "apply", Type: names, Hint: "write the elements that are fed: [forward]",
			Doc: "the elements that are fed, where they are those of no range"},
	},
}

// failSafeKeys are the keys of a fail-safe beside its ranges.
var failSafeKeys = &yamlfile.Table{
	Form: "write when it acts and the solenoids by range: {when: [no-current, supply], D1: [S2]}",
	Keys: []yamlfile.Key{
		{Name: "when", Type: yamlfile.List{Of: yamlfile.Choice(failSafeKinds()), Min: 1, Max: 20},
			Hint: "write faults: [no-current, supply]",
			Doc: "the faults that set it off: no-current, short-on, supply; with monitored mechanical ones, too. " +
				"Left out: every fault that the control can know of"},
		{Name: "monitored", Type: yamlfile.Flag{}, Doc: "true: the control finds mechanical faults, too, by the ratio"},
	},
}

func failSafeKinds() []string {
	words := []string{"supply"}
	for _, k := range []controls.Kind{controls.NoCurrent, controls.ShortOn, controls.StuckOn, controls.StuckOff,
		controls.StuckUp, controls.StuckDown, controls.Spring} {
		words = append(words, string(k))
	}
	return words
}

// failSafeForm is a fail-safe: its keys, and ranges with patterns.
type failSafeForm struct{}

// Schema is the form as a JSON Schema.
func (failSafeForm) Schema() yamlfile.Schema {
	s := failSafeKeys.Schema()
	s["additionalProperties"] = patterns.Schema()
	return s
}

// Hint is what to write as a fail-safe.
func (failSafeForm) Hint() string { return failSafeKeys.Form }

var expectTable = &yamlfile.Table{
	Form: `write {lever: "2", fault: supply, gives: D3}`,
	Keys: []yamlfile.Key{
		{Name: "lever", Type: yamlfile.Name, Hint: `write a position: lever: "2"`,
			Doc: "the position of the lever; left out: every one that offers the range"},
		{Name: "range", Type: yamlfile.Name, Hint: "write the range that is commanded",
			Doc: "the range commanded; left out: every one of the lever"},
		{Name: "fault", Type: oneOrTexts, Hint: "write a fault as on the command line: S1=no-current; supply",
			Doc: "the fault, or a list of faults, as on the command line"},
		{Name: "gives", Type: yamlfile.Name, Hint: "write a range", Doc: "the range that the unit is in by its ratio"},
		{Name: "applies", Type: names, Hint: "write the elements that are fed: [forward]",
			Doc: "or the elements that are fed"},
		{Name: "before", Type: yamlfile.Flag{}, Doc: "true: before any fail-safe"},
		{Name: "source", Type: yamlfile.Line{}, Hint: "write where it was read, or leave the key out",
			Doc: "where it was read, where not in the source of the controls"},
	},
}
