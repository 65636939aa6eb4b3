package reading

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// A BreakawayQuery is what is asked of a range besides its faults. Torques are on
// its scale.
type BreakawayQuery struct {
	Scale   solve.Scale
	Reserve exact.Frac         // of assumed ratings
	Given   map[int]exact.Frac // ratings by coupling that override the file
	// Available is the input torque that there is; with Powered the vehicle is
	// also rolled forward and backward with it at the input.
	Available  exact.Frac
	Powered    bool
	Resistance exact.Frac // of the standing vehicle, at the output
}

// A Breakaway says what gives first in a range whose input is turned, or whose
// vehicle is rolled.
type Breakaway struct {
	BreakawayQuery
	Train    *kinematics.Train
	Range    *kinematics.Range
	Faults   []kinematics.Fault // those that act in the range
	Ratings  []solve.Rating     // parallel to Train.Couplings
	Grip     *solve.Capacities
	Standing *solve.Mechanism
	Chain    []solve.Stretch // of the standing answer, as the vehicle resists more
	Rolls    []Roll

	sys *solve.System
}

// A Roll is a vehicle rolled one way.
type Roll struct {
	Forward bool
	Powered bool // with the available torque at the input, else with closed throttle
	Break   *solve.Mechanism
	// LockedBy are the elements that carry torque, or, where it jams, those that
	// contradict each other: one of them must break.
	LockedBy []int
}

// BreakawayOf finds what gives first in a range under faults. The error is a
// [solve.MissingRatingError].
func BreakawayOf(ctx context.Context, sys *solve.System, r *kinematics.Range, faults []kinematics.Fault,
	q BreakawayQuery) (*Breakaway, error) {
	b := &Breakaway{BreakawayQuery: q, sys: sys, Train: sys.Train, Range: r,
		Faults: kinematics.Acting(faults, r), Ratings: sys.Ratings(q.Scale, q.Reserve, q.Given)}
	var err error
	if b.Grip, err = sys.Capacities(r, faults, b.Ratings); err != nil {
		return nil, err
	}
	engines := []bool{false}
	if q.Powered {
		engines = append(engines, true)
	}
	steps, step := 2+2*len(engines), 0
	next := func() {
		solve.Report(ctx, "forced motions", step, steps)
		step++
	}
	next()
	b.Standing = sys.Standing(b.Grip, q.Resistance)
	next()
	b.Chain = sys.Stretches(b.Grip)
	for _, powered := range engines {
		for _, forward := range []bool{true, false} {
			next()
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			torque := exact.NewFrac(0, 1)
			if powered {
				torque = q.Available
			}
			roll := Roll{Forward: forward, Powered: powered, Break: sys.Rolling(b.Grip, forward, torque)}
			roll.LockedBy = b.lockedBy(ctx, sys, roll)
			b.Rolls = append(b.Rolls, roll)
		}
	}
	next()
	return b, nil
}

// lockedBy finds the elements that fight while the vehicle is rolled.
func (b *Breakaway) lockedBy(ctx context.Context, sys *solve.System, r Roll) []int {
	if r.Break.End == solve.Jams {
		rigid := b.Grip.State.Clone()
		for i, c := range b.Grip.Capacity {
			if c != nil {
				rigid.Modes[i] = kinematics.Open
			}
		}
		motive := solve.OutputBackward
		if r.Forward {
			motive = solve.OutputForward
		}
		var elements []int
		conflicts, _ := sys.Conflicts(ctx, rigid, motive, solve.Usual)
		for _, c := range conflicts {
			for _, i := range c.Carry {
				if i < b.Train.ElementCount {
					elements = kinematics.Union(elements, i)
				}
			}
		}
		slices.Sort(elements)
		return elements
	}
	return b.Loaded(r.Break)
}

// Loaded returns the elements that carry torque in an answer.
func (b *Breakaway) Loaded(k *solve.Mechanism) []int {
	var elements []int
	for i, d := range k.Dual {
		if d.Sign() != 0 && i < b.Train.ElementCount {
			elements = append(elements, i)
		}
	}
	return elements
}

