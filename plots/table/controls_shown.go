package table

import (
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// showControls writes the controls of a train as its file has them.
func showControls(p *page, s *controls.Spec) {
	p.heading("controls")
	f := &fields{}
	for _, source := range s.Sources {
		f.add("source", source)
	}
	f.add("note", s.Note)
	f.write(p)
	p.line("")
	g := &Grid{Columns: columns("part", "is", "pressure, or what moves it", "note")}
	for _, x := range s.Solenoids {
		kind := "solenoid"
		if x.Hydraulic {
			kind = "hydraulic signal"
		}
		g.Add(x.Name, kind, "", strings.Trim(x.Code+"; "+x.Note, "; "))
	}
	for _, x := range s.Circuits {
		g.Add(x.Name, "circuit", x.From, x.Note)
	}
	for _, x := range s.Valves {
		moved := x.Up
		if x.Down != "" {
			moved += "; held down by " + x.Down
		}
		g.Add(x.Name, "valve", moved, x.Note)
	}
	for _, x := range s.Balls {
		g.Add(x.Name, "check ball", strings.Join(x.From, " or "), "")
	}
	for _, x := range s.Feeds {
		g.Add(x.Element, "element", fedBy(x), "")
	}
	p.grid(g)
	p.line("")
	c := &Grid{Columns: columns("lever", "range", "solenoids on", "result")}
	for _, x := range s.Commands {
		c.Add(x.Position, x.Range, patternsText(x.Patterns), "")
	}
	for _, x := range s.Table {
		on := "any"
		if !x.Any {
			on = patternsText([]controls.Pattern{x.Pattern})
		}
		c.Add(list(x.Levers), x.Gives, on, "printed")
	}
	p.grid(c)
}

func fedBy(x controls.Feed) string {
	text := list(kinematics.Map(x.Apply, func(a controls.Area) string {
		if a.Share != "" {
			return a.From + " (" + a.Share + " of its capacity)"
		}
		return a.From
	}))
	if x.Release != "" {
		text += "; released by " + x.Release
	}
	return text
}

func patternsText(patterns []controls.Pattern) string {
	return strings.Join(kinematics.Map(patterns, func(x controls.Pattern) string {
		if len(x.Either) > 0 {
			return orNone(x.On) + ", either of " + list(x.Either)
		}
		return orNone(x.On)
	}), " or ")
}
