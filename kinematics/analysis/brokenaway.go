package analysis

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/certify/verify"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Scale is the unit of torques: N m, or multiples of the rated input torque.
type Scale = solve.Scale

// ScaleOf returns the scale that a train file gives.
func ScaleOf(t *kinematics.Train) Scale { return solve.ScaleOf(t) }

// NewtonMetresOf returns the scale of N m, with the rated torque of a train file, 0 if it
// gives none.
func NewtonMetresOf(t *kinematics.Train) Scale {
	return Scale{NewtonMetres: true, Rated: solve.Decimal(t.RatedTorque)}
}

// MissingRatingError is the error of an element of which nobody knows what it holds.
type MissingRatingError = solve.MissingRatingError

// Torques are what elements hold, what drives, and what resists. Those of a question that
// leaves them out are assumed: see [AssumedTorques].
type Torques = reading.BreakawayQuery

// A BreakawayQuestion asks what gives first in a range.
type BreakawayQuestion struct {
	Range *kinematics.Range
	Condition
	Torques
}

// BrokenAway is what gives first in a range whose input is turned, or whose vehicle
// is rolled, and at what torque. Its document is tieup.breakaway/1; torques are on
// its scale.
type BrokenAway struct {
	Schema      string                 `json:"schema"`
	Units       Named[string]          `json:"units"`
	Train       *kinematics.Train      `json:"train"`
	Range       string                 `json:"range"`
	Apply       List[string]           `json:"apply"`
	Faulted                            // those that act in the range
	Rated       *exact.Frac            `json:"rated_torque"` // N m; nil where torques are multiples of it
	Available   Torque                 `json:"available"`
	Resistance  Torque                 `json:"resistance"`
	Elements    Named[RatedElement]    `json:"elements"`
	Proved      bool                   `json:"proved"` // every answer that moves
	Standing    Standing               `json:"standing"`
	Stretches   List[BreakawayStretch] `json:"stretches"`
	SlipFree    *SlipFree              `json:"slip_free"` // nil if something slips from the first
	Rolling     List[Rolled]           `json:"rolling"`
	Certificate Proof                  `json:"certificate"`
	Cautions    List[string]           `json:"cautions"`

	Hazards []reading.Hazard `json:"-"`
	Unit    Unit             `json:"-"`
}

// Resists says how the vehicle stands whose input is turned.
func (x *BrokenAway) Resists() string {
	resists := "the wheels free"
	if r := x.Resistance.Torque; r.Sign() != 0 {
		resists = "the vehicle resisting with " + x.Unit.Words(r) + " at the output"
	}
	return "standing, " + resists + ": the input is turned forward"
}

// Held says what the input does with the wheels held, "" where something slips then.
func (x *BrokenAway) Held() string {
	if n := len(x.Stretches); n == 0 || x.Stretches[n-1].Slope.Sign() <= 0 {
		return ""
	}
	return "With the wheels held nothing can slip: the input does not turn."
}

// Shared says that a load of any answer can be shared in several ways, "" where none can.
func (x *BrokenAway) Shared() string {
	if x.Standing.Shared || slices.ContainsFunc(x.Rolling, func(r Rolled) bool { return r.Shared }) {
		return "Where several can hold the same load, this is one of the ways in which they can share it."
	}
	return ""
}

// BreakawayNote says what slips and ratios are of, and what the road can hold.
const BreakawayNote = "Slips are turns per turn of the end that is moved; ratio = input speed / output speed. " +
	"Where the road gives less than drags at the output, the wheels lock."

// A Unit is what torques are counted in.
type Unit struct{ Scale }

// NewtonMetres says whether that is N m, else multiples of the rated input torque.
func (u Unit) NewtonMetres() bool { return u.Scale.NewtonMetres }

// Name is "N m", or "multiples of the rated input torque".
func (u Unit) Name() string { return reading.TorqueUnit(u.Scale) }

// Short is what stands behind a number in a table: "N m" or "x rated".
func (u Unit) Short() string { return reading.ShortUnit(u.Scale) }

// Number writes a torque without its unit.
func (u Unit) Number(f exact.Frac) string { return reading.TorqueNumber(u.Scale, f) }

// Words writes a torque with its unit.
func (u Unit) Words(f exact.Frac) string { return reading.Torque(u.Scale, f) }

// Torque is a torque as a number and exactly.
type Torque struct {
	Torque exact.Frac `json:"torque"`
	Exact  exact.Text `json:"torque_exact"`
}

