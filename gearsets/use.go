package gearsets

import (
	"slices"

	"tieup/kinematics"
)

// use reads what the train is built into.
func (o *object) use() scalar {
	var words []string
	for _, u := range kinematics.Uses() {
		words = append(words, string(u))
	}
	return o.choice("use", words...)
}

// taps reads the elements that have a pressure tap of their own; an empty list says
// that none has.
func (o *object) taps() []scalar {
	return o.names("taps", "write a list of elements, taps: [forward, direct], [] where none has a tap, or leave the key out")
}

// taps looks up the elements that have a tap.
func (c *checker) taps() {
	kinds := map[string]kinematics.CouplingKind{}
	var names []string
	for _, e := range c.file.elements {
		kinds[e.name.value] = e.kind
		names = append(names, e.name.value)
	}
	var given []string
	for _, s := range c.file.taps {
		k, ok := kinds[s.value]
		switch {
		case !ok && !c.file.unsure["elements"]:
			c.errorf(s.Place, nearest(s.value, names, "the elements are "), "taps: there is no element %q", clip(s.value))
		case slices.Contains(given, s.value):
			c.errorf(s.Place, "leave it out", "taps: %s is named twice", clip(s.value))
		case ok && !k.Friction() && k != kinematics.Dog:
			c.errorf(s.Place, "only what pressure applies has a tap: clutches, brakes, bands and dogs", "taps: no pressure applies %s", clip(s.value))
		}
		given = append(given, s.value)
	}
}

// buildUse puts the use and the taps on the train that was built.
func (f *trainFile) buildUse(t *kinematics.Train) {
	if f.use.given() {
		t.Use = kinematics.Use(f.use.value)
	}
	t.TapsKnown = f.tapsKnown
	for _, s := range f.taps {
		if i, ok := t.Element(s.value); ok {
			t.Taps = append(t.Taps, i)
		}
	}
}
