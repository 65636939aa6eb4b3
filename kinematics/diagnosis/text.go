package diagnosis

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/reading"
)

// Text says a hypothesis in words: "forward is stuck on".
func (h *Hypothesis) Text(t *kinematics.Train) string {
	switch {
	case h.Kind == Healthy:
		return "nothing is wrong in the gear train or with its command"
	case h.noPressure():
		return "no pressure: no clutch, brake or band holds"
	case h.Kind == Pressure:
		return "low pressure: every clutch, brake and band holds with " + h.Faults[0].Share.String() + " of its rating"
	case h.Kind == HighPressure:
		return "line pressure is too high: every range drives as it should, and engages with a blow"
	case h.Kind == Torn:
		return t.Members[h.Gear].Name + " is torn off its shell or hub: it turns free of " +
			kinematics.And(t.CouplingNames(attached(t, h.Gear)))
	case h.Kind == Timing:
		return h.timing(t)
	case h.Kind == Controlled:
		return h.controlText(t)
	case h.Kind == WrongWay:
		return h.command(t)
	case h.Raced:
		return t.Couplings[h.Faults[0].Coupling].Name + " " + onWhenRaced
	}
	return strings.Join(kinematics.Map(h.Faults, func(f kinematics.Fault) string { return faultText(t, f) }), ", and ")
}

// faultText is reading.Fault, but says of what acts in some ranges only that it
// is applied, or is not.
func faultText(t *kinematics.Train, f kinematics.Fault) string {
	name := t.Couplings[f.Coupling].Name
	switch {
	case !local(f) || f.Share.IsSet():
		return reading.Fault(t, f)
	case everywhere(t, f) && f.Kind == kinematics.Stuck:
		return name + " is fed in every range, and good itself"
	case everywhere(t, f):
		return name + " is fed in no range, and good itself"
	case f.Kind == kinematics.Stuck:
		return name + " is on in " + kinematics.And(f.Ranges) + ", where it should be off"
	case f.Kind == kinematics.Seized:
		return name + " jams in " + kinematics.And(f.Ranges) + ", where it should overrun"
	case f.Kind == kinematics.Slips && !t.Couplings[f.Coupling].Switched:
		return name + " slips in " + kinematics.And(f.Ranges) + ", and holds elsewhere"
	case f.Kind == kinematics.OpenF || f.Kind == kinematics.Slips:
		return name + " does not act in " + kinematics.And(f.Ranges) + ", and does elsewhere"
	}
	return reading.Fault(t, f)
}

func (h *Hypothesis) timing(t *kinematics.Train) string {
	from, to := &t.Ranges[h.Shift[0]], &t.Ranges[h.Shift[1]]
	late := "holds too early"
	if h.Late {
		late = "holds too late"
	}
	who := cmp.Or(kinematics.And(t.CouplingNames(kinematics.Without(to.Apply, from.Apply))), "what comes on")
	return fmt.Sprintf("the shift from %s to %s is badly timed: %s %s", from.Name, to.Name, who, late)
}

// command says what is commanded in place of what the lever says.
func (h *Hypothesis) command(t *kinematics.Train) string {
	if h.Lever != 0 {
		way := "back"
		if h.Lever > 0 {
			way = "further"
		}
		return "the lever is one place off (" + way + "): " + h.gives(t)
	}
	if p := h.always(t); p != "" {
		return "wrong command: position " + p
	}
	return "wrong command: " + h.gives(t)
}

// always names the position that gives only one of its ranges: "D always gives D3".
func (h *Hypothesis) always(t *kinematics.Train) string {
	changed := 0
	for r, q := range h.Command {
		if r != q {
			changed++
		}
	}
	for _, p := range t.Positions {
		if len(p.Ranges) < 2 || changed < 2 {
			continue
		}
		q := h.Command[p.Ranges[0]]
		if !slices.ContainsFunc(p.Ranges, func(r int) bool { return h.Command[r] != q }) {
			return p.Name + " always gives " + t.Ranges[q].Name
		}
	}
	return ""
}

