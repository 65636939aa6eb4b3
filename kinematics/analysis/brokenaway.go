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

// Torques are what elements hold, what drives, and what resists.
type Torques = reading.BreakawayQuery

// A BreakawayQuestion asks what gives first in a range.
type BreakawayQuestion struct {
	Range  *kinematics.Range
	Faults []kinematics.Fault
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

	Hazards []reading.Hazard   `json:"-"`
	Reading *reading.Breakaway `json:"-"` // the same in words
	Unit    Unit               `json:"-"`
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
	Here    string       `json:"here"`
	Between []string     `json:"between"` // torques and slips are of the first
	Origin  Name         `json:"origin"`  // of the rating, none for what does not slip
	Rating  *exact.Frac  `json:"rating"`
	Carried *exact.Frac  `json:"carried"` // the largest healthy torque, in Range, of an assumed rating
	Reserve *exact.Frac  `json:"reserve"`
	Range   Name         `json:"range"`
	AtLeast bool         `json:"at_least"` // loads can be shared in more ways than were looked at: it can hold more
	Holds   *exact.Bound `json:"holds"`    // nil for an element that holds nothing

	// HoldsText and OriginText say what it holds and where that is from, "" for nothing.
	// Idle says that it is released and holds nothing.
	HoldsText  string `json:"-"`
	OriginText string `json:"-"`
	Idle       bool   `json:"-"`
}

// A Mechanism is what gives way, and what proves it: see [solve.Mechanism].
type Mechanism struct {
	End          solve.MechanismEnd    `json:"end"`
	*Torque                            // nil unless something moves
	Proved       bool                  `json:"proved"`
	Input        exact.Interval        `json:"input"`
	Output       exact.Interval        `json:"output"`
	Optima       List[MechanismMotion] `json:"optima"`
	More         bool                  `json:"more_optima"` // there are too many to be listed: Optima is one
	AtLeast      bool                  `json:"at_least"`    // it needs so much at least; what slips is not known
	Duals        Named[exact.Frac]     `json:"duals"`
	Shared       bool                  `json:"shared"` // the load can be carried in several ways
	InputTorque  *exact.Frac           `json:"input_torque"`
	OutputTorque *exact.Frac           `json:"output_torque"`
}

// Moves says whether something gives way.
func (m *Mechanism) Moves() bool { return m.End == solve.Moves }

// Jams says whether nothing can slip.
func (m *Mechanism) Jams() bool { return m.End == solve.Jams }

// SlipsNothing says whether the input, or the vehicle, moves without a slip.
func (m *Mechanism) SlipsNothing() bool {
	return slices.ContainsFunc(m.Optima, func(o MechanismMotion) bool { return len(o.Slips) == 0 })
}

// A MechanismMotion is one of the motions that cost as little.
type MechanismMotion struct {
	Input       exact.Frac        `json:"input"`
	Output      exact.Frac        `json:"output"`
	OutputExact exact.Text        `json:"output_exact"`
	Slips       Named[exact.Frac] `json:"slips"`
	Heat        Named[exact.Frac] `json:"heat"`
}

// Standing is what turns the input of the standing vehicle.
type Standing struct {
	Mechanism
	Turns     bool              `json:"turns"` // with the torque available
	Direction reading.Direction `json:"direction"`
	Ratio                       // of the one motion that all of least cost agree on
	Reads     []string          `json:"reads"`

	// Gives and Heat say what slips and where the power goes.
	Gives string `json:"-"`
	Heat  string `json:"-"`
}

// A BreakawayStretch is a stretch of the vehicle's resistance over which the same gives way.
type BreakawayStretch struct {
	From      exact.Bound           `json:"resistance_from"`
	To        exact.Bound           `json:"resistance_to"`
	Torque    Torque                `json:"at_from"`
	Slope     exact.Frac            `json:"torque_per_resistance"`
	Direction reading.Direction     `json:"direction"`
	Optima    List[MechanismMotion] `json:"optima"`
	More      bool                  `json:"more_optima"`
	AtLeast   bool                  `json:"at_least"`

	// Gives and Vehicle say what slips and what the vehicle does.
	Gives   string `json:"-"`
	Vehicle string `json:"-"`
}

