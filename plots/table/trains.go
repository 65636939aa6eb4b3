package table

import (
	"fmt"
	"io"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Trains writes the answer of trains: what the library holds.
type Trains struct{ *analysis.Trains }

// arrangement counts the gearsets of a train by kind: "2 simple, 1 pair".
func arrangement(t *kinematics.Train) string {
	var parts []string
	for _, k := range kinematics.Kinds {
		n := 0
		for _, g := range t.Gearsets {
			if g.Kind == k {
				n++
			}
		}
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, k))
		}
	}
	return list(parts)
}

// span is the number of ratios with the first and the last, without their
// signs: "3: 2.48 to 1.00".
func span(ratios []exact.Frac) string {
	switch n := len(ratios); n {
	case 0:
		return "none"
	case 1:
		return "1: " + reading.Ratio(ratios[0])
	default:
		return fmt.Sprintf("%d: %s to %s", n, reading.Ratio(ratios[0]), reading.Ratio(ratios[n-1]))
	}
}

// origin is "invented", or the sources.
func origin(t *kinematics.Train) string {
	if t.Invented() {
		return "invented"
	}
	return strings.Join(t.Sources, "; ")
}

// text writes a line for each train, or three where that is too wide.
func (x Trains) text(p *page) {
	g := &Grid{Columns: columns("train", "gearsets", "forward", "reverse", "what")}
	for _, s := range x.Trains.Trains {
		what := s.Title
		if s.Invented {
			what += " (invented)"
		}
		g.Add(s.Name, arrangement(s.Train), span(s.Forward), span(s.Reverse), what)
	}
	if natural, _ := g.widths(); p.width == 0 || total(natural) <= p.width {
		p.grid(g)
	} else {
		for _, row := range g.Rows {
			p.print(bold(row[0]))
			p.print(indent(row[4], p.width))
			p.print(indent(row[1]+"; forward "+row[2]+"; reverse "+row[3], p.width))
		}
	}
	p.apart("forward, reverse: how many ratios, input speed / output speed, from the largest to the smallest")
	p.line("the sources of a train: tieup show TRAIN")
}

// indent wraps text to width with two blanks in front of each line.
func indent(text string, width int) string {
	return "  " + strings.ReplaceAll(Wrap(text, max(width-2, 10)), "\n", "\n  ")
}

// CSV writes a line for each train.
func (x Trains) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("name", "title", "gearsets", "forward", "reverse", "source")}
	for _, s := range x.Trains.Trains {
		g.Add(s.Name, s.Title, arrangement(s.Train), joined(s.ForwardExact), joined(s.ReverseExact), origin(s.Train))
	}
	return g.CSV(w)
}

// joined writes fractions with a blank between them.
func joined(list []exact.Text) string {
	return strings.Join(kinematics.Map(list, exact.Text.String), " ")
}
