package reading

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Words of a range as a whole. The first two are said of a range with the
// parking pawl in that would drive without it.
const (
	LurchesForward  Word = "lurches forward against the pawl"
	LurchesBackward Word = "lurches backward against the pawl"
	StartsIn        Word = "starts in" // of a position: "position D starts in third"
	As              Word = "as"        // of a ratio that is another range's: "(as D1)"
)

// A RangeReading is what one range does, healthy or with faults.
type RangeReading struct {
	Use     kinematics.Use
	Outcome solve.Outcome
	Reading Reading
	// Lurch is the word of a range that would drive if the pawl did not hold,
	// else "".
	Lurch Word
	// As names another range that drives at the same ratio when healthy, when
	// this range does not have its own healthy ratio; else "".
	As string
	// Friction is what torque decides: how far a weak element holds, what one that
	// drags does; nil where no fault acts through torque.
	Friction *Friction
}

// Ratio is that of a range that drives.
func (c RangeReading) Ratio() document.Ratio { return document.RatioOf(c.Outcome.Ratio()) }

// MarshalJSON writes the verdict, the ratio and both in words.
func (c RangeReading) MarshalJSON() ([]byte, error) {
	ratio := c.Ratio()
	return document.Object("verdict", c.Outcome.Verdict, "ratio", ratio.Ratio, "ratio_exact", ratio.Exact,
		"reads", c.Text(), "coasting", c.Reading.Coast, "as", document.Name(c.As), "friction", c.Friction).MarshalJSON()
}

// Text is the cell in one line: "drives forward at 2.45 (as D1)".
func (c RangeReading) Text() string { return c.speeds() + c.rolling() + c.byTorque() }

// Whole is the text with what coasting does, said once.
func (c RangeReading) Whole() string {
	if c.rollsTold() {
		return c.Text()
	}
	return c.Text() + ", " + c.Reading.Coast
}

// Pulling is what is seen of the cell under power alone, in one line: an output
// that is held is seen by rolling.
func (c RangeReading) Pulling() string {
	if c.Outcome.Verdict == solve.OutputHeld && c.Lurch == "" {
		return string(NoDrive) + c.byTorque()
	}
	return c.speeds() + c.byTorque()
}

// Alone is what a range does while pulling, by its speeds alone: "drives forward at
// 2.45".
func (c RangeReading) Alone() string {
	if c.Lurch != "" {
		return string(c.Lurch)
	}
	return c.Reading.Pull
}

// RollingTold says whether the text tells how the vehicle rolls: where it does
// not drive, and rolls one way only, not at all, or with the engine.
func (c RangeReading) RollingTold() bool {
	return c.rollsTold() || c.Outcome.Verdict == solve.OutputHeld && c.Lurch == ""
}

// speeds is what the speeds alone decide, but for rolling.
func (c RangeReading) speeds() string {
	if c.Lurch != "" {
		return string(c.Lurch)
	}
	text := c.Reading.Pull
	if c.overruled() {
		text = c.Reading.would()
	}
	if c.As != "" {
		text += " (" + string(As) + " " + c.As + ")"
	}
	return text
}

// overruled says whether a range that would drive by its speeds does not, as a drag
// holds its input or something else gives way.
func (c RangeReading) overruled() bool {
	return c.Friction != nil && (c.Friction.Held || c.Friction.Gives) && c.Outcome.Drives()
}

// rollsTold says whether there is something to be said of rolling in a state that does not
// drive.
func (c RangeReading) rollsTold() bool {
	return c.Lurch == "" && !c.Outcome.Drives() && c.Outcome.Verdict != solve.TieUp && c.Reading.rollsOddly()
}

// rolling is what is to be said of rolling in a state that does not drive, "" for
// nothing.
func (c RangeReading) rolling() string {
	switch {
	case !c.rollsTold():
		return ""
	case c.Outcome.Verdict == solve.InputHeld:
		return "; " + c.Reading.Coast
	}
	return ", but " + c.Reading.Coast
}

// byTorque is what torque decides besides, "" for nothing.
func (c RangeReading) byTorque() string {
	if c.Friction == nil {
		return ""
	}
	more := c.Friction.Text()
	switch {
	case more == "":
		return ""
	case c.overruled():
		return ", but " + more
	}
	return "; " + more
}

