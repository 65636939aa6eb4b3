package kinematics

import (
	"fmt"
	"strings"
)

// FindRange returns the index of the range of that name, or an error that says
// which one was probably meant.
func (t *Train) FindRange(name string) (int, error) {
	if i, ok := t.Range(name); ok {
		return i, nil
	}
	return 0, t.NoSuch("range", name, t.RangeNames())
}

// FindElement returns the index of the element of that name, or an error that
// says which one was probably meant.
func (t *Train) FindElement(name string) (int, error) {
	if i, ok := t.Element(name); ok {
		return i, nil
	}
	return 0, t.NoSuch("element", name, t.ElementNames())
}

// FindCoupling returns the index of the element, or member of a joint
// ("shell:front.sun"), of that name, or an error that says which one was
// probably meant.
func (t *Train) FindCoupling(name string) (int, error) {
	if i, ok := t.Coupling(name); ok {
		return i, nil
	}
	for _, j := range t.Joints {
		if j.Name != name {
			continue
		}
		var splines []string
		for _, s := range j.Splines {
			if s >= 0 {
				splines = append(splines, t.Couplings[s].Name)
			}
		}
		return 0, fmt.Errorf("%s is a joint: say which of its members shears: %s", name, strings.Join(splines, ", "))
	}
	if strings.Contains(name, ":") {
		splines := Map(t.Couplings[t.ElementCount:], func(c Coupling) string { return c.Name })
		return 0, t.NoSuch("joint with member", name, splines)
	}
	return 0, t.NoSuch("element", name, t.ElementNames())
}

// NoSuch is the error that t has no such thing ("range", "element") of that
// name, with the nearest of the names that it has, or all of them.
func (t *Train) NoSuch(what, name string, names []string) error {
	switch s := DidYouMean(name, names); {
	case len(names) == 0:
		return fmt.Errorf("%s has no %ss", t.Name, what)
	case s == "":
		return fmt.Errorf("%s has no %s %s: it has %s", t.Name, what, Quote(name), strings.Join(names, ", "))
	case len(name) < 4:
		// Short names are near to many.
		return fmt.Errorf("%s has no %s %s%s It has %s", t.Name, what, Quote(name), s, strings.Join(names, ", "))
	default:
		return fmt.Errorf("%s has no %s %s%s", t.Name, what, Quote(name), s)
	}
}

// DidYouMean returns ": did you mean x?" for the name that is nearest, or "".
// One that shares no letter with the misspelt word is not near.
func DidYouMean(misspelt string, names []string) string {
	n := Nearest(misspelt, names)
	if n == "" || !strings.ContainsAny(strings.ToLower(n), strings.ToLower(misspelt)) {
		return ""
	}
	return ": did you mean " + n + "?"
}

// Quote shows a word of the user's, cut short where it is long.
func Quote(word string) string {
	if r := []rune(word); len(r) > 60 {
		word = string(r[:57]) + "..."
	}
	return fmt.Sprintf("%q", word)
}
