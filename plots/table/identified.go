package table

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// Identified writes which elements hold, by measured speeds.
type Identified struct {
	*analysis.Identified
	All bool // show every ratio and every combination
}

// fewMatches is how many ratios are listed, and fewSets how many combinations of one.
const (
	fewMatches = 5
	fewSets    = 4
)

// text writes what the speeds say, and the ratios nearest to what was measured.
func (d Identified) text(p *page) {
	p.line(titled(d.Train))
	p.line("measured: " + d.Measured)
	p.apart(d.Identified.Text...)
	if len(d.Matches) > 0 {
		p.below(d.matches())
		if n := len(d.Matches) - len(d.shown()); n > 0 {
			p.line(kinematics.Count(n, "more ratio") + " further off; --all shows them")
		}
	}
	p.apart(d.Cautions...)
}

func (d Identified) shown() []analysis.Match {
	if d.All {
		return d.Identified.Matches
	}
	return d.Identified.Matches[:min(fewMatches, len(d.Identified.Matches))]
}

func (d Identified) matches() *Grid {
	g := &Grid{Columns: columns("ratio>", "measured is off by>", "range", "elements that hold")}
	if d.Bound {
		g.Columns[1].Head = "engine is faster by"
	}
	for _, m := range d.shown() {
		g.Add(places(m.Ratio), fmt.Sprintf("%+.1f %%", 100*m.Off), list(m.Ranges), d.holding(&m))
	}
	return g
}

// holding lists the combinations of a match, the first few unless all are asked for.
func (d Identified) holding(m *analysis.Match) string {
	texts := m.Holding
	if n := len(texts) - fewSets; n > 1 && !d.All {
		texts = append(texts[:fewSets:fewSets], fmt.Sprintf("and %d more", n))
	}
	return strings.Join(texts, "; ")
}

// CSV writes a row for each ratio.
func (d Identified) CSV(w io.Writer) error {
	d.All = true
	g := &Grid{Columns: columns("ratio", "ratio_exact", "off", "fits", "ranges", "combinations")}
	for _, m := range d.Matches {
		g.Add(places(m.Ratio), m.Exact.String(), strconv.FormatFloat(m.Off, 'f', 4, 64), strconv.FormatBool(m.Fits),
			strings.Join(m.Ranges, " "), d.holding(&m))
	}
	return g.CSV(w, d.Cautions...)
}