// gives lists what comes in place of what: "R gives N, N gives D1".
func (h *Hypothesis) gives(t *kinematics.Train) string {
	var parts []string
	for r, q := range h.Command {
		if r != q {
			parts = append(parts, t.Ranges[r].Name+" gives "+t.Ranges[q].Name)
		}
	}
	return strings.Join(parts, ", ")
}

// Short says a hypothesis in as few words as a table has room for: "forward
// stuck on".
func (h *Hypothesis) Short(t *kinematics.Train) string {
	switch {
	case h.Kind == Healthy:
		return "nothing wrong"
	case h.noPressure():
		return "no pressure"
	case h.Kind == Pressure:
		return "low pressure"
	case h.Kind == HighPressure:
		return "high pressure"
	case h.Kind == Controlled:
		return h.controlShort(t)
	case h.Kind == Torn:
		return t.Members[h.Gear].Name + " torn off"
	case h.Kind == Timing:
		when := map[bool]string{false: "early", true: "late"}[h.Late]
		return t.Ranges[h.Shift[0]].Name + "-" + t.Ranges[h.Shift[1]].Name + " timing " + when
	case h.Lever < 0:
		return "lever one place back"
	case h.Lever > 0:
		return "lever one place further"
	case h.Kind == WrongWay:
		return cmp.Or(h.always(t), h.gives(t))
	case h.Raced:
		return t.Couplings[h.Faults[0].Coupling].Name + " on when raced"
	}
	return strings.Join(kinematics.Map(h.Faults, func(f kinematics.Fault) string { return shortFault(t, f) }), " + ")
}

func shortFault(t *kinematics.Train, f kinematics.Fault) string {
	name := t.Couplings[f.Coupling].Name
	if f.Kind == kinematics.Sheared {
		if shaft, ok := reading.Stripped(t, f.Coupling); ok {
			return shaft
		}
		joint, member := t.Spline(f.Coupling)
		return member + " sheared off " + joint
	}
	return name + " " + findingText(t, f)
}

// findingText says what is wrong with a coupling that is named before.
func findingText(t *kinematics.Train, f kinematics.Fault) string {
	in := ""
	if local(f) {
		in = " in " + kinematics.And(f.Ranges)
	}
	switch {
	case everywhere(t, f) && f.Kind == kinematics.Stuck:
		return "always fed"
	case everywhere(t, f):
		return "never fed"
	case f.Kind == kinematics.Stuck && local(f):
		return "on" + in
	case local(f) && (f.Kind == kinematics.OpenF || f.Kind == kinematics.Slips && t.Couplings[f.Coupling].Switched):
		return "off" + in
	case f.Kind == kinematics.Sheared:
		_, member := t.Spline(f.Coupling)
		return member + " sheared off"
	}
	return reading.FaultWord(f.Kind) + in
}

