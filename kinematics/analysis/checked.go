package analysis

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/solve"
)

// Checked is trains beside what their sources print, with the audit of their teeth.
type Checked struct {
	Schema  string              `json:"schema"`
	Units   Named[string]       `json:"units"`
	Differs bool                `json:"differs"` // anything does not agree
	Trains  List[*CheckedTrain] `json:"trains"`
}

// A CheckedTrain is one train beside what its source prints.
type CheckedTrain struct {
	Name     string             `json:"name"`
	Differs  bool               `json:"differs"`
	Ranges   List[CheckedRange] `json:"ranges"`
	Findings List[Finding]      `json:"findings"`
	Controls *CheckedControls   `json:"controls"` // nil where the file gives none

	Train *kinematics.Train `json:"-"`
}

// An Agreement is the result of comparing a range with its source.
type Agreement string

// The results.
const (
	Agrees       Agreement = "agrees"
	Differs      Agreement = "differs"
	NotPublished Agreement = "not published"
)

// A CheckedRange is the computed ratio of a healthy range beside the printed one.
// What is published is nil where nothing is, the difference where nothing can be
// compared.
type CheckedRange struct {
	Name    string        `json:"name"`
	Result  Agreement     `json:"result"`
	Verdict solve.Verdict `json:"verdict"`
	Ratio
	Published  *string  `json:"published"`
	OutIn      *bool    `json:"published_out_in"`
	Truncated  *bool    `json:"truncated"`
	Difference *float64 `json:"difference"`
	Allowed    *float64 `json:"allowed"`
	Source     *string  `json:"source"`
	// Otherwise says how a printed figure that differs would agree: "as out/in", "with
	// the sign turned", or both; the commonest slips of a train file.
	Otherwise Name `json:"agrees_otherwise"`

	Comparison *kinematics.Comparison `json:"-"`
}

// A Finding is the audit of one condition on the tooth counts of a gearset.
type Finding struct {
	Gearset   string `json:"gearset"`
	Condition string `json:"condition"`
	State     string `json:"state"` // "ok", "warning" and so on
	Text      string `json:"text"`  // in numbers
	Hint      string `json:"hint"`
	Fails     bool   `json:"fails"`
}

// Check compares trains with their sources. audit gives the findings on the teeth
// of a train.
func Check(trains []*kinematics.Train, audit func(*kinematics.Train) []Finding) *Checked {
	c := &Checked{Schema: "tieup.check/1", Units: document.Texts(
		"ratio", "input speed / output speed", "difference, allowed", "in the convention of the source",
	)}
	for _, t := range trains {
		x := checkTrain(t, audit(t))
		c.Trains = append(c.Trains, x)
		c.Differs = c.Differs || x.Differs
	}
	return c
}

func checkTrain(t *kinematics.Train, findings []Finding) *CheckedTrain {
	c := &CheckedTrain{Name: t.Name, Findings: findings, Train: t}
	c.Differs = slices.ContainsFunc(findings, func(f Finding) bool { return f.Fails })
	if c.Controls = checkControls(t); c.Controls != nil {
		c.Differs = c.Differs || slices.ContainsFunc(c.Controls.Expected,
			func(f CheckedFailure) bool { return f.Result == Differs })
	}
	k := solve.Compile(t).Kernel()
	for i := range t.Ranges {
		r := checkRange(&t.Ranges[i], k.Outcome(t.In(&t.Ranges[i])))
		c.Ranges = append(c.Ranges, r)
		c.Differs = c.Differs || r.Result == Differs
	}
	return c
}

func checkRange(r *kinematics.Range, o solve.Outcome) CheckedRange {
	x := CheckedRange{Name: r.Name, Result: NotPublished, Verdict: o.Verdict, Ratio: document.RatioOf(o.Ratio())}
	p := r.Published
	if p == nil {
		return x
	}
	x.Published, x.OutIn, x.Truncated, x.Source = &p.Text, &p.OutIn, &p.Truncated, &p.Source
	x.Result = Differs
	var ratio *big.Rat
	if x.Ratio.Ratio != nil {
		ratio = x.Ratio.Ratio.Rat()
	} else if o.Verdict != solve.OutputHeld {
		return x
	}
	if c, ok := p.Against(ratio); ok {
		difference, _ := c.Difference.Float64()
		allowed, _ := c.Allowed.Float64()
		x.Comparison, x.Difference, x.Allowed = &c, &difference, &allowed
		if c.Agrees {
			x.Result = Agrees
		} else if ratio != nil {
			x.Otherwise = otherwise(*p, ratio)
		}
	}
	return x
}

