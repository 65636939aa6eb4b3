package analysis

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/certify/verify"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Losses say what gears lose while they roll under load.
type Losses = solve.Losses

// NoLosses are efficiencies of 1.
func NoLosses() Losses { return solve.NoLosses() }

// A LoadQuestion asks what ranges carry.
type LoadQuestion struct {
	Question
	// Compare asks for the ranges side by side: where each element carries and
	// slips most, and where pinions turn fastest.
	Compare bool
	// Torque drives the input while pulling, Drag is what the engine holds back with
	// while coasting, N m; InputRPM is the speed of the input. 0 for answers per unit.
	Torque, Drag, InputRPM float64
	Losses                 *Losses // nil for assumed ones
	// Overall is the efficiency of the one range while pulling, in place of Losses:
	// the basic efficiency, the same for all gearsets, that gives it is found.
	Overall *exact.Frac
}

// Loaded is what ranges carry, pulling and coasting, and what is lost. Its document
// is tieup.load/1.
type Loaded struct {
	Schema   string           `json:"schema"`
	Units    Named[string]    `json:"units"`
	Losses   LoadLosses       `json:"losses"`
	Torque   *float64         `json:"input_torque"`
	Drag     *float64         `json:"engine_drag"`
	InputRPM *float64         `json:"input_rpm"`
	Loads    List[*Load]      `json:"loads"`
	None     List[Named[any]] `json:"without_load"` // where one end does not drive the other
	Wear     *Wear            `json:"wear"`         // nil unless ranges are compared
	Cautions List[string]     `json:"cautions"`
	Faulted

	Train   *kinematics.Train `json:"-"`
	Ranges  []*LoadedRange    `json:"-"`
	Hazards []reading.Hazard  `json:"-"`
}

// Given says what is known of the input.
func (a *Loaded) Given() string {
	var words []string
	add := func(x *float64, unit string) {
		if x != nil {
			words = append(words, strconv.FormatFloat(*x, 'f', -1, 64)+unit)
		}
	}
	add(a.Torque, " N m while pulling")
	add(a.Drag, " N m of engine drag while coasting")
	add(a.InputRPM, " rpm")
	text := strings.Join(words, ", ")
	if a.Torque != nil && a.InputRPM != nil {
		text += "; pulling with " + strconv.FormatFloat(*a.Torque**a.InputRPM*math.Pi/30000, 'f', 2, 64) + " kW"
	}
	return text
}

// Legend says what the numbers mean that no head can say.
func (a *Loaded) Legend(r *LoadedRange) string {
	text := "Torques act on the first member of an element, on the member of a joint, on gears from their mesh, " +
		"and on members of gearsets from the rest of the train; " + reading.SignNote + ". Power with + enters " +
		"the gearset."
	var per []string
	if a.Torque == nil || a.Drag == nil && r.Coasting != nil {
		per = append(per, "torques")
	}
	if a.InputRPM == nil {
		per = append(per, "speeds")
	}
	if per != nil {
		text += " Where no unit stands, " + kinematics.And(append(per, "powers")) + " are per unit of those at the input."
	}
	return text
}

// NothingRolls is said of an efficiency of 1.
const NothingRolls = "1: no loaded gear rolls on its carrier"

// LoadLosses are the efficiencies that count.
type LoadLosses struct {
	Convention string            `json:"convention"`
	External   *exact.Frac       `json:"external,omitempty"`
	Internal   *exact.Frac       `json:"internal,omitempty"`
	Chain      *exact.Frac       `json:"chain,omitempty"`
	Basic      Named[exact.Frac] `json:"basic,omitempty"`
	Assumed    bool              `json:"assumed"`           // nobody stated them
	Overall    string            `json:"overall,omitempty"` // from which they were found

	Lossless bool   `json:"-"`
	Words    string `json:"-"`
}

// LoadedRange is one range, or combination of elements, with its loads.
type LoadedRange struct {
	Name          string // of the range, or its elements
	Range         Name   // none for a combination
	Apply         []string
	Reads, Coasts string // pulling and coasting, in words
	// PullingText and CoastingText head the loads, or say why there is none.
	PullingText, CoastingText string
	Pulling, Coasting         *Load // nil where one end does not drive the other

	slips []exact.Interval // of the elements, while the input turns
	spins map[kinematics.MemberID]Spin
}