// Turns says whether the available torque turns the input of the standing vehicle for
// certain.
func (b *Breakaway) Turns() bool { return b.mayTurn() && !b.Standing.AtLeast }

func (b *Breakaway) mayTurn() bool {
	return b.Standing.End == solve.Moves && b.Standing.Torque.Cmp(b.Available) <= 0
}

// A Direction is where a vehicle goes as the input turns.
type Direction string

// The directions. One is named only if all that costs as little agrees on it.
const (
	GoesForward  Direction = "forward"
	GoesBackward Direction = "backward"
	Stands       Direction = "stands"
	EitherWay    Direction = "either way"
	NotDriven    Direction = "not driven" // nothing holds it: it may stand or roll
	NotKnown     Direction = "not known"  // what slips can hold more than its rating
)

// Goes says where the standing vehicle goes, and the output speeds per input turn
// that all motions of least cost have: the one nearest to rest first.
func (b *Breakaway) Goes() (Direction, []exact.Frac) {
	out := b.Standing.Output
	switch {
	case b.Standing.End == solve.Jams:
		return Stands, nil
	case b.Standing.AtLeast:
		return NotKnown, nil
	case out.HasZero() && (out.Min.Inf != 0 || out.Max.Inf != 0):
		return NotDriven, nil
	}
	return b.goes(b.Standing.Optima)
}

func (b *Breakaway) goes(optima []solve.MechanismMotion) (Direction, []exact.Frac) {
	var speeds []exact.Frac
	forward, backward, rests := false, false, false
	for _, m := range optima {
		way := m.Output.Sign() * b.Train.Forward
		forward, backward, rests = forward || way > 0, backward || way < 0, rests || way == 0
		if !slices.ContainsFunc(speeds, func(f exact.Frac) bool { return f.Cmp(m.Output) == 0 }) {
			speeds = append(speeds, m.Output)
		}
	}
	kinematics.Sort(speeds, func(x, y exact.Frac) int { return x.Abs().Cmp(y.Abs()) })
	switch {
	case forward && !backward && !rests:
		return GoesForward, speeds
	case backward && !forward && !rests:
		return GoesBackward, speeds
	case rests && !forward && !backward:
		return Stands, nil
	}
	return EitherWay, nil
}

// Needs says what input torque turns the input of the standing vehicle.
func (b *Breakaway) Needs() string {
	switch k := b.Standing; {
	case k.End == solve.Jams:
		return "nothing can slip: no torque turns the input, something must break"
	case k.Torque.Sign() == 0:
		return "no torque"
	default:
		text := AtLeast(k.AtLeast) + Torque(b.Scale, k.Torque) + " at the input"
		if k.AtLeast {
			text += moreWays
		}
		return text
	}
}

const moreWays = ": a load can be shared in more ways than were looked at, and ratings follow from them"

// CanHoldMore says of elements that their ratings are known to be so much at least.
func CanHoldMore(names []string) string { return kinematics.And(names) + " can hold more" + moreWays }

// AtLeast is said before what can be larger.
func AtLeast(can bool) string {
	if can {
		return "at least "
	}
	return ""
}

// Against sets what is needed against what is available.
func (b *Breakaway) Against() string {
	text := Torque(b.Scale, b.Available) + ": "
	switch {
	case b.Turns():
		return text + "the input turns"
	case b.mayTurn():
		return text + "the input may turn"
	}
	text += "the input is held"
	if b.Train.Drive == kinematics.Converter {
		text += ", and the engine loaded as in a stall test"
	}
	return text
}

// Vehicle says where the standing vehicle goes.
func (b *Breakaway) Vehicle() string {
	way, speeds := b.Goes()
	text := b.courseText(way, speeds)
	if b.Standing.End != solve.Jams && !b.mayTurn() {
		text = "stands; with more torque: " + text
	}
	return text
}

