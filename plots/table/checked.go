package table

import (
	"fmt"
	"io"
	"math/big"
	"slices"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Checked is the answer of check.
type Checked []CheckedTrain

// A CheckedTrain is a train beside what its source prints.
type CheckedTrain struct {
	Train    *kinematics.Train
	Ranges   []CheckedRange // parallel to Train.Ranges
	Findings []Finding
}

// A CheckedRange is the computed ratio of a healthy range beside the printed one.
type CheckedRange struct {
	Outcome    solve.Outcome
	Comparison *kinematics.Comparison // nil unless a ratio is published and the range drives
}

// A Finding is the audit of one condition on the tooth counts of a gearset.
type Finding struct {
	Gearset   string
	Condition string
	State     string // "ok", "warning" and so on
	Text      string // in numbers
	Hint      string
	Fails     bool
}

// Differs says whether anything does not agree.
func (c Checked) Differs() bool {
	for _, t := range c {
		if t.differs() {
			return true
		}
	}
	return false
}

func (c CheckedTrain) differs() bool {
	for i := range c.Ranges {
		if c.result(i) == differs {
			return true
		}
	}
	return slices.ContainsFunc(c.Findings, func(f Finding) bool { return f.Fails })
}

// The results of comparing a range.
const (
	agrees       = "agrees"
	differs      = "differs"
	notPublished = "not published"
)

func (c CheckedTrain) result(i int) string {
	switch {
	case c.Train.Ranges[i].Published == nil:
		return notPublished
	case c.Ranges[i].Comparison != nil && c.Ranges[i].Comparison.Agrees:
		return agrees
	}
	return differs
}

// printed is the published ratio as the source has it.
func printed(p *kinematics.Published) string {
	text := p.Text
	if p.OutIn {
		text += " (output/input)"
	}
	return text
}

// Text writes a table and a sentence for each train.
func (c Checked) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	for i, t := range c {
		if i > 0 {
			p.line("")
		}
		t.text(p)
	}
	return p.err
}

func (c CheckedTrain) text(p *page) {
	p.line(titled(c.Train))
	g := &Grid{Columns: columns("range", "published", "computed>", "exact>", "difference>", "allowed>", "result")}
	counts := map[string]int{}
	for i := range c.Train.Ranges {
		r := &c.Train.Ranges[i]
		result := c.result(i)
		counts[result]++
		published, computed, fraction, difference, allowed := "", "", "", "", ""
		if ratio, ok := c.Ranges[i].Outcome.Ratio(); ok {
			computed, fraction = places(ratio), ratio.String()
		} else {
			computed = c.Ranges[i].Outcome.Verdict.String()
		}
		if r.Published != nil {
			published = printed(r.Published)
		}
		if cmp := c.Ranges[i].Comparison; cmp != nil {
			computed, fraction = places(exact.FromRat(cmp.Computed)), exact.FromRat(cmp.Computed).String()
			difference, allowed = difference4(cmp.Difference), plain(cmp.Allowed)
		}
		g.Add(r.Name, published, computed, fraction, difference, allowed, result)
	}
	if len(g.Rows) > 0 {
		p.line("")
		p.grid(g)
	}
	p.line("")
	switch n := counts[agrees] + counts[differs]; {
	case n == 0:
		p.line("ratios: none is published, so none was compared")
	case counts[differs] == 0:
		p.line(fmt.Sprintf("ratios: all %d published agree", n))
	default:
		p.line(fmt.Sprintf("ratios: %d of %d published differ", counts[differs], n))
	}
	c.audit(p)
}

