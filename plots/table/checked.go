package table

import (
	"fmt"
	"io"
	"math/big"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/controls"
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
	counts := map[analysis.Agreement]int{}
	for i, r := range c.Ranges {
		counts[r.Result]++
		published, computed, fraction, difference, allowed := "", r.Verdict.String(), "", "", ""
		if r.Ratio.Ratio != nil {
			computed, fraction = places(*r.Ratio.Ratio), r.Ratio.Exact.String()
		}
		if r.Published != nil {
			published = printed(c.Train.Ranges[i].Published)
		}
		if cmp := r.Comparison; cmp != nil {
			computed, fraction = places(exact.FromRat(cmp.Computed)), exact.FromRat(cmp.Computed).String()
			difference, allowed = difference4(cmp.Difference), plain(cmp.Allowed)
		}
		g.Add(r.Name, published, computed, fraction, difference, allowed, r.Says())
	}
	if len(g.Rows) > 0 {
		p.below(g)
	}
	p.line("")
	switch n := counts[analysis.Agrees] + counts[analysis.Differs]; {
	case n == 0:
		p.line("ratios: none is published, so none was compared")
	case counts[analysis.Differs] == 0:
		p.line(fmt.Sprintf("ratios: all %d published agree", n))
	default:
		p.line(fmt.Sprintf("ratios: %d of %d published differ", counts[analysis.Differs], n))
	}
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
	audited(p, c.Findings)
	if c.Controls != nil {
		controlsChecked(p, c.Controls)
	}
}

// controlsChecked writes the printed failures of the controls, and what nothing tests.
func controlsChecked(p *page, c *analysis.CheckedControls) {
	p.apart("controls: the feeds give what every range applies, after every history")
	g := &Grid{Columns: columns("lever", "commanded", "fault", "printed", "result", "got")}
	differ := 0
	for _, f := range c.Expected {
		commanded := string(f.Range)
		if commanded == "" {
			commanded = "any"
		}
		g.Add(string(f.Lever), commanded, list(f.Faults), f.Gives, string(f.Result), strings.Join(f.Got, "; "))
		if f.Result == analysis.Differs {
			differ++
		}
	}
	switch n := len(c.Expected); {
	case n == 0:
		p.line("controls: no failure is printed, so none was compared")
	case differ == 0:
		p.line(fmt.Sprintf("controls: all %d printed failures agree", n))
	default:
		p.line(fmt.Sprintf("controls: %d of %d printed failures differ", differ, n))
		p.below(g)
		p.line("")
	}
	if len(c.Unexercised) == 0 {
		return
	}
	p.line("controls: a slip in these would show neither in the ranges nor in a printed failure:")
	for _, x := range c.Unexercised {
		p.line("  " + x.Where + ": " + x.Text + " taken as " +
			map[controls.Level]string{controls.None: "never", controls.Full: "always"}[x.Stuck])
	}
}

// audited writes what was looked at on the tooth counts.
func audited(p *page, findings []analysis.Finding) {
	if len(findings) == 0 {
		p.line("teeth: there is nothing to assemble")
		return
	}
	g := &Grid{Columns: columns("gearset", "condition", "result", "in numbers")}
	fail := 0
	for _, f := range findings {
		g.Add(f.Gearset, f.Condition, f.State, f.Text)
		if f.Fails {
			fail++
		}
	}
	p.below(g)
	p.line("")
	if fail == 0 {
		p.line("teeth: nothing that was checked fails")
		return
	}
	p.line(fmt.Sprintf("teeth: %d of %d conditions fail", fail, len(findings)))
	for _, f := range findings {
		if f.Fails && f.Hint != "" {
			p.line("hint: " + f.Gearset + ": " + f.Hint)
		}
	}
}

// difference4 writes a difference with two significant figures and its sign.
func difference4(r *big.Rat) string {
	x, _ := r.Float64()
	if x == 0 {
		return "0"
	}
	return fmt.Sprintf("%+.2g", x)
}

// plain writes an allowed difference, which is a short decimal.
func plain(r *big.Rat) string {
	x, _ := r.Float64()
	return strconv.FormatFloat(x, 'g', -1, 64)
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
			if cmp := r.Comparison; cmp != nil {
				f := exact.FromRat(cmp.Computed)
				computed, fraction = shortest(f), f.String()
				difference, allowed = shortest(exact.FromRat(cmp.Difference)), plain(cmp.Allowed)
			}
			g.Add(t.Name, r.Name, published, convention, computed, fraction, difference, allowed, string(r.Result), source)
		}
	}
	return g.CSV(w)
}