// AtEnd is the torque needed at the end of a stretch that has one.
func (s *BreakawayStretch) AtEnd() exact.Frac {
	return s.Torque.Torque.Add(s.Slope.Mul(s.To.Frac.Sub(s.From.Frac)))
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
		names := kinematics.Map(m.Slips, func(e Entry[exact.Frac]) string { return e.Name })
		sets = kinematics.Union(sets, cmp.Or(kinematics.And(names), reading.NothingSlips))
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
	Direction string     `json:"direction"`
	Engine    exact.Frac `json:"engine_torque"`
	Mechanism
	Carry List[string] `json:"carry_torque"`
	Reads string       `json:"reads"`

	// Name says how the vehicle is rolled, Gives what slips, Turns how the engine does.
	Name  string `json:"-"`
	Gives string `json:"-"`
	Turns string `json:"-"`
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
	if q.Range == nil {
		return nil, errNoRange
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
		Apply:   t.CouplingNames(q.Range.Apply),
		Faulted: faulted(t, b.Faults), Rated: document.If(b.Scale.Rated, b.Scale.NewtonMetres && b.Scale.Rated.Sign() > 0),
		Available: torqueOf(b.Available), Resistance: torqueOf(b.Resistance), Elements: ratedElements(b), Proved: proved(b),
		Standing: standing(b), SlipFree: slipFree(b), Reading: b, Unit: Unit{b.Scale},
	}
	for i := range b.Chain {
		s := &b.Chain[i]
		way, _ := b.Course(s)
		stretch := stretchOf(t, s, way)
		stretch.Gives, stretch.Vehicle = b.StretchGives(s), b.Stretch(s)
		x.Stretches = append(x.Stretches, stretch)
	}
	x.Rolling = kinematics.Map(b.Rolls, func(r reading.Roll) Rolled { return rolled(b, r) })
	x.Certificate = Proof{func() *verify.Certificate { return broken(a.system, b) }}
	x.Hazards = a.breakawayHazards(ctx, &q, b)
	x.Cautions = reading.Cautions(t.Use, x.Hazards)
	return x, ctx.Err()
}

// breakawayHazards compares a range with itself when healthy.
func (a *Analysis) breakawayHazards(ctx context.Context, q *BreakawayQuestion, b *reading.Breakaway) []reading.Hazard {
	w := a.workers.take()
	defer a.workers.put(w)
	healthy, _ := reading.BreakawayOf(ctx, a.system, q.Range, nil, q.Torques) // nil if that is not known
	hazards := reading.Hazards(w.reader.Read(q.Range), w.reader.Read(q.Range, q.Faults...))
	return append(hazards, reading.BreakawayHazards(healthy, b)...)
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
		r := &b.Ratings[i]
		assumed := r.Origin == solve.Assumed
		e := RatedElement{
			Here: b.Here(i), Between: reading.Bodies(b.Train, []kinematics.MemberID{c.A, c.B}), Origin: Name(r.Origin.String()),
			Rating:  document.If(r.Torque, r.Known()),
			Carried: document.If(r.Carried, assumed), Reserve: document.If(r.Reserve, assumed), AtLeast: r.AtLeast,
		}
		if assumed {
			e.Range = Name(r.Range)
		}
		switch {
		case b.Grip.Capacity[i] != nil:
			e.Holds = document.If(exact.Finite(exact.FromRat(b.Grip.Capacity[i])), true)
		case b.Grip.State.Modes[i] != kinematics.Open:
			e.Holds = document.If(exact.Infinite(+1), true)
		}
		e.HoldsText = b.Holds(i)
		if b.Grip.Capacity[i] != nil {
			e.OriginText = b.Origin(i)
		}
		e.Idle = b.Idle(i)
		list.Add(c.Name, e)
	}
	return list
}

// proved says whether every answer that moves is proved.
func proved(b *reading.Breakaway) bool {
	open := func(m *solve.Mechanism) bool { return m.End == solve.Moves && !m.Proved }
	return !open(b.Standing) && !slices.ContainsFunc(b.Rolls, func(r reading.Roll) bool { return open(r.Break) })
}

