package table

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// Identified is the answer of identify: which elements hold, by measured speeds.
type Identified struct {
	Identity *diagnosis.Identity
	// Commanded is the range that was commanded, -1 if none was given; Commands is
	// its healthy ratio if it drives, and Code that of a wrong ratio in it.
	Commanded int
	Commands  exact.Frac
	Drives    bool
	Code      diagnosis.Code
	Slipping  *diagnosis.Slipping // of the elements of the commanded range; nil if the speeds do not tell
	All       bool
	Cautions  []string
}

// fewMatches is how many ratios are listed, and fewSets how many combinations of one.
const (
	fewMatches = 5
	fewSets    = 4
)

// Text writes what the speeds say, and the ratios nearest to what was measured.
func (d Identified) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	x := d.Identity
	p.line(titled(x.Train))
	p.line("measured: " + d.measured())
	p.line("")
	for _, s := range d.Sentences() {
		p.line(s)
	}
	if len(x.Matches) > 0 {
		p.line("")
		p.grid(d.matches())
		if n := len(x.Matches) - len(d.shown()); n > 0 {
			p.line(count(n, "more ratio") + " further off; --all shows them")
		}
	}
	p.cautions(d.Cautions)
	return p.err
}

func (d Identified) measured() string {
	x := d.Identity
	var parts []string
	for _, s := range x.Speeds {
		name := x.Train.Members[s.Member].Name
		if x.Engine && s.Member == x.Train.Input {
			name = "engine"
		}
		parts = append(parts, name+" "+Decimal(s.Speed))
	}
	of := "ratio "
	if x.Engine {
		of = "ratio at most "
	}
	return list(parts) + ": " + of + reading.Ratio(x.Ratio)
}

// rangeNames names the ranges of a match.
func (d Identified) rangeNames(m *diagnosis.Match) []string {
	var names []string
	for _, r := range m.Ranges {
		names = append(names, d.Identity.Train.Ranges[r].Name)
	}
	return names
}

// Sentences says what the speeds mean.
func (d Identified) Sentences() []string {
	x, t := d.Identity, d.Identity.Train
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	tolerance := strconv.FormatFloat(100*x.Tolerance.Float(), 'g', 3, 64) + " %"
	if x.Engine {
		return d.bound()
	}
	best := x.Best()
	if best == nil {
		add("No combination of elements gives %s within %s: something slips, or the speeds were not taken at one moment with the engine pulling.",
			reading.Ratio(x.Ratio), tolerance)
		if !x.Signed {
			add("Ratios are compared by their size, as the speeds have no sign: write + or - before them where the directions are known.")
		}
	}
	if d.Commanded < 0 {
		if best != nil {
			add("%s", d.thatIs(best, best.Sets[0]))
			out = append(out, d.alsoFits(best.Ratio)...)
		}
		return out
	}
	name := t.Ranges[d.Commanded].Name
	if !d.wrong() {
		add("The ratio is that of %s, as commanded.", name)
		return append(out, d.alsoFits(d.Commands)...)
	}
	switch diff := x.Against(d.Commanded); {
	case diff == nil && !d.Drives:
		add("%s is commanded, and should not drive.", name)
	case diff == nil:
		out = append(out, d.slip(name)...)
	default:
		var parts []string
		for _, e := range diff.Holds {
			parts = append(parts, t.Couplings[e].Name+" is holding, which "+name+" does not apply")
		}
		for _, e := range diff.Missing {
			parts = append(parts, t.Couplings[e].Name+" is not holding, which "+name+" applies")
		}
		add("%s, though %s is commanded: %s.", strings.TrimSuffix(d.thatIs(best, diff.Set), "."), name, strings.Join(parts, "; "))
		if diff.Ties > 0 {
			add("%s as little: the list has them all.", count(diff.Ties, "other combination")+" that "+kinematics.Plural(diff.Ties, "gives", "give")+
				" this ratio "+kinematics.Plural(diff.Ties, "differs", "differ"))
		}
		out = append(out, d.alsoFits(best.Ratio)...)
	}
	if d.Code.Code == "" {
		return out
	}
	add("A control files this under %s, %s (%s)", d.Code.Code, d.Code.Text, diagnosis.CodeSource)
	return out
}