// plainly says a hypothesis to somebody who does not know the trade: who, and what is wrong
// with it. To what degree, in which ranges and which of several things come of it is not said.
func (h *Hypothesis) plainly(t *kinematics.Train) (who, what string) {
	switch {
	case h.Kind == Healthy:
		return "nothing", "is wrong in this gear train"
	case h.noPressure():
		return "the oil pressure", "is missing"
	case h.Kind == Pressure:
		return "the oil pressure", "is too low"
	case h.Kind == HighPressure:
		return "the oil pressure", "is too high"
	case h.Kind == Torn:
		return called(t.Members[h.Gear].Name), reading.FaultPlainly(kinematics.Sheared)
	case h.Kind == Timing:
		return "the shift from " + t.Ranges[h.Shift[0]].Name + " to " + t.Ranges[h.Shift[1]].Name, "is badly timed"
	case h.Lever != 0:
		return "the lever", "is one place off"
	case h.Kind == WrongWay:
		return "the control", "gives another gear than was chosen (" + cmp.Or(h.always(t), h.gives(t)) + ")"
	case h.Raced:
		return called(t.Couplings[h.Faults[0].Coupling].Name), onWhenRaced
	}
	own := h.Faults
	if h.Kind == Controlled {
		own = h.Own
	}
	var whole []string
	add := func(x, y string) {
		who, what = x, y
		whole = append(whole, x+" "+y)
	}
	for _, f := range h.Controls {
		add(plainPart(controlSite(t, f).kind, f.Part), reading.ControlDoes(f))
	}
	for _, f := range own {
		if f.Kind == kinematics.Sheared {
			joint, member := t.Spline(f.Coupling)
			add(called(member), reading.FaultPlainly(f.Kind)+" "+joint)
		} else {
			add(called(t.Couplings[f.Coupling].Name), reading.FaultPlainly(effectOf(f)))
		}
	}
	if len(whole) > 1 {
		return "", strings.Join(whole, ", and ")
	}
	return who, what
}

const onWhenRaced = "is held on by trapped oil while the engine is raced"

func called(name string) string { return "the part called " + name }

// plainPart is what a part of the controls is called in plain words.
func plainPart(kind siteKind, name string) string {
	switch kind {
	case solenoidSite, circuitSite:
		return siteWords[kind] + name
	case plugsSite:
		return "solenoids " + name // and the other
	case leverSite, supplySite, fluidSite:
		return "the " + name
	}
	return called(name)
}

// Class returns the words for the class of a suspect, with what the
// circumstances made of it: "broken joint, put first: it came suddenly".
func (a *Answer) Class(s *Suspect) string {
	var classes []Class
	first := map[Class]string{} // what puts a class first
	add := func(c Class, by string) {
		classes = kinematics.Union(classes, c)
		if first[c] == "" {
			first[c] = by
		}
	}
	order := a.finder.ranking(a.Case)
	switch {
	case s.Kind == Healthy:
		return ""
	case s.Kind == Pressure && order.has[Hot]:
		add(s.Hypothesis.Class, Hot.String())
	case s.Kind != Faulty:
		add(s.Hypothesis.Class, "")
	default:
		for _, f := range s.Faults {
			by := ""
			if c, up := order.raised(&s.Hypothesis, f); up {
				by = c.String()
			}
			add(classOf(a.Train, f), by)
		}
	}
	var words []string
	for _, c := range classes {
		text := c.String()
		if first[c] != "" {
			text += ", put first: " + first[c]
		}
		words = append(words, text)
	}
	return strings.Join(words, "; ")
}

// Agreement says in words how a group agrees with what was seen.
func (a *Answer) Agreement(g *Group) string {
	n := 0
	var counts [Not + 1]int
	var against []string
	for i, x := range g.Fits() {
		if a.Seen[i].Word == Note {
			continue
		}
		n++
		counts[x]++
		if x == Not {
			against = append(against, a.Seen[i].Place(a.Train)+" = "+a.Seen[i].Value(a.Train))
		}
	}
	by, alone := "", ""
	if counts[BySlip] > 0 {
		by, alone = fmt.Sprintf(", with %d as it slips", counts[BySlip]), ", as it slips"
		if counts[BySlip] > 1 {
			alone = by
		}
		counts[Fully] += counts[BySlip]
	}
	switch {
	case n == 0:
		return "nothing was seen yet"
	case counts[Fully] == n && (n == 1 || a.onePlace()):
		return "agrees with what was seen" + alone
	case counts[Fully] == n && n == 2:
		return "agrees with both observations" + by
	case counts[Fully] == n:
		return fmt.Sprintf("agrees with all %d observations", n) + by
	}
	var parts []string
	if counts[Fully] > 0 {
		parts = append(parts, fmt.Sprintf("agrees with %d of %d", counts[Fully], n)+by)
	}
	if counts[Partly] > 0 {
		parts = append(parts, fmt.Sprintf("partly with %d", counts[Partly]))
	}
	if len(against) > 0 {
		if len(against) > 3 {
			against = append(against[:3:3], fmt.Sprintf("%d more", len(against)-3))
		}
		parts = append(parts, "contradicted by "+kinematics.And(against))
	}
	return strings.Join(parts, ", ")
}