// audit writes what was looked at on the tooth counts.
func (c CheckedTrain) audit(p *page) {
	if len(c.Findings) == 0 {
		p.line("teeth: there is nothing to assemble")
		return
	}
	g := &Grid{Columns: columns("gearset", "condition", "result", "in numbers")}
	counts := map[bool]int{}
	for _, f := range c.Findings {
		g.Add(f.Gearset, f.Condition, f.State, f.Text)
		counts[f.Fails]++
	}
	p.line("")
	p.grid(g)
	p.line("")
	if counts[true] == 0 {
		p.line("teeth: nothing that was checked fails")
		return
	}
	p.line(fmt.Sprintf("teeth: %d of %d conditions fail", counts[true], len(c.Findings)))
	for _, f := range c.Findings {
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

// JSON writes the schema tieup.check/1.
func (c Checked) JSON(w io.Writer) error {
	type rangeJSON struct {
		Name       string   `json:"name"`
		Result     string   `json:"result"`
		Verdict    string   `json:"verdict"`
		Ratio      *float64 `json:"ratio"`
		RatioExact *string  `json:"ratio_exact"`
		Published  *string  `json:"published"`
		OutIn      *bool    `json:"published_out_in"`
		Truncated  *bool    `json:"truncated"`
		Difference *float64 `json:"difference"`
		Allowed    *float64 `json:"allowed"`
		Source     *string  `json:"source"`
	}
	type finding struct {
		Gearset   string `json:"gearset"`
		Condition string `json:"condition"`
		State     string `json:"state"`
		Text      string `json:"text"`
		Hint      string `json:"hint"`
		Fails     bool   `json:"fails"`
	}
	type train struct {
		Name     string      `json:"name"`
		Differs  bool        `json:"differs"`
		Ranges   []rangeJSON `json:"ranges"`
		Findings []finding   `json:"findings"`
	}
	answer := struct {
		Schema  string  `json:"schema"`
		Units   ordered `json:"units"`
		Differs bool    `json:"differs"`
		Trains  []train `json:"trains"`
	}{"tieup.check/1", ordered{
		{"ratio", "input speed / output speed"},
		{"difference, allowed", "in the convention of the source"},
	}, c.Differs(), []train{}}
	for _, ct := range c {
		j := train{Name: ct.Train.Name, Differs: ct.differs(), Ranges: []rangeJSON{}, Findings: []finding{}}
		for i := range ct.Train.Ranges {
			o := ct.Ranges[i].Outcome
			ratio := jsonRatio(o.Ratio())
			r := rangeJSON{Name: ct.Train.Ranges[i].Name, Result: ct.result(i), Verdict: o.Verdict.String(), Ratio: ratio.Ratio, RatioExact: ratio.Exact}
			if p := ct.Train.Ranges[i].Published; p != nil {
				r.Published, r.OutIn, r.Truncated, r.Source = &p.Text, &p.OutIn, &p.Truncated, &p.Source
			}
			if cmp := ct.Ranges[i].Comparison; cmp != nil {
				difference, _ := cmp.Difference.Float64()
				allowed, _ := cmp.Allowed.Float64()
				r.Difference, r.Allowed = &difference, &allowed
			}
			j.Ranges = append(j.Ranges, r)
		}
		for _, f := range ct.Findings {
			j.Findings = append(j.Findings, finding(f))
		}
		answer.Trains = append(answer.Trains, j)
	}
	return WriteJSON(w, answer)
}

// CSV writes a line for each range.
func (c Checked) CSV(w io.Writer) error {
	g := &Grid{Columns: columns("train", "range", "published", "convention", "computed", "computed_exact", "difference", "allowed", "result")}
	for _, ct := range c {
		for i := range ct.Train.Ranges {
			published, convention, computed, fraction, difference, allowed := "", "in/out", "", "", "", ""
			if p := ct.Train.Ranges[i].Published; p != nil {
				published = p.Text
				if p.OutIn {
					convention = "out/in"
				}
			}
			if ratio, ok := ct.Ranges[i].Outcome.Ratio(); ok {
				computed, fraction = shortest(ratio), ratio.String()
			}
			if cmp := ct.Ranges[i].Comparison; cmp != nil {
				f := exact.FromRat(cmp.Computed)
				computed, fraction = shortest(f), f.String()
				difference, allowed = shortest(exact.FromRat(cmp.Difference)), plain(cmp.Allowed)
			}
			g.Add(ct.Train.Name, ct.Train.Ranges[i].Name, published, convention, computed, fraction, difference, allowed, ct.result(i))
		}
	}
	return g.CSV(w)
}