// rollsOddly says whether rolling is worth a word in a state that does not drive:
// one way only, or with the engine.
func (r Reading) rollsOddly() bool {
	return slices.ContainsFunc(r.Words, func(w Word) bool {
		return w == CoastTurnsEngine || w == CoastTurnsBackward || w == RollsForwardOnly || w == RollsBackwardOnly
	})
}

// Short is the cell in as few letters as a wall chart has room for: "fwd 2.45
// D1". It is for cells that differ from the healthy one.
func (c RangeReading) Short() string {
	text := c.shortSpeeds()
	if c.overruled() {
		return c.Friction.Short()
	}
	if c.Friction != nil {
		if more := c.Friction.Short(); more != "" {
			text += ", " + more
		}
	}
	return text
}

func (c RangeReading) shortSpeeds() string {
	switch {
	case c.Lurch == LurchesForward:
		return "lurches fwd"
	case c.Lurch == LurchesBackward:
		return "lurches rev"
	}
	ratio, _ := c.Outcome.Ratio()
	text := ""
	switch c.Outcome.Verdict {
	case solve.Forward:
		text = "fwd " + Ratio(ratio)
	case solve.Reverse:
		text = "rev " + Ratio(ratio)
	case solve.TieUp:
		return "ties up"
	case solve.InputHeld:
		return "input held"
	case solve.OutputHeld:
		return "output held"
	default:
		for _, w := range c.Reading.Words {
			switch w {
			case CoastTurnsEngine:
				if f := c.Outcome.CoastForward; !f.Empty && f.Min.Sign() <= 0 {
					return "no drive, rolling back turns engine"
				}
				return "no drive, coasting turns engine"
			case RollsForwardOnly, RollsBackwardOnly:
				return "no drive, " + string(w)
			}
		}
		return "no drive"
	}
	if c.As != "" {
		text += " " + c.As
	}
	return text
}

// ReadsLike says whether two ranges read alike: with the same words, and with the same
// numbers in the places that are printed.
func (c RangeReading) ReadsLike(d RangeReading) bool {
	told := c.rollsTold()
	return c.saysOfSpeeds() == d.saysOfSpeeds() && told == d.rollsTold() && (!told || c.CoastsLike(d)) &&
		slices.Equal(c.Friction.says(), d.Friction.says())
}

// PullsLike is ReadsLike of what is seen under power alone.
func (c RangeReading) PullsLike(d RangeReading) bool {
	return c.saysOfPulling() == d.saysOfPulling() && slices.Equal(c.Friction.says(), d.Friction.says())
}

// CoastsLike is ReadsLike of what is seen coasting and pushing.
func (c RangeReading) CoastsLike(d RangeReading) bool { return c.Reading.CoastsLike(d.Reading) }

// A speedsSaid is what is said of a range by its speeds, but for rolling.
type speedsSaid struct {
	word      Word
	at        string // the ratio as it is printed
	as        string
	overruled bool
}

func (c RangeReading) saysOfSpeeds() speedsSaid {
	if c.Lurch != "" {
		return speedsSaid{word: c.Lurch}
	}
	return speedsSaid{c.Reading.Words[0], c.Reading.at, c.As, c.overruled()}
}

// saysOfPulling is saysOfSpeeds under power alone: see [RangeReading.Pulling].
func (c RangeReading) saysOfPulling() speedsSaid {
	said := c.saysOfSpeeds()
	if said.word == OutputHeld {
		said.word = NoDrive
	}
	return said
}

// same says whether two cells read alike, also in the places of a ratio that
// are not printed.
func (c RangeReading) same(d RangeReading) bool {
	a, _ := c.Outcome.Ratio()
	b, _ := d.Outcome.Ratio()
	return c.ReadsLike(d) && c.CoastsLike(d) && (!c.Outcome.Drives() || a.Cmp(b) == 0)
}

// Held says whether the vehicle rolls neither way.
func (c RangeReading) Held() bool {
	return c.Outcome.CoastForward.Empty && c.Outcome.CoastBackward.Empty
}