// onePlace says whether all that was seen is of one place: one answer can be two
// observations.
func (c *Case) onePlace() bool {
	return !slices.ContainsFunc(c.Seen, func(o Observation) bool { return !o.SamePlace(&c.Seen[0]) })
}

// Prediction is what range r does under a suspect, in the words of a chart.
func (a *Answer) Prediction(s *Suspect, r int) (reads, coast string) {
	c := a.finder.cellOf(&s.Hypothesis, r)
	return c.Text(), c.Reading.Coast
}

// cellOf reads range r under h.
func (f *Finder) cellOf(h *Hypothesis, r int) reading.RangeReading {
	q := h.commands(r)
	switch {
	case h.Kind == Torn:
		return f.tornReading(h.Gear, r)
	case q == r:
		return f.engine.reader.Read(&f.t.Ranges[r], h.Faults...)
	}
	c := f.engine.reader.Read(&f.t.Ranges[q], h.Faults...)
	if c.As == "" && c.Outcome.Drives() && !pullOf(c.Outcome).same(f.road.healthy[r].Light) {
		c.As = f.t.Ranges[q].Name
	}
	return c
}

// Indistinguishable says whether all suspects of a group do the same in every
// range, so that no test on the road can ever tell them apart.
func (a *Answer) Indistinguishable(g *Group) bool {
	off := a.finder.pushedWords(&g.Suspects[0].Hypothesis)
	for _, s := range g.Suspects {
		a.Behaviour(s, 0)
		if s.Kind == Timing || !slices.Equal(s.cells, g.Suspects[0].cells) ||
			!slices.Equal(a.finder.pushedWords(&s.Hypothesis), off) {
			return false
		}
	}
	return true
}

// Question says what a test in the workshop asks, on the bench whichever way the
// train is turned: "On the bench: apply forward by air".
func (x *Test) Question(t *kinematics.Train) string {
	if x.Kind == Bench {
		return x.onBench(t)
	}
	return x.Text(t)
}

func (x *Test) onBench(t *kinematics.Train) string {
	text := "On the bench: "
	if len(x.Apply) == 0 {
		return text + "apply nothing"
	}
	text += "apply " + kinematics.And(t.CouplingNames(x.Apply))
	if slices.ContainsFunc(x.Apply, func(e int) bool { return t.Drive == kinematics.Converter && fed(t, e) }) {
		text += " by air"
	}
	return text
}

func (x *Test) bench(t *kinematics.Train) string {
	text := x.onBench(t)
	in, out := t.Members[t.Input].Name, t.Members[t.Output].Name
	switch x.Turning {
	case HeldOutput:
		return text + ", hold " + out + ", turn " + in + " by hand, clockwise seen from the input end: does it turn?"
	case FreeOutput:
		return text + ", turn " + in + " by hand, clockwise seen from the input end: how far does " + out + " turn?"
	}
	return text + ", turn " + in + " by hand, counter-clockwise seen from the input end: does it turn?"
}

func (x *Test) element(t *kinematics.Train) string {
	c := &t.Couplings[x.Coupling]
	switch c.Kind {
	case kinematics.Spline:
		joint, member := t.Spline(x.Coupling)
		return "Look at the splines of " + member + " in joint " + joint + ": does it turn with the others?"
	case kinematics.OneWay:
		return "Take " + c.Name + " in hand: does it turn one way only, and the right way?"
	case kinematics.Pawl:
		return "Look at " + c.Name + " and its rod: does it engage?"
	}
	return "Take " + c.Name + " apart: does it hold when applied, and let go?"
}
