package analysis_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
)

// A page says of a suspect that it is one, and of how many, and what it leaves unexplained; a
// part is at fault where it was found so, and proved where every turn by hand showed what
// it should.
func TestReportsTellSuspectsFromFacts(t *testing.T) {
	const (
		wrong, suspected = "What was wrong, and what was done", "What was felt, and what is suspected"
		nothing          = "Nothing explains everything that was seen: one of the observations may be wrong."
	)
	bound := []string{"N=forward", "R=bind"}
	turns := []string{"forward+intermediate free counterclockwise=ok", "forward held counterclockwise=ok",
		"- held clockwise=ok", "direct+low-reverse pawled clockwise=ok"}
	for _, x := range []struct {
		name               string
		seen, found, shown []string
		kind               analysis.ReportKind
		title              string
		lines, never       []string // of the page
	}{
		{name: "no suspect", title: suspected, lines: []string{"# What is suspected", "Nothing yet: nothing was seen."}},
		{name: "one", seen: bound, title: suspected, never: []string{"# What it is", "# How it was proved"},
			lines: []string{"# What is suspected", "This is suspected, and not proved:",
				"the part called forward holds where it should not"}},
		{name: "several", seen: []string{"D2=revs"}, title: suspected,
			lines: []string{"One of these is suspected, and none is proved:", "the oil pressure is too low or is missing",
				"the lever is one place off or stands between N and D",
				"the part called forward does not hold or holds too weakly", "circuit drive is blocked"}},
		{name: "disagreement", seen: []string{"P=lurch-backward", "R=none"}, title: suspected,
			lines: []string{nothing, "This is suspected, and not proved:", "the lever is one place off"}},
		{name: "found", seen: bound, found: []string{"forward=welded"}, title: wrong,
			lines: []string{"# What was found", "That it is put right is not proved yet."}, never: []string{"# What it is"}},
		{name: "found, some turns", seen: bound, found: []string{"forward=welded"}, shown: turns[:1], title: wrong,
			lines: []string{"# How far it is proved"}, never: []string{"# What it is", "# How it was proved"}},
		{name: "proved", seen: bound, found: []string{"forward=welded"}, shown: turns, title: wrong,
			lines: []string{"# What it is", "# How it was proved"}, never: []string{"# What is suspected"}},
		{name: "proved, and it explains less", seen: []string{"P=lurch-backward", "R=none"}, found: []string{"forward=welded"},
			shown: turns, title: wrong,
			lines: []string{"# What it is", "This does not fully explain everything that was seen."}},
		{name: "turns, nothing found", seen: bound, shown: turns, title: suspected,
			lines: []string{"# What is suspected", "# How far it is proved"}},
		{name: "harmed by a suspect", seen: bound, found: []string{"direct=burnt"}, title: suspected,
			lines: []string{"# What was found", "The part called direct was found burnt."},
			never: []string{"# What it harmed"}},
		{name: "harmed by what was found", seen: bound, found: []string{"direct=burnt", "forward=welded"}, title: wrong,
			lines: []string{"# What it harmed"}},
		{name: "proof, disagreement", kind: analysis.AsProof, seen: []string{"P=lurch-backward", "R=none"},
			title: "From what was seen to what was proved",
			lines: []string{"# Left as suspects", "Nothing agrees with everything seen, not even two faults at once: " +
				"one of the observations may be wrong.", "# How far it is proved", "no turn by hand was made: not proved"}},
		{name: "proof", kind: analysis.AsProof, seen: bound, found: []string{"forward=welded"}, shown: turns,
			title: "From what was seen to what was proved",
			lines: []string{"# Proved: all 4 turns by hand showed what they should"},
			never: []string{"# How far it is proved"}},
		{name: "proof, nothing found", kind: analysis.AsProof, seen: bound, shown: turns,
			title: "From what was seen to what was proved",
			lines: []string{"# How far it is proved: all 4 turns by hand showed what they should"},
			never: []string{"# Proved: all 4 turns by hand showed what they should"}},
	} {
		train, err := gearsets.Library("depot-shuttle-three-speed")
		if err != nil {
			t.Fatal(err)
		}
		c := analysis.NewCase(train)
		for list, add := range map[*[]string]func(string, string) error{&x.seen: c.See, &x.found: c.Find, &x.shown: c.Show} {
			for _, text := range *list {
				what, was, _ := strings.Cut(text, "=")
				if err := add(what, was); err != nil {
					t.Fatal(err)
				}
			}
		}
		if x.kind == "" {
			x.kind = analysis.ForCustomer
		}
		page, err := analysis.Open(train).Report(t.Context(), analysis.ReportQuestion{Kind: x.kind, Case: c})
		if err != nil {
			t.Fatal(err)
		}
		// Who is suspected and was not found may still do harm; what is proved warns of nothing.
		if warns := x.name != "proved"; (len(page.Cautions) > 1) != warns {
			t.Errorf("%s: the cautions are %q", x.name, page.Cautions)
		}
		if page.Title != x.title {
			t.Errorf("%s: the title is %q", x.name, page.Title)
		}
		var lines []string
		for _, s := range page.Sections {
			lines = append(lines, "# "+s.Heading)
			for _, l := range s.Lines {
				lines = append(lines, l.Text)
			}
		}
		for _, line := range x.lines {
			if !slices.Contains(lines, line) {
				t.Errorf("%s: no %q in\n%s", x.name, line, strings.Join(lines, "\n"))
			}
		}
		for _, line := range x.never {
			if slices.Contains(lines, line) {
				t.Errorf("%s: %q in\n%s", x.name, line, strings.Join(lines, "\n"))
			}
		}
	}
}