func torqueOf(f exact.Frac) Torque { return Torque{f, exact.Text{Frac: f}} }

// RatedElement is what an element does in the range and can hold.
type RatedElement struct {
	Here string
	// HoldsText and OriginText say what it holds and where that is from, "" for nothing.
	// Idle says that it is released and holds nothing.
	HoldsText, OriginText string
	Idle                  bool

	breakaway *reading.Breakaway
	id        int // index into Train.Couplings
}

// MarshalJSON writes the element by names; torques and slips are of the first that it is
// between. "carried" is the largest healthy torque, in "range", of an assumed rating,
// "at_least" that it can hold more, "holds" null for what holds nothing.
func (e RatedElement) MarshalJSON() ([]byte, error) {
	b := e.breakaway
	c, r := &b.Train.Couplings[e.id], &b.Ratings[e.id]
	assumed := r.Origin == solve.Assumed
	var in Name
	if assumed {
		in = Name(r.Range)
	}
	var holds *exact.Bound
	if capacity := b.Grip.Capacity[e.id]; capacity != nil {
		holds = document.If(exact.Finite(exact.FromRat(capacity)), true)
	} else {
		holds = document.If(exact.Infinite(+1), b.Grip.State.Modes[e.id] != kinematics.Open)
	}
	return document.Object(
		"here", e.Here, "between", reading.Bodies(b.Train, []kinematics.MemberID{c.A, c.B}),
		"origin", Name(r.Origin.String()), "rating", document.If(r.Torque, r.Known()),
		"carried", document.If(r.Carried, assumed), "reserve", document.If(r.Reserve, assumed), "range", in,
		"at_least", r.AtLeast, "holds", holds,
	).MarshalJSON()
}

// A Mechanism is what gives way, and what proves it: see [solve.Mechanism].
type Mechanism struct {
	*solve.Mechanism
	train *kinematics.Train
}

// Moves says whether something gives way.
func (m *Mechanism) Moves() bool { return m.End == solve.Moves }

// Jams says whether nothing can slip.
func (m *Mechanism) Jams() bool { return m.End == solve.Jams }

// SlipsNothing says whether the input, or the vehicle, moves without a slip.
func (m *Mechanism) SlipsNothing() bool {
	return !m.AtLeast && slices.ContainsFunc(m.Optima, func(o solve.MechanismMotion) bool { return len(o.Slips) == 0 })
}

// object is the mechanism by names.
func (m *Mechanism) object() Named[any] {
	x := document.Object("end", m.End)
	input, output := exact.None, exact.None
	var duals Named[exact.Frac]
	if m.Moves() {
		x = append(x, document.Object("torque", m.Torque, "torque_exact", exact.Text{Frac: m.Torque})...)
		if !m.AtLeast {
			input, output = m.Input, m.Output
		}
		for i, d := range m.Dual {
			if i < m.train.ElementCount || d.Sign() != 0 {
				duals.Add(m.train.Couplings[i].Name, d)
			}
		}
	}
	return append(x, document.Object(
		"proved", m.Proved, "input", input, "output", output, "optima", optima(m.train, m.Optima, m.AtLeast),
		"more_optima", m.More, "at_least", m.AtLeast, "duals", duals, "shared", m.Shared,
		"input_torque", document.If(m.InputTorque, m.Moves()), "output_torque", document.If(m.OutputTorque, m.Moves()),
	)...)
}

// Standing is what turns the input of the standing vehicle.
type Standing struct {
	Mechanism
	Direction reading.Direction
	Reads     []string
	// Gives and Heat say what slips and where the power goes.
	Gives, Heat string

	breakaway *reading.Breakaway
}

// MarshalJSON writes the answer; its ratio is of the one motion that all of least cost agree on.
func (s Standing) MarshalJSON() ([]byte, error) {
	var ratio Ratio
	if _, speeds := s.breakaway.Goes(); len(speeds) == 1 {
		ratio = document.RatioOf(speeds[0].Inv(), true)
	}
	return append(s.object(), document.Object("turns", s.breakaway.Turns(), "direction", s.Direction,
		"ratio", ratio.Ratio, "ratio_exact", ratio.Exact, "reads", s.Reads)...).MarshalJSON()
}

// A BreakawayStretch is a stretch of the vehicle's resistance over which the same gives way.
type BreakawayStretch struct {
	*solve.Stretch
	// Gives and Vehicle say what slips and what the vehicle does.
	Gives, Vehicle string

	direction reading.Direction
	train     *kinematics.Train
}

