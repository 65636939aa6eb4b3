package analysis

import (
	"context"
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/bench"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Planned is the turns by hand that prove an assembly, in the order of the work.
type Planned struct {
	Schema  string            `json:"schema"`
	Units   Named[string]     `json:"units"`
	Train   *kinematics.Train `json:"train"`
	Without bench.Missing     `json:"without"` // not fitted, "" for nothing
	Air     List[string]      `json:"air"`     // elements that can be applied
	Most    int               `json:"most_at_once"`
	Faults  int               `json:"faults"` // single ones that are to show
	Tried   int               `json:"tried"`  // turns that show something, of which those are chosen
	// Fewest says that no fewer turns are proved to do, AtLeast how many are proved
	// to be needed.
	Fewest  bool               `json:"fewest"`
	AtLeast int                `json:"at_least"`
	Near    bool               `json:"near_ranges_only"` // not all ways to put air on were tried
	Turns   List[PlannedTurn]  `json:"turns"`
	Others  List[OtherTurn]    `json:"other_turns"` // that a case file tells of, and are not of this plan
	Shown   List[ShownFault]   `json:"shown"`       // the certificate: which turn shows each fault
	Hidden  List[HiddenFault]  `json:"not_shown"`   // by any turn
	Unfit   List[Fault]        `json:"not_fitted"`
	Pairs   *PlannedPairs      `json:"pairs"` // nil unless asked
	Alike   List[List[string]] `json:"inseparable"`
	// Beyond says what no turning shows of any train.
	Beyond      List[string] `json:"beyond_turning"`
	Assumptions List[string] `json:"assumptions"`
	Cautions    List[string] `json:"cautions"`

	system *solve.System
}

// An OtherTurn is one that a case file tells of: with other air, or while something was
// not fitted. It agrees if it is as it should be with or without the case.
type OtherTurn struct {
	BenchTurn
	Saw    Name `json:"saw"`
	Agrees bool `json:"agrees"`
}

// A BenchTurn is one turn by hand, in numbers and words.
type BenchTurn struct {
	Name   string       `json:"name"` // as a case file names it
	Air    List[string] `json:"air"`
	Output bench.Output `json:"output"`
	Turn   string       `json:"turn"` // clockwise or counterclockwise, seen from the input end
	Says   string       `json:"says"`

	turn bench.Turn
}

// BenchSeen is what a turn shows. Output is how many turns of the output one turn of
// the input gives, + the same way; nil where it is not watched or the input locks.
type BenchSeen struct {
	Locks  bool    `json:"locks"`
	Output *Amount `json:"output_turns"`
	Says   string  `json:"says"`
}

// A PlannedTurn is a line of the plan.
type PlannedTurn struct {
	BenchTurn
	On        List[string]       `json:"lines_on"` // of air, to be put on and taken off before it
	Off       List[string]       `json:"lines_off"`
	Expect    BenchSeen          `json:"expect"`
	Otherwise List[BenchSuspect] `json:"otherwise"`
	// Saw is what a case file says that it showed, "" for nothing yet, and Agrees whether
	// that is what was expected.
	Saw    Name `json:"saw"`
	Agrees bool `json:"agrees"`

	sound bench.Seen
}

// A BenchSuspect is something that a turn shows instead, whom it suspects, and what tells
// those apart.
type BenchSuspect struct {
	Seen   BenchSeen    `json:"seen"`
	Faults List[Fault]  `json:"faults"`
	Words  List[string] `json:"words"` // of the faults
	Next   *Separation  `json:"next"`  // nil where no turn tells them apart
}

// A Separation is a turn that tells suspects apart.
type Separation struct {
	BenchTurn
	Branches List[BenchSuspect] `json:"branches"`
}

// A ShownFault is a fault and the turn, from 1, that shows it first.
type ShownFault struct {
	Fault Fault  `json:"fault"`
	Words string `json:"words"`
	Turn  int    `json:"turn"`
}

// A HiddenFault is a fault that no turn shows, and the test in hand that does.
type HiddenFault struct {
	Fault Fault  `json:"fault"`
	Words string `json:"words"`
	Test  string `json:"test"`
}

// PlannedPairs are the pairs of faults: how many are shown, and those that no turn shows.
type PlannedPairs struct {
	All    int          `json:"all"`
	Shown  int          `json:"shown"`
	Hidden List[string] `json:"not_shown"`
}

// A PlanQuestion asks for the turns that prove an assembly.
type PlanQuestion = bench.Question

// Airable says whether an element is applied on the bench: by air, or by moving it.
func Airable(c *kinematics.Coupling) bool { return bench.Airable(c) }

// Removable lists what may not be fitted yet, by name.
func Removable() []string { return bench.Parts() }

// Plan gives the fewest turns by hand that show every fault that turning can show.
func (a *Analysis) Plan(ctx context.Context, q PlanQuestion) (*Planned, error) {
	t := a.Train
	p, err := bench.New(ctx, a.system, q)
	if err != nil {
		return nil, err
	}
	x := &Planned{
		Schema: "tieup.plan/1",
		Units:  document.Texts("output_turns", "turns of the output for one of the input, + the same way"),
		Train:  t, Without: q.Without, Air: t.CouplingNames(p.Air), Most: p.Most, Faults: len(p.Faults), Tried: p.Tried,
		Fewest: p.Closed, AtLeast: p.AtLeast, Near: p.Near, Unfit: faultsOf(t, p.Unfit), system: a.system,
	}
	if err := x.turns(ctx, p); err != nil {
		return nil, err
	}
	x.certify(p)
	if q.Pairs {
		x.Pairs = pairsOf(p)
	}
	alike, err := p.Alike(ctx)
	if err != nil {
		return nil, err
	}
	for _, group := range alike {
		if len(group) > 1 {
			x.Alike = append(x.Alike, benchWords(t, group))
		}
	}
	held := false
	for _, y := range p.Turns {
		held = held || y.Output == bench.Held
	}
	hazards := []reading.Hazard{reading.Jumps}
	if reading.ByAir(t, p.Air) {
		hazards = append(hazards, reading.Air, reading.Piston)
		x.Beyond = reading.BeyondTurning()
	}
	x.Assumptions = reading.PlanAssumptions(t, q.Without, p.Air, held, p.Near)
	x.Cautions = reading.Cautions(t.Use, hazards)
	return x, nil
}

// turns writes the lines of the plan.
func (x *Planned) turns(ctx context.Context, p *bench.Plan) error {
	before := bench.Turn{}
	return solve.Each(ctx, "turns", len(p.Turns), func(i int) {
		y := p.Turns[i]
		line := PlannedTurn{BenchTurn: benchTurn(x.Train, y), Expect: benchSeen(x.Train, p.Sound(y)), sound: p.Sound(y)}
		line.On = x.Train.CouplingNames(kinematics.Without(y.Air, before.Air))
		line.Off = x.Train.CouplingNames(kinematics.Without(before.Air, y.Air))
		line.Otherwise = suspects(x.Train, p.Otherwise(ctx, i))
		x.Turns = append(x.Turns, line)
		before = y
	})
}

// Tick notes what a case says that the turns showed.
func (x *Planned) Tick(c *Case) {
	for _, p := range c.Proved {
		i := slices.IndexFunc(x.Turns, func(y PlannedTurn) bool { return y.Name == p.Turn })
		if i >= 0 {
			x.Turns[i].Saw, x.Turns[i].Agrees = Name(p.Saw), x.Turns[i].sound.Agrees(p.Saw)
			continue
		}
		y, err := bench.ParseTurn(x.Train, p.Turn)
		if err != nil {
			continue // a case has none that cannot be read
		}
		agrees := false
		for _, without := range []bench.Missing{bench.Nothing, bench.Case} {
			agrees = agrees || bench.Sound(x.system, y, without).Agrees(p.Saw)
		}
		x.Others = append(x.Others, OtherTurn{benchTurn(x.Train, y), Name(p.Saw), agrees})
	}
}

// Proved says what the turns that were made have proved; no turn is proved if none was
// made, and all are if every turn, also one that is not of this plan, showed what it should.
func (x *Planned) Proved() (says string, all bool) {
	made, agree, others := 0, 0, 0
	for i := range x.Turns {
		if x.Turns[i].Saw != "" {
			made++
		}
		if x.Turns[i].Agrees {
			agree++
		}
	}
	for i := range x.Others {
		if !x.Others[i].Agrees {
			others++
		}
	}
	if made+len(x.Others) == 0 {
		return "", false
	}
	return reading.ProvedTurns(made, agree, len(x.Turns), others), agree == len(x.Turns) && others == 0
}

// Summary says what the plan is worth.
func (x *Planned) Summary() string {
	text := fmt.Sprintf("%s by hand %s %d of %s", kinematics.Count(len(x.Turns), "turn"),
		kinematics.Plural(len(x.Turns), "shows", "show"), len(x.Shown), kinematics.Count(x.Faults, "single fault"))
	if x.Pairs != nil {
		text += fmt.Sprintf(", and %d of %s", x.Pairs.Shown, kinematics.Count(x.Pairs.All, "pair"))
	}
	switch {
	case x.Fewest:
		return text + "; no fewer do."
	case x.Near:
		return text + "; fewer may do: not all ways to put air on were tried."
	}
	return text + fmt.Sprintf("; at least %d are needed: the search for fewer was cut.", x.AtLeast)
}

// certify says which turn shows each fault.
func (x *Planned) certify(p *bench.Plan) {
	t := x.Train
	for _, f := range p.Faults {
		words := reading.BenchFault(t, f)
		if i := p.ShownBy(f); i >= 0 {
			x.Shown = append(x.Shown, ShownFault{Fault{f, t}, words, i + 1})
			continue
		}
		x.Hidden = append(x.Hidden, HiddenFault{Fault{f, t}, words, reading.InHand(t, f)})
	}
}

func pairsOf(p *bench.Plan) *PlannedPairs {
	x := &PlannedPairs{All: len(p.Pairs)}
	for _, pair := range p.Pairs {
		if p.ShownBy(pair...) >= 0 {
			x.Shown++
		} else {
			x.Hidden = append(x.Hidden, reading.BenchFaults(p.Train, pair))
		}
	}
	return x
}

func benchTurn(t *kinematics.Train, y bench.Turn) BenchTurn {
	return BenchTurn{y.Name(t), t.CouplingNames(y.Air), y.Output, reading.Rotation(y.Backward), reading.BenchTurn(t, y),
		y}
}

func benchSeen(t *kinematics.Train, s bench.Seen) BenchSeen {
	out := Amount(s.Out)
	turns := !exact.Interval(out).Empty && s.Output == bench.Free
	return BenchSeen{s.Locks(), document.If(out, turns), reading.BenchSeen(t, s)}
}

func benchWords(t *kinematics.Train, faults []kinematics.Fault) List[string] {
	return kinematics.Map(faults, func(f kinematics.Fault) string { return reading.BenchFault(t, f) })
}

func suspects(t *kinematics.Train, branches []bench.Branch) List[BenchSuspect] {
	var list List[BenchSuspect]
	for _, b := range branches {
		s := BenchSuspect{Seen: benchSeen(t, b.Seen), Faults: faultsOf(t, b.Faults), Words: benchWords(t, b.Faults)}
		if b.Next != nil {
			s.Next = &Separation{benchTurn(t, b.Next.Turn), suspects(t, b.Next.Branches)}
		}
		list = append(list, s)
	}
	return list
}
