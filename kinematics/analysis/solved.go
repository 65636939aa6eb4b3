package analysis

import (
	"context"
	"math/big"
	"slices"
	"sync"

	"tieup/kinematics"
	"tieup/kinematics/certify/verify"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Solved is what some states of a train do, a range or combination each.
type Solved struct {
	Schema   string        `json:"schema"`
	Units    Named[string] `json:"units"`
	InputRPM *float64      `json:"input_rpm"` // nil where speeds are in turns per turn of the input
	States   []*State      `json:"states"`
	// Outcomes are those ranges that can come to more than one thing. States have all of it.
	Outcomes []RangeOutcomes `json:"outcomes,omitempty"`
	// Remark says that torque decides more than speeds tell, "" if it does not.
	Remark   string       `json:"remark,omitempty"`
	Cautions List[string] `json:"cautions"`

	Train  *kinematics.Train `json:"-"`
	Faults List[Fault]       `json:"-"` // all that were asked about
}

// A State is one solved state. Speeds in its JSON are in the unit of the answer,
// those of Motion in turns per turn of the input.
type State struct {
	Train string `json:"train"`
	Range Name   `json:"range"` // none for a combination of elements that is no range
	Faulted
	// Or says that the range can come to this as well as to the state before.
	Or      bool          `json:"or,omitempty"`
	Verdict solve.Verdict `json:"verdict"`
	Ratio
	At struct {
		Input  exact.Frac `json:"input"`
		Output Settled    `json:"output"`
	} `json:"at"`
	Pull          exact.Interval `json:"pull"` // in the vehicle's sense, per turn of the input
	Coast         Coast          `json:"coast"`
	EngineBraking *bool          `json:"engine_braking"` // nil where the vehicle does not roll
	InputBackward bool           `json:"input_backward"` // it can be turned so
	Members       Named[any]     `json:"members"`
	// MoreWays says that the load can be shared in more ways than were looked at:
	// torques can lie beyond their bounds.
	MoreWays  MoreWays        `json:"more_ways,omitzero"`
	Couplings Named[Coupling] `json:"couplings"` // the elements, and splines with a fault

	Apply              List[string]       `json:"apply"`
	Input              string             `json:"input"`
	Output             string             `json:"output"`
	Reads              string             `json:"reads"`
	Coasting           string             `json:"coasting"`
	EngineBrakingRatio Ratio              `json:"engine_braking_ratio"`
	MembersExact       Named[ExactAmount] `json:"members_exact"`
	PinionSpin         Named[Settled]     `json:"pinion_spin"`
	NotGiven           List[string]       `json:"not_given"`
	Groups             [][]string         `json:"groups"` // the members that turn as one
	Friction           *reading.Friction  `json:"friction"`
	Certificate        Proof              `json:"certificate"`
	Residual           float64            `json:"residual"`

	Motion *solve.Motion        `json:"-"`
	Cell   reading.RangeReading `json:"-"`
	// Spins are those of the pinions, by member.
	Spins map[kinematics.MemberID]Spin `json:"-"`
	// Free names what the state leaves free, one member for those that turn as
	// one. Pinions follow from their gears and are left out.
	Free []string `json:"-"`
}

// Coast is how the vehicle rolls either way.
type Coast struct {
	Forward  Roll `json:"forward"`
	Backward Roll `json:"backward"`
}

// A Roll is how the vehicle rolls one way: the input speeds, per turn of the
// output, at which it can; empty if it cannot.
type Roll exact.Interval

// MarshalJSON writes whether it rolls, and the bounds.
func (r Roll) MarshalJSON() ([]byte, error) {
	j := struct {
		Rolls bool         `json:"rolls"`
		Min   *exact.Bound `json:"input_min"`
		Max   *exact.Bound `json:"input_max"`
	}{Rolls: !r.Empty}
	if j.Rolls {
		j.Min, j.Max = &r.Min, &r.Max
	}
	return document.Marshal(j)
}

// A Coupling is what an element, or a spline with a fault, does in a state.
type Coupling struct {
	Between   []string            `json:"between"`   // slip and torque are of the first
	Commanded *bool               `json:"commanded"` // nil where it acts by itself
	Fault     Name                `json:"fault"`
	State     solve.CouplingState `json:"state"`
	Slip      Amount              `json:"slip"`
	// Torque is per unit input torque, on its first member; null if the state does
	// not drive.
	Torque Carried `json:"torque"`

	ID      int  `json:"-"` // index into Train.Couplings
	Applied bool `json:"-"` // by the range, whatever is wrong with it
}

// Carried is the torque on a coupling, found when JSON is written.
type Carried struct {
	coupling int
	share    func() solve.Sharing
}

// MarshalJSON finds the torque and writes it.
func (c Carried) MarshalJSON() ([]byte, error) {
	torques := c.share().Torque
	if torques == nil {
		return []byte("null"), nil
	}
	return document.Marshal(Amount(torques[c.coupling]))
}

// MoreWays says whether there are more ways to share a load, found when JSON is written.
type MoreWays struct{ share func() solve.Sharing }

// IsZero says that there are none: JSON then leaves the field out.
func (m MoreWays) IsZero() bool { return m.share().All }

// MarshalJSON writes that there are.
func (m MoreWays) MarshalJSON() ([]byte, error) { return document.Marshal(!m.IsZero()) }

// A SolveQuestion asks what ranges do under faults.
type SolveQuestion struct {
	Question
	InputRPM float64 // above 0 for speeds in turns per minute
}

// Solve answers what ranges do under faults: which way they drive and at what
// ratio, how they coast, and the speeds, states and torques of everything.
func (a *Analysis) Solve(ctx context.Context, q SolveQuestion) (*Solved, error) {
	var err error
	if q.Question, err = q.of(a.Train); err != nil {
		return nil, err
	}
	if err := number("rpm", q.InputRPM, 0); err != nil {
		return nil, err
	}
	s := &Solved{
		Schema: "tieup.solve/1", Units: solveUnits(q.InputRPM), InputRPM: document.If(q.InputRPM, q.InputRPM != 0),
		Train: a.Train, Faults: faultsOf(a.Train, q.Faults),
	}
	per := exact.Int(1)
	if q.InputRPM != 0 {
		per = exact.FromRat(new(big.Rat).SetFloat64(q.InputRPM))
	}
	var hazards []reading.Hazard
	w := a.workers.take()
	defer a.workers.put(w)
	s.Outcomes, _ = w.outcomes(q.Condition, pointers(q.Ranges)...)
	err = solve.Each(ctx, "ranges", len(q.Ranges), func(i int) {
		r := &q.Ranges[i]
		for k, way := range q.ways(r) {
			st := w.state(ctx, r, way, per)
			st.Or = k > 0
			hazards = append(hazards, reading.Hazards(w.reader.Read(r), st.Cell)...)
			s.States = append(s.States, st)
		}
		if reading.ByTorque(&q.Ranges[i], q.Faults) {
			s.Remark = reading.TorqueRemark
		}
	})
	s.Cautions = reading.Cautions(a.Train.Use, hazards)
	return s, err
}

func solveUnits(rpm float64) Named[string] {
	speed := "turns per turn of the input"
	if rpm != 0 {
		speed = "rpm"
	}
	return document.Texts(
		"at, members, pinion_spin, slip", speed+", + as the input turns",
		"ratio", "input speed / output speed",
		"torque", "per unit input torque, on the first member of the coupling, + as the input turns",
		"pull", "turns of the output per turn of the input, + moves the vehicle forward",
		"coast", "turns of the input per turn of the output",
	)
}

// state solves one state. Speeds are written per so many turns of the input.
func (w *worker) state(ctx context.Context, r *kinematics.Range, c Condition, per exact.Frac) *State {
	t := w.system.Train
	m := w.system.Motion(t.In(r, c.Faults...))
	c = c.at(r)
	s := &State{
		Train: t.Name, Range: Name(r.Name), Faulted: c.faulted(t), Verdict: m.Verdict,
		Ratio: document.RatioOf(m.Ratio()),
		Pull:  m.Pull, InputBackward: m.InputBackward, Apply: t.CouplingNames(r.Apply),
		Input: t.Members[r.Input].Name, Output: t.Members[r.Output].Name,
		Groups: turnAsOne(t, m.Groups), Residual: m.Residual,
		Motion: m, Cell: w.reader.Read(r, c.Faults...), Free: free(t, m),
	}
	s.Reads, s.Coasting, s.Friction = s.Cell.Text(), s.Cell.Reading.Coast, s.Cell.Friction
	s.At.Input, s.At.Output.Free = exact.Int(int64(m.At.Input)).Mul(per), m.At.OutputFree
	if !m.At.OutputFree {
		s.At.Output.Frac = m.At.Output.Mul(per)
	}
	s.Coast = Coast{Roll(m.CoastForward), Roll(m.CoastBackward)}
	braking, brakes, rolls := m.EngineBraking()
	s.EngineBraking, s.EngineBrakingRatio = document.If(brakes, rolls), document.RatioOf(braking, brakes)
	s.members(t, per)
	share := sync.OnceValue(func() solve.Sharing { return w.sharing(ctx, m) })
	s.MoreWays = MoreWays{share}
	s.couplings(t, r, c.Faults, per, share)
	s.Certificate = Proof{func() *verify.Certificate { return certified(w.system, m) }}
	return s
}

// members fills in the speeds of the members and the spins of the pinions.
func (s *State) members(t *kinematics.Train, per exact.Frac) {
	m := s.Motion
	s.Spins = map[kinematics.MemberID]Spin{}
	s.Members.Grow(len(t.Members))
	s.MembersExact.Grow(len(t.Members))
	for i, member := range t.Members {
		if member.Kind == kinematics.JointHub {
			continue
		}
		if gearset, pinion := pinionOf(t, kinematics.MemberID(i)); pinion != nil {
			spin := spinOf(gearset, pinion, m.Members, m.Groups)
			s.Spins[pinion.Member] = spin
			if spin.Known {
				s.PinionSpin.Add(member.Name, spin.settled(per))
			}
		}
		if m.Members[i].Empty {
			s.NotGiven = append(s.NotGiven, member.Name)
			continue
		}
		speed := scaled(m.Members[i].Interval, per)
		if one, fixed := speed.Point(); fixed {
			s.Members.Add(member.Name, one)
		} else {
			s.Members.Add(member.Name, document.Object("min", speed.Min, "max", speed.Max,
				"group", t.Members[leader(m.Groups, i)].Name)) // the first of those that turn as one with it
		}
		s.MembersExact.Add(member.Name, ExactAmount(m.Members[i].Interval))
	}
}

// couplings fills in what the elements do, and splines that have a fault.
func (s *State) couplings(
	t *kinematics.Train, r *kinematics.Range, here []kinematics.Fault, per exact.Frac, share func() solve.Sharing,
) {
	fault := map[int]Name{}
	for _, f := range here {
		if fault[f.Coupling] == "" {
			fault[f.Coupling] = Name(f.Kind)
		}
	}
	s.Couplings.Grow(t.ElementCount)
	for i := range t.Couplings {
		c := &t.Couplings[i]
		if i >= t.ElementCount && fault[i] == "" {
			continue
		}
		acts := c.Kind == kinematics.Spline || c.Kind == kinematics.OneWay && !c.Switched
		x := Coupling{
			Between:   reading.Bodies(t, []kinematics.MemberID{c.A, c.B}),
			Commanded: document.If(r.Applies(i), !acts), Fault: fault[i], State: s.Motion.States[i],
			Slip: Amount(scaled(s.Motion.Slips[i].Interval, per)), ID: i, Applied: r.Applies(i),
			Torque: Carried{i, share},
		}
		s.Couplings.Add(c.Name, x)
	}
}

// sharing is what the couplings carry per unit input torque, with bounds where they
// share the load; no torques if the state does not drive.
func (w *worker) sharing(ctx context.Context, m *solve.Motion) solve.Sharing {
	if !m.Drives() {
		return solve.Sharing{All: true}
	}
	return w.system.Sharing(ctx, m, solve.Usual)
}

// turnAsOne returns the sets of two and more members that turn as one.
func turnAsOne(t *kinematics.Train, groups []int) [][]string {
	var sets [][]string
	for i, g := range groups {
		if g < 0 || leader(groups, i) != i {
			continue
		}
		var set []string
		for k, other := range groups {
			if other == g {
				set = append(set, t.Members[k].Name)
			}
		}
		if len(set) > 1 {
			sets = append(sets, set)
		}
	}
	return sets
}

// leader returns the first member of the group of member i.
func leader(groups []int, i int) int { return slices.Index(groups, groups[i]) }

// free names what a state leaves free, see [State.Free].
func free(t *kinematics.Train, m *solve.Motion) []string {
	var names []string
	for i, w := range m.Members {
		pinion := t.Members[i].Kind == kinematics.PinionMember
		if !pinion && m.Groups[i] >= 0 && !w.Empty && w.Free() && leader(m.Groups, i) == i {
			names = append(names, t.Members[i].Name)
		}
	}
	return names
}
