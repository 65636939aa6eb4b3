package analysis

import (
	"context"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Explained are the reasons for what several ranges do.
type Explained struct {
	Ranges   []*Reasons
	Outcomes []RangeOutcomes // of those that can come to more
	Cautions []string

	Question Question
	Train    *kinematics.Train
}

// Explain gives the reasons for what ranges do under faults, see [Analysis.Why].
func (a *Analysis) Explain(ctx context.Context, q Question) (*Explained, error) {
	q, err := q.of(a.Train)
	if err != nil {
		return nil, err
	}
	x := &Explained{Question: q, Train: a.Train}
	err = solve.Each(ctx, "ranges", len(q.Ranges), func(i int) {
		if r, err := a.Why(ctx, &q.Ranges[i], q.Condition); err == nil { // else the context has ended
			x.Ranges = append(x.Ranges, r)
		}
	})
	if err != nil {
		return nil, err
	}
	w := a.workers.take()
	defer a.workers.put(w)
	x.Outcomes, x.Cautions = w.cautions(q.Condition, pointers(q.Ranges)...)
	return x, nil
}

// unloaded is the healthy train with nothing applied.
func (a *Analysis) unloaded(ctx context.Context) (*Explained, error) {
	t := a.Train
	idle := kinematics.Range{Name: "the train, nothing applied", Input: t.Input, Output: t.Output}
	return a.Explain(ctx, Question{Ranges: []kinematics.Range{idle}})
}

// Levers are what the gearsets of a train do as levers, in several ranges.
type Levers struct {
	*Explained
	States []LeverState // parallel to Ranges
}

// A LeverState is what levers show of one range besides the reasons.
type LeverState struct {
	// Lines are the motion of the state or, where the input cannot turn, a motion
	// for each way out of the first conflict.
	Lines   []LeverLine
	Remarks []string // that there are more conflicts, or more than one way to carry the load

	// What gearsets feel, for each way in which the couplings can carry the load.
	loads [][]gearsetLoad
}

// A LeverLine is a motion with what is said of it: "without direct: drives forward
// at 1.45".
type LeverLine struct {
	Label  string
	Motion *Motion
}

// A gearsetLoad is the torque on one member of a gearset from outside, per unit
// input torque.
type gearsetLoad struct {
	gearset int
	member  kinematics.MemberID
	torque  exact.Frac
}

// Torque is what some gearsets together feel from outside at a body, per unit input
// torque: bounds where couplings share the load, nil where it is not known.
func (s *LeverState) Torque(b *kinematics.Bodies, gearsets []int, body kinematics.MemberID) *exact.Interval {
	if len(s.loads) == 0 {
		return nil
	}
	bounds := exact.None
	for _, loads := range s.loads {
		total := exact.Int(0)
		for _, l := range loads {
			if b.Of[l.member] == body && slices.Contains(gearsets, l.gearset) {
				total = total.Add(l.torque)
			}
		}
		bounds = bounds.Include(total)
	}
	return &bounds
}

// Levers shows ranges under faults as levers.
func (a *Analysis) Levers(ctx context.Context, q Question) (*Levers, error) {
	x, err := a.Explain(ctx, q)
	if err != nil {
		return nil, err
	}
	l := &Levers{Explained: x}
	err = solve.Each(ctx, "ranges as levers", len(x.Ranges), func(i int) {
		l.States = append(l.States, leverState(ctx, a.system, x.Ranges[i].Why))
	})
	return l, err
}

func leverState(ctx context.Context, sys *solve.System, why *reading.Why) LeverState {
	var s LeverState
	var first *reading.Conflict
	conflicts := 0
	for i := range why.Conflicts {
		c := &why.Conflicts[i]
		if c.Demand != solve.InputForward || len(c.Elements) == 0 {
			continue
		}
		if conflicts++; first == nil {
			first = c
		}
	}
	if first == nil {
		s.Lines = []LeverLine{{"speeds", why.Motion}}
	} else {
		s.Lines = waysOut(sys, why, first)
	}
	if conflicts > 1 {
		s.Remarks = append(s.Remarks, "This is one of several sets of elements that contradict each other here.")
	}
	if why.Motion.Drives() {
		s.load(ctx, sys, why.Motion)
	}
	return s
}

// waysOut are the motions of which each lacks one element of a conflict.
func waysOut(sys *solve.System, why *reading.Why, conflict *reading.Conflict) []LeverLine {
	var lines []LeverLine
	for _, l := range conflict.Lettings {
		st := why.Motion.State.Clone()
		st.Modes[l.Element] = kinematics.Open
		if len(l.Remain) > 0 { // another conflict still locks the whole: show this one alone
			for i := range sys.Train.ElementCount {
				if i == l.Element || !slices.Contains(conflict.Elements, i) {
					st.Modes[i] = kinematics.Open
				}
			}
		}
		m := sys.Motion(st)
		label := "without " + sys.Train.Couplings[l.Element].Name + ": " + reading.Passing(sys.Train, m.Outcome).Alone()
		lines = append(lines, LeverLine{label, m})
	}
	return lines
}

// load fills in the loads of the gearsets in every way in which the couplings can
// carry the load.
func (s *LeverState) load(ctx context.Context, sys *solve.System, m *solve.Motion) {
	ways, all := sys.Carrying(ctx, m, solve.Usual)
	for _, way := range ways {
		meshes, ok := sys.MeshTorques(&way, m.State)
		if !ok {
			s.loads = nil
			s.Remarks = append(s.Remarks,
				"Torques are not shown: gears share the load in a way that teeth alone do not settle.")
			return
		}
		var list []gearsetLoad
		for g := range sys.Train.Gearsets {
			torques, members := reading.GearsetTorques(sys.Train, g, meshes)
			for k, member := range members {
				list = append(list, gearsetLoad{g, member, torques[k].Neg()})
			}
		}
		s.loads = append(s.loads, list)
	}
	switch {
	case !all:
		s.Remarks = append(s.Remarks,
			"Couplings share the load in more ways than were looked at: torques can lie beyond the bounds given.")
	case len(ways) > 1:
		s.Remarks = append(s.Remarks, "Couplings share the load: torques lie between the bounds given.")
	}
}
