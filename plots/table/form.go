package table

import (
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// Form writes a road-test sheet on paper.
type Form struct{ *analysis.RoadForm }

// text writes the form: what each range should do, and room for what it does.
func (f Form) text(p *page) {
	blank := strings.Repeat("_", 12)
	p.line("Road-test sheet: " + titled(f.Train))
	p.apart("vehicle " + line(f.Vehicle, 30) + "  date " + blank)
	p.line("complaint " + line(f.Complaint, 60))
	p.line(strings.Join(kinematics.Map(f.Circumstances, func(c analysis.Known) string {
		return map[bool]string{false: "[ ] ", true: "[x] "}[c.Known] + c.Name()
	}), "   "))
	p.line("")
	g := &Grid{Columns: columns("range", "applied", "should", "coasting", "light throttle", "full throttle",
		"coasts", "pushed")}
	for _, r := range f.Ranges {
		throttle, coasts := blank, blank
		if r.Parks {
			throttle, coasts = "", ""
		}
		g.Add(r.Range, applied(r.Apply), r.Reads, r.Coasting, line(list(r.Seen), 12), throttle, coasts, blank)
	}
	p.grid(g)
	if len(f.Shifts) > 0 {
		p.line("")
		s := &Grid{Columns: columns("shift", "ok, bind or flare", "", "shift", "ok, bind or flare")}
		for i := 0; i < len(f.Shifts); i += 2 {
			cells := []string{f.Shifts[i], blank, "", "", ""}
			if i+1 < len(f.Shifts) {
				cells[3], cells[4] = f.Shifts[i+1], blank
			}
			s.Add(cells...)
		}
		p.grid(s)
	}
	p.line("")
	workshop := strings.Join(f.Workshop, "; ")
	p.line("workshop " + line(workshop, 61))
	if workshop == "" {
		p.line("         " + strings.Repeat("_", 61))
	}
	p.apart("Words for the sheet:")
	words := &Grid{Columns: columns("word", "meaning")}
	for _, x := range f.Glossary {
		words.Add(x.Word, x.Meaning)
	}
	p.grid(words)
	p.apart(f.Cautions...)
}

// line is a text, or room to write one.
func line(text string, width int) string {
	if text != "" {
		return text
	}
	return strings.Repeat("_", width)
}
