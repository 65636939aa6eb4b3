package table

import (
	"cmp"
	"fmt"
	"io"
	"math/big"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// Checked writes the answer of check.
type Checked struct{ *analysis.Checked }

// printed is the published ratio as the source has it.
func printed(p *kinematics.Published) string {
	text := p.Text
	if p.OutIn {
		text += " (output/input)"
	}
	return text
}

// text writes a table and a sentence for each train.
func (c Checked) text(p *page) {
	for i, t := range c.Trains {
		if i > 0 {
			p.line("")
		}
		checkedText(p, t)
	}
}

func checkedText(p *page, c *analysis.CheckedTrain) {
	p.line(titled(c.Train))
	g := &Grid{Columns: columns("range", "published", "computed>", "exact>", "difference>", "allowed>", "result")}
	for i, r := range c.Ranges {
		published, computed, fraction, difference, allowed := "", r.Verdict.String(), "", "", ""
		if r.Ratio.Ratio != nil {
			computed, fraction = ratioCells(r.Ratio, places)
		}
		if r.Published != nil {
			published = printed(c.Train.Ranges[i].Published)
		}
		if x := r.Comparison; x != nil {
			f := exact.FromRat(x.Computed)
			computed, fraction = places(f), f.String()
			difference, allowed = difference4(x.Difference), shortest(exact.FromRat(x.Allowed))
		}
		g.Add(r.Name, published, computed, fraction, difference, allowed, r.Says())
	}
	if len(g.Rows) > 0 {
		p.below(g)
	}
	p.line("")
	p.line(c.Counted())
	for _, s := range c.Sources() {
		if len(s.Sources) == 1 {
			p.hanging(0, 2, "printed for "+list(s.Ranges)+": "+s.Sources[0])
			continue
		}
		p.hanging(0, 2, "printed for "+list(s.Ranges)+", by the sources of the train:")
		for _, source := range s.Sources {
			p.hanging(2, 4, "- "+source)
		}
	}
	audited(p, c)
	if c.Controls != nil {
		controlsChecked(p, c.Controls)
	}
}

// controlsChecked writes the printed failures of the controls, and what nothing tests.
func controlsChecked(p *page, c *analysis.CheckedControls) {
	p.apart(analysis.FeedsProved)
	says, differs := c.Counted()
	p.line(says)
	if differs {
		g := &Grid{Columns: columns("lever", "commanded", "fault", "printed", "result", "got")}
		for _, f := range c.Expected {
			g.Add(string(f.Lever), cmp.Or(string(f.Range), "any"), list(f.Faults), f.Gives, string(f.Result),
				strings.Join(f.Got, "; "))
		}
		p.below(g)
		p.line("")
	}
	p.line(c.Untested()...)
}

// audited writes what was looked at on the tooth counts.
func audited(p *page, c *analysis.CheckedTrain) {
	if len(c.Findings) > 0 {
		g := &Grid{Columns: columns("gearset", "condition", "result", "in numbers")}
		for _, f := range c.Findings {
			g.Add(f.Gearset, f.Condition, f.State, f.Text)
		}
		p.below(g)
		p.line("")
	}
	says, hints := c.Audited()
	p.line(says)
	p.line(hints...)
}

// difference4 writes a difference with two significant figures and its sign.
func difference4(r *big.Rat) string {
	x, _ := r.Float64()
	if x == 0 {
		return "0"
	}
	return fmt.Sprintf("%+.2g", x)
}

// CSV writes a line for each range.
func (c Checked) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("train", "range", "published", "convention", "computed", "computed_exact", "difference",
		"allowed", "result", "source")}
	for _, t := range c.Trains {
		for _, r := range t.Ranges {
			published, convention, difference, allowed, source := "", "in/out", "", "", ""
			if r.Published != nil {
				published, source = *r.Published, *r.Source
				if *r.OutIn {
					convention = "out/in"
				}
			}
			computed, fraction := ratioCells(r.Ratio, shortest)
			if x := r.Comparison; x != nil {
				f := exact.FromRat(x.Computed)
				computed, fraction = shortest(f), f.String()
				difference, allowed = shortest(exact.FromRat(x.Difference)), shortest(exact.FromRat(x.Allowed))
			}
			g.Add(t.Name, r.Name, published, convention, computed, fraction, difference, allowed, string(r.Result), source)
		}
	}
	return g.CSV(w)
}
