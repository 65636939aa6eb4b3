package analysis

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/shift"
	"tieup/kinematics/solve"
)

// A ShiftsQuestion asks what shifts risk under faults.
type ShiftsQuestion struct {
	From, To *kinematics.Range // of one shift; nil for all shifts of the train
	Condition
}

// Shifts is what shifts of a train risk when their timing is off. Its document is
// tieup.shifts/1.
type Shifts struct {
	Schema string            `json:"schema"`
	Units  Named[string]     `json:"units"`
	Train  *kinematics.Train `json:"train"`
	Faulted
	Shifts   List[*Shift] `json:"shifts"`
	Cautions List[string] `json:"cautions"`

	Hazards []reading.Hazard `json:"-"`
}

// A Shift is the way from one range to another: see [shift.Shift].
type Shift struct {
	From      string        `json:"from"`
	To        string        `json:"to"`
	Selector  bool          `json:"selector"`
	Standing  bool          `json:"standing"`
	Way       solve.Verdict `json:"way"`
	OffGoing  List[string]  `json:"off_going"`
	OnComing  List[string]  `json:"on_coming"`
	Shared    List[string]  `json:"shared"`
	Changes   List[string]  `json:"changes"`   // what really changes, off-going first
	Evaluated string        `json:"evaluated"` // which states on the way
	Pulling   ShiftView     `json:"pulling"`   // at a standstill, what happens
	Coasting  *ShiftView    `json:"coasting"`  // nil at a standstill
	// States are the two ranges, and between them overlap, underlap and the others
	// on the way.
	States []ShiftState `json:"states"`
	// Hole is nil at a standstill, and where no on-coming element slips.
	Hole *ShiftHole `json:"torque_hole"`

	// Unchanged are exchanged by the ranges but do not change, by a fault; Uncalled
	// change though the ranges do not exchange them.
	Unchanged []string `json:"-"`
	Uncalled  []string `json:"-"`
	// Shortened says which states on the way are not evaluated, "" if all are.
	Shortened string `json:"-"`
}

// HoleNote says what the columns of the torque hole mean.
const HoleNote = "output torque: times the input torque, at the speeds of the first range; " +
	"at handover the on-coming elements carry what they carry in the second, " +
	"at the least one of them its rating (assumed where the file gives none) at rated input torque"

// EarlyLate says what is early and late.
const EarlyLate = "early: the on-coming holds before the off-going lets go, so that both hold (overlap); " +
	"late: after it, so that neither holds (underlap)"

// ByFault says which elements change otherwise than the ranges call for, by a fault.
func (s *Shift) ByFault() []string {
	var list []string
	if len(s.Unchanged) > 0 {
		list = append(list, strings.Join(s.Unchanged, ", ")+" does not change")
	}
	if len(s.Uncalled) > 0 {
		list = append(list, strings.Join(s.Uncalled, ", ")+" changes though neither range calls for it")
	}
	return list
}

// Name is "D2 to D3".
func (s *Shift) Name() string { return s.From + " to " + s.To }

// State returns the state of a name, such as "overlap"; nil if there is none.
func (s *Shift) State(name string) *ShiftState {
	if i := slices.IndexFunc(s.States, func(x ShiftState) bool { return x.State == name }); i >= 0 {
		return &s.States[i]
	}
	return nil
}

// OnTheWay returns the states between the two ranges.
func (s *Shift) OnTheWay() []ShiftState { return s.States[1 : len(s.States)-1] }

// A ShiftView is a shift seen while pulling, or while coasting: see [shift.View].
type ShiftView struct {
	*shift.View
	Text string

	train *kinematics.Train
}

// MarshalJSON writes the view by names; an effect is null where none does harm, the order where
// none is needed, or known.
func (v ShiftView) MarshalJSON() ([]byte, error) {
	kind := func(e *shift.Effect) *shift.Kind {
		if e == nil {
			return nil
		}
		return &e.Kind
	}
	names := func(couplings []int) List[string] { return v.train.CouplingNames(couplings) }
	return document.Object(
		"verdict", v.Verdict, "text", v.Text, "early", kind(v.Early), "late", kind(v.Late), "mixed", kind(v.Mixed),
		"overruns", names(v.Overruns), "catches", names(v.Catches), "order", document.If(names(v.Order), v.Order != nil),
	).MarshalJSON()
}

