package diagnosis

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// usedGloss says what the words mean where no engine drives a vehicle: pairs of words of the
// glossary and of what takes their place.
var usedGloss = map[kinematics.Use]*strings.Replacer{
	kinematics.InCycle: strings.NewReplacer(
		"the engine runs up freely, or is loaded", "the cranks turn freely, or are held",
		"the engine runs up beyond the gear", "the cranks run ahead of the gear",
		"engine and vehicle work", "cranks and wheel work", "even at light throttle", "even when pedalled lightly",
		"at full throttle only", "with full weight only", "at full throttle", "with full weight on the pedals",
		"turns the engine", "turns the cranks", "the wheels lock", "the wheel locks", "engine idling, can be pushed",
		"the wheel turns", "can be pushed", "the wheel turns", "with the engine pulling", "while pedalling",
		"also raced, on stands, loaded", "also on stands, loaded",
		"engine off, pressure gone, pushed", "cranks let go, the wheel turned by hand"),
	kinematics.InHoist:   fixedGloss("the drum"),
	kinematics.InMachine: fixedGloss("the output"),
}

// fixedGloss is that of a drive that turns what stands fixed.
func fixedGloss(output string) *strings.Replacer {
	return strings.NewReplacer(
		"the engine runs up freely, or is loaded", "the input turns freely, or is held",
		"the engine runs up beyond the gear", "the input runs ahead of the gear",
		"engine and vehicle work", "the drive and "+output+" work", "even at light throttle", "even with a light load",
		"at full throttle only", "with the full load only", "at full throttle", "with the full load",
		"turns the engine", "turns the input", "the wheels lock", output+" locks", "engine idling, can be pushed",
		output+" turns", "can be pushed", output+" turns", "with the engine pulling", "with the drive pulling",
		"also raced, on stands, loaded", "also on stands, loaded",
		"engine off, pressure gone, pushed", "drive off, "+output+" turned by hand")
}

// said leaves those rows of a glossary that can be seen of a train, in its own words.
func said(t *kinematics.Train, list []Gloss) []Gloss {
	needs := map[string]bool{
		"stall": hydraulic(t), "stall-holds": hydraulic(t), "engine": hydraulic(t), "fluid": hydraulic(t),
		"pressure": hydraulic(t), "air": hydraulic(t), "lurch": hasPawl(t), "connector": controls.Of(t) != nil,
		"circuit": controls.Of(t) != nil, "code": hydraulic(t),
	}
	words := usedGloss[t.Use]
	var out []Gloss
	for _, g := range list {
		key, _, _ := strings.Cut(strings.TrimSpace(g.Word), " ")
		kind, _, _ := strings.Cut(key, ":")
		if can, asked := needs[kind]; asked && !can {
			continue
		}
		if words != nil {
			g.Meaning = words.Replace(g.Meaning)
		}
		out = append(out, g)
	}
	return out
}

// hasPawl says whether a range of the train applies a parking pawl.
func hasPawl(t *kinematics.Train) bool {
	return slices.ContainsFunc(identity(t), func(r int) bool { return applies(t, r, kinematics.Pawl) })
}

// GlossaryOf says what the words of a range mean of a train, by what it is built into.
func GlossaryOf(t *kinematics.Train) []Gloss { return said(t, Glossary()) }

// ShopGlossaryOf says how tests in the workshop of a train are written.
func ShopGlossaryOf(t *kinematics.Train) []Gloss { return said(t, ShopGlossary()) }