// Loads returns the loads that there are, pulling first.
func (r *LoadedRange) Loads() []*Load {
	var list []*Load
	for _, l := range []*Load{r.Pulling, r.Coasting} {
		if l != nil {
			list = append(list, l)
		}
	}
	return list
}

// Load answers what ranges carry and lose.
func (a *Analysis) Load(ctx context.Context, q LoadQuestion) (*Loaded, error) {
	var err error
	if q.Question, err = q.of(a.Train); err != nil {
		return nil, err
	}
	if err := rigid(a.Train, q.Faults); err != nil {
		return nil, err
	}
	if err := cmp.Or(number("torque", q.Torque, 0), number("drag", q.Drag, 0), number("rpm", q.InputRPM, 0)); err != nil {
		return nil, err
	}
	losses, given, err := a.losses(ctx, &q)
	if err != nil {
		return nil, err
	}
	l := &Loaded{
		Schema: "tieup.load/1", Units: loadUnits(&q), Losses: given,
		Torque: document.If(q.Torque, q.Torque != 0), Drag: document.If(q.Drag, q.Drag != 0),
		InputRPM: document.If(q.InputRPM, q.InputRPM != 0),
		Train:    a.Train, Faulted: q.faulted(a.Train),
	}
	w := a.workers.take()
	defer a.workers.put(w)
	err = solve.Each(ctx, "ranges", len(q.Ranges), func(i int) { w.loadRange(ctx, l, &q, &q.Ranges[i], losses) })
	if err != nil {
		return nil, err
	}
	if q.Compare {
		l.Wear = l.wear(&q)
	}
	l.Outcomes, l.Hazards = w.hazards(q.Condition, pointers(q.Ranges)...)
	l.Cautions = reading.Cautions(a.Train.Use, l.Hazards)
	return l, nil
}

// rigid refuses faults that let an element slip under load.
func rigid(t *kinematics.Train, faults []kinematics.Fault) error {
	for _, f := range faults {
		if f.Share.IsSet() || f.Kind == kinematics.Weak || f.Kind == kinematics.Dragging {
			return fmt.Errorf("%s: here nothing slips that is applied; what gives first is asked with: tieup breakaway",
				t.FaultText(f))
		}
	}
	return nil
}

// losses returns the efficiencies that count, and as they are told.
func (a *Analysis) losses(ctx context.Context, q *LoadQuestion) (solve.Losses, LoadLosses, error) {
	losses, told := solve.DefaultLosses(), LoadLosses{Assumed: q.Losses == nil && q.Overall == nil}
	switch {
	case q.Overall != nil && !efficient(*q.Overall):
		return losses, told, overallError(notEfficient)
	case q.Overall != nil && len(q.Ranges) != 1:
		return losses, told, overallError("it is of one range: which?")
	case q.Overall != nil:
		st := a.Train.In(&q.Ranges[0], q.Faults...)
		told.Overall = strconv.FormatFloat(q.Overall.Float(), 'f', -1, 64)
		if a.system.Pulling(ctx, st, solve.NoLosses(), solve.Usual) == nil && ctx.Err() == nil {
			return losses, told, overallError("this range does not drive, so it has no efficiency")
		}
		var found bool
		if losses, found = a.system.OverallLosses(ctx, st, *q.Overall); ctx.Err() != nil {
			return losses, told, ctx.Err()
		}
		if !found {
			return losses, told, overallError("no basic efficiency, the same for all gearsets, gives " + told.Overall +
				": too little rolls, or the gears lock first")
		}
	case q.Losses != nil:
		losses = *q.Losses
		if err := lossesGiven(a.Train, &losses); err != nil {
			return losses, told, err
		}
	}
	told.tell(a.Train, &losses)
	return losses, told, nil
}

const notEfficient = "an efficiency is above 0 and at most 1"

func efficient(f exact.Frac) bool { return f.Float() > 0 && f.Cmp(exact.Int(1)) <= 0 }

