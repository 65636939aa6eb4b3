package table

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// Loaded writes what ranges of a train carry.
type Loaded struct{ *analysis.Loaded }

// text writes the tables of all ranges, or the whole load of one.
func (a Loaded) text(p *page) {
	if a.Wear != nil {
		a.tables(p)
	} else {
		a.detail(p, a.Ranges[0])
	}
	p.apart(a.Cautions...)
}

func (a Loaded) head(p *page, title string) {
	p.line(title)
	p.faulted(analysis.Faulted{Faults: a.Faults, Outcomes: a.Outcomes})
	if given := a.Given(); given != "" {
		p.line("input: " + given)
	}
	p.line("losses: " + a.Losses.Words)
}

func (a Loaded) detail(p *page, r *analysis.LoadedRange) {
	a.head(p, a.Train.Name+", "+rangeOrCombination(string(r.Range))+": "+applied(r.Apply)+" applied")
	if r.Pulling != nil {
		p.heading("pulling: " + r.PullingText)
		a.load(p, r.Pulling, true)
	} else {
		p.apart("pulling: " + r.PullingText)
	}
	if r.Coasting != nil {
		p.heading("coasting: " + r.CoastingText)
		a.load(p, r.Coasting, r.Pulling == nil)
	} else if r.Pulling != nil {
		p.apart("coasting: " + r.CoastingText)
	}
	if len(r.Loads()) > 0 {
		p.apart(a.Legend(r))
	}
}

// load writes one load: how much, by what, through which gearsets.
func (a Loaded) load(p *page, l *analysis.Load, full bool) {
	if a.Drag == nil && l.Flow == "coasting" && a.Torque != nil {
		p.line("torques per unit of engine drag; --drag N gives N m")
	}
	f := &fields{}
	f.add("ratio", withExact(*l.Ratio.Ratio))
	a.sums(f, l)
	f.write(p)

	p.below(a.elementGrid(p, l))
	if joints := a.jointGrid(l); full && len(joints.Rows) > 0 {
		p.below(joints)
	}
	if l.Gearsets == nil {
		return
	}
	p.below(a.setGrid(l))
	p.below(a.memberGrid(l))
	if full {
		p.below(a.meshGrid(l))
	}
}

// sums adds what is said of the load as a whole.
func (a Loaded) sums(f *fields, l *analysis.Load) {
	unit := ""
	if l.TorqueBy != 0 {
		unit = " N m"
	}
	out := l.Turned
	text := torques(out) + unit
	if one, single := out.Point(); l.TorqueBy == 0 && single && !one.IsInt() {
		text += " = " + one.String()
	}
	if lossy := l.TurnedLossy; lossy != nil && (lossy.Min.Cmp(out.Min) != 0 || lossy.Max.Cmp(out.Max) != 0) {
		text += "; with losses " + torques(lossy) + unit
	}
	if l.Flow == "coasting" {
		f.add("vehicle pushes", text)
	} else {
		f.add("output torque", text)
	}
	if text := a.efficiencyText(l); text != "" {
		f.add("efficiency", text)
	}
	if l.PowerBy != 0 && l.In != nil {
		f.add("power", powers(l.In, false)+" kW in, "+powers(l.Out, false)+" kW out, "+powers(l.Lost, false)+
			" kW lost in the gears")
	}
	if len(l.OneWays) > 0 {
		f.add("one-way clutches", list(l.OneWays))
	}
	several := func(label string, lines []string) {
		for _, text := range lines {
			f.add(label, text)
			label = ""
		}
	}
	several("shared", l.Sharing)
	several("recirculating", l.Recirculating)
}

// efficiencyText gives the efficiency, or says why there is none.
func (a Loaded) efficiencyText(l *analysis.Load) string {
	switch {
	case l.Status != "" && l.Efficiency != nil:
		return share(l.Efficiency) + ": " + l.Status
	case l.Status != "":
		return l.Status
	case a.Losses.Lossless:
		return ""
	}
	if one, single := l.Efficiency.Point(); single && one.Cmp(exact.Int(1)) == 0 {
		return analysis.NothingRolls
	}
	return share(l.Efficiency)
}

// share writes a share of 1, or its bounds, with four places.
func share(m *analysis.Measure) string {
	return m.Words(func(f exact.Frac, _ float64) string { return strconv.FormatFloat(f.Float(), 'f', 4, 64) })
}

// number writes a value times a factor with places, or as it is with four places
// where the factor is 0. Signed ones get a + above 0.
func number(f exact.Frac, by float64, digits int, sign bool) string {
	if f.Sign() == 0 {
		return "0"
	}
	if by == 0 {
		by, digits = 1, 4
	}
	text := strconv.FormatFloat(f.Float()*by, 'f', digits, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strconv.FormatFloat(f.Float()*by, 'g', 2, 64) // too small for the places
	}
	return plus(text, sign && f.Sign() > 0)
}