// alsoFits names the other ratios that the measured one may be.
func (d Identified) alsoFits(ratio exact.Frac) []string {
	var others []string
	for _, m := range d.Identity.Fitting() {
		if m.Ratio.Cmp(ratio) == 0 {
			continue
		}
		text := reading.Ratio(m.Ratio)
		if names := d.rangeNames(&m); len(names) > 0 {
			text = strings.Join(names, " or ") + " (" + text + ")"
		}
		others = append(others, text)
	}
	if len(others) == 0 {
		return nil
	}
	return []string{"Within the tolerance it can be " + strings.Join(others, ", ") + ", too."}
}

// thatIs names the ranges of a match, or one of its combinations.
func (d Identified) thatIs(m *diagnosis.Match, set []int) string {
	t := d.Identity.Train
	if names := d.rangeNames(m); len(names) > 0 {
		return "That is " + strings.Join(names, " or ") + "."
	}
	return "That is the ratio of no range: " + kinematics.And(t.CouplingNames(set)) + kinematics.Plural(len(set), " holds.", " hold.")
}

// slip says how far a commanded range slips.
func (d Identified) slip(name string) []string {
	x, t := d.Identity, d.Identity.Train
	off := x.Ratio.Float()/d.Commands.Float() - 1
	if !x.Signed && off < -1 {
		off = -x.Ratio.Float()/d.Commands.Float() - 1
	}
	applied := names(t, t.Ranges[d.Commanded].Apply)
	percent := strconv.FormatFloat(100*max(off, -off), 'f', 0, 64) + " %"
	if off > 0 {
		return append([]string{fmt.Sprintf("%s is commanded (%s) and has ratio %s: the input turns %s too fast for it, so one of its elements slips.",
			name, applied, reading.Ratio(d.Commands), percent)}, d.slips()...)
	}
	return []string{fmt.Sprintf("%s is commanded (%s) and has ratio %s: the input turns %s too slowly for it. No slip does that while the engine pulls: was the vehicle coasting?",
		name, applied, reading.Ratio(d.Commands), percent)}
}

// slips says which elements slip, and how fast.
func (d Identified) slips() []string {
	x := d.Slipping
	if x == nil {
		return nil
	}
	var lines []string
	name := func(s diagnosis.ElementSlip) string { return d.Identity.Train.Couplings[s.Element].Name }
	for _, s := range x.Settled {
		if speed, _ := s.Speed(); speed.Sign() == 0 {
			lines = append(lines, fmt.Sprintf("%s holds: the speeds settle it.", name(s)))
		} else {
			lines = append(lines, fmt.Sprintf("%s slips by %s: the speeds settle it.", name(s), rounded(speed)))
		}
	}
	for _, s := range x.Bounded {
		if s.Least.Sign() > 0 && s.Most.Inf == 0 {
			lines = append(lines, fmt.Sprintf("%s slips by %s to %s, as it is not told which way each member turns: write + or - before the speeds.",
				name(s), rounded(s.Least.Frac), rounded(s.Most.Frac)))
		}
	}
	var either []string
	for _, s := range x.Either {
		by := " by "
		if _, one := s.Speed(); !one {
			by = " by at least "
		}
		either = append(either, name(s)+by+rounded(s.Least.Frac))
	}
	switch len(either) {
	case 0:
	case 1:
		lines = append(lines, fmt.Sprintf("If all the others hold, it is %s.", either[0]))
	default:
		lines = append(lines, fmt.Sprintf("If only one slips, it is either %s.", kinematics.Or(either)))
	}
	if x.OneWay {
		lines = append(lines, "No one-way clutch of the train that holds lets these speeds be: one of them slips, too, or a speed is wrong.")
	}
	return lines
}