// lossesGiven refuses losses of which something is no efficiency.
func lossesGiven(t *kinematics.Train, l *solve.Losses) error {
	list, part := []exact.Frac{l.External, l.Internal, l.Chain}, "mesh-efficiency"
	if l.Basic != nil {
		list, part = l.Basic, "basic-efficiency"
		if len(list) != len(t.Gearsets) {
			return refusal(part, "%d for %d gearsets", len(list), len(t.Gearsets))
		}
	}
	for _, f := range list {
		if !efficient(f) {
			return refusal(part, notEfficient)
		}
	}
	return nil
}

func overallError(text string) error {
	return refusal("overall-efficiency", "%s", text)
}

// tell fills in the efficiencies and their words.
func (l *LoadLosses) tell(t *kinematics.Train, losses *solve.Losses) {
	l.Lossless = losses.Lossless()
	l.Words = reading.Losses(t, losses)
	if losses.Basic == nil {
		l.Convention = "per mesh"
		l.External, l.Internal, l.Chain = &losses.External, &losses.Internal, &losses.Chain
	} else {
		l.Convention = "per gearset, carrier held"
		for g, f := range losses.Basic {
			l.Basic.Add(t.Gearsets[g].Name, f)
		}
	}
	switch {
	case l.Lossless:
		l.Words = "none"
	case l.Assumed:
		l.Words += "; assumed, no figures given: --mesh-efficiency and --basic-efficiency set others"
	case l.Overall != "":
		l.Words += "; found for an overall efficiency of " + l.Overall
	}
}

// A loadScale says in what units a load is written; 0 for per unit of the input's.
type loadScale struct{ torque, rpm float64 }

// kW is the power at the input, 0 if it is not known.
func (s loadScale) kW() float64 { return s.torque * s.rpm * math.Pi / 30000 }

func (q *LoadQuestion) scale(coasting bool) loadScale {
	if coasting {
		return loadScale{q.Drag, q.InputRPM}
	}
	return loadScale{q.Torque, q.InputRPM}
}

func loadUnits(q *LoadQuestion) Named[string] {
	unit := func(x float64, yes, no string) string {
		if x != 0 {
			return yes
		}
		return no
	}
	speed := unit(q.InputRPM, "rpm", "turns per turn of the input")
	return document.Texts(
		"torque, pulling", unit(q.Torque, "N m", "per unit of input torque"),
		"torque, coasting", unit(q.Drag, "N m", "per unit of engine drag"),
		"speed, slip, first_rolls", speed+", + as the input turns",
		"power, lost, pulling", unit(q.scale(false).kW(), "kW", "per unit of input power"),
		"power, lost, coasting", unit(q.scale(true).kW(), "kW", "per unit of the power that the engine takes"),
		"input, output", "torque from outside, at the output that with which the vehicle resists; + as the input turns",
		"couplings", "torque on the first member",
		"members", "torque that the meshes exert",
		"gearsets", "torque from outside; power with + enters the gearset",
		"share", "of the power that drives",
	)
}

// loadRange adds a range with its loads to an answer.
func (w *worker) loadRange(ctx context.Context, a *Loaded, q *LoadQuestion, r *kinematics.Range, losses solve.Losses) {
	t := w.system.Train
	cell := w.reader.Read(r, q.Faults...)
	st := t.In(r, q.Faults...)
	m := w.system.Motion(st)
	x := &LoadedRange{
		Name: r.Name, Range: Name(r.Name), Apply: t.CouplingNames(r.Apply), Reads: cell.Text(), Coasts: cell.Reading.Coast,
		PullingText: cell.Text(), CoastingText: reading.CoastingLoad(cell),
		spins: map[kinematics.MemberID]Spin{},
	}
	if x.Name == "" {
		x.Name = strings.Join(x.Apply, "+")
	}
	if m.At.Input != 0 {
		for i := range t.ElementCount {
			x.slips = append(x.slips, m.Slips[i].Interval)
		}
		eachPinion(t, func(g *kinematics.Gearset, p *kinematics.Pinion) {
			x.spins[p.Member] = spinOf(g, p, m.Members, m.Groups)
		})
	}
	faults := q.at(r).faulted(t)
	pulling, coasting := w.system.Pulling(ctx, st, losses, solve.Usual), w.system.Coasting(ctx, st, losses, solve.Usual)
	if ctx.Err() != nil {
		return // what was cut off may have no way at all
	}
	load := func(l *solve.Load, flow string) *Load {
		if l == nil {
			a.None = append(a.None, document.Object("range", x.Name, "flow", flow, "verdict", m.Verdict))
			return nil
		}
		carries := loadOf(t, l, x, faults, q.scale(flow == "coasting"), &a.Losses)
		carries.Certificate = Proof{func() *verify.Certificate { return carried(w.system, st, l, &losses) }}
		a.Loads = append(a.Loads, carries)
		return carries
	}
	if x.Pulling = load(pulling, "pulling"); x.Pulling == nil {
		x.PullingText = reading.Undriven(cell)
	}
	if x.Coasting = load(coasting, "coasting"); x.Coasting == nil {
		x.CoastingText = reading.Uncarried(cell)
	}
	a.Ranges = append(a.Ranges, x)
}

