package diagnosis

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Identified is what measured speeds say beside a range that was commanded.
type Identified struct {
	*Identity
	// Commanded is the range that was commanded, -1 if none was given; Commands is
	// its healthy ratio if it drives, and Code that of a wrong ratio in it.
	Commanded int
	Commands  exact.Frac
	Drives    bool
	Code      Code
	Slipping  *Slipping // of the elements of the commanded range; nil if the speeds do not tell
}

// Beside sets what was found beside a commanded range, -1 for none.
func (x *Identity) Beside(sys *solve.System, r int) *Identified {
	d := &Identified{Identity: x, Commanded: r}
	if r >= 0 {
		d.Commands, d.Drives = sys.Kernel().Outcome(x.Train.In(&x.Train.Ranges[r])).Ratio()
		d.Code, d.Slipping = CodeOf(sys, r), SlippingOf(sys, *x.Readings, r)
	}
	return d
}

// Measured says what was measured.
func (d *Identified) Measured() string {
	var parts []string
	for _, s := range d.Speeds {
		name := d.Train.Members[s.Member].Name
		if d.Engine && s.Member == d.Train.Input {
			name = "engine"
		}
		parts = append(parts, name+" "+reading.Decimal(s.Speed))
	}
	of := "ratio "
	if d.Engine {
		of = "ratio at most "
	}
	return strings.Join(parts, ", ") + ": " + of + reading.Ratio(d.Ratio)
}

// RangeNames names the ranges of a match.
func (d *Identified) RangeNames(m *Match) []string {
	return d.Train.NamesOfRanges(m.Ranges)
}

// Sentences says what the speeds mean.
func (d *Identified) Sentences() []string {
	t := d.Train
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	tolerance := strconv.FormatFloat(100*d.Tolerance.Float(), 'g', 3, 64) + " %"
	if d.Engine {
		return d.bound()
	}
	best := d.Best()
	if best == nil {
		add("No combination of elements gives %s within %s: something slips, "+
			"or the speeds were not taken at one moment with the engine pulling.", reading.Ratio(d.Ratio), tolerance)
		if !d.Signed {
			add("Ratios are compared by their size, as the speeds have no sign: " +
				"write + or - before them where the directions are known.")
		}
	}
	if d.Commanded < 0 {
		if best != nil {
			add("%s.", d.thatIs(best, best.Sets[0]))
			out = append(out, d.alsoFits(best.Ratio)...)
		}
		return out
	}
	name := t.Ranges[d.Commanded].Name
	if !d.Wrong() {
		add("The ratio is that of %s, as commanded.", name)
		return append(out, d.alsoFits(d.Commands)...)
	}
	switch diff := d.Against(d.Commanded); {
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
		add("%s, though %s is commanded: %s.", d.thatIs(best, diff.Set), name,
			strings.Join(parts, "; "))
		if diff.Ties > 0 {
			add("%s as little: the list has them all.", kinematics.Count(diff.Ties, "other combination")+" that "+
				kinematics.Plural(diff.Ties, "gives", "give")+" this ratio "+kinematics.Plural(diff.Ties, "differs", "differ"))
		}
		out = append(out, d.alsoFits(best.Ratio)...)
	}
	return append(out, d.filed()...)
}

// filed says under which code a control files a wrong ratio.
func (d *Identified) filed() []string {
	if d.Code.Code == "" {
		return nil
	}
	return []string{fmt.Sprintf("A control files this under %s, %s (%s)", d.Code.Code, d.Code.Text, CodeSource)}
}