// rounded is a speed of slip to whole units: no speed is measured better.
func rounded(f exact.Frac) string { return strconv.FormatFloat(f.Float(), 'f', 0, 64) }

// bound says what the speed of an engine before an unlocked converter tells.
func (d Identified) bound() []string {
	x, t := d.Identity, d.Identity.Train
	out := []string{"The engine turns the input through a converter that slips, so its speed gives only a bound: while it pulls, the ratio of the gear is at most " +
		reading.Ratio(x.Ratio) + ". Measure the input itself, or lock the converter and say so with --locked."}
	var possible, ruledOut []string
	for r := range t.Ranges {
		found := slices.ContainsFunc(x.Matches, func(m diagnosis.Match) bool { return slices.Contains(m.Ranges, r) })
		switch {
		case found:
			possible = append(possible, t.Ranges[r].Name)
		case d.Commanded == r:
			ruledOut = append(ruledOut, t.Ranges[r].Name)
		}
	}
	if len(possible) > 0 {
		out = append(out, "It can be "+strings.Join(possible, ", ")+"; higher ratios are ruled out.")
	} else {
		out = append(out, "No range has so low a ratio: the speeds were not taken at one moment with the engine pulling.")
	}
	if len(ruledOut) > 0 && d.Drives {
		out = append(out, "It is not "+ruledOut[0]+", which is commanded.")
	}
	if len(ruledOut) > 0 && d.Drives && d.Code.Code != "" {
		out = append(out, fmt.Sprintf("A control files this under %s, %s (%s)", d.Code.Code, d.Code.Text, diagnosis.CodeSource))
	}
	return out
}

func (d Identified) shown() []diagnosis.Match {
	if d.All {
		return d.Identity.Matches
	}
	return d.Identity.Matches[:min(fewMatches, len(d.Identity.Matches))]
}

func (d Identified) matches() *Grid {
	g := &Grid{Columns: columns("ratio>", "measured is off by>", "range", "elements that hold")}
	if d.Identity.Engine {
		g.Columns[1].Head = "engine is faster by"
	}
	for _, m := range d.shown() {
		off := fmt.Sprintf("%+.1f %%", 100*m.Off)
		g.Add(places(m.Ratio), off, list(d.rangeNames(&m)), d.sets(&m))
	}
	return g
}

// sets lists the combinations of a match, those of ranges first.
func (d Identified) sets(m *diagnosis.Match) string {
	t := d.Identity.Train
	var texts []string
	add := func(set []int) {
		text := strings.Join(t.CouplingNames(set), " + ")
		if text == "" {
			text = "none"
		}
		if !slices.Contains(texts, text) {
			texts = append(texts, text)
		}
	}
	for _, r := range m.Ranges {
		add(t.Ranges[r].Set())
	}
	for _, set := range m.Sets {
		add(set)
	}
	if n := len(texts) - fewSets; n > 1 && !d.All {
		texts = append(texts[:fewSets], fmt.Sprintf("and %d more", n))
	}
	return strings.Join(texts, "; ")
}

// CSV writes a row for each ratio.
func (d Identified) CSV(w io.Writer) error {
	d.All = true
	g := &Grid{Columns: columns("ratio", "ratio_exact", "off", "fits", "ranges", "combinations")}
	for _, m := range d.Identity.Matches {
		g.Add(places(m.Ratio), m.Ratio.String(), strconv.FormatFloat(m.Off, 'f', 4, 64), strconv.FormatBool(m.Fits), strings.Join(d.rangeNames(&m), " "), d.sets(&m))
	}
	return g.CSV(w, d.Cautions...)
}