// MarshalJSON writes the stretch with what slips by names.
func (s BreakawayStretch) MarshalJSON() ([]byte, error) {
	return document.Object(
		"resistance_from", s.From, "resistance_to", s.To, "at_from", torqueOf(s.Torque), "torque_per_resistance", s.Slope,
		"direction", s.direction, "optima", optima(s.train, s.Optima, s.AtLeast), "more_optima", s.More,
		"at_least", s.AtLeast,
	).MarshalJSON()
}

// Says is what slips over the stretch, in each of the motions that cost as little, and how
// the output turns: "forward or direct slips, output at rest". Write writes a speed.
func (s *BreakawayStretch) Says(write func(exact.Frac) string) string {
	if s.AtLeast {
		return "at least so much; what slips is " + reading.SlipOpen
	}
	var sets []string
	low, high := s.Optima[0].Output, s.Optima[0].Output
	for _, m := range s.Optima {
		sets = kinematics.Union(sets, cmp.Or(kinematics.And(s.train.CouplingNames(m.Slips)), reading.NothingSlips))
		if m.Output.Cmp(low) < 0 {
			low = m.Output
		} else if m.Output.Cmp(high) > 0 {
			high = m.Output
		}
	}
	verb := " slips, "
	if len(sets) == 1 && len(s.Optima[0].Slips) > 1 {
		verb = " slip, "
	}
	text := strings.Join(sets, " or ") + verb
	switch {
	case low.Cmp(high) == 0 && low.Sign() == 0:
		return text + "output at rest"
	case low.Cmp(high) == 0:
		return text + "output " + write(low)
	case low.Sign() < 0 && high.Sign() > 0:
		return text + "output either way"
	}
	return text + "output " + write(low) + " to " + write(high)
}

// SlipFree is up to which resistance, and input torque, nothing slips.
type SlipFree struct {
	Resistance exact.Bound `json:"resistance"`
	Torque     exact.Bound `json:"input_torque"`
	AtLeast    bool        `json:"at_least"`

	Says string `json:"-"` // "" where there is no limit
}

// Rolled is what rolling the vehicle one way meets.
type Rolled struct {
	Mechanism
	Carry List[string]
	// Reads says what rolling meets, Name how the vehicle is rolled, Gives what slips, Turns how
	// the engine does.
	Reads, Name, Gives, Turns string

	forward bool
	engine  exact.Frac // its torque
}

// MarshalJSON writes the answer by names.
func (r Rolled) MarshalJSON() ([]byte, error) {
	direction := "backward"
	if r.forward {
		direction = "forward"
	}
	return slices.Concat(document.Object("direction", direction, "engine_torque", r.engine), r.object(),
		document.Object("carry_torque", r.Carry, "reads", r.Reads)).MarshalJSON()
}

// LockedBy names the elements that lock the wheels, or contradict one another.
func (r *Rolled) LockedBy() string {
	by := strings.Join(r.Carry, ", ")
	if r.Jams() && len(r.Carry) > 1 {
		by += " contradict one another"
	}
	return by
}

// Breakaway answers what gives first in a range. The error may be a
// [MissingRatingError].
func (a *Analysis) Breakaway(ctx context.Context, q BreakawayQuestion) (*BrokenAway, error) {
	if err := q.in(a.Train, q.Range); err != nil {
		return nil, err
	}
	var err error
	if q.Torques, err = torques(a.Train, q.Torques); err != nil {
		return nil, err
	}
	if _, err := a.system.FindPeaks(ctx); err != nil {
		return nil, err
	}
	b, err := reading.BreakawayOf(ctx, a.system, q.Range, q.Faults, q.Torques)
	if err = cmp.Or(ctx.Err(), err); err != nil {
		return nil, err
	}
	t := a.Train
	x := &BrokenAway{
		Schema: "tieup.breakaway/1", Units: breakawayUnits(b.Scale), Train: t, Range: q.Range.Name,
		Apply:     t.CouplingNames(q.Range.Apply),
		Faulted:   q.at(q.Range).faulted(t),
		Rated:     document.If(b.Scale.Rated, b.Scale.NewtonMetres && b.Scale.Rated.Sign() > 0),
		Available: torqueOf(b.Available), Resistance: torqueOf(b.Resistance), Elements: ratedElements(b), Proved: proved(b),
		Standing: standing(b), SlipFree: slipFree(b), Unit: Unit{b.Scale},
	}
	for i := range b.Chain {
		s := &b.Chain[i]
		way, _ := b.Course(s)
		x.Stretches = append(x.Stretches, BreakawayStretch{s, b.StretchGives(s), b.Stretch(s), way, t})
	}
	x.Rolling = kinematics.Map(b.Rolls, func(r reading.Roll) Rolled { return rolled(b, r) })
	x.Certificate = Proof{func() *verify.Certificate { return broken(a.system, b) }}
	w := a.workers.take()
	defer a.workers.put(w)
	x.Outcomes, x.Hazards = w.hazards(q.Condition, q.Range)
	x.Hazards = append(x.Hazards, a.breakawayHazards(ctx, q.Range, q.Condition, q.Torques, b)...)
	x.Cautions = reading.Cautions(t.Use, x.Hazards)
	return x, ctx.Err()
}