// alsoFits names the other ratios that the measured one may be.
func (d *Identified) alsoFits(ratio exact.Frac) []string {
	var others []string
	for _, m := range d.Fitting() {
		if m.Ratio.Cmp(ratio) == 0 {
			continue
		}
		text := reading.Ratio(m.Ratio)
		if names := d.RangeNames(&m); len(names) > 0 {
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
func (d *Identified) thatIs(m *Match, set []int) string {
	t := d.Train
	if names := d.RangeNames(m); len(names) > 0 {
		return "That is " + strings.Join(names, " or ")
	}
	return "That is the ratio of no range: " + kinematics.And(t.CouplingNames(set)) +
		kinematics.Plural(len(set), " holds", " hold")
}

// slip says how far a commanded range slips.
func (d *Identified) slip(name string) []string {
	off := d.Ratio.Float()/d.Commands.Float() - 1
	if !d.Signed && off < -1 {
		off = -d.Ratio.Float()/d.Commands.Float() - 1
	}
	applied := reading.AppliedText(d.Train, &d.Train.Ranges[d.Commanded])
	percent := strconv.FormatFloat(100*max(off, -off), 'f', 0, 64) + " %"
	if off > 0 {
		return append([]string{fmt.Sprintf("%s is commanded (%s) and has ratio %s: the input turns %s too fast for it, "+
			"so one of its elements slips.", name, applied, reading.Ratio(d.Commands), percent)}, d.slips()...)
	}
	return []string{fmt.Sprintf("%s is commanded (%s) and has ratio %s: the input turns %s too slowly for it. "+
		"No slip does that while the engine pulls: was the vehicle coasting?",
		name, applied, reading.Ratio(d.Commands), percent)}
}

// slips says which elements slip, and how fast.
func (d *Identified) slips() []string {
	x := d.Slipping
	if x == nil {
		return nil
	}
	var lines []string
	name := func(s ElementSlip) string { return d.Train.Couplings[s.Element].Name }
	for _, s := range x.Settled {
		if speed, _ := s.Speed(); speed.Sign() == 0 {
			lines = append(lines, fmt.Sprintf("%s holds: the speeds settle it.", name(s)))
		} else {
			lines = append(lines, fmt.Sprintf("%s slips by %s: the speeds settle it.", name(s), rounded(speed)))
		}
	}
	for _, s := range x.Bounded {
		if s.Least.Sign() > 0 && s.Most.Inf == 0 {
			lines = append(lines, fmt.Sprintf("%s slips by %s to %s, as it is not told which way each member turns: "+
				"write + or - before the speeds.", name(s), rounded(s.Least.Frac), rounded(s.Most.Frac)))
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
		lines = append(lines, "No one-way clutch of the train that holds lets these speeds be: one of them slips, too, "+
			"or a speed is wrong.")
	}
	return lines
}

// rounded is a speed of slip to whole units: no speed is measured better.
func rounded(f exact.Frac) string { return strconv.FormatFloat(f.Float(), 'f', 0, 64) }

// bound says what the speed of an engine before an unlocked converter tells.
func (d *Identified) bound() []string {
	t := d.Train
	out := []string{"The engine turns the input through a converter that slips, so its speed gives only a bound: " +
		"while it pulls, the ratio of the gear is at most " +
		reading.Ratio(d.Ratio) + ". Measure the input itself, or lock the converter and say so with --locked."}
	var possible []string
	for r := range t.Ranges {
		if d.possible(r) {
			possible = append(possible, t.Ranges[r].Name)
		}
	}
	if len(possible) > 0 {
		out = append(out, "It can be "+strings.Join(possible, ", ")+"; higher ratios are ruled out.")
	} else {
		out = append(out, "No range has so low a ratio: the speeds were not taken at one moment with the engine pulling.")
	}
	if d.Commanded >= 0 && d.Drives && !d.possible(d.Commanded) {
		out = append(out, "It is not "+t.Ranges[d.Commanded].Name+", which is commanded.")
		out = append(out, d.filed()...)
	}
	return out
}

// possible says whether a range is among the matches.
func (d *Identified) possible(r int) bool {
	return slices.ContainsFunc(d.Matches, func(m Match) bool { return slices.Contains(m.Ranges, r) })
}

// Wrong says whether the ratio is not that of the commanded range.
func (d *Identified) Wrong() bool {
	ok := slices.ContainsFunc(d.Fitting(), func(m Match) bool { return d.Drives && m.Ratio.Cmp(d.Commands) == 0 })
	return !d.Engine && !ok
}

// Holding lists the combinations of a match, those of ranges first.
func (d *Identified) Holding(m *Match) []string {
	var texts []string
	add := func(set []int) {
		text := strings.Join(d.Train.CouplingNames(set), " + ")
		if text == "" {
			text = "none"
		}
		texts = kinematics.Union(texts, text)
	}
	for _, r := range m.Ranges {
		add(d.Train.Ranges[r].Set())
	}
	for _, set := range m.Sets {
		add(set)
	}
	return texts
}