// A Row is one range of a chart.
type Row struct {
	Range           *kinematics.Range
	Healthy, Faulty RangeReading
	// Changes say in words what the faults change; empty if nothing.
	Changes []string
}

// ShortNote says what the forms of [Row.Short] mean that name a ratio, ShortNotes what all do.
const (
	ShortNote  = "fwd, rev = drives forward, backward at that ratio; a range behind it = the ratio of that range"
	ShortNotes = ShortNote + "; lurches = pushes against the pawl; engine braking, no engine braking, can roll back, " +
		"does not roll back = it pulls as when healthy but coasts so"
)

// Short is what the faulty range does in as few letters as a wall chart has room
// for; empty if it does what it does when healthy.
func (r Row) Short() string {
	switch {
	case len(r.Changes) == 0:
		return ""
	case r.Healthy.ReadsLike(r.Faulty), r.Healthy.Held() && r.Faulty.Outcome.Verdict == solve.Neutral:
		return strings.Join(r.Changes, ", ")
	}
	return r.Faulty.Short()
}

// Changes say in words what a faulty range does other than the healthy one; empty if
// nothing.
func Changes(healthy, faulty RangeReading) []string { return changes(healthy, faulty) }

// Short is [Row.Short] of a range that stands in no chart.
func Short(healthy, faulty RangeReading) string {
	return Row{Healthy: healthy, Faulty: faulty, Changes: changes(healthy, faulty)}.Short()
}

// A Chart is what all ranges of a train do under some faults.
type Chart struct {
	Train  *kinematics.Train
	Faults []kinematics.Fault
	Rows   []Row
	// Positions are remarks on positions of the selector: "position D starts in third".
	Positions []string
}

// A Reader reads the states of one train. It reuses its kernel, so it must
// not be used by two goroutines at once.
type Reader struct {
	sys     *solve.System
	kernel  *solve.Kernel
	healthy []RangeReading
	scale   solve.Scale
	ratings []solve.Rating // nil until a fault needs them
}

// NewReader returns a reader of a compiled train.
func NewReader(sys *solve.System) *Reader {
	c := &Reader{sys: sys, kernel: sys.Kernel()}
	for i := range sys.Train.Ranges {
		c.healthy = append(c.healthy, c.read(&sys.Train.Ranges[i], nil))
	}
	return c
}

// Read reads a range under faults. It need not be one of the train's: it can be
// a combination of elements without a name, or have other ends.
func (c *Reader) Read(r *kinematics.Range, faults ...kinematics.Fault) RangeReading {
	cell := c.read(r, faults)
	cell.As = c.as(r, cell)
	return cell
}

// Healthy reads the r-th range of the train without faults.
func (c *Reader) Healthy(r int) RangeReading { return c.healthy[r] }

// Chart reads every range under faults.
func (c *Reader) Chart(faults ...kinematics.Fault) *Chart {
	t := c.sys.Train
	chart := &Chart{Train: t, Faults: faults}
	for i := range t.Ranges {
		row := Row{Range: &t.Ranges[i], Healthy: c.healthy[i], Faulty: c.Read(&t.Ranges[i], faults...)}
		row.Changes = changes(row.Healthy, row.Faulty)
		chart.Rows = append(chart.Rows, row)
	}
	for i := range t.Positions {
		if remark := c.startsIn(&t.Positions[i], chart); remark != "" {
			chart.Positions = append(chart.Positions, remark)
		}
	}
	return chart
}

func (c *Reader) read(r *kinematics.Range, faults []kinematics.Fault) RangeReading {
	t := c.sys.Train
	st := t.In(r, faults...)
	o := c.kernel.Outcome(st)
	cell := RangeReading{Use: t.Use, Outcome: o, Reading: speedsAlone(t, o), Friction: c.friction(r, faults, o)}
	pawl := false
	for i, k := range t.Couplings[:t.ElementCount] {
		if k.Kind == kinematics.Pawl && st.Modes[i] == kinematics.Locked {
			pawl = true
			st.Modes[i] = kinematics.Open
		}
	}
	if pawl {
		switch c.kernel.Outcome(st).Verdict {
		case solve.Forward:
			cell.Lurch = LurchesForward
		case solve.Reverse:
			cell.Lurch = LurchesBackward
		}
	}
	return cell
}

