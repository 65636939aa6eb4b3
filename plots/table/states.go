package table

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// States is the answer of states: all combinations of elements, by what they do.
type States struct {
	*reading.States
	Cautions []string
}

// The numbers of things that the text lists before it counts the rest.
const (
	mostListed = 6  // combinations of a ratio; ratios that no range uses
	mostTieUps = 12 // least tie-ups
)

// Text writes a section for each thing that combinations do.
func (s States) Text(w io.Writer, width int) error {
	t := s.Train
	p := &page{w: w, width: width}
	p.line(titled(t))
	p.faultLines(t, s.Faults)
	p.line(s.counted())
	for _, section := range []struct {
		heading string
		verdict solve.Verdict
	}{
		{"drive forward", solve.Forward}, {"drive backward", solve.Reverse},
	} {
		g := &Grid{Columns: columns("ratio>", "exact>", "coasting", "ranges", "combinations")}
		for i := range s.Groups {
			group := &s.Groups[i]
			if group.Verdict != section.verdict {
				continue
			}
			for _, way := range group.Ways {
				ranges := list(way.Ranges)
				if !group.Used() {
					ranges = "no range"
				}
				g.Add(places(group.Ratio), group.Ratio.String(), way.Reading.Coast, ranges, s.listed(way.Combinations))
			}
		}
		if len(g.Rows) > 0 {
			p.heading(section.heading)
			p.grid(g)
		}
	}
	g := &Grid{Columns: columns("reads", "coasting", "ranges", "count>", "combinations")}
	for i := range s.Groups {
		group := &s.Groups[i]
		if group.Drives() {
			continue
		}
		for k, way := range group.Ways {
			count := strconv.Itoa(len(way.Combinations))
			if group.Verdict == solve.TieUp {
				if k == 0 {
					g.Add(string(reading.TiesUp), "", s.tieUpRanges(group), strconv.Itoa(group.Count()), "whatever contains "+s.alternatives(s.LeastTieUps()))
				}
				continue
			}
			g.Add(string(way.Reading.Words[0]), way.Reading.Coast, list(way.Ranges), count, s.listed(way.Combinations))
		}
	}
	if len(g.Rows) > 0 {
		p.heading("do not drive")
		p.grid(g)
	}
	p.line("")
	p.line("ratio = input speed / output speed; a minus sign: the output turns against the input")
	p.line(s.unusedText())
	p.cautions(s.Cautions)
	return p.err
}

func (s States) tieUpRanges(g *reading.Group) string {
	var ranges []string
	for _, w := range g.Ways {
		ranges = append(ranges, w.Ranges...)
	}
	return list(ranges)
}

// counted says how many combinations there are, and of what.
func (s States) counted() string {
	t := s.Train
	text := fmt.Sprintf("%d elements can be applied or not, in %d combinations", len(s.Elements), 1<<len(s.Elements))
	if len(s.Elements) == 1 {
		text = "1 element can be applied or not, in 2 combinations"
	}
	if len(s.Fixed) > 0 {
		text += "; the faults leave no choice for " + names(t, s.Fixed)
	}
	always, switched, pawl := false, false, false
	for _, c := range t.Couplings[:t.ElementCount] {
		always = always || c.Kind == kinematics.OneWay && !c.Switched
		switched = switched || c.Switched
		pawl = pawl || c.Kind == kinematics.Pawl
	}
	switch {
	case always && switched:
		text += "; one-way clutches that are not switched act in all of them"
	case always:
		text += "; one-way clutches act in all of them"
	}
	if pawl {
		text += "; the pawl is out"
	}
	for _, r := range t.Ranges {
		if r.Input != t.Input || r.Output != t.Output {
			return text + "; input " + t.Members[t.Input].Name + ", output " + t.Members[t.Output].Name + ": ranges with other shafts are left out"
		}
	}
	return text
}

// combination is "forward + direct", or "nothing".
func (s States) combination(c reading.Combination) string {
	if c == 0 {
		return "nothing"
	}
	return strings.Join(s.Train.CouplingNames(s.Apply(c)), " + ")
}

// listed lists the first combinations and counts the others.
func (s States) listed(cs []reading.Combination) string {
	var words []string
	for _, c := range cs[:min(len(cs), mostListed)] {
		words = append(words, s.combination(c))
	}
	if more := len(cs) - mostListed; more > 0 {
		words = append(words, fmt.Sprintf("and %d more", more))
	}
	return list(words)
}