func plus(text string, sign bool) string {
	if sign {
		return "+" + text
	}
	return text
}

// fine is number with one place, or four figures of what is small per unit.
func fine(f exact.Frac, by float64, sign bool) string {
	if x := f.Float(); by == 0 && x != 0 && math.Abs(x) < 0.001 {
		return plus(strconv.FormatFloat(x, 'g', 4, 64), sign && x > 0)
	}
	return number(f, by, 1, sign)
}

// torques writes a torque, nothing where there is none.
func torques(m *analysis.Measure) string {
	if m == nil {
		return ""
	}
	return m.Words(func(f exact.Frac, by float64) string { return fine(f, by, true) })
}

// powers writes a power, likewise.
func powers(m *analysis.Measure, sign bool) string {
	if m == nil {
		return ""
	}
	return m.Words(func(f exact.Frac, by float64) string { return number(f, by, 2, sign) })
}

func speeds(q analysis.Quantity) string { return fine(q.Frac, q.By, true) }

// head is a head of a column of numbers, with its unit where that is given.
func head(what, unit string, given bool) string {
	if given {
		return what + " " + unit + ">"
	}
	return what + ">"
}

func (a Loaded) speedHead(what string) string { return head(what, "rpm", a.InputRPM != nil) }

func torqueHead(l *analysis.Load, what string) string { return head(what, "N m", l.TorqueBy != 0) }
func powerHead(l *analysis.Load, what string) string  { return head(what, "kW", l.PowerBy != 0) }

// lossy is a measure with losses, nothing where nothing is lost.
func (a Loaded) lossy(m *analysis.Measure) *analysis.Measure {
	if a.Losses.Lossless {
		return nil
	}
	return m
}

// elementGrid lists the elements; without the exact torques if the page is
// too narrow for them.
func (a Loaded) elementGrid(p *page, l *analysis.Load) *Grid {
	g := &Grid{Columns: columns("element", "between", "does", torqueHead(l, "torque"), "exact>", "with losses>",
		a.speedHead("slip"))}
	for _, e := range l.Couplings[:a.Train.ElementCount] {
		c, slip := &e.Value, ""
		if v, one := c.Slip.Point(); !one {
			slip = "free"
		} else if v.Sign() != 0 {
			slip = speeds(analysis.Quantity{Frac: v, By: c.Slip.By})
		}
		row := []string{e.Name, lyingBetween(a.Train, &a.Train.Couplings[c.ID]), c.Does}
		g.Add(append(append(row, a.carried(c)...), slip)...)
	}
	if _, least := g.withoutEmptyColumns().widths(); p.width > 0 && total(least) > p.width {
		for _, row := range g.Rows {
			row[4] = ""
		}
	}
	return g
}

// carried is the torque of a coupling, exactly where it is per unit and one, and
// with losses; nothing where it carries none.
func (a Loaded) carried(c *analysis.LoadedCoupling) []string {
	if c.Torque.Zero() {
		return []string{"", "", ""}
	}
	fraction := ""
	if one, single := c.Torque.Point(); single && c.Torque.By == 0 {
		fraction = one.String()
	}
	return []string{torques(&c.Torque), fraction, torques(a.lossy(c.TorqueLosses))}
}

// jointGrid lists the splines that carry.
func (a Loaded) jointGrid(l *analysis.Load) *Grid {
	g := &Grid{Columns: columns("joint", "member", torqueHead(l, "torque"), "exact>", "with losses>")}
	for i := a.Train.ElementCount; i < len(l.Couplings); i++ {
		if e := &l.Couplings[i]; !e.Value.Torque.Zero() {
			joint, member := a.Train.Spline(i)
			g.Add(append([]string{joint, member}, a.carried(&e.Value)...)...)
		}
	}
	return g
}

// setGrid splits the power through each gearset.
func (a Loaded) setGrid(l *analysis.Load) *Grid {
	g := &Grid{Columns: columns("gearset", powerHead(l, "rolling"), "with losses>", powerHead(l, "coupling"),
		"with losses>", powerHead(l, "lost"), "teeth driven by")}
	for name, s := range l.Gearsets.All() {
		if !s.Loaded {
			g.Add(name, "not loaded", "", "", "", "", "")
			continue
		}
		g.Add(name, powers(s.Rolling, false), powers(a.lossy(s.RollingLossy), false), powers(s.Coupling, false),
			powers(a.lossy(s.CouplingLossy), false), powers(a.lossy(s.Lost), false), list(s.Drivers))
	}
	return g
}

// memberGrid lists the loaded members of gearsets.
func (a Loaded) memberGrid(l *analysis.Load) *Grid {
	g := &Grid{Columns: columns("member", torqueHead(l, "torque"), "with losses>", a.speedHead("speed"),
		powerHead(l, "power"), "rolling>", "coupling>")}
	for _, s := range l.Gearsets.All() {
		for name, m := range s.Members.All() {
			g.Add(name, torques(m.Torque), torques(a.lossy(m.TorqueLossy)), speeds(m.Speed),
				powers(m.Power, true), powers(m.Rolling, true), powers(m.Coupling, true))
		}
	}
	return g
}

