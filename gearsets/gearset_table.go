package gearsets

import (
	"slices"
	"strings"

	"tieup/gearsets/internal/yamlfile"
	"tieup/kinematics"
)

// The tables of gearsets are made of what sets their kinds apart.

// kindTable is the keys of any gearset before its kind is known.
var kindTable = &yamlfile.Table{
	Form: "write it as " + kinematics.Kinds[0].Facts().Form,
	Keys: []yamlfile.Key{{Name: "kind", Type: kindChoice(), Need: true, Hint: kindChoice().Hint()}},
}

func kindChoice() yamlfile.Choice {
	return kinematics.Map(kinematics.Kinds, func(k kinematics.Kind) string { return string(k) })
}

// setKeys are the keys of every kind of gearset.
var setKeys = []yamlfile.Key{
	{Name: "pinions", Type: yamlfile.Whole{Unit: "pinions", Lo: 1, Hi: maxPinions},
		Doc: "number of pinions on the carrier, 1 to 100 (of pairs of pinions in double-pinion and ravigneaux sets)"},
	{Name: "profile-shifted", Type: yamlfile.Flag{},
		Doc: "true: the teeth are modified, so that the conditions on standard teeth do not apply (see Tooth counts)"},
}

const stepHint = "write a gear as slow: [21, 33]: its teeth, then those of the pinion step it meshes"

// setTables are the keys of each kind of gearset.
var setTables = func() map[kinematics.Kind]*yamlfile.Table {
	tables := map[kinematics.Kind]*yamlfile.Table{}
	for _, kind := range kinematics.Kinds {
		tables[kind] = setTable(kind.Facts())
	}
	return tables
}()

func setTable(f *kinematics.KindFacts) *yamlfile.Table {
	t := &yamlfile.Table{Form: "write it as " + f.Form, Together: func() yamlfile.Schema { return together(f) }}
	add := func(name string, of yamlfile.Type, hint string) {
		t.Keys = append(t.Keys, yamlfile.Key{Name: name, Type: of, Hint: hint})
	}
	add("kind", yamlfile.Choice{string(f.Kind)}, "")
	for _, g := range f.Gears {
		add(g.Part, teeth, "")
	}
	if len(f.Steps) > 0 {
		step := yamlfile.List{Of: teeth, Min: 2, Max: 2, Repeats: true}
		gear := yamlfile.Pattern{Pattern: yamlfile.Name.Pattern, Not: append([]string{"carrier"}, f.Pinions...)}
		for _, key := range f.Steps {
			add(key.Key, yamlfile.Map{What: "a gear", Keys: gear, Of: step, Min: 1, Max: maxNames}, stepHint)
		}
	}
	for _, key := range f.Ratios {
		add(key, ratio, ratioHint)
	}
	for _, g := range f.Gears {
		if g.Which != "" {
			add(g.Which, whichPinion(f), "")
		}
	}
	if len(f.Pinions) == 0 {
		add("mesh", yamlfile.Choice{kinematics.External.String(), kinematics.Internal.String(), kinematics.Chain.String()},
			"")
		add("bevel", yamlfile.Flag{}, "")
		add("carrier", member, "write the member that carries both gears, or leave the key out for the housing")
	} else if len(f.Steps) == 0 {
		for _, p := range f.Pinions {
			add(p, teeth, "")
		}
	}
	t.Keys = append(t.Keys, setKeys...)
	return t
}

func whichPinion(f *kinematics.KindFacts) yamlfile.Choice {
	var words yamlfile.Choice
	for i := range f.Pinions {
		words = append(words, f.PinionWord(i))
	}
	slices.Reverse(words)
	return words
}