// alternatives lists combinations with "or" before the last.
func (s States) alternatives(cs []reading.Combination) string {
	var words []string
	for _, c := range cs[:min(len(cs), mostTieUps)] {
		words = append(words, s.combination(c))
	}
	if more := len(cs) - mostTieUps; more > 0 {
		words = append(words, fmt.Sprintf("one of %d more", more))
	}
	return kinematics.Or(words)
}

// unusedText names the ratios that no range uses.
func (s States) unusedText() string {
	var words []string
	for i := range s.Groups {
		g := &s.Groups[i]
		if g.Drives() && !g.Used() {
			words = append(words, reading.Ratio(g.Ratio)+" "+g.Verdict.String()+" ("+s.combination(g.Ways[0].Combinations[0])+")")
		}
	}
	switch n := len(words); {
	case len(s.Train.Ranges) == 0:
		return "the train has no ranges"
	case n == 0:
		return "the ranges use every ratio that the train can give"
	case n > mostListed:
		return fmt.Sprintf("%d ratios that the train can give are used by no range", n)
	}
	return "ratios that the train can give and no range uses: " + list(words)
}

type statesGroupJSON struct {
	Verdict string `json:"verdict"`
	ratioJSON
	Used  bool            `json:"used"`
	Count int             `json:"count"`
	Ways  []statesWayJSON `json:"ways"`
}

type statesWayJSON struct {
	Coasting           string     `json:"coasting"`
	EngineBraking      *bool      `json:"engine_braking"`
	EngineBrakingRatio ratioJSON  `json:"engine_braking_ratio"`
	Ranges             []string   `json:"ranges"`
	Combinations       [][]string `json:"combinations"`
}

// JSON writes the schema tieup.states/1.
func (s States) JSON(w io.Writer) error {
	t := s.Train
	answer := struct {
		Schema       string            `json:"schema"`
		Units        ordered           `json:"units"`
		Train        string            `json:"train"`
		Faults       []string          `json:"faults"`
		Elements     []string          `json:"elements"`
		Fixed        []string          `json:"fixed"`
		Combinations int               `json:"combinations"`
		Groups       []statesGroupJSON `json:"groups"`
		LeastTieUps  [][]string        `json:"least_tie_ups"`
		Cautions     []string          `json:"cautions"`
	}{
		Schema: "tieup.states/1", Units: ordered{{"ratio, engine_braking_ratio", "input speed / output speed"}},
		Train: t.Name, Faults: []string{}, Elements: t.CouplingNames(s.Elements), Fixed: t.CouplingNames(s.Fixed),
		Combinations: 1 << len(s.Elements), LeastTieUps: s.namesOf(s.LeastTieUps()), Cautions: append([]string{}, s.Cautions...),
	}
	for _, f := range s.Faults {
		answer.Faults = append(answer.Faults, t.FaultText(f))
	}
	for i := range s.Groups {
		g := &s.Groups[i]
		j := statesGroupJSON{Verdict: g.Verdict.String(), ratioJSON: jsonRatio(g.Ratio, g.Drives()), Used: g.Used(), Count: g.Count()}
		for _, way := range g.Ways {
			braking, brakes, rolls := way.Outcome.EngineBraking()
			k := statesWayJSON{
				Coasting: way.Reading.Coast, EngineBrakingRatio: jsonRatio(braking, brakes),
				Ranges: append([]string{}, way.Ranges...), Combinations: s.namesOf(way.Combinations),
			}
			if rolls {
				k.EngineBraking = &brakes
			}
			j.Ways = append(j.Ways, k)
		}
		answer.Groups = append(answer.Groups, j)
	}
	return WriteJSON(w, answer)
}

func (s States) namesOf(cs []reading.Combination) [][]string {
	all := make([][]string, len(cs))
	for i, c := range cs {
		all[i] = s.Train.CouplingNames(s.Apply(c))
	}
	return all
}

// CSV writes a line for each combination.
func (s States) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("train", "faults", "verdict", "ratio", "ratio_exact", "coasting", "ranges", "size", "apply")}
	var faults []string
	for _, f := range s.Faults {
		faults = append(faults, s.Train.FaultText(f))
	}
	for i := range s.Groups {
		group := &s.Groups[i]
		ratio, exact := "", ""
		if group.Drives() {
			ratio, exact = shortest(group.Ratio), group.Ratio.String()
		}
		for _, way := range group.Ways {
			for _, c := range way.Combinations {
				g.Add(s.Train.Name, strings.Join(faults, " "), group.Verdict.String(), ratio, exact, way.Reading.Coast,
					strings.Join(way.Ranges, " "), strconv.Itoa(c.Size()), strings.Join(s.Train.CouplingNames(s.Apply(c)), " "))
			}
		}
	}
	return g.CSV(w, s.Cautions...)
}