// A ShiftState is one of the two ranges, or a state on the way.
type ShiftState struct {
	State   string       `json:"state"` // from, to, overlap, underlap, partly
	Holding List[string] `json:"holding"`
	Drive
	Pull           exact.Interval `json:"pull"`
	Coast          Coast          `json:"coast"`
	PullingEffect  shift.Kind     `json:"pulling_effect"`
	CoastingEffect *shift.Kind    `json:"coasting_effect"` // nil at a standstill

	// HarmPulling and HarmCoasting say which harm the state does, "" for none.
	HarmPulling  string `json:"-"`
	HarmCoasting string `json:"-"`
}

// A ShiftHole is the output torque of a shift against that of its on-coming
// elements while the off-going ones hold, in straight lines from each point to the
// next: see [shift.Hole].
type ShiftHole struct {
	Points    []HolePoint `json:"points"`
	HandsOver bool        `json:"hands_over"`
	LetsGo    bool        `json:"one_way_lets_go"`
	Least     exact.Frac  `json:"least"`
	Note      string      `json:"note"`

	Known bool `json:"-"` // the least is, because ratings are
}

// A HolePoint is one point of a torque hole.
type HolePoint struct {
	At       string            `json:"at"` // first, handover, rating
	OnComing Named[exact.Frac] `json:"on_coming"`
	Output   exact.Frac        `json:"output_torque"`
	Exact    exact.Text        `json:"output_torque_exact"`
}

// Point returns the point of a name, nil if there is none.
func (h *ShiftHole) Point(at string) *HolePoint {
	if i := slices.IndexFunc(h.Points, func(p HolePoint) bool { return p.At == at }); i >= 0 {
		return &h.Points[i]
	}
	return nil
}

var shiftUnits = document.Texts(
	"ratio", "input speed / output speed",
	"pull", "turns of the output per turn of the input, + moves the vehicle forward",
	"coast", "turns of the input per turn of the output",
	"torque_hole", "times the input torque",
)

// Shifts answers what shifts of the train risk under faults.
func (a *Analysis) Shifts(ctx context.Context, q ShiftsQuestion) (*Shifts, error) {
	if err := q.in(a.Train); err != nil {
		return nil, err
	}
	if err := shift.SpeedsAlone(a.Train, q.Faults); err != nil {
		return nil, err
	}
	s := &Shifts{Schema: "tieup.shifts/1", Units: shiftUnits, Train: a.Train, Faulted: q.faulted(a.Train)}
	w := a.workers.take()
	defer a.workers.put(w)
	pairs, err := w.pairs(&q)
	if err != nil {
		return nil, err
	}
	err = solve.Each(ctx, "shifts", len(pairs), func(i int) {
		s.Shifts = append(s.Shifts, shiftOf(w.shifts().Shift(ctx, pairs[i], q.Faults...)))
		s.Hazards = append(s.Hazards, w.onTheWay(pairs[i], q.Condition)...)
	})
	if err != nil {
		return nil, err
	}
	ranges := pointers(a.Train.Ranges)
	if q.From != nil {
		ranges = []*kinematics.Range{q.From, q.To}
	}
	outcomes, hazards := w.outcomes(q.Condition, ranges...)
	s.Outcomes, s.Hazards = outcomes, append(s.Hazards, hazards...)
	s.Cautions = reading.Cautions(a.Train.Use, s.Hazards)
	return s, nil
}

// onTheWay are what a shift can do to people under the condition, whatever its ranges come to.
func (w *worker) onTheWay(p shift.Pair, c Condition) []reading.Hazard {
	var hazards []reading.Hazard
	t := w.system.Train
	for _, way := range c.ways(&t.Ranges[p.From], &t.Ranges[p.To]) {
		hazards = append(hazards, w.shifts().Hazards(p, way.Faults...)...)
	}
	return hazards
}

// shiftHazards are [worker.hazards] of two ranges and of the way from one to the other.
func (w *worker) shiftHazards(c Condition, from, to *kinematics.Range) ([]RangeOutcomes, []reading.Hazard) {
	outcomes, hazards := w.hazards(c, from, to)
	if ends, err := indices(w.system.Train, from, to); err == nil && ends[0] != ends[1] {
		hazards = append(hazards, w.onTheWay(shift.Pair{From: ends[0], To: ends[1]}, c)...)
	}
	return outcomes, hazards
}

// NoShifts is the error of a train that does not shift at all.
type NoShifts struct{ Train string }

// Error says so.
func (e *NoShifts) Error() string {
	return e.Train + " has no two ranges between which it could shift"
}

