package analysis

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/diagnosis"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
	"tieup/kinematics/transient"
	"tieup/kinematics/wear"
)

// A WearQuestion asks what a fault does to every part.
type WearQuestion struct {
	Condition
	Ranges []*kinematics.Range // that were driven; nil for all
	// Shifts are those that were made; nil for all between neighbours of a position
	// among the ranges, empty for none.
	Shifts  [][2]*kinematics.Range
	Torques Torques // in N m
	RPM     float64 // of the end that is moved
	Seconds float64 // for which it is
	// Release and Apply are the ramps of elements in the shifts, by their place in
	// the train.
	Release, Apply map[int]kinematics.Ramp
}

// Worn is what a fault does to every part, in motions and shifts that are stated. Its
// document is tieup.wear/1.
type Worn struct {
	Schema string            `json:"schema"`
	Units  Named[string]     `json:"units"`
	Train  *kinematics.Train `json:"train"`
	Faulted
	RPM     float64          `json:"speed"` // of the end that is moved
	Seconds float64          `json:"time"`
	Rated   float64          `json:"rated_torque"`
	Torque  float64          `json:"available"` // at the input
	Motions List[WornMotion] `json:"motions"`   // in which a part takes more heat than it should
	Parts   List[WornPart]   `json:"parts"`     // the most harmed first
	// Mend is what to look for: the cause, so that it does not burn again.
	Mend        List[diagnosis.Cause] `json:"mend"`
	Unplayed    List[string]          `json:"not_played"` // shifts and motions, with the reason
	Assumptions List[string]          `json:"assumptions"`
	Cautions    List[string]          `json:"cautions"`

	Look  []string `json:"-"` // the causes, a line for each
	Above []string `json:"-"` // the faults of the controls in words

	more []string // elements that can hold more than their rating
}

// A WornMotion is a motion, or a shift, and what the parts do in it.
type WornMotion struct {
	Kind    string           `json:"kind"` // that of [wear.Kind], or "shift"
	Range   string           `json:"range"`
	To      Name             `json:"to"`      // of a shift
	Needs   *float64         `json:"needs"`   // torque at the end that is moved; nil for a shift
	Happens bool             `json:"happens"` // the torque available does it
	Says    string           `json:"says"`
	Loads   Named[*WornLoad] `json:"loads"` // of parts that slip under load, or carry torque
}

// A WornLoad is what one part does in a motion: slip in rpm, torque in N m, slip power
// in W, heat in J over the time stated, or of the shift; Share is that of all heat.
type WornLoad struct {
	Slip   Spread  `json:"slip"`
	Torque float64 `json:"torque"`
	Power  Spread  `json:"slip_power"`
	Heat   Spread  `json:"heat"`
	Sound  float64 `json:"heat_sound"` // of the same motion when all is sound
	Share  float64 `json:"share"`

	coupling int
}

// Extra is the most heat that the fault adds.
func (l *WornLoad) Extra() float64 { return l.Heat.Max - l.Sound }

// A WornPart is a part that a fault harms.
type WornPart struct {
	Part string `json:"part"`
	// Where is the motion in which it is harmed most, with what it then takes.
	Where   string  `json:"where"`
	Happens bool    `json:"happens"`
	Heat    float64 `json:"heat"`  // J; 0 for a part that is overloaded alone
	Share   float64 `json:"share"` // of all heat of that motion
	// Overload is the torque over the largest of the healthy ranges, for what does not
	// slip; 0 for what takes heat.
	Overload float64 `json:"overload"`

	coupling int
}

// Heated says whether the part takes heat, else it is overloaded.
func (p *WornPart) Heated() bool { return p.Heat > 0 }

// wornUnits are those of all numbers of the document.
var wornUnits = document.Texts(
	"speed, slip", "rpm", "torque, available, needs", "N m", "slip_power", "W", "heat, heat_sound", "J",
	"time", "s",
	"share", "of the heat of all parts in that motion", "overload", "over the largest torque in the healthy ranges",
)