// courseText says a course with its ratio, or ratios where several motions cost the same.
func (b *Breakaway) courseText(way Direction, speeds []exact.Frac) string {
	switch way {
	case GoesForward, GoesBackward:
		text := "driven " + string(way) + " at " + Ratio(speeds[0].Inv())
		if n := len(speeds); n > 1 {
			return text + " to " + Ratio(speeds[n-1].Inv())
		}
		if name := b.rangeAt(speeds[0]); name != "" && name != b.Range.Name {
			text += " (" + string(As) + " " + name + ")"
		}
		return text
	case EitherWay:
		return "either way: what could give first does not agree on one"
	case NotDriven:
		return "not driven: it may stand or roll"
	}
	return string(way)
}

// NothingSlips is said of a motion in which nothing slips.
const NothingSlips = "nothing"

// SlipOpen is said of a motion in which another element may slip than by the ratings.
const SlipOpen = "not known: what would slip can hold more than was found"

// rangeAt names a range that runs the output at a speed when healthy, this one
// first, "" if none does.
func (b *Breakaway) rangeAt(output exact.Frac) string {
	k := b.sys.Kernel()
	found := ""
	for i := range b.Train.Ranges {
		r := &b.Train.Ranges[i]
		o := k.Outcome(b.Train.In(r))
		if o.Drives() && o.OutputSpeed().Cmp(output) == 0 && r.Input == b.Range.Input && r.Output == b.Range.Output &&
			(found == "" || r == b.Range) {
			found = r.Name
		}
	}
	return found
}

// Gives says what slips in an answer that moves, and how fast: "direct at 1.90", with
// words for the unit behind each speed.
func (b *Breakaway) Gives(k *solve.Mechanism, unit string) string {
	return b.gives(k.Optima, unit, k.More, k.AtLeast)
}

// StretchGives says what slips over a stretch.
func (b *Breakaway) StretchGives(s *solve.Stretch) string {
	return b.gives(s.Optima, "", s.More, s.AtLeast)
}

// gives says what slips in motions that cost the same. One that only mixes others is left
// out; with more there are too many to be listed.
func (b *Breakaway) gives(optima []solve.MechanismMotion, unit string, more, atLeast bool) string {
	if atLeast {
		return SlipOpen
	}
	text := each(simplest(optima), func(m solve.MechanismMotion) string {
		shares := heatShares(m, exact.NewFrac(0, 1))
		var parts []string
		for k, i := range m.Slips {
			text := b.Train.Couplings[i].Name + " at " + slipSpeed(m.Slip[i]) + unit
			if len(m.Slips) > 1 {
				text += " (" + percent(shares[k]) + " of the heat)"
			}
			parts = append(parts, text)
		}
		if parts == nil {
			return NothingSlips
		}
		return kinematics.And(parts)
	})
	if more {
		text += ", or many others as well"
	}
	return text
}

// Heat says where the power of the standing vehicle's input goes: "direct 62 %,
// the wheels 38 %".
func (b *Breakaway) Heat() string {
	if b.Standing.AtLeast {
		return ""
	}
	return each(simplest(b.Standing.Optima), func(m solve.MechanismMotion) string {
		wheels := b.Resistance.Mul(m.Output.Abs())
		shares := heatShares(m, wheels)
		var parts []string
		rest := exact.NewFrac(1, 1)
		for k, i := range m.Slips {
			parts = append(parts, b.Train.Couplings[i].Name+" "+percent(shares[k]))
			rest = rest.Sub(shares[k])
		}
		if wheels.Sign() > 0 {
			parts = append(parts, "the wheels "+percent(rest))
		}
		return strings.Join(parts, ", ")
	})
}

// heatShares returns the share of the heat, with what goes elsewhere, of each
// element that slips.
func heatShares(m solve.MechanismMotion, elsewhere exact.Frac) []exact.Frac {
	total := elsewhere
	for _, h := range m.Heat {
		total = total.Add(h)
	}
	return kinematics.Map(m.Heat, func(h exact.Frac) exact.Frac { return h.Mul(total.Inv()) })
}

func percent(f exact.Frac) string { return fmt.Sprintf("%.0f %%", 100*f.Float()) }

