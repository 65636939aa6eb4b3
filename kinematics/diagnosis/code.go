package diagnosis

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// A StoredCode is a trouble code of the open numbering [SAE J2012] with what it is about.
type StoredCode struct {
	Code string
	// Solenoid is what the code calls it: "shift A", "pressure control B"; "" for a code
	// of no solenoid.
	Solenoid string
	// Wiring says that the code names a fault of wires or coil. All others are the
	// control's own inference from ratio, time or pressure, which the road shows as well:
	// they are never counted beside it.
	Wiring bool
	Means  string
	// Gear is the gear whose ratio the code is about, "" for other codes.
	Gear string
}

// A codeSeries is the codes of one solenoid: five in a row, and up to four of its
// control circuit.
type codeSeries struct {
	solenoid      string
	first         string // fault, stuck off, stuck on, electrical, intermittent
	circuit, open string // low, with high behind it; open, "" if there is none
}

var codeSerieses = []codeSeries{
	{"shift A", "P0750", "P0973", ""}, {"shift B", "P0755", "P0976", ""}, {"shift C", "P0760", "P0979", ""},
	{"shift D", "P0765", "P0982", ""}, {"shift E", "P0770", "P0985", ""}, {"shift F", "P2706", "", ""},
	{"shift G", "P075A", "", ""}, {"shift H", "P076A", "", ""},
	{"pressure control A", "P0745", "P0962", "P0960"}, {"pressure control B", "P0775", "P0966", "P0964"},
	{"pressure control C", "P0795", "P0970", "P0968"}, {"pressure control D", "P2713", "P2720", "P2718"},
	{"pressure control E", "P2722", "P2729", "P2727"}, {"pressure control F", "P2731", "P2738", "P2736"},
}

var seriesKinds = []struct {
	means  string
	wiring bool
}{{"fault", false}, {"works poorly or stuck off", false}, {"stuck on", false}, {"electrical fault", true},
	{"comes and goes", true}}

// codes are the codes whose meaning is known here.
var codes = sync.OnceValue(func() map[string]StoredCode {
	list := map[string]StoredCode{}
	add := func(c StoredCode) { list[c.Code] = c }
	for _, s := range codeSerieses {
		of := func(code string, wiring bool, means string) {
			add(StoredCode{Code: code, Solenoid: s.solenoid, Wiring: wiring, Means: s.solenoid + " solenoid: " + means})
		}
		for i, k := range seriesKinds {
			of(after(s.first, i), k.wiring, k.means)
		}
		if s.circuit != "" {
			of(s.circuit, true, "control circuit low")
			of(after(s.circuit, 1), true, "control circuit high")
		}
		if s.open != "" {
			of(s.open, true, "control circuit or open")
		}
	}
	add(StoredCode{Code: "P0730", Means: "ratio does not fit the gear"})
	for n, code := range gearCodes {
		gear := strconv.Itoa(n)
		if n == 0 {
			gear = "R"
		}
		add(StoredCode{Code: code, Means: "ratio does not fit gear " + gear, Gear: gear})
	}
	for code, shift := range map[string]string{"P0780": "", "P0781": " 1-2", "P0782": " 2-3", "P0783": " 3-4",
		"P0784": " 4-5"} {
		add(StoredCode{Code: code, Means: "shift" + shift + " does not come off"})
	}
	return list
})

// after is the code that stands so many behind another, whose last place is a
// hexadecimal digit in the series that has letters.
func after(code string, by int) string {
	base := 10
	if code[4] >= 'A' {
		base = 16
	}
	n, _ := strconv.ParseInt(code[1:], base, 64)
	return "P" + fmt.Sprintf("%04s", strings.ToUpper(strconv.FormatInt(n+int64(by), base)))
}

var codeForm = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[PUCB][0-3][0-9A-F]{3}$`) })

// ParseCode looks up a trouble code. Makers' own codes (P1...) are not guessed.
func ParseCode(text string) (StoredCode, error) {
	if c, ok := codes()[text]; ok {
		return c, nil
	}
	switch {
	case !codeForm().MatchString(text):
		return StoredCode{}, fmt.Errorf("%s is no trouble code: write such as code:P0753", kinematics.Quote(text))
	case text[:2] == "P1":
		return StoredCode{}, fmt.Errorf("%s is a maker's own code, whose meaning only the service information gives: "+
			"leave it out", text)
	}
	return StoredCode{}, fmt.Errorf("what %s means is not known here: leave it out; codes of solenoids, "+
		"ratios and shifts are known", text)
}

// codeFit says how a stored code fits a hypothesis. A code of wires fits what is wrong
// with the wires of its solenoid, and contradicts all else, as a code can be wrong; where
// the file does not say which solenoid it means, it says nothing, and neither does a code
// that the control infers.
func (f *Finder) codeFit(x *Test, h *Hypothesis) Fit {
	c, err := ParseCode(x.Part)
	solenoid := solenoidOf(f.t, c)
	if err != nil || !c.Wiring || solenoid == "" {
		return Fully
	}
	return yes(h.Kind == Controlled && slices.ContainsFunc(h.Controls, func(f controls.Fault) bool {
		return f.Kind == controls.Lost || f.Kind.Electrical() && f.Part == solenoid
	}))
}

// solenoidOf is the solenoid that a code means by what the file calls it, "" for none.
func solenoidOf(t *kinematics.Train, c StoredCode) string {
	n := controls.Of(t)
	if n == nil || c.Solenoid == "" {
		return ""
	}
	for _, s := range n.Spec.Solenoids {
		if s.Code == c.Solenoid {
			return s.Name
		}
	}
	return ""
}

// rangesOf are the ranges that the file calls a gear.
func rangesOf(t *kinematics.Train, gear string) []string {
	var names []string
	for _, r := range t.Ranges {
		if gear != "" && r.Gear == gear {
			names = append(names, r.Name)
		}
	}
	return names
}

// CodeRemarks say of each code that was read what it means here, and whether it
// counts.
func (c *Case) CodeRemarks() []string {
	var list []string
	for _, o := range c.Seen {
		if o.Shop == nil || o.Shop.Kind != CodeRead {
			continue
		}
		code, err := ParseCode(o.Shop.Part)
		if err != nil {
			continue
		}
		text := code.Code + ": " + code.Means
		switch s := solenoidOf(c.Train, code); {
		case code.Solenoid != "" && s == "":
			text += "; the file does not say which solenoid that is, so it does not count"
		case code.Wiring:
			text += "; here " + s + ": it names wires or coil, and can be wrong like anything that is read"
		case len(rangesOf(c.Train, code.Gear)) > 0:
			text += ", here " + kinematics.And(rangesOf(c.Train, code.Gear)) +
				"; the control infers it from what the road shows, so it is not counted again"
		default:
			text += "; the control infers it from what the road shows, so it is not counted again"
		}
		list = append(list, text)
	}
	return list
}
