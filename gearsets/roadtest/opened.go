package roadtest

import (
	"strings"

	"tieup/kinematics/diagnosis"
)

// opened reads what was found on opening, what was replaced and what was proved.
func (r *report) opened(o *object, c *diagnosis.Case) {
	for _, f := range o.Entries("found") {
		one := r.Entry(f.Key.Value, f, sheetTable().Key("found").Type,
			"write one of: "+strings.Join(diagnosis.FoundWords(), ", "))
		s := one.Scalar(f.Value, f.Key, "what was found", "")
		if !s.Given() {
			continue
		}
		if err := c.Find(f.Key.Value, s.Value); err != nil {
			r.Errorf(f.Key.Place, "", "found: %s", err)
		}
	}
	for _, s := range o.Names("replaced") {
		c.Replaced = append(c.Replaced, s.Value)
	}
	for _, f := range o.Entries("proved") {
		one := r.Entry(f.Key.Value, f, sheetTable().Key("proved").Type,
			"write what it showed: ok, locks, turns, free or a number")
		s := one.Scalar(f.Value, f.Key, "what it showed", "")
		if !s.Given() {
			continue
		}
		p := diagnosis.Proof{Turn: f.Key.Value, Saw: s.Value}
		if err := c.Prove(p); err != nil {
			r.Errorf(f.Key.Place, "", "proved: %s", err)
		}
	}
}

// formatOpened writes what came after the road: nothing where nothing did.
func formatOpened(line func(string, ...any), c *diagnosis.Case) {
	if len(c.Found) > 0 {
		line("found:")
		for _, f := range c.Found {
			line("  %s: %s", keyText(f.Part), f.Word)
		}
	}
	if len(c.Replaced) > 0 {
		line("replaced:")
		for _, x := range c.Replaced {
			line("  - %s", quoted(x))
		}
	}
	if len(c.Proved) > 0 {
		line("proved:")
		for _, p := range c.Proved {
			line("  %s: %s", keyText(p.Turn), p.Saw)
		}
	}
	if len(c.Found)+len(c.Replaced)+len(c.Proved) > 0 {
		line("")
	}
}
