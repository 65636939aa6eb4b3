package table

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Trains is the answer of trains: what the library holds.
type Trains []TrainSummary

// A TrainSummary is a train in a line.
type TrainSummary struct {
	Train *kinematics.Train
	// Forward and Reverse are the distinct ratios of its healthy ranges, the
	// shortest gear (largest ratio) first.
	Forward, Reverse []exact.Frac
}

// Sort orders trains by arrangement: few gearsets before many, then by kind
// and name.
func (ts Trains) Sort() {
	slices.SortStableFunc(ts, func(a, b TrainSummary) int {
		return cmp.Or(
			cmp.Compare(len(a.Train.Gearsets), len(b.Train.Gearsets)),
			slices.Compare(kindOrder(a.Train), kindOrder(b.Train)),
			cmp.Compare(a.Train.Name, b.Train.Name))
	})
}

// kindOrder lists the kinds of a train's gearsets as places in [kinematics.Kinds].
func kindOrder(t *kinematics.Train) []int {
	var order []int
	for _, g := range t.Gearsets {
		order = append(order, slices.Index(kinematics.Kinds, g.Kind))
	}
	slices.Sort(order)
	return order
}

// Arrangement counts the gearsets of a train by kind: "2 simple, 1 pair".
func Arrangement(t *kinematics.Train) string {
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

// Invented says whether a train is made up for demonstration.
func Invented(t *kinematics.Train) bool {
	return len(t.Sources) > 0 && strings.HasPrefix(strings.ToLower(t.Sources[0]), "invented")
}

// origin is "invented", or the sources.
func origin(t *kinematics.Train) string {
	if Invented(t) {
		return "invented"
	}
	return strings.Join(t.Sources, "; ")
}

// Text writes a line for each train, or three where that is too wide.
func (ts Trains) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	g := &Grid{Columns: columns("train", "gearsets", "forward", "reverse", "what")}
	for _, s := range ts {
		what := s.Train.Title
		if Invented(s.Train) {
			what += " (invented)"
		}
		g.Add(s.Train.Name, Arrangement(s.Train), span(s.Forward), span(s.Reverse), what)
	}
	if natural, _ := g.widths(); width == 0 || total(natural) <= width {
		p.grid(g)
	} else {
		for _, row := range g.Rows {
			p.print(bold(row[0]))
			p.print(indent(row[4], width))
			p.print(indent(row[1]+"; forward "+row[2]+"; reverse "+row[3], width))
		}
	}
	p.line("")
	p.line("forward, reverse: how many ratios, input speed / output speed, from the largest to the smallest")
	p.line("the sources of a train: tieup show TRAIN")
	return p.err
}

// indent wraps text to width with two blanks in front of each line.
func indent(text string, width int) string {
	return "  " + strings.ReplaceAll(Wrap(text, max(width-2, 10)), "\n", "\n  ")
}

// JSON writes the schema tieup.trains/1.
func (ts Trains) JSON(w io.Writer) error {
	type entry struct {
		Name         string    `json:"name"`
		Title        string    `json:"title"`
		Gearsets     []string  `json:"gearsets"`
		Forward      []float64 `json:"forward"`
		ForwardExact []string  `json:"forward_exact"`
		Reverse      []float64 `json:"reverse"`
		ReverseExact []string  `json:"reverse_exact"`
		Invented     bool      `json:"invented"`
		Sources      []string  `json:"sources"`
	}
	answer := struct {
		Schema string  `json:"schema"`
		Units  ordered `json:"units"`
		Trains []entry `json:"trains"`
	}{"tieup.trains/1", ordered{{"forward, reverse", "input speed / output speed"}}, []entry{}}
	for _, s := range ts {
		e := entry{Name: s.Train.Name, Title: s.Train.Title, Invented: Invented(s.Train), Sources: s.Train.Sources}
		for _, g := range s.Train.Gearsets {
			e.Gearsets = append(e.Gearsets, string(g.Kind))
		}
		e.Forward, e.ForwardExact = numbers(s.Forward)
		e.Reverse, e.ReverseExact = numbers(s.Reverse)
		answer.Trains = append(answer.Trains, e)
	}
	return WriteJSON(w, answer)
}

func numbers(fs []exact.Frac) (floats []float64, exact []string) {
	floats, exact = []float64{}, []string{}
	for _, f := range fs {
		floats = append(floats, f.Float())
		exact = append(exact, f.String())
	}
	return floats, exact
}

// CSV writes a line for each train.
func (ts Trains) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("name", "title", "gearsets", "forward", "reverse", "source")}
	for _, s := range ts {
		_, forward := numbers(s.Forward)
		_, reverse := numbers(s.Reverse)
		g.Add(s.Train.Name, s.Train.Title, Arrangement(s.Train), strings.Join(forward, " "), strings.Join(reverse, " "), origin(s.Train))
	}
	return g.CSV(w)
}
