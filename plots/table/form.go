package table

import (
	"io"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/reading"
)

// Form is a road-test sheet on paper.
type Form struct {
	Case    *diagnosis.Case
	Healthy []reading.RangeReading // parallel to Train.Ranges
	Shifts  [][2]int
}

// Text writes the form: what each range should do, and room for what it does.
func (f Form) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	t := f.Case.Train
	blank := strings.Repeat("_", 12)
	p.line("Road-test sheet: " + titled(t))
	p.line("")
	p.line("vehicle " + line(f.Case.Vehicle, 30) + "  date " + blank)
	p.line("complaint " + line(f.Case.Complaint, 60))
	var boxes []string
	for _, c := range diagnosis.Circumstances() {
		box := "[ ] "
		for _, x := range f.Case.Circumstances {
			if x == c {
				box = "[x] "
			}
		}
		boxes = append(boxes, box+c.Name())
	}
	p.line(strings.Join(boxes, "   "))
	p.line("")
	g := &Grid{Columns: columns("range", "applied", "should", "coasting", "light throttle", "full throttle",
		"coasts", "pushed")}
	for r := range t.Ranges {
		rng := &t.Ranges[r]
		coast := ""
		if f.Healthy[r].Outcome.Drives() {
			coast = f.Healthy[r].Reading.Coast
		}
		throttle, coasts := blank, blank
		if parks(t, rng) {
			throttle, coasts = "", ""
		}
		g.Add(rng.Name, names(t, rng.Apply), f.Healthy[r].Text(), coast, line(f.seen(r), 12), throttle, coasts, blank)
	}
	p.grid(g)
	if len(f.Shifts) > 0 {
		p.line("")
		s := &Grid{Columns: columns("shift", "ok, bind or flare", "", "shift", "ok, bind or flare")}
		for i := 0; i < len(f.Shifts); i += 2 {
			cells := []string{f.shift(i), blank, "", "", ""}
			if i+1 < len(f.Shifts) {
				cells[3], cells[4] = f.shift(i+1), blank
			}
			s.Add(cells...)
		}
		p.grid(s)
	}
	p.line("")
	workshop := f.workshop()
	p.line("workshop " + line(workshop, 61))
	if workshop == "" {
		p.line("         " + strings.Repeat("_", 61))
	}
	p.line("")
	p.line("Words for the sheet:")
	words := &Grid{Columns: columns("word", "meaning")}
	for _, x := range slices.Concat(diagnosis.Glossary(), diagnosis.ShopGlossary()) {
		words.Add(x.Word, x.Meaning)
	}
	p.grid(words)
	p.cautions(diagnosis.RoadCautions(t))
	return p.err
}

// parks says whether a range applies the pawl.
func parks(t *kinematics.Train, r *kinematics.Range) bool {
	for _, e := range r.Apply {
		if t.Couplings[e].Kind == kinematics.Pawl {
			return true
		}
	}
	return false
}

// seen is what the sheet already says of a range.
func (f Form) seen(r int) string {
	var words []string
	for i := range f.Case.Seen {
		if o := &f.Case.Seen[i]; o.Range == r && !o.IsShift() {
			words = append(words, o.Value(f.Case.Train))
		}
	}
	return list(words)
}

// workshop is what tests in the workshop showed.
func (f Form) workshop() string {
	var tests []diagnosis.Observation
	for _, o := range f.Case.Seen {
		if o.Shop != nil {
			tests = append(tests, o)
		}
	}
	return strings.Join((&diagnosis.Case{Train: f.Case.Train, Seen: tests}).Places(), "; ")
}

func (f Form) shift(i int) string {
	t := f.Case.Train
	return t.Ranges[f.Shifts[i][0]].Name + "-" + t.Ranges[f.Shifts[i][1]].Name
}

// line is a text, or room to write one.
func line(text string, width int) string {
	if text != "" {
		return text
	}
	return strings.Repeat("_", width)
}