// Wear answers what a fault does to every part. The error may be a
// [MissingRatingError].
func (a *Analysis) Wear(ctx context.Context, q WearQuestion) (*Worn, error) {
	t := a.Train
	if err := q.in(t, q.Ranges...); err != nil {
		return nil, err
	}
	for _, s := range q.Shifts {
		if _, err := indices(t, s[:]...); err != nil {
			return nil, err
		}
	}
	var err error
	if q.Torques, err = torques(t, q.Torques); err != nil {
		return nil, err
	}
	if err := cmp.Or(number("rpm", q.RPM, above0), number("time", q.Seconds, above0), rampsGiven(t, "release", q.Release),
		rampsGiven(t, "apply", q.Apply)); err != nil {
		return nil, err
	}
	x := &Worn{
		Schema: "tieup.wear/1", Units: wornUnits, Train: t, Faulted: q.faulted(t), RPM: q.RPM, Seconds: q.Seconds,
		Rated: q.Torques.Scale.Rated.Float(), Torque: q.Torques.Available.Float(),
	}
	x.Above = kinematics.Map(q.Controls(), reading.ControlFault)
	ranges := q.Ranges
	for i := range t.Ranges {
		if q.Ranges == nil {
			ranges = append(ranges, &t.Ranges[i])
		}
	}
	if q.Shifts == nil {
		q.Shifts = a.neighbours(ranges)
	}
	if err := transient.Unstated(t); err != nil && len(q.Shifts) > 0 {
		x.Unplayed = append(x.Unplayed, reading.WearShifts+": "+err.Error())
		q.Shifts = nil
	}
	query := wear.Query{Available: q.Torques.Available}
	if query.Ratings, err = a.ratings(ctx, &q.Torques); err != nil {
		return nil, err
	}
	for i, r := range query.Ratings {
		if r.AtLeast && r.Known() {
			x.more = append(x.more, t.Couplings[i].Name)
		}
	}
	var failed error
	err = solve.Each(ctx, "ranges and shifts", len(ranges)+len(q.Shifts), func(i int) {
		if i < len(ranges) {
			failed = cmp.Or(failed, a.wearRange(x, &q, ranges[i], query))
		} else {
			s := q.Shifts[i-len(ranges)]
			a.wearShift(ctx, x, &q, s[0], s[1])
		}
	})
	if err = cmp.Or(failed, err); err != nil {
		return nil, err
	}
	x.rank(a)
	x.say(a, &q, ranges)
	return x, nil
}

// neighbours lists the shifts within positions between some ranges.
func (a *Analysis) neighbours(ranges []*kinematics.Range) [][2]*kinematics.Range {
	var list [][2]*kinematics.Range
	w := a.workers.take()
	defer a.workers.put(w)
	for _, p := range w.shifts().Pairs() {
		from, to := &a.Train.Ranges[p.From], &a.Train.Ranges[p.To]
		if !p.Selector && slices.Contains(ranges, from) && slices.Contains(ranges, to) {
			list = append(list, [2]*kinematics.Range{from, to})
		}
	}
	return list
}

// motion gives the loads of a motion their units.
func (x *Worn) motion(m *wear.Motion) WornMotion {
	y := WornMotion{
		Kind: m.Kind.String(), Range: m.Range.Name, Needs: document.If(m.Needs.Float(), true), Happens: m.Happens,
		Says: reading.WearMotion(m.Range, m.Kind),
	}
	whole := m.Whole().Float()
	speed := x.RPM * 2 * math.Pi / 60 // rad/s
	for i, l := range m.Loads {
		if l.Heat.Max.Sign() == 0 && l.Torque.Sign() == 0 {
			continue
		}
		scale := func(i exact.Interval, by float64) Spread { return Spread{i.Min.Float() * by, i.Max.Float() * by} }
		y.Loads.Add(reading.WearPart(x.Train, i), &WornLoad{
			Slip: scale(l.Slip, x.RPM), Torque: l.Torque.Float(), Power: scale(l.Heat, speed),
			Heat:  scale(l.Heat, speed*x.Seconds),
			Share: l.Heat.Max.Float() / whole, coupling: i,
		})
	}
	return y
}

// wearRange adds the motions of a range with the faults.
func (a *Analysis) wearRange(x *Worn, q *WearQuestion, r *kinematics.Range, torques wear.Query) error {
	motions, err := wear.Motions(a.system, r, q.Faults, torques)
	for i := range motions {
		if m := &motions[i]; m.AtLeast {
			x.Unplayed = append(x.Unplayed, reading.WearMotion(m.Range, m.Kind)+": what slips is "+reading.SlipOpen)
		} else {
			x.Motions = append(x.Motions, x.motion(m))
		}
	}
	return err
}

// wearShift plays a shift with the faults, beside the timed one.
func (a *Analysis) wearShift(ctx context.Context, x *Worn, q *WearQuestion, from, to *kinematics.Range) {
	play := PlayQuestion{From: from, To: to, Condition: q.Condition, Ratings: &Ratings{
		Rated: q.Torques.Scale.Rated.Float(), Reserve: q.Torques.Reserve, Given: q.Torques.Given,
	}, Release: changing(from, to, q.Release, false), Apply: changing(from, to, q.Apply, true)}
	p, err := a.Play(ctx, play)
	if err != nil {
		x.Unplayed = append(x.Unplayed, reading.WearShift(from, to)+": "+err.Error())
		return
	}
	y := WornMotion{Kind: "shift", Range: from.Name, To: Name(to.Name), Happens: true, Says: reading.WearShift(from, to)}
	whole, extra := 0.0, false
	for _, e := range p.Elements {
		whole += e.Value.Heat
	}
	for name, e := range p.Elements.All() {
		i, _ := x.Train.Coupling(name)
		l := &WornLoad{
			Slip: Spread{0, e.PeakSlip}, Torque: max(math.Abs(e.Torque.Min), math.Abs(e.Torque.Max)),
			Power: Spread{0, e.PeakPower},
			Heat:  Spread{e.Heat, e.Heat}, coupling: i,
		}
		if e.HeatTimed != nil {
			l.Sound = *e.HeatTimed
		}
		if whole > 0 {
			l.Share = e.Heat / whole
		}
		extra = extra || l.Extra() > leastHeat
		y.Loads.Add(reading.WearPart(x.Train, i), l)
	}
	if extra {
		x.Motions = append(x.Motions, y)
	}
}