func mechanism(t *kinematics.Train, k *solve.Mechanism) Mechanism {
	m := Mechanism{End: k.End, Proved: k.Proved, Shared: k.Shared, Input: exact.None, Output: exact.None,
		Optima: optima(t, k.Optima, k.AtLeast), More: k.More, AtLeast: k.AtLeast}
	if k.End != solve.Moves {
		return m
	}
	m.Torque = document.If(torqueOf(k.Torque), true)
	m.InputTorque, m.OutputTorque = &k.InputTorque, &k.OutputTorque
	if !k.AtLeast {
		m.Input, m.Output = k.Input, k.Output
	}
	for i, d := range k.Dual {
		if i < t.ElementCount || d.Sign() != 0 {
			m.Duals.Add(t.Couplings[i].Name, d)
		}
	}
	return m
}

// optima are the motions of least cost, none where others may be.
func optima(t *kinematics.Train, motions []solve.MechanismMotion, atLeast bool) List[MechanismMotion] {
	if atLeast {
		return nil
	}
	return kinematics.Map(motions, func(m solve.MechanismMotion) MechanismMotion {
		x := MechanismMotion{Input: m.Input, Output: m.Output, OutputExact: exact.Text{Frac: m.Output}}
		for k, i := range m.Slips {
			x.Slips.Add(t.Couplings[i].Name, m.Slip[i])
			x.Heat.Add(t.Couplings[i].Name, m.Heat[k])
		}
		return x
	})
}

func standing(b *reading.Breakaway) Standing {
	way, speeds := b.Goes()
	s := Standing{
		Mechanism: mechanism(b.Train, b.Standing), Turns: b.Turns(), Direction: way,
		Reads: []string{b.Needs(), b.Against(), b.Vehicle()},
	}
	if s.Moves() {
		s.Gives, s.Heat = b.Gives(b.Standing, " turns per input turn"), b.Heat()
	}
	if len(speeds) == 1 {
		s.Ratio = document.RatioOf(speeds[0].Inv(), true)
	}
	return s
}

func stretchOf(t *kinematics.Train, s *solve.Stretch, way reading.Direction) BreakawayStretch {
	return BreakawayStretch{
		From: s.From, To: s.To, Torque: torqueOf(s.Torque), Slope: s.Slope, Direction: way,
		Optima: optima(t, s.Optima, s.AtLeast), More: s.More, AtLeast: s.AtLeast,
	}
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
		Direction: "backward", Engine: exact.Int(0), Mechanism: mechanism(b.Train, r.Break),
		Carry: b.Train.CouplingNames(r.LockedBy), Reads: b.Does(r), Name: r.Name(), Turns: b.Engine(r),
	}
	if x.Moves() {
		x.Gives = b.Gives(r.Break, "")
	}
	if r.Forward {
		x.Direction = "forward"
	}
	if r.Powered {
		x.Engine = b.Available
	}
	return x
}

// Chains are the input torques that turn ranges against the resistance of the
// vehicle, healthy and under faults.
type Chains struct {
	Train   *kinematics.Train
	Ranges  []kinematics.Range
	Faults  []kinematics.Fault
	Torques Torques
	Unit    Unit
	Assumed []string // friction elements whose rating is assumed
	AtLeast []string // those of them that can hold more: see [reading.CanHoldMore]
	Chains  []Chain

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
func (a *Analysis) Chains(ctx context.Context, q Question, torques Torques) (*Chains, error) {
	q = q.of(a.Train)
	c := &Chains{Train: a.Train, Ranges: q.Ranges, Faults: q.Faults, Torques: torques, Unit: Unit{torques.Scale}}
	ratings, err := a.ratings(ctx, &torques)
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
	err = solve.Each(ctx, "ranges", len(q.Ranges), func(i int) {
		r := &q.Ranges[i]
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
	c.Cautions = w.cautions(q)
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
	c.Stretches = named(a.Train, a.system.Stretches(grip), func(t *kinematics.Train, s *solve.Stretch) BreakawayStretch {
		return stretchOf(t, s, "")
	})
	if len(c.Stretches) == 0 {
		c.Missing = "nothing can slip, something must break"
	}
	return c, nil
}
