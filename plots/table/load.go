package table

import (
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Loaded is the answer of load: what ranges of a train carry.
type Loaded struct {
	Train  *kinematics.Train
	Faults []kinematics.Fault
	Ranges []LoadedRange
	// Detail asks for the whole load of the first range instead of tables of all.
	Detail bool
	Losses solve.Losses
	// Assumed says that nobody stated the losses; Overall is the efficiency of the
	// whole train from which they were found, "" if they were not.
	Assumed bool
	Overall string
	// Torque is what drives the input while pulling, Drag what the engine holds
	// back with while coasting, N m; 0 for answers per unit of it.
	Torque, Drag float64
	InputRPM     float64 // 0 for speeds per turn of the input
	Cautions     []string
}

// A LoadedRange is a range, or a combination of elements, with its loads.
type LoadedRange struct {
	Range             *kinematics.Range
	Faults            []kinematics.Fault // those that act here
	Cell              reading.Cell
	Motion            *solve.Motion
	Pulling, Coasting *solve.Load // nil where one end does not drive the other
}

// loads returns the loads that there are, pulling first.
func (r *LoadedRange) loads() []*solve.Load {
	return slices.DeleteFunc([]*solve.Load{r.Pulling, r.Coasting}, func(l *solve.Load) bool { return l == nil })
}

// An extent is what a quantity may be over all ways to share a load.
type extent struct{ min, max solve.Frac }

func (s extent) one() bool { return s.min.Cmp(s.max) == 0 }

// size is the largest absolute value.
func (s extent) size() solve.Frac {
	low := s.min
	if low.Sign() < 0 {
		low = low.Neg()
	}
	if low.Cmp(s.max) > 0 {
		return low
	}
	return s.max
}

// over returns the extent of a quantity over ways, and false if there are none.
func over(ways []solve.Way, f func(*solve.Way) solve.Frac) (extent, bool) {
	if len(ways) == 0 {
		return extent{}, false
	}
	x := f(&ways[0])
	s := extent{x, x}
	for i := range ways[1:] {
		if x = f(&ways[i+1]); x.Cmp(s.min) < 0 {
			s.min = x
		} else if x.Cmp(s.max) > 0 {
			s.max = x
		}
	}
	return s, true
}

// A scale says in what units a load is written.
type scale struct{ torque, rpm float64 }

// scale returns the units of a load.
func (a *Loaded) scale(l *solve.Load) scale {
	if l.Coasting {
		return scale{a.Drag, a.InputRPM}
	}
	return scale{a.Torque, a.InputRPM}
}

// kW is the power at the input, 0 if it is not known.
func (s scale) kW() float64 { return s.torque * s.rpm * math.Pi / 30000 }

func (s scale) torqueHead() string { return headOf("torque", "N m", s.torque) }
func (s scale) speedHead() string  { return headOf("speed", "rpm", s.rpm) }
func (s scale) powerHead() string  { return headOf("power", "kW", s.kW()) }

func headOf(what, unit string, given float64) string {
	if given != 0 {
		return what + " " + unit + ">"
	}
	return what + ">"
}

// number writes a value times factor with places, or as it is with four places
// where factor is 0. Signed ones get a + above 0.
func number(f solve.Frac, factor float64, places int, sign bool) string {
	if f.Sign() == 0 {
		return "0"
	}
	if factor == 0 {
		factor, places = 1, 4
	}
	text := strconv.FormatFloat(f.Float()*factor, 'f', places, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strconv.FormatFloat(f.Float()*factor, 'g', 2, 64) // too small for the places
	}
	if sign && f.Sign() > 0 {
		text = "+" + text
	}
	return text
}

func (s scale) torqueOf(f solve.Frac, sign bool) string { return number(f, s.torque, 1, sign) }
func (s scale) speedOf(f solve.Frac, sign bool) string  { return number(f, s.rpm, 1, sign) }
func (s scale) powerOf(f solve.Frac, sign bool) string  { return number(f, s.kW(), 2, sign) }

// text writes an extent: one value, or both ends.
func (s extent) text(write func(solve.Frac, bool) string, sign bool) string {
	low, high := write(s.min, sign), write(s.max, sign)
	if low == high {
		return low
	}
	return low + " to " + high
}

// Text writes the tables of all ranges, or the whole load of one.
func (a Loaded) Text(w io.Writer, width int) error {
	p := &page{w: w, width: width}
	if a.Detail {
		a.detail(p, &a.Ranges[0])
	} else {
		a.tables(p)
	}
	p.cautions(a.Cautions)
	return p.err
}

func (a *Loaded) head(p *page, title string) {
	p.line(title)
	for _, f := range a.Faults {
		p.line("fault: " + reading.Fault(a.Train, f))
	}
	if a.Torque != 0 || a.InputRPM != 0 || a.Drag != 0 {
		p.line(a.given())
	}
	p.line(a.lossText())
}

// given says what is known of the input.
func (a *Loaded) given() string {
	var words []string
	if a.Torque != 0 {
		words = append(words, short(a.Torque)+" N m while pulling")
	}
	if a.Drag != 0 {
		words = append(words, short(a.Drag)+" N m of engine drag while coasting")
	}
	if a.InputRPM != 0 {
		words = append(words, short(a.InputRPM)+" rpm")
	}
	text := "input: " + list(words)
	if kW := (scale{a.Torque, a.InputRPM}).kW(); kW != 0 {
		text += "; pulling with " + strconv.FormatFloat(kW, 'f', 2, 64) + " kW"
	}
	return text
}

func short(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// lossText says what is lost where, and who said so.
func (a *Loaded) lossText() string {
	text := a.efficiencies()
	if text == "" {
		return "losses: none"
	}
	switch {
	case a.Assumed:
		text += "; assumed, for want of figures: --mesh-efficiency and --basic-efficiency set others"
	case a.Overall != "":
		text += "; found for an overall efficiency of " + a.Overall
	}
	return "losses: " + text
}

// efficiencies says what is passed on, "" if everything is.
func (a *Loaded) efficiencies() string {
	l, one := &a.Losses, solve.FracOf(1, 1)
	if l.Basic == nil {
		if l.External.Cmp(one) == 0 && l.Internal.Cmp(one) == 0 && l.Chain.Cmp(one) == 0 {
			return ""
		}
		text := "an external mesh passes on " + efficiency(l.External) + " of its rolling power, an internal one " + efficiency(l.Internal)
		if slices.ContainsFunc(a.Train.Meshes, func(m kinematics.Mesh) bool { return m.Kind == kinematics.Chain }) {
			text += ", a chain " + efficiency(l.Chain)
		}
		return text
	}
	same, lossless := true, true
	var each []string
	for g, f := range l.Basic {
		same = same && f.Cmp(l.Basic[0]) == 0
		lossless = lossless && f.Cmp(one) == 0
		each = append(each, a.Train.Gearsets[g].Name+" "+efficiency(f))
	}
	switch {
	case lossless:
		return ""
	case same:
		return "a gearset passes on " + efficiency(l.Basic[0]) + " of its rolling power (basic efficiency, carrier held)"
	}
	return "of their rolling power gearsets pass on (basic efficiency, carrier held): " + list(each)
}

// efficiency writes an efficiency as it was given, with no more than six places.
func efficiency(f solve.Frac) string {
	return strconv.FormatFloat(math.Round(f.Float()*1e6)/1e6, 'f', -1, 64)
}

// rangeName is the name of a range, or its elements.
func (a *Loaded) rangeName(r *LoadedRange) string {
	if r.Range.Name != "" {
		return r.Range.Name
	}
	return strings.Join(elementNames(a.Train, r.Range.Apply), "+")
}

func (a *Loaded) detail(p *page, r *LoadedRange) {
	what := "combination"
	if r.Range.Name != "" {
		what = "range " + r.Range.Name
	}
	a.head(p, a.Train.Name+", "+what+": "+names(a.Train, r.Range.Apply)+" applied")

	if r.Pulling != nil {
		p.heading("pulling: " + r.Cell.Text())
		a.load(p, r.Pulling, true)
	} else {
		p.line("")
		p.line("pulling: " + r.Cell.Text() + ". The input does not drive the output, so nothing is carried from one to the other." + a.breakaway(r))
	}
	if r.Coasting != nil {
		p.heading("coasting: " + coastHeading(r))
		a.load(p, r.Coasting, r.Pulling == nil)
	} else if r.Pulling != nil {
		p.line("")
		p.line("coasting: " + r.Cell.Reading.Coast + ". The output does not turn the engine, so nothing is carried.")
	}
	if len(r.loads()) > 0 {
		p.line("")
		p.line(a.legend())
	}
}

// legend says what the numbers mean that no head can say.
func (a *Loaded) legend() string {
	text := "Torques act on the first member of an element, on the member of a joint, on gears from their mesh, and on members " +
		"of gearsets from the rest of the train; + is the way the input turns. Power with + enters the gearset."
	var per []string
	drag := a.Drag == 0 && a.Ranges[0].Coasting != nil
	if a.Torque == 0 || drag {
		per = append(per, "torques")
	}
	if a.InputRPM == 0 {
		per = append(per, "speeds")
	}
	if a.Torque == 0 || drag || a.InputRPM == 0 {
		text += " Where no unit stands, " + and(append(per, "powers")) + " are per unit of those at the input."
	}
	return text
}

// breakaway points to what answers for a held input.
func (a *Loaded) breakaway(r *LoadedRange) string {
	if v := r.Motion.Verdict; v != solve.TieUp && v != solve.InputHeld {
		return ""
	}
	return " What gives first when it is forced: tieup breakaway."
}

func coastHeading(r *LoadedRange) string {
	text := r.Cell.Reading.Coast
	if r.Coasting.Motion.Drives() || strings.Contains(text, "turns the engine") {
		return text
	}
	return text + ", turns the engine"
}

// load writes one load: how much, by what, through which gearsets.
func (a *Loaded) load(p *page, l *solve.Load, full bool) {
	s := a.scale(l)
	if a.Drag == 0 && l.Coasting && a.Torque != 0 {
		p.line("torques per unit of engine drag; --drag N gives N m")
	}
	f := &fields{}
	f.add("ratio", withExact(l.Motion.At.Output.Inv()))
	a.sums(f, l, s)
	f.write(p)

	p.line("")
	p.grid(a.elementGrid(p, l, s))
	if joints := a.jointGrid(l, s); full && len(joints.Rows) > 0 {
		p.line("")
		p.grid(joints)
	}
	if l.Ways[0].Power == nil {
		return
	}
	p.line("")
	p.grid(a.setGrid(l, s))
	p.line("")
	p.grid(a.memberGrid(l, s))
	if full {
		p.line("")
		p.grid(a.meshGrid(l, s))
	}
}

// sums adds what is said of the load as a whole.
func (a *Loaded) sums(f *fields, l *solve.Load, s scale) {
	unit := ""
	if s.torque != 0 {
		unit = " N m"
	}
	// What the train exerts on what it drives, or is exerted on it by what drives.
	output := func(w *solve.Way) solve.Frac {
		if l.Coasting {
			return w.Output
		}
		return w.Output.Neg()
	}
	out, _ := over(l.Ways, output)
	text := out.text(s.torqueOf, true) + unit
	if s.torque == 0 && out.one() && !out.min.IsInt() {
		text += " = " + out.min.String()
	}
	if lossy, ok := over(l.Lossy, output); ok && (lossy.min.Cmp(out.min) != 0 || lossy.max.Cmp(out.max) != 0) {
		text += "; with losses " + lossy.text(s.torqueOf, true) + unit
	}
	if l.Coasting {
		f.add("vehicle pushes", text)
	} else {
		f.add("output torque", text)
	}
	if text := a.efficiencyText(l); text != "" {
		f.add("efficiency", text)
	}
	if kW := s.kW(); kW != 0 && len(l.Lossy) > 0 {
		power := func(g func(*solve.Power) solve.Frac) string {
			x, _ := over(l.Lossy, func(w *solve.Way) solve.Frac { return g(w.Power) })
			return x.text(s.powerOf, false)
		}
		f.add("power", power(func(p *solve.Power) solve.Frac { return p.In })+" kW in, "+
			power(func(p *solve.Power) solve.Frac { return p.Out })+" kW out, "+
			power(func(p *solve.Power) solve.Frac { return p.Loss })+" kW lost in the gears")
	}
	if text := a.oneWayText(l); text != "" {
		f.add("one-way clutches", text)
	}
	several := func(label string, lines []string) {
		for _, text := range lines {
			f.add(label, text)
			label = ""
		}
	}
	several("shared", a.sharing(l))
	several("recirculating", a.recirculation(l))
}

// efficiencyText gives the efficiency, or says why there is none.
func (a *Loaded) efficiencyText(l *solve.Load) string {
	e, _ := over(l.Lossy, func(w *solve.Way) solve.Frac { return w.Power.Efficiency })
	write := func(f solve.Frac, _ bool) string { return strconv.FormatFloat(f.Float(), 'f', 4, 64) }
	driving, driven := "input", "output"
	if l.Coasting {
		driving, driven = driven, driving
	}
	switch l.Trouble {
	case solve.SelfLocking:
		return "self-locking: with these losses the " + driving + " cannot turn the " + driven + ", however hard it is driven"
	case solve.Ambiguous:
		return e.text(write, false) + ": power can flow in more than one way, each of which agrees with its own losses"
	case solve.LooseSpeeds:
		return "open: the speed of " + list(bodyNames(a.Train, l.Loose)) + ", which carries load, is not fixed"
	case solve.TooMany:
		return "not found: too many gears roll for every direction of power flow to be tried"
	}
	if a.efficiencies() == "" {
		return ""
	}
	if one := solve.FracOf(1, 1); e.one() && e.min.Cmp(one) == 0 {
		return "1: no loaded gear rolls on its carrier"
	}
	return e.text(write, false)
}

func bodyNames(t *kinematics.Train, ids []kinematics.MemberID) []string {
	var ns []string
	for _, id := range ids {
		ns = append(ns, bodyName(t, id))
	}
	return ns
}

// bodyName is the name of a member; the common body of a joint has the joint's.
func bodyName(t *kinematics.Train, id kinematics.MemberID) string {
	return strings.TrimPrefix(t.Members[id].Name, "!")
}

var holdWords = map[solve.Hold]string{
	solve.Overrun: "overruns", solve.Idles: "idles", solve.MayHold: "may hold", solve.Holds: "holds",
}

// oneWayText says what the one-way clutches that act do.
func (a *Loaded) oneWayText(l *solve.Load) string {
	var words []string
	for i, c := range a.Train.Couplings[:a.Train.Elements] {
		if m := l.Motion.State.Modes[i]; c.Kind == kinematics.OneWay && (m == kinematics.Overruns || m == kinematics.Reversed) {
			words = append(words, c.Name+" "+holdWords[l.OneWay(i)])
		}
	}
	return list(words)
}

// sharing says between what a load is shared, one line for each group of
// elements that share among themselves.
func (a *Loaded) sharing(l *solve.Load) []string {
	const how = ": clearances and stiffness decide how, their torques are bounds"
	if len(l.Ways) < 2 {
		return nil
	}
	groups := sharers(l.Ways, a.Train.Elements)
	if groups == nil {
		return []string{"between meshes in parallel" + how}
	}
	var lines []string
	for _, g := range groups {
		lines = append(lines, "between "+and(elementNames(a.Train, g))+how)
	}
	return lines
}

// sharers returns the groups of elements that share a load among themselves.
// Two ways differ in at least one group; those that differ in no more than one
// show the groups.
func sharers(ways []solve.Way, elements int) [][]int {
	var differences [][]int
	for i := range ways {
		for j := range i {
			var d []int
			for e := range elements {
				if ways[i].Torque[e].Cmp(ways[j].Torque[e]) != 0 {
					d = append(d, e)
				}
			}
			differences = append(differences, d)
		}
	}
	var groups [][]int
	for _, d := range differences {
		smallest := len(d) > 0
		for _, o := range differences {
			smallest = smallest && !(len(o) > 0 && len(o) < len(d) && within(o, d))
		}
		if smallest {
			groups = merged(groups, d)
		}
	}
	slices.SortFunc(groups, func(x, y []int) int { return x[0] - y[0] })
	return groups
}

func within(a, b []int) bool {
	return !slices.ContainsFunc(a, func(x int) bool { return !slices.Contains(b, x) })
}

// merged adds d to groups, as one with those that it meets.
func merged(groups [][]int, d []int) [][]int {
	sum := slices.Clone(d)
	var rest [][]int
	for _, g := range groups {
		if slices.ContainsFunc(g, func(x int) bool { return slices.Contains(d, x) }) {
			sum = append(sum, g...)
		} else {
			rest = append(rest, g)
		}
	}
	slices.Sort(sum)
	return append(rest, slices.Compact(sum))
}

// recirculation says what power runs in a circle.
func (a *Loaded) recirculation(l *solve.Load) []string {
	var lines []string
	add := func(text string) {
		if !slices.Contains(lines, text) {
			lines = append(lines, text)
		}
	}
	for i := range l.Ways {
		if l.Ways[i].Power == nil {
			return nil
		}
		for _, loop := range l.Ways[i].Power.Loops {
			text := share(loop.Share) + " of the power goes round " + list(a.steps(loop))
			if !loop.Rolls {
				text += ": within what turns as one, so it costs nothing"
			}
			add(text)
		}
	}
	one := solve.FracOf(1, 1)
	for i := range l.Ways {
		if m := l.Ways[i].Power.Largest; m.Share.Cmp(one) > 0 {
			add(share(m.Share) + " of the power passes between " + a.Train.Members[m.Member].Name + " and its set, the most of all")
		}
	}
	return lines
}

// and lists words: "a", "a and b", "a, b and c".
func and(words []string) string {
	n := len(words)
	if n < 2 {
		return list(words)
	}
	return list(words[:n-1]) + " and " + words[n-1]
}

func share(f solve.Frac) string { return strconv.FormatFloat(f.Float(), 'f', 4, 64) }

// steps names what power passes on its way round.
func (a *Loaded) steps(loop solve.Loop) []string {
	var ns []string
	for _, s := range loop.Steps {
		switch {
		case s.Gearset >= 0:
			ns = append(ns, a.Train.Gearsets[s.Gearset].Name)
		case s.Coupling >= 0:
			ns = append(ns, a.Train.Couplings[s.Coupling].Name)
		default:
			ns = append(ns, bodyName(a.Train, s.Member))
		}
	}
	return ns
}

// elementGrid lists the elements; without the exact torques if the page is
// too narrow for them.
func (a *Loaded) elementGrid(p *page, l *solve.Load, s scale) *Grid {
	t := a.Train
	heads := columns("element", "between", "does", s.torqueHead(), "exact>", "with losses>", headOf("slip", "rpm", s.rpm))
	g := &Grid{Columns: heads}
	for i, c := range t.Couplings[:t.Elements] {
		does, slip := l.Motion.States[i].String(), ""
		if c.Kind == kinematics.OneWay && does != "open" {
			does = holdWords[l.OneWay(i)]
		}
		if v, one := l.Motion.Slips[i].Point(); !one {
			slip = "free"
		} else if v.Sign() != 0 {
			slip = s.speedOf(v, true)
		}
		torque, exact, lossy := "", "", ""
		if x := torqueOf(l.Ways, i); x.size().Sign() != 0 {
			torque, exact, lossy = x.text(s.torqueOf, true), exactOf(x, s), a.lossyTorque(l, s, i)
		}
		g.Add(c.Name, between(t, &c), does, torque, exact, lossy, slip)
	}
	if _, least := g.withoutEmptyColumns().widths(); p.width > 0 && total(least) > p.width {
		for _, row := range g.Rows {
			row[4] = ""
		}
	}
	return g
}

// jointGrid lists the splines that carry.
func (a *Loaded) jointGrid(l *solve.Load, s scale) *Grid {
	t := a.Train
	g := &Grid{Columns: columns("joint", "member", s.torqueHead(), "exact>", "with losses>")}
	for i := t.Elements; i < len(t.Couplings); i++ {
		if x := torqueOf(l.Ways, i); x.size().Sign() != 0 {
			joint, member, _ := strings.Cut(t.Couplings[i].Name, ":")
			g.Add(joint, member, x.text(s.torqueOf, true), exactOf(x, s), a.lossyTorque(l, s, i))
		}
	}
	return g
}

// torqueOf is the torque of coupling i.
func torqueOf(ways []solve.Way, i int) extent {
	x, _ := over(ways, func(w *solve.Way) solve.Frac { return w.Torque[i] })
	return x
}

// exactOf is the fraction where torques are per unit and there is one.
func exactOf(x extent, s scale) string {
	if s.torque != 0 || !x.one() {
		return ""
	}
	return x.min.String()
}

func (a *Loaded) lossyTorque(l *solve.Load, s scale, i int) string {
	if a.efficiencies() == "" {
		return ""
	}
	x, ok := over(l.Lossy, func(w *solve.Way) solve.Frac { return w.Torque[i] })
	if !ok {
		return ""
	}
	return x.text(s.torqueOf, true)
}

// setGrid splits the power through each gearset.
func (a *Loaded) setGrid(l *solve.Load, s scale) *Grid {
	unit := ""
	if s.kW() != 0 {
		unit = " kW"
	}
	g := &Grid{Columns: columns("gearset", "rolling"+unit+">", "with losses>", "coupling"+unit+">", "with losses>", "lost"+unit+">", "teeth driven by")}
	for i, set := range a.Train.Gearsets {
		if !slices.ContainsFunc(l.Ways, func(w solve.Way) bool { return len(w.Power.Sets[i].Members) > 0 }) {
			g.Add(set.Name, "not loaded", "", "", "", "", "")
			continue
		}
		of := func(ways []solve.Way, f func(*solve.SetPower) solve.Frac) string {
			x, ok := over(ways, func(w *solve.Way) solve.Frac { return f(&w.Power.Sets[i]) })
			if !ok {
				return ""
			}
			return x.text(s.powerOf, false)
		}
		rolling := func(p *solve.SetPower) solve.Frac { return p.Rolling }
		coupling := func(p *solve.SetPower) solve.Frac { return p.Coupling }
		cells := []string{set.Name, of(l.Ways, rolling), "", of(l.Ways, coupling), "", ""}
		if a.efficiencies() != "" {
			cells[2], cells[4] = of(l.Lossy, rolling), of(l.Lossy, coupling)
			cells[5] = of(l.Lossy, func(p *solve.SetPower) solve.Frac { return p.Loss })
		}
		g.Add(append(cells, list(a.drivers(l, i)))...)
	}
	return g
}

// drivers returns the gears that drive the teeth of gearset g as seen from its
// carrier.
func (a *Loaded) drivers(l *solve.Load, g int) []string {
	var ns []string
	for _, w := range l.Ways {
		for _, x := range w.Power.Sets[g].Members {
			if name := a.Train.Members[x.Member].Name; x.Rolling.Sign() > 0 && !slices.Contains(ns, name) {
				ns = append(ns, name)
			}
		}
	}
	return ns
}

// memberGrid lists the loaded members of gearsets.
func (a *Loaded) memberGrid(l *solve.Load, s scale) *Grid {
	g := &Grid{Columns: columns("member", s.torqueHead(), "with losses>", s.speedHead(), s.powerHead(), "rolling>", "coupling>")}
	for i := range a.Train.Gearsets {
		for _, id := range a.setMembers(l, i) {
			of := func(ways []solve.Way, f func(*solve.MemberPower) solve.Frac, write func(solve.Frac, bool) string) string {
				x, ok := over(ways, func(w *solve.Way) solve.Frac { return f(memberPower(w, i, id)) })
				if !ok {
					return ""
				}
				return x.text(write, true)
			}
			torque := func(m *solve.MemberPower) solve.Frac { return m.Torque }
			lossy := ""
			if a.efficiencies() != "" {
				lossy = of(l.Lossy, torque, s.torqueOf)
			}
			g.Add(a.Train.Members[id].Name, of(l.Ways, torque, s.torqueOf), lossy, s.speedOf(l.Motion.Members[id].Min.Frac, true),
				of(l.Ways, func(m *solve.MemberPower) solve.Frac { return m.Power }, s.powerOf),
				of(l.Ways, func(m *solve.MemberPower) solve.Frac { return m.Rolling }, s.powerOf),
				of(l.Ways, func(m *solve.MemberPower) solve.Frac { return m.Coupling }, s.powerOf))
		}
	}
	return g
}

// setMembers returns the members of gearset g that any way loads.
func (a *Loaded) setMembers(l *solve.Load, g int) []kinematics.MemberID {
	var ids []kinematics.MemberID
	for _, w := range l.Ways {
		for _, m := range w.Power.Sets[g].Members {
			if !slices.Contains(ids, m.Member) {
				ids = append(ids, m.Member)
			}
		}
	}
	return ids
}

// memberPower returns the power of a member of gearset g, zero if it has none.
func memberPower(w *solve.Way, g int, id kinematics.MemberID) *solve.MemberPower {
	for i := range w.Power.Sets[g].Members {
		if m := &w.Power.Sets[g].Members[i]; m.Member == id {
			return m
		}
	}
	zero := solve.FracOf(0, 1)
	return &solve.MemberPower{Member: id, Torque: zero, Power: zero, Rolling: zero, Coupling: zero}
}

// meshGrid lists the gears in engagement that carry load.
func (a *Loaded) meshGrid(l *solve.Load, s scale) *Grid {
	t := a.Train
	unit := ""
	if s.torque != 0 {
		unit = " N m"
	}
	g := &Grid{Columns: columns("mesh", "on first"+unit+">", "on second"+unit+">", headOf("first rolls", "rpm", s.rpm), headOf("lost", "kW", s.kW()))}
	for i := range l.Ways[0].Meshes {
		ml := &l.Ways[0].Meshes[i]
		first, _ := over(l.Ways, func(w *solve.Way) solve.Frac { return w.Meshes[i].TorqueA })
		if first.size().Sign() == 0 {
			continue
		}
		onFirst, second, rolls := "not given", "not given", "not given"
		if ml.GivenA {
			onFirst, rolls = first.text(s.torqueOf, true), s.speedOf(ml.Rolls, true)
		}
		if ml.GivenB {
			x, _ := over(l.Ways, func(w *solve.Way) solve.Frac { return w.Meshes[i].TorqueB })
			second = x.text(s.torqueOf, true)
		}
		lost := ""
		if x, ok := over(l.Lossy, func(w *solve.Way) solve.Frac { return w.Meshes[i].Loss }); ok && a.Losses.Basic == nil && a.efficiencies() != "" {
			lost = x.text(s.powerOf, false)
		}
		g.Add(t.Members[ml.A].Name+" x "+t.Members[ml.B].Name, onFirst, second, rolls, lost)
	}
	return g
}