// breakawayHazards compares what a range, and all else that it can come to, gives way to with
// the healthy range. What is found already is given, else nil. What holds with what nobody
// knows is not compared.
func (a *Analysis) breakawayHazards(
	ctx context.Context, r *kinematics.Range, c Condition, torques Torques, found *reading.Breakaway,
) []reading.Hazard {
	var healthy *reading.Breakaway
	var hazards []reading.Hazard
	for k, way := range c.ways(r) {
		if len(way.at(r).Faults) == 0 {
			continue
		}
		if healthy == nil {
			if healthy, _ = reading.BreakawayOf(ctx, a.system, r, nil, torques); healthy == nil {
				return nil
			}
		}
		b := found
		if k > 0 || found == nil {
			b, _ = reading.BreakawayOf(ctx, a.system, r, way.Faults, torques)
		}
		if b != nil {
			hazards = append(hazards, reading.BreakawayHazards(healthy, b)...)
		}
	}
	return hazards
}

func breakawayUnits(s Scale) Named[string] {
	return document.Texts(
		"torque, available, resistance, rating, holds, duals", reading.TorqueUnit(s),
		"input, output, slips", "turns per turn of the forced end: "+
			"the input standing, the output rolling; + as the input turns",
		"heat", "torque times slip speed",
		"ratio", "input speed / output speed",
	)
}

func ratedElements(b *reading.Breakaway) Named[RatedElement] {
	var list Named[RatedElement]
	for i, c := range b.Train.Couplings[:b.Train.ElementCount] {
		e := RatedElement{Here: b.Here(i), HoldsText: b.Holds(i), Idle: b.Idle(i), breakaway: b, id: i}
		if b.Grip.Capacity[i] != nil {
			e.OriginText = b.Origin(i)
		}
		list.Add(c.Name, e)
	}
	return list
}

// proved says whether every answer that moves is proved.
func proved(b *reading.Breakaway) bool {
	open := func(m *solve.Mechanism) bool { return m.End == solve.Moves && !m.Proved }
	return !open(b.Standing) && !slices.ContainsFunc(b.Rolls, func(r reading.Roll) bool { return open(r.Break) })
}

// optima are the motions of least cost, none where others may be.
func optima(t *kinematics.Train, motions []solve.MechanismMotion, atLeast bool) List[Named[any]] {
	if atLeast {
		return nil
	}
	return kinematics.Map(motions, func(m solve.MechanismMotion) Named[any] {
		var slips, heat Named[exact.Frac]
		for k, i := range m.Slips {
			slips.Add(t.Couplings[i].Name, m.Slip[i])
			heat.Add(t.Couplings[i].Name, m.Heat[k])
		}
		return document.Object("input", m.Input, "output", m.Output, "output_exact", exact.Text{Frac: m.Output},
			"slips", slips, "heat", heat)
	})
}

func standing(b *reading.Breakaway) Standing {
	s := Standing{Mechanism: Mechanism{b.Standing, b.Train}, Reads: []string{b.Needs(), b.Against(), b.Vehicle()},
		breakaway: b}
	s.Direction, _ = b.Goes()
	if s.Moves() {
		s.Gives, s.Heat = b.Gives(b.Standing, " turns per input turn"), b.Heat()
	}
	return s
}

func slipFree(b *reading.Breakaway) *SlipFree {
	resistance, torque, limited, ok := b.SlipFree()
	switch {
	case !ok:
		return nil
	case !limited:
		return &SlipFree{Resistance: exact.Infinite(+1), Torque: exact.Infinite(+1)}
	}
	s := &SlipFree{Resistance: exact.Finite(resistance), Torque: exact.Finite(torque), AtLeast: b.Grip.AtLeast()}
	if torque.Sign() > 0 {
		s.Says = "up to " + reading.AtLeast(s.AtLeast) + reading.Torque(b.Scale, torque) + " at the input, " +
			reading.Torque(b.Scale, resistance) + " at the output"
	}
	return s
}

