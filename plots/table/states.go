package table

import (
	"cmp"
	"fmt"
	"io"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
)

// States writes the answer of states: all combinations of elements, by what they do.
type States struct{ *analysis.States }

// The numbers of things that the text lists before it counts the rest.
const (
	mostListed = 6  // combinations of a ratio; ratios that no range uses
	mostTieUps = 12 // least tie-ups
)

// text writes a section for each thing that combinations do.
func (s States) text(p *page) {
	p.line(titled(s.Train))
	p.faults(s.Faults)
	p.line(s.Counted())
	forward, backward, idle := s.sections()
	p.part("drive forward", forward)
	p.part("drive backward", backward)
	p.part("do not drive", idle)
	p.apart(RatioNote)
	p.line(s.Unused(mostListed))
	p.apart(s.Cautions...)
}

// sections are the combinations that drive, either way, and those that do not.
func (s States) sections() (forward, backward, idle *Grid) {
	driving := columns("ratio>", "exact>", "coasting", "ranges", "combinations")
	forward, backward = &Grid{Columns: driving}, &Grid{Columns: driving}
	idle = &Grid{Columns: columns("reads", "coasting", "ranges", "count>", "combinations")}
	for i := range s.Groups {
		switch g := &s.Groups[i]; g.Verdict {
		case analysis.Forward:
			addDriving(forward, g)
		case analysis.Reverse:
			addDriving(backward, g)
		default:
			s.addIdle(idle, g)
		}
	}
	return forward, backward, idle
}

// addDriving adds combinations that drive.
func addDriving(grid *Grid, g *analysis.StatesGroup) {
	for _, way := range g.Ways {
		ranges := list(way.Ranges)
		if !g.Used {
			ranges = "no range"
		}
		grid.Add(places(*g.Ratio.Ratio), g.Ratio.Exact.String(), way.Coasting, ranges, setList(way.Combinations))
	}
}

// addIdle adds combinations that do not drive.
func (s States) addIdle(grid *Grid, g *analysis.StatesGroup) {
	if g.Verdict != analysis.TieUp {
		for _, way := range g.Ways {
			grid.Add(string(way.Reads), way.Coasting, list(way.Ranges), strconv.Itoa(way.Combinations.Len()),
				setList(way.Combinations))
		}
		return
	}
	var ranges []string
	for _, way := range g.Ways {
		ranges = append(ranges, way.Ranges...)
	}
	grid.Add(string(reading.TiesUp), "", list(ranges), strconv.Itoa(g.Count),
		"whatever contains "+alternatives(s.LeastTieUps))
}

// set is "forward + direct", or "nothing".
func set(names []string) string { return cmp.Or(strings.Join(names, " + "), "nothing") }

// first writes the first of some sets, at most so many, and counts the others.
func first(sets analysis.Sets, most int, more string) []string {
	var words []string
	for i := range min(sets.Len(), most) {
		words = append(words, set(sets.Names(i)))
	}
	if rest := sets.Len() - most; rest > 0 {
		words = append(words, fmt.Sprintf(more, rest))
	}
	return words
}

// setList lists the first combinations and counts the others.
func setList(sets analysis.Sets) string { return list(first(sets, mostListed, "and %d more")) }

// alternatives lists combinations with "or" before the last.
func alternatives(sets analysis.Sets) string {
	return kinematics.Or(first(sets, mostTieUps, "one of %d more"))
}

// CSV writes a line for each combination.
func (s States) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("train", "faults", "verdict", "ratio", "ratio_exact", "coasting", "ranges", "size",
		"apply")}
	for _, group := range s.Groups {
		ratio, exact := ratioCells(group.Ratio, shortest)
		for _, way := range group.Ways {
			for i := range way.Combinations.Len() {
				names := way.Combinations.Names(i)
				g.Add(s.Train.Name, analysis.FaultTexts(s.Faults, " "), group.Verdict.String(), ratio, exact, way.Coasting,
					strings.Join(way.Ranges, " "), strconv.Itoa(len(names)), strings.Join(names, " "))
			}
		}
	}
	return g.CSV(w, s.Cautions...)
}