// eachPinion calls f for every pinion of a train.
func eachPinion(t *kinematics.Train, f func(*kinematics.Gearset, *kinematics.Pinion)) {
	for g := range t.Gearsets {
		set := &t.Gearsets[g]
		for i := range set.Pinions {
			f(set, &set.Pinions[i])
		}
	}
}

// Wear says where every element carries and slips most, and every pinion turns
// fastest on its carrier. Ranges in which one does not are left out.
type Wear struct {
	Elements Named[ElementWear] `json:"elements"`
	Pinions  Named[List[Spot]]  `json:"pinions"`

	// NotGiven names the pinions whose teeth are not given.
	NotGiven []string `json:"-"`
}

// ElementWear is where an element carries while pulling and coasting, and slips.
type ElementWear struct {
	Pulling  List[Spot] `json:"torque_pulling"`
	Coasting List[Spot] `json:"torque_coasting"`
	Slip     List[Spot] `json:"slip"`

	Kind kinematics.CouplingKind `json:"-"`
}

// A Spot is a size that something has in a range.
type Spot struct {
	Range string  `json:"range"`
	Value Measure `json:"value"`
}

// wear compares the ranges.
func (a *Loaded) wear(q *LoadQuestion) *Wear {
	t, wear := a.Train, &Wear{}
	for i, c := range t.Couplings[:t.ElementCount] {
		wear.Elements.Add(c.Name, a.elementWear(i, q.InputRPM))
	}
	eachPinion(t, func(g *kinematics.Gearset, p *kinematics.Pinion) {
		name := t.Members[p.Member].Name
		if given := !t.Members[p.Member].Unknown; !given && !g.Across() || g.Across() && g.Gears[0].PinionTeeth == 0 {
			wear.NotGiven = append(wear.NotGiven, name)
		}
		var list List[Spot]
		for _, r := range a.Ranges {
			if s := r.spins[p.Member]; s.Known && !s.Free && s.Speed.Sign() != 0 {
				list = append(list, Spot{r.Name, Measure{exact.Between(s.Speed, s.Speed), q.InputRPM}.Magnitude()})
			}
		}
		wear.Pinions.Add(name, list)
	})
	return wear
}

// elementWear says where element i carries and slips. Slips are those while the
// input drives, or turns in a range that does not drive.
func (a *Loaded) elementWear(i int, rpm float64) ElementWear {
	e := ElementWear{Kind: a.Train.Couplings[i].Kind}
	for _, r := range a.Ranges {
		for _, l := range r.Loads() {
			x := l.Couplings[i].Value.Torque.Magnitude()
			switch {
			case x.Zero():
			case l.Flow == "coasting":
				e.Coasting = append(e.Coasting, Spot{r.Name, x})
			default:
				e.Pulling = append(e.Pulling, Spot{r.Name, x})
			}
		}
		if r.slips == nil {
			continue
		}
		if slip, one := r.slips[i].Point(); one && slip.Sign() != 0 {
			e.Slip = append(e.Slip, Spot{r.Name, Measure{r.slips[i], rpm}.Magnitude()})
		}
	}
	return e
}
