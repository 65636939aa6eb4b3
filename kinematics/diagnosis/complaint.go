package diagnosis

import (
	"regexp"
	"slices"
	"strings"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// complaintForm is what a complaint can say of a place: "binds in reverse", "no drive in D".
var complaintForm = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`(?i)\b(binds?|ties up|slips?|no drive|does not (?:drive|move|pull)|creeps?) in ` +
		`([A-Za-z0-9_-]+)`)
})

// noneForm is a complaint that names no range: "no reverse".
var noneForm = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(?i)\bno (reverse|forward)\b`) })

// complaintWords are the words for what a complaint says.
var complaintWords = map[string]Word{"bind": Bind, "binds": Bind, "ties up": Bind, "slip": Slips, "slips": Slips,
	"creep": Creeps, "creeps": Creeps}

// Complained returns what a complaint in the customer's words says of ranges, as far
// as it is plain; nothing else is guessed.
func Complained(t *kinematics.Train, complaint string) []Observation {
	var list []Observation
	add := func(r int, w Word) {
		o := Observation{Range: r, To: -1, Word: w}
		if r >= 0 && Compatible(t, list, o) == nil {
			list = append(list, o)
		}
	}
	for _, m := range complaintForm().FindAllStringSubmatch(complaint, -1) {
		w, ok := complaintWords[strings.ToLower(m[1])]
		if !ok {
			w = None
		}
		add(calledRange(t, m[2]), w)
	}
	for _, m := range noneForm().FindAllStringSubmatch(complaint, -1) {
		r := calledRange(t, m[1])
		if strings.EqualFold(m[1], "forward") {
			r = calledRange(t, "first")
		}
		if !slices.ContainsFunc(list, func(o Observation) bool { return o.Range == r }) {
			add(r, None)
		}
	}
	return list
}

// calledRange finds the range that a customer means: by its name, reverse if there is
// one, neutral or park if it is one's name, first to tenth by the gears of the
// position that offers most; -1 for none.
func calledRange(t *kinematics.Train, name string) int {
	if r, ok := t.Range(name); ok {
		return r
	}
	only := func(is func(r int) bool) int {
		found := slices.DeleteFunc(identity(t), func(r int) bool { return !is(r) })
		if len(found) == 1 {
			return found[0]
		}
		return -1
	}
	name = strings.ToLower(name)
	switch name {
	case "reverse":
		k := solve.Compile(t).Kernel()
		return only(func(r int) bool { return k.Outcome(t.In(&t.Ranges[r])).Verdict == solve.Reverse })
	case "neutral", "park":
		return only(func(r int) bool { return strings.EqualFold(t.Ranges[r].Name, name[:1]) })
	}
	gear := slices.Index([]string{"first", "second", "third", "fourth", "fifth", "sixth",
		"seventh", "eighth", "ninth", "tenth"}, name)
	var most []int
	for _, p := range t.Positions {
		switch {
		case p.Name == name && len(p.Ranges) == 1:
			return p.Ranges[0]
		case len(p.Ranges) > len(most):
			most = p.Ranges
		}
	}
	if gear >= 0 && gear < len(most) {
		return most[gear]
	}
	return -1
}