// together is what the schema says of several keys of a kind at once.
func together(f *kinematics.KindFacts) yamlfile.Schema {
	s, needs := yamlfile.Schema{}, yamlfile.Schema{}
	gears := f.GearParts()
	var ratios []yamlfile.Schema
	if len(f.Ratios) > 0 {
		ratios = append(ratios, required(f.Ratios...))
	}
	switch {
	case len(f.Steps) > 0:
		two := func(key string) yamlfile.Schema {
			return yamlfile.Schema{"required": []string{key},
				"properties": yamlfile.Schema{key: yamlfile.Schema{"minProperties": f.Least}}}
		}
		a, b := f.Steps[0].Key, f.Steps[1].Key
		s["anyOf"] = []yamlfile.Schema{required(a, b), two(a), two(b)}
	case f.Least > 0:
		pairs := ratios
		for i := range gears {
			for j := range gears[:i] {
				pairs = append(pairs, required(gears[j], gears[i]))
			}
		}
		s["anyOf"] = pairs
	default:
		s["oneOf"] = append([]yamlfile.Schema{required(gears...)}, ratios...)
	}
	if len(f.Ratios) > 0 {
		s["dependentSchemas"] = besideRatios(f)
	}
	for _, g := range f.Gears {
		if g.Which != "" {
			needs[g.Part] = []string{g.Which}
		}
	}
	if len(f.Pinions) == 2 {
		needs[f.Pinions[0]], needs[f.Pinions[1]] = []string{f.Pinions[1]}, []string{f.Pinions[0]}
	}
	if len(needs) > 0 {
		s["dependentRequired"] = needs
	}
	if len(f.Pinions) == 0 {
		s["required"] = []string{"mesh"}
	}
	return s
}

// besideRatios says what stands beside a ratio: the other ratios, which pinions the
// gears mesh, and no teeth. Which pinions a gear meshes says nothing without it.
func besideRatios(f *kinematics.KindFacts) yamlfile.Schema {
	not, all, s := yamlfile.Schema{}, slices.Clone(f.Ratios), yamlfile.Schema{}
	for _, part := range append(f.GearParts(), f.Pinions...) {
		not[part] = false
	}
	for _, g := range f.Gears {
		if g.Which != "" {
			all = append(all, g.Which)
			s[g.Which] = yamlfile.Schema{"anyOf": []yamlfile.Schema{required(g.Part), required(f.Ratios...)}}
		}
	}
	for _, key := range f.Ratios {
		s[key] = yamlfile.Schema{"properties": not}
		if len(all) > 1 {
			s[key] = yamlfile.Schema{"properties": not, "required": all}
		}
	}
	return s
}

// gearsetForm is a gearset of any kind.
type gearsetForm struct{}

// Schema is the form as a JSON Schema: the keys of its kind.
func (gearsetForm) Schema() yamlfile.Schema {
	var of []yamlfile.Schema
	for _, kind := range kinematics.Kinds {
		is := yamlfile.Schema{"properties": yamlfile.Schema{"kind": yamlfile.Schema{"const": string(kind)}}}
		of = append(of, yamlfile.Schema{"if": is, "then": setTables[kind].Schema()})
	}
	return yamlfile.Schema{"type": "object", "required": []string{"kind"},
		"properties": yamlfile.Schema{"kind": kindChoice().Schema()}, "allOf": of}
}

// Hint is what to write as a gearset.
func (gearsetForm) Hint() string { return kindTable.Form }

// kindDocumentation writes the keys of each kind and the parts that it has.
func kindDocumentation() *yamlfile.Table {
	t := &yamlfile.Table{}
	for _, kind := range kinematics.Kinds {
		f := kind.Facts()
		parts := f.GearParts()
		switch {
		case len(f.Steps) > 0:
			parts = []string{"the gears by their names"}
		case f.Least > 0:
			parts = []string{"those given"}
		}
		if len(f.Pinions) > 0 {
			parts = append(parts, "carrier")
			if !f.Across {
				parts = append(parts, f.Pinions...)
			}
		}
		t.Keys = append(t.Keys, yamlfile.Key{Name: string(kind), Doc: f.Doc + ". Parts: " + strings.Join(parts, ", ")})
	}
	return t
}