func rolled(b *reading.Breakaway, r reading.Roll) Rolled {
	x := Rolled{
		Mechanism: Mechanism{r.Break, b.Train}, Carry: b.Train.CouplingNames(r.LockedBy), Reads: b.Does(r),
		Name: r.Name(), Turns: b.Engine(r), forward: r.Forward, engine: exact.Int(0),
	}
	if x.Moves() {
		x.Gives = b.Gives(r.Break, "")
	}
	if r.Powered {
		x.engine = b.Available
	}
	return x
}

// Chains are the input torques that turn ranges against the resistance of the
// vehicle, healthy and under faults.
type Chains struct {
	Train *kinematics.Train
	Question
	Torques Torques
	Unit    Unit
	Assumed []string // friction elements whose rating is assumed
	AtLeast []string // those of them that can hold more: see [reading.CanHoldMore]
	Chains  []Chain

	Outcomes []RangeOutcomes // of ranges that can come to more
	Cautions []string
}

// A Chain is one range, healthy or under the faults that act in it.
type Chain struct {
	Range     *kinematics.Range
	Faulty    bool
	Stretches []BreakawayStretch
	Missing   string // why there are none: nothing can slip, or ratings are not known
}

// Chains answers how the torque that turns ranges grows with the resistance of the
// vehicle.
func (a *Analysis) Chains(ctx context.Context, q Question, given Torques) (*Chains, error) {
	q, err := q.of(a.Train)
	if err != nil {
		return nil, err
	}
	if given, err = torques(a.Train, given); err != nil {
		return nil, err
	}
	c := &Chains{Train: a.Train, Question: q, Torques: given, Unit: Unit{given.Scale}}
	ratings, err := a.ratings(ctx, &given)
	if err != nil {
		return nil, err
	}
	for i, r := range ratings {
		if r.Origin == solve.Assumed {
			c.Assumed = append(c.Assumed, a.Train.Couplings[i].Name)
		}
		if r.AtLeast && r.Known() {
			c.AtLeast = append(c.AtLeast, a.Train.Couplings[i].Name)
		}
	}
	var failed error
	var hazards []reading.Hazard
	err = solve.Each(ctx, "ranges", len(q.Ranges), func(i int) {
		r := &q.Ranges[i]
		hazards = append(hazards, a.breakawayHazards(ctx, r, q.Condition, given, nil)...)
		sets := [][]kinematics.Fault{nil}
		if here := kinematics.Acting(q.Faults, r); len(here) > 0 {
			sets = append(sets, here)
		}
		for _, faults := range sets {
			chain, err := a.chain(r, faults, ratings)
			failed = cmp.Or(failed, err)
			c.Chains = append(c.Chains, chain)
		}
	})
	if err = cmp.Or(err, failed); err != nil {
		return nil, err
	}
	w := a.workers.take()
	defer a.workers.put(w)
	outcomes, others := w.hazards(q.Condition, pointers(q.Ranges)...)
	c.Outcomes, c.Cautions = outcomes, reading.Cautions(a.Train.Use, append(others, hazards...))
	return c, nil
}

// ratings are what elements hold.
func (a *Analysis) ratings(ctx context.Context, q *Torques) ([]solve.Rating, error) {
	if _, err := a.system.FindPeaks(ctx); err != nil {
		return nil, err
	}
	return a.system.Ratings(q.Scale, q.Reserve, q.Given), nil
}

// chain finds the chain of a range under faults.
func (a *Analysis) chain(r *kinematics.Range, faults []kinematics.Fault, ratings []solve.Rating) (Chain, error) {
	c := Chain{Range: r, Faulty: len(faults) > 0}
	grip, err := a.system.Capacities(r, faults, ratings)
	var missing *solve.MissingRatingError
	if errors.As(err, &missing) {
		c.Missing = missing.Error()
		return c, nil
	}
	if err != nil {
		return c, err
	}
	c.Stretches = kinematics.Map(a.system.Stretches(grip), func(s solve.Stretch) BreakawayStretch {
		return BreakawayStretch{Stretch: &s, train: a.Train}
	})
	if len(c.Stretches) == 0 {
		c.Missing = "nothing can slip, something must break"
	}
	return c, nil
}