// meshGrid lists the gears in engagement that carry load.
func (a Loaded) meshGrid(l *analysis.Load) *Grid {
	g := &Grid{Columns: columns("mesh", torqueHead(l, "on first"), torqueHead(l, "on second"),
		a.speedHead("first rolls"), powerHead(l, "lost"))}
	const unknown = "not given"
	for _, m := range l.Meshes {
		first, second, rolls := unknown, unknown, unknown
		if m.OnFirst != nil {
			first, rolls = torques(m.OnFirst), speeds(*m.Rolls)
		}
		if m.OnSecond != nil {
			second = torques(m.OnSecond)
		}
		g.Add(m.First+" x "+m.Second, first, second, rolls, powers(m.Lost, false))
	}
	return g
}

// tables writes the loads of all ranges and the places that wear.
func (a Loaded) tables(p *page) {
	a.head(p, titled(a.Train))
	if !a.Losses.Lossless {
		p.line("Efficiencies are with these losses, torques without: tieup load TRAIN RANGE gives both.")
	}
	p.below(a.rangeGrid())
	p.heading("what the elements carry" + perUnit(a.Torque, ", pulling", "input torque") +
		perUnit(a.Drag, ", coasting", "engine drag"))
	g := &Grid{Columns: columns("element", "kind", "pulling", "coasting")}
	slip := &Grid{Columns: columns("element", "slips")}
	for name, e := range a.Wear.Elements.All() {
		torque := spots(e.Pulling)
		if torque == "" && len(e.Coasting) == 0 {
			torque = "nothing"
		}
		coasting := spots(e.Coasting)
		if coasting == torque && (a.Torque == nil && a.Drag == nil ||
			a.Torque != nil && a.Drag != nil && *a.Torque == *a.Drag) {
			coasting = "the same"
		}
		g.Add(name, e.Kind.String(), torque, coasting)
		if len(e.Slip) > 0 {
			slip.Add(name, spots(e.Slip))
		}
	}
	p.grid(g)
	a.speedTables(p, slip)
}

// speedTables writes how fast elements slip and pinions turn on their carriers.
func (a Loaded) speedTables(p *page, slip *Grid) {
	speed := ", turns per turn of the input"
	if a.InputRPM != nil {
		speed = ", rpm"
	}
	p.part("how fast released elements and overrunning one-way clutches slip"+speed, slip)
	pinions := &Grid{Columns: columns("pinion", "turns on its carrier")}
	for name, list := range a.Wear.Pinions.All() {
		switch {
		case slices.Contains(a.Wear.NotGiven, name):
		case len(list) == 0:
			pinions.Add(name, "never at a fixed speed, or not at all")
		default:
			pinions.Add(name, spots(list))
		}
	}
	p.part("how fast pinions turn on their carriers"+speed, pinions)
	if len(a.Wear.NotGiven) > 0 {
		p.apart("no teeth given: " + list(a.Wear.NotGiven))
	}
}

// spots lists "3.2 in R, 1.45 in D1, L1", the largest first; those of the same size
// stay in the order of the ranges.
func spots(list []analysis.Spot) string {
	list = slices.Clone(list)
	kinematics.Sort(list, func(x, y analysis.Spot) int { return y.Value.Max.Cmp(x.Value.Max) })
	var words []string
	last := ""
	for _, x := range list {
		size := x.Value.Words(func(f exact.Frac, by float64) string { return fine(f, by, false) })
		if size == last {
			words[len(words)-1] += ", " + x.Range
			continue
		}
		last = size
		words = append(words, size+" in "+x.Range)
	}
	return strings.Join(words, "; ")
}

func perUnit(given *float64, what, of string) string {
	if given != nil {
		return what + " in N m"
	}
	return what + " per unit of " + of
}

// rangeGrid is a line for each range; what recirculates is said of the first load.
func (a Loaded) rangeGrid() *Grid {
	g := &Grid{Columns: columns("range", "pulling", "efficiency>", "coasting", "efficiency>", "recirculating>")}
	for _, r := range a.Ranges {
		circle := ""
		if loads := r.Loads(); len(loads) > 0 {
			circle = powers(loads[0].Circling, false)
		}
		g.Add(r.Name, r.Reads, a.efficiencyCell(r.Pulling), r.Coasts, a.efficiencyCell(r.Coasting), circle)
	}
	return g
}

// efficiencyCell is the efficiency, or one word for why there is none.
func (a Loaded) efficiencyCell(l *analysis.Load) string {
	switch {
	case l == nil:
		return ""
	case l.SelfLocking():
		return "self-locking"
	case l.Efficiency == nil:
		return "open"
	}
	return powers(a.lossy(l.Efficiency), false)
}