// leastHeat, J, is less than matters to any lining.
const leastHeat = 1

// changing are the ramps of those elements that the shift changes.
func changing(from, to *kinematics.Range, ramps map[int]kinematics.Ramp, applies bool) map[int]kinematics.Ramp {
	here := map[int]kinematics.Ramp{}
	for i, ramp := range ramps {
		if from.Applies(i) != to.Applies(i) && to.Applies(i) == applies {
			here[i] = ramp
		}
	}
	return here
}

// rank finds for every part the motion that harms it most, and sorts the parts.
func (x *Worn) rank(a *Analysis) {
	parts := map[int]*WornPart{}
	for _, m := range x.Motions {
		for name, l := range m.Loads.All() {
			p := WornPart{Part: name, Where: m.Says, Happens: m.Happens, coupling: l.coupling}
			if extra := l.Extra(); extra > leastHeat {
				p.Heat, p.Share = l.Heat.Max, l.Share
			} else if p.Overload = x.overload(a, &m, l); p.Overload <= 1 {
				continue
			}
			if old := parts[l.coupling]; old == nil || worse(&p, old) < 0 {
				parts[l.coupling] = &p
			}
		}
	}
	for _, p := range parts {
		x.Parts = append(x.Parts, *p)
	}
	kinematics.Sort(x.Parts, func(a, b WornPart) int { return cmp.Or(worse(&a, &b), a.coupling-b.coupling) })
}

// worse sorts by harm: heat before overload, what the torque available does before
// what more of it would do, the most first.
func worse(a, b *WornPart) int {
	first := func(a, b bool) int {
		switch {
		case a == b:
			return 0
		case a:
			return -1
		}
		return 1
	}
	return cmp.Or(first(a.Heated(), b.Heated()), first(a.Happens, b.Happens), cmp.Compare(b.Heat, a.Heat),
		cmp.Compare(b.Overload, a.Overload))
}

// overload is the torque of what does not slip over the largest one in the healthy
// ranges; 0 for what slips, and for a load of a shift, in which torques are shocks.
func (x *Worn) overload(a *Analysis, m *WornMotion, l *WornLoad) float64 {
	c := &x.Train.Couplings[l.coupling]
	healthy := a.system.Peaks()[l.coupling].Torque.Float() * x.Rated
	if m.Kind == "shift" || a.system.Peaks()[l.coupling].AtLeast || c.Kind.Friction() || healthy == 0 {
		return 0
	}
	return l.Torque / healthy
}

// say adds what to mend, what is assumed, and cautions.
func (x *Worn) say(a *Analysis, q *WearQuestion, ranges []*kinematics.Range) {
	h := diagnosis.Hypothesis{Kind: diagnosis.Faulty, Faults: q.Faults}
	if above := q.Controls(); above != nil {
		h.Kind, h.Controls = diagnosis.Controlled, above
		h.Own = slices.DeleteFunc(slices.Clone(q.Faults), func(f kinematics.Fault) bool { return f.Cause != "" })
	}
	x.Mend = h.Causes(x.Train)
	x.Look = diagnosis.Merged(x.Mend).Lines()
	x.Assumptions = reading.WearAssumptions(x.Train, x.RPM, x.Seconds, q.Torques.Available, len(q.Shifts) > 0)
	if x.more != nil {
		x.Assumptions = append(x.Assumptions, reading.CanHoldMore(x.more))
	}
	w := a.workers.take()
	defer a.workers.put(w)
	x.Outcomes, x.Cautions = w.cautions(q.Condition, ranges...)
}

// AssumedRated is the input torque, N m, that a train is taken to be made for where
// nobody says it.
const AssumedRated = transient.AssumedRated

// Unharmed says that nothing is harmed.
func (*Worn) Unharmed() string {
	return "Nothing takes more heat than it should, in any of the motions and shifts looked at."
}

// Says tells how the part is harmed, and where.
func (x *WornPart) Says() string {
	text := x.Part + ": "
	if x.Heated() {
		text += shareOfHeat(x.Share) + " in " + x.Where
	} else {
		text += fmt.Sprintf("%.1f times its largest healthy torque in %s", x.Overload, x.Where)
	}
	if !x.Happens {
		text += ", if it is forced"
	}
	return text
}

// shareOfHeat says how much of the heat of a motion goes to a part.
func shareOfHeat(share float64) string {
	if share > 0.995 {
		return "all of the heat"
	}
	return fmt.Sprintf("%.0f %% of the heat", 100*share)
}

// Forced names the motions that only happen if they are forced, "" if none does.
func (w *Worn) Forced() string {
	var forced []string
	for i := range w.Motions {
		if m := &w.Motions[i]; !m.Happens {
			forced = append(forced, m.Says)
		}
	}
	if forced == nil {
		return ""
	}
	return fmt.Sprintf("More than the %.0f N m at the input are needed, so only if it is forced: %s.", w.Torque,
		strings.Join(forced, "; "))
}