// as finds the range whose healthy ratio a range of the train has, unless it is its
// own.
func (c *Reader) as(r *kinematics.Range, cell RangeReading) string {
	n, named := c.sys.Train.Range(r.Name)
	ratio, drives := cell.Outcome.Ratio()
	if !named || !drives {
		return ""
	}
	if x := &c.sys.Train.Ranges[n]; x.Input != r.Input || x.Output != r.Output {
		return ""
	}
	if own, drives := c.healthy[n].Outcome.Ratio(); drives && own.Cmp(ratio) == 0 {
		return ""
	}
	return c.rangeAt(r, ratio)
}

// rangeAt names the first range between the ends of r that has the ratio when
// healthy, "" if none does.
func (c *Reader) rangeAt(r *kinematics.Range, ratio exact.Frac) string {
	for i := range c.healthy {
		own, drives := c.healthy[i].Outcome.Ratio()
		x := &c.sys.Train.Ranges[i]
		if drives && own.Cmp(ratio) == 0 && x.Input == r.Input && x.Output == r.Output {
			return x.Name
		}
	}
	return ""
}

var ordinals = []string{"first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"}

// startsIn says that a position with several ranges starts in another than its
// first.
func (c *Reader) startsIn(p *kinematics.Position, chart *Chart) string {
	if len(p.Ranges) < 2 {
		return ""
	}
	ratio, ok := chart.Rows[p.Ranges[0]].Faulty.Outcome.Ratio()
	if !ok || len(chart.Faults) == 0 {
		return ""
	}
	for n, r := range p.Ranges {
		own, drives := c.healthy[r].Outcome.Ratio()
		if !drives || own.Cmp(ratio) != 0 {
			continue
		}
		if n == 0 {
			return ""
		}
		name := chart.Rows[r].Range.Name
		if n < len(ordinals) {
			name = ordinals[n]
		}
		return "position " + p.Name + " " + string(StartsIn) + " " + name
	}
	return ""
}

// changes says what a faulty range does other than the healthy one.
func changes(healthy, faulty RangeReading) []string {
	if healthy.same(faulty) {
		return nil
	}
	var list []string
	add := func(s string) { list = append(list, s) }
	h, f := healthy.Outcome, faulty.Outcome
	hRatio, _ := h.Ratio()
	fRatio, _ := f.Ratio()
	switch {
	case faulty.Lurch != healthy.Lurch && faulty.Lurch != "":
		add("pushes against the pawl")
	case h.Drives() && f.Drives() && h.Verdict != f.Verdict:
		add("wrong direction")
	case h.Drives() && f.Drives() && hRatio.Cmp(fRatio) != 0:
		add("wrong ratio")
	case h.Drives() && !f.Drives() && f.Verdict == solve.TieUp:
		add("ties up")
	case h.Drives() && !f.Drives():
		add("drive lost")
	case !h.Drives() && f.Drives():
		add("drives where it must not")
	case healthy.Held() && f.Verdict == solve.Neutral:
		add("can roll away")
	case h.Verdict != f.Verdict:
		add(faulty.shortSpeeds())
	}
	if h.Drives() && f.Drives() {
		_, hb, _ := h.EngineBraking()
		_, fb, _ := f.EngineBraking()
		switch {
		case hb && !fb:
			add("no engine braking")
		case fb && !hb:
			add("engine braking")
		}
		switch holds, held := faulty.Reading.Has(HoldsAgainstRoll), healthy.Reading.Has(HoldsAgainstRoll); {
		case holds && !held:
			add(string(HoldsAgainstRoll))
		case held && !holds:
			add("can roll back")
		}
	}
	if faulty.Friction != nil {
		list = append(list, faulty.Friction.changes()...)
	}
	if len(list) == 0 {
		add("coasting: " + faulty.Reading.coastingThen())
	}
	return list
}

// FaultsIn says the faults of a chart in one line: "forward is stuck on; roller
// is fitted backwards".
func FaultsIn(t *kinematics.Train, faults []kinematics.Fault) string {
	return strings.Join(kinematics.Map(faults, func(f kinematics.Fault) string { return Fault(t, f) }), "; ")
}