// JSON writes the schema tieup.identify/1.
func (d Identified) JSON(w io.Writer) error {
	x, t := d.Identity, d.Identity.Train
	type matchJSON struct {
		Ratio  float64    `json:"ratio"`
		Exact  string     `json:"ratio_exact"`
		Off    float64    `json:"off"`
		Fits   bool       `json:"fits"`
		Ranges []string   `json:"ranges"`
		Sets   [][]string `json:"combinations"`
	}
	type codeJSON struct {
		Code   string `json:"code"`
		Text   string `json:"text"`
		Source string `json:"source"`
	}
	type slipJSON struct {
		Element string  `json:"element"`
		Slip    ordered `json:"slip"`
		Alone   bool    `json:"if_all_others_hold"`
	}
	answer := struct {
		Schema    string      `json:"schema"`
		Units     ordered     `json:"units"`
		Train     string      `json:"train"`
		Speeds    ordered     `json:"speeds"`
		Ratio     float64     `json:"ratio"`
		Exact     string      `json:"ratio_exact"`
		Bound     bool        `json:"ratio_is_upper_bound"`
		Tolerance float64     `json:"tolerance"`
		Commanded *string     `json:"commanded"`
		Holds     []string    `json:"holds_though_not_commanded"`
		Missing   []string    `json:"commanded_but_not_holding"`
		Slips     []slipJSON  `json:"slips"`
		Code      *codeJSON   `json:"trouble_code"`
		Matches   []matchJSON `json:"matches"`
		Text      []string    `json:"text"`
		Cautions  []string    `json:"cautions"`
	}{
		Schema: "tieup.identify/1", Units: ordered{{"off", "measured ratio / ratio - 1"}, {"speeds", "as given"}},
		Train: t.Name, Speeds: ordered{}, Ratio: x.Ratio.Float(), Exact: x.Ratio.String(), Bound: x.Engine, Tolerance: x.Tolerance.Float(),
		Holds: []string{}, Missing: []string{}, Matches: []matchJSON{}, Slips: []slipJSON{}, Text: d.Sentences(), Cautions: append([]string{}, d.Cautions...),
	}
	for _, s := range x.Speeds {
		answer.Speeds = append(answer.Speeds, named{t.Members[s.Member].Name, s.Speed.Float()})
	}
	if d.Commanded >= 0 {
		answer.Commanded = &t.Ranges[d.Commanded].Name
		if diff := x.Against(d.Commanded); diff != nil {
			answer.Holds, answer.Missing = append(answer.Holds, t.CouplingNames(diff.Holds)...), append(answer.Missing, t.CouplingNames(diff.Missing)...)
		}
		if d.wrong() && d.Code.Code != "" {
			answer.Code = &codeJSON{d.Code.Code, d.Code.Text, diagnosis.CodeSource}
		}
	}
	addSlips := func(list []diagnosis.ElementSlip, alone bool) {
		for _, s := range list {
			answer.Slips = append(answer.Slips, slipJSON{t.Couplings[s.Element].Name, ordered{{"min", s.Least}, {"max", s.Most}}, alone})
		}
	}
	if d.Slipping != nil {
		addSlips(d.Slipping.Settled, false)
		addSlips(d.Slipping.Bounded, false)
		addSlips(d.Slipping.Either, true)
	}
	for i := range x.Matches {
		m := &x.Matches[i]
		j := matchJSON{m.Ratio.Float(), m.Ratio.String(), m.Off, m.Fits, append([]string{}, d.rangeNames(m)...), [][]string{}}
		for _, set := range m.Sets {
			j.Sets = append(j.Sets, append([]string{}, t.CouplingNames(set)...))
		}
		answer.Matches = append(answer.Matches, j)
	}
	return WriteJSON(w, answer)
}

// wrong says whether the ratio is not that of the commanded range.
func (d Identified) wrong() bool {
	ok := slices.ContainsFunc(d.Identity.Fitting(), func(m diagnosis.Match) bool { return d.Drives && m.Ratio.Cmp(d.Commands) == 0 })
	return !d.Identity.Engine && !ok
}
