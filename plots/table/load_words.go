package table

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

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
	l, one := &a.Losses, exact.NewFrac(1, 1)
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
func efficiency(f exact.Frac) string {
	return strconv.FormatFloat(math.Round(f.Float()*1e6)/1e6, 'f', -1, 64)
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
		text += " Where no unit stands, " + kinematics.And(append(per, "powers")) + " are per unit of those at the input."
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

// sums adds what is said of the load as a whole.
func (a *Loaded) sums(f *fields, l *solve.Load, s scale) {
	unit := ""
	if s.torque != 0 {
		unit = " N m"
	}
	// What the train exerts on what it drives, or is exerted on it by what drives.
	output := func(w *solve.LoadSplit) exact.Frac {
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
		power := func(g func(*solve.Power) exact.Frac) string {
			x, _ := over(l.Lossy, func(w *solve.LoadSplit) exact.Frac { return g(w.Power) })
			return x.text(s.powerOf, false)
		}
		f.add("power", power(func(p *solve.Power) exact.Frac { return p.In })+" kW in, "+
			power(func(p *solve.Power) exact.Frac { return p.Out })+" kW out, "+
			power(func(p *solve.Power) exact.Frac { return p.Loss })+" kW lost in the gears")
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
	e, _ := over(l.Lossy, func(w *solve.LoadSplit) exact.Frac { return w.Power.Efficiency })
	write := func(f exact.Frac, _ bool) string { return strconv.FormatFloat(f.Float(), 'f', 4, 64) }
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
	if one := exact.NewFrac(1, 1); e.one() && e.min.Cmp(one) == 0 {
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

// oneWayText says what the one-way clutches that act do.
func (a *Loaded) oneWayText(l *solve.Load) string {
	var words []string
	for i, c := range a.Train.Couplings[:a.Train.ElementCount] {
		if m := l.Motion.State.Modes[i]; c.Kind == kinematics.OneWay && (m == kinematics.Overruns || m == kinematics.Reversed) {
			words = append(words, c.Name+" "+l.OneWay(i).String())
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
	groups := sharers(l.Ways, a.Train.ElementCount)
	if groups == nil {
		return []string{"between meshes in parallel" + how}
	}
	var lines []string
	for _, g := range groups {
		lines = append(lines, "between "+kinematics.And(a.Train.CouplingNames(g))+how)
	}
	return lines
}

// sharers returns the groups of elements that share a load among themselves.
// Two ways differ in at least one group; those that differ in no more than one
// show the groups.
func sharers(ways []solve.LoadSplit, elements int) [][]int {
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
	one := exact.NewFrac(1, 1)
	for i := range l.Ways {
		if m := l.Ways[i].Power.Largest; m.Share.Cmp(one) > 0 {
			add(share(m.Share) + " of the power passes between " + a.Train.Members[m.Member].Name + " and its set, the most of all")
		}
	}
	return lines
}

func share(f exact.Frac) string { return strconv.FormatFloat(f.Float(), 'f', 4, 64) }

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