// each says something of every motion, those that differ with "or" between them.
func each(optima []solve.MechanismMotion, say func(solve.MechanismMotion) string) string {
	var texts []string
	for _, m := range optima {
		texts = kinematics.Union(texts, say(m))
	}
	if len(texts) < 2 {
		return strings.Join(texts, "")
	}
	return strings.Join(texts, ", or ") + " (a tie)"
}

// simplest returns the motions in which no more elements slip than in another.
func simplest(optima []solve.MechanismMotion) []solve.MechanismMotion {
	subset := func(a, b []int) bool {
		return !slices.ContainsFunc(a, func(i int) bool { return !slices.Contains(b, i) })
	}
	var list []solve.MechanismMotion
	for _, m := range optima {
		if !slices.ContainsFunc(optima, func(o solve.MechanismMotion) bool {
			return len(o.Slips) < len(m.Slips) && subset(o.Slips, m.Slips)
		}) {
			list = append(list, m)
		}
	}
	return list
}

func slipSpeed(f exact.Frac) string { return fmt.Sprintf("%.2f", math.Abs(f.Float())) }

// SlipFree returns the vehicle's resistance and the input torque up to which
// nothing slips; there is a limit if limited, and ok is false if something slips
// from the first.
func (b *Breakaway) SlipFree() (resistance, torque exact.Frac, limited, ok bool) {
	for _, s := range b.Chain {
		if len(s.Optima[0].Slips) > 0 {
			return resistance, torque, true, ok
		}
		ok = true
		if s.To.Inf != 0 {
			return resistance, torque, false, ok
		}
		resistance, torque = s.To.Frac, s.AtEnd()
	}
	return resistance, torque, false, ok
}

// Course says where the vehicle goes over a stretch, as [Breakaway.Goes] does.
func (b *Breakaway) Course(s *solve.Stretch) (Direction, []exact.Frac) {
	if s.AtLeast {
		return NotKnown, nil
	}
	return b.goes(s.Optima)
}

// Stretch says in words what the vehicle does over a stretch.
func (b *Breakaway) Stretch(s *solve.Stretch) string { return b.courseText(b.Course(s)) }

// Name says how a vehicle is rolled.
func (r Roll) Name() string {
	text := "forward"
	if !r.Forward {
		text = "backward"
	}
	if r.Powered {
		text += ", under power"
	}
	return text
}

// Does says what rolling a vehicle meets.
func (b *Breakaway) Does(r Roll) string {
	switch k := r.Break; {
	case k.End == solve.Jams:
		return "locks: nothing can slip; something must break, or the wheels slide"
	case k.End == solve.RunsAway && k.AtLeast:
		return "the engine may not be held: then it runs up"
	case k.End == solve.RunsAway:
		return "the engine is not held: it runs up"
	case k.Torque.Sign() > 0:
		return "dragged with " + AtLeast(k.AtLeast) + TorqueCell(b.Scale, k.Torque)
	case k.Torque.Sign() < 0 && k.AtLeast:
		return "driven with at most " + TorqueCell(b.Scale, k.Torque.Neg()) + ", or dragged"
	case k.Torque.Sign() < 0:
		return "driven with " + TorqueCell(b.Scale, k.Torque.Neg())
	case k.AtLeast:
		return "perhaps dragged"
	}
	return "not dragged"
}

// Engine says how the engine turns while the vehicle is rolled.
func (b *Breakaway) Engine(r Roll) string {
	in := r.Break.Input
	switch {
	case r.Break.End != solve.Moves:
		return ""
	case r.Break.AtLeast:
		return string(NotKnown)
	case in.HasZero() && !in.IsZero():
		return "may stand"
	case in.IsZero():
		return "stands"
	}
	// Per turn of the output: the ratio, turned forward or backward.
	text := "turned forward at "
	if in.Min.Sign() < 0 {
		text = "turned backward at "
	}
	return text + Ratio(in.NearestZero())
}

// released is said of an element that the range does not apply.
const released = "released"

