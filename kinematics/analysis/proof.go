package analysis

import (
	"fmt"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/certify"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Proof is a certificate, found when JSON is written.
type Proof struct{ find func() *certify.Certificate }

// MarshalJSON finds the certificate and writes it.
func (p Proof) MarshalJSON() ([]byte, error) {
	if p.find == nil {
		return []byte("null"), nil
	}
	return marshal(p.find())
}

// mostProved is the number of members up to which the speed of each is proved.
const mostProved = 120

// certified proves what a state does, and the speeds of its members.
func certified(sys *solve.System, m *solve.Motion) *certify.Certificate {
	p := sys.Prover(m.State)
	p.Outcome()
	if len(sys.Train.Members) <= mostProved {
		p.Members(m)
	}
	return &p.Certificate
}

// explained proves what a state does, and its conflicts: each element and each joint
// is a part.
func explained(sys *solve.System, why *reading.Why) *certify.Certificate {
	p := sys.Prover(why.Motion.State)
	p.Outcome()
	for i := range why.Conflicts {
		c := &why.Conflicts[i]
		var parts [][]int
		for _, e := range c.Elements {
			parts = append(parts, []int{e})
		}
		for _, joint := range c.Joints {
			parts = append(parts, slices.DeleteFunc(slices.Clone(c.Splines), func(i int) bool {
				return sys.Train.Couplings[i].Joint != joint
			}))
		}
		p.Conflict(c.Demand, parts)
	}
	p.Certificate.Covers = append(p.Certificate.Covers, "conflicts")
	return &p.Certificate
}

// carried proves the ways to carry a load without losses.
func carried(sys *solve.System, st kinematics.State, l *solve.Load) *certify.Certificate {
	p := sys.Prover(st)
	p.Load(l)
	return &p.Certificate
}

// broken proves what each forced motion costs, or that it is impossible.
func broken(sys *solve.System, b *reading.Breakaway) *certify.Certificate {
	p := sys.ProverOf(b.Grip)
	p.Certificate.Capacities.Plus(solve.Resistance, certify.Exactly(b.Resistance.Rat()))
	p.Mechanism("standing", b.Grip, b.Standing, true, solve.InputForward)
	for i, r := range b.Rolls {
		demand := solve.OutputBackward
		if r.Forward {
			demand = solve.OutputForward
		}
		p.Mechanism(fmt.Sprintf("rolling.%d", i), b.Grip, r.Break, false, demand)
	}
	p.Certificate.Covers = append(p.Certificate.Covers, "standing", "rolling")
	return &p.Certificate
}
