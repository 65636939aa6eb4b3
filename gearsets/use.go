package gearsets

import (
	"slices"

	"tieup/gearsets/internal/yamlfile"
	"tieup/kinematics"
)

// taps looks up the elements that have a tap.
func (c *checker) taps() {
	elements, names := c.elements()
	var given []string
	for _, s := range c.file.taps {
		e, ok := elements[s.Value]
		switch {
		case !ok && !c.file.unsure["elements"]:
			c.Errorf(s.Place, nearest(s.Value, names, "the elements are "), "taps: there is no element %q",
				yamlfile.Clip(s.Value))
		case slices.Contains(given, s.Value):
			c.Errorf(s.Place, "leave it out", "taps: %s is named twice", yamlfile.Clip(s.Value))
		case ok && !e.kind.Friction() && e.kind != kinematics.Dog:
			c.Errorf(s.Place, "only what pressure applies has a tap: clutches, brakes, bands and dogs",
				"taps: no pressure applies %s", yamlfile.Clip(s.Value))
		}
		given = append(given, s.Value)
	}
}

// buildUse puts the use and the taps on the train that was built.
func (f *trainFile) buildUse(t *kinematics.Train) {
	if f.use.Given() {
		t.Use = kinematics.Use(f.use.Value)
	}
	t.TapsKnown = f.tapsKnown
	for _, s := range f.taps {
		if i, ok := t.Element(s.Value); ok {
			t.Taps = append(t.Taps, i)
		}
	}
}