// Here says what an element does in the range: "applied", "weak 0.6", "stuck on".
func (b *Breakaway) Here(i int) string {
	c := &b.Train.Couplings[i]
	applied := slices.Contains(b.Range.Apply, i)
	words := released
	switch {
	case applied:
		words = "applied"
	case c.Kind == kinematics.OneWay && !c.Switched:
		words = "one-way"
	}
	for _, f := range b.Faults {
		if f.Coupling != i {
			continue
		}
		switch f.Kind {
		case kinematics.Weak:
			if applied {
				words = "weak " + f.Share.String()
			}
		case kinematics.Dragging:
			if !applied {
				words = "dragging " + f.Share.String()
			}
		case kinematics.Stuck:
			words = "stuck on"
			if f.Share.IsSet() {
				words = "stuck " + f.Share.String()
			}
		case kinematics.OpenF:
			words = "never holds"
		default:
			words = string(f.Kind)
		}
	}
	return words
}

// Idle says whether an element is released and holds nothing.
func (b *Breakaway) Idle(i int) bool {
	return b.Grip.State.Modes[i] == kinematics.Open && b.Here(i) == released
}

// Holds says what an element can hold here, "" for one that holds nothing.
func (b *Breakaway) Holds(i int) string {
	switch mode := b.Grip.State.Modes[i]; {
	case b.Grip.Capacity[i] != nil:
		return AtLeast(b.Ratings[i].AtLeast) + TorqueCell(b.Scale, exact.FromRat(b.Grip.Capacity[i]))
	case mode == kinematics.Locked:
		return "without limit"
	case mode != kinematics.Open:
		return "without limit, one way"
	}
	return ""
}

// Origin says where the rating of an element comes from: "assumed: 1.5 x 3.20
// carried in R".
func (b *Breakaway) Origin(i int) string {
	switch r := &b.Ratings[i]; r.Origin {
	case solve.Stated:
		return "given"
	case solve.InFile:
		return "the train file"
	case solve.Assumed:
		carried := TorqueNumber(b.Scale, r.Carried.Mul(b.Scale.Rated))
		if b.Scale.NewtonMetres {
			carried += " N m"
		}
		return "assumed: " + short(r.Reserve) + " x " + AtLeast(r.AtLeast) + carried + " carried in " + r.Range
	case solve.Unloaded:
		return "not known: no healthy range loads it"
	case solve.Unscaled:
		return "not known without the rated torque"
	}
	return ""
}

// short is a number as people write it: 1.5, 2.
func short(f exact.Frac) string { return fmt.Sprintf("%.4g", f.Float()) }

// BreakawayHazards compares what a faulty range gives way to with the healthy one,
// nil if that is not known. Whether the torque for it is there is not asked.
func BreakawayHazards(healthy, faulty *Breakaway) []Hazard {
	var found []Hazard
	if healthy == nil {
		return nil
	}
	before, _ := healthy.Goes()
	after, _ := faulty.Goes()
	if after != before && (after == GoesForward || after == GoesBackward || after == EitherWay || after == NotKnown) {
		found = append(found, Moves)
	}
	bound := faulty.Standing.End == solve.Jams || faulty.Standing.AtLeast ||
		faulty.Standing.Torque.Cmp(healthy.Standing.Torque) > 0
	if bound && healthy.Standing.End != solve.Jams {
		found = append(found, LetsGo)
	}
	for k, r := range faulty.Rolls {
		// As in Hazards: rolling the way it is driven, or either way if it is not.
		if r.Powered || before == GoesForward && !r.Forward || before == GoesBackward && r.Forward {
			continue
		}
		if locks(r.Break) && !locks(healthy.Rolls[k].Break) {
			found = append(found, Locks)
		}
	}
	return found
}

func locks(k *solve.Mechanism) bool { return k.End == solve.Jams || k.Torque.Sign() > 0 || k.AtLeast }

// AssumedRating says what the ratings are taken to be that are not given.
func AssumedRating(elements []string, reserve exact.Frac) string {
	return "Assumed, not given: the rating of " + kinematics.And(elements) + " is " +
		TorqueNumber(solve.Scale{}, reserve) + " times the largest torque that it carries in a healthy range."
}