// ShiftsFrom lists the ranges to which the train shifts from range r.
func (a *Analysis) ShiftsFrom(r *kinematics.Range) ([]*kinematics.Range, error) {
	if _, err := indices(a.Train, r); err != nil {
		return nil, err
	}
	w := a.workers.take()
	defer a.workers.put(w)
	var list []*kinematics.Range
	for _, p := range w.shifts().Pairs() {
		if a.Train.Ranges[p.From].Name == r.Name {
			list = append(list, &a.Train.Ranges[p.To])
		}
	}
	return list, nil
}

// pairs returns the shifts that are asked for.
func (w *worker) pairs(q *ShiftsQuestion) ([]shift.Pair, error) {
	t, pairs := w.system.Train, w.shifts().Pairs()
	if q.From == nil && q.To == nil {
		if len(pairs) == 0 {
			return nil, &NoShifts{t.Name}
		}
		return pairs, nil
	}
	ends, err := indices(t, q.From, q.To)
	if err != nil {
		return nil, err
	}
	from, to := ends[0], ends[1]
	if from == to {
		return nil, fmt.Errorf("a shift from %s to itself: name two ranges", q.From.Name)
	}
	if !w.shifts().Comparable(from, to) {
		return nil, fmt.Errorf("%s and %s have different input or output shafts: there is no shift between them",
			q.From.Name, q.To.Name)
	}
	if i := slices.IndexFunc(pairs, func(p shift.Pair) bool { return p.From == from && p.To == to }); i >= 0 {
		return pairs[i : i+1], nil
	}
	return []shift.Pair{{From: from, To: to}}, nil
}

// shiftOf writes a shift of the engine by names.
func shiftOf(x *shift.Shift) *Shift {
	t := x.Train
	s := &Shift{
		From: t.Ranges[x.From].Name, To: t.Ranges[x.To].Name, Selector: x.Selector, Standing: x.Standing, Way: x.Way,
		OffGoing: t.CouplingNames(x.OffGoing), OnComing: t.CouplingNames(x.OnComing), Shared: t.CouplingNames(x.Shared),
		Evaluated: "all", Pulling: ShiftView{&x.Pulling, x.PullingText(), t}, Hole: shiftHole(t, x.Hole),
	}
	unchanged, uncalled := x.Faulty()
	s.Unchanged, s.Uncalled = t.CouplingNames(unchanged), t.CouplingNames(uncalled)
	s.Changes = kinematics.Map(x.Changes, func(c shift.Change) string { return t.Couplings[c.Coupling].Name })
	if !x.Every {
		s.Evaluated = "overlap and underlap"
		s.Shortened = strconv.Itoa(len(x.Changes)) + " couplings change: of the " +
			strconv.FormatUint(1<<len(x.Changes)-2, 10) +
			" states on the way only overlap and underlap are evaluated"
	}
	if !x.Standing {
		s.Coasting = &ShiftView{&x.Coasting, x.CoastingText(), t}
	}
	s.States = kinematics.Map(x.States(), func(state *shift.State) ShiftState { return shiftState(x, state) })
	return s
}

func shiftState(x *shift.Shift, state *shift.State) ShiftState {
	o := &state.Outcome
	s := ShiftState{
		State: x.StateName(state), Holding: x.Train.CouplingNames(state.Holding),
		Drive: driveOf(o, state.Text(), state.Reading.Coast), Pull: o.Pull,
		Coast:         Coast{Roll(o.CoastForward), Roll(o.CoastBackward)},
		PullingEffect: state.Pulling.Kind, CoastingEffect: document.If(state.Coasting.Kind, !x.Standing),
	}
	harm := func(e *shift.Effect) string {
		if e.Kind.Harmless() {
			return ""
		}
		return e.Text()
	}
	s.HarmPulling, s.HarmCoasting = harm(&state.Pulling), harm(&state.Coasting)
	return s
}

func shiftHole(t *kinematics.Train, h *shift.Hole) *ShiftHole {
	if h == nil {
		return nil
	}
	s := &ShiftHole{HandsOver: h.HandsOver, LetsGo: h.LetsGo, Least: h.Least, Note: h.Note(), Known: h.Rated || h.LetsGo}
	add := func(at string, torques []exact.Frac, output exact.Frac) {
		p := HolePoint{At: at, Output: output, Exact: exact.Text{Frac: output}}
		for k, i := range h.OnComing {
			torque := exact.Int(0)
			if torques != nil {
				torque = torques[k]
			}
			p.OnComing.Add(t.Couplings[i].Name, torque)
		}
		s.Points = append(s.Points, p)
	}
	add("first", nil, h.From)
	if h.HandsOver {
		add("handover", h.Torque, h.Handover)
	}
	if h.Rated && !h.LetsGo {
		add("rating", h.FullTorque, h.Full)
	}
	return s
}