// otherwise says how a printed ratio that differs would agree, "" if in no way that
// is a common slip.
func otherwise(p kinematics.Published, ratio *big.Rat) Name {
	turned := new(big.Rat).Neg(ratio)
	other := p
	other.OutIn = !p.OutIn
	as := map[bool]string{true: "as out/in", false: "as in/out"}[other.OutIn]
	for _, way := range []struct {
		p     kinematics.Published
		ratio *big.Rat
		text  string
	}{{other, ratio, as}, {p, turned, "with the sign turned"}, {other, turned, as + ", with the sign turned"}} {
		if c, ok := way.p.Against(way.ratio); ok && c.Agrees {
			return Name(way.text)
		}
	}
	return ""
}

// A Sourced names ranges whose printed figure has the same sources: its own, or all of the train.
type Sourced struct {
	Sources []string
	Ranges  []string
}

// Sources are the sources of what is printed, in the order of the ranges: from memory, too.
func (c *CheckedTrain) Sources() []Sourced {
	var list []Sourced
	var seen []string
	for _, r := range c.Ranges {
		if r.Source == nil {
			continue
		}
		i := slices.Index(seen, *r.Source)
		if i < 0 {
			sources := []string{*r.Source}
			if *r.Source == strings.Join(c.Train.Sources, "; ") {
				sources = c.Train.Sources
			}
			i, seen, list = len(list), append(seen, *r.Source), append(list, Sourced{Sources: sources})
		}
		list[i].Ranges = append(list[i].Ranges, r.Name)
	}
	return list
}

// Counted says how many of the printed ratios agree.
func (c *CheckedTrain) Counted() string {
	n, differ := 0, 0
	for _, r := range c.Ranges {
		if r.Result != NotPublished {
			n++
		}
		if r.Result == Differs {
			differ++
		}
	}
	if n == 0 {
		return "ratios: none is published, so none was compared"
	}
	return "ratios: " + agreeing(n, differ, "published")
}

// agreeing says how many of some printed things agree.
func agreeing(n, differ int, what string) string {
	if differ == 0 {
		return fmt.Sprintf("all %d %s agree", n, what)
	}
	return fmt.Sprintf("%d of %d %s differ", differ, n, what)
}

// Audited says what the audit of the teeth comes to; the hints say what would mend it.
func (c *CheckedTrain) Audited() (says string, hints []string) {
	fail := 0
	for _, f := range c.Findings {
		if f.Fails {
			fail++
		}
		if f.Fails && f.Hint != "" {
			hints = append(hints, "hint: "+f.Gearset+": "+f.Hint)
		}
	}
	switch {
	case len(c.Findings) == 0:
		return "teeth: there is nothing to assemble", nil
	case fail == 0:
		return "teeth: nothing that was checked fails", nil
	}
	return fmt.Sprintf("teeth: %d of %d conditions fail", fail, len(c.Findings)), hints
}

// auditText names what the audit of a set of teeth finds; it excludes none. Shifted profiles
// mend the distance of the axes alone.
func auditText(warnings []Finding, small Named[int64]) string {
	var shift, other []string
	for _, w := range warnings {
		if w.Condition == "coaxial" {
			shift = append(shift, w.Gearset+" "+w.Condition)
		} else {
			other = append(other, w.Gearset+" "+w.Condition)
		}
	}
	var list []string
	if len(shift) > 0 {
		list = append(list, "needs profile shift: "+strings.Join(shift, ", "))
	}
	if len(other) > 0 {
		list = append(list, "fails: "+strings.Join(other, ", "))
	}
	if list == nil {
		list = []string{"ok"}
	}
	for name, teeth := range small.All() {
		list = append(list, fmt.Sprintf("%s pinions of %d teeth", name, teeth))
	}
	return strings.Join(list, "; ")
}

// Says is the result in words: "differs; agrees as out/in".
func (r *CheckedRange) Says() string {
	if r.Otherwise == "" {
		return string(r.Result)
	}
	return string(r.Result) + "; agrees " + string(r.Otherwise)
}
