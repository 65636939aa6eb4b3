package diagnosis

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// glossFor are words of the glossary, those of a cycle, and those where a drive turns what
// stands fixed, which stands for {output}.
var glossFor = [][3]string{
	{"the engine runs up freely, or is loaded", "the cranks turn freely, or are held",
		"the input turns freely, or is held"},
	{"the engine runs up beyond the gear", "the cranks run ahead of the gear", "the input runs ahead of the gear"},
	{"the engine runs up freely", "the cranks turn freely", "the input turns freely"},
	{"the engine is held back", "the cranks are held", "the input is held"},
	{"the engine runs up", "the cranks run ahead", "the input runs ahead"},
	{"engine and vehicle work", "cranks and wheel work", "the drive and {output} work"},
	{"even at light throttle", "even when pedalled lightly", "even with a light load"},
	{"at full throttle only", "with full weight only", "with the full load only"},
	{"at full throttle", "with full weight on the pedals", "with the full load"},
	{"turns the engine", "turns the cranks", "turns the input"},
	{"the wheels lock", "the wheel locks", "{output} locks"},
	{"engine idling, can be pushed", "the wheel turns", "{output} turns"},
	{"can be pushed", "the wheel turns", "{output} turns"},
	{"with the engine pulling", "while pedalling", "with the drive pulling"},
	{"also raced, on stands, loaded", "also on stands, loaded", "also on stands, loaded"},
	{"engine off, pressure gone, pushed", "cranks let go, the wheel turned by hand",
		"drive off, {output} turned by hand"},
}

// usedGloss puts the words of a vehicle into those of what a train is built into.
func usedGloss(use kinematics.Use) *strings.Replacer {
	column, output := 2, "the output"
	switch use {
	case kinematics.InCycle:
		column = 1
	case kinematics.InHoist:
		output = "the drum"
	case kinematics.InMachine:
	default:
		return strings.NewReplacer()
	}
	var pairs []string
	for _, row := range glossFor {
		pairs = append(pairs, row[0], strings.ReplaceAll(row[column], "{output}", output))
	}
	return strings.NewReplacer(pairs...)
}

// said leaves those rows of a glossary that can be seen of a train, in its own words.
func said(t *kinematics.Train, list []glossRow) []Gloss {
	words := usedGloss(t.Use)
	var out []Gloss
	for _, row := range list {
		if row.needs == nil || row.needs(t) {
			out = append(out, Gloss{row.Word, words.Replace(row.Meaning)})
		}
	}
	return out
}

func hasControls(t *kinematics.Train) bool { return controls.Of(t) != nil }

// hasPawl says whether a range of the train applies a parking pawl.
func hasPawl(t *kinematics.Train) bool {
	return slices.ContainsFunc(identity(t), func(r int) bool { return applies(t, r, kinematics.Pawl) })
}

// GlossaryOf says what the words of a range mean of a train, by what it is built into.
func GlossaryOf(t *kinematics.Train) []Gloss { return said(t, rangeGlossary) }

// ShopGlossaryOf says how tests in the workshop of a train are written.
func ShopGlossaryOf(t *kinematics.Train) []Gloss { return said(t, shopGlossary) }

// plainly says what was seen in the words of somebody who does not know the trade.
var plainly = []Gloss{
	{"ok", "as it should be"}, {"forward", "drives forward"}, {"reverse", "drives backward"}, {"none", "does not drive"},
	{"revs", "does not drive, and the engine runs up freely"}, {"loaded", "does not drive, and the engine is held back"},
	{"bind", "engine and vehicle work against each other"}, {"lurch", "pushes against the parking lock"},
	{"lurch-forward", "pushes forward against the parking lock"},
	{"lurch-backward", "pushes backward against the parking lock"},
	{"creeps", "pulls weakly where it should rest"}, {"creeps-forward", "pulls weakly forward where it should rest"},
	{"creeps-backward", "pulls weakly backward where it should rest"},
	{"slips", "the engine runs up beyond the gear"},
	{"slips-light", "the engine runs up beyond the gear, even at light throttle"},
	{"slips-full", "the engine runs up beyond the gear, at full throttle only"},
	{"holds-full", "holds at full throttle"},
	{"stall-holds", "at full throttle against the brakes the engine speed holds"},
	{"stall-runs", "at full throttle against the brakes the engine runs too fast"},
	{"stall-low", "at full throttle against the brakes the engine stays too slow"},
	{"as", "seems to be in another gear"}, {"ratio", "ratio as measured"}, {"engine", "ratio as measured at the engine"},
	{"engine-braking", "coasting turns the engine"}, {"no-engine-braking", "coasting does not turn the engine"},
	{"coasts", "coasting turns the engine, at that ratio"}, {"held", "cannot be pushed either way"},
	{"rolls", "can be pushed both ways"}, {"rolls-with-drag", "can be pushed both ways, but hard"},
	{"rolls-forward-only", "can be pushed forward only"}, {"rolls-backward-only", "can be pushed backward only"},
	{"locks", "coasting, the wheels lock"}, {"flare", "the engine runs up"}, {"late", "comes late"},
	{"harsh", "comes with a blow"}, {"shudder", "comes jerkily"}, {"no-shift", "does not come"},
}

// Plainly says what a word for what was seen of a train means, to somebody who does not
// know the trade; "" for one that says it itself.
func Plainly(t *kinematics.Train, w Word) string {
	i := slices.IndexFunc(plainly, func(g Gloss) bool { return g.Word == string(w) })
	if i < 0 {
		return ""
	}
	return usedGloss(t.Use).Replace(plainly[i].Meaning)
}
