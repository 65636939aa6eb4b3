package analysis

import (
	"context"

	"tieup/kinematics"
	"tieup/kinematics/document"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Turned is what a train does on the bench: some members turned or held, all others
// read.
type Turned struct {
	Schema string            `json:"schema"`
	Units  Named[string]     `json:"units"`
	Train  *kinematics.Train `json:"train"`
	Given  Named[exact.Frac] `json:"given"`
	Apply  List[string]      `json:"apply"`
	Faulted
	Locks bool   `json:"locks"`
	Fight *Fight `json:"fight"` // nil unless it locks
	// What follows is empty if it locks.
	Members      Named[Amount]      `json:"members"`
	MembersExact Named[ExactAmount] `json:"members_exact"`
	PinionSpin   Named[Settled]     `json:"pinion_spin"`
	NotGiven     List[string]       `json:"not_given"`
	Slips        Named[Amount]      `json:"slips"`
	Remark       string             `json:"remark,omitempty"` // as in [Solved]
	// Cautions are what must be said to whoever turns a train by hand.
	Cautions List[string] `json:"cautions"`

	Spins map[kinematics.MemberID]Spin `json:"-"`
}

// A Fight is a smallest set of what contradicts itself.
type Fight struct {
	Members  List[string] `json:"members"`
	Elements List[string] `json:"elements"`

	Couplings []int `json:"-"` // the elements
}

// Fighting says what contradicts itself, a line for each.
func (x *Turned) Fighting() []string {
	lines := []string{"locks: these cannot all be so at once"}
	for _, name := range x.Fight.Members {
		if speed, _ := x.Given.Get(name); speed.Sign() == 0 {
			lines = append(lines, "  "+name+" held")
		} else {
			lines = append(lines, "  "+name+" turned at "+speed.String())
		}
	}
	for _, e := range x.Fight.Couplings {
		c := &x.Train.Couplings[e]
		lines = append(lines, "  "+c.Name+" holding ("+reading.Element(x.Train, c)+")")
	}
	return append(lines, "Let any one of these go, and the others no longer fight.")
}

// A TurnQuestion gives members their speeds, with some elements applied.
type TurnQuestion struct {
	Given  []Given
	Apply  []int
	Faults []kinematics.Fault
}

// Turn reads all members while some are turned and others held.
func (a *Analysis) Turn(_ context.Context, q TurnQuestion) (*Turned, error) {
	t := a.Train
	bench := a.onBench(q.Apply...)
	if err := Under(q.Faults...).in(t, bench); err != nil {
		return nil, err
	}
	for _, g := range q.Given {
		if err := speedOf(t, "turn", g.Member, g.Speed); err != nil {
			return nil, err
		}
	}
	r := a.system.Turn(t.In(bench, q.Faults...).Modes, q.Given)
	x := &Turned{
		Schema: "tieup.turn/1",
		Units:  document.Texts("given, members, pinion_spin, slips", "turns, + clockwise seen from the input end"),
		Train:  t, Apply: t.CouplingNames(q.Apply), Faulted: Under(q.Faults...).faulted(t), Locks: r.Locks,
		Spins: map[kinematics.MemberID]Spin{}, Cautions: reading.Cautions(t.Use, []reading.Hazard{reading.Jumps}),
	}
	if reading.ByTorque(bench, q.Faults) {
		x.Remark = reading.TorqueRemark
	}
	for _, g := range q.Given {
		x.Given.Add(t.Members[g.Member].Name, g.Speed)
	}
	if !r.Locks {
		x.read(r)
		return x, nil
	}
	x.Fight = &Fight{Elements: t.CouplingNames(r.FightCouplings), Couplings: r.FightCouplings}
	x.Fight.Members = kinematics.Map(r.Fight, func(i int) string { return t.Members[q.Given[i].Member].Name })
	for _, m := range t.Members {
		if m.Unknown {
			x.NotGiven = append(x.NotGiven, m.Name)
		}
	}
	return x, nil
}

// read fills in the speeds of everything.
func (x *Turned) read(r *solve.Turned) {
	t := x.Train
	for i, m := range t.Members {
		if m.Unknown && r.Members[i].Empty {
			x.NotGiven = append(x.NotGiven, m.Name)
			continue
		}
		if m.Kind != kinematics.JointHub {
			x.Members.Add(m.Name, Amount(r.Members[i].Interval))
			x.MembersExact.Add(m.Name, ExactAmount(r.Members[i].Interval))
		}
	}
	for i := range t.Gearsets {
		for k := range t.Gearsets[i].Pinions {
			p := &t.Gearsets[i].Pinions[k]
			spin := spinOf(&t.Gearsets[i], p, r.Members, nil)
			x.Spins[p.Member] = spin
			if spin.Known {
				x.PinionSpin.Add(t.Members[p.Member].Name, spin.settled(exact.Int(1)))
			}
		}
	}
	for i, c := range t.Couplings[:t.ElementCount] {
		x.Slips.Add(c.Name, Amount(r.Slips[i].Interval))
	}
}
